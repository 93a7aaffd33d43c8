"""``underturf map``: the chance of a strike everywhere, or of one dig moved about."""

from __future__ import annotations

from typing import Any

import numpy as np

import underturf as ut
from underturf.cautions import NOT_CONVERGED
from underturf.commands.answers import Answer, about, say
from underturf.commands.given import RULES, SAMPLING, SITE, Given, command, length_option, option, out_option
from underturf.commands.pictures import PICTURES, picture
from underturf.commands.reading import read_document, typed
from underturf.commands.sampling import rules, running, sampled
from underturf.commands.writing import target

__all__ = ["strike_map"]

OPTIONS = (
    length_option("--radius", "0.3m", "Radius of the hole."),
    length_option("--depth", "0.4m", "Depth of the hole."),
    length_option("--cell", "0.1m", "Side of a cell."),
    option(
        "--class", "classes", multiple=True, metavar="CLASS", help="Count only this class; may be given several times."
    ),
    option("--dig", metavar="ID", help="Map this dig of the site, moved, instead of a hole everywhere."),
    length_option("--reach", "1.5m", "How far to move it."),
    *out_option("Picture, .png, .pdf or .svg (default: strike-map.png, and none with --json);"),
)


@command("map", SITE, OPTIONS, RULES, SAMPLING)
def strike_map(given: Given) -> None:
    """Write a map of strike chances as a picture."""
    site = read_document(given)
    radius_m, depth_m, cell_m, reach_m = typed(given, site, "radius", "depth", "cell", "reach")
    place = target(given, PICTURES, "strike-map.png")
    if given.dig is not None:
        site._handle.dig(given.dig)  # an unknown name is told before the work
        if given.classes:
            raise ut.ArgumentError("--class goes with a hole everywhere, not with --dig")
    layouts = sampled(given, site)
    if given.dig is None:
        smap = layouts.strike_map(radius_m, depth_m, cell_m, given.classes or None, run=running(given))
    else:
        (smap,) = layouts.dig_maps([given.dig], reach_m, cell_m, rules=rules(given), run=running(given))
    text = smap.what
    if place is not None:
        with place.file() as path:
            picture(smap, path, **({"digs": None} if given.dig is None else {}))
        mark = "" if smap.converged else f"{NOT_CONVERGED}: "
        text = f"{mark}{smap.what}: map in {place.files[0]}" if place.files else text
    known = {**about(layouts), "converged": smap.converged}
    files = [] if place is None else place.files
    say(given, Answer(text=text, about=known, rows=rows_of(smap), result=facts_of(smap), files=files))


def facts_of(smap: ut.StrikeMap) -> dict[str, Any]:
    """Return what is known of a map as a whole."""
    return {
        "what": smap.what,
        "classes": smap.classes,
        "cell_m": smap.cell_m,
        "x_m": smap.x_m,
        "in_tolerance_zone_share": share(smap, smap.in_tolerance_zone),
        "on_flagged_metal_share": share(smap, smap.on_flagged_metal),
    }


def share(smap: ut.StrikeMap, where: Any) -> float:
    """Return the share of the ground of a map."""
    ground = ~np.isnan(smap.p) | where
    return float(where[ground].mean()) if ground.any() else 0.0


def rows_of(smap: ut.StrikeMap) -> list[dict[str, Any]]:
    """Return the rows of a map, the northernmost first."""
    return [
        {
            "y_m": y_m,
            "p": smap.p[k],
            "mcse": smap.mcse[k],
            "in_tolerance_zone": smap.in_tolerance_zone[k],
            "on_flagged_metal": smap.on_flagged_metal[k],
        }
        for k, y_m in enumerate(smap.y_m.tolist())
    ]
