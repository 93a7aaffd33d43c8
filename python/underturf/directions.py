"""Directions on the ground: azimuths in degrees clockwise from north, their words, and how they lie on a plan.

North is the plan's y axis unless the site's frame turns it: the azimuth of the y axis is ``frame.azimuth_deg`` of its document.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

__all__ = ["azimuth_deg", "compass", "direction", "on_plan", "y_azimuth_deg"]

#: The sixteen directions of a compass, clockwise from north.
DIRECTIONS = (
    "north", "north-north-east", "north-east", "east-north-east", "east", "east-south-east", "south-east", "south-south-east",
    "south", "south-south-west", "south-west", "west-south-west", "west", "west-north-west", "north-west", "north-north-west",
)  # fmt: skip


def y_azimuth_deg(document: Mapping[str, Any]) -> float:
    """Return the azimuth of the plan's y axis; 0 where the document does not say."""
    return float(document.get("frame", {}).get("azimuth_deg", 0.0))


def on_plan(azimuth_deg: npt.ArrayLike, y_azimuth_deg: float = 0.0) -> npt.NDArray[np.float64]:
    """Return unit vectors (x, y) on the plan, one a row for a list of azimuths.

    Examples
    --------
    >>> on_plan(90.0).round(6).tolist(), on_plan([0.0, 90.0], 90.0).round(6).tolist()
    ([1.0, 0.0], [[-1.0, 0.0], [0.0, 1.0]])
    """
    turn = np.radians(np.asarray(azimuth_deg, dtype=float) - y_azimuth_deg)
    return np.stack([np.sin(turn), np.cos(turn)], axis=-1)


def azimuth_deg(dx: float, dy: float, y_azimuth_deg: float = 0.0) -> float:
    """Return the azimuth of a way on the plan, 0 to 360.

    Examples
    --------
    >>> azimuth_deg(1.0, 0.0), azimuth_deg(0.0, -2.0), azimuth_deg(1.0, 0.0, 90.0)
    (90.0, 180.0, 180.0)
    """
    return (math.degrees(math.atan2(dx, dy)) + y_azimuth_deg) % 360.0


def compass(azimuth_deg: float) -> str:
    """Name a direction by the letters of a compass.

    Examples
    --------
    >>> [compass(azimuth) for azimuth in (0, 45, 90, 180, 359)]
    ['N', 'NE', 'E', 'S', 'N']
    """
    return ("N", "NE", "E", "SE", "S", "SW", "W", "NW")[round(azimuth_deg / 45) % 8]


def direction(azimuth_deg: float) -> str:
    """Name a direction in words.

    Examples
    --------
    >>> direction(0.0), direction(270.0), direction(110.0), direction(449.0)
    ('north', 'west', 'east-south-east', 'east')
    """
    return DIRECTIONS[round(azimuth_deg / 22.5) % 16]
