"""What a picture must show: the least and greatest x and y of everything known of a site, beyond its boundary too."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf import _core
    from underturf.site import Site

__all__ = [
    "KeepOff",
    "extent",
    "in_view",
    "keep_offs",
    "obstacle_points",
    "probe_points",
    "seen_points",
    "service_points",
    "share",
]

Points = npt.NDArray[np.float64]

#: Lists of a document whose things stand at one point.
STANDING = ("heads", "valve_boxes", "sources", "outlets", "trees", "flags")

#: Drawings of so many inches, root of width times height, have lines and signs at full size; share of it on the smallest.
FULL, LEAST_SHARE = 5.0, 0.7

#: A keep-off strip of flagged metal: its name, its middle line or one point, and half its width. A branching line has several.
KeepOff = tuple[str, list[tuple[float, float]], float]


def keep_offs(site: Site) -> list[KeepOff]:
    """Return the keep-off strips of a site's flagged metal, in the document's unit."""
    scale = 1 / site.unit_m
    return [
        (name, [(x * scale, y * scale) for x, y in path], half * scale)
        for name, paths, half in site._handle.keep_offs()
        for path in paths
    ]


def probe_points(probe: dict[str, Any]) -> list[tuple[float, float]]:
    """Return where a probe is: its centre, or the middle line of a slit."""
    return [(x, y) for x, y in probe.get("path", [(probe.get("x"), probe.get("y"))])]


def service_points(service: dict[str, Any]) -> list[tuple[float, float]]:
    """Return where a service is known to be: its ends, and places that it passes between them."""
    return [(x, y) for x, y in (service["from"], *service.get("path", []), service["to"])]


def obstacle_points(document: dict[str, Any]) -> list[Points]:
    """Return the corners of obstacles."""
    return [np.array(item["outline"], float) for item in document.get("obstacles", [])]


def seen_points(site: Site, document: dict[str, Any], digs: Iterable[_core.Dig] = ()) -> list[Points]:
    """Return the corners of everything but obstacles, in the document's unit: strips, zones and digs with their width."""
    scale = 1 / site.unit_m
    half_zone = site._handle.half_zone_m * scale
    points = [np.array(document.get("boundary", []), float)]
    points += [np.array([[item["x"], item["y"]]]) for key in STANDING for item in document.get(key, [])]
    points += [np.array(probe_points(probe), float) for probe in document.get("probes", [])]
    points += [np.array(sketch["path"], float) for sketch in document.get("sketches", [])]
    points += [np.array(swept["outline"], float) for swept in document.get("swept", [])]
    points += [np.array(service_points(service), float) for service in document.get("services", [])]
    points += [widened(mark["path"], mark.get("half_zone", half_zone)) for mark in document.get("marks", [])]
    points += [widened(path, half) for _, path, half in keep_offs(site)]
    points += [widened(dig.points_m * scale, dig.half_width_m * scale) for dig in digs]
    return [part for part in points if part.size]


def extent(
    site: Site, document: dict[str, Any], digs: Iterable[_core.Dig] = ()
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the least and greatest x and y of everything to be seen, in the document's unit."""
    points = seen_points(site, document, digs) + obstacle_points(document)
    if not points:
        return (0.0, 1.0), (0.0, 1.0)
    every = np.vstack(points)
    low, high = every.min(axis=0), every.max(axis=0)
    # One head alone has no extent; a metre of ground is shown about it.
    bare = 0.5 / site.unit_m if not np.any(high > low) else 0.0
    return (float(low[0] - bare), float(high[0] + bare)), (float(low[1] - bare), float(high[1] + bare))


def widened(path: Any, half: float) -> Points:
    """Return two corners of the box round a strip."""
    points = np.asarray(path, float).reshape(-1, 2)
    return np.array([points.min(axis=0) - half, points.max(axis=0) + half])


def in_view(ax: Axes, points: Sequence[Sequence[float]], half: float = 0.0) -> bool:
    """Whether some of the box round a strip lies within the limits of the axes."""
    (x0, y0), (x1, y1) = widened(points, half)
    (left, right), (low, high) = sorted(ax.get_xlim()), sorted(ax.get_ylim())
    return bool(x0 < right and x1 > left and y0 < high and y1 > low)


def share(ax: Axes) -> float:
    """Return by how much lines and signs are smaller on small drawings, so that a line does not fill its tolerance zone."""
    box = ax.get_window_extent()
    return float(np.clip((box.width * box.height) ** 0.5 / ax.figure.dpi / FULL, LEAST_SHARE, 1.0))
