"""The map of the sheet: spots and probes by number, likely lines as bands of doubt, shut-offs, fixed points, tolerance zones."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from underturf.plotting import style
from underturf.plotting.digs import footprint, label_points
from underturf.plotting.findings import draw_probes, draw_sketches, draw_station_tests
from underturf.plotting.furniture import cover_strip, nice_length, north_arrow, scale_bar
from underturf.plotting.ground import draw_fixtures, draw_ground, draw_heads, draw_marks, extent, tint

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from underturf.crew.plan import Plan, Stake

__all__ = ["draw_map", "limits"]

#: Patches of the bands: tint of the class's colour, and of its line. Laterals and mainline share the colour of the public
#: code, so the middle of laterals is dashed and that of lines under pressure is not.
BAND_SHARE = 0.3
DASHED = (0, (4, 2))

#: Colours of the sheet that the plan does not have.
FIXED = "#000000"


def limits(plan: Plan) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the least and greatest x and y that the map shows, in the document's unit, with margins."""
    x, y = extent(plan.document)
    scale = 1 / plan.site.unit_m
    points = [dig.points_m * scale for dig in (*plan.digs, *(probe.dig for probe in plan.probes))]
    points += [np.array([[x_m, y_m]]) * scale for _, x_m, y_m in plan.fixed.points]
    points += [np.array([mark_point]) for mark in plan.document.get("marks", []) for mark_point in mark["path"]]
    if points:
        every = np.vstack([*points, [[x[0], y[0]], [x[1], y[1]]]] if has_extent(plan.document) else points)
        low, high = every.min(axis=0), every.max(axis=0)
        x, y = (float(low[0]), float(high[0])), (float(low[1]), float(high[1]))
    span = max(x[1] - x[0], y[1] - y[0], 1e-6)
    margin = 0.04 * span
    return (x[0] - margin, x[1] + margin), (y[0] - margin - 0.06 * span, y[1] + margin)


def has_extent(document: dict[str, Any]) -> bool:
    """Whether the document shows anything with a place."""
    keys = ("boundary", "obstacles", "heads", "valve_boxes", "sources", "outlets", "probes", "sketches")
    return any(document.get(key) for key in keys)


def draw_map(ax: Axes, plan: Plan, listed: tuple[Stake, ...], *, labels: bool = True) -> tuple[list[Any], list[str]]:
    """Draw the map; return the handles and words of its legend."""
    x, y = limits(plan)
    unit, scale = plan.units, 1 / plan.site.unit_m
    span = max(x[1] - x[0], y[1] - y[0])
    ax.set(xlim=x, ylim=y, aspect="equal", facecolor=style.PAPER)
    ax.tick_params(labelsize=6, length=2, pad=1.5, color=style.INK)
    ax.spines[:].set_visible(False)
    turned = plan.document.get("frame", {}).get("bearing_deg", 0.0)
    ax.set_ylabel(f"{unit} north" if turned == 0 else f"{unit} up the plan", fontsize=6, labelpad=1)
    ax.set_xlabel(f"{unit} east" if turned == 0 else f"{unit} along the plan", fontsize=6, labelpad=1)
    draw_ground(ax, plan.document)
    draw_marks(ax, plan.document, plan.site._handle.half_zone_m * scale)
    draw_services(ax, plan.document)
    draw_lines(ax, plan.lines, scale)
    draw_sketches(ax, plan.document)
    draw_baselines(ax, plan, scale)
    draw_fixtures(ax, plan.document, quiet=True)
    draw_heads(ax, plan.document, quiet=True)
    draw_station_tests(ax, plan.document)
    draw_flags(ax, plan.document)
    draw_probes(ax, plan.document)
    draw_stakes(ax, listed, scale)
    draw_spots(ax, plan, scale)
    draw_planned(ax, plan, scale)
    if labels:
        label_all(ax, plan, listed, scale)
    strip = 0.06 * span
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


def draw_services(ax: Axes, document: dict[str, Any]) -> None:
    """Draw services between their known ends; nobody knows their course."""
    named: set[str] = set()
    for service in document.get("services", []):
        label = f"{service['class'].replace('_', ' ')} service, course not known"
        (x0, y0), (x1, y1) = service["from"], service["to"]
        look = {
            "color": style.MARK_COLOURS[service["class"]],
            "linewidth": 1.2,
            "linestyle": (0, (1, 1.5)),
            "zorder": 3.8,
        }
        ax.plot([x0, x1], [y0, y1], marker="o", markersize=3, label=None if label in named else label, **look)
        named.add(label)


def draw_flags(ax: Axes, document: dict[str, Any]) -> None:
    """Draw detector flags, joined where they were traced along one line."""
    flags = document.get("flags", [])
    if not flags:
        return
    lines: dict[str, list[tuple[float, float]]] = {}
    for flag in flags:
        if flag.get("line") is not None:
            lines.setdefault(str(flag["line"]), []).append((flag["x"], flag["y"]))
    for points in lines.values():
        xs, ys = zip(*points, strict=True)
        ax.plot(xs, ys, color=style.INK, linewidth=0.8, linestyle=":", zorder=5)
    look = {"color": style.INK, "linestyle": "none", "marker": (3, 0, 0), "markersize": 4, "zorder": 6}
    ax.plot([flag["x"] for flag in flags], [flag["y"] for flag in flags], label="detector flag", **look)


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
    """Draw the spots to scale."""
    from matplotlib.collections import PatchCollection

    edge = 0.0025 * max(np.ptp(ax.get_xlim()), np.ptp(ax.get_ylim()))
    for dig in plan.digs:
        looks = {"facecolor": style.DIG, "edgecolor": style.DIG if dig.kind == "pit" else "none"}
        ax.add_collection(PatchCollection(footprint(dig, scale, grow=edge), linewidth=1.2, zorder=7, **looks))
        ax.add_collection(PatchCollection(footprint(dig, scale), facecolor="#ffd9d9", edgecolor="none", zorder=7.1))
    if plan.digs:
        ax.plot([], [], "o", color=style.DIG, markerfacecolor="#ffd9d9", label="spot, to scale, by number")


def draw_planned(ax: Axes, plan: Plan, scale: float) -> None:
    """Draw the planned probes."""
    for k, probe in enumerate(plan.probes):
        middle = probe.dig.points_m.mean(axis=0) * scale
        look = {"markerfacecolor": style.PAPER, "markeredgecolor": style.PROBE, "markeredgewidth": 1.6, "zorder": 7.4}
        ax.plot(
            *middle, "h", markersize=7, linestyle="none", label="probe to dig (P), in order" if k == 0 else None, **look
        )


def label_all(ax: Axes, plan: Plan, listed: tuple[Stake, ...], scale: float) -> None:
    """Write every number and letter where it covers nothing."""
    document = plan.document
    keys = ("heads", "valve_boxes", "sources", "outlets")
    avoid = [(item["x"], item["y"]) for key in keys for item in document.get(key, [])]
    avoid += [(stake.x_m * scale, stake.y_m * scale) for stake in listed]
    points, words, colours, radii = [], [], [], []

    def add(x: float, y: float, text: str, colour: str, radius: float = 0.0) -> None:
        points.append(np.array([x, y]))
        words.append(text)
        colours.append(colour)
        radii.append(radius)

    for k, dig in enumerate(plan.digs):
        middle = dig.points_m.mean(axis=0) * scale
        radius = (float(np.ptp(dig.points_m, axis=0).min()) / 2 + dig.half_width_m) * scale
        add(*middle, str(k + 1), style.DIG, radius)
    for k, (_, x_m, y_m) in enumerate(plan.fixed.points):
        add(x_m * scale, y_m * scale, plan.fixed.letter(k), FIXED)
    for probe in plan.probes:
        add(*(probe.dig.points_m.mean(axis=0) * scale), probe.label, style.PROBE)
    for shut in plan.shut_offs:
        add(shut.x, shut.y, shut.label, "#1769c4")
    told = {stake.line for stake in listed}
    for line, part in plan.lines.groupby("line", sort=False):
        if line not in told:
            continue
        first = part.iloc[0]
        angle = math.radians(first["bearing_deg"])
        way = np.array([math.cos(angle), math.sin(angle)]) * 0.25 * first["span_m"]
        back = way if len(part) == 1 else way * np.sign(way @ (part.iloc[1][["x_m", "y_m"]] - first[["x_m", "y_m"]]))
        add(
            *((first[["x_m", "y_m"]].to_numpy(float) - back) * scale),
            "L" + str(line),
            style.MARK_COLOURS[first["class"]],
        )
    label_points(ax, points, words, avoid, radii, 6.5, colours)
