"""``underturf rank``: digs in the order of what they may cost."""

from __future__ import annotations

import click

from underturf import _core
from underturf.commands.given import DIGS, SAMPLING, SITE, WEIGHTS, Given, command, count, option, out_option, switch
from underturf.commands.reading import read_document, weights
from underturf.commands.results import Shown, say_result
from underturf.commands.sampling import asked_digs, running, sampled
from underturf.commands.texts import Column, told
from underturf.commands.writing import target
from underturf.results.files import ENDINGS

__all__ = ["rank"]

OPTIONS = (
    option(
        "--by",
        type=click.Choice(_core.WORDS["by"]),
        default="loss",
        help="Order by expected loss, or by the chance of a strike.",
    ),
    switch("--until-distinct", help="Draw on until all neighbours can be told apart."),
    count("--longest-draws", 32_000, "Most draws that this may take."),
    *out_option("Write the whole answer, .csv or .json;"),
)

SHOWN = (
    Column("rank", "rank"),
    Column("dig", "dig"),
    Column("p_strike", "chance", "chance"),
    Column("loss", "loss", "loss"),
    Column("distinct_from_next", "told from the next", "yes"),
)


@command("rank", SITE, DIGS, OPTIONS, WEIGHTS, SAMPLING)
def rank(given: Given) -> None:
    """Order digs by expected loss, and say which of them cannot be told apart."""
    site = read_document(given)
    digs, costs, place = asked_digs(given, site), weights(given), target(given, ENDINGS)
    layouts = sampled(given, site)
    ranking = layouts.rank(
        digs,
        costs,
        given.by,
        until_distinct=given.until_distinct,
        longest_draws=given.longest_draws,
        run=running(given),
    )
    lines = [told(dig.dig, dig.note) for dig in ranking if dig.note]
    say_result(given, ranking, layouts, Shown(SHOWN, ["A low rank is no clearance."], lines), place)
