"""Standard scales of a full-page map, the largest at which the ground fits on one page, upright or across; and of detail maps.

A scale ruler then reads lengths off the paper. The lists are those of common scale rulers (common practice, no source).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import NamedTuple

__all__ = ["Scale", "details", "fitting"]

#: Feet on the ground to an inch of paper; metres on the ground to a metre of paper.
FEET_TO_INCH = (10, 20, 30, 40, 50, 60, 100)
METRES = (100, 125, 200, 250, 300, 400, 500, 1000)

#: The largest scale of a detail map: a spot of half a metre is then as wide as its number.
LARGEST = {"ft": 5, "m": 50}

#: A detail map is larger than the whole map by this factor, or it tells no more.
LARGER = 1.1

INCHES_IN_METRE = 1 / 0.0254


class Scale(NamedTuple):
    """A scale: its name, units of the document to an inch of paper, and whether the page lies across."""

    words: str
    per_inch: float
    across: bool


def scales(units: str) -> Iterator[tuple[str, float]]:
    """Yield names of scales and units of the document to an inch; without end, for ground of any size."""
    for power in itertools.count():
        for step in FEET_TO_INCH if units == "ft" else METRES:
            size = step * 10**power
            if units == "ft":
                yield f"1 in = {size} ft", float(size)
            else:
                yield f"1:{size}", size / INCHES_IN_METRE


def details(units: str, per_inch: float) -> list[Scale]:
    """Return the standard scales of detail maps that are larger than a map with so many units to an inch, the largest last.

    Examples
    --------
    >>> [scale.words for scale in details("ft", 25.0)]
    ['1 in = 20 ft', '1 in = 10 ft', '1 in = 5 ft']
    """
    first = LARGEST[units]
    words = f"1 in = {first} ft" if units == "ft" else f"1:{first}"
    found = [Scale(words, first if units == "ft" else first / INCHES_IN_METRE, False)]
    for words, size in itertools.takewhile(lambda scale: scale[1] * LARGER < per_inch, scales(units)):
        found.append(Scale(words, size, False))
    return [scale for scale in reversed(found) if scale.per_inch * LARGER < per_inch]


def fitting(width: float, height: float, units: str, room: tuple[float, float], across: tuple[float, float]) -> Scale:
    """Return the largest standard scale at which ground fits on a page.

    Parameters
    ----------
    width, height : float
        Of the ground, in the document's unit.
    units : str
        ``"m"`` or ``"ft"``.
    room, across : (float, float)
        Width and height, inches, that a page has for the drawing: upright, and across.

    Examples
    --------
    >>> fitting(60.0, 80.0, "ft", (6.7, 8.9), (9.6, 5.5))
    Scale(words='1 in = 10 ft', per_inch=10.0, across=False)
    >>> fitting(30.0, 12.0, "m", (6.7, 8.9), (9.6, 5.5)).words
    '1:125'
    """
    for words, per_inch in scales(units):
        for lies, (most_wide, most_high) in ((False, room), (True, across)):
            if width <= most_wide * per_inch and height <= most_high * per_inch:
                return Scale(words, per_inch, lies)
    raise AssertionError("scales have no end")
