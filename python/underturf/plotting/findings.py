"""What was found out, on a plan: probes where they were dug, heads that came up in station tests, lines of old drawings.

Probes are open where no line was met and filled where one was; slits are to scale.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

import numpy as np

from underturf.directions import on_plan, y_azimuth_deg
from underturf.plotting import style
from underturf.plotting.known import draw_met
from underturf.plotting.lettering import Room
from underturf.plotting.names import legend_name
from underturf.plotting.shapes import band
from underturf.plotting.view import in_view, probe_points

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw_probes", "draw_sketches", "draw_station_tests"]

#: Least radius or half width at which a probe is drawn, share of the drawing's side: smaller ones could not be seen.
LEAST = 0.005

#: Above digs, below their labels.
LAYER = 7.5

#: Size of a ring round a head, square points, and how much wider it is each time that the head came up again.
RING, WIDER = 120.0, 70.0

#: Lines of rings: solid, and dashed ones; shapes of rings of valves whose zone has no name.
SHAPES = ("o", "s", "D", "^")
DASHES: tuple[Any, ...] = ("solid", (0, (1.6, 1.2)), (0, (5.0, 1.5)), (0, (4.0, 1.0, 1.0, 1.0)))


def draw_probes(ax: Axes, document: dict[str, Any], room: Room, letter: str = "") -> None:
    """Draw the probes of a document that lie in view; axes have their limits already.

    A clear probe is an open circle, a find a filled diamond with a short bar along the found line where its direction is
    known; a slit is an outline, filled where a line was met, since its place along the slit is not noted. Dangerous lines
    that were met are drawn as such on top: see `underturf.plotting.known.draw_met`, for ``letter`` too.
    """
    least = LEAST * max(np.ptp(ax.get_xlim()), np.ptp(ax.get_ylim()))
    seen = [probe for probe in document.get("probes", []) if in_view(ax, probe_points(probe))]
    discs = [probe for probe in seen if "path" not in probe]
    slits = [probe for probe in seen if "path" in probe]
    draw_clear(ax, [probe for probe in discs if not probe["found"]], least)
    plain = [probe for probe in discs if probe["found"] and probe.get("class") not in style.DANGEROUS]
    draw_finds(ax, plain, least, y_azimuth_deg(document))
    for found in (False, True):
        draw_slits(ax, [probe for probe in slits if probe["found"] == found], least, found=found)
    draw_met(ax, document, room, letter)


def draw_sketches(ax: Axes, document: dict[str, Any]) -> None:
    """Draw the lines of old drawings, dashed, named once for each trust."""
    named: set[str] = set()
    for sketch in document.get("sketches", []):
        xs, ys = zip(*sketch["path"], strict=True)
        label = f"old drawing, trust {sketch['trust']:g}"
        look = {"color": style.SKETCH, "linewidth": 1.6, "linestyle": (0, (6, 2, 1, 2)), "zorder": 3.5}
        ax.plot(xs, ys, label=None if label in named else label, **look)
        named.add(label)


def draw_station_tests(ax: Axes, document: dict[str, Any]) -> None:
    """Draw a ring round each head that came up, in colour and shape of the zone that ran; dashed where its marker is half filled.

    Where a valve box is named instead of a zone, the ring is in ink, each test with a shape and dashes of its own. A head that
    came up again has a wider ring each time.
    """
    heads = {head["id"]: (head["x"], head["y"]) for head in document.get("heads", [])}
    tests = document.get("station_tests", [])
    zones = [str(item["zone"]) for item in (*document.get("heads", []), *tests) if item.get("zone") is not None]
    looks = style.zone_styles(zones)
    again, unnamed = Counter[str](), 0
    for test in tests:
        zone, label, look = test.get("zone"), "", dict[str, Any]()
        if zone is None:
            turn, kind = divmod(unnamed, len(DASHES))
            label, look = f"valve at {legend_name(test['valve'])}", ring(style.INK, SHAPES[turn % len(SHAPES)], kind)
            unnamed += 1
        else:
            mine = looks[str(zone)]
            label, look = f"zone {legend_name(zone)}", ring(mine.colour, mine.marker, 0 if mine.filled == "full" else 1)
        up = test["heads"]
        said = f"came up when {label} ran" if up else f"nothing came up when {label} ran"
        ax.scatter([], [], RING / 2, label=said, **look)
        ax.scatter(
            [heads[head][0] for head in up],
            [heads[head][1] for head in up],
            [RING + WIDER * again[head] for head in up],
            **look,
        )
        again.update(up)


def ring(colour: str, marker: str, kind: int) -> dict[str, Any]:
    """Return how a ring looks: its shape, and its dashes by their number."""
    dashes = DASHES[kind]
    return {
        "facecolors": "none",
        "edgecolors": colour,
        "linewidths": 1.3,
        "linestyles": dashes,
        "marker": marker,
        "zorder": 6.2,
    }


def draw_clear(ax: Axes, probes: list[dict[str, Any]], least: float) -> None:
    """Draw clear probes as open circles, to scale where that can be seen."""
    from matplotlib.patches import Circle

    for probe in probes:
        circle = (probe["x"], probe["y"]), max(probe["radius"], least)
        ax.add_patch(Circle(*circle, facecolor="none", edgecolor=style.PAPER, linewidth=3.0, zorder=LAYER))
        ax.add_patch(Circle(*circle, facecolor="none", edgecolor=style.PROBE, linewidth=1.4, zorder=LAYER))
    if probes:
        look = {"markerfacecolor": style.PAPER, "markeredgecolor": style.PROBE, "markeredgewidth": 1.4}
        ax.plot([], [], "o", markersize=6, label="probe, no line met", **look)


def draw_finds(ax: Axes, probes: list[dict[str, Any]], least: float, turned: float) -> None:
    """Draw finds as filled diamonds, with a bar along the line where its direction is known."""
    look = {"markerfacecolor": style.PROBE, "markeredgecolor": style.PAPER, "markeredgewidth": 0.8, "zorder": LAYER}
    for k, probe in enumerate(probes):
        x, y = probe["x"], probe["y"]
        if "azimuth_deg" in probe:
            half = max(2.0 * probe["radius"], 4 * least)
            dx, dy = (half * on_plan(probe["azimuth_deg"], turned)).tolist()
            ends = [x - dx, x + dx], [y - dy, y + dy]
            ax.plot(*ends, color=style.PAPER, linewidth=3.4, solid_capstyle="butt", zorder=LAYER)
            ax.plot(*ends, color=style.PROBE, linewidth=1.8, solid_capstyle="butt", zorder=LAYER)
        ax.plot(x, y, "D", linestyle="none", markersize=6.5, label="probe, line found" if k == 0 else None, **look)


def draw_slits(ax: Axes, probes: list[dict[str, Any]], least: float, *, found: bool) -> None:
    """Draw slits as outlines, filled where a line was met."""
    from matplotlib.collections import PatchCollection
    from matplotlib.patches import Polygon

    face, label = (style.PROBE, "slit, line found") if found else (style.PAPER, "slit, no line met")
    layers = (
        {"facecolor": "none", "edgecolor": style.PAPER, "linewidth": 3.0},
        {"facecolor": face, "edgecolor": style.PROBE, "linewidth": 1.4},
        {"facecolor": face, "edgecolor": "none"},  # over the edges where bits meet
    )
    for k, probe in enumerate(probes):
        path, half = probe["path"], max(probe["width"] / 2, least)
        bits = [Polygon(band(a, b, half)) for a, b in zip(path, path[1:], strict=False) if a != b]
        for look in layers:
            ax.add_collection(PatchCollection(bits, zorder=LAYER, **look))
        if k == 0:
            ax.fill([], [], label=label, **layers[1])
