"""``underturf explore`` and ``report``: a page to look at a site with, and a report for the file."""

from __future__ import annotations

from typing import Any

import underturf as ut
from underturf.commands.answers import Answer, about, say
from underturf.commands.given import DIGS, SAMPLING, SITE, Given, command, out_option
from underturf.commands.later import part
from underturf.commands.reading import read_document
from underturf.commands.sampling import asked_digs, running, sampled
from underturf.commands.writing import target

__all__ = ["explore", "report"]


def page_of(given: Given, method: str, what: str) -> None:
    """Write a page that layouts make."""
    site = read_document(given)
    digs = asked_digs(given, site, needed=False)
    place = target(given, (".html",))
    make = part(ut.Layouts, method)
    layouts = sampled(given, site)
    text = ""
    if place is not None:
        with place.file() as path:
            more: dict[str, Any] = {"digs": digs, "run": running(given)}
            make(layouts, path, **more)
        text = f"{place.said(what, layouts.converged)}\n\n{ut.caution_text()}"
    say(given, Answer(text=text, about=about(layouts), files=[] if place is None else place.files))


@command("explore", SITE, DIGS, out_option("Where to, .html;", "explore.html"), SAMPLING)
def explore(given: Given) -> None:
    """Write one HTML file to look at the site with, on a phone too; it needs no network."""
    page_of(given, "explore", "Page")


@command("report", SITE, DIGS, out_option("Where to, .html;", "report.html"), SAMPLING)
def report(given: Given) -> None:
    """Write a report for the file: evidence, assumptions, settings that matter, convergence, maps."""
    page_of(given, "report", "Report")
