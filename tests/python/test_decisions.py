"""Decisions through the Python face: assess, trees, rank, best spots. Numbers are checked in Rust and here by plain numpy."""

import itertools
import subprocess
import sys

import numpy as np
import pandas as pd
import pytest
from mistakes import with_options

import underturf as ut

INCH = 0.0254


@pytest.fixture(scope="module")
def site():
    return ut.read_site(ut.example("green"))


@pytest.fixture(scope="module")
def layouts(site):
    return ut.sample_layouts(site, draws=400, seed=7)


@pytest.fixture(scope="module")
def assessment(layouts):
    return layouts.assess()


@pytest.fixture(scope="module")
def table(assessment):
    return assessment.table()


def carries_cautions(result):
    assert result.cautions == ut.CAUTIONS
    table = result.table()
    assert "converged" in table.columns
    words = " ".join(str(cell) for cell in table.to_numpy().ravel())
    assert "safe" not in words.lower()


def test_loss_is_the_weighted_sum_of_chances(layouts, assessment, table):
    carries_cautions(assessment)
    weights = ut.default_weights()
    machine = np.where(table.index == "drain", weights["machine"], 1.0)
    plain = sum(weights[name] * table[f"p_{name}"].fillna(0.0) for name in ut.CLASSES)
    np.testing.assert_allclose(table["loss"], machine * plain, rtol=1e-9)
    assert (table["loss_mcse"] > 0).all()
    heavy = layouts.assess(weights={"lateral": 20.0, "unknown": 0}).table()
    plain = plain + 18.0 * table["p_lateral"] - weights["unknown"] * table["p_unknown"]
    np.testing.assert_allclose(heavy["loss"], machine * plain, rtol=1e-9)


def test_a_machine_strikes_as_often_and_costs_more(layouts):
    hand, machine = (ut.Hole(4, 3, 0.3, 0.4, id=method, method=method) for method in ("hand", "machine"))
    found = layouts.assess([hand, machine]).table()
    assert found.loc["hand", "p_strike"] == found.loc["machine", "p_strike"]
    assert found.loc["machine", "loss"] == pytest.approx(2 * found.loc["hand", "loss"])


def test_a_reach_is_the_users(layouts, assessment, table):
    near, far = (layouts.assess(reach_m=reach, cell_m=0.1).table() for reach in (0.3, 3.0))
    assert (near["shift_m"].dropna() <= 0.3 + 1e-9).all()
    assert (far["shift_m"] > 1.5).any()
    both = far["loss_shifted"].notna() & table["loss_shifted"].notna()
    assert (far["loss_shifted"] <= table["loss_shifted"])[both].all()
    # Planted fault: a reach that is ignored gives the same table three times.
    assert not far["loss_shifted"].equals(table["loss_shifted"])
    assert assessment.reach_m == 1.5
    with pytest.raises(ut.ArgumentError, match="reach_m"):
        layouts.assess(reach_m=-1.0)
    with pytest.raises(ut.ArgumentError, match="cell_m"):
        layouts.assess(reach_m=0.5, cell_m=0.6)


def test_every_fault_of_weights_is_named_in_one_error(layouts):
    with pytest.raises(ut.ArgumentError) as caught:
        layouts.assess(weights={"steam": 1.0, "gas": -2.0, "lateral": float("nan")})
    assert all(word in str(caught.value) for word in ('"steam"', "gas = -2", "lateral = NaN"))
    for wrong in ({"gas": "much"}, {"gas": True}, [("gas", 1.0)]):
        with pytest.raises(ut.ArgumentError):
            layouts.rank(weights=wrong)
    with pytest.raises(ut.ArgumentError, match="lateral_5ft, lateral_10ft"):
        layouts.assess(rules=ut.TreeRules(setback="12ft"))


def test_nearest_line_is_median_and_band_over_draws(layouts, table):
    """Against shapely-free numpy: distance of a hole's edge to every piece of every draw."""
    pieces = layouts.segments()
    x, y, radius = 2.4, 4.2, 0.45  # the crabapple
    a = pieces[["x0_m", "y0_m"]].to_numpy()
    along = pieces[["x1_m", "y1_m"]].to_numpy() - a
    length2 = np.maximum((along**2).sum(axis=1), 1e-18)
    t = np.clip((((x, y) - a) * along).sum(axis=1) / length2, 0, 1)
    gap = np.hypot(*((x, y) - a - t[:, None] * along).T) - radius - pieces["diameter_m"] / 2
    pieces = pieces.assign(gap=np.maximum(gap, 0))
    nearest = pieces.loc[pieces.groupby("draw")["gap"].idxmin()]
    row = table.loc["crabapple"]
    expected = np.quantile(nearest["gap"], [0.05, 0.5, 0.95])
    np.testing.assert_allclose(row[["nearest_m_q05", "nearest_m", "nearest_m_q95"]].to_list(), expected, atol=1e-6)
    assert row["nearest_class"] == nearest["class"].mode()[0]
    assert row["nearest_share"] == pytest.approx((nearest["class"] == row["nearest_class"]).mean(), abs=0.01)


def test_nameless_valves_do_not_lose_by_split_votes():
    site = ut.read_site(ut.example("unlabelled"))
    found = ut.sample_layouts(site, draws=200, seed=7).assess().table()
    lateral = found[found["nearest_class"] == "lateral"]
    assert len(lateral)
    assert (lateral["nearest_share"] > 0.4).all()
    assert not lateral["nearest_zone"].str.contains(r"valve \d").any()


def test_shifts_gain_in_loss_and_never_in_chance(table):
    moved = table[table["shift_m"].notna()]
    assert len(moved)
    free = moved[~moved["in_tolerance_zone"]]
    assert (free["loss_shifted"] < free["loss"]).all()
    assert (free["p_shifted"] <= free["p_strike"] + 4 * free["mcse"] + 0.01).all()


def test_trees_of_documents_and_shapes_are_the_same(site):
    tree = ut.Tree("large", vigour="aggressive", caliper_m=2 * INCH, root_radius_m=6.096)
    dig = ut.Hole(3.0, 2.0, 0.45, 0.4, id="new", tree=tree)
    for name in ("green", "terrace"):
        within = ut.read_site(ut.example(name)).with_digs(dig)
        written = within.to_dict()["digs"][-1]["tree"]
        unit = within.unit_m
        assert written["size"] == "large"
        assert written["caliper"] == pytest.approx(2 * INCH / unit)
        assert written["root_radius"] == pytest.approx(6.096 / unit)
        assert ut.Site.from_dict(within.to_dict()) == within
        assert ut.Site.from_toml(within.to_toml()) == within
    assert site.with_digs(ut.Hole(3, 2, 0.45, 0.4, tree="small")).to_dict()["digs"][-1]["tree"] == "small"
    assert ut.Hole(1, 1, 1, 1, tree={"size": "small"}) == ut.Hole(1, 1, 1, 1, tree="small")
    assert hash(ut.Pit([[0, 0], [1, 0], [0, 1]], 1, tree={"size": "small"}))


@pytest.mark.parametrize(
    ("tree", "words"),
    [
        ("tall", "small, medium, large"),
        ({"size": "tall", "vigour": "wild"}, "vigour"),
        ({"size": "large", "caliper_m": -1}, "not above 0"),
        ({"size": "large", "caliper_m": 0.05, "container_gal": 5}, "at most one of"),
        ({"size": "large", "height": 3}, "height"),
        (7, "mapping"),
    ],
)
def test_bad_trees_are_refused(layouts, tree, words):
    with pytest.raises(ut.DigError, match=words):
        layouts.assess([ut.Hole(4, 3, 0.3, 0.4, tree=tree)])


def test_tree_conflicts_grow_with_the_setback_and_spare_small_trees(layouts):
    digs = [ut.Hole(6.7, 2.0, 0.45, 0.4, id=size, tree=size) for size in ("small", "medium", "large")]
    near, far = (layouts.tree_conflicts(digs, name) for name in ("utility_3ft", "lateral_10ft"))
    assert near.attrs["cautions"] == list(ut.CAUTIONS)
    assert near["converged"].all()
    assert np.isnan(near.loc["small", ["setback_m", "p_setback", "roots_m", "p_roots"]].astype(float)).all()
    assert near.loc["large", "p_setback"] < far.loc["large", "p_setback"]
    assert near.loc["medium", "p_roots_lateral"] <= near.loc["large", "p_roots_lateral"] < 1
    assert near.loc["large", "mcse_setback"] > 0
    assert near.loc["large", "p_roots_gas"] == pytest.approx(0, abs=1e-6)  # marked 10.5 m off, roots reach 7.2 m
    assert np.isnan(near.loc["large", "p_roots_electric"])
    assert near.loc["large", "structure_m"] == pytest.approx(np.hypot(11 - 6.7, 8 - 2.0))
    # A strike by a hole as wide as the setback and deeper than any line is the same question.
    wide = layouts.strikes([ut.Hole(6.7, 2.0, 0.9144, 6.0)], form="general")
    assert near.loc["large", "p_setback_lateral"] == pytest.approx(wide["p_lateral"].iloc[0])
    assert len(layouts.tree_conflicts([ut.Hole(4, 3, 0.3, 0.4)])) == 0


def test_a_dig_in_protected_roots_is_reported(site):
    document = site.to_dict()
    document["trees"] = [{"x": 5.0, "y": 3.0, "stem_diameter": 0.3}]  # BS 5837: 3.6 m
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=50, seed=7)
    holes = [ut.Hole(5.0 + off, 3.0, 0.3, 0.4, id=f"{off}") for off in (3.8, 4.0)]
    assessment = layouts.assess(holes)
    found = assessment.table()
    assert found["in_root_protection"].to_list() == [True, False]
    assert found["standing_tree"].to_list() == ["trees[0]", "trees[0]"]
    np.testing.assert_allclose(found["standing_tree_m"], [3.5, 3.7])
    assert "protected roots of trees[0]" in str(assessment)


def test_root_balls_are_the_published_rows():
    """python/docs/trade-values.md, 8.25 and 8.26."""
    for caliper, ball, depth in ((2, 24, 15.84), (3, 32, 19.2), (4, 42, 25.2)):
        found = ut.root_ball(caliper_in=caliper)
        assert (found.ball_diameter_m / INCH, found.ball_depth_m / INCH) == pytest.approx((ball, depth))
        assert "ANSI Z60.1" in found.source
    assert ut.root_ball(caliper_in=2, width_factor=2).hole_width_m == pytest.approx(48 * INCH)
    assert ut.root_ball(container_gal=15).caliper_in == 2
    small = ut.root_ball(container_gal=3)  # thinner than Florida's table of balls begins with
    assert small.ball_diameter_m == pytest.approx(14 * INCH)
    assert "shade trees" in small.source
    for wrong, words in (
        ({"caliper_in": 9}, "ball diameters"),
        ({"caliper_in": 5}, "ball depths"),
        ({"container_gal": 200}, "containers"),
        ({"container_gal": 3, "table": "florida"}, 'the table "shade_tree" has a row'),
        ({}, "exactly one"),
        ({"caliper_in": 2, "container_gal": 5}, "exactly one"),
        ({"caliper_in": 2, "table": "mine"}, "shade_tree, florida"),
    ):
        with pytest.raises(ut.ArgumentError, match=words):
            ut.root_ball(**wrong)
    with pytest.raises(ut.ArgumentError, match="above 0"):
        ut.root_protection_m(0)


def test_combined_stems_meet_the_worked_values():
    """python/docs/trade-values.md, 8.23: stems of 200, 150 and 100 mm stand for one of 269.26 mm, with 3.231 m and 32.80 m2."""
    stem = ut.combined_stem_m([0.2, 0.15, 0.1])
    assert stem == pytest.approx(0.26926, abs=5e-6)
    radius = ut.root_protection_m(stem)
    assert radius == pytest.approx(3.231, abs=5e-4)
    assert np.pi * radius**2 == pytest.approx(32.80, abs=5e-3)
    assert ut.combined_stem_m(np.array([0.3])) == pytest.approx(0.3)
    for wrong, words in (([], "0 stems"), ([0.1] * 6, "6 stems"), ([0.1, -0.2], r"stems_m\[1\] is -0.2")):
        with pytest.raises(ut.ArgumentError, match=words):
            ut.combined_stem_m(wrong)


def test_a_dig_smaller_than_its_ball_needs_is_pointed_out(layouts):
    ball = ut.root_ball(caliper_in=2)
    tree = ut.Tree("large", caliper_m=2 * INCH)
    digs = [
        ut.Hole(6.7, 2.0, radius, depth, tree=tree, id=name)
        for name, radius, depth in (("small", 0.45, 0.4), ("flat", 0.92, 0.2), ("wide", 0.92, 0.4))
    ]
    digs.append(ut.Hole(6.7, 2.0, 0.2, 0.2, tree="large", id="unknown"))
    assessment = layouts.assess(digs)
    table = assessment.table()
    conflicts = layouts.tree_conflicts(digs)
    for found in (table, conflicts):
        assert found["hole_too_small"].tolist() == [True, True, False, False]
        np.testing.assert_allclose(found["hole_width_m"], [ball.hole_width_m] * 3 + [np.nan])
        np.testing.assert_allclose(found["hole_depth_m"], [ball.hole_depth_m] * 3 + [np.nan])
    said = " ".join(str(assessment).split())
    assert said.count("its root ball needs a hole at least 1.83 m across and 0.35 m deep") == 2
    # All figures are those of the hole that the ball needs; the drawn one stands beside it.
    whole = layouts.strikes([ut.Hole(6.7, 2.0, 36 * INCH, 0.4)])["p_strike"].iloc[0]
    assert table.loc["small", "p_strike"] == pytest.approx(whole)
    assert table["p_strike_drawn"].notna().tolist() == [True, True, False, False]
    assert (table["p_strike_drawn"].dropna() < table["p_strike"].iloc[:2]).all()


def test_spots_reckon_with_all_of_a_tree(layouts, site):
    """Roots of 18, 12 and 6 diameters of a stem of 0.6 m; the building of the example is at x >= 11, y >= 8."""
    within = [[5.0, 9.0], [11.0, 9.0], [11.0, 16.0], [5.0, 16.0]]
    for tree, reach in (
        (ut.Tree("large", vigour="aggressive"), 10.8),
        (ut.Tree("large"), 7.2),
        (ut.Tree("large", root_radius_m=9.0), 9.0),
    ):
        spots = layouts.best_spots(
            2, 0.45, 0.4, tree=tree, options=ut.SpotOptions(setback_limit=1.0, cell_m=0.5, within=within)
        )
        total, spots = spots.total_loss, spots.table()
        near = 11.0 - spots["x_m"]
        priced = 0.1 * ut.default_weights()["sewer"] * np.maximum(0, 1 - near / reach)
        np.testing.assert_allclose(spots["roots_loss"], priced, atol=1e-9)
        assert total == pytest.approx(spots[["loss", "setback_loss", "roots_loss"]].to_numpy().sum())
    look = {"within": within, "cell_m": 0.5, "setback_limit": 1.0}
    free = layouts.best_spots(2, 0.45, 0.4, tree=tree, options=ut.SpotOptions(roots_share=0.0, **look)).table()
    assert (free["roots_loss"] == 0).all()
    bought = ut.Tree("large", caliper_m=2 * INCH)
    small, wide = (
        layouts.best_spots(1, radius, 0.4, tree=bought, options=ut.SpotOptions(setback_limit=1.0, cell_m=0.5)).table()
        for radius in (0.45, 0.92)
    )
    assert (small["hole_too_small"].tolist(), wide["hole_too_small"].tolist()) == ([True], [False])
    assert small["hole_width_m"].iloc[0] == pytest.approx(72 * INCH)
    assert small["radius_m"].iloc[0] == pytest.approx(36 * INCH)
    assert "ANSI" in small["hole_source"].iloc[0]
    # A standing tree beside the best place of all: its roots bar unless told otherwise.
    best = layouts.best_spots(1, 0.45, 0.4, options=ut.SpotOptions(cell_m=0.5)).table()
    at = np.array([best["x_m"].iloc[0], best["y_m"].iloc[0]])
    document = site.to_dict()
    document["trees"] = [{"x": float(at[0]) + 0.7, "y": float(at[1]), "stem_diameter": 0.2}]
    wooded = ut.sample_layouts(ut.Site.from_dict(document), draws=100, seed=7)
    away, under = (
        wooded.best_spots(1, 0.45, 0.4, options=ut.SpotOptions(spare_roots=spare, cell_m=0.5))
        for spare in (True, False)
    )
    assert np.hypot(away[0].x_m - at[0] - 0.7, away[0].y_m - at[1]) >= 2.4 + 0.45 - 1e-9
    assert under.candidates > away.candidates


def test_setbacks_are_the_published_rows():
    rows = ut.setbacks()
    assert rows.index[0] == "lateral_5ft"
    assert rows.loc["lateral_5ft", "lateral_m"] == pytest.approx(5 * 0.3048)
    assert rows.loc["mains_25ft", "gas_m"] == pytest.approx(10 * 0.3048)
    assert np.isnan(rows.loc["mains_25ft", "lateral_m"])
    assert rows.loc["meters_6ft", "meter_m"] == pytest.approx(6 * 0.3048)
    assert rows["source"].str.len().min() > 5


def test_rank_orders_by_loss_and_leaves_tolerance_zones_last(layouts, table):
    carries_cautions(layouts.rank())
    ranking = layouts.rank().table()
    free = ranking[~ranking["in_tolerance_zone"]]
    assert free["loss"].is_monotonic_increasing
    assert set(ranking.index) == set(table.index)
    pd.testing.assert_series_equal(ranking["loss"].sort_index(), table["loss"].sort_index())
    assert ranking["in_tolerance_zone"].iloc[-1]
    assert "call the one-call centre" in ranking["note"].iloc[-1]
    np.testing.assert_allclose(free["gap_to_next"].iloc[:-1], np.diff(free["loss"]))
    by_p = layouts.rank(by="p").table()
    assert by_p.loc[~by_p["in_tolerance_zone"], "p_strike"].is_monotonic_increasing
    with pytest.raises(ut.ArgumentError, match="'loss' or 'p'"):
        layouts.rank(by="luck")
    assert len(layouts.rank([])) == 0
    with pytest.raises(ut.DigError, match="oak: two digs have the same name"):
        layouts.rank([ut.Hole(4, 3, 0.3, 0.4, id="oak"), ut.Hole(5, 3, 0.3, 0.4, id="oak")])


def test_digs_that_cannot_be_dug_where_they_are_drawn_are_told_and_last(layouts):
    """Into the building, beside it, and over the boundary."""
    digs = [
        ut.Hole(10.9, 12.0, 0.2, 0.4, id="wall"),  # the building begins at x = 11, the boundary at x = 0
        ut.Hole(10.9, 12.0, 0.1, 0.4, id="beside"),
        ut.Pit([(-0.5, 1), (0.5, 1), (0.5, 2)], 0.4, id="fence"),
    ]
    assessment = layouts.assess(digs)
    table = assessment.table()
    assert table["blocked_by"].tolist() == ["obstacles[0]", "", "boundary"]
    ranking = layouts.rank(digs).table()
    assert ranking.index[0] == "beside"
    assert ranking["rank"].tolist() == [1, 2, 2]
    assert ranking.loc["fence", "note"] == "reaches over the boundary as it is drawn: last for that alone"
    assert "wall: meets obstacles[0] as it is drawn; beside that: " in str(assessment)


def test_paired_errors_are_smaller_than_those_of_two_samples(layouts):
    """Holes that share most of their ground: their difference is far better known than either."""
    digs = [ut.Hole(6.7, 4.2, 0.45, 0.4, id="a"), ut.Hole(6.7, 4.25, 0.45, 0.4, id="b")]
    ranking = layouts.rank(digs).table()
    alone = np.hypot(*ranking["loss_mcse"])
    assert ranking["gap_mcse"].iloc[0] < 0.5 * alone


def test_ties_are_named_and_more_draws_part_what_they_can(site):
    few = ut.sample_layouts(site, draws=40, seed=7)
    twins = [ut.Hole(6.7, 2.0, 0.45, 0.4, id=name) for name in ("left", "right")]
    whole = few.rank(twins, until_distinct=True)
    tied = whole.table()
    assert tied["tied_with"].to_list() == [["right"], ["left"]]
    assert np.isinf(tied["draws_needed"].iloc[0])
    assert "evidence, not draws" in tied["note"].iloc[0]
    assert whole.draws == 40
    digs = [ut.Hole(2.2, 6.0, 0.3, 0.4, id="a"), ut.Hole(6.6, 6.0, 0.3, 0.4, id="b")]
    first = few.rank(digs).table()
    assert first["tied_with"].iloc[0]
    on, again = (few.rank(digs, until_distinct=True, longest_draws=2560) for _ in range(2))
    assert on == again
    assert 40 < on.draws <= 2560
    assert on[0].gap_mcse < first["gap_mcse"].iloc[0]


def test_best_spots_equal_brute_force_over_maps(layouts):
    spots = layouts.best_spots(2, 0.45, 0.4, options=ut.SpotOptions(spacing_m=4.0, cell_m=1.0))
    carries_cautions(spots)
    weights = ut.default_weights()
    loss, smap = 0.0, None
    for name in layouts.assessed:
        smap = layouts.strike_map(0.45, 0.4, 1.0, name)
        loss = loss + weights[name] * smap.p
    walk = np.hypot(
        np.maximum(0, np.abs(smap.x_m - 14.0) - 0.6)[None, :], np.maximum(0, np.abs(smap.y_m - 4.0) - 4.0)[:, None]
    )  # distance to the paving of the example, where nothing is planted
    rows, cols = np.nonzero(~np.isnan(loss) & (walk >= 0.45))
    places = np.stack([smap.x_m[cols], smap.y_m[rows]], axis=1)
    costs = loss[rows, cols]
    least = min(
        costs[a] + costs[b]
        for a, b in itertools.combinations(range(len(costs)), 2)
        if np.hypot(*(places[a] - places[b])) >= 4.0 - 1e-9
    )
    assert spots.total_loss == pytest.approx(least)
    assert spots.exact
    assert spots.gap == pytest.approx(0, abs=1e-9)
    assert spots.candidates == len(costs)
    assert np.hypot(spots[0].x_m - spots[1].x_m, spots[0].y_m - spots[1].y_m) >= 4.0 - 1e-9


def test_spots_keep_off_what_they_must(layouts):
    corner = [[0.5, 0.5], [19.0, 0.5], [19.0, 7.5], [0.5, 7.5]]
    spots = layouts.best_spots(
        5,
        0.45,
        0.4,
        tree="large",
        options=ut.SpotOptions(
            spacing_m=2.5, setback_limit=0.9, from_building_m=1.5, from_boundary_m=0.7, within=corner
        ),
    )
    assert spots.lower_bound <= spots.total_loss + 1e-12
    spots = spots.table()
    assert (spots["p_setback"] <= 0.9).all()
    assert (spots["x_m"].between(1.15, 19.2 - 1.15)).all()
    assert (spots["y_m"] >= 1.15 - 1e-9).all()
    beside = np.maximum(11.0 - spots["x_m"], 0)
    assert (np.hypot(beside, np.maximum(8.0 - spots["y_m"], 0)) >= 1.95 - 1e-9).all()
    assert (abs(spots["x_m"] - 17.2) >= 5 * 0.3048 - 1e-9).all()  # the gas mark, by the setback
    assert (spots["setback_loss"] > 0).all()
    xy = spots[["x_m", "y_m"]].to_numpy()
    apart = np.hypot(*(xy[:, None] - xy[None]).T)[~np.eye(5, dtype=bool)]
    assert apart.min() >= 2.5 - 1e-9
    assert (spots["p_upper95"] > spots["p_strike"] + 0.001).all()
    small = layouts.best_spots(5, 0.45, 0.4, tree="small", options=ut.SpotOptions(spacing_m=2.5, within=corner)).table()
    assert (small["setback_loss"] == 0).all()


def test_spots_that_do_not_fit_are_refused_with_how_many_do(layouts):
    tiny = [[1.0, 1.0], [4.0, 1.0], [4.0, 4.0], [1.0, 4.0]]
    with pytest.raises(
        ut.ArgumentError, match=r"9 spots do not fit: no more than 4(?s:.*)In Python: SpotOptions takes"
    ):
        layouts.best_spots(9, 0.4, 0.4, options=ut.SpotOptions(spacing_m=1.9, cell_m=0.1, within=tiny))
    for wrong, words in (
        ({"spacing_m": -1}, "spacing_m"),
        ({"gap_m": float("nan")}, "gap_m"),
        ({"setback_limit": 2}, "setback_limit"),
        ({"cell_m": -1}, "cell_m"),
        ({"within": [[0, 0], [2, 2], [2, 0], [0, 2]]}, "within"),
        ({"setback": "12ft"}, "no setback"),
        ({"tree": "tall"}, "tree"),
        ({"from_boundary_m": float("nan")}, "from_boundary_m"),
        ({"method": "blasting"}, "method"),
    ):
        with pytest.raises((ut.ArgumentError, ut.DigError), match=words):
            layouts.best_spots(1, 0.4, 0.4, **with_options(ut.SpotOptions, **wrong))


def test_threads_do_not_change_a_decision(layouts):
    for call in (
        lambda threads: layouts.rank(run=ut.Running(threads=threads)),
        lambda threads: layouts.best_spots(
            3, 0.45, 0.4, run=ut.Running(threads=threads), options=ut.SpotOptions(cell_m=0.5)
        ),
    ):
        assert call(1) == call(2)
    one, two = (layouts.tree_conflicts(run=ut.Running(threads=threads)) for threads in (1, 2))
    pd.testing.assert_frame_equal(one, two)


def test_long_searches_stop_when_asked(layouts):
    def stop(done, total):
        raise RuntimeError("enough")

    with pytest.raises(RuntimeError, match="enough"):
        layouts.best_spots(
            30, 0.2, 0.4, run=ut.Running(progress=stop), options=ut.SpotOptions(spacing_m=2.4, cell_m=0.05)
        )


def test_the_text_and_the_command_show_loss_and_band(assessment):
    text = ut.text_table(assessment)
    assert text == str(assessment)
    assert "loss" in text
    assert " to " in text
    assert "within its setback (lateral_5ft)" in text
    assert " 0 %" not in text
    assert "safe" not in text.lower()
    run = [sys.executable, "-m", "underturf", "assess", str(ut.example("green")), "--draws", "60"]
    shown = subprocess.run(run, capture_output=True, text=True, check=True).stdout
    assert "loss" in shown
    assert "nearest likely line" in shown
