"""``underturf lines`` and ``metal``: where lines probably run."""

from __future__ import annotations

import underturf as ut
from underturf import _core
from underturf.commands.answers import Answer, about, json_rows, say
from underturf.commands.given import DEFAULTS, SAMPLING, SITE, Given, command, length_option, number, out_option
from underturf.commands.reading import read_document, typed
from underturf.commands.results import Shown, say_result
from underturf.commands.sampling import running, sampled
from underturf.commands.texts import Column, page, table, told
from underturf.commands.writing import target
from underturf.commands.written_tables import write_table
from underturf.results.files import ENDINGS

__all__ = ["likely_lines", "metal"]

OPTIONS = (
    number("--least-chance", _core.DEFAULTS["least_chance"], "Least chance of a line at a station.", "P"),
    length_option("--step", DEFAULTS["step_m"], "Greatest distance between stations."),
    length_option("--reach", DEFAULTS["line_reach_m"], "A line further aside than this from a course is another."),
    *out_option("Write the stations, .csv, lengths in metres;"),
)

SHOWN = (
    Column("line", "line"),
    Column("class", "class"),
    Column("zone", "zone"),
    Column("x_m", "x", "place"),
    Column("y_m", "y", "place"),
    Column("half_width_m", "to either side", "length"),
    Column("azimuth_deg", "runs", "azimuth"),
    Column("p_here", "chance here", "chance"),
)


@command("lines", SITE, OPTIONS, SAMPLING)
def likely_lines(given: Given) -> None:
    """Tell where lines probably run, station by station, with the width of doubt."""
    site = read_document(given)
    step_m, reach_m = typed(given, site, "step", "reach")
    place = target(given, (".csv",))
    layouts = sampled(given, site)
    found = layouts.likely_lines(given.least_chance, step_m, reach_m, run=running(given))
    rows, known = json_rows(found), about(layouts)
    text = page(table(rows, SHOWN, site.units), known, said=[ELSEWHERE], chances=False)
    if place is not None:
        with place.file() as path:
            write_table(path, found, known)
        text += f"\n\n{place.said('Stations', layouts.converged)}"
    say(given, Answer(text=text, about=known, rows=rows, files=[] if place is None else place.files))


#: What a list of likely lines leaves out.
ELSEWHERE = (
    "to either side: the band that holds nine in ten layouts with the line here; other courses are possible everywhere"
)

METAL = (
    Column("line", "line"),
    Column("treat_as", "treat as"),
    Column("probability", "is there", "chance"),
    Column("half_width_m", "to either side", "length"),
    Column("cover_m", "cover", "length"),
    Column("told_by", "told by"),
    Column("leads_to", "leads to"),
)


@command("metal", SITE, out_option("Write the whole answer, .csv or .json;"), SAMPLING)
def metal(given: Given) -> None:
    """Tell which lines of buried metal there are by flags, marks, services and finds."""
    site = read_document(given)
    place = target(given, ENDINGS)
    layouts = sampled(given, site)
    found = layouts.metal_lines()
    lines = [told(f"line {line.line}", "to be feared as gas or power") for line in feared(found)]
    say_result(given, found, layouts, Shown(METAL, found.notes, lines, chances=False), place)


def feared(found: ut.MetalLines) -> list[ut.MetalLine]:
    """Return the lines that are dangerous."""
    return [line for line in found if line.dangerous]
