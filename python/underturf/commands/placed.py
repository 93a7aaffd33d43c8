"""Digs put into a document: those that it has go where they were moved, others come after them."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

import underturf as ut
from underturf._written import entry_in_units
from underturf.commands.writing import Target
from underturf.commands.written_tables import write_table
from underturf.digs import Hole, Pit, Trench, from_core

__all__ = ["dig_table", "site_with", "write_digs"]


def site_with(site: ut.Site, digs: Sequence[Hole | Pit | Trench]) -> ut.Site:
    """Return the site with digs in the place of its own of the same name, and the others after them.

    A dig that stays where it is keeps the words in which it was written.

    Examples
    --------
    >>> site = ut.read_site(ut.example("green"))
    >>> later = site_with(site, [ut.Hole(4.0, 3.0, 0.3, 0.5, id="maple"), ut.Hole(6.0, 3.0, 0.3, 0.5, id="new")])
    >>> later.dig_ids[0], later.dig_ids[-1], later.digs["x_m"].iloc[0]
    ('maple', 'new', 4.0)
    """
    document: dict[str, Any] = dict(site.to_dict())
    entries: list[Any] = list(document.get("digs", []))
    places = {name: k for k, name in enumerate(site.dig_ids)}
    for dig in digs:
        entry = entry_in_units(dig._entry(), site.unit_m)
        place = None if dig.id is None else places.get(dig.id)
        if place is None:
            entries.append(entry)
        elif not same(site, dig, place):
            entries[place] = {**shapeless(entries[place]), **entry}
    return ut.Site.from_dict({**document, "digs": entries})


def same(site: ut.Site, dig: Hole | Pit | Trench, place: int) -> bool:
    """Whether a dig is the one that the document has at a place."""
    return bool(dig_table([dig]).equals(dig_table([drawn(site, place)])))


def drawn(site: ut.Site, place: int) -> Hole | Pit | Trench:
    """Return a dig of the site."""
    return from_core(site._handle.digs()[place])


def shapeless(entry: Mapping[str, Any]) -> dict[str, Any]:
    """Return an entry without its shape."""
    return {key: value for key, value in entry.items() if key not in ("x", "y", "radius", "path", "width", "outline")}


def dig_table(digs: Sequence[Hole | Pit | Trench]) -> pd.DataFrame:
    """Return digs as a table in metres, as `Site.digs` gives it; points are JSON.

    Examples
    --------
    >>> dig_table([ut.Hole(4.0, 3.0, 0.3, 0.5, id="maple")])[["id", "x_m", "depth_m"]].to_dict("records")
    [{'id': 'maple', 'x_m': 4.0, 'depth_m': 0.5}]
    """
    table = ut.Site.from_dict({"format": "underturf-site/2", "units": "m"}).with_digs(digs).digs
    table = table.dropna(axis="columns", how="all")
    for name in ("path_m", "outline_m"):
        if name in table:
            table[name] = [json.dumps(cell) if isinstance(cell, list) else None for cell in table[name]]
    return table


def write_digs(
    site: ut.Site, digs: Sequence[Hole | Pit | Trench], place: Target, about: Mapping[str, Any], source: Path | None
) -> None:
    """Write digs: a table, or the document with them in it."""
    if place.ending == ".csv":
        with place.file() as path:
            write_table(path, dig_table(digs), about)
    else:
        place.write_site(site_with(site, digs), source)
