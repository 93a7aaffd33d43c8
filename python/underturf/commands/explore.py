"""``underturf explore`` and ``report``: a page to look at a site with, and a report for the file."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import underturf as ut
from underturf._checks import day, length
from underturf.commands.answers import Answer, about, say
from underturf.commands.given import DIGS, SAMPLING, SITE, Given, command, length_option, option, out_option, switch
from underturf.commands.reading import read_document, typed
from underturf.commands.sampling import asked_digs, running, sampled
from underturf.commands.writing import target

__all__ = ["explore", "report"]

#: What a page is asked with besides its digs; called before any work.
Asked = Callable[[ut.Site], dict[str, Any]]

#: Calls by their names.
MAKERS: dict[str, Callable[..., Any]] = {"explore": ut.Layouts.explore, "report": ut.Layouts.report}

STORED = (
    option(
        "--radius",
        multiple=True,
        metavar="LENGTH",
        help="Radius of holes whose maps are stored; may be given several times.",
    ),
    option("--depth", multiple=True, metavar="LENGTH", help="Depth of such holes; likewise."),
    length_option("--cell", None, "Side of a cell of these maps; as the size of the file allows if not given."),
)

TOLD = (
    switch(
        "--sensitivity/--no-sensitivity",
        default=True,
        help="Tell which settings matter, which takes most of the time. Told if not given.",
    ),
    option("--date", metavar="DAY", help="Day of the report. Today if not given."),
)


def page_of(given: Given, method: str, what: str, asked: Asked) -> None:
    """Write a page that layouts make, asked with more."""
    site = read_document(given)
    digs = asked_digs(given, site, needed=False)
    place = target(given, (".html",))
    make = MAKERS[method]
    more = asked(site)
    layouts = sampled(given, site)
    text = ""
    if place is not None:
        with place.file() as path:
            make(layouts, path, digs=digs, run=running(given), **more)
        text = f"{place.said(what, layouts.converged)}\n\n{ut.caution_text()}"
    say(given, Answer(text=text, about=about(layouts), files=[] if place is None else place.files))


@command("explore", SITE, DIGS, STORED, out_option("Where to, .html;", "explore.html"), SAMPLING)
def explore(given: Given) -> None:
    """Write one HTML file to look at the site with, on a phone too; it needs no network."""

    def stored(site: ut.Site) -> dict[str, Any]:
        sizes = {"radii_m": ("--radius", given.radius), "depths_m": ("--depth", given.depth)}
        found: dict[str, Any] = {
            key: [length(text, name, site.unit_m) for text in texts] for key, (name, texts) in sizes.items() if texts
        }
        (found["cell_m"],) = typed(given, site, "cell")
        return {"options": ut.ExploreOptions(**found)}

    page_of(given, "explore", "Page", stored)


@command("report", SITE, DIGS, TOLD, out_option("Where to, .html;", "report.html"), SAMPLING)
def report(given: Given) -> None:
    """Write a report for the file: evidence, assumptions, settings that matter, convergence, maps."""

    def told(_: ut.Site) -> dict[str, Any]:
        return {"sensitivity": given.sensitivity, "date": day(given.date, "--date")}

    page_of(given, "report", "Report", told)
