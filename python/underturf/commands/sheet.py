"""``underturf sheet``: the sheet that a crew takes to the ground."""

from __future__ import annotations

import underturf as ut
from underturf import _core
from underturf._checks import day
from underturf.commands.answers import Answer, about, say
from underturf.commands.given import (
    DIGS,
    RULES,
    SAMPLING,
    SITE,
    WEIGHTS,
    Given,
    command,
    length_option,
    number,
    option,
    out_option,
    switch,
)
from underturf.commands.reading import read_document, typed, weights
from underturf.commands.sampling import asked_digs, rules, running, sampled
from underturf.commands.writing import target
from underturf.crew.sheet import ENDINGS

__all__ = ["sheet"]

OPTIONS = (
    *out_option("Where to, .html, .pdf or .png;", "sheet.html"),
    option("--ticket", metavar="NUMBER", help="Number of the one-call ticket. A blank line if not given."),
    option("--marks-date", metavar="DAY", help="Day of the marks. As in the document, or a blank line, if not given."),
    option("--date", metavar="DAY", help="Day of the sheet. Today if not given."),
    option(
        "--probes",
        metavar="FILE",
        help="Plan of probes that the command probes wrote, or a table, .csv: x_m, y_m, radius_m, and depth_m if known.",
    ),
    number("--least-chance", _core.DEFAULTS["least_chance"], "Least chance of a likely line.", "P"),
    length_option("--step", "2m", "From stake to stake."),
    length_option("--near", "3m", "List stakes this near a spot."),
    switch("--annex", help="List the other stakes too, on further pages."),
    switch("--full-page-map", help="Add a map on a page of its own, at a standard scale."),
)


@command("sheet", SITE, DIGS, OPTIONS, RULES, WEIGHTS, SAMPLING)
def sheet(given: Given) -> None:
    """Write the sheet for the crew: map, spots, stakes, what to do."""
    site = read_document(given)
    digs = asked_digs(given, site, needed=False)
    step_m, near_m = typed(given, site, "step", "near")
    place = target(given, ENDINGS)
    options = ut.SheetOptions(
        ticket=given.ticket,
        marks_date=day(given.marks_date, "--marks-date"),
        date=day(given.date, "--date"),
        least_chance=given.least_chance,
        step_m=step_m,
        near_m=near_m,
        annex=given.annex,
        full_page_map=given.full_page_map,
        weights=weights(given),
        rules=rules(given),
    )
    probes = None if given.probes is None else ut.read_probes(given.probes)
    if place is None:
        raise ut.ArgumentError("name a file for the sheet with -o")
    layouts = sampled(given, site)
    with place.file() as path:
        layouts.crew_sheet(path, digs, probes, options=options, run=running(given))
    text = f"{place.said('Sheet', layouts.converged)}\n\n{ut.caution_text()}"
    say(given, Answer(text=text, about=about(layouts), files=place.files))
