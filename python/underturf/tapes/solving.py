"""From points and measurements to a solution: places, adjustment, tests; or one error with every point that is not fixed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from underturf.errors import ArgumentError
from underturf.tapes.measurements import Measurement, Place, Point, Tape
from underturf.tapes.network import Adjusted, Network
from underturf.tapes.placing import place_all
from underturf.tapes.snooping import Tests, run_tests, weak_directions
from underturf.tapes.solution import TapeBlunder, TapePoint, TapeSolution

__all__ = ["Problem", "faults_error", "solve"]

#: A share of a coordinate that nothing holds from which its point is named.
LEAST_SHARE = 0.1


@dataclass(frozen=True, slots=True)
class Problem:
    """What is to be solved.

    Attributes
    ----------
    name : str
        Name of the notes.
    unit : (float, str)
        Metres in their unit of length, and its name.
    points : tuple of Point
    measurements : tuple of Tape or Offset
    baseline : (str, str) or None
        The first of these is the origin and the second lies on the x axis, where no coordinates are known.
    """

    name: str
    unit: tuple[float, str]
    points: tuple[Point, ...]
    measurements: tuple[Measurement, ...]
    baseline: tuple[str, str] | None


def faults_error(name: str, what: str, faults: Sequence[tuple[str, str]]) -> ArgumentError:
    """Return one error that lists every fault with its place.

    Examples
    --------
    >>> print(faults_error("yard.toml", "tape notes", [("tapes[0].to", "is missing"), ("units", "is missing")]))
    yard.toml: 2 faults in the tape notes
      tapes[0].to: is missing
      units: is missing
    """
    count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
    lines = [f"  {place}: {sentence}" if place else f"  {sentence}" for place, sentence in faults]
    return ArgumentError("\n".join([f"{name}: {count} in the {what}", *lines]))


def solve(problem: Problem) -> TapeSolution:
    """Return the places that agree best with all measurements.

    Raises
    ------
    ArgumentError
        With every point that the measurements do not fix.
    """
    placing = place_all(problem.points, problem.measurements, known_places(problem), problem.unit)
    places_of = {point.name: point.place for point in problem.points}
    if placing.faults:
        raise not_fixed(problem, placing.faults)
    network = Network(problem.points, problem.measurements, placing.places, problem.baseline)
    adjusted = network.adjust()
    loose = weak_directions(adjusted.weighted)
    weak = {network.names[k // 2] for k, share in zip(network.unknowns, loose, strict=True) if share > LEAST_SHARE}
    if weak:
        said = (
            "its tapes run along one line, and nothing holds it square to that line; tape from a point off the line, or note "
            "its way along the line and its offset"
        )
        raise not_fixed(problem, [(name, said) for name in places_of if name in weak])
    tests = run_tests(adjusted.weighted, adjusted.residuals_m / network.sds)
    return assemble(problem, network, adjusted, tests)


def not_fixed(problem: Problem, faults: Iterable[tuple[str, str]]) -> ArgumentError:
    """Return the error of points that measurements do not fix."""
    places_of = {point.name: point.place for point in problem.points}
    listed = [(f"{name} ({places_of[name]})", sentence) for name, sentence in faults]
    return faults_error(problem.name, "tapes", listed)


def known_places(problem: Problem) -> dict[str, Place]:
    """Return the places from which all others are taken: known coordinates, or the two ends of the baseline."""
    if problem.baseline is None:
        return {p.name: (p.fixed.x_m, p.fixed.y_m) for p in problem.points if p.fixed is not None}
    a, b = problem.baseline
    between = [m.length_m for m in problem.measurements if isinstance(m, Tape) and {m.start, m.end} == {a, b}]
    return {a: (0.0, 0.0), b: (float(np.median(between)), 0.0)}


def assemble(problem: Problem, network: Network, adjusted: Adjusted, tests: Tests) -> TapeSolution:
    """Put places, their errors and the tests together."""
    covariance = covariance_of(network, adjusted)
    points = tuple(
        tape_point(point, adjusted.places_m[k], covariance[2 * k : 2 * k + 2, 2 * k : 2 * k + 2])
        for k, point in enumerate(problem.points)
    )
    none = tests.dof == 0 or math.isnan(tests.chi_square)
    return TapeSolution(
        name=problem.name,
        units=problem.unit[1],
        points=points,
        dof=tests.dof,
        sigma0=None if none else math.sqrt(tests.chi_square / tests.dof),
        p_value=None if none else tests.p_value,
        critical=None if none else tests.critical,
        blunder=blunder_of(network, adjusted, tests),
        suspects=() if tests.blunder is not None else tuple(str(network.observations[k]) for k in tests.suspects),
        _residuals=residual_table(network, adjusted, tests),
    )


def covariance_of(network: Network, adjusted: Adjusted) -> npt.NDArray[np.float64]:
    """Return the covariance of all coordinates, x and y of each point in turn; zero where they are exact."""
    size = 2 * len(network.names)
    whole = np.zeros((size, size))
    if len(network.unknowns):
        triangle = np.linalg.qr(adjusted.weighted)[1]
        inverse = np.linalg.solve(triangle, np.eye(len(triangle)))
        whole[np.ix_(network.unknowns, network.unknowns)] = inverse @ inverse.T
    return whole


def tape_point(point: Point, place: npt.NDArray[np.float64], covariance: npt.NDArray[np.float64]) -> TapePoint:
    """Return a point with its place and errors."""
    sd_x, sd_y = np.sqrt(np.diag(covariance))
    correlation = float(covariance[0, 1] / (sd_x * sd_y)) if sd_x and sd_y else 0.0
    x, y = (float(value) for value in place)
    return TapePoint(
        point.name,
        x,
        y,
        float(sd_x),
        float(sd_y),
        correlation,
        dict(point.attributes),
        point.place,
        point.fixed is not None,
    )


def blunder_of(network: Network, adjusted: Adjusted, tests: Tests) -> TapeBlunder | None:
    """Return the measurement that is singled out."""
    if tests.blunder is None:
        return None
    k = tests.blunder
    of, residual = network.observations[k], float(adjusted.residuals_m[k])
    others = of.value_m + residual / float(tests.redundancy[k])
    return TapeBlunder(str(of), of.place, of.value_m, others, float(tests.standardised[k]), tests.blunder_p)


def residual_table(network: Network, adjusted: Adjusted, tests: Tests) -> pd.DataFrame:
    """Return one row a measurement."""
    rows = []
    for k, of in enumerate(network.observations):
        residual = float(adjusted.residuals_m[k])
        size = float(tests.standardised[k])
        rows.append(
            {
                "what": of.what,
                "from": of.start,
                "to": of.end,
                "measured_m": of.value_m,
                "adjusted_m": of.value_m + residual,
                "residual_m": residual,
                "sd_m": of.sd_m,
                "standardised": size,
                "redundancy": float(tests.redundancy[k]),
                "verdict": verdict(k, size, tests),
                "place": of.place,
            }
        )
    columns = ["what", "from", "to", "measured_m", "adjusted_m", "residual_m", "sd_m"]
    return pd.DataFrame(rows, columns=[*columns, "standardised", "redundancy", "verdict", "place"])


def verdict(k: int, size: float, tests: Tests) -> str:
    """Say what the tests make of a measurement.

    Examples
    --------
    >>> nothing = np.zeros(0)
    >>> tests = Tests(4, 90.0, 0.0, nothing, nothing, 2.6, None, 0.0, (0, 1))
    >>> verdict(0, 5.0, tests), verdict(2, 1.0, tests), verdict(2, float("nan"), tests)
    ('one of 2 is wrong: cannot be told which', 'agrees', 'cannot be told: no tape to spare')
    """
    if math.isnan(size):
        return "cannot be told: no tape to spare"
    if k == tests.blunder:
        return "blunder"
    if k in tests.suspects:
        return f"one of {len(tests.suspects)} is wrong: cannot be told which"
    if abs(size) > tests.critical:
        return "cannot be told: another measurement is wrong"
    return "agrees"
