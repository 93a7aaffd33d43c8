"""The adjustment: places that agree best with all tapes, by least squares, and how sure they are.

Observation equations of tapes, of ways along and square to a line, and of coordinates that are known with an error. The sum of
squares is lowered by Levenberg-Marquardt steps, each by an orthogonal factorisation of the weighted equations. Standard
deviations are those of the notes; nothing is scaled by how well the tapes agree.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from underturf.tapes.measurements import Measurement, Place, Point, Tape

__all__ = ["Adjusted", "Network", "Observation"]

#: Most steps of the adjustment. It takes four to ten.
MOST_STEPS = 200

_Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Observation:
    """One measured number.

    Attributes
    ----------
    what : {"tape", "along", "offset", "x", "y"}
        What was measured.
    start, end : str
        From where, to where; the line "A B" for ways along it and square to it; empty before a coordinate.
    value_m, sd_m : float
        The number, offsets positive to the left of their line, and its standard deviation.
    place : str
        Where it stands in the notes.
    """

    what: str
    start: str
    end: str
    value_m: float
    sd_m: float
    place: str

    def __str__(self) -> str:
        if self.what == "tape":
            return f"tape {self.start} to {self.end}"
        if self.what in ("x", "y"):
            return f"{self.what} of {self.end}"
        return f"{self.what} of {self.end} from line {self.start}"


@dataclass(frozen=True, slots=True)
class Adjusted:
    """Adjusted places.

    Attributes
    ----------
    places_m : array, shape (points, 2)
        Coordinates.
    residuals_m : array, shape (observations,)
        Adjusted less measured.
    weighted : array, shape (observations, unknowns)
        Derivatives of the observations, each divided by its standard deviation.
    """

    places_m: _Floats
    residuals_m: _Floats
    weighted: _Floats


class Network:
    """Points, what ties them, and which of their coordinates are unknown.

    Parameters
    ----------
    points : sequence of Point
        All points. Coordinates taken as exact are no unknowns.
    measurements : sequence of Tape or Offset
        What was measured.
    start : mapping of str to (float, float)
        A first place of each point, metres.
    baseline : (str, str) or None
        The first of these is the origin and the second lies on the x axis, where no coordinates are known.

    Examples
    --------
    >>> points = [Point("A", "", None), Point("B", "", None), Point("h", "", None)]
    >>> tapes = [Tape("A", "B", 4.0, 0.01, ""), Tape("A", "h", 3.0, 0.01, ""), Tape("B", "h", 5.0, 0.01, "")]
    >>> network = Network(points, tapes, {"A": (0, 0), "B": (4, 0), "h": (0.2, 2.9)}, ("A", "B"))
    >>> network.adjust().places_m.round(9).tolist()
    [[0.0, 0.0], [4.0, 0.0], [0.0, 3.0]]
    """

    def __init__(
        self,
        points: Sequence[Point],
        measurements: Sequence[Measurement],
        start: Mapping[str, Place],
        baseline: tuple[str, str] | None,
    ) -> None:
        self.names = [point.name for point in points]
        self.index = {name: k for k, name in enumerate(self.names)}
        self.start = np.array([start[name] for name in self.names], dtype=float)
        self.observations: list[Observation] = []
        self._tapes: list[tuple[int, int]] = []
        self._lines: list[tuple[int, int, int]] = []
        self._known: list[tuple[int, int]] = []
        self._observe(points, measurements, start)
        self.values = np.array([of.value_m for of in self.observations])
        self.sds = np.array([of.sd_m for of in self.observations])
        exact = np.zeros((len(points), 2), dtype=bool)
        for k, point in enumerate(points):
            exact[k] = point.fixed is not None and point.fixed.sd_m == 0
        if baseline is not None:
            first, second = (self.index[name] for name in baseline)
            exact[first], exact[second, 1] = True, True
        #: Places of the unknowns among all coordinates, x and y of each point in turn.
        self.unknowns = np.flatnonzero(~exact.ravel())

    def _observe(
        self, points: Sequence[Point], measurements: Sequence[Measurement], start: Mapping[str, Place]
    ) -> None:
        """List the observations: tapes first, then ways along lines and offsets, then known coordinates."""
        of = self.index
        for tape in measurements:
            if isinstance(tape, Tape):
                self._tapes.append((of[tape.start], of[tape.end]))
                self.observations.append(
                    Observation("tape", tape.start, tape.end, tape.length_m, tape.sd_m, tape.place)
                )
        for line in measurements:
            if not isinstance(line, Tape):
                self._lines.append((of[line.start], of[line.end], of[line.point]))
                signed = line.signed_m(start[line.start], start[line.end])
                for what, value, sd in (("along", line.along_m, line.sds_m[0]), ("offset", signed, line.sds_m[1])):
                    name = f"{line.start} {line.end}"
                    self.observations.append(Observation(what, name, line.point, value, sd, f"{line.place}.{what}"))
        for point in points:
            if point.fixed is not None and point.fixed.sd_m > 0:
                for axis, value in enumerate((point.fixed.x_m, point.fixed.y_m)):
                    self._known.append((of[point.name], axis))
                    what = "xy"[axis]
                    self.observations.append(
                        Observation(what, "", point.name, value, point.fixed.sd_m, f"{point.place}.{what}")
                    )

    def computed(self, places: _Floats) -> tuple[_Floats, _Floats]:
        """Return what would be measured at these places, and its derivatives by all coordinates.

        Parameters
        ----------
        places : array, shape (points, 2)
            Coordinates, metres.

        Returns
        -------
        values : array, shape (observations,)
        derivatives : array, shape (observations, 2 * points)
        """
        values, rows = np.empty(len(self.observations)), np.zeros((len(self.observations), places.size))
        if self._tapes:
            first, second = np.array(self._tapes).T
            ways = places[second] - places[first]
            long = np.hypot(*ways.T)
            unit = ways / np.maximum(long, 1e-12)[:, None]
            values[: len(long)] = long
            k = np.arange(len(long))
            for axis in (0, 1):
                rows[k, 2 * second + axis] += unit[:, axis]
                rows[k, 2 * first + axis] -= unit[:, axis]
        at = len(self._tapes)
        for a, b, p in self._lines:
            way, to = places[b] - places[a], places[p] - places[a]
            long = max(float(np.hypot(*way)), 1e-12)
            u = way / long
            n = np.array([-u[1], u[0]])
            along, offset = float(u @ to), float(n @ to)
            values[at : at + 2] = along, offset
            for row, direct, other, share in ((at, u, n, offset / long), (at + 1, n, -n, along / long)):
                rows[row, 2 * p : 2 * p + 2] += direct
                rows[row, 2 * b : 2 * b + 2] += share * other
                rows[row, 2 * a : 2 * a + 2] -= direct + share * other
            at += 2
        for p, axis in self._known:
            values[at], rows[at, 2 * p + axis] = places[p, axis], 1.0
            at += 1
        return values, rows

    def adjust(self) -> Adjusted:
        """Return the places of least weighted squares near the first places."""
        places, damping = self.start.copy(), 0.0
        values, rows = self.computed(places)
        misfit = (self.values - values) / self.sds
        extent = max(1.0, float(np.abs(places).max(initial=0.0)))
        for _ in range(MOST_STEPS):
            weighted = rows[:, self.unknowns] / self.sds[:, None]
            step = damped_step(weighted, misfit, damping)
            if float(np.abs(step).max(initial=0.0)) < 1e-11 * extent:
                break
            tried = places.copy()
            tried.ravel()[self.unknowns] += step
            new_values, new_rows = self.computed(tried)
            new_misfit = (self.values - new_values) / self.sds
            before, after = float(misfit @ misfit), float(new_misfit @ new_misfit)
            if after <= before * (1 + 1e-12) + 1e-24:
                places, rows, misfit = tried, new_rows, new_misfit
                damping = 0.0 if damping < 1e-6 else damping / 10
            else:
                damping = max(damping * 10, 1e-3)
        weighted = rows[:, self.unknowns] / self.sds[:, None]
        return Adjusted(places, -misfit * self.sds, weighted)


def damped_step(weighted: _Floats, misfit: _Floats, damping: float) -> _Floats:
    """Return the step that lowers the weighted misfit, shortened by the damping.

    Examples
    --------
    >>> damped_step(np.eye(2), np.array([2.0, 4.0]), 1.0).round(9).tolist()
    [1.0, 2.0]
    """
    if damping:
        size = np.sqrt(damping) * np.maximum(np.linalg.norm(weighted, axis=0), 1e-9)
        weighted = np.vstack([weighted, np.diag(size)])
        misfit = np.concatenate([misfit, np.zeros(weighted.shape[1])])
    return np.asarray(np.linalg.lstsq(weighted, misfit, rcond=None)[0], dtype=np.float64)
