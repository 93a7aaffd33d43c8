"""The standing words of the sheet: what to do before digging, and when a line is hit.

Common practice, no source, worded carefully; local codes, the utility's own rules and the one-call centre always win, and
the sheet says so.
"""

from __future__ import annotations

from underturf.report import chance_text

__all__ = ["BLANK", "IF_HIT", "OWNER_CLASSES", "class_words", "percent"]

#: A line to write on.
BLANK = "_______________"

#: What is hit, and what to do: by class, the most dangerous first. Orders of at most twelve words each.
IF_HIT: tuple[tuple[str, str], ...] = (
    (
        "Any line",
        "Stop. Do not backfill. Keep others away. Find out what it is before anyone goes on. In danger, call the emergency "
        "services first.",
    ),
    (
        "Gas",
        "Leave at once, everybody. Walk upwind. No flame, no switch, no phone near the hole. Start or stop no engine. Do not try "
        "to close or cover the leak. From a distance, call emergency services and the gas utility.",
    ),
    (
        "Electric",
        "Stay clear. Keep everybody clear. Touch no tool, no machine, no water in the hole. On a machine: stay on it unless it "
        "catches fire. From a distance, call emergency services and the electric utility.",
    ),
    (
        "Mainline, potable or reclaimed (always under pressure)",
        "Close the shut-off marked on the map, then the controller. Stay out of the hole until the water stops flowing. Repair, "
        "then flush before use. Never drink reclaimed water. If the pipe is a utility's, report the hit.",
    ),
    (
        "Lateral (no pressure when its zone is off)",
        "Turn the zone off. Dig the break free by hand. Flush out the soil. Repair. Run the zone and look for leaks.",
    ),
    (
        "Control wire",
        "Turn irrigation off at the controller and unplug it. Join with sealed connectors. Run every zone.",
    ),
    ("Communication", "Stop. Do not look into a broken fibre. Call the owner of the line."),
    ("Sewer or drain", "Stay out of it. Wash. Call the owner of the line."),
    ("Unknown", "Treat it as gas or electric until its owner identifies it."),
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
