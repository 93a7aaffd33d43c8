"""Looks of zones on the map of the sheet: those of the plans, and a line pattern each, so that laterals tell their zone too.

A sheet is copied in grey: colour, marker and pattern are each alone enough to tell two of sixteen zones apart. Past sixteen the
markers begin again with other patterns.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, NamedTuple

from underturf import _core
from underturf.plotting import style
from underturf.plotting.names import legend_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["LOOKS", "ZoneLook", "draw_heads", "looks_of", "zones_of"]

#: How likely lines call valves whose zone nobody has named.
NAMELESS = tuple(_core.WORDS["nameless_valve"])

#: Dashes, sizes of the line's width.
Pattern = tuple[float, ...]


class ZoneLook(NamedTuple):
    """How heads and laterals of one zone look."""

    zone: style.ZoneStyle
    pattern: Pattern

    @property
    def colour(self) -> str:
        """The colour of heads and laterals."""
        return self.zone.colour

    @property
    def dashes(self) -> tuple[int, Pattern]:
        """The pattern of a line as matplotlib takes it, sizes of the line's width."""
        return (0, self.pattern)

    @property
    def marks(self) -> dict[str, Any]:
        """The marker of a head."""
        return self.zone.marks


PATTERNS: tuple[Pattern, ...] = (
    (6.0, 2.0),
    (2.0, 1.5),
    (6.0, 1.5, 1.2, 1.5),
    (12.0, 2.0),
    (1.0, 1.2),
    (6.0, 1.5, 1.2, 1.5, 1.2, 1.5),
    (3.0, 3.0),
    (12.0, 2.0, 1.2, 2.0),
    (8.0, 5.0),
    (3.0, 1.2, 1.0, 1.2),
    (12.0, 2.0, 3.0, 2.0, 3.0, 2.0),
    (6.0, 1.5, 3.0, 1.5),
    (1.2, 4.0),
    (12.0, 6.0),
    (12.0, 2.0, 1.2, 2.0, 1.2, 2.0),
    (3.0, 1.2, 3.0, 4.0),
)

LOOKS: tuple[ZoneLook, ...] = tuple(map(ZoneLook, style.ZONES, PATTERNS))


def zones_of(document: dict[str, Any], more: Iterable[str] = ()) -> list[str]:
    """Return the names of all zones of a document and of likely lines, in their natural order."""
    listed = (*document.get("heads", []), *document.get("station_tests", []))
    named = {str(item["zone"]) for item in listed if item.get("zone") is not None}
    return sorted(named | set(more), key=style.natural)


def looks_of(zones: Iterable[str]) -> dict[str, ZoneLook]:
    """Return a look for every zone; no two zones share marker and pattern both, up to 256 of them."""
    found = {}
    for k, zone in enumerate(zones):
        turn, place = divmod(k, len(LOOKS))
        found[zone] = LOOKS[place]._replace(pattern=LOOKS[(place + turn) % len(LOOKS)].pattern)
    return found


def draw_heads(ax: Axes, document: dict[str, Any], looks: dict[str, ZoneLook], with_lines: set[str]) -> None:
    """Draw heads by zone; those of unknown zone are open rings.

    ``with_lines``: zones with likely laterals, whose key in the legend shows the pattern of their lines too.
    """
    heads = document.get("heads", [])
    for zone, mine in looks.items():
        here = [head for head in heads if str(head.get("zone")) == zone]
        # Laterals of a zone whose heads nobody has named are drawn in its look as well.
        if not here and zone not in with_lines:
            continue
        at = {"linestyle": "none", "markersize": 5.2, "markeredgewidth": 0.5, "zorder": 6}
        ax.plot([head["x"] for head in here], [head["y"] for head in here], **mine.marks, **at)
        line = {"linestyle": mine.dashes if zone in with_lines else "none", "linewidth": 1.4}
        what = ", ".join(["heads"] * bool(here) + ["laterals (L)"] * (zone in with_lines))
        key = {"markersize": 6, "markeredgewidth": 0.5}
        # Valves whose zone has no name are called by where they are.
        name = legend_name(zone) if zone.startswith(NAMELESS) else f"zone {legend_name(zone)}"
        ax.plot([], [], label=f"{name}: {what}", **mine.marks, **line, **key)
    bare = [head for head in heads if head.get("zone") is None]
    if bare:
        look = {"markerfacecolor": style.PAPER, "markeredgecolor": style.INK, "markeredgewidth": 1.3}
        at = {"linestyle": "none", "markersize": 5.5, "zorder": 6, "label": "head, zone unknown"}
        ax.plot([head["x"] for head in bare], [head["y"] for head in bare], "o", **look, **at)
