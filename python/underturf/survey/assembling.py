"""Things as a site document: names, the unit of the document, rounding, and where each entry came from."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from underturf.errors import SiteError
from underturf.site import Site
from underturf.site_tables import LISTS
from underturf.survey.faults import Faults
from underturf.survey.keys import LENGTH_KEYS
from underturf.survey.report import ReportRow
from underturf.survey.things import Thing

__all__ = ["DECIMALS", "Assembled", "Base", "assembled", "base_things", "checked_site", "named_things"]

#: Decimals of places, in the unit of the document.
DECIMALS = 3

#: Decimals of other lengths and numbers.
FINE = 6

#: Lists that share their names.
NAMED = ("heads", "valve_boxes", "sources", "outlets")

#: What entries without a name are called.
MADE = {"heads": "head", "valve_boxes": "box", "sources": "source", "outlets": "outlet", "digs": "dig"}


@dataclass(slots=True)
class Base:
    """The site document that things are added to.

    Attributes
    ----------
    site : Site
        The site.
    file : str
        Name of its file.
    """

    site: Site
    file: str


@dataclass(slots=True)
class Assembled:
    """A document and where its entries came from: list and position -> file and place."""

    document: dict[str, Any]
    origins: dict[tuple[str, int], str] = field(default_factory=dict)


def base_things(base: Base | None) -> list[Thing]:
    """Return the entries of a document as things in metres, for comparison with what is added."""
    if base is None:
        return []
    unit_m, found = base.site.unit_m, []
    plain = base.site._plain()
    if plain.get("boundary"):
        found.append(
            Thing("boundary", "outline", in_metres(plain["boundary"], unit_m), {}, base.file, "boundary", "boundary")
        )
    for key in LISTS:
        for k, entry in enumerate(plain.get(key, ())):
            place = f"{key}[{k}]"
            if "x" in entry:
                shape, points = "point", [[entry["x"], entry["y"]]]
            elif "outline" in entry:
                shape, points = "outline", entry["outline"]
            elif "from" in entry:
                shape, points = "path", [entry["from"], *entry.get("path", ()), entry["to"]]
            elif "path" in entry:
                shape, points = "path", entry["path"]
            else:
                continue
            rest = {
                name: value for name, value in entry.items() if name not in ("x", "y", "outline", "path", "from", "to")
            }
            own = {name: value * unit_m if name in LENGTH_KEYS else value for name, value in rest.items()}
            found.append(Thing(key, shape, in_metres(points, unit_m), own, base.file, place, key))
    for thing in found:
        thing.is_base = True
    return found


def in_metres(points: Iterable[Any], unit_m: float) -> list[tuple[float, float]]:
    """Return points in metres."""
    return [(float(x) * unit_m, float(y) * unit_m) for x, y in points]


def named_things(things: Iterable[Thing], base: Base | None) -> list[ReportRow]:
    """Give every thing that needs one a name of its own; return rows for names that clashed."""
    things = list(things)
    document = {} if base is None else base.site.to_dict()
    held: Any = document
    taken = {str(entry["id"]) for key in NAMED for entry in held.get(key, ()) if "id" in entry}
    digs = set(() if base is None else base.site.dig_ids)
    rows = []
    for thing in things:
        wanted = thing.name()
        if thing.key not in MADE or wanted is None:
            continue
        names = digs if thing.key == "digs" else taken
        thing.entry["id"] = free(wanted, names)
        if thing.entry["id"] != wanted:
            rows.append(thing.row("changed", f"the name {wanted} is taken; this one is called {thing.entry['id']}"))
        names.add(thing.entry["id"])
    for thing in things:
        if thing.key in MADE and "id" not in thing.entry:
            names = digs if thing.key == "digs" else taken
            count = 1
            while f"{MADE[thing.key]}{count}" in names:
                count += 1
            thing.entry["id"] = f"{MADE[thing.key]}{count}"
            names.add(thing.entry["id"])
    return rows


def free(wanted: str, names: set[str]) -> str:
    """Return a name that is free.

    Examples
    --------
    >>> free("a", {"a", "a-2"}), free("b", {"a"})
    ('a-3', 'b')
    """
    count, found = 1, wanted
    while found in names:
        count += 1
        found = f"{wanted}-{count}"
    return found


def assembled(things: Iterable[Thing], base: Base | None, units: str, unit_m: float, faults: Faults) -> Assembled:
    """Return the document that things make, in its unit, added to the one that is there."""
    document: dict[str, Any] = {"format": "underturf-site/2", "units": units} if base is None else base.site.to_dict()
    made = Assembled(document)
    if base is not None:
        made.origins |= {(key, k): base.file for key in LISTS for k in range(len(document.get(key, ())))}
    first: dict[str, Thing] = {}
    for thing in things:
        points = [[tidy(x / unit_m, DECIMALS), tidy(y / unit_m, DECIMALS)] for x, y in thing.points]
        source = f"{thing.file}, {thing.place}" if thing.place else thing.file
        if thing.key == "boundary":
            if "boundary" in document:
                other = (
                    f"{first['boundary'].file}, {first['boundary'].place}"
                    if "boundary" in first
                    else base.file
                    if base
                    else ""
                )
                faults.add(
                    thing.file,
                    thing.place,
                    f"is a second boundary beside that of {other}; leave one out in the mapping",
                )
                continue
            document["boundary"], first["boundary"] = points, thing
            made.origins["boundary", 0] = source
            continue
        document.setdefault(thing.key, []).append(
            {**entry_head(thing), **places(thing, points), **entry_rest(thing, unit_m)}
        )
        made.origins[thing.key, len(document[thing.key]) - 1] = source
    return made


def entry_head(thing: Thing) -> dict[str, Any]:
    """Return the name of an entry, which stands first."""
    return {"id": thing.entry["id"]} if "id" in thing.entry else {}


def places(thing: Thing, points: list[list[float]]) -> dict[str, Any]:
    """Return the keys of an entry that hold its places."""
    if thing.key == "services":
        return {"from": points[0], **({"path": points[1:-1]} if len(points) > 2 else {}), "to": points[-1]}
    if thing.shape == "point":
        return {"x": points[0][0], "y": points[0][1]}
    return {thing.shape: points}


def entry_rest(thing: Thing, unit_m: float) -> dict[str, Any]:
    """Return the other keys of an entry, in the unit of the document."""
    found: dict[str, Any] = {}
    for key, value in thing.entry.items():
        if key == "id":
            continue
        if key in LENGTH_KEYS:
            value = tidy(value / unit_m, FINE)
        elif key == "flow":
            value = tidy(value if unit_m == 1.0 else value * 60 / 3.785411784, FINE)
        found[key] = value
    return found


def tidy(value: float, decimals: int) -> float:
    """Return a number rounded, zero without a sign."""
    return round(float(value), decimals) + 0.0


def checked_site(made: Assembled, base: Base | None, faults: Faults) -> Site | None:
    """Return the site of a document; note its faults at the places in the files that they come from."""
    try:
        return Site.from_dict(made.document)
    except SiteError as error:
        for place, said in error.faults:
            found = re.match(r"(\w+)\[(\d+)\]", place)
            key = (found[1], int(found[2])) if found else (place.partition(".")[0].partition("[")[0], 0)
            source = made.origins.get(key, base.file if base else "")
            faults.add(source, "", f"{place}: {said}" if place else said)
        return None
