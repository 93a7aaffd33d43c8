"""What every reader of a format hands on: things as the file has them, before anything is made of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

__all__ = ["Batch", "Observed", "Plane"]

#: A place in the coordinates of a file: along x or east, along y or north.
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Observed:
    """A thing in a file.

    Attributes
    ----------
    kind : {"point", "line", "area"}
        Its geometry. The corners of an area are listed once each.
    points : tuple of (float, float)
        Its places, in the coordinates of its `Batch`.
    place : str
        Where in the file it stands, in words: ``row 3``.
    code : str
        What the file calls it; empty where it says nothing.
    channel : {"code", "layer", "block"}
        What sort of name the code is.
    attributes : mapping
        Other fields by their name in the file.
    radius : float or None
        Radius of a circle, in metres; the centre is its one point.
    holes : int
        Openings of an area that its corners leave out.
    curved : bool
        Whether curves were flattened.
    """

    kind: Literal["point", "line", "area"]
    points: tuple[Point, ...]
    place: str
    code: str = ""
    channel: Literal["code", "layer", "block"] = "code"
    attributes: Mapping[str, Any] = field(default_factory=dict)
    radius: float | None = None
    holes: int = 0
    curved: bool = False


@dataclass(frozen=True, slots=True)
class Plane:
    """Coordinates on the plane of the site, in metres; ``said`` names the unit they were written in."""

    said: str


@dataclass(slots=True)
class Batch:
    """Things of one file that share their coordinates.

    Attributes
    ----------
    file : str
        Name of the file.
    coordinates : Plane or str or object
        The plane of the site, or a coordinate reference system that pyproj reads (longitude or easting first).
    unit_m : float or None
        Metres in one unit of lengths that name none; None where the file does not tell.
    observed : list of Observed
        The things, in the order of the file.
    left : list of (str, str, str)
        What the reader left out: place, what it was, why.
    changed : list of (str, str, str)
        What it took otherwise than it stands there.
    notes : list of str
        Sentences that the report repeats.
    accuracy_note : str
        What must be said where nothing states how good the places are; empty where that is no question.
    """

    file: str
    coordinates: Any
    unit_m: float | None
    observed: list[Observed] = field(default_factory=list)
    left: list[tuple[str, str, str]] = field(default_factory=list)
    changed: list[tuple[str, str, str]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    accuracy_note: str = ""
