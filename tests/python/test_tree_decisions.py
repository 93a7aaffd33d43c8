"""Trees through the Python face: digs for them, setbacks, protected roots and root balls, by published rows and plain numpy."""

import numpy as np
import pytest

import underturf as ut

INCH = 0.0254


@pytest.fixture(scope="module")
def site():
    return ut.read_site(ut.example("green"))


@pytest.fixture(scope="module")
def layouts(site):
    return ut.sample_layouts(site, draws=400, seed=7)


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
    assert near.loc["large", "p_roots_gas"] == pytest.approx(0, abs=0.01)  # marked 10.5 m off, roots reach 7.2 m
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
