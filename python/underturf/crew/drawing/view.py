"""What a map of the sheet shows: the whole site, or a window of it; and what it names there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underturf.plotting.view import obstacle_points, seen_points

if TYPE_CHECKING:
    from underturf.crew.plan import Plan

__all__ = ["STRIP", "Range", "View", "Window", "limits", "view_of"]

Points = npt.NDArray[np.float64]

#: Least and greatest coordinate, in the document's unit.
Range = tuple[float, float]

#: How far beyond the boundary things are shown, share of its side; height of the strip of the scale bar, likewise.
BEYOND, STRIP = 0.1, 0.06

#: Bits in which a path is looked at where only some of it is in view.
BITS = 40


@dataclass(frozen=True)
class Window:
    """Ground that a detail map shows, in the document's unit, and what the map is called; whether that is the whole site."""

    name: str
    x: Range
    y: Range
    whole: bool = False

    def holds(self, points: npt.ArrayLike) -> npt.NDArray[np.bool_]:
        """Tell which points lie within."""
        at = np.asarray(points, float).reshape(-1, 2)
        low, high = np.array([self.x[0], self.y[0]]), np.array([self.x[1], self.y[1]])
        return np.asarray(((at >= low) & (at <= high)).all(axis=1))


@dataclass(frozen=True)
class View:
    """What a map shows.

    Attributes
    ----------
    x, y : (float, float)
        Least and greatest coordinate, the strip of the scale bar included, in the document's unit.
    strip : float
        Height of that strip, at the lower edge.
    windows : tuple of Window
        Windows of detail maps: their frames are drawn, and heads and stakes in them are named there alone.
    """

    x: Range
    y: Range
    strip: float
    windows: tuple[Window, ...] = ()

    @property
    def span(self) -> float:
        """The longer side."""
        return max(self.x[1] - self.x[0], self.y[1] - self.y[0])

    def holds(self, points: npt.ArrayLike) -> npt.NDArray[np.bool_]:
        """Tell which points lie in view, above the strip."""
        return Window("", self.x, (self.y[0] + self.strip, self.y[1])).holds(points)

    def names(self, point: npt.ArrayLike) -> bool:
        """Tell whether a head or stake there is named on this map: in view, and on no detail map."""
        return bool(self.holds(point)[0]) and not any(window.holds(point)[0] for window in self.windows)

    def middle(self, path: Points, *, closed: bool = False) -> Points | None:
        """Return the middle of a path, or of what is in view of it; None if nothing is."""
        whole: Points = path.mean(axis=0)
        if self.holds(whole)[0]:
            return whole
        way = np.vstack([path, path[:1]]) if closed else path
        share = np.linspace(0.0, 1.0, BITS)[:, None]
        bits = [a + share * (b - a) for a, b in zip(way, way[1:], strict=False)] or [path]
        points = np.concatenate(bits)
        seen = points[self.holds(points)]
        found: Points | None = seen[len(seen) // 2] if len(seen) else None
        return found


def view_of(plan: Plan, windows: tuple[Window, ...] = ()) -> View:
    """Return the view of the whole site."""
    x, y = limits(plan)
    return View(x, y, STRIP * max(x[1] - x[0], y[1] - y[0]), windows)


def limits(plan: Plan) -> tuple[Range, Range]:
    """Return the least and greatest x and y that the map shows, in the document's unit, with margins.

    Where the ground has a boundary, a building beyond it is cut off behind its wall: nothing is dug there, and the rest is drawn
    the larger.
    """
    document, scale = plan.document, 1 / plan.site.unit_m
    points = seen_points(plan.site, document, (*plan.digs, *plan.drawn, *(probe.dig for probe in plan.probes)))
    obstacles = obstacle_points(document)
    if document.get("boundary"):
        obstacles = [within(corners, np.array(document["boundary"])) for corners in obstacles]
    points += obstacles
    points += [np.array([[x_m, y_m]]) * scale for _, x_m, y_m in plan.fixed.points]
    every = np.vstack(points) if points else np.array([[0.0, 0.0], [1.0, 1.0]])
    low, high = every.min(axis=0), every.max(axis=0)
    x, y = (float(low[0]), float(high[0])), (float(low[1]), float(high[1]))
    span = max(x[1] - x[0], y[1] - y[0], 1e-6)
    margin = 0.04 * span
    return (x[0] - margin, x[1] + margin), (y[0] - margin - STRIP * span, y[1] + margin)


def within(corners: Points, boundary: Points) -> Points:
    """Return corners drawn in to a little outside a boundary."""
    reach = BEYOND * float(np.ptp(boundary, axis=0).max())
    return np.clip(corners, boundary.min(axis=0) - reach, boundary.max(axis=0) + reach)
