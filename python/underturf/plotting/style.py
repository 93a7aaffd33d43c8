"""Colours, markers and sizes of plans and maps, in one place, each with its reason.

Zones differ by colour and by marker, so that they stay apart in grey print and for every kind of colour vision.
Utility marks have the colours of the public colour code for such marks (ANSI Z535.1 names them), which readers know
from paint on the ground. Known lines are broader than anything else that is drawn, and cased: see `LINES`.
"""

from __future__ import annotations

from typing import Any, NamedTuple

__all__ = [
    "CHANCE_MAP",
    "DANGEROUS",
    "INK",
    "LINES",
    "MARK_COLOURS",
    "PAPER",
    "UTILITIES",
    "ZONES",
    "LineStyle",
    "ZoneStyle",
    "zone_styles",
]

INK = "#1f1f1f"
PAPER = "#ffffff"
GRASS = "#f4f7ee"
BUILDING = "#d9d6d0"
PAVING = "#ebe9e6"
POOL = "#dcebf2"
BED = "#e6e0cf"
FAINT = "#8a8a8a"
DIG = "#b3001b"
PROBE = "#00585f"
SKETCH = "#7b5d1e"
METAL = "#4d4d4d"
SWEPT, SWEPT_DOTS = "#6f7f8f", "#ccd5dd"

#: Perceptually uniform, steady in lightness for every kind of colour vision and in grey print (one of the maps that
#: van der Walt and Smith made for matplotlib, 2015); reversed, so that little chance prints light and much dark.
CHANCE_MAP = "magma_r"


class ZoneStyle(NamedTuple):
    """How the heads and draws of one zone look; ``filled`` as matplotlib's ``fillstyle``."""

    colour: str
    marker: str
    filled: str = "full"

    @property
    def marks(self) -> dict[str, Any]:
        """The marker of a head: light halves and dark rims keep it apart from its neighbours in grey."""
        half = {"fillstyle": self.filled, "markerfacecoloralt": PAPER}
        return {"marker": self.marker, "color": self.colour, "markeredgecolor": INK, **half}


#: Eight colours that stay apart for colour-blind readers (Okabe and Ito 2008), each with its own marker; then eight darker ones
#: with the same markers half filled. So no two of sixteen markers are alike, whatever their colours.
ZONES: tuple[ZoneStyle, ...] = (
    ZoneStyle("#0072b2", "o"),
    ZoneStyle("#d55e00", "s"),
    ZoneStyle("#009e73", "^"),
    ZoneStyle("#cc79a7", "D"),
    ZoneStyle("#e69f00", "v"),
    ZoneStyle("#56b4e9", "p"),
    ZoneStyle("#6a3d9a", "h"),
    ZoneStyle("#7a5230", "X"),
    ZoneStyle("#3b3b3b", "o", "left"),
    ZoneStyle("#b59f00", "s", "bottom"),
    ZoneStyle("#8c2d62", "^", "left"),
    ZoneStyle("#004d40", "D", "left"),
    ZoneStyle("#a04000", "v", "left"),
    ZoneStyle("#1b3a6b", "p", "left"),
    ZoneStyle("#5d6d00", "h", "left"),
    ZoneStyle("#b03060", "X", "bottom"),
)

#: The public colour code for utility marks: what paint of which colour means.
MARK_COLOURS: dict[str, str] = {
    "lateral": "#7d3c98",
    "mainline": "#7d3c98",
    "reclaimed": "#7d3c98",
    "control_wire": "#d7191c",
    "electric": "#d7191c",
    "gas": "#d9a400",
    "communication": "#f07800",
    "potable": "#1769c4",
    "sewer": "#1a8f3c",
    "unknown": "#e75480",
}

#: Classes of line that no irrigation system holds: where one is met it is kept as a mark.
UTILITIES = ("gas", "electric", "communication", "sewer")

#: Classes that hurt people or flood the ground when hit: shown as such where a probe met one.
DANGEROUS = (*UTILITIES, "potable", "reclaimed", "mainline", "unknown")

#: Light rim about the casing of a known line, points: it parts the casing from dark cells of a map.
RIM = 0.8


class LineStyle(NamedTuple):
    """How a known line of one class looks: colour, word along it, widths of its core and of the casing on either side, points."""

    colour: str
    word: str
    core: float
    casing: float


def _line(of: str, word: str, core: float, casing: float) -> LineStyle:
    return LineStyle(MARK_COLOURS[of], word, core, casing)


#: Looks of known lines by class, the most dangerous first. Numerical choices: in grey print a cased line weighs by its casing,
#: and the pale core of gas adds least, so gas has the broad casing too. A line of unknown kind is taken for gas or power until
#: its owner has said what it is.
LINES: dict[str, LineStyle] = {
    "gas": _line("gas", "GAS", 4.2, 1.6),
    "electric": _line("electric", "ELECTRIC", 4.2, 1.6),
    "unknown": _line("unknown", "UNKNOWN", 4.0, 1.5),
    "communication": _line("communication", "COMM", 3.0, 1.1),
    "sewer": _line("sewer", "SEWER", 3.0, 1.1),
    "potable": _line("potable", "WATER", 2.8, 1.0),
    "reclaimed": _line("reclaimed", "RECLAIMED", 2.8, 1.0),
    "mainline": _line("mainline", "MAINLINE", 2.8, 1.0),
    "lateral": _line("lateral", "LATERAL", 2.2, 0.8),
    "control_wire": _line("control_wire", "WIRE", 2.2, 0.8),
}


def zone_styles(zones: list[str]) -> dict[str, ZoneStyle]:
    """Return a look for every zone, in the order of their names; past sixteen, the looks begin again."""
    return {zone: ZONES[k % len(ZONES)] for k, zone in enumerate(sorted(set(zones), key=natural))}


def natural(name: str) -> tuple[int, str]:
    """Sort 2 before 10; a row of digits longer than any number of zones is a name."""
    return (int(name), "") if name.isdecimal() and len(name) < 7 else (1_000_000, name)
