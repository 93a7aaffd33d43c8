"""Words on drawings: along a line, turned with it, and below a sign; each with a halo, and where it covers least."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from underturf.plotting import style
from underturf.plotting.names import literal

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["Point", "Room", "write_along", "write_below"]

Point = tuple[float, float]

#: Size of letters, points: the least that is read on a screen and on paper.
SIZE = 7.0

#: Points from one word along a line to the next; room that a word keeps to the ends of a straight bit.
EVERY, SPARE = 150.0, 4.0

#: Places tried for each word, shares of its stretch of the line away from the middle.
TRIED = (0.0, 0.12, -0.12, 0.24, -0.24, 0.36, -0.36)

#: Words lie on lines, flags and probes, and below labels.
LAYER = 7.9


@dataclass
class Room:
    """Where words may stand on a drawing, in the document's unit.

    Attributes
    ----------
    floor : float
        Nothing is written below this y: there stands the strip of the scale bar.
    taken : list of points
        What words and labels should not cover; whatever is drawn adds to it.
    """

    floor: float
    taken: list[Point]


def text_width(text: str, size: float) -> float:
    """Return the width of a bold word, points."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(size=100, weight="bold")
    return float(text_to_path.get_text_width_height_descent(text, font, ismath=False)[0]) * size / 100


def write_along(
    ax: Axes, path: Iterable[Iterable[float]], text: str, room: Room, *, bare: float = 0.0, aside: float = 0.0
) -> None:
    """Write a word along a line, turned with it and with a halo, only where the line is in view.

    A word on the line is said again and again on a long one; a name beside it is written once, at its longest straight bit.
    Letters are never smaller than can be read: where a drawing is too small for them, a line has none, and its colour and the
    legend tell its class.

    Parameters
    ----------
    ax : Axes
        Axes whose limits are set already.
    path : points
        The line, in the document's unit.
    text : str
        The word, cleaned already.
    room : Room
        Where it may stand; what it takes is added.
    bare : float
        Least share of a straight bit that words on it leave bare. At 0 a line says its class once in any case.
    aside : float
        Distance of the word from the line, points; on it if 0.
    """
    wide, once = text_width(text, SIZE), aside != 0.0
    bits = _in_view(ax, np.array([list(point) for point in path], float), room.floor)
    longest = max((bit.length for bit in bits), default=0.0)
    fixed = ax.transData.transform(np.array(room.taken).reshape(-1, 2))
    for bit in bits:
        if bit.length < longest if once else bit.length < min(wide + 2 * SPARE, longest):
            continue
        if bare > 0.0 and wide > (1.0 - bare) * bit.length:
            continue
        count = 1 if once else max(round(bit.length / EVERY), 1)
        for k in range(count):
            along, side = _freest(bit, (k, count), (wide, SIZE, aside), fixed)
            x, y = ax.transData.inverted().transform(bit.at(along, side))
            turned = {"rotation": bit.upright_deg, "rotation_mode": "anchor", "ha": "center", "va": "center_baseline"}
            ax.text(x, y, literal(text), fontsize=SIZE, clip_on=True, **turned, **looks())
            under = [bit.at(along + share * wide, side) for share in (-0.5, -0.25, 0.0, 0.25, 0.5)]
            room.taken += [(float(x), float(y)) for x, y in ax.transData.inverted().transform(np.array(under))]
        if once:
            break


def write_below(ax: Axes, point: Point, text: str) -> None:
    """Write a word below a sign, with a halo, where the sign is in view."""
    at = {"xytext": (0, -7), "textcoords": "offset points", "ha": "center", "va": "top", "annotation_clip": True}
    ax.annotate(literal(text), point, fontsize=SIZE, **at, **looks())


def looks() -> dict[str, Any]:
    """Return how words on a drawing look: bold, with a halo that parts them from what they stand on."""
    from matplotlib.patheffects import withStroke

    halo = [withStroke(linewidth=2.4, foreground=style.PAPER)]
    return {"weight": "bold", "color": style.INK, "zorder": LAYER, "path_effects": halo}


@dataclass(frozen=True)
class _Bit:
    """A straight bit of a line in view: its start in pixels, its direction, its length in points, pixels of a point."""

    start: npt.NDArray[np.float64]
    way: npt.NDArray[np.float64]
    length: float
    dots: float

    @property
    def upright_deg(self) -> float:
        """The turn of words along the bit that are read from left to right, or upward."""
        turn = float(np.degrees(np.arctan2(self.way[1], self.way[0])))
        return turn if -90 < turn <= 90 else turn - float(np.sign(turn)) * 180

    @property
    def up(self) -> npt.NDArray[np.float64]:
        """The direction above such words."""
        turn = np.radians(self.upright_deg)
        return np.array([-np.sin(turn), np.cos(turn)])

    def at(self, along: float, side: float) -> npt.NDArray[np.float64]:
        """Return the pixel at so many points from the start, and above the bit."""
        place: npt.NDArray[np.float64] = self.start + (along * self.way + side * self.up) * self.dots
        return place


def _freest(
    bit: _Bit, stretch: tuple[int, int], word: tuple[float, float, float], fixed: npt.NDArray[np.float64]
) -> tuple[float, float]:
    """Return where on one stretch of a bit, of so many, a word covers the fewest points: points from the start, and above it.

    ``word``: its width, the size of its letters, and how far above or below the line it stands.
    """
    (k, count), (wide, size, aside) = stretch, word
    along = (fixed - bit.start) @ bit.way / bit.dots
    above = (fixed - bit.start) @ bit.up / bit.dots
    first = min(wide / 2 + SPARE, bit.length / 2)
    best, least = (0.5 * bit.length, aside), np.inf
    for side in dict.fromkeys((aside, -aside)):
        near = along[np.abs(above - side) < 0.5 * size + 1.0]
        for share in TRIED:
            middle = float(np.clip((k + 0.5 + share) * bit.length / count, first, bit.length - first))
            hit = int((np.abs(near - middle) < wide / 2 + SPARE).sum())
            if hit < least:
                best, least = (middle, side), hit
    return best


def _in_view(ax: Axes, path: npt.NDArray[np.float64], floor: float) -> list[_Bit]:
    """Return the straight bits of a line that lie within the axes.

    References
    ----------
    Liang and Barsky 1984, "A new concept and method for line clipping", ACM Transactions on Graphics 3 (1).
    """
    (x0, x1), (y0, y1) = sorted(ax.get_xlim()), sorted(ax.get_ylim())
    low, high = np.array([x0, max(floor, y0)]), np.array([x1, y1])
    found = []
    for a, b in zip(path, path[1:], strict=False):
        way, first, last = b - a, 0.0, 1.0
        for axis in (0, 1):
            if way[axis] == 0.0:
                first = first if low[axis] <= a[axis] <= high[axis] else 2.0
                continue
            enters, leaves = sorted(((low[axis] - a[axis]) / way[axis], (high[axis] - a[axis]) / way[axis]))
            first, last = max(first, enters), min(last, leaves)
        if first < last:
            start, end = ax.transData.transform(np.array([a + first * way, a + last * way]))
            norm, dots = float(np.hypot(*(end - start))), ax.figure.dpi / 72
            if norm > 0.0:
                found.append(_Bit(start, (end - start) / norm, norm / dots, dots))
    return found
