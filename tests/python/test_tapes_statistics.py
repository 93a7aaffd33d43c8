"""The tests of tapes: what they say comes true over many simulated yards, and planted faults are seen.

Each check states n, the chance of a false alarm of the check itself, and the smallest fault it would catch.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from tape_yards import CORNERS, best_of, network, noisy, notes, toml, yard

import underturf as ut
from underturf.tapes.measurements import Fixed, Offset, Point, Side, Tape
from underturf.tapes.network import Network
from underturf.tapes.quantiles import chi_square_tail, normal_quantile, normal_tail
from underturf.tapes.snooping import run_tests
from underturf.tapes.solving import covariance_of

#: Simulated yards.
N = 2000

RNG = np.random.default_rng(20)
PLACES, TAPES = yard(RNG, heads=5, tapes_each=4)
#: Standard deviations that differ by three, so that forgotten weights show.
SDS = np.where(np.arange(len(TAPES)) % 2, 0.01, 0.05)


@given(st.floats(0, 400), st.integers(1, 200))
def test_tails_of_chi_square_are_those_of_another_library(value, dof):
    assert chi_square_tail(value, dof) == pytest.approx(stats.chi2.sf(value, dof), rel=1e-9, abs=1e-300)


@given(st.floats(1e-9, 0.9))
def test_normal_quantile_and_tail_are_inverse(tail):
    assert normal_tail(normal_quantile(tail)) == pytest.approx(tail, rel=1e-6)


def simulated(weights):
    """Adjust N yards with errors as stated; the adjustment believes these standard deviations."""
    rng = np.random.default_rng(7)
    of = network(PLACES, TAPES, SDS)
    free, places, tests = slice(4, None), [], []
    believed = SDS if weights else np.full_like(SDS, np.sqrt((SDS**2).mean()))
    for _ in range(N):
        noisy(of, rng, SDS)
        kept, of.sds = of.sds, believed
        adjusted = of.adjust()
        tests.append(run_tests(adjusted.weighted, adjusted.residuals_m / of.sds))
        of.sds = kept
        places.append(adjusted.places_m[free].ravel())
    of.sds = believed
    covariance = covariance_of(of, of.adjust())[8:, 8:]
    return np.array(places), covariance, tests


def worst_variance(places, covariance):
    """How far the variance of any coordinate is from what is stated, as a share of it."""
    return float(np.abs(places.var(axis=0) / np.diag(covariance) - 1).max())


@pytest.fixture(scope="module")
def weighted():
    return simulated(True)


def spread(places, covariance):
    """Mean of the squared errors in units of the covariance; with the right one it is the number of coordinates."""
    errors = places - np.array(list(PLACES.values())).ravel()
    return float(np.einsum("ki,ij,kj->k", errors, np.linalg.inv(covariance), errors).mean())


def test_scatter_is_what_the_covariance_says(weighted):
    """n = 2,000, 10 coordinates: the mean of the chi-square has sd sqrt(2 * 10 / 2000) = 0.1; at 4 sd a false alarm in 16,000.

    Catches standard deviations wrong by 2 %. Each variance alone has sd sqrt(2 / 2000) = 0.032, at 5 sd 6e-6 false alarms for
    ten. Planted fault: the weights dropped.
    """
    places, covariance, _ = weighted
    assert abs(spread(places, covariance) - 10) < 0.4
    assert worst_variance(places, covariance) < 0.16
    assert worst_variance(*simulated(False)[:2]) > 0.16


def test_false_alarms_of_both_tests_are_what_they_say(weighted):
    """n = 2,000 at 0.05: sd 0.005; at 4 sd within 0.02 of it. Snooping shares 0.05 out, so it may be below, by correlation of
    the residuals, and not above. Catches a critical value without its share: a rate of some 0.5."""
    _, _, tests = weighted
    assert abs(np.mean([of.p_value < 0.05 for of in tests]) - 0.05) < 0.02
    rate = np.mean([best_of(of) > of.critical for of in tests])
    assert 0.02 < rate < 0.07
    alone = np.mean([best_of(of) > normal_quantile(0.05) for of in tests])
    assert alone > 0.3


def test_standardised_residuals_are_standard_normal(weighted):
    """n = 2,000 for each of 20 tapes; the variance has sd sqrt(2 / 2000) = 0.032; at 5 sd 1e-5 false alarms together.

    Planted fault: residuals divided by the tape's error, not by their own."""
    _, _, tests = weighted
    sizes = np.array([of.standardised for of in tests])
    assert np.abs(sizes.var(axis=0) - 1).max() < 0.16
    plain = sizes * np.sqrt(tests[0].redundancy)
    assert np.abs(plain.var(axis=0) - 1).max() > 0.16


@given(st.integers(0, 10**6))
def test_derivatives_are_those_by_differences(seed):
    """Tapes, ways along lines, offsets and known coordinates, by every coordinate; central differences, to 1e-6. Catches a term
    of the turning line left out."""
    rng = np.random.default_rng(seed)
    points = [Point(name, "", Fixed(0, 0, 0.1) if name == "a" else None) for name in "abp"]
    line = Offset("a", "b", "p", 1.0, 1.0, Side("left", left=True), (0.1, 0.1), "")
    start = {name: tuple(rng.uniform(0, 10, 2) + (20 * (name == "b"), 0)) for name in "abp"}
    of = Network(points, [line, Tape("b", "p", 3.0, 0.1, "")], start, None)
    _, rows = of.computed(of.start)
    assert [seen.what for seen in of.observations] == ["tape", "along", "offset", "x", "y"]
    for k in range(of.start.size):
        step = np.zeros(of.start.size)
        step[k] = 1e-5
        ahead, behind = (of.computed(of.start + sign * step.reshape(-1, 2))[0] for sign in (1, -1))
        assert rows[:, k] == pytest.approx((ahead - behind) / 2e-5, abs=1e-6)


def test_redundancy_adds_up_to_what_is_to_spare(weighted):
    _, _, tests = weighted
    assert tests[0].redundancy.sum() == pytest.approx(tests[0].dof)
    assert tests[0].dof == len(TAPES) - 2 * len(PLACES)


def test_a_blunder_of_ten_sd_is_named():
    """n = 300 yards with six tapes to each head, one tape wrong by 10 of its sd: named right in 75 of 100 or more (measured:
    80), wrong in less than 2 of 100 (measured: 1 of 300). Where opposite tapes hide each other nobody is named. Catches a test
    that names the greatest residual."""
    rng = np.random.default_rng(3)
    right = wrong = 0
    for _ in range(300):
        places, tapes = yard(rng, heads=3, tapes_each=6)
        sds = rng.choice([0.01, 0.04], len(tapes))
        of = network(places, tapes, sds)
        noisy(of, rng)
        bad = int(rng.integers(len(tapes)))
        of.values[bad] += 10 * of.sds[bad]
        adjusted = of.adjust()
        named = run_tests(adjusted.weighted, adjusted.residuals_m / of.sds).blunder
        right += named == bad
        wrong += named is not None and named != bad
    assert right >= 0.75 * 300, (right, wrong)
    assert wrong <= 0.02 * 300


def test_one_tape_to_spare_tells_that_but_not_which():
    """Three tapes to one head: all are as suspect, though residuals differ. Catches a name given by the greatest residual."""
    places = {"h": (6.0, 4.0)}
    solution = ut.TapeNotes.from_toml(
        notes(places, [("A", "h", 7.2111 + 0.6), ("B", "h", 14.5602), ("C", "h", 17.8045)])
    ).solve()
    assert solution.blunder is None
    assert not solution.agrees
    assert sorted(solution.suspects) == ["tape A to h", "tape B to h", "tape C to h"]
    assert set(solution.residuals.verdict) == {"one of 3 is wrong: cannot be told which"}
    assert "it cannot be told which" in solution.report()


def test_two_tapes_tell_nothing_of_a_blunder():
    solution = ut.TapeNotes.from_toml(toml('{name = "h", tapes = {A = 9, B = 5}, side = "left"}')).solve()
    assert set(solution.residuals.verdict) == {"cannot be told: no tape to spare"}
    assert solution.residuals.standardised.isna().all()
    assert (solution.sigma0, solution.p_value, solution.critical) == (None, None, None)
    assert "Not checked by any other measurement: h." in solution.report()


def test_a_blunder_is_named_with_what_the_others_make_of_it():
    """A tape read a foot short among six; without it the others agree, and give the place that the true tapes give."""
    places = {"h": (6.0, 4.0)}
    corners = {"A": 7.2111, "B": 14.5602, "C": 17.8045, "D": 12.53, "E": 4.4721, "F": 6.3246}
    fixed = CORNERS | {"E": (8.0, 0.0), "F": (0.0, 6.0)}
    tapes = [(name, "h", long) for name, long in corners.items()]
    wrong = [(a, b, long - (0.3048 if a == "B" else 0.0)) for a, b, long in tapes]
    read = ut.TapeNotes.from_toml(notes(places, wrong, fixed))
    solution = read.solve()
    assert solution.blunder is not None
    assert solution.blunder.measurement == "tape B to h"
    assert solution.blunder.place == "tapes[1]"
    assert solution.blunder.others_say_m == pytest.approx(14.5602, abs=0.01)
    assert abs(solution.blunder.statistic) > solution.critical
    assert solution.blunder.p_value < 0.001
    assert solution.residuals.verdict.tolist().count("blunder") == 1
    mended = read.without("tapes[1]").solve()
    assert mended.agrees
    assert (mended["h"].x_m, mended["h"].y_m) == pytest.approx((6, 4), abs=0.02)


def test_measurements_without_redundancy_never_look_wrong():
    """A head on two tapes beside a well-checked one: its tapes have no redundancy, whatever the others say."""
    points = '{name = "h", tapes = {A = 9, B = 5}, side = "left"}, {name = "k", tapes = {A = 6, B = 6, h = 9}, side = "right"}'
    solution = ut.TapeNotes.from_toml(
        toml(points).replace('side = "right"', 'baseline = ["A", "B"], side = "right"')
    ).solve()
    assert solution.dof == 1
    assert solution.residuals.redundancy.sum() == pytest.approx(1)
