"""What is seen on the ground and what is known of it, in metres: edges, obstacles, heads, finds, marks, strips to keep off."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING, Any

from underturf.plotting.style import UTILITIES, zone_styles
from underturf.plotting.view import keep_offs, probe_points, service_points

if TYPE_CHECKING:
    from underturf.site import Site

__all__ = ["ground_of", "known_of"]

#: Kinds of fixtures whose list in the document is not their name.
BOX = "valve box"


def ground_of(site: Site, document: dict[str, Any]) -> dict[str, Any]:
    """Return what is seen on the ground."""
    unit = site.unit_m
    heads = document.get("heads", [])
    zones = list(zone_styles([str(head["zone"]) for head in heads if head.get("zone") is not None]))
    boxes = [{**box, "kind": BOX} for box in document.get("valve_boxes", [])]
    fixtures = [*boxes, *document.get("sources", []), *document.get("outlets", [])]
    return {
        "boundary": path_m(document["boundary"], unit) if document.get("boundary") else None,
        "obstacles": [
            {"kind": item["kind"], "outline": path_m(item["outline"], unit)} for item in document.get("obstacles", [])
        ],
        "trees": [
            {**place_m(tree, unit), "radius": metres(tree["stem_diameter"] / 2, unit)}
            for tree in document.get("trees", [])
        ],
        "zones": zones,
        "heads": [
            {"id": head["id"], **place_m(head, unit), "zone": None if head.get("zone") is None else str(head["zone"])}
            for head in heads
        ],
        "fixtures": [
            {"id": item["id"], "kind": item["kind"], "zones": item.get("zones", []), **place_m(item, unit)}
            for item in fixtures
        ],
        "probes": [
            {
                "points": path_m(probe_points(probe), unit),
                "radius": metres(probe.get("radius", probe.get("width", 0.0) / 2), unit),
                "found": bool(probe["found"]),
                "class": probe.get("class"),
            }
            for probe in document.get("probes", [])
        ],
        "flags": [{**place_m(flag, unit), "line": flag.get("line")} for flag in document.get("flags", [])],
        "swept": [path_m(swept["outline"], unit) for swept in document.get("swept", [])],
        "sketches": [path_m(sketch["path"], unit) for sketch in document.get("sketches", [])],
    }


def known_of(site: Site, document: dict[str, Any], joined: Collection[int] = ()) -> dict[str, Any]:
    """Return marks, services and strips along flagged metal; a utility that a probe met is a mark.

    ``joined``: services, by number from 0, that are part of a metal line whose course is drawn: only their ends are.
    """
    unit, half_m = site.unit_m, site._handle.half_zone_m
    marks = [
        {
            "class": mark["class"],
            "path": path_m(mark["path"], unit),
            "half_zone_m": half_m if "half_zone" not in mark else metres(mark["half_zone"], unit),
            "met": False,
        }
        for mark in document.get("marks", [])
    ]
    marks += [
        {"class": probe["class"], "path": path_m(probe_points(probe), unit), "half_zone_m": half_m, "met": True}
        for probe in document.get("probes", [])
        if probe["found"] and probe.get("class") in UTILITIES
    ]
    services = [
        {"class": service["class"], "path": path_m(service_points(service), unit), "joined": k in joined}
        for k, service in enumerate(document.get("services", []))
    ]
    strips = [
        {"name": name, "path": path_m(path, unit), "half_m": metres(half, unit)} for name, path, half in keep_offs(site)
    ]
    return {"marks": marks, "services": services, "strips": strips}


def metres(length: float, unit_m: float) -> float:
    """Return a length of the document in metres, to a tenth of a millimetre."""
    return round(length * unit_m, 4)


def path_m(path: Any, unit_m: float) -> list[list[float]]:
    """Return points of the document in metres."""
    return [[metres(x, unit_m), metres(y, unit_m)] for x, y in path]


def place_m(item: dict[str, Any], unit_m: float) -> dict[str, float]:
    """Return where a thing of the document stands, in metres."""
    return {"x": metres(item["x"], unit_m), "y": metres(item["y"], unit_m)}
