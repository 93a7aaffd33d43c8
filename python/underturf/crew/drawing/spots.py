"""Spots, planned probes and trees on the map, to scale where that can be seen."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from underturf.crew.moves import moved
from underturf.plotting import style
from underturf.plotting.digs import footprint
from underturf.trees import root_protection_m

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf import _core
    from underturf.crew.plan import Plan

__all__ = ["draw_planned", "draw_spots", "draw_trees"]

#: Colours of the sheet that the plan does not have.
TREE, FAINT_SPOT = "#3f6b2a", "#8c5a62"

#: Rings about a tree to be planted: column, dashes, legend.
RINGS = (("setback_m", (0, (4, 2)), "setback of a new tree"), ("roots_m", (0, (1, 2)), "mature roots of a new tree"))


def draw_spots(ax: Axes, plan: Plan, scale: float) -> None:
    """Draw the spots to scale where they are to be dug; lightly, where they were drawn and where probes may send them."""
    from matplotlib.collections import PatchCollection

    edge = 0.0025 * max(np.ptp(ax.get_xlim()), np.ptp(ax.get_ylim()))
    for dig in plan.digs:
        looks = {"facecolor": style.DIG, "edgecolor": style.DIG if dig.kind == "pit" else "none"}
        ax.add_collection(PatchCollection(footprint(dig, scale, grow=edge), linewidth=1.2, zorder=7, **looks))
        ax.add_collection(PatchCollection(footprint(dig, scale), facecolor="#ffd9d9", edgecolor="none", zorder=7.1))
    if plan.digs:
        ax.plot([], [], "o", color=style.DIG, markerfacecolor="#ffd9d9", label="spot, to scale, by number")
    for n, k in enumerate(plan.shifts):
        draw_light(ax, plan.drawn[k], scale, FAINT_SPOT, "dashed")
        way = [dig.points_m.mean(axis=0) * scale for dig in (plan.drawn[k], plan.digs[k])]
        look = {"arrowstyle": "->", "color": FAINT_SPOT, "linewidth": 1.0, "shrinkA": 0, "shrinkB": 0}
        ax.annotate("", xy=tuple(way[1]), xytext=tuple(way[0]), arrowprops=look, zorder=7.2)
        if n == 0:
            look = {"markerfacecolor": "none", "markeredgecolor": FAINT_SPOT}
            ax.plot([], [], "o", label="where a moved spot was drawn: not there", linestyle="none", **look)
    for n, move in enumerate(plan.moves):
        there = moved(plan.digs[move.spot], (move.dx_m, move.dy_m))
        draw_light(ax, there, scale, style.DIG, "dotted")
        way = [dig.points_m.mean(axis=0) * scale for dig in (plan.digs[move.spot], there)]
        label = "where a probe's outcome sends a spot" if n == 0 else None
        ax.plot(*np.transpose(way), color=style.DIG, linewidth=0.8, linestyle="dotted", zorder=6.9, label=label)


def draw_light(ax: Axes, dig: _core.Dig, scale: float, colour: str, line: str) -> None:
    """Draw the outline of a dig that is not dug there now."""
    from matplotlib.collections import PatchCollection

    bits = footprint(dig, scale)
    if dig.kind == "trench":
        # Round ends and bits of a trench would show as rings: the middle line stands for it.
        ax.plot(*(dig.points_m.T * scale), color=colour, linewidth=1.0, linestyle=line, zorder=6.9)
        return
    looks = {"facecolor": "none", "edgecolor": colour, "linestyle": line, "linewidth": 0.9}
    ax.add_collection(PatchCollection(bits, zorder=6.9, **looks))


def draw_planned(ax: Axes, plan: Plan, scale: float) -> None:
    """Draw the planned probes: potholes as a sign, slits to scale, rods as a cross."""
    from matplotlib.collections import PatchCollection

    least = 0.004 * max(np.ptp(ax.get_xlim()), np.ptp(ax.get_ylim()))
    named: set[str] = set()
    for probe in plan.probes:
        if probe.dig.kind == "trench":
            grow = max(least - probe.dig.half_width_m * scale, 0.0)
            for more, face in ((grow + 0.6 * least, style.PROBE), (grow, style.PAPER)):
                looks = {"facecolor": face, "edgecolor": "none", "zorder": 7.4}
                ax.add_collection(PatchCollection(footprint(probe.dig, scale, grow=more), **looks))
            look = {"color": style.PROBE, "linewidth": 3.0}
            label, at = "slit to dig (P), to scale, in order", np.empty((0, 2))
        elif probe.tool == "rod":
            look = {"color": style.PROBE, "marker": "x", "markersize": 6.5, "markeredgewidth": 1.8, "linestyle": "none"}
            label, at = "rod to push (P), in order", probe.dig.points_m * scale
        else:
            look = {"markerfacecolor": style.PAPER, "markeredgecolor": style.PROBE, "markeredgewidth": 1.6}
            look |= {"marker": "h", "markersize": 7, "linestyle": "none"}
            label, at = "probe to dig (P), in order", probe.dig.points_m.mean(axis=0, keepdims=True) * scale
        ax.plot(*at.T, label=None if label in named else label, zorder=7.4, **look)
        named.add(label)


def draw_trees(ax: Axes, plan: Plan, scale: float) -> None:
    """Draw stems and protected roots of standing trees, and round trees to be planted the setback and the mature roots."""
    from matplotlib.patches import Circle

    named: set[str] = set()

    def ring(x: float, y: float, radius: float, line: Any, label: str, fill: bool = False) -> None:
        looks = {"facecolor": TREE if fill else "none", "edgecolor": TREE, "linestyle": line, "linewidth": 1.0}
        ax.add_patch(Circle((x, y), radius, zorder=5.2, **looks))
        if label not in named:
            named.add(label)
            if fill:
                ax.plot([], [], "o", color=TREE, markersize=5, linestyle="none", label=label)
            else:
                ax.plot([], [], color=TREE, linestyle=line, linewidth=1.2, label=label)

    least = 0.006 * max(np.ptp(ax.get_xlim()), np.ptp(ax.get_ylim()))
    for tree in plan.document.get("trees", []):
        stem = tree["stem_diameter"]
        ring(tree["x"], tree["y"], max(stem / 2, least), "solid", "stem of a standing tree", fill=True)
        protected = root_protection_m(stem / scale) * scale
        ring(tree["x"], tree["y"], protected, (0, (6, 2, 1, 2)), "protected roots of a standing tree")
    for k, tree in plan.trees.items():
        x, y = plan.digs[k].points_m.mean(axis=0) * scale
        for key, line, label in RINGS:
            if math.isfinite(tree[key]):
                ring(float(x), float(y), tree[key] * scale, line, label)
