"""``underturf assess``: the chance of each dig, and what to do about it."""

from __future__ import annotations

from underturf._atomic import replacing
from underturf._checks import output
from underturf.commands.answers import Answer, about, facts, json_rows, say
from underturf.commands.given import (
    DIGS,
    RULES,
    SAMPLING,
    SITE,
    WEIGHTS,
    Given,
    command,
    length_option,
    option,
    out_option,
)
from underturf.commands.reading import read_document, typed, weights
from underturf.commands.results import keep
from underturf.commands.sampling import asked_digs, rules, running, sampled
from underturf.commands.writing import target
from underturf.results.files import ENDINGS

__all__ = ["assess"]

OPTIONS = (
    length_option("--reach", "1.5m", "How far a better place is looked for."),
    option("--csv", metavar="FILE", help="Write the whole table too, .csv, lengths in metres."),
    *out_option("Write the whole answer, .csv or .json, lengths in metres;"),
)


@command("assess", SITE, DIGS, OPTIONS, RULES, WEIGHTS, SAMPLING)
def assess(given: Given) -> None:
    """Assess digs: the chance of a strike, the nearest line, marks, the best shift, what to do."""
    site = read_document(given)
    digs = asked_digs(given, site)
    (reach_m,) = typed(given, site, "reach")
    costs = weights(given)
    csv = None if given.csv is None else output(given.csv, (".csv",))
    place = target(given, ENDINGS)
    layouts = sampled(given, site)
    assessment = layouts.assess(digs, reach_m=reach_m, weights=costs, rules=rules(given), run=running(given))
    said, files = [str(assessment)], keep(assessment, place)
    if csv is not None:
        with replacing(csv) as path:
            assessment.save(path)
        files.append(csv.resolve())
        said.append(f"\nTable in {csv.resolve()}")
    if place is not None:
        said.append(f"\n{place.said('Whole answer', assessment.converged)}")
    known, rows = about(assessment, layouts), json_rows(assessment.table())
    say(given, Answer(text="\n".join(said), about=known, rows=rows, result=facts(assessment), files=files))
