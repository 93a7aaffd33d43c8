"""The map of the sheet: spots and probes by number, likely lines as bands of doubt, shut-offs, fixed points, tolerance zones."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from underturf.crew.labels import FIXED, label_all
from underturf.crew.moves import moved
from underturf.plotting import style
from underturf.plotting.digs import footprint
from underturf.plotting.findings import draw_probes, draw_sketches, draw_station_tests
from underturf.plotting.furniture import axis_words, cover_strip, nice_length, north_arrow, scale_bar
from underturf.plotting.ground import draw_fixtures, draw_ground, draw_heads
from underturf.plotting.lettering import Room
from underturf.plotting.shapes import tint
from underturf.plotting.site_plan import draw_danger, fixed_points
from underturf.plotting.view import obstacle_points, seen_points
from underturf.trees import root_protection_m

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from underturf import _core
    from underturf.crew.plan import Plan, Stake

__all__ = ["draw_map", "limits"]

#: Patches of the bands: tint of the class's colour, and of its line. Laterals and mainline share the colour of the public
#: code, so the middle of laterals is dashed and that of lines under pressure is not.
BAND_SHARE = 0.3
DASHED = (0, (4, 2))

#: Colours of the sheet that the plan does not have.
TREE, FAINT_SPOT = "#3f6b2a", "#8c5a62"

#: How far beyond the boundary things are shown, share of its side.
BEYOND = 0.1

#: Rings about a tree to be planted: column, dashes, legend.
RINGS = (("setback_m", (0, (4, 2)), "setback of a new tree"), ("roots_m", (0, (1, 2)), "mature roots of a new tree"))


def limits(plan: Plan) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the least and greatest x and y that the map shows, in the document's unit, with margins.

    Where the ground has a boundary, a building beyond it is cut off behind its wall: nothing is dug there, and the rest is drawn
    the larger.
    """
    document, scale = plan.document, 1 / plan.site.unit_m
    points = seen_points(plan.site, document, (*plan.digs, *plan.drawn, *(probe.dig for probe in plan.probes)))
    obstacles = obstacle_points(document)
    if document.get("boundary"):
        obstacles = [within(corners, np.array(document["boundary"])) for corners in obstacles]
    points += obstacles
    points += [np.array([[x_m, y_m]]) * scale for _, x_m, y_m in plan.fixed.points]
    every = np.vstack(points) if points else np.array([[0.0, 0.0], [1.0, 1.0]])
    low, high = every.min(axis=0), every.max(axis=0)
    x, y = (float(low[0]), float(high[0])), (float(low[1]), float(high[1]))
    span = max(x[1] - x[0], y[1] - y[0], 1e-6)
    margin = 0.04 * span
    return (x[0] - margin, x[1] + margin), (y[0] - margin - 0.06 * span, y[1] + margin)


def within(corners: npt.NDArray[np.float64], boundary: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return corners drawn in to a little outside a boundary."""
    reach = BEYOND * float(np.ptp(boundary, axis=0).max())
    return np.clip(corners, boundary.min(axis=0) - reach, boundary.max(axis=0) + reach)


def draw_map(ax: Axes, plan: Plan, listed: tuple[Stake, ...], *, labels: bool = True) -> tuple[list[Any], list[str]]:
    """Draw the map; return the handles and words of its legend."""
    x, y = limits(plan)
    unit, scale = plan.units, 1 / plan.site.unit_m
    span = max(x[1] - x[0], y[1] - y[0])
    ax.set(xlim=x, ylim=y, aspect="equal", facecolor=style.PAPER)
    ax.tick_params(labelsize=6, length=2, pad=1.5, color=style.INK)
    ax.spines[:].set_visible(False)
    turned = plan.document.get("frame", {}).get("bearing_deg", 0.0)
    across, up = axis_words(unit, turned)
    ax.set_xlabel(across, fontsize=6, labelpad=1)
    ax.set_ylabel(up, fontsize=6, labelpad=1)
    strip = 0.06 * span
    room = Room(y[0] + strip, fixed_points(plan.document))
    draw_danger(ax, plan.site, plan.document, room)
    draw_ground(ax, {**plan.document, "trees": []})  # trees are drawn below, with their protected roots
    draw_lines(ax, plan.lines, scale)
    draw_sketches(ax, plan.document)
    draw_baselines(ax, plan, scale)
    draw_fixtures(ax, plan.document, quiet=True)
    draw_heads(ax, plan.document, quiet=True)
    draw_station_tests(ax, plan.document)
    draw_probes(ax, plan.document, room, "F")
    draw_stakes(ax, listed, scale)
    draw_trees(ax, plan, scale)
    draw_spots(ax, plan, scale)
    draw_planned(ax, plan, scale)
    if labels:
        label_all(ax, plan, listed, strip, room.taken)
    cover_strip(ax, (x[0], y[0]), x[1] - x[0], strip)
    scale_bar(ax, x[0] + 0.05 * span, y[0] + 0.6 * strip, nice_length(0.3 * (x[1] - x[0])), unit, 0.01 * span)
    north_arrow(ax, x[1] - 0.03 * span, y[0] + 0.5 * strip, 0.75 * strip, turned)
    handles, words = ax.get_legend_handles_labels()
    return list(handles), list(words)


def draw_lines(ax: Axes, lines: pd.DataFrame, scale: float) -> None:
    """Draw likely lines: at each station the band of doubt over the length that it stands for, and its middle."""
    from matplotlib.collections import LineCollection, PolyCollection

    named: set[str] = set()
    for (line, name), part in lines.groupby(["line", "class"], sort=False, observed=True):
        at = part[["x_m", "y_m"]].to_numpy()
        angle = np.radians(part["bearing_deg"].to_numpy())
        along = np.column_stack([np.cos(angle), np.sin(angle)])
        left = np.column_stack([-along[:, 1], along[:, 0]])
        half, wide = 0.5 * part[["span_m"]].to_numpy() * along, part[["half_width_m"]].to_numpy() * left
        corners = np.stack([at - half - wide, at + half - wide, at + half + wide, at - half + wide], axis=1) * scale
        ends = np.stack([at - half, at + half], axis=1) * scale
        colour = style.MARK_COLOURS[str(name)]
        ax.add_collection(
            PolyCollection(list(corners), facecolor=tint(colour, BAND_SHARE), edgecolor="none", zorder=2.6)
        )
        dash = DASHED if name == "lateral" else "solid"
        ax.add_collection(LineCollection(list(ends), colors=colour, linewidths=1.0, linestyles=[dash], zorder=2.7))
        label = f"likely {str(name).replace('_', ' ')} (L), with its band of doubt"
        if label not in named:
            named.add(label)
            ax.plot([], [], color=colour, linewidth=1.2, linestyle=dash, label=label)
        del line


def draw_baselines(ax: Axes, plan: Plan, scale: float) -> None:
    """Draw the lines from fixed point to fixed point, and the points."""
    points = np.array([[x_m, y_m] for _, x_m, y_m in plan.fixed.points]).reshape(-1, 2) * scale
    for k, (a, b, _) in enumerate(plan.fixed.pairs):
        look = {"color": FIXED, "linewidth": 0.8, "linestyle": (0, (8, 2, 2, 2)), "zorder": 5.5}
        ax.plot(*points[[a, b]].T, label="baseline of two fixed points" if k == 0 else None, **look)
    if len(points):
        ax.plot(
            *points.T,
            "+",
            markersize=9,
            markeredgewidth=1.8,
            color=FIXED,
            zorder=8.2,
            label="fixed point to measure from",
        )


def draw_stakes(ax: Axes, listed: tuple[Stake, ...], scale: float) -> None:
    """Draw the stakes that are listed."""
    if listed:
        xs, ys = [stake.x_m * scale for stake in listed], [stake.y_m * scale for stake in listed]
        look = {"markerfacecolor": style.PAPER, "markeredgecolor": style.INK, "markeredgewidth": 0.7, "zorder": 6.8}
        ax.plot(
            xs, ys, "o", markersize=2.8, linestyle="none", label="stake, numbered from the label of its line", **look
        )


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
