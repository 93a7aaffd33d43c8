"""``underturf zones``: which head is on which zone."""

from __future__ import annotations

import pandas as pd

from underturf.commands.answers import Answer, about, say
from underturf.commands.given import SAMPLING, SITE, Given, command, out_option
from underturf.commands.reading import read_document
from underturf.commands.sampling import sampled
from underturf.commands.texts import Column, page, table
from underturf.commands.writing import target
from underturf.commands.written_tables import write_table

__all__ = ["zones"]

SHOWN = (
    Column("head", "head"),
    Column("likely_zone", "zone"),
    Column("p_zone", "chance", "chance"),
    Column("group", "goes with the heads of"),
    Column("p_group", "chance", "chance"),
)

#: What the two columns of chances are.
MEANING = "zone: the likeliest; goes with: valves without a name are told apart by letters, and which is which is open"


@command("zones", SITE, out_option("Write the chance of each head to be on each zone, .csv;"), SAMPLING)
def zones(given: Given) -> None:
    """Tell which head is on which zone, and how sure that is."""
    site = read_document(given)
    place = target(given, (".csv",))
    layouts = sampled(given, site)
    chances, groups = layouts.zone_chances(), layouts.likely_groups()
    names = [str(name) for name in chances.columns[:-2]]
    shares = chances.iloc[:, :-2].to_numpy(float)
    rows = [
        {
            "head": str(head),
            "likely_zone": chances.iloc[k, -2],
            "p_zone": float(shares[k].max()) if names else None,
            "group": groups["group"].iloc[k],
            "p_group": float(groups["probability"].iloc[k]),
            "zones": dict(zip(names, shares[k].tolist(), strict=True)),
            "converged": layouts.converged,
        }
        for k, head in enumerate(chances.index)
    ]
    known = about(layouts)
    text = page(table(rows, SHOWN, site.units), known, said=[MEANING], chances=False)
    if place is not None:
        with place.file() as path:
            write_table(path, pd.DataFrame(chances), known, index=True)
        text += f"\n\n{place.said('Chances', layouts.converged)}"
    exchangeable = [list(of) for of in layouts.exchangeable_zones]
    result = {"exchangeable_zones": exchangeable}
    say(given, Answer(text=text, about=known, rows=rows, result=result, files=[] if place is None else place.files))
