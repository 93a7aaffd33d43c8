"""Frozen results: what they hold, how they are compared and kept, and that they go into every method that takes digs."""

from __future__ import annotations

import dataclasses
import json
import pickle

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest

import underturf as ut

mpl.use("agg")


@pytest.fixture(scope="module")
def layouts():
    return ut.sample_layouts(ut.read_site(ut.example("green")), draws=100, seed=3)


@pytest.fixture(scope="module")
def unlabelled():
    return ut.sample_layouts(ut.read_site(ut.example("unlabelled")), draws=100, seed=3)


MADE = {
    "assessment": lambda it: it.assess(),
    "assessment of nothing": lambda it: it.assess([]),
    "ranking": lambda it: it.rank(),
    "ranking of twins": lambda it: it.rank([ut.Hole(6.7, 2.0, 0.45, 0.4, id=name) for name in ("left", "right")]),
    "ranking of nothing": lambda it: it.rank([]),
    "spots": lambda it: it.best_spots(2, 0.3, 0.4),
    "spots for trees": lambda it: it.best_spots(
        tree=[ut.Tree("small", caliper_m=0.0254), ut.Tree("small", container_gal=15)]
    ),
    "potholes": lambda it: it.plan_probes(n=2, options=ut.ProbeOptions(always=True)),
    "slits": lambda it: it.plan_probes(n=2, options=ut.ProbeOptions(slit_m=(0.8, 0.1), always=True)),
    "probes for digs that move": lambda it: it.plan_probes(n=2, options=ut.ProbeOptions(shift_m=1.0, always=True)),
    "no probes": lambda it: it.plan_probes(n=2, options=ut.ProbeOptions(probe_cost=1e6)),
    "no valves": lambda it: it.plan_station_tests(),
    "metal lines": lambda it: it.metal_lines(),
    "sweeps": lambda it: it.plan_sweeps(n=2, options=ut.SweepOptions(by="information")),
    "no sweeps": lambda it: it.plan_sweeps([], options=ut.SweepOptions(p_detect=1e-9)),
}


@pytest.fixture(scope="module", params=[*MADE, "valves"])
def result(request, layouts, unlabelled):
    return unlabelled.plan_station_tests() if request.param == "valves" else MADE[request.param](layouts)


@pytest.mark.parametrize("ending", ["json", "csv"])
def test_a_file_brings_back_the_same_result_bit_for_bit(result, tmp_path, ending):
    again = type(result).load(result.save(tmp_path / f"result.{ending}"))
    assert again == result
    assert again.site == result.site
    pd.testing.assert_frame_equal(again.table(), result.table(), check_exact=True)
    assert list(again) == list(result) or result.table().isna().any(axis=None)
    assert repr(again) == repr(result)
    said = (tmp_path / f"result.{ending}").read_text(encoding="utf-8")
    assert all(caution in said for caution in ut.CAUTIONS)
    assert result.FORMAT in said


def test_a_result_never_changes(result):
    with pytest.raises(dataclasses.FrozenInstanceError):
        result.seed = 1
    with pytest.raises((AttributeError, TypeError)):
        result.more = 1
    before = result.table()
    taken = result.table()
    taken["converged"] = False
    taken.attrs.clear()
    pd.testing.assert_frame_equal(result.table(), before)


def test_results_are_equal_by_content(result, layouts):
    assert pickle.loads(pickle.dumps(result)) == result  # noqa: S301  our own bytes
    assert hash(pickle.loads(pickle.dumps(result))) == hash(result)  # noqa: S301
    assert result != dataclasses.replace(result, converged=False)
    assert result != dataclasses.replace(result, seed=99)
    if len(result):
        table = result.table()
        name = next(column for column in table if table[column].dtype == float and table[column].notna().iloc[0])
        table.loc[table.index[0], name] = np.nextafter(table[name].iloc[0], np.inf)
        assert result != dataclasses.replace(result, _table=table)  # one bit of one number


def test_rows_say_what_the_table_says(result):
    table = result.table()
    rows = list(result)
    assert len(rows) == len(result) == len(table)
    if rows and "p_strike" in table:
        assert [row.p_strike for row in rows] == table["p_strike"].tolist()
        assert result[0] == rows[0]
        assert dataclasses.is_dataclass(rows[0])


def test_a_result_shows_its_cautions_and_whether_it_converged(result):
    for told, converged in ((result, True), (dataclasses.replace(result, converged=False), False)):
        page = told._repr_html_()
        printed = str(told)
        assert all(caution in printed for caution in ut.CAUTIONS)
        assert ("NOT CONVERGED" in printed) is not converged
        assert all(caution.replace("'", "&#x27;") in page for caution in ut.CAUTIONS)
        assert ("NOT CONVERGED" in page) is not converged
        assert ("NOT CONVERGED" in repr(told)) is not converged
    assert len(repr(result)) < 100


def test_a_result_can_be_drawn(result):
    axes = result.plot()
    words = " ".join(text.get_text() for text in axes.figure.findobj(mpl.text.Text))
    assert "one-call" in words
    assert "NOT CONVERGED" not in words
    marked = dataclasses.replace(result, converged=False).plot()
    assert "NOT CONVERGED" in " ".join(text.get_text() for text in marked.figure.findobj(mpl.text.Text))
    mpl.pyplot.close("all")


@pytest.mark.parametrize("name", ["assessment", "ranking", "spots for trees", "slits"])
def test_results_go_into_every_method_that_takes_digs(layouts, name, tmp_path):
    result = MADE[name](layouts)
    names = [dig.id for dig in result.digs]
    assert [row.dig for row in layouts.assess(result)] == names
    assert layouts.strike_probability(result).shape == (len(names),)
    assert layouts.strikes(result).index.tolist() == names
    assert sorted(row.dig for row in layouts.rank(result)) == sorted(names)
    assert [dig.id for dig in layouts.shifted(result, cell_m=0.5)] == names
    assert {
        dig.id for dig in layouts.plan_probes(result, n=1, options=ut.ProbeOptions(always=True)).planned_for
    } == set(names)
    assert len(layouts.dig_maps(result, cell_m=0.5)) == len(names)
    assert len(layouts.tree_conflicts(result)) == sum(dig.tree is not None for dig in result.digs)
    page = layouts.crew_sheet(tmp_path / "sheet.html", result, result).read_text(encoding="utf-8")
    assert all(part in page for part in names)


def test_valves_are_no_digs(layouts):
    with pytest.raises(ut.DigError, match="ValvePlan holds no digs"):
        layouts.assess(layouts.plan_station_tests())


def test_digs_and_rows_that_do_not_belong_together_are_refused(layouts, tmp_path):
    """A row that somebody deletes from the file of an assessment would leave a dig without figures."""
    path = layouts.assess().save(tmp_path / "assessment.csv")
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join(line for line in lines if not line.startswith("maple,")), encoding="utf-8")
    with pytest.raises(ut.ArgumentError, match="maple"):
        ut.Assessment.load(path)


def test_files_of_another_kind_or_version_are_refused(layouts, tmp_path):
    path = layouts.rank().save(tmp_path / "ranking.json")
    with pytest.raises(ut.ArgumentError, match="underturf-assessment/1"):
        ut.Assessment.load(path)
    later = json.loads(path.read_text(encoding="utf-8")) | {"format": "underturf-ranking/9"}
    path.write_text(json.dumps(later), encoding="utf-8")
    with pytest.raises(ut.ArgumentError, match="underturf-ranking/9"):
        ut.Ranking.load(path)
    path.write_text("[]", encoding="utf-8")
    with pytest.raises(ut.ArgumentError, match=r"ranking\.json"):
        ut.Ranking.load(path)
    with pytest.raises(ut.ArgumentError, match=r"must end in \.csv or \.json"):
        layouts.rank().save(tmp_path / "ranking.xlsx")


def test_digs_are_found_by_name(layouts):
    assessment = layouts.assess()
    assert assessment["drain"].dig == "drain"
    with pytest.raises(KeyError, match='did you mean "drain"'):
        assessment["drian"]
    spots = layouts.best_spots(tree=[ut.Tree("small", container_gal=15)], options=ut.SpotOptions(names=["plum"]))
    assert spots["plum"].id == "plum"
    assert spots.trees[0].container_gal == 15


def test_what_is_printed_is_the_text_for_the_site(layouts, capsys):
    assessment = layouts.assess()
    print(assessment)
    assert capsys.readouterr().out == ut.text_table(assessment) + "\n"
    with pytest.raises(ut.ArgumentError, match="must be an Assessment"):
        ut.text_table(assessment.table())
