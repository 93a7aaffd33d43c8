"""What can be seen on the ground, drawn from the document: edges, obstacles, heads, boxes, outlets, marks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from underturf.plotting import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw_fixtures", "draw_ground", "draw_heads", "draw_marks", "extent", "probe_points"]

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


def extent(document: dict[str, Any]) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the least and greatest x and y of everything to be seen."""
    points = [tuple(point) for point in document.get("boundary", [])]
    points += [tuple(point) for item in document.get("obstacles", []) for point in item["outline"]]
    for key in ("heads", "valve_boxes", "sources", "outlets"):
        points += [(item["x"], item["y"]) for item in document.get(key, [])]
    points += [point for probe in document.get("probes", []) for point in probe_points(probe)]
    points += [tuple(point) for sketch in document.get("sketches", []) for point in sketch["path"]]
    if not points:
        return (0.0, 1.0), (0.0, 1.0)
    xs, ys = zip(*points, strict=True)
    return (min(xs), max(xs)), (min(ys), max(ys))


def probe_points(probe: dict[str, Any]) -> list[tuple[float, float]]:
    """Return where a probe is: its centre, or the middle line of a slit."""
    return [(x, y) for x, y in probe.get("path", [(probe.get("x"), probe.get("y"))])]


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


def draw_marks(ax: Axes, document: dict[str, Any], half_zone: float) -> None:
    """Draw utility marks in the colours of their paint, each with its tolerance zone, and the zones of utilities that probes met.

    ``half_zone``, in the document's unit, is for marks that name none.
    """
    from matplotlib.collections import PatchCollection
    from matplotlib.patches import Circle, Polygon

    named: set[str] = set()
    for mark in document.get("marks", []):
        colour = style.MARK_COLOURS[mark["class"]]
        half = mark.get("half_zone", half_zone)
        path = mark["path"]
        zone = [Polygon(band(a, b, half)) for a, b in zip(path, path[1:], strict=False) if a != b]
        zone += [Circle(tuple(point), half) for point in path]
        ax.add_collection(PatchCollection(zone, facecolor=tint(colour), edgecolor="none", zorder=1.5))
        xs, ys = zip(*path, strict=True)
        label = f"mark: {mark['class'].replace('_', ' ')}, with tolerance zone"
        ax.plot(
            xs,
            ys,
            color=colour,
            linewidth=2.2,
            linestyle=(0, (5, 1.5)),
            zorder=4,
            label=None if label in named else label,
        )
        named.add(label)
    for probe in document.get("probes", []):
        if probe["found"] and probe.get("class") in style.UTILITIES:
            path = probe.get("path", [[probe.get("x"), probe.get("y")]])
            zone = [Polygon(band(a, b, half_zone)) for a, b in zip(path, path[1:], strict=False) if a != b]
            zone += [Circle(tuple(point), half_zone) for point in path]
            faint = tint(style.MARK_COLOURS[probe["class"]])
            ax.add_collection(PatchCollection(zone, facecolor=faint, edgecolor="none", zorder=1.5))


def band(a: list[float], b: list[float], half: float) -> list[tuple[float, float]]:
    """Return the corners of the band about one straight bit."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    norm = (dx * dx + dy * dy) ** 0.5
    nx, ny = -dy / norm * half, dx / norm * half
    return [(a[0] + nx, a[1] + ny), (b[0] + nx, b[1] + ny), (b[0] - nx, b[1] - ny), (a[0] - nx, a[1] - ny)]


def tint(colour: str, share: float = 0.22) -> tuple[float, ...]:
    """Mix a colour with paper, opaque, so that the parts of a zone do not darken each other."""
    from matplotlib.colors import to_rgb

    return tuple(1 - share * (1 - channel) for channel in to_rgb(colour))


def draw_heads(ax: Axes, document: dict[str, Any], *, quiet: bool = False) -> None:
    """Draw heads by zone: each zone its colour and its marker; heads without a zone are hollow."""
    heads = document.get("heads", [])
    looks = style.zone_styles([str(head["zone"]) for head in heads if head.get("zone") is not None])
    size, edge = (16, 0.6) if quiet else (34, 0.8)
    for zone, look in looks.items():
        here = [head for head in heads if str(head.get("zone")) == zone]
        xs, ys = [head["x"] for head in here], [head["y"] for head in here]
        ax.scatter(
            xs,
            ys,
            size,
            look.colour,
            marker=look.marker,
            edgecolors=style.PAPER,
            linewidths=edge,
            zorder=6,
            label=f"heads of zone {zone}",
        )
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
