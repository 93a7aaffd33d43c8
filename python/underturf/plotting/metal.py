"""Metal that a detector heard: flags, joined where they were traced along one line, the strips to keep off, and swept ground."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from underturf.plotting import style
from underturf.plotting.lettering import Point, Room, write_along, write_below
from underturf.plotting.names import BESIDE, clean
from underturf.plotting.shapes import draw_area, strip
from underturf.plotting.view import KeepOff, in_view, share

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw_metal"]

#: Swept ground is seen through; strips lie on obstacles, as tolerance zones do, and on these; flags on all but probes and
#: words.
SWEPT_LAYER, STRIP_LAYER, LINE_LAYER, FLAG_LAYER = 2.12, 2.2, 7.1, 7.45


def draw_metal(ax: Axes, document: dict[str, Any], strips: list[KeepOff], room: Room, *, traced: bool = True) -> None:
    """Draw flags, keep-off strips and swept ground, as far as they are in view; axes have their limits already.

    Parameters
    ----------
    ax : Axes
        Where to draw.
    document : dict
        The site, in its own unit.
    strips : list of KeepOff
        Where digs must keep off, in the document's unit.
    room : Room
        Where names may stand; flags and names are added.
    traced : bool
        Whether the flags of a named line are joined; not where its course is drawn.
    """
    draw_swept(ax, document)
    draw_strips(ax, strips)
    draw_flags(ax, document, strips, room, traced=traced)


def draw_swept(ax: Axes, document: dict[str, Any]) -> None:
    """Draw ground that was swept with a detector: faint dots within a line of dashes and dots."""
    from matplotlib.patches import Polygon

    label: str | None = "ground swept with a detector"
    for swept in document.get("swept", []):
        if in_view(ax, swept["outline"]):
            dots = {"facecolor": "none", "edgecolor": style.SWEPT_DOTS, "linewidth": 0, "hatch": "."}
            ax.add_patch(Polygon(swept["outline"], zorder=SWEPT_LAYER, **dots))
            looks = {"facecolor": "none", "edgecolor": style.SWEPT, "linestyle": (0, (6, 2, 1, 2)), "linewidth": 1.0}
            ax.add_patch(Polygon(swept["outline"], zorder=SWEPT_LAYER, label=label, **looks))
            label = None


def draw_strips(ax: Axes, strips: list[KeepOff]) -> None:
    """Draw the ground about flagged metal that digs keep off, to scale."""
    seen = [patch for _, path, half in strips if in_view(ax, path, half) for patch in strip(path, half)]
    if seen:
        draw_area(ax, seen, style.PAPER, style.METAL, STRIP_LAYER, hatch="xxxx")
        looks = {"facecolor": style.PAPER, "edgecolor": style.METAL, "hatch": "xxxx", "linewidth": 0.8}
        ax.fill([], [], label="keep-off strip of flagged metal, to scale", **looks)


def draw_flags(ax: Axes, document: dict[str, Any], strips: list[KeepOff], room: Room, *, traced: bool) -> None:
    """Draw the flags, and the lines along which they were traced with their names."""
    flags = document.get("flags", [])
    lines: dict[str, list[list[Point]]] = {}
    for flag in flags:
        if flag.get("line") is not None:
            lines.setdefault(flag["line"], [[]])[0].append((flag["x"], flag["y"]))
    seen = [(flag["x"], flag["y"]) for flag in flags if in_view(ax, [(flag["x"], flag["y"])])]
    room.taken += seen
    for name, written in lines.items():
        # A strip knows how its flags follow each other along the line.
        paths = [path for other, path, _ in strips if other == name] or written
        shown = [path for path in paths if in_view(ax, path)]
        for path in shown if traced else ():
            ax.plot(*np.transpose(path), color=style.PAPER, linewidth=3.0, zorder=LINE_LAYER)
            ax.plot(*np.transpose(path), color=style.INK, linewidth=1.4, linestyle=(0, (1, 1.2)), zorder=LINE_LAYER)
        longest = max(shown, key=length, default=[])
        if length(longest) > 0:
            write_along(ax, longest, clean(name, BESIDE), room, aside=7.5)
        elif longest:
            write_below(ax, longest[0], clean(name, BESIDE))
    if seen:
        look = {"color": style.INK, "markeredgecolor": style.PAPER, "markeredgewidth": 0.6, "linestyle": "none"}
        label = "detector flag" + ("; named lines joined" if lines and traced else "")
        ax.plot(*np.transpose(seen), marker="^", markersize=6.5 * share(ax), zorder=FLAG_LAYER, label=label, **look)


def length(path: list[Point]) -> float:
    """Return the length of a path."""
    return float(np.hypot(*np.diff(np.array(path), axis=0).T).sum()) if len(path) > 1 else 0.0
