"""What a sheet consists of, before anyone knows on which paper: headings, text, lists, tables, the map."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

__all__ = ["Alarm", "Block", "Details", "Group", "Heading", "Items", "Map", "Table", "Text", "Together"]


@dataclass(frozen=True)
class Heading:
    """A heading; on paper it may begin a page, so that what it heads can be handed over by itself."""

    text: str
    new_page: bool = False


@dataclass(frozen=True)
class Text:
    """A paragraph."""

    text: str
    bold: bool = False


@dataclass(frozen=True)
class Alarm:
    """A sentence in a frame that no one overlooks."""

    text: str


@dataclass(frozen=True)
class Items:
    """A list; with boxes to tick, or with a term in bold before each item."""

    items: tuple[tuple[str, str], ...]
    boxes: bool = False
    columns: int = 1


@dataclass(frozen=True)
class Group:
    """A row of a table that names the rows below it."""

    text: str


@dataclass(frozen=True)
class Table:
    """A table; narrow ones run on in columns side by side.

    ``shares``: how columns share the width, where they do not take what their cells need; 0 for one that does.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...] | Group, ...]
    side_by_side: int = 1
    shares: tuple[float, ...] = ()


@dataclass(frozen=True)
class Map:
    """Where a map stands: the one of page 1, or the one at a standard scale that has a page of its own.

    ``again``: the map is shown once more, without its legend, on a page that is handed over by itself.
    """

    at_scale: bool = False
    again: bool = False


@dataclass(frozen=True)
class Details:
    """Where detail maps stand, if the map of page 1 is too small for its labels."""


@dataclass(frozen=True)
class Together:
    """Blocks that no page break parts, as long as one page holds them."""

    blocks: tuple[Heading | Text | Alarm | Items | Table, ...]


Block: TypeAlias = "Heading | Text | Alarm | Items | Table | Map | Details | Together"
