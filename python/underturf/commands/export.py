"""``underturf export``: results for other programs, in the format that the ending of the file says."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

import underturf as ut
from underturf._atomic import replacing
from underturf._checks import as_path, writable
from underturf.commands.answers import Answer, about, say
from underturf.commands.given import DIGS, RULES, SAMPLING, SITE, Given, command, count, length_option, option
from underturf.commands.later import part
from underturf.commands.reading import read_document, typed
from underturf.commands.sampling import asked_digs, rules, running, sampled

__all__ = ["export"]

OPTIONS = (
    option(
        "-o",
        "--out",
        required=True,
        metavar="FILE",
        help="Where to; its ending says the format, such as .gpkg, .dxf or .gpx.",
    ),
    option(
        "--what",
        type=click.Choice(
            ("layouts", "site", "assessment", "ranking", "map", "metal", "probes", "spots", "sweeps", "valves")
        ),
        default="layouts",
        help="What to export; layouts hold the likely lines and stakes.",
    ),
    count("--count", None, "Most probes or passes, or the number of spots.", "-n"),
    length_option("--radius", "0.3m", "Radius of the hole of a map or of spots."),
    length_option("--depth", "0.4m", "Depth of it."),
    length_option("--cell", "0.1m", "Side of a cell of a map."),
)

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


@command("export", SITE, OPTIONS, DIGS, RULES, SAMPLING)
def export(given: Given) -> None:
    """Write results for other programs: GIS, CAD, a phone, a spreadsheet."""
    site = read_document(given)
    digs = asked_digs(given, site, needed=given.what in ("assessment", "ranking", "probes"))
    sizes = dict(zip(("radius", "depth", "cell"), typed(given, site, "radius", "depth", "cell"), strict=True))
    path = as_path(given.out)
    writable(path.parent, path.name)
    part(ut.Layouts, "export")
    thing: Any = site
    known = about(site)
    if given.what != "site":
        layouts = sampled(given, site)
        thing = MAKERS[given.what](layouts, given, digs, sizes)
        known = {**about(layouts), "converged": layouts.converged and bool(getattr(thing, "converged", True))}
    with replacing(path) as temporary:
        part(thing, "export")(temporary)
    text = f"{given.what} in {path.resolve()}\n\n{ut.caution_text()}"
    say(given, Answer(text=text, about=known, result={"what": given.what}, files=[path.resolve()]))
