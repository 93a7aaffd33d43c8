"""Plans of probes as files: what a plan says as a whole comes back, and the sheet of the command line shows it."""

from __future__ import annotations

import re

import pandas as pd
import pytest

import underturf as ut
from underturf.__main__ import main


@pytest.fixture(scope="module")
def layouts():
    return ut.sample_layouts(ut.read_site(ut.example("green")), draws=200, seed=3)


PLANS = {
    "potholes": {},
    "slits": {"slit_m": (0.8, 0.1)},
    "rods": {"tool": "rod"},
    "shifts": {"shift_m": 1.5, "cell_m": 0.5},
}


@pytest.mark.parametrize("name", PLANS)
def test_a_plan_comes_back_as_it_was(layouts, tmp_path, name):
    plan = layouts.plan_probes(n=3, options=ut.ProbeOptions(always=True, **PLANS[name]))
    again = ut.read_probes(ut.write_probes(plan, tmp_path / "probes.csv"))
    assert again == plan
    pd.testing.assert_frame_equal(again.table(), plan.table(), check_exact=True)
    pd.testing.assert_frame_equal(again.outcomes(), plan.outcomes(), check_exact=True)
    assert again.digs == plan.digs
    assert again != plan[1:]


@pytest.mark.parametrize("name", PLANS)
def test_the_sheet_of_a_file_is_that_of_the_plan(layouts, tmp_path, name):
    plan = layouts.plan_probes(n=3, options=ut.ProbeOptions(always=True, **PLANS[name]))
    file = ut.write_probes(plan, tmp_path / "probes.csv")
    words = ["sheet", str(ut.example("green")), "--draws", "200", "--seed", "3", "--date", "2026-05-06"]
    assert main([*words, "--probes", str(file), "-o", str(tmp_path / "file.html")]) == 0
    here = layouts.crew_sheet(tmp_path / "here.html", probes=plan, options=ut.SheetOptions(date="2026-05-06"))
    by_file, by_plan = (path.read_text(encoding="utf-8") for path in (tmp_path / "file.html", here))
    assert by_file == by_plan
    # Planted fault: what pandas writes and reads by itself has lost what the plan is.
    plan.table().assign(radius_m=0.25, depth_m=plan.depth_m).to_csv(tmp_path / "bare.csv")
    assert main([*words, "--probes", str(tmp_path / "bare.csv"), "-o", str(tmp_path / "bare.html")]) == 0
    lost = (tmp_path / "bare.html").read_text(encoding="utf-8") != by_plan
    assert lost or name == "potholes"  # of these a table may keep all
    for tool, said in (("slits", "slit, "), ("rods", "rod, pushed"), ("shifts", "MOVED")):
        assert (said in by_plan.replace("\u00a0", " ")) == (name == tool)


def test_rows_of_a_plan_keep_their_numbers(layouts, tmp_path):
    plan = layouts.plan_probes(n=3, options=ut.ProbeOptions(cell_m=0.5, shift_m=1.5, always=True))
    again = ut.read_probes(ut.write_probes(plan[1:], tmp_path / "probes.csv"))
    assert [probe.number for probe in again] == [2, 3]
    assert again.outcomes().equals(plan.outcomes())


def test_a_row_taken_out_by_hand_is_out_of_the_plan(layouts, tmp_path):
    plan = layouts.plan_probes(n=3, options=ut.ProbeOptions(always=True))
    path = ut.write_probes(plan, tmp_path / "probes.csv")
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join(line for line in lines if not line.startswith("1,")), encoding="utf-8")
    assert ut.read_probes(path) == plan[1:]


def test_the_table_of_a_plan_alone_is_refused_as_probes(layouts, tmp_path):
    """Planted fault: a table has lost slits, tool and shifts; potholes in their place would be a silent loss."""
    plan = layouts.plan_probes(n=2, options=ut.ProbeOptions(slit_m=(0.8, 0.1), always=True))
    with pytest.raises(ut.ArgumentError, match="hand over the plan itself"):
        layouts.crew_sheet(tmp_path / "sheet.html", probes=plan.table())


def test_a_plain_table_is_read_as_it_is(tmp_path):
    path = tmp_path / "probes.csv"
    path.write_text("# dug by hand\nx_m,y_m,radius_m,reason\n1.0,2.0,0.25,the #3 container\n", encoding="utf-8")
    table = ut.read_probes(path)
    assert table["reason"].tolist() == ["the #3 container"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("# underturf-probe-plan/1\n# content: {broken\nprobe,x_m\n1,2.0\n", "broken"),
        ("# underturf-probe-plan/1\n# content: {}\nx_m\n2.0\n", "broken"),
        ("# underturf-probe-plan/1\n", "broken"),
        ("# a comment\n", "no table"),
        ("", "no table"),
    ],
)
def test_broken_files_are_refused_with_their_name(tmp_path, text, words, capsys):
    path = tmp_path / "probes.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ut.ArgumentError, match=re.escape(str(path))) as refused:
        ut.read_probes(path)
    assert words in str(refused.value)
    assert main(["sheet", str(ut.example("green")), "--draws", "20", "--probes", str(path)]) == 1
    assert words in capsys.readouterr().err


def test_files_of_plans_carry_the_cautions(layouts, tmp_path):
    plan = layouts.plan_probes(n=1, options=ut.ProbeOptions(always=True))
    said = ut.write_probes(plan, tmp_path / "probes.csv").read_text(encoding="utf-8")
    assert all(f"# {caution}" in said for caution in ut.CAUTIONS)


def test_a_file_that_is_no_text_is_refused(tmp_path):
    path = tmp_path / "probes.csv"
    path.write_bytes(b"x_m,y_m\n\xff\xfe\n")
    with pytest.raises(ut.ArgumentError, match="UTF-8"):
        ut.read_probes(path)
