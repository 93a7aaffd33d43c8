"""Colours of classes of line in drawings, and the columns by which a layer tells a drawing more than its shapes do.

The colours are those of the public colour code for utility marks, which readers know from paint on the ground: red for power,
yellow for gas, orange for communication, blue for drinking water, purple for reclaimed and irrigation water, green for sewers.
"""

from __future__ import annotations

from underturf.plotting.style import MARK_COLOURS

__all__ = ["CIRCLE", "COLOURS", "INDEX_COLOURS", "rgb_of"]

#: Column of an area that is a circle: its radius, metres; drawings then hold a true circle.
CIRCLE = "circle_radius_m"

#: Colour of each class of line, as in plans.
COLOURS: dict[str, str] = MARK_COLOURS

#: The nearest of the numbered colours that every drawing program has (1 red, 2 yellow, 3 green, 5 blue; 30 orange, 200 purple,
#: 231 pink).
INDEX_COLOURS: dict[str, int] = {
    "lateral": 200,
    "mainline": 200,
    "reclaimed": 200,
    "control_wire": 1,
    "electric": 1,
    "gas": 2,
    "communication": 30,
    "potable": 5,
    "sewer": 3,
    "unknown": 231,
}


def rgb_of(colour: str) -> tuple[int, int, int]:
    """Return red, green and blue.

    Examples
    --------
    >>> rgb_of("#d9a400")
    (217, 164, 0)
    """
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
