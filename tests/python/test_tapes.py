"""Places from tapes: closed forms, another library's least squares, and laws that no choice of axes may break.

Published example: two distances meet by the cosine rule (textbooks of surveying, "distance-distance intersection"; from memory).
The figures below are worked out by hand from triangles with whole sides.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares
from tape_yards import CORNERS, notes, toml, yard

import underturf as ut


def solved(text):
    return ut.TapeNotes.from_toml(text).solve()


def place(solution, name):
    point = solution[name]
    return point.x_m, point.y_m


def test_whole_triangles_come_out_exactly():
    """3-4-5, 5-12-13 and 8-15-17: the cosine rule by hand, to rounding."""
    for legs in ((3, 4, 5), (12, 5, 13), (8, 15, 17)):
        text = toml(
            f'{{name = "h", tapes = {{A = {legs[1]}, B = {legs[2]}}}, side = "left"}}',
            f'{{name = "A", x = 0, y = 0}}, {{name = "B", x = {legs[0]}, y = 0}}',
        )
        assert place(solved(text), "h") == pytest.approx((0, legs[1]), abs=1e-9)


def test_the_side_chooses_the_crossing():
    """Left is left as one looks from the first point to the second; the order of the two tapes is that of the line."""
    for tapes, side, y in (
        ("A = 5, B = 5", "left", 3.0),
        ("A = 5, B = 5", "right", -3.0),
        ("B = 5, A = 5", "left", -3.0),
        ("A = 5, B = 5", "north", 3.0),
        ("A = 5, B = 5", "SW", -3.0),
    ):
        fixed = '{name = "A", x = 0, y = 0}, {name = "B", x = 8, y = 0}'
        solution = solved(toml(f'{{name = "h", tapes = {{{tapes}}}, side = "{side}"}}', fixed))
        assert place(solution, "h") == pytest.approx((4, y), abs=1e-9), (tapes, side)


def test_compass_words_follow_the_azimuth_of_the_y_axis():
    """With the y axis to the east, north is minus x."""
    fixed = '{name = "A", x = 0, y = 0}, {name = "B", x = 0, y = 8}'
    text = toml('{name = "h", tapes = {A = 5, B = 5}, side = "north"}', fixed, "azimuth_deg = 90")
    assert place(solved(text), "h") == pytest.approx((-3, 4), abs=1e-9)


def test_baseline_alone_gives_axes():
    """A is the origin and B lies along x; feet, inches and fractions; a way along with an offset to the right."""
    text = """
format = "underturf-tapes/1"
units = "ft"
baseline = ["A", "B"]
tapes = [{from = "A", to = "B", length = "40' 0\\""}]
points = [
    {name = "h1", tapes = {A = "14' 6 1/2\\"", B = "30 ft"}, side = "left"},
    {name = "h2", baseline = ["B", "A"], along = 10, offset = "3 ft 6 in", side = "right"},
]
"""
    solution = solved(text)
    a, b, c = 14 + 6.5 / 12, 30.0, 40.0
    x = (a * a - b * b + c * c) / (2 * c)
    assert place(solution, "h1") == pytest.approx((x * 0.3048, math.sqrt(a * a - x * x) * 0.3048), abs=1e-9)
    assert place(solution, "h2") == pytest.approx((30 * 0.3048, 3.5 * 0.3048), abs=1e-9)
    assert place(solution, "A") == (0.0, 0.0)
    assert solution["A"].sd_m == 0.0
    assert solution["B"].sd_y_m == 0.0
    assert solution["B"].sd_x_m == pytest.approx(0.02 + 0.001 * 40 * 0.3048)


def test_errors_of_two_tapes_at_a_right_angle_are_those_of_the_tapes():
    """Closed form: with A to the west and B to the south, x errs as A's tape and y as B's, without correlation."""
    fixed = '{name = "A", x = 0, y = 5}, {name = "B", x = 3, y = 0}'
    text = toml(
        '{name = "h", tapes = {A = 3, B = 5}, side = "left"}', fixed, "accuracy = {sd = 0.01, per_length = 0.01}"
    )
    point = solved(text)["h"]
    assert (point.sd_x_m, point.sd_y_m, point.correlation) == pytest.approx((0.04, 0.06, 0.0), abs=1e-9)
    assert point.worst_sd_m == pytest.approx(0.06)


def test_offsets_err_by_the_tape_and_by_their_square():
    """Closed form: along by the tape and by the offset times the tangent of the angle, offset by the tape alone."""
    more = "accuracy = {sd = 0.02, per_length = 0, square_deg = 2}"
    text = toml('{name = "h", baseline = ["A", "B"], along = 4, offset = 3, side = "left"}', more=more)
    point = solved(text)["h"]
    assert point.sd_x_m == pytest.approx(math.hypot(0.02, 3 * math.tan(math.radians(2))), abs=1e-9)
    assert point.sd_y_m == pytest.approx(0.02, abs=1e-9)


def other_library(solution):
    """The same notes by another library's least squares, with its derivatives by differences: places and covariance."""
    free = [point.name for point in solution.points if not point.fixed]
    known = {point.name: (point.x_m, point.y_m) for point in solution.points if point.fixed}
    rows = solution.residuals

    def misfits(flat):
        at = known | dict(zip(free, flat.reshape(-1, 2), strict=True))
        long = [math.dist(at[a], at[b]) for a, b in zip(rows["from"], rows["to"], strict=True)]
        return (np.array(long) - rows.measured_m) / rows.sd_m

    begun = np.array([[solution[name].x_m, solution[name].y_m] for name in free]).ravel() + 0.05
    found = least_squares(misfits, begun, jac="3-point", xtol=1e-15, ftol=1e-15, gtol=1e-15, method="lm")
    return found.x.reshape(-1, 2), np.linalg.inv(found.jac.T @ found.jac), misfits


@pytest.mark.parametrize("seed", range(6))
def test_places_and_errors_are_those_of_another_library(seed):
    """Tolerance 1e-8 m for places; covariances to 1e-5, relative, since the other library differs by steps."""
    rng = np.random.default_rng(seed)
    places, tapes = yard(rng, heads=6)
    text = notes(places, [(a, b, long + float(rng.normal()) * 0.03) for a, b, long in tapes])
    solution = solved(text)
    theirs, covariance, misfits = other_library(solution)
    ours = np.array([place(solution, name) for name in places])
    assert np.abs(ours - theirs).max() < 1e-8
    sds = np.array([[solution[name].sd_x_m, solution[name].sd_y_m] for name in places]).ravel()
    assert sds == pytest.approx(np.sqrt(np.diag(covariance)), rel=1e-5)
    correlations = [covariance[2 * k, 2 * k + 1] / (sds[2 * k] * sds[2 * k + 1]) for k in range(len(places))]
    assert [solution[name].correlation for name in places] == pytest.approx(correlations, abs=1e-5)
    assert solution.sigma0 == pytest.approx(math.sqrt((misfits(theirs.ravel()) ** 2).sum() / solution.dof), rel=1e-6)


@settings(max_examples=15, deadline=None)
@given(st.floats(-3, 3), st.floats(-100, 100), st.floats(-100, 100), st.integers(0, 10**6))
def test_turned_and_shifted_fixed_points_turn_and_shift_all(angle, dx, dy, seed):
    """Sides are told by left and right, so that they turn along. Tolerance: rounding of coordinates of 100 m."""
    rng = np.random.default_rng(seed)
    places, tapes = yard(rng, heads=4, tapes_each=4)
    tapes = [(a, b, long + float(rng.normal()) * 0.02) for a, b, long in tapes]
    sides = dict.fromkeys(places, "left")
    c, s = math.cos(angle), math.sin(angle)

    def moved(of):
        return c * of[0] - s * of[1] + dx, s * of[0] + c * of[1] + dy

    try:
        plain = solved(notes(places, tapes, sides=sides))
    except ut.ArgumentError:  # four points that lie nearly on one line as seen from a head
        assume(False)
    turned = solved(notes(places, tapes, {name: moved(of) for name, of in CORNERS.items()}, sides))
    for name in places:
        assert place(turned, name) == pytest.approx(moved(place(plain, name)), abs=1e-7)
    assert turned.residuals.residual_m.to_numpy() == pytest.approx(plain.residuals.residual_m.to_numpy(), abs=1e-7)


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6))
def test_a_tape_that_reads_what_was_worked_out_moves_nothing(seed):
    """It only makes places surer: no standard deviation grows."""
    rng = np.random.default_rng(seed)
    places, tapes = yard(rng, heads=4)
    tapes = [(a, b, long + float(rng.normal()) * 0.02) for a, b, long in tapes]
    before = solved(notes(places, tapes))
    exact = ("h0", "h3", math.dist(place(before, "h0"), place(before, "h3")))
    after = solved(notes(places, [*tapes, exact]))
    for name in places:
        assert place(after, name) == pytest.approx(place(before, name), abs=1e-7)
        assert after[name].worst_sd_m <= before[name].worst_sd_m + 1e-9
    assert after.dof == before.dof + 1


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6))
def test_sides_follow_from_tapes_where_corners_see_both(seed):
    """Four corners that are not on one line: no side need be told, and true lengths give true places."""
    places, tapes = yard(np.random.default_rng(seed), heads=5, tapes_each=4, fixed=CORNERS)
    held = [tape for tape in tapes if tape[0] in CORNERS] + tapes
    solution = solved(notes(places, held))
    for name, of in places.items():
        assert place(solution, name) == pytest.approx(of, abs=1e-6)


def test_a_later_point_tells_the_side_of_an_earlier_one():
    """h1 has two tapes and no side; a tape between it and h2, which is told, decides. Catches a side chosen by order."""
    points = '{name = "h1", tapes = {A = 5, B = 5}}, {name = "h2", tapes = {A = 5, B = 5}, side = "left"}'
    fixed = '{name = "A", x = 0, y = 0}, {name = "B", x = 8, y = 0}'
    for long, y in ((6.0, -3.0), (0.001, 3.0)):
        text = toml(points, fixed) + f'tapes = [{{from = "h1", to = "h2", length = {long}, sd = 0.02}}]'
        if y < 0:
            assert place(solved(text), "h1") == pytest.approx((4, y), abs=1e-6)
        else:
            assert place(solved(text), "h1")[1] > 2


def test_fixed_points_with_an_error_are_adjusted_too():
    """By hand: two points 10 m apart, each with sd 0.1 m, a tape of 10.3 m with sd 0.1 m: thirds of the misfit each."""
    fixed = '{name = "A", x = 0, y = 0, sd = 0.1}, {name = "B", x = 10, y = 0, sd = 0.1}'
    text = toml("", fixed) + 'tapes = [{from = "A", to = "B", length = 10.3, sd = 0.1}]'
    solution = solved(text)
    assert solution["A"].x_m == pytest.approx(-0.1, abs=1e-9)
    assert solution["B"].x_m == pytest.approx(10.1, abs=1e-9)
    assert solution.dof == 1
    assert solution.sigma0 == pytest.approx(math.sqrt(3))
    assert solution.residuals.what.tolist() == ["tape", "x", "y", "x", "y"]


def test_a_tape_between_exact_points_checks_them():
    text = toml("") + 'tapes = [{from = "A", to = "B", length = 11.0}]'
    solution = solved(text)
    assert solution.dof == 1
    assert solution.blunder is not None
    assert solution.blunder.others_say_m == pytest.approx(10.0)


def test_nearly_parallel_tapes_are_told_by_a_great_error():
    text = toml('{name = "h", tapes = {A = 5, B = 5.02}, side = "left"}')
    solution = solved(text)
    assert solution["h"].worst_sd_m > 0.2
    assert "Poorly fixed, since tapes run nearly along one line: h." in solution.report()


def test_attributes_go_on_with_the_unit_of_their_lengths():
    text = """
format = "underturf-tapes/1"
units = "ft"
fixed = [{name = "A", x = 0, y = 0}, {name = "B", x = 10, y = 0, kind = "meter"}]
[[points]]
name = "oak"
tapes = {A = 6, B = 6}
side = "left"
radius = 1.5
depth = "18 in"
tree = {size = "large", caliper = 0.25}
"""
    solution = solved(text)
    assert solution["oak"].attributes == {
        "radius": "1.5 ft",
        "depth": "18 in",
        "tree": {"size": "large", "caliper": "0.25 ft"},
    }
    assert solution["B"].attributes == {"kind": "meter"}
    oak = solution["oak"]
    dig = {"id": oak.name, "x": f"{oak.x_m} m", "y": f"{oak.y_m} m", **oak.attributes}
    site = ut.Site.from_dict({"format": "underturf-site/2", "units": "m", "digs": [dig]})
    assert site.digs.radius_m.tolist() == pytest.approx([0.4572])
