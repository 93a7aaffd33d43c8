"""The standing words of the sheet: what to do before digging, and when a line is hit.

Common practice, no source, worded carefully; local codes, the utility's own rules and the one-call centre always win, and
the sheet says so.
"""

from __future__ import annotations

from underturf.report import chance_text

__all__ = ["BLANK", "IF_HIT", "OWNER_CLASSES", "class_words", "direction", "percent"]

#: A line to write on.
BLANK = "_______________"

#: What is hit, and what to do: by class, the most dangerous first.
IF_HIT: tuple[tuple[str, str], ...] = (
    (
        "Any line",
        "stop, put nothing back, keep others away, and find out what it is before anyone goes on. In danger call the "
        "emergency services first.",
    ),
    (
        "Gas",
        "leave at once, everybody, and walk upwind. No ignition: no flame, no engine started or stopped, no switch, no "
        "telephone near it. Do not try to close or cover it. Call emergency services and the gas utility from a distance.",
    ),
    (
        "Electric",
        "stay clear and keep everybody clear; touch neither tool nor machine nor water in the hole. Who sits on a machine "
        "stays there unless it burns. Call emergency services and the utility from a distance.",
    ),
    (
        "Mainline, potable or reclaimed (always under pressure)",
        "close the shut-off marked on the map, then the controller; stay out of the hole until the water stands. Flush "
        "before use; reclaimed water is not for drinking. Report a hit on a utility's pipe.",
    ),
    (
        "Lateral (no pressure when its zone is off)",
        "turn the zone off, dig the break free by hand, flush out the soil, repair, run the zone and look.",
    ),
    ("Control wire", "irrigation off at the controller and unplugged; join with sealed connectors, run every zone."),
    ("Communication", "stop, do not look into a broken fibre, call the owner of the line."),
    ("Sewer or drain", "stay out of it, wash, call the owner of the line."),
    ("Unknown", "take it for gas or power until its owner has said what it is."),
)

#: Classes about which a sheet writes to the owner of the ground, with what they are called.
OWNER_CLASSES = {
    "gas": "gas line",
    "electric": "electric line",
    "communication": "communication line",
    "sewer": "sewer or drain",
    "potable": "potable line, under pressure,",
    "reclaimed": "reclaimed water line, under pressure,",
    "mainline": "mainline, under pressure,",
    "unknown": "line of unknown kind",
}


def percent(p: float) -> str:
    """Write a chance that no line breaks."""
    return chance_text(p).replace(" ", "\u00a0")


def class_words(name: str) -> str:
    """Return the name of a class as people write it.

    Examples
    --------
    >>> class_words("control_wire")
    'control wire'
    """
    return name.replace("_", " ")


#: The sixteen directions of a compass, counter-clockwise from east.
DIRECTIONS = (
    "east", "east-north-east", "north-east", "north-north-east", "north", "north-north-west", "north-west", "west-north-west",
    "west", "west-south-west", "south-west", "south-south-west", "south", "south-south-east", "south-east", "east-south-east",
)  # fmt: skip


def direction(bearing_deg: float, north_deg: float = 0.0) -> str:
    """Name a direction on the ground.

    Parameters
    ----------
    bearing_deg : float
        On the plan, counter-clockwise from x.
    north_deg : float
        Where true north lies, clockwise from the plan's y axis.

    Examples
    --------
    >>> direction(90.0), direction(90.0, 90.0), direction(-20.0), direction(359.0)
    ('north', 'west', 'east-south-east', 'east')
    """
    return DIRECTIONS[round((bearing_deg + north_deg) / 22.5) % 16]
