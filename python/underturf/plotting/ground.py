"""What can be seen on the ground, drawn from the document: edges, obstacles, trees, heads, boxes, outlets."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from underturf.plotting import style
from underturf.plotting.names import legend_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw_fixtures", "draw_ground", "draw_heads"]

OBSTACLES: dict[str, dict[str, Any]] = {
    "building": {"facecolor": style.BUILDING, "edgecolor": style.INK, "hatch": "////", "linewidth": 1.0},
    "paving": {"facecolor": style.PAVING, "edgecolor": style.FAINT, "linewidth": 0.7},
    "pool": {"facecolor": style.POOL, "edgecolor": style.INK, "hatch": "~", "linewidth": 0.8},
    "bed": {"facecolor": style.BED, "edgecolor": style.FAINT, "linewidth": 0.7, "linestyle": (0, (2, 2))},
}

FIXTURES: dict[str, tuple[str, str]] = {
    "valve box": ("s", "valve box"),
    "meter": ("P", "meter"),
    "backflow": ("P", "backflow assembly"),
    "pump": ("P", "pump"),
    "stub": ("P", "stub-out"),
    "hose_bib": ("<", "hose bib"),
    "yard_hydrant": (">", "yard hydrant"),
    "quick_coupler": ("d", "quick coupler"),
}


def draw_ground(ax: Axes, document: dict[str, Any], *, lawn: bool = True) -> None:
    """Draw boundary, obstacles and trees; without the lawn, ground that can be dug stays see-through for the map below."""
    from matplotlib.patches import Circle, Polygon

    boundary = document.get("boundary")
    if boundary:
        fill = style.GRASS if lawn else "none"
        ax.add_patch(Polygon(boundary, facecolor=fill, edgecolor="none", zorder=0))
        ax.add_patch(Polygon(boundary, facecolor="none", edgecolor=style.INK, linewidth=1.2, zorder=2.2))
    for item in document.get("obstacles", []):
        with_hatch = dict(OBSTACLES[item["kind"]])
        hatch = with_hatch.pop("hatch", None)
        if not lawn and item["kind"] in ("paving", "bed"):
            with_hatch["facecolor"] = "none"
        ax.add_patch(Polygon(item["outline"], zorder=2.0 if hatch else 1.9, **with_hatch))
        if hatch:
            overlay = {"facecolor": "none", "edgecolor": style.FAINT, "linewidth": 0, "hatch": hatch}
            ax.add_patch(Polygon(item["outline"], zorder=2.05, **overlay))
    for tree in document.get("trees", []):
        radius = max(tree["stem_diameter"] / 2, 1e-9)
        ax.add_patch(
            Circle(
                (tree["x"], tree["y"]),
                4 * radius,
                facecolor="none",
                edgecolor="#5a7d3a",
                linestyle=":",
                zorder=2.1,
            )
        )
        ax.add_patch(Circle((tree["x"], tree["y"]), radius, facecolor="#5a7d3a", edgecolor="none", zorder=2.1))


def draw_heads(ax: Axes, document: dict[str, Any], *, quiet: bool = False) -> None:
    """Draw heads by zone: each zone its colour and its marker; heads without a zone are hollow."""
    heads = document.get("heads", [])
    looks = style.zone_styles([str(head["zone"]) for head in heads if head.get("zone") is not None])
    size, edge = (16, 0.6) if quiet else (34, 0.8)
    for zone, look in looks.items():
        here = [head for head in heads if str(head.get("zone")) == zone]
        xs, ys = [head["x"] for head in here], [head["y"] for head in here]
        marks = {**look.marks, "markeredgecolor": style.PAPER if look.filled == "full" else look.colour}
        marks |= {"linestyle": "none", "markersize": size**0.5, "markeredgewidth": edge}
        ax.plot(xs, ys, zorder=6, label=f"heads of zone {legend_name(zone)}", **marks)
    bare = [head for head in heads if head.get("zone") is None]
    if bare:
        xs, ys = [head["x"] for head in bare], [head["y"] for head in bare]
        ax.scatter(
            xs,
            ys,
            size,
            style.PAPER,
            marker="o",
            edgecolors=style.INK,
            linewidths=1,
            zorder=6,
            label="heads, zone unknown",
        )


def draw_fixtures(ax: Axes, document: dict[str, Any], *, quiet: bool = False) -> None:
    """Draw valve boxes, sources and outlets in ink, each kind its own marker."""
    found: dict[str, list[dict[str, Any]]] = {}
    found["valve box"] = document.get("valve_boxes", [])
    for item in (*document.get("sources", []), *document.get("outlets", [])):
        found.setdefault(item["kind"], []).append(item)
    for kind, items in found.items():
        if not items:
            continue
        marker, label = FIXTURES[kind]
        face = style.PAPER if kind == "valve box" else style.INK
        xs, ys = [item["x"] for item in items], [item["y"] for item in items]
        ax.scatter(
            xs,
            ys,
            30 if quiet else 60,
            face,
            marker=marker,
            edgecolors=style.INK,
            linewidths=1.3,
            zorder=6.5,
            label=label,
        )
