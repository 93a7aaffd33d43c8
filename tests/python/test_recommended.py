"""Nothing is recommended against the evidence, through the calls that people make; tables go from one call into the next."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from mistakes import with_options

import underturf as ut
from underturf.__main__ import main

BASE = {
    "format": "underturf-site/2",
    "units": "m",
    "boundary": [[0, 0], [14, 0], [14, 10], [0, 10]],
    "heads": [
        {"id": f"h{i}{j}", "x": 1 + 4 * i, "y": 1 + 4 * j, "zone": "1" if i < 2 else "2"}
        for i in range(4)
        for j in range(3)
    ],
    "valve_boxes": [{"id": "v1", "x": 7.0, "y": 9.5, "zones": ["1", "2"]}],
    "flags": [
        {"x": 2.0, "y": 3.0, "line": "iron-2"},
        {"x": 6.0, "y": 3.0, "line": "iron-2"},
        {"x": 12.0, "y": 3.0, "line": "iron-2"},
        {"x": 3.0, "y": 7.0},
    ],
    "digs": [
        {"id": "on", "x": 6.0, "y": 3.0, "radius": 0.3, "depth": 0.4},
        {"id": "oak", "x": 5.2, "y": 1.2, "radius": 0.3, "depth": 0.3, "tree": {"size": "large", "caliper": 0.0508}},
        {"id": "off", "x": 9.0, "y": 7.0, "radius": 0.3, "depth": 0.4},
    ],
}


@pytest.fixture(scope="module")
def layouts() -> ut.Layouts:
    return ut.sample_layouts(ut.Site.from_dict(BASE), draws=200, seed=3)


def test_a_hole_on_a_flag_has_its_own_verdict_and_no_shift_onto_the_iron(layouts: ut.Layouts) -> None:
    table = layouts.assess().table()
    assert table.loc["on", "verdict"] == "on flagged metal line iron-2: uncover by hand first"
    assert bool(table.loc["on", "on_flagged_metal"])
    assert table.loc["on", "metal"] == "iron-2"
    assert table.loc["on", "metal_m"] == 0.0
    assert math.isclose(table.loc["on", "metal_half_width_m"], 2 * 0.1 + 0.457)
    for _, row in table[table["shift_m"].notna()].iterrows():
        assert row["p_strike"] >= row["p_shifted"] or row["on_flagged_metal"] or row["blocked_by"]
    again = layouts.assess(layouts.shifted()).table()
    moved = table["shift_m"].notna()
    assert not again.loc[moved, "on_flagged_metal"].any()
    text = str(layouts.assess())
    assert "metal iron-2, 0.00 m, in its strip" in text
    assert layouts.rank().table().index[-1] == "on"


def test_the_needed_hole_is_assessed_and_the_drawn_one_stands_beside_it(layouts: ut.Layouts) -> None:
    row = layouts.assess(["oak"]).table().loc["oak"]
    whole = layouts.strike_probability([ut.Hole(5.2, 1.2, 0.9144, row["hole_depth_m"])])[0]
    drawn = layouts.strike_probability([ut.Hole(5.2, 1.2, 0.3, 0.3)])[0]
    assert math.isclose(row["p_strike"], whole, rel_tol=1e-9)
    assert math.isclose(row["p_strike_drawn"], drawn, rel_tol=1e-9)
    assert row["p_strike"] > drawn
    assert bool(row["hole_too_small"])
    assert "its root ball needs a hole at least" in str(layouts.assess(["oak"]))


def test_before_and_after_stand_side_by_side(layouts: ut.Layouts) -> None:
    row = layouts.assess(["oak"], reach_m=3.0).table().loc["oak"]
    if math.isnan(row["shift_m"]):
        assert row["shift_note"] == "no better place within reach"
    else:
        assert row["p_setback_shifted"] <= 0.25
    lifted = layouts.assess(["oak"], reach_m=3.0, rules=ut.TreeRules(setback_limit=1.0)).table().loc["oak"]
    assert not bool(lifted["line_in_setback"])
    with pytest.raises(ut.ArgumentError, match="setback_limit"):
        layouts.assess(rules=ut.TreeRules(setback_limit=-0.1))


def test_spots_go_into_every_call_as_they_are_and_so_does_their_table(layouts: ut.Layouts, tmp_path) -> None:
    trees = [
        ut.Tree("large", caliper_m=0.0508, setback="utility_3ft"),
        ut.Tree("small", caliper_m=0.0254),
        ut.Tree("small"),
    ]
    spots = layouts.best_spots(
        radius_m=[None, None, 0.4],
        depth_m=[None, None, 0.5],
        tree=trees,
        options=ut.SpotOptions(names=["linden", "crab", "dogwood"], cell_m=0.5),
    )
    table = spots.table()
    assert set(spots.names) == {"linden", "crab", "dogwood"}
    by_name = table.set_index("id")
    assert math.isclose(by_name.loc["linden", "radius_m"], 36 * 0.0254)
    assert math.isclose(by_name.loc["crab", "radius_m"], 24 * 0.0254)
    assert by_name.loc["linden", "tree_setback"] == "utility_3ft"
    assert (by_name["p_setback"].dropna() <= 0.25).all()
    at, radius = table[["x_m", "y_m"]].to_numpy(), table["radius_m"].to_numpy()
    for a in range(3):
        for b in range(a):
            assert math.dist(at[a], at[b]) - radius[a] - radius[b] >= 0.3 - 1e-9
    assessed = layouts.assess(spots).table()
    assert assessed.index.tolist() == list(spots.names)
    assert np.allclose(assessed["p_setback"].to_numpy(float), table["p_setback"].to_numpy(float), equal_nan=True)
    assert math.isnan(assessed.loc["crab", "p_setback"])
    assert not assessed["hole_too_small"].any()
    holes = layouts.shifted(spots)
    assert tuple(hole.id for hole in holes) == spots.names
    linden = holes[spots.names.index("linden")].tree
    assert (linden.size, linden.caliper_m, linden.setback) == ("large", 0.0508, "utility_3ft")
    plan = layouts.plan_probes(spots, n=2, options=ut.ProbeOptions(always=True))
    assert set(plan.outcomes()["dig"]) == set(spots.names)
    # Through a file and a join nothing is lost: what matters stands in columns.
    table.to_csv(tmp_path / "spots.csv")
    again = pd.read_csv(tmp_path / "spots.csv")
    assert layouts.assess(again).table()["p_setback"].equals(assessed["p_setback"])
    sheet = layouts.crew_sheet(tmp_path / "sheet.html", again, options=ut.SheetOptions(date="2026-05-04"))
    words = sheet.read_text(encoding="utf-8")
    assert "linden" in words
    assert "Large tree" in words


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({}, "n is missing"),
        ({"n": 2, "tree": ["small"]}, "2 spots are looked for, but tree has 1"),
        (
            {"tree": ["small", "large"], "radius_m": 0.3},
            r"tree\[0\] has neither caliper nor container, and its hole has no depth_m",
        ),
        ({"n": 2, "radius_m": 0.3, "depth_m": 0.3, "names": ["a", " a"]}, "names: a: two holes have the same name"),
        ({"n": 3, "radius_m": 0.3, "depth_m": 0.3, "names": "oak"}, "names has 1"),
        ({"n": 2, "radius_m": 0.3, "depth_m": 0.3, "names": [1, 1.0]}, "names: 1: two holes have the same name"),
        ({"tree": ["giant"], "radius_m": 0.3, "depth_m": 0.3}, "giant"),
        ({"n": 1, "radius_m": 0.3, "depth_m": 0.3, "gap_m": -1.0}, "gap_m"),
        ({"tree": [ut.Tree("large", setback="lateral_7ft")], "radius_m": 0.3, "depth_m": 0.3}, "lateral_7ft"),
    ],
)
def test_holes_without_a_size_and_lists_of_other_lengths_are_refused(layouts: ut.Layouts, given, said) -> None:
    with pytest.raises(ut.ArgumentError, match=said):
        layouts.best_spots(**with_options(ut.SpotOptions, **given))


def test_maps_bar_flagged_metal_and_carry_the_setback(layouts: ut.Layouts) -> None:
    smap = layouts.strike_map(radius_m=0.3, depth_m=0.4, cell_m=0.5)
    assert smap.on_flagged_metal.any()
    assert np.isnan(smap.p[smap.on_flagged_metal]).all()
    (oak,) = layouts.dig_maps(["oak"], cell_m=0.5)
    assert oak.p_setback is not None
    assert oak.p_setback.shape == oak.p.shape
    assert set(oak.to_xarray()) >= {"p_setback", "on_flagged_metal"}
    if oak.shift is not None:
        assert oak.shift.p_setback <= 0.25


def test_the_command_line_has_the_limit_of_the_setback(tmp_path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "site.toml"
    ut.Site.from_dict(BASE).write(path)
    said = {}
    for limit in ("0.01", "1"):
        assert main(["assess", str(path), "--draws", "50", "--setback-limit", limit]) == 0
        said[limit] = capsys.readouterr().out
    assert "a line is likely within its setback" in said["0.01"]
    assert "a line is likely within its setback" not in said["1"]
    assert main(["assess", str(path), "--draws", "50", "--setback-limit", "2"]) == 1
    assert "setback_limit" in capsys.readouterr().err
