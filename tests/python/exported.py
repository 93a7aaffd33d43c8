"""What the tests of exports share: invented sites with a frame, one thing of each kind, and an independent way to Earth."""

from __future__ import annotations

import functools
import math

import numpy as np
import pandas as pd
from unlabelled import few_heads

import underturf as ut

#: A frame south of the equator and west of Greenwich, turned.
FRAME = {"lon": -58.4, "lat": -34.6, "azimuth_deg": 25.0}

#: A name with every sign that some format reads as something else, and one that is long.
NASTY = "a,b;\"c\" 'd' $5 & $6 <b> #1 {x} \\P ^J 100%%d ü 漢 \t end"
LONG = "long name " * 20

#: Signs and holes of every shape; everything about it is invented.
YARD = {
    "format": "underturf-site/2",
    "units": "ft",
    "name": f"Yard (invented)\n{NASTY}",
    "date": "2026-06-01",
    "boundary": [[0, 0], [60, 0], [60, 40], [0, 40]],
    "heads": [
        {"id": NASTY, "x": 2, "y": 2, "kind": "spray", "zone": "1", "radius": 15},
        {"id": LONG, "x": 17, "y": "2 ft", "kind": "spray", "zone": "1"},
        {"id": "h3", "x": 32, "y": 2, "kind": "spray", "zone": "1"},
        {"id": "h4", "x": 2, "y": 17, "kind": "spray", "zone": "$2"},
        {"id": "h5", "x": 17, "y": 17, "kind": "spray", "zone": "$2"},
    ],
    "valve_boxes": [{"id": "box", "x": 38, "y": 17, "zones": ["1", "$2"]}],
    "sources": [{"id": "meter", "x": 58, "y": 1, "kind": "meter"}],
    "outlets": [{"id": "tap", "x": 45, "y": 24, "kind": "hose_bib"}],
    "obstacles": [
        {"kind": "building", "outline": [[46, 20], [58, 20], [58, 38], [46, 38]]},
        {"kind": "bed", "outline": [[1, 33], [9, 33], [9, 39], [1, 39]]},
    ],
    "trees": [{"x": 5, "y": 36, "stem_diameter": "10 in"}],
    "station_tests": [{"zone": "1", "heads": ["h3"]}],
    "probes": [
        {"x": 30, "y": 30, "radius": 0.5, "depth": 2, "found": False},
        {"path": [[12, 28], [14, 30]], "width": 0.4, "depth": 1.5, "found": False, "tool": "slit"},
    ],
    "swept": [{"outline": [[20, 30], [28, 30], [28, 38], [20, 38]]}],
    "marks": [{"class": "gas", "path": [[52, 0], [52, 10], [50, 20]], "sd": 0.5, "quality": "B", "half_zone": 3}],
    "services": [{"class": "communication", "from": [60, 8], "path": [[55, 9]], "to": [50, 20]}],
    "sketches": [{"path": [[2, 2], [32, 2]], "trust": 0.6}],
    "digs": [
        {"id": "maple", "x": 10, "y": 8, "radius": 1.5, "depth": 1.3, "tree": {"size": "large", "caliper": "3 in"}},
        {"id": NASTY[:20], "path": [[20, 10], [26, 10], [26, 14]], "width": 0.5, "depth": 2, "method": "machine"},
        {"id": "pit", "outline": [[30, 8], [34, 8], [34, 12], [30, 11]], "depth": 1.5},
        {"id": "post", "x": 51, "y": 6, "radius": 0.4, "depth": 2.5},
    ],
}

#: A row of flags that stops half way across the lawn, and a hole where the line may or may not go on.
FLAGGED = {
    "format": "underturf-site/2",
    "units": "m",
    "frame": FRAME,
    "boundary": [[0, 0], [16, 0], [16, 8], [0, 8]],
    "flags": [{"x": 1.0 + 1.2 * k, "y": 2.5 + 0.03 * (k % 3), "class": "mainline"} for k in range(4)],
    "digs": [{"id": "oak", "x": 9.5, "y": 2.6, "radius": 0.6, "depth": 0.9}],
}


@functools.cache
def yard(framed: bool = True) -> ut.Site:
    """The yard, in feet."""
    return ut.Site.from_dict({**YARD, "frame": FRAME} if framed else YARD)


@functools.cache
def layouts() -> ut.Layouts:
    """Layouts of the yard."""
    return ut.sample_layouts(yard(), draws=50, seed=7)


@functools.cache
def flagged() -> ut.Layouts:
    """Layouts of the row of flags."""
    return ut.sample_layouts(ut.Site.from_dict(FLAGGED), draws=60, seed=3)


@functools.cache
def thing(kind: str):
    """One thing of each kind that is exported."""
    if kind == "ValvePlan":
        few = few_heads(ut.read_site(ut.example("unlabelled")))
        return ut.sample_layouts(
            ut.Site.from_dict({**few.to_dict(), "frame": FRAME}), draws=60, seed=3
        ).plan_station_tests()
    spread = ut.SpotOptions(spacing_m=2.0, cell_m=0.5)
    always = ut.ProbeOptions(always=True, cell_m=0.5)
    return {
        "Site": yard,
        "Layouts": layouts,
        "StrikeMap": lambda: layouts().strike_map(radius_m=0.3, depth_m=0.4, cell_m=0.5),
        "Assessment": lambda: layouts().assess(),
        "Ranking": lambda: layouts().rank(),
        "Spots": lambda: layouts().best_spots(tree=[ut.Tree("small", caliper_m=0.0254), None], depth_m=[None, 0.4],
                                              radius_m=[None, 0.3], options=spread),
        "ProbePlan": lambda: layouts().plan_probes("maple", n=2, options=always),
        "SweepPlan": lambda: flagged().plan_sweeps(),
        "Sensitivity": lambda: layouts().sensitivity(
            options=ut.SensitivityOptions(settings=["unmapped_density_per_m"], draws=50, replicates=2)
        ),
        "MetalLines": lambda: flagged().metal_lines(),
    }[kind]()  # fmt: skip


def on_earth(xy, frame=FRAME):
    """Longitude and latitude of places of a site: along the geodesic from its origin, by another algorithm than a projection.

    Karney (2013), Algorithms for geodesics, J. Geodesy 87, 43-55, as `pyproj.Geod` has it.
    """
    from pyproj import Geod

    x, y = np.asarray(xy, float).reshape(-1, 2).T
    azimuth = frame.get("azimuth_deg", 0.0) + np.degrees(np.arctan2(x, y))
    start = np.full_like(x, frame["lon"]), np.full_like(x, frame["lat"])
    lon, lat, _ = Geod(ellps="WGS84").fwd(*start, azimuth, np.hypot(x, y))
    return np.column_stack([lon, lat])


def apart_m(one, other):
    """Greatest distance between places on Earth, metres."""
    from pyproj import Geod

    (a, b), (c, d) = np.asarray(one, float).reshape(-1, 2).T, np.asarray(other, float).reshape(-1, 2).T
    return float(np.abs(Geod(ellps="WGS84").inv(a, b, c, d)[2]).max(initial=0.0))


def same(cell, other) -> bool:
    """Whether two cells say the same; nothing known is the same as nothing known."""
    none = [
        value is None or value is pd.NA or value == "" or (isinstance(value, float) and math.isnan(value))
        for value in (cell, other)
    ]
    if any(none):
        return all(none)
    if isinstance(cell, bool | np.bool_) or isinstance(other, bool | np.bool_):
        return bool(cell) == bool(other)
    if isinstance(cell, int | float | np.number) and isinstance(other, int | float | np.number):
        return float(cell) == float(other)
    return str(cell) == str(other)
