"""How map and legend share the room that title and orders leave on page 1: below, beside, or the legend after the map.

Whoever takes one page to the ground has the site on it. The way is taken that draws the site largest: a wide site has its
legend below, a tall one beside. Heights are those that the typesetter measured.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

__all__ = ["ABOVE", "BELOW", "BESIDE", "LEFT", "NOTES", "RIGHT", "WIDE_COLUMNS", "Fit", "fitted"]

#: Inches round a drawing: left and below for ticks and their words, right and above for half a tick.
LEFT, BELOW, RIGHT, ABOVE = 0.56, 0.44, 0.1, 0.1

#: Widths of a legend beside the map, inches, by its columns; columns of a legend as wide as the page.
BESIDE: dict[int, float] = {1: 1.8, 2: 3.5}
WIDE_COLUMNS = 3

#: Inches: between map and legend beside it; notes below; what typesetting may add; less room than this holds no map.
GAP, NOTES, SPARE, LEAST = 0.15, 0.25, 0.2, 2.5

#: A legend on another page than its map must be worth it: the site is larger by this factor.
WORTH = 1.6


@dataclass(frozen=True)
class Fit:
    """Size of the map with its ticks, inches; where its legend stands, and in how many columns.

    ``legend_at``: ``"below"``, ``"beside"``, or ``"after"`` the map, on the next page.
    """

    width: float
    height: float
    legend_at: str
    columns: int


def fitted(
    ground: tuple[float, float],
    inner: tuple[float, float],
    orders: float,
    legends: Mapping[int, float],
) -> Fit:
    """Return how map and legend share page 1, or a page of their own where orders leave too little.

    Parameters
    ----------
    ground : (float, float)
        Width and height of what the map shows, in the document's unit.
    inner : (float, float)
        Width and height of a page within its margins, inches.
    orders : float
        Height of what stands above, inches.
    legends : mapping of int to float
        Height of the legend by its columns, inches: `BESIDE` and `WIDE_COLUMNS`.

    Examples
    --------
    >>> fitted((20.0, 70.0), (7.3, 10.2), 4.0, {1: 5.0, 2: 2.6, 3: 1.8}).legend_at
    'beside'
    >>> fitted((70.0, 20.0), (7.3, 10.2), 4.0, {1: 5.0, 2: 2.6, 3: 1.8}).legend_at
    'below'
    """
    wide, high = ground
    room = inner[1] - orders - SPARE
    if room < LEAST:
        room = inner[1] - SPARE
    best, largest = Fit(0.0, 0.0, "", 0), 0.0
    for width, height, at, columns in ways((inner[0], room), legends):
        scale = min((width - LEFT - RIGHT) / wide, (height - BELOW - ABOVE) / high)
        if scale > largest * (WORTH if at == "after" else 1.0 + 1e-9):
            best, largest = Fit(scale * wide + LEFT + RIGHT, scale * high + BELOW + ABOVE, at, columns), scale
    return best


def ways(room: tuple[float, float], legends: Mapping[int, float]) -> Iterator[tuple[float, float, str, int]]:
    """Yield the room that each way leaves for the map, where the legend stands, and its columns."""
    width, height = room
    yield width, height - NOTES - legends[WIDE_COLUMNS], "below", WIDE_COLUMNS
    for columns, wide in BESIDE.items():
        if legends[columns] <= height - NOTES:
            yield width - GAP - wide, height - NOTES, "beside", columns
    yield width, height, "after", WIDE_COLUMNS
