"""The map of the sheet: spots and probes by number, likely lines as bands of doubt, shut-offs, fixed points, tolerance zones."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from underturf.crew.drawing.labels import FIXED, SIZE, Unlabelled, label_all
from underturf.crew.drawing.legend import add_ground_keys
from underturf.crew.drawing.lines import draw_lines
from underturf.crew.drawing.spots import draw_planned, draw_spots, draw_trees
from underturf.crew.drawing.view import View, view_of
from underturf.crew.drawing.zones import draw_heads, looks_of, zones_of
from underturf.plotting import style
from underturf.plotting.findings import draw_probes, draw_sketches, draw_station_tests
from underturf.plotting.furniture import axis_words, cover_strip, nice_length, north_arrow, scale_bar
from underturf.plotting.ground import draw_fixtures, draw_ground
from underturf.plotting.lettering import Room
from underturf.plotting.site_plan import draw_danger, fixed_points

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.crew.plan import Plan, Stake

__all__ = ["draw_map"]

#: Height of the scale bar, share of its strip.
BAR = 0.17

#: Frames of detail maps on the whole map, whose names are labels.
FRAME = {"facecolor": "none", "edgecolor": style.INK, "linewidth": 1.1, "linestyle": (0, (7, 3)), "zorder": 8.3}


def draw_map(
    ax: Axes, plan: Plan, listed: tuple[Stake, ...], view: View | None = None, *, labels: bool = True
) -> tuple[list[Any], list[str], Unlabelled]:
    """Draw the map; return the handles and words of its legend, and how many heads and stakes have no label.

    ``view``: the part that is shown, and the frames of detail maps; the whole site if not given.
    """
    view = view_of(plan) if view is None else view
    (x, y), span, strip = (view.x, view.y), view.span, view.strip
    unit, scale = plan.units, 1 / plan.site.unit_m
    ax.set(xlim=x, ylim=y, aspect="equal", facecolor=style.PAPER)
    ax.tick_params(labelsize=SIZE, length=2, pad=1.5, color=style.INK)
    ax.spines[:].set(color=style.FAINT, linewidth=0.6, zorder=8.6)
    turned = plan.y_azimuth_deg
    across, up = axis_words(unit, turned)
    ax.set_xlabel(across, fontsize=SIZE, labelpad=1)
    ax.set_ylabel(up, fontsize=SIZE, labelpad=1)
    with_lines = {line.zone for line in plan.likely if line.of == "lateral"}
    looks = looks_of(zones_of(plan.document, with_lines))
    room = Room(y[0] + strip, fixed_points(plan.document))
    draw_danger(ax, plan.site, plan.document, room, plan.metal, numbered=False)  # they have labels
    draw_ground(ax, {**plan.document, "trees": []})  # trees are drawn below, with their protected roots
    draw_lines(ax, plan, view, looks)
    draw_sketches(ax, plan.document)
    draw_baselines(ax, plan, scale)
    draw_fixtures(ax, plan.document, quiet=True)
    draw_heads(ax, plan.document, looks, with_lines)
    draw_station_tests(ax, plan.document)
    draw_probes(ax, plan.document, room, "F")
    draw_stakes(ax, listed, scale, view)
    draw_trees(ax, plan, scale)
    draw_spots(ax, plan, scale)
    draw_planned(ax, plan, scale)
    add_ground_keys(ax, plan.document)
    draw_frames(ax, view)
    left_out = label_all(ax, plan, listed, view, room.taken) if labels else {}
    cover_strip(ax, (x[0], y[0]), x[1] - x[0], strip)
    scale_bar(ax, x[0] + 0.05 * span, y[0] + 0.6 * strip, nice_length(0.3 * (x[1] - x[0])), unit, BAR * strip)
    north_arrow(ax, x[1] - 0.35 * strip, y[0] + 0.5 * strip, 0.75 * strip, turned)
    handles, words = ax.get_legend_handles_labels()
    return list(handles), list(words), left_out


def draw_frames(ax: Axes, view: View) -> None:
    """Draw the frames of detail maps."""
    from matplotlib.patches import Rectangle

    for window in view.windows:
        if window.whole:
            continue
        (left, right), (low, high) = window.x, window.y
        low = max(low, view.y[0] + view.strip)
        ax.add_patch(Rectangle((left, low), right - left, high - low, **FRAME))


def draw_baselines(ax: Axes, plan: Plan, scale: float) -> None:
    """Draw the lines from fixed point to fixed point, and the points."""
    points = np.array([[x_m, y_m] for _, x_m, y_m in plan.fixed.points]).reshape(-1, 2) * scale
    for k, (a, b, _) in enumerate(plan.fixed.pairs):
        look = {"color": FIXED, "linewidth": 0.5, "linestyle": (0, (8, 2, 2, 2)), "zorder": 5.5}
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


def draw_stakes(ax: Axes, listed: tuple[Stake, ...], scale: float, view: View) -> None:
    """Draw the stakes that are listed, those of detail maps only there: black dots, smaller than any head."""
    if listed:
        points = [(stake.x_m * scale, stake.y_m * scale) for stake in listed]
        shown = [point for point in points if view.names(point)]
        xs, ys = [x for x, _ in shown], [y for _, y in shown]
        look = {"markerfacecolor": style.INK, "markeredgecolor": style.PAPER, "markeredgewidth": 0.5, "zorder": 6.8}
        ax.plot(xs, ys, "o", markersize=3.6, linestyle="none", label="stake; 2.3 is stake L2.3 in the list", **look)
