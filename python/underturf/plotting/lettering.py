"""Words on pictures: names printed as they are written, and words along a line.

A name of a document may hold anything: a pair of dollar signs, which matplotlib would read as a formula; line breaks; 300 letters; signs that
the font does not have, each of which would be a warning and an empty box. What stands here keeps all of them harmless, and every
text of a document goes through it on its way to matplotlib.
"""

from __future__ import annotations

import functools
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underturf.plotting import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["BESIDE", "Point", "clean", "drawable", "legend_name", "literal", "write_along", "write_below"]

Point = tuple[float, float]

#: Stands for a sign that the font does not have; every font of matplotlib's own has it.
NO_GLYPH = "\ufffd"

#: A blank at which no line ends.
NO_BREAK = "\u00a0"

#: Most letters of a name in a legend, and beside a thing; longer ones keep their beginning and their end.
IN_LEGEND, BESIDE = 32, 24

#: Kinds of signs that draw nothing and may do harm: controls, marks of direction and joining, halves of pairs, private ones.
UNSEEN = ("Cc", "Cf", "Cs", "Co")

#: Points from one word along a line to the next; room that a word keeps to the ends of a straight bit.
EVERY, SPARE = 150.0, 4.0

#: Places tried for each word, shares of its stretch of the line away from the middle.
TRIED = (0.0, 0.12, -0.12, 0.24, -0.24, 0.36, -0.36)


def clean(text: object, most: int | None = None, families: tuple[str, ...] | None = None) -> str:
    r"""Write a name in one line: blanks for line breaks, no signs that nobody sees, a box for those that the font lacks.

    Parameters
    ----------
    text : object
        The name.
    most : int, optional
        Letters that it may have; a longer one keeps its beginning and its end, since names of a list often differ there.
    families : tuple of str, optional
        Fonts that are tried in turn; those of matplotlib's settings if not given.

    Examples
    --------
    >>> clean("bed\nby the\tgate")
    'bed by the gate'
    >>> clean("the long bed behind the garage, part 2", 20)
    'the long be…, part 2'
    """
    line = " ".join("".join(_seen(character) for character in str(text)).split())
    if most is not None and len(line) > most:
        tail = (most - 1) * 2 // 5
        line = f"{line[: most - 1 - tail].rstrip()}…{line[len(line) - tail :]}"
    return drawable(line, _families() if families is None else families)


def drawable(text: str, families: tuple[str, ...]) -> str:
    """Replace what none of the fonts can draw, sign by sign; blanks stay as they are."""
    return "".join(_drawn(character, families) for character in text)


def literal(text: str) -> str:
    r"""Keep matplotlib from reading a formula: the text is printed as it is, dollar signs and all.

    Called last, on lines that are wrapped already: a break between the two signs would undo it.

    Examples
    --------
    >>> literal("cost $5 & $6")
    'cost \\$5 & \\$6'
    """
    return text.replace("$", r"\$")


def legend_name(text: object) -> str:
    """Write a name for a legend: shortened, printed as it is."""
    return literal(clean(text, IN_LEGEND))


def _seen(character: str) -> str:
    """Return a character, a blank for white space, nothing for what nobody sees."""
    if character.isspace():
        return " "
    unseen = unicodedata.category(character) in UNSEEN or "\ufe00" <= character <= "\ufe0f"
    return "" if unseen else character


def _families() -> tuple[str, ...]:
    """Return the fonts of matplotlib's settings."""
    import matplotlib as mpl

    family = mpl.rcParams["font.family"]
    return (family,) if isinstance(family, str) else tuple(family)


@functools.lru_cache(maxsize=20_000)
def _drawn(character: str, families: tuple[str, ...]) -> str:
    """Return a character, or what stands for it where none of the fonts has it."""
    if character in (" ", NO_BREAK, NO_GLYPH):
        return character
    seen = _seen(character)
    if seen in ("", " "):
        return seen
    from matplotlib.font_manager import FontProperties, findfont, get_font

    paths = {findfont(FontProperties(family=[family])) for family in families}
    return seen if any(get_font(path).get_char_index(ord(seen)) for path in paths) else NO_GLYPH


def text_width(text: str, size: float, *, bold: bool) -> float:
    """Return the width of a line of text, points."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(size=100, weight="bold" if bold else "normal")
    return float(text_to_path.get_text_width_height_descent(text, font, ismath=False)[0]) * size / 100


def write_along(
    ax: Axes,
    path: Iterable[Iterable[float]],
    text: str,
    *,
    size: float = 7.0,
    aside: float = 0.0,
    floor: float | None = None,
    busy: Iterable[Point] = (),
    zorder: float,
    once: bool = False,
) -> list[Point]:
    """Write a word along a line, turned with it and with a halo: again and again on a long one, and only where it is in view.

    Parameters
    ----------
    ax : Axes
        Axes whose limits are set already.
    path : points
        The line, in the document's unit.
    text : str
        The word, cleaned already.
    size : float
        Size of the letters, points.
    aside : float
        Distance of the word from the line, points; on it if 0.
    floor : float, optional
        Nothing is written below this y: there stands the strip of the scale bar.
    busy : points
        What words should not cover, in the document's unit.
    zorder : float
        Layer.
    once : bool
        Whether the word is written once however long the line is.

    Returns
    -------
    list of (float, float)
        Points under the words, which other labels should leave free; empty where none of the line is in view.
    """
    from matplotlib.patheffects import withStroke

    dots = ax.figure.dpi / 72
    wide = text_width(text, size, bold=True)
    bits = _in_view(ax, np.array([list(point) for point in path], float), floor)
    longest = max((bit.length for bit in bits), default=0.0)
    if longest == 0.0:
        return []
    fixed = ax.transData.transform(np.array(list(busy)).reshape(-1, 2))
    covered: list[Point] = []
    for bit in bits:
        if bit.length < longest if once else bit.length < min(wide + 2 * SPARE, longest):
            continue
        count = 1 if once else max(round(bit.length / (EVERY * size / 7.0)), 1)
        for k in range(count):
            along, side = _freest(bit, (k, count), (wide, size, aside), fixed)
            middle = bit.at(along, side)
            x, y = ax.transData.inverted().transform(middle)
            ax.text(
                x, y, literal(text), fontsize=size, weight="bold", color=style.INK, rotation=bit.upright_deg, ha="center",
                va="center_baseline", rotation_mode="anchor", zorder=zorder, clip_on=True,
                path_effects=[withStroke(linewidth=2.4, foreground=style.PAPER)],
            )  # fmt: skip
            under = [bit.at(along + share * wide, side) for share in (-0.5, -0.25, 0.0, 0.25, 0.5)]
            covered += [(float(x), float(y)) for x, y in ax.transData.inverted().transform(np.array(under))]
        if once:
            break
    return covered


def write_below(ax: Axes, point: Point, text: str, *, size: float = 7.0, zorder: float) -> None:
    """Write a word below a sign, with a halo, where the sign is in view."""
    from matplotlib.patheffects import withStroke

    ax.annotate(
        literal(text), point, xytext=(0, -7), textcoords="offset points", ha="center", va="top", fontsize=size, weight="bold",
        color=style.INK, zorder=zorder, annotation_clip=True, path_effects=[withStroke(linewidth=2.4, foreground=style.PAPER)],
    )  # fmt: skip


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


def _in_view(
    ax: Axes, path: npt.NDArray[np.float64], floor: float | None
) -> list[_Bit]:
    """Return the straight bits of a line that lie within the axes.

    References
    ----------
    Liang and Barsky 1984, "A new concept and method for line clipping", ACM Transactions on Graphics 3 (1).
    """
    (x0, x1), (y0, y1) = sorted(ax.get_xlim()), sorted(ax.get_ylim())
    low, high = np.array([x0, y0 if floor is None else max(floor, y0)]), np.array([x1, y1])
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
