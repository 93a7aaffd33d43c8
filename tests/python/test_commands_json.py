"""Every command answers with a JSON object, and its numbers are those of the Python call with the same seed."""

from __future__ import annotations

import math

import pandas as pd
import pytest
from commanding import GARDEN, PLAIN, QUICK, UNNAMED, WALKED, told, write_site

import underturf as ut
from underturf.commands.program import cli

HEAD = {"format", "command", "version", "site", "units", "seed", "draws", "converged", "not_assessed", "warnings"}
KEYS = HEAD | {"cautions", "result", "rows", "files"}


@pytest.fixture(scope="module")
def plain():
    return ut.sample_layouts(ut.Site.from_dict(PLAIN), draws=50, seed=3)


#: The site that a command is asked about here, where it is not the garden.
SITES = {"valves": UNNAMED, "zones": UNNAMED, "metal": WALKED, "sweeps": WALKED}


@pytest.fixture(scope="module")
def sampled():
    """Layouts of the site that a command is asked about, each sampled once."""
    kept = {}

    def layouts(command):
        site = SITES.get(command, GARDEN)
        if id(site) not in kept:
            kept[id(site)] = ut.sample_layouts(ut.Site.from_dict(site), draws=50, seed=3)
        return kept[id(site)]

    return layouts


def same(rows, table):
    """Whether rows of JSON are those of a table, bit for bit; NaN and NA are null."""
    wanted = table.reset_index() if table.index.name is not None else table
    assert len(rows) == len(wanted)
    for row, (_, cells) in zip(rows, wanted.iterrows(), strict=True):
        for name, cell in cells.items():
            if isinstance(cell, list | tuple):
                assert row[name] == list(cell), name
            elif pd.isna(cell):
                assert row[name] is None, name
            elif isinstance(cell, float) and math.isinf(cell):
                assert row[name] == "inf", name
            else:
                assert row[name] == cell, name
    return True


#: Commands that ask layouts a question, and the same in Python.
QUESTIONS = {
    "assess": ([], lambda layouts: layouts.assess().table()),
    "assess --dig post --reach 1m": (
        ["--dig", "post", "--reach", "1m"],
        lambda layouts: layouts.assess(["post"], reach_m=1.0).table(),
    ),
    "rank": ([], lambda layouts: layouts.rank().table()),
    "rank --by p --weight gas=9": (
        ["--by", "p", "--weight", "gas=9"],
        lambda layouts: layouts.rank(weights={"gas": 9.0}, by="p").table(),
    ),
    "spots": (
        ["-n", "2", "--radius", "1ft", "--depth", "0.4", "--cell", "0.5m"],
        lambda layouts: layouts.best_spots(2, "1ft", 0.4, options=ut.SpotOptions(cell_m=0.5)).table(),
    ),
    "probes": (
        ["-n", "2", "--always", "--cell", "0.5m"],
        lambda layouts: layouts.plan_probes(n=2, options=ut.ProbeOptions(always=True, cell_m=0.5)).table(),
    ),
    "valves": ([], lambda layouts: layouts.plan_station_tests().table()),
    "sweeps": (
        ["--by", "information"],
        lambda layouts: layouts.plan_sweeps(options=ut.SweepOptions(by="information")).table(),
    ),
    "lines": (["--step", "3m"], lambda layouts: layouts.likely_lines(step_m=3.0)),
    "metal": ([], lambda layouts: layouts.metal_lines().table()),
}


@pytest.mark.parametrize("asked", list(QUESTIONS))
def test_numbers_are_those_of_python(capsys, tmp_path, sampled, asked):
    words, answer = QUESTIONS[asked]
    name = asked.split()[0]
    layouts = sampled(name)
    found = told(capsys, name, write_site(tmp_path, SITES.get(name, GARDEN)), *words, *QUICK)
    assert set(found) == KEYS
    assert (found["format"], found["command"], found["version"]) == ("underturf-answer/1", name, ut.__version__)
    assert (found["seed"], found["draws"], found["units"]) == (3, layouts.draws, "m")
    assert found["converged"] is True
    assert found["cautions"] == list(ut.CAUTIONS)
    assert found["not_assessed"] == list(layouts.not_assessed)
    assert found["warnings"] == list(layouts.warnings)
    assert same(found["rows"], answer(layouts))


def test_what_is_not_assessed_is_null_and_not_nought(capsys, tmp_path):
    found = told(capsys, "assess", write_site(tmp_path), *QUICK)
    assert "gas" in found["not_assessed"]
    assert found["rows"][0]["p_gas"] is None
    assert found["rows"][0]["p_lateral"] > 0


def test_another_seed_gives_other_numbers(capsys, tmp_path):
    path = write_site(tmp_path)
    first, again = (told(capsys, "assess", path, *QUICK)["rows"] for _ in range(2))
    other = told(capsys, "assess", path, "--draws", "50", "--seed", "4")["rows"]
    assert first == again
    assert first != other


def test_shift_tells_where_python_moves_digs(capsys, tmp_path, plain):
    found = told(capsys, "shift", write_site(tmp_path), *QUICK)
    (moved,) = plain.shifted()
    (row,) = found["rows"]
    assert (row["x_m"], row["y_m"]) == (moved.x_m, moved.y_m)
    assert row["p_strike"] == plain.strike_probability([moved])[0]
    assert row["p_drawn"] == plain.strike_probability()[0]
    assert math.isclose(row["shift_m"], math.hypot(moved.x_m - 4, moved.y_m - 4.5))


def test_map_holds_the_grid_and_writes_no_picture_unasked(capsys, tmp_path, plain, monkeypatch):
    monkeypatch.chdir(tmp_path)
    found = told(capsys, "map", write_site(tmp_path), "--radius", "0.3", "--cell", "1m", *QUICK)
    smap = plain.strike_map(0.3, 0.4, 1.0)
    assert [row["y_m"] for row in found["rows"]] == smap.y_m.tolist()
    assert found["result"]["x_m"] == smap.x_m.tolist()
    here = [[None if math.isnan(p) else p for p in row] for row in smap.p.tolist()]
    assert [row["p"] for row in found["rows"]] == here
    assert found["files"] == []
    assert [path.name for path in tmp_path.iterdir()] == ["site.json"]


def test_zones_tell_all_chances_and_the_likeliest_grouping(capsys, tmp_path, sampled):
    found = told(capsys, "zones", write_site(tmp_path, UNNAMED), *QUICK)
    layouts = sampled("zones")
    chances, groups = layouts.zone_chances(), layouts.likely_groups()
    for row in found["rows"]:
        wanted = chances.loc[row["head"]].drop(["likely_zone", "converged"]).to_dict()
        assert row["zones"] == wanted
        assert (row["group"], row["p_group"]) == tuple(groups.loc[row["head"], ["group", "probability"]])
    assert len(found["rows"]) == 4


def test_evidence_is_that_of_python(capsys, tmp_path):
    site = ut.Site.from_dict(PLAIN).with_probe(6.0, 4.5, 0.2, 0.4, found=False)
    path = write_site(tmp_path, site.to_dict())
    found = told(capsys, "evidence", path, "--log-draws", "40", *QUICK)
    assert same(found["rows"], ut.sample_layouts(site, draws=50, seed=3).evidence_log(40))


def test_commands_that_write_files_name_them(capsys, tmp_path):
    path, out = write_site(tmp_path), tmp_path / "sheet.html"
    assert told(capsys, "sheet", path, "-o", out, *QUICK)["files"] == [str(out.resolve())]
    kept = tmp_path / "kept.json"
    found = told(capsys, "rank", path, "-o", kept, *QUICK)
    assert found["files"] == [str(kept.resolve())]
    assert same(found["rows"], ut.Ranking.load(kept).table())


def test_what_needs_no_site_answers_with_the_same_object(capsys):
    found = told(capsys, "settings", "--name", "tolerance_half")
    assert set(found) == KEYS
    assert (found["seed"], found["site"], found["converged"]) == (None, None, None)
    table = ut.settings_table()
    assert same(found["rows"], table[table.index.str.contains("tolerance_half")])
    assert same(told(capsys, "setbacks")["rows"], ut.setbacks())
    (ball,) = told(capsys, "root-ball", "--caliper", "2in")["rows"]
    assert ball["hole_width_m"] == ut.root_ball(2).hole_width_m
    assert "_UNDERTURF_COMPLETE" in told(capsys, "completion", "bash")["result"]["script"]


def test_check_tells_notes_and_counts(capsys, tmp_path):
    found = told(capsys, "check", write_site(tmp_path, GARDEN))
    site = ut.Site.from_dict(GARDEN)
    assert found["rows"] == [note._asdict() for note in site.notes]
    assert found["result"]["entries"]["heads"] == 6
    assert found["result"]["digs"] == ["oak", "post"]
    assert found["draws"] is None


def test_the_demo_answers_too(capsys, tmp_path):
    found = told(capsys, "demo", "--example", "bare", "--out", tmp_path / "pictures", *QUICK)
    layouts = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=3)
    assert same(found["rows"], layouts.assess().table())
    assert sorted(name.rpartition("/")[2] for name in found["files"]) == sorted(
        path.name for path in (tmp_path / "pictures").iterdir()
    )


#: Commands whose object is looked at elsewhere: findings, and those that need other parts of the package.
ELSEWHERE = {"sample", "add-probe", "add-test", "add-dig", "survey", "export", "explore", "report"}


def test_no_command_is_left_out():
    here = {asked.split()[0] for asked in QUESTIONS} | {"shift", "map", "zones", "evidence", "sheet", "check", "demo"}
    assert here | {"settings", "setbacks", "root-ball", "completion"} | ELSEWHERE == set(cli.commands)
    assert all("json" in [part.name for part in one.params] for one in cli.commands.values())
