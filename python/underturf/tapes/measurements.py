"""What a sheet of tape notes holds, in metres: points, and what was measured between them.

Plain values without checks; `underturf.tapes.document` makes them of a file, `underturf.tapes.solving` of them makes places.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from underturf.directions import direction, on_plan

__all__ = ["Fixed", "Measurement", "Offset", "Point", "Side", "Tape"]

#: A compass word tells the sides of a line apart where it points this far away from the line, as a sine (20 degrees).
LEAST_ACROSS = math.sin(math.radians(20))

Place: TypeAlias = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Side:
    """A side of a line: left or right as you look along it from its first point, or where a compass word points.

    Attributes
    ----------
    said : str
        The word of the notes.
    left : bool or None
        Whether it is the left side; None for a compass word.
    towards : (float, float)
        Unit vector of a compass word on the plan; (0, 0) for left and right.
    """

    said: str
    left: bool | None = None
    towards: Place = (0.0, 0.0)

    def sign(self, a: Place, b: Place) -> int:
        """Return 1 for the left side of the line from a to b, -1 for the right one, 0 where the word does not tell.

        Examples
        --------
        >>> Side.compass("north", 0.0).sign((0, 0), (9, 0)), Side.compass("north", 0.0).sign((9, 0), (0, 0))
        (1, -1)
        >>> Side.compass("north", 0.0).sign((0, 0), (0, 9)), Side("right", left=False).sign((0, 0), (0, 9))
        (0, -1)
        """
        if self.left is not None:
            return 1 if self.left else -1
        dx, dy = b[0] - a[0], b[1] - a[1]
        long = math.hypot(dx, dy)
        across = (dx * self.towards[1] - dy * self.towards[0]) / long if long else 0.0
        return 0 if abs(across) < LEAST_ACROSS else int(math.copysign(1, across))

    @classmethod
    def compass(cls, said: str, azimuth_deg: float, y_azimuth_deg: float = 0.0) -> Side:
        """Return the side where a direction points."""
        x, y = on_plan(azimuth_deg, y_azimuth_deg)
        return cls(said, None, (float(x), float(y)))

    @staticmethod
    def azimuth_of(word: str) -> float | None:
        """Return the azimuth of a compass word or its letters; None for any other word.

        Examples
        --------
        >>> [Side.azimuth_of(word) for word in ("north", "SW", "south-west", "up")]
        [0.0, 225.0, 225.0, None]
        """
        azimuths = {direction(22.5 * k): 22.5 * k for k in range(16)}
        azimuths |= {"".join(part[0] for part in name.split("-")): azimuth for name, azimuth in azimuths.items()}
        return azimuths.get(word.lower())


@dataclass(frozen=True, slots=True)
class Tape:
    """A tape pulled between two points.

    Attributes
    ----------
    start, end : str
        The points.
    length_m, sd_m : float
        Length, and its standard deviation.
    place : str
        Where it stands in the notes.
    """

    start: str
    end: str
    length_m: float
    sd_m: float
    place: str

    @property
    def names(self) -> tuple[str, ...]:
        """The points that it ties together."""
        return self.start, self.end

    def __str__(self) -> str:
        return f"tape {self.start} to {self.end}"


@dataclass(frozen=True, slots=True)
class Offset:
    """A point by its way along a line and its offset square to it.

    Attributes
    ----------
    start, end : str
        The line, from its first point to its second.
    point : str
        The point.
    along_m, offset_m : float
        From the first point to the foot of the offset, and the offset, not negative.
    side : Side or None
        On which side of the line; None where the offset is zero.
    sds_m : (float, float)
        Standard deviations along the line and square to it.
    place : str
        Where it stands in the notes.
    """

    start: str
    end: str
    point: str
    along_m: float
    offset_m: float
    side: Side | None
    sds_m: Place
    place: str

    @property
    def names(self) -> tuple[str, ...]:
        """The points that it ties together."""
        return self.start, self.end, self.point

    def signed_m(self, a: Place, b: Place) -> float:
        """Return the offset, positive to the left of the line; NaN where the side does not tell."""
        if self.side is None:
            return self.offset_m
        sign = self.side.sign(a, b)
        return sign * self.offset_m if sign else math.nan


Measurement: TypeAlias = Tape | Offset


@dataclass(frozen=True, slots=True)
class Fixed:
    """A point whose coordinates are known.

    Attributes
    ----------
    x_m, y_m, sd_m : float
        Coordinates, and the standard deviation of each; 0 where they are taken as exact.
    """

    x_m: float
    y_m: float
    sd_m: float


@dataclass(frozen=True, slots=True)
class Point:
    """A named point of the notes.

    Attributes
    ----------
    name, place : str
        Its name, and where it stands in the notes.
    fixed : Fixed or None
        Its coordinates, where they are known.
    side : (str, str, Side) or None
        On which side of the line between two points it lies.
    attributes : mapping
        Keys for a site document, as written; numbers that are lengths as texts with their unit.
    """

    name: str
    place: str
    fixed: Fixed | None = None
    side: tuple[str, str, Side] | None = None
    attributes: Mapping[str, Any] = field(default_factory=dict)
