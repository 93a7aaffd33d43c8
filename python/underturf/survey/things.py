"""What was observed as entries of a site document: codes read, values put under their keys, corners joined."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from underturf import _core
from underturf.errors import ArgumentError
from underturf.survey.codes import Code
from underturf.survey.context import Context
from underturf.survey.keys import FLOWS, ROUND, entry_keys
from underturf.survey.observed import Batch, Observed
from underturf.survey.report import ReportRow
from underturf.survey.units import UNITS
from underturf.survey.values import entry_value

__all__ = ["Thing", "things_of"]

Points = Sequence[tuple[float, float]]

#: Keys that an entry must say, by list; digs and probes need more, by their shape.
NEEDED: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(["sources", "outlets", "obstacles"], ("kind",)),
    **dict.fromkeys(["marks", "services"], ("class",)),
    "trees": ("stem_diameter",),
    "sketches": ("trust",),
    "probes": ("depth", "found"),
    "digs": ("depth",),
}

#: Keys that say how far a place may be off; an entry has one of them.
ERRORS = frozenset(["sd", "accuracy_95"])

#: Words for one thing of a shape.
SHAPE_WORDS = {"point": "a point", "line": "a line", "area": "an area"}

#: An open outline whose ends are this near, in metres, was meant to close.
CLOSES_M = 0.001


@dataclass(slots=True)
class Thing:
    """An entry of a document in the making; lengths are metres.

    Attributes
    ----------
    key : str
        List of the document.
    shape : {"point", "path", "outline"}
        What its points are.
    points : list of (float, float)
        Its places on the plane of the site.
    entry : dict
        Its keys without the places.
    file, place : str
        Where it stands.
    what : str
        In words.
    made_id : str
        A name for it where the file gives none; empty where its code has no number.
    weight : float
        What its place weighs where it was measured more than once; 0 before that.
    is_base : bool
        Whether it stands in the site document that things are added to.
    files : set of str
        Other files whose measurements were merged into it.
    """

    key: str
    shape: str
    points: list[tuple[float, float]]
    entry: dict[str, Any]
    file: str
    place: str
    what: str
    made_id: str = ""
    weight: float = 0.0
    is_base: bool = False
    files: set[str] = field(default_factory=set)

    def name(self) -> str | None:
        """Return its name, given or made of its code."""
        return self.entry.get("id") or self.made_id or None

    def row(self, action: str, reason: str = "") -> ReportRow:
        """Return its row of the report."""
        return ReportRow(self.file, self.place, self.what, action, reason)


def things_of(
    batch: Batch, places: Sequence[Points], context: Context, whole: bool = True
) -> tuple[list[Thing], list[ReportRow]]:
    """Return the entries that a batch makes, and rows of the report about what it leaves or changes.

    Corners are joined only where the whole of the files could be read.
    """
    rows = [ReportRow(batch.file, place, what, "left", why) for place, what, why in batch.left]
    rows += [ReportRow(batch.file, place, what, "changed", why) for place, what, why in batch.changed]
    found: list[Thing] = []
    corners: dict[tuple[str, str], list[tuple[Observed, Points, Code]]] = {}
    useless: Counter[tuple[str, str]] = Counter()
    for of, points in zip(batch.observed, places, strict=True):
        code, name = context.code(of.code, of.channel)
        if code is None or not code.list:
            rows.append(ReportRow(batch.file, of.place, of.code or of.kind, "left", left_reason(of, code, context)))
            continue
        if of.kind == "point" and of.radius is None and code.shape in ("outline", "path"):
            corners.setdefault((code.code, name), []).append((of, points, code))
            continue
        entry = entry_of(batch, of, code, useless, context)
        if entry is not None:
            found += shaped(batch, (of, list(points), code, name, entry), rows, context)
    for (_, name), group in corners.items() if whole else ():
        found += joined(batch, name, group, useless, context)
    rows += [
        ReportRow(batch.file, f"column {column}", f"{count} values", "left", why)
        for (column, why), count in useless.items()
    ]
    return found, rows


def left_reason(of: Observed, code: Code | None, context: Context) -> str:
    """Return why a thing is left."""
    if code is not None:
        return code.meaning
    if not of.code:
        return "it has no code: give it a column of codes, or a code for the file in the mapping"
    known = [word for row in context.mapping.codes.values() for word in (row.code, *row.also)]
    where = {"code": "codes", "layer": "layers", "block": "blocks"}[of.channel]
    hint = _core.spelling_hint(of.code.upper(), known)
    return f"{of.channel} {of.code!r} is not known; say what it is in the mapping: {where}{hint}"


def entry_of(
    batch: Batch, of: Observed, code: Code, useless: Counter[tuple[str, str]], context: Context
) -> dict[str, Any] | None:
    """Return the keys of an entry: of its file, else of its code, else of the defaults; None where one is no good."""
    known, entry = entry_keys(code.list), dict[str, Any]()
    sources: dict[str, str] = {}
    before = len(context.faults.lines)
    for column, value in of.attributes.items():
        key, unit = context.column(column)
        if key is None or key == "ignore":
            continue
        if key not in known:
            lacking = "the boundary has" if code.list == "boundary" else f"{code.list.replace('_', ' ')} have"
            useless[column, f"{lacking} no such key"] += 1
            continue
        try:
            key, said = plain_key(key, entry_value(key, value, unit, batch.unit_m, context.mapping.decimal))
        except ArgumentError as error:
            context.faults.add(batch.file, of.place, f"{column} {error}")
            continue
        if key in sources and entry[key] != said:
            exact = [name for name in (sources[key], column) if name.strip().lower() == key]
            if len(exact) != 1:
                context.faults.add(batch.file, of.place, f"{sources[key]} and {column} say different things of {key}")
                continue
            useless[column if exact[0] != column else sources[key], f"{exact[0]} says the {key} already"] += 1
            if exact[0] != column:
                continue
        entry[key], sources[key] = settled(batch, of, code, (key, column, said), context), column
    own = None if context.mapping.units is None else UNITS[context.mapping.units]
    for given in (code.set, context.mapping.defaults.get(code.list, {})):
        held = dict(entry)
        for key, value in given.items():
            try:
                key, said = plain_key(key, entry_value(key, value, None, own, "."))
            except ArgumentError as error:
                context.faults.add("mapping", "", f"{key} of {code.list} {error}")
                continue
            if key not in held and not (key in ERRORS and ERRORS & held.keys()):
                entry[key] = said
    return entry if len(context.faults.lines) == before else None


def plain_key(key: str, value: Any) -> tuple[str, Any]:
    """Return a key and value as documents have them: a radius for a diameter, a flow for one that names its unit."""
    if key == "diameter":
        return "radius", value / 2
    return ("flow", value * FLOWS[key]) if key in FLOWS else (key, value)


def settled(batch: Batch, of: Observed, code: Code, given: tuple[str, str, Any], context: Context) -> Any:
    """Return the value of a key; note a kind or class other than the code says."""
    key, column, said = given
    own = code.set.get(key)
    if key not in ("kind", "class") or own is None:
        return said
    if said.lower() != own:
        context.faults.add(batch.file, of.place, f"its code {of.code} says {key} {own}, the field {column} says {said}")
    return own


def shaped(
    batch: Batch,
    seen: tuple[Observed, list[tuple[float, float]], Code, str, dict[str, Any]],
    rows: list[ReportRow],
    context: Context,
) -> list[Thing]:
    """Return the things of one geometry; note where it does not fit its code."""
    of, points, code, name, entry = seen
    what = f"{of.code} ({code.list})"
    thing = Thing(code.list, "point", points, entry, batch.file, of.place, what)
    if code.list == "flags":
        if name and "line" not in entry:
            entry["line"] = name
        return [
            Thing(
                "flags",
                "point",
                [point],
                dict(entry),
                batch.file,
                f"{of.place}{f', point {k}' if len(points) > 1 else ''}",
                what,
            )
            for k, point in enumerate(points, start=1)
        ]
    if of.holes:
        if code.list == "swept":
            context.faults.add(
                batch.file,
                of.place,
                f"swept ground has {of.holes} holes, where nobody swept: draw it as areas without holes",
            )
            return []
        rows.append(thing.row("changed", f"its {of.holes} holes count as part of it"))
    if code.shape == "any":
        thing.shape = {"point": "point", "line": "path", "area": "outline"}[of.kind]
        if thing.shape == "outline" and code.list == "probes":
            return misfit(batch, of, "a probe is a point or a line", context)
    elif code.shape == "point":
        if of.kind == "line":
            return misfit(batch, of, f"{code.meaning}: it is a point", context)
        if of.kind == "area":
            thing.points = [centre(points)]
            rows.append(thing.row("changed", "the middle of its outline is its place"))
    elif code.shape == "outline":
        if of.radius is not None:
            thing.points = circle(points[0], of.radius, context.flatten_m)
            rows.append(thing.row("changed", f"a circle, taken with {len(thing.points)} corners"))
        elif of.kind == "line":
            thing.points = closed(thing, rows)
        thing.shape = "outline"
    elif of.kind == "area":
        return misfit(batch, of, f"{code.meaning}: it is a line", context)
    else:
        thing.shape = "path"
    if code.list in ROUND:
        rounded(thing, of)
    thing.made_id = of.code if name else ""
    return [thing] if complete(thing, context) else []


def misfit(batch: Batch, of: Observed, said: str, context: Context) -> list[Thing]:
    """Note a geometry that does not fit its code."""
    context.faults.add(batch.file, of.place, f"{said}; this is {SHAPE_WORDS[of.kind]} of code {of.code}")
    return []


def rounded(thing: Thing, of: Observed) -> None:
    """Put the radius of a round dig or probe under its key."""
    if of.radius is not None:
        thing.entry.setdefault("radius", of.radius)
    unused = {"point": "width", "path": "radius", "outline": "both"}[thing.shape]
    for key in ("radius", "width"):
        if unused in (key, "both"):
            thing.entry.pop(key, None)


def complete(thing: Thing, context: Context) -> bool:
    """Whether a thing says all that its entry needs; what is missing is noted."""
    needed = list(NEEDED.get(thing.key, ()))
    if thing.key in ROUND:
        needed += {"point": ["radius"], "path": ["width"], "outline": []}[thing.shape]
    missing = [key for key in needed if key not in thing.entry]
    if missing:
        said = " and ".join(missing)
        more = " (a tree to be planted has the code PLANT)" if thing.key == "trees" else ""
        context.faults.add(
            thing.file,
            thing.place,
            f"{thing.what} has no {said}: add a column, or defaults.{thing.key} in the mapping{more}",
        )
    least = {"outline": 3, "path": 2, "point": 1}[thing.shape]
    if len(thing.points) < least:
        word = "corners" if thing.shape == "outline" else "points"
        context.faults.add(
            thing.file, thing.place, f"{thing.what} has {len(thing.points)} {word}; it needs {least} or more"
        )
    return not missing and len(thing.points) >= least


def joined(
    batch: Batch,
    name: str,
    group: list[tuple[Observed, Points, Code]],
    useless: Counter[tuple[str, str]],
    context: Context,
) -> list[Thing]:
    """Return the outline or path that points of one code make, in the order of the file."""
    entry: dict[str, Any] = {}
    for of, _, code in group:
        own = entry_of(batch, of, code, useless, context)
        for key, value in ({} if own is None else own).items():
            if key == "id":  # a number of the point, not of what it is a corner of
                continue
            if entry.setdefault(key, value) != value:
                context.faults.add(
                    batch.file, of.place, f"{key} is {value}, and {entry[key]} at another point of {of.code}"
                )
    code = group[0][2]
    points = [point for _, found, _ in group for point in found]
    first, last = group[0][0].place, group[-1][0].place
    place = first if len(group) == 1 else f"{first} to {last}"
    thing = Thing(code.list, code.shape, points, entry, batch.file, place, f"{code.code}{name} ({code.list})")
    if thing.shape == "outline" and len(points) > 3 and math.dist(points[0], points[-1]) <= CLOSES_M:
        thing.points = points[:-1]
    if code.list in ROUND:
        rounded(thing, group[0][0])
    thing.made_id = f"{code.code}{name}" if name else ""
    return [thing] if complete(thing, context) else []


def closed(thing: Thing, rows: list[ReportRow]) -> list[tuple[float, float]]:
    """Return the corners of a line that stands for an outline; say so where it did not close."""
    points = thing.points
    gap = math.dist(points[0], points[-1])
    if gap <= CLOSES_M:
        return points[:-1]
    if len(points) > 2:
        rows.append(thing.row("changed", f"its line is open: it is closed with a straight side of {gap:.2f} m"))
    return points


def centre(points: Points) -> tuple[float, float]:
    """Return the centroid of an outline.

    Examples
    --------
    >>> centre([(0, 0), (4, 0), (4, 2), (0, 2)])
    (2.0, 1.0)
    """
    x0, y0 = points[0]
    twice = x_sum = y_sum = 0.0
    for (xa, ya), (xb, yb) in zip(points, [*points[1:], points[0]], strict=True):
        cross = (xa - x0) * (yb - y0) - (xb - x0) * (ya - y0)
        twice += cross
        x_sum += cross * (xa + xb - 2 * x0)
        y_sum += cross * (ya + yb - 2 * y0)
    if abs(twice) < 1e-12:
        return sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points)
    return x0 + x_sum / (3 * twice), y0 + y_sum / (3 * twice)


def circle(middle: tuple[float, float], radius: float, flatten_m: float) -> list[tuple[float, float]]:
    """Return corners on a circle whose sides lie no farther than that from it."""
    step = 2 * math.acos(max(1 - flatten_m / radius, 0.0)) if radius > flatten_m else math.pi / 2
    count = max(8, math.ceil(2 * math.pi / step))
    turns = [2 * math.pi * k / count for k in range(count)]
    return [(middle[0] + radius * math.cos(turn), middle[1] + radius * math.sin(turn)) for turn in turns]
