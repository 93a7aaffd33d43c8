"""``underturf export``: results for other programs, in the format that the ending of the file says."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

import underturf as ut
from underturf.commands.answers import Answer, about, say
from underturf.commands.given import (
    DIGS,
    RULES,
    SAMPLING,
    SITE,
    Given,
    command,
    count,
    length_option,
    option,
    out_option,
)
from underturf.commands.reading import read_document, typed
from underturf.commands.sampling import asked_digs, rules, running, sampled
from underturf.commands.writing import Target, target
from underturf.dig_lists import Digs

__all__ = ["export"]

Maker = Callable[[ut.Layouts, Given, Any, dict[str, float]], Any]

#: How each thing is made from layouts.
MAKERS: dict[str, Maker] = {
    "layouts": lambda layouts, *_: layouts,
    "assessment": lambda layouts, given, digs, _: layouts.assess(digs, rules=rules(given), run=running(given)),
    "ranking": lambda layouts, given, digs, _: layouts.rank(digs, run=running(given)),
    "map": lambda layouts, given, _, sizes: layouts.strike_map(
        sizes["radius"], sizes["depth"], sizes["cell"], run=running(given)
    ),
    "metal": lambda layouts, *_: layouts.metal_lines(),
    "probes": lambda layouts, given, digs, _: layouts.plan_probes(
        digs, given.count or 8, rules=rules(given), run=running(given)
    ),
    "spots": lambda layouts, given, _, sizes: layouts.best_spots(
        given.count or 1, sizes["radius"], sizes["depth"], run=running(given)
    ),
    "sweeps": lambda layouts, given, digs, _: layouts.plan_sweeps(digs, given.count or 3, run=running(given)),
    "valves": lambda layouts, given, digs, _: layouts.plan_station_tests(digs, run=running(given)),
}

#: What each thing is called where endings are listed.
KINDS = {
    "layouts": "Layouts",
    "site": "Site",
    "assessment": "Assessment",
    "ranking": "Ranking",
    "map": "StrikeMap",
    "metal": "MetalLines",
    "probes": "ProbePlan",
    "spots": "Spots",
    "sweeps": "SweepPlan",
    "valves": "ValvePlan",
}

OPTIONS = (
    *out_option("Where to; its ending says the format, such as .gpkg, .dxf, .gpx or .csv;"),
    option(
        "--what",
        type=click.Choice(tuple(KINDS)),
        default="layouts",
        help="What to export; layouts are likely lines and metal lines, with the digs where the format takes them.",
    ),
    option(
        "--crs",
        type=click.Choice(("lonlat", "local", "site")),
        help="Plane of its places: longitude and latitude, metres about the frame, or metres of the site.",
    ),
    count("--count", None, "Most probes or passes, or the number of spots.", "-n"),
    length_option("--radius", "0.3m", "Radius of the hole of a map or of spots."),
    length_option("--depth", "0.4m", "Depth of it."),
    length_option("--cell", "0.1m", "Side of a cell of a map."),
)


@command("export", SITE, OPTIONS, DIGS, RULES, SAMPLING)
def export(given: Given) -> None:
    """Write results for other programs: GIS, CAD, a phone, a spreadsheet."""
    site = read_document(given)
    digs = asked_digs(given, site, needed=given.what in ("assessment", "ranking", "probes"))
    sizes = dict(zip(("radius", "depth", "cell"), typed(given, site, "radius", "depth", "cell"), strict=True))
    from underturf.exporting import dispatch

    place = target(given, dispatch.ENDINGS[KINDS[given.what]])
    if place is None:
        raise click.UsageError("where to? Give -o FILE; its ending says the format")
    if place.path is not None:
        dispatch.ending_of(place.path, KINDS[given.what])
    thing, known = made(given, site, digs, sizes)
    more: dict[str, Any] = {"crs": given.crs}
    if given.what == "layouts" and (given.digs or given.digs_file or takes_digs(dispatch, place, site)):
        more["digs"] = digs
    if place.path is not None:
        thing.export(place.path, **more)  # whole or not at all; some endings are longer than a suffix
    else:
        with place.file() as path:
            thing.export(path, **more)
    text = f"{place.said(given.what, known['converged'])}\n\n{ut.caution_text()}"
    say(given, Answer(text=text, about=known, result={"what": given.what}, files=place.files))


def made(given: Given, site: ut.Site, digs: Digs, sizes: dict[str, float]) -> tuple[Any, dict[str, Any]]:
    """Return what is exported, and what every answer says of it."""
    if given.what == "site":
        return site, about(site)
    layouts = sampled(given, site)
    thing = MAKERS[given.what](layouts, given, digs, sizes)
    return thing, {**about(layouts), "converged": layouts.converged and bool(getattr(thing, "converged", True))}


def takes_digs(dispatch: Any, place: Target, site: ut.Site) -> bool:
    """Whether the digs of the site go into the same file as its layouts."""
    name = f"out{place.ending}" if place.path is None else place.path.name.lower()
    return bool(site.dig_ids) and name.endswith(dispatch.WITH_DIGS)
