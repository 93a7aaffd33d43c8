"""What people type in Python calls, and what must be said to them.

Each row is a call and the words of its refusal. Faults caught here: a bare TypeError or OverflowError of the binding, an argument
that is not named, a unit that is dropped.
"""

from __future__ import annotations

import dataclasses
import math
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from mistakes import PLAIN

import underturf as ut


@pytest.fixture(scope="module")
def site():
    return ut.Site.from_dict(PLAIN)


@pytest.fixture(scope="module")
def layouts(site):
    return ut.sample_layouts(site, draws=20, seed=1, run=ut.Running(threads=1))


# lengths in Python


def test_lengths_of_digs_and_trees_are_read():
    hole = ut.Hole("10 ft", "-6' 6\"", radius_m="2ft", depth_m="18 in", id=3.0, tree=float("nan"))
    assert ut.Hole(1, 2, 0.3, 0.4, method=float("nan")).method == "hand"
    assert (hole.x_m, hole.radius_m, hole.depth_m, hole.id, hole.tree) == (3.048, 0.6096, 0.4572, "3", None)
    assert math.isclose(hole.y_m, -1.9812)
    assert ut.PostHole(1, 2, "12in", "0.5").diameter_m == 0.3048
    assert ut.PostHole(Decimal(1), np.int64(2), Fraction(1, 2), 1) == ut.PostHole(1.0, 2.0, 0.5, 1.0)
    assert ut.Pit([["0 ft", 0], ["10 ft", 0], [3, "10 ft"]], "1 ft").outline_m == ((0, 0), (3.048, 0), (3, 3.048))
    assert ut.Trench([("1 m", "2 m"), (3, 2)], "30cm", 0.4).width_m == 0.3
    tree = ut.Tree("large", vigour=float("nan"), caliper_m="2 in", container_gal=None, root_radius_m="20 ft")
    assert (tree.vigour, tree.caliper_m, tree.root_radius_m) == (None, 0.0508, 6.096)
    assert ut.root_ball(caliper_in="2 in") == ut.root_ball(caliper_in=2) == ut.root_ball(caliper_in="2")
    assert ut.root_protection_m("1 ft") == ut.root_protection_m(0.3048)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: ut.Hole(1, 2, "wide", 0.4), 'radius_m: "wide" is not a length'),
        (lambda: ut.Hole(1, 2, "0,3 m", 0.4), "write 0.3 m"),
        (lambda: ut.Hole(1, 2, True, 0.4), "radius_m is True; it must be a number"),
        (lambda: ut.Hole(1, 2, None, 0.4), "radius_m is None; it must be a number"),
        (lambda: ut.Hole(1, 2, [0.3], 0.4), "radius_m is [0.3]; it must be a number"),
        (lambda: ut.PostHole(1, 2, "3 survey ft", 0.4), 'diameter_m: "3 survey ft" is in survey feet'),
        (lambda: ut.Trench([["1 m", "x"], [1, 2]], 0.3, 0.4), 'path_m[0]: "x" is not a length'),
        (lambda: ut.Trench("a path", 0.3, 0.4), "path_m must be an array of numbers"),
        (lambda: ut.Hole(1, 2, 0.3, 0.4, method=1), "method is 1; it must be 'hand' or 'machine'"),
        (lambda: ut.Tree(3), "tree: size is 3; it must be a text"),
        (lambda: ut.Tree("large", vigour=1), "tree: vigour is 1; it must be a text"),
        (lambda: ut.Tree("large", caliper_m="thick"), 'caliper_m: "thick" is not a length'),
        (lambda: ut.Tree("large", container_gal="15"), "container_gal is '15'; it must be a number, not a text"),
        (lambda: ut.Hole(1, 2, 0.3, 0.4, tree={"size": "large", "calliper_m": 1}), 'did you mean "caliper_m"?'),
        (lambda: ut.Hole(1, 2, 0.3, 0.4, tree={"vigour": "small"}), "tree: its size is missing"),
    ],
)
def test_digs_that_are_refused_when_made(call, said):
    with pytest.raises(ut.DigError) as caught:
        call()
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("dig", "said"),
    [
        (ut.Hole(1, 2, float("nan"), 0.4), "radius: NaN is not a finite number"),
        (ut.Hole(1, 2, 0.3, float("inf")), "depth: inf is not a finite number"),
        (ut.Hole(1, 2, "-1 ft", 0.4), "radius: -0.3048 is not above 0"),
        (ut.Hole(1, 2, 0.3, 0.4, method="hnad"), "it must be 'hand' or 'machine'; did you mean \"hand\"?"),
        (ut.Hole(1, 2, 0.3, 0.4, tree="lage"), 'did you mean "large"?'),
        ("oka", 'the site proposes no dig "oka"; did you mean "oak"? It has oak'),
        ("well", 'the site proposes no dig "well"; it has oak'),
    ],
)
def test_digs_that_are_refused_when_used(layouts, dig, said):
    with pytest.raises(ut.DigError) as caught:
        layouts.strike_probability(dig)
    assert said in str(caught.value)


def test_texts_and_numbers_are_the_same_lengths(layouts):
    hole, same = ut.Hole("4 m", 4.5, "1 ft", "50 cm"), ut.Hole(4, 4.5, 0.3048, 0.5)
    assert layouts.strike_probability(hole) == layouts.strike_probability(same)
    assert layouts.strike_probability(" oak\u00a0") == layouts.strike_probability("oak")
    quiet = {"run": ut.Running(threads=1)}
    one, other = layouts.strike_map("1 ft", "40cm", "0.5", **quiet), layouts.strike_map(0.3048, 0.4, 0.5, **quiet)
    assert np.array_equal(one.p, other.p, equal_nan=True)
    spots = [
        layouts.best_spots(
            2, radius, depth, **quiet, options=ut.SpotOptions(spacing_m=spacing, from_building_m=off, cell_m=cell)
        )
        for radius, depth, spacing, off, cell in (("1 ft", "40 cm", "2 m", "1 ft", "1m"), (0.3048, 0.4, 2, 0.3048, 1))
    ]
    assert spots[0] == spots[1]
    plans = [
        layouts.plan_probes(
            n=1, radius_m=radius, **quiet, options=ut.ProbeOptions(slit_m=slit, cell_m=cell, always=True)
        )
        for radius, slit, cell in (("25 cm", ("2 ft", "4in"), "1 m"), (0.25, (0.6096, 0.1016), 1))
    ]
    assert plans[0] == plans[1]


# arguments


@pytest.mark.parametrize(
    ("draws", "said"),
    [
        (2.5, "draws is 2.5; it must be a whole number, at least 2"),
        ("many", "draws is 'many'; it must be a whole number, at least 2"),
        ("20", "draws is '20'; it must be a whole number"),
        (True, "draws is True; it must be a whole number"),
        (None, "draws is None; it must be a whole number"),
        (float("nan"), "draws is nan; it must be a whole number"),
        (float("inf"), "draws is inf; it must be a whole number"),
        (1, "draws is 1; it must be at least 2"),
        (-5, "draws is -5; it must be at least 2"),
        (10**30, "that is more than can be counted"),
        ([20], "draws is [20]; it must be a whole number"),
    ],
)
def test_draws_that_are_none(no_work, site, draws, said):
    with pytest.raises(ut.ArgumentError) as caught:
        ut.sample_layouts(site, draws=draws)
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"seed": -1}, "seed is -1; it must lie in 0 to 2**64 - 1"),
        ({"seed": 2**64}, "it must lie in 0 to 2**64 - 1"),
        ({"seed": 2.5}, "seed is 2.5; it must be a whole number"),
        ({"seed": "7"}, "seed is '7'; it must be a whole number"),
        ({"seed": True}, "seed is True; it must be a whole number"),
        ({"draws": 2.5}, "draws is 2.5; it must be a whole number, at least 2"),
        ({"draws": 1}, "draws is 1; it must be at least 2"),
        ({"run": 4}, "run is 4; it must be a Running, such as Running()"),
        ({"longest": 0}, "longest is 0; it must be at least 1"),
        ({"accept_unconverged": "no"}, "accept_unconverged is 'no'; it must be True or False"),
    ],
)
def test_arguments_of_sampling(no_work, site, more, said):
    with pytest.raises(ut.ArgumentError) as caught:
        ut.sample_layouts(site, **{"draws": 20, **more})
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("kind", "wrong", "said"),
    [
        (ut.Running, {"threads": 0}, "threads is 0; it must be at least 1"),
        (ut.Running, {"threads": "all"}, "threads is 'all'; it must be a whole number"),
        (ut.Running, {"threads": 1.5}, "threads is 1.5; it must be a whole number"),
        (ut.Running, {"progress": "yes"}, "progress is 'yes'; it must be True or False"),
        (ut.Running, {"memory_limit_gb": "2 GB"}, "memory_limit_gb is '2 GB'; it must be a number, not a text"),
        (ut.TreeRules, {"setback_limit": None}, "setback_limit is None; it must be a number"),
        (ut.ProbeOptions, {"tool": "spade"}, "tool is 'spade'; it must be 'pothole', 'slit' or 'rod'"),
        (ut.ProbeOptions, {"tool": "slit"}, "slit_m is None and tool is 'slit'"),
        (ut.ProbeOptions, {"tool": "rod", "slit_m": (0.8, 0.1)}, "slit_m is (0.8, 0.1) and tool is 'rod'"),
        (ut.SheetOptions, {"rules": "lateral_5ft"}, "rules is 'lateral_5ft'; it must be a TreeRules"),
    ],
)
def test_options_are_refused_when_they_are_made(kind, wrong, said):
    with pytest.raises(ut.ArgumentError) as caught:
        kind(**wrong)
    assert said in str(caught.value)


def test_options_keep_metres_and_never_change():
    assert ut.ProbeOptions(shift_m="5 ft").shift_m == pytest.approx(1.524)
    assert ut.SheetOptions(near_m="10 ft").near_m == pytest.approx(3.048)
    with pytest.raises(dataclasses.FrozenInstanceError):
        ut.TreeRules().setback_limit = 1.0


def test_a_path_for_a_site(no_work):
    with pytest.raises(ut.ArgumentError, match=r"site is 'green.toml'; it must be a Site, as read_site"):
        ut.sample_layouts("green.toml")


def test_whole_numbers_of_any_kind_are_taken(site):
    drawn = ut.sample_layouts(site, draws=np.float64(20.0), seed=np.uint64(1), run=ut.Running(threads=Decimal(1)))
    assert (drawn.draws, drawn.seed) == (20, 1)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda it: it.strike_map(float("nan")), "radius_m is nan; it must be a number"),
        (lambda it: it.strike_map("wide"), 'radius_m: "wide" is not a length'),
        (lambda it: it.strike_map(True), "radius_m is True"),
        (lambda it: it.strike_map(0.3, None), "depth_m is None"),
        (lambda it: it.strike_map(0.3, 0.4, float("inf")), "cell_m is inf; it must be finite"),
        (lambda it: it.strike_map(0.3, 0.4, 10**400), "cell_m is a number of 401 digits; that is too large"),
        (lambda it: it.strike_map(run=ut.Running(threads=0)), "threads is 0"),
        (lambda it: it.strike_map(classes=["laterl"]), "there is no class 'laterl'"),
        (lambda it: it.strike_map(classes=["laterl"]), 'did you mean "lateral"?'),
        (lambda it: it.dig_maps(reach_m="far"), 'reach_m: "far" is not a length'),
        (lambda it: it.dig_maps(cell_m=float("nan")), "cell_m is nan"),
        (lambda it: it.assess(reach_m=None), "reach_m is None"),
        (lambda it: it.assess(rules=ut.TreeRules(setback="lateral_5f")), 'did you mean "lateral_5ft"?'),
        (lambda it: it.assess(weights={"gass": 1}), 'did you mean "gas"?'),
        (lambda it: it.assess(weights={"gas": "high"}), "gas = 'high'"),
        (lambda it: it.rank(until_distinct=1), "until_distinct is 1; it must be True or False"),
        (lambda it: it.rank(until_distinct=True, longest_draws=2.5), "longest_draws is 2.5; it must be a whole number"),
        (lambda it: it.best_spots(2.5, 0.3, 0.4), "n is 2.5; it must be a whole number"),
        (lambda it: it.best_spots("two", 0.3, 0.4), "n is 'two'"),
        (lambda it: it.best_spots(2, float("nan"), 0.4), "radius_m is nan"),
        (lambda it: it.best_spots(2, 0.3, 0.4, options=ut.SpotOptions(spacing_m=float("nan"))), "spacing_m is nan"),
        (
            lambda it: it.best_spots(2, 0.3, 0.4, options=ut.SpotOptions(from_building_m="x")),
            'from_building_m: "x" is not a length',
        ),
        (
            lambda it: it.best_spots(2, 0.3, 0.4, options=ut.SpotOptions(setback="utility_3ft", setback_share="0.1")),
            "setback_share is '0.1'",
        ),
        (lambda it: it.best_spots(2, 0.3, 0.4, options=ut.SpotOptions(spare_roots="no")), "spare_roots is 'no'"),
        (lambda it: it.shifted(reach_m="1,5 m"), "write 1.5 m"),
        (lambda it: it.plan_probes(options={"tool": "rod"}), "it must be a ProbeOptions, such as ProbeOptions()"),
        (lambda it: it.plan_probes(n=0), "n is 0; it must be at least 1"),
        (lambda it: it.plan_probes(radius_m=float("nan")), "radius_m is nan"),
        (
            lambda it: it.plan_probes(options=ut.ProbeOptions(slit_m=0.8)),
            "slit_m is 0.8; it must be a length and a width",
        ),
        (lambda it: it.plan_probes(options=ut.ProbeOptions(slit_m=(0.8, "thin"))), 'slit_m[1]: "thin" is not a length'),
        (
            lambda it: it.plan_probes(options=ut.ProbeOptions(p_detect="0.9")),
            "p_detect is '0.9'; it must be a number, not a text",
        ),
        (lambda it: it.plan_probes(options=ut.ProbeOptions(always="yes")), "always is 'yes'"),
        (lambda it: it.likely_lines(least_chance=float("nan")), "least_chance is nan"),
        (lambda it: it.likely_lines(step_m="2 paces"), 'the unit "paces"'),
        (lambda it: it.evidence_log(draws="some"), "draws is 'some'"),
        (lambda it: it.assess(rules=ut.TreeRules(setback=None)), "setback is None; it must be a text"),
        (lambda it: it.tree_conflicts(setback=5), "setback is 5; it must be a text"),
        (lambda it: it.rank(by="los"), "by is 'los'; it must be 'loss' or 'p'; did you mean \"loss\"?"),
        (
            lambda it: it.best_spots(1, 0.3, 0.4, options=ut.SpotOptions(method=None)),
            "method is None; it must be 'hand' or 'machine'",
        ),
        (lambda it: it.plan_probes(options=ut.ProbeOptions(objective="varience")), 'did you mean "variance"?'),
        (lambda it: it.plan_station_tests(by=3), "by is 3; it must be 'information', 'loss' or 'variance'"),
        (lambda it: it.strikes(form="exact"), "form is 'exact'; it must be 'auto', 'general' or 'determinant'"),
        (lambda it: it.strike_map(classes=3), "classes is 3; it must be names of classes"),
        (lambda it: it.plot(draws=2.5), "draws is 2.5; it must be a whole number"),
    ],
)
def test_arguments_are_refused_by_name(layouts, call, said):
    with pytest.raises(ut.ArgumentError) as caught:
        call(layouts)
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: ut.root_ball(caliper_in="fat"), 'caliper_in: "fat" is not a length'),
        (lambda: ut.root_ball(caliper_in=2, table="shade_trees"), 'did you mean "shade_tree"?'),
        (
            lambda: ut.root_protection_m("-1 ft"),
            "stem_diameter_m is '-1 ft', -0.3048 m; it must be above 0 m and finite",
        ),
        (lambda: ut.critical_root_zone_m("-1 ft"), "stem_diameter_m is '-1 ft', -0.3048 m; it must be above 0 m"),
        (
            lambda: ut.combined_stem_m([0.2, "-1 ft"]),
            "stems_m[1] is '-1 ft', -0.3048 m; it must be above 0 m and finite",
        ),
        (lambda: ut.root_protection_m(-0.3), "stem_diameter_m is -0.3; it must be above 0 m and finite"),
        (lambda: ut.combined_stem_m([0.2, "x"]), 'stems_m[1]: "x" is not a length'),
        (lambda: ut.critical_root_zone_m(0.3, "one"), "feet_per_inch is 'one'; it must be a number"),
        (lambda: ut.example("grean"), 'did you mean "green"?'),
        (lambda: ut.example(3), "there is no example 3"),
        (lambda: ut.read_site(3), "3 is no path"),
        (lambda: ut.Site.from_toml(None), "the document is given as NoneType; it must be a text"),
        (lambda: ut.Site.from_json(b"{}"), "given as bytes; it must be a text (bytes: decode them as UTF-8)"),
        (lambda: ut.root_ball(caliper_in=2, table=3), "table is 3; it must be a text"),
        (lambda: ut.read_site("site.txt"), "site.txt must end in .toml or .json"),
    ],
)
def test_arguments_of_functions_are_refused_by_name(call, said):
    with pytest.raises(ut.ArgumentError) as caught:
        call()
    assert said in str(caught.value)
