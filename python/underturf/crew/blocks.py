"""What a sheet consists of, before anyone knows on which paper: headings, text, lists, tables, the map."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

__all__ = ["Alarm", "Block", "Group", "Heading", "Items", "Map", "Table", "Text", "Together"]


@dataclass(frozen=True)
class Heading:
    """A heading; the first of a sheet is its title."""

    text: str
    level: int = 2


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
    """A table; long narrow ones run on in several columns side by side."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...] | Group, ...]
    side_by_side: int = 1
    wide: int | None = None


@dataclass(frozen=True)
class Map:
    """Where the map stands."""


@dataclass(frozen=True)
class Together:
    """Blocks that no page break parts, as long as one page holds them."""

    blocks: tuple[Heading | Text | Alarm | Items | Table, ...]


Block: TypeAlias = "Heading | Text | Alarm | Items | Table | Map | Together"
