"""Likely lines on the map: bands of doubt; laterals in the pattern of their zone, every other class in a pattern of its own.

Laterals and mainline share the purple of the public colour code, and a copy in grey has no colours: so what may flood a hole is
drawn with a casing, and laterals are thinner and never solid. A mainline is one solid line; a potable line is two thin ones, for
these two lie side by side near the source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from underturf.crew.drawing.zones import ZoneLook
from underturf.crew.words import class_words
from underturf.plotting import style
from underturf.plotting.likely import look_of
from underturf.plotting.shapes import tint

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.crew.drawing.view import View
    from underturf.crew.likely_lines import LikelyLine
    from underturf.crew.plan import Plan

__all__ = ["LATERAL", "draw_lines", "lines_in"]

#: Tint of the bands.
BAND_SHARE = 0.28

#: Width of a lateral, points.
LATERAL = 1.2


def lines_in(plan: Plan, view: View) -> list[LikelyLine]:
    """Return the likely lines of which something is in view, or nearly."""
    scale = 1 / plan.site.unit_m
    low, high = np.array([view.x[0], view.y[0]]), np.array([view.x[1], view.y[1]])

    def near(line: LikelyLine) -> bool:
        at, reach = line.at * scale, line.span[:, None] * scale
        return bool(((at >= low - reach) & (at <= high + reach)).all(axis=1).any())

    return [line for line in plan.likely if near(line)]


def draw_lines(ax: Axes, plan: Plan, view: View, looks: dict[str, ZoneLook]) -> None:
    """Draw likely lines: at each station the band of doubt over the length that it stands for, and a line through the middles."""
    from matplotlib.collections import LineCollection, PolyCollection

    lines, scale = lines_in(plan, view), 1 / plan.site.unit_m
    if not lines:
        return
    strokes = [stroke_of(line, looks) for line in lines]
    corners = [band for line in lines for band in line.bands * scale]
    tints = [tint(stroke["color"], BAND_SHARE) for line, stroke in zip(lines, strokes, strict=True) for _ in line.at]
    ax.add_collection(PolyCollection(corners, facecolors=tints, edgecolors="none", zorder=2.6))
    for line, stroke in zip(lines, strokes, strict=True):
        ax.add_collection(LineCollection([line.course * scale], capstyle="butt", **stroke))
    named: set[str] = set()
    for line, stroke in zip(lines, strokes, strict=True):
        label = f"likely {class_words(line.of)} (L)"
        if line.of == "lateral":
            # The keys of zones tell of their laterals too.
            label = "" if line.zone in looks else "likely lateral, zone unknown (L)"
        if label and label not in named:
            named.add(label)
            ax.plot([], [], label=label, **stroke)
    ax.fill([], [], facecolor="#d5d3dc", edgecolor="none", label="band of doubt of a likely line")


def stroke_of(line: LikelyLine, looks: dict[str, ZoneLook]) -> dict[str, Any]:
    """Return how the line through the middles is stroked."""
    colour = style.MARK_COLOURS[line.of]
    if line.of != "lateral":
        return {"color": colour, **look_of(line.of), "zorder": 2.8}
    look = looks.get(line.zone)
    dashes = (0, (4, 2)) if look is None else look.dashes
    return {"color": colour if look is None else look.colour, "linewidth": LATERAL, "linestyle": dashes, "zorder": 2.7}
