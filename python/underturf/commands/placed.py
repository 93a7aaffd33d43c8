"""Digs put into a document: those that it has go where they were moved, others come after them."""

from __future__ import annotations

import json
import math
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


def site_with(site: ut.Site, digs: Sequence[Hole | Pit | Trench], new: bool = False) -> ut.Site:
    """Return the site with digs in the place of its own of the same name, and the others after them.

    A dig that stays where it is keeps the words in which it was written, and one that is moved keeps its size. Places are
    rounded to a thousandth of the unit, sizes of further digs up to it: people read the document, and a hole shall not be too
    small.

    Parameters
    ----------
    site : Site
        The site.
    digs : sequence of Hole, Pit or Trench
        The digs.
    new : bool
        Whether all of them are further ones; a name that is taken is a fault then.

    Examples
    --------
    >>> site = ut.read_site(ut.example("green"))
    >>> later = site_with(site, [ut.Hole(4.0, 3.0, 0.3, 0.5, id="maple"), ut.Hole(1 / 3, 3.0, 0.3, 0.5, id="new")])
    >>> later.dig_ids[0], later.dig_ids[-1], later.digs["x_m"].tolist()[::6]
    ('maple', 'new', [4.0, 0.333])
    """
    document: dict[str, Any] = dict(site.to_dict())
    entries: list[Any] = list(document.get("digs", []))
    places = {} if new else {name: k for k, name in enumerate(site.dig_ids)}
    for dig in digs:
        entry = readable(entry_in_units(dig._entry(), site.unit_m), site.units)
        place = None if dig.id is None else places.get(dig.id)
        if place is None:
            entries.append(entry)
        elif not same(site, dig, place):
            entries[place] = {**entries[place], **{key: entry[key] for key in PLACES if key in entry}}
    return ut.Site.from_dict({**document, "digs": entries})


#: Keys of the place of a dig.
PLACES = ("x", "y", "path", "outline")

#: Keys of its size.
SIZES = ("radius", "width", "depth")


def readable(entry: Mapping[str, Any], units: str) -> dict[str, Any]:
    """Return the entry of a dig with numbers that people can read; calipers are in inches where the document is in feet.

    Examples
    --------
    >>> readable({"x": 1.23456, "radius": 0.33333333, "tree": {"size": "small", "caliper": 0.16666666666666666}}, "ft")
    {'x': 1.235, 'radius': 0.334, 'tree': {'size': 'small', 'caliper': '2 in'}}
    """
    found = {**entry, **{key: rounded(entry[key]) for key in PLACES if key in entry}}
    for key in SIZES:
        if key in entry:
            found[key] = math.ceil(round(entry[key] * 1000, 6)) / 1000
    tree = entry.get("tree")
    if units == "ft" and isinstance(tree, Mapping) and "caliper" in tree:
        found["tree"] = {**tree, "caliper": inches(tree["caliper"])}
    return found


def inches(feet: float) -> str:
    """Write feet as inches, to nine digits.

    Examples
    --------
    >>> inches(1 / 6), inches(0.13123359580052493)
    ('2 in', '1.57480315 in')
    """
    return f"{12 * feet:.9g} in"


def rounded(place: Any) -> Any:
    """Return a coordinate or points rounded to a thousandth."""
    return [rounded(part) for part in place] if isinstance(place, list | tuple) else round(place, 3)


def same(site: ut.Site, dig: Hole | Pit | Trench, place: int) -> bool:
    """Whether a dig is the one that the document has at a place."""
    return bool(dig_table([dig]).equals(dig_table([drawn(site, place)])))


def drawn(site: ut.Site, place: int) -> Hole | Pit | Trench:
    """Return a dig of the site."""
    return from_core(site._handle.digs()[place])


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
