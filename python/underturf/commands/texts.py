"""Answers as text: a table in the units of the document, what has to be known of it, and the cautions."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from underturf.cautions import CAUTIONS, NOT_CONVERGED, TOTAL
from underturf.crew.lengths import tape_text
from underturf.directions import compass
from underturf.report import chance_text, grid, length_text, loss_text

__all__ = ["Column", "page", "place_text", "table", "told"]

#: Greatest number of characters in a line of prose.
WIDTH = 100


class Column(NamedTuple):
    """A column of a text."""

    #: Key of the rows.
    key: str
    #: Heading.
    heading: str
    #: How its cells are written, one of `KINDS`.
    kind: str = "text"


def place_text(length_m: float, units: str) -> str:
    r"""Write a coordinate as it is read off a tape, and as it can be typed again.

    Examples
    --------
    >>> place_text(3.456, "m"), place_text(-0.75, "ft")
    ('3.46 m', '-2\' 5½"')
    """
    text = tape_text(length_m, units)
    return text if units == "ft" or math.isnan(length_m) else f"{text} m"


def plain_number(value: float) -> str:
    """Write a number with two digits that matter.

    Examples
    --------
    >>> [plain_number(value) for value in (0.01234, 12345.0, -0.5, float("inf"))]
    ['0.012', '12345', '-0.5', 'no number of draws']
    """
    if math.isinf(value):
        return "no number of draws"
    return f"{value:.0f}" if abs(value) >= 10 else f"{value:.2g}"


def azimuth_text(value: float) -> str:
    """Write a direction.

    Examples
    --------
    >>> azimuth_text(89.6)
    '90° (E)'
    """
    return f"{value:.0f}° ({compass(value)})"


#: How cells are written, by kind.
KINDS: dict[str, Callable[[Any, str], str]] = {
    "text": lambda value, _: str(value),
    "chance": lambda value, _: chance_text(value),
    "class": lambda value, _: chance_text(value),
    "place": place_text,
    "length": length_text,
    "loss": lambda value, _: loss_text(value),
    "number": lambda value, _: plain_number(value),
    "azimuth": lambda value, _: azimuth_text(value),
    "yes": lambda value, _: "yes" if value else "no",
    "list": lambda value, _: ", ".join(map(str, value)),
}


def cell(value: Any, kind: str, units: str) -> str:
    """Write a cell; what is not known is a dash, and a class without evidence is not assessed.

    Examples
    --------
    >>> cell(0.25, "chance", "m"), cell(None, "chance", "m"), cell(None, "class", "m"), cell(0.3048, "length", "ft")
    ('25 %', '-', 'not assessed', '1.0 ft')
    """
    if value is None:
        return "not assessed" if kind == "class" else "-"
    return KINDS[kind](value, units) or "-"


def table(rows: Iterable[Mapping[str, Any]], columns: Sequence[Column], units: str) -> str:
    """Write rows as a table.

    Examples
    --------
    >>> print(table([{"id": "a", "x_m": 3.048}], [Column("id", "spot"), Column("x_m", "x", "place")], "ft"))
    spot  x
    ----  ------
    a     10' 0"
    """
    cells = [[cell(row[column.key], column.kind, units) for column in columns] for row in rows]
    return grid([[column.heading for column in columns], *cells])


def told(name: object, sentence: str) -> str:
    """Write a sentence about a thing, wrapped."""
    return textwrap.fill(f"{name}: {sentence}", WIDTH, subsequent_indent="  ")


def page(
    body: str,
    about: Mapping[str, Any],
    *,
    said: Sequence[str] = (),
    lines: Sequence[str] = (),
    chances: bool = True,
) -> str:
    """Write a page: the table, what has to be known of it, a line for each thing that needs words, and the cautions.

    Parameters
    ----------
    body : str
        The table; empty where there is nothing to show.
    about : mapping
        As `underturf.commands.answers.about` gives it.
    said : sequence of str
        Notes below the table.
    lines : sequence of str
        Lines below these.
    chances : bool
        Whether the table shows chances of strikes.
    """
    mark = [f"*** {NOT_CONVERGED} ***", ""] if about["converged"] is False else []
    notes = list(said)
    if about["draws"] is not None:
        drawn = f"{about['draws']} sampled layouts, seed {about['seed']}"
        notes.insert(0, f"chance: {TOTAL}, by {drawn}" if chances else f"by {drawn}")
    if about["not_assessed"]:
        missing = ", ".join(about["not_assessed"])
        notes.append(f"not assessed: {missing}. They have no part in the figures above and may lie here all the same")
    wrapped = [textwrap.fill(note, WIDTH) for note in notes]
    below = ["", *lines] if lines else []
    cautions = ["", "Before you dig:", *(f"  - {caution}" for caution in CAUTIONS)]
    return "\n".join(
        [*mark, *([body] if body else []), *wrapped, *([""] if mark else []), *mark[:1], *below, *cautions]
    )
