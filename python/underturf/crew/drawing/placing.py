"""Where labels stand: beside their points, never on another label, best where they cover nothing at all.

Labels are placed one after the other, those that a crew needs first. A label that must be there takes the place that covers
least; any other is left out where it would cover a label.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["FAR", "NEAR", "SPARED", "Placer"]

Pixels = npt.NDArray[np.float64]

#: Directions tried about a point, degrees, those to the right first; distances of the nearest edge, points.
ANGLES = (0, 45, 315, 90, 270, 180, 135, 225, 22, 338, 67, 293, 112, 248, 158, 202)
NEAR, SPARED, FAR = (3.5, 7.0), (10.0, 17.0), (8.0, 20.0, 36.0, 54.0)

#: Cost of a point covered, of one that had better not be, of a place outside the drawing, and of an overlap with a label, beside
#: points of distance.
COVERS, HIDES, OUTSIDE, OVERLAPS = 40.0, 9.0, 1e6, 1e4

#: Points between the points by which labels keep off a line.
GRAIN = 10.0

#: Width of a letter and height of a line, sizes of the font; room about a label, points.
LETTER, LINE = 0.62, 1.25


class Placer:
    """Places for labels of one drawing.

    Parameters
    ----------
    ax : Axes
        Its limits are set already.
    avoid : points
        What labels should not cover, in the document's unit.
    spare : paths
        What they had better not cover: lines that run on beside them.
    floor : float, optional
        No label stands below this y.
    """

    def __init__(
        self, ax: Axes, avoid: npt.ArrayLike, spare: Iterable[Pixels] = (), floor: float | None = None
    ) -> None:
        self.ax, self.dots = ax, ax.figure.dpi / 72
        box = ax.get_window_extent()
        self.inside = np.array([[box.x0, box.y0], [box.x1, box.y1]])
        if floor is not None:
            self.inside[0, 1] = self.pixels([(0.0, floor)])[0, 1]
        self.avoid = self.pixels(avoid)
        self.spare = np.concatenate([np.empty((0, 2)), *(self.along(path) for path in spare)])
        self.boxes: Pixels = np.empty((0, 2, 2))

    def pixels(self, points: npt.ArrayLike) -> Pixels:
        """Return points of the document in pixels."""
        found: Pixels = self.ax.transData.transform(np.asarray(points, float).reshape(-1, 2))
        return found

    def along(self, path: Pixels) -> Pixels:
        """Return points along a path, in pixels, close enough that no label lies across it unnoticed."""
        at = self.pixels(path[~np.isnan(path[:, 0])])
        run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(at, axis=0).T))])
        stops = np.arange(0.0, run[-1] + 1e-9, GRAIN * self.dots)
        found: Pixels = np.column_stack([np.interp(stops, run, at[:, 0]), np.interp(stops, run, at[:, 1])])
        return found

    def take(
        self,
        point: npt.ArrayLike,
        text: str,
        size: float,
        *,
        clear: float = 0.0,
        reaches: tuple[float, ...],
        must: bool,
        pad: float = 2.0,
    ) -> tuple[float, float] | None:
        """Take a place for a label; return its middle in the document's unit, or None where there is none.

        Parameters
        ----------
        point : (float, float)
            What it names, in the document's unit.
        text : str
            The label, one line.
        size : float
            Size of its letters, points.
        clear : float
            Radius about the point that it keeps free, in the document's unit.
        reaches : tuple of float
            Distances that are tried, points: `NEAR`, or with a leader `SPARED` or `FAR`.
        must : bool
            Whether it is there in any case.
        pad : float
            Room about it, points.
        """
        (at,) = self.pixels(point)
        radius = float(np.ptp(self.pixels([(0.0, 0.0), (clear, 0.0)])[:, 0]))
        extent = np.array([LETTER * size * len(text) + 2 * pad, LINE * size + pad]) * self.dots
        angle = np.radians(np.tile(ANGLES, len(reaches)))
        reach = np.repeat(reaches, len(ANGLES)) * self.dots + radius
        way = np.column_stack([np.cos(angle), np.sin(angle)])
        # The nearest edge of the label is that far from the point.
        middle = at + way * (reach[:, None] + 0.5 * np.abs(way) * extent)
        low, high = middle - extent / 2, middle + extent / 2
        cost = reach / self.dots + 0.01 * np.tile(range(len(ANGLES)), len(reaches))
        cost = cost + OUTSIDE * ((low < self.inside[0]) | (high > self.inside[1])).any(axis=1)
        # What lies out of reach of every place need not be looked at.
        most = float(reach.max() + extent.max())
        others, spare = (points[np.abs(points - at).max(axis=1) < most] for points in (self.avoid, self.spare))
        others = others[np.hypot(*(others - at).T) > 0.5 * self.dots]
        covered = within(others, low, high)
        cost = cost + COVERS * covered + HIDES * within(spare, low, high)
        overlap = self.overlaps(low, high)
        cost = cost + OVERLAPS * overlap
        best = int(np.argmin(cost))
        if not must and (overlap[best] > 0 or cost[best] >= OUTSIDE or covered[best] > 1):
            return None
        self.boxes = np.concatenate([self.boxes, [[low[best], high[best]]]])
        x, y = self.ax.transData.inverted().transform(middle[best])
        return float(x), float(y)

    def overlaps(self, low: Pixels, high: Pixels) -> Pixels:
        """Return which share of each place lies on labels that are there."""
        if not len(self.boxes):
            return np.zeros(len(low))
        width = np.minimum(high[:, None], self.boxes[None, :, 1]) - np.maximum(low[:, None], self.boxes[None, :, 0])
        area: Pixels = np.prod(np.clip(width, 0, None), axis=2).sum(axis=1) / np.prod(high - low, axis=1)
        return area


def within(points: Pixels, low: Pixels, high: Pixels) -> npt.NDArray[np.int_]:
    """Return how many points lie in each place."""
    found: npt.NDArray[np.int_] = ((points >= low[:, None]) & (points <= high[:, None])).all(axis=2).sum(axis=1)
    return found
