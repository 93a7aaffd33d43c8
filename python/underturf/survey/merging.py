"""The same thing in several files: merged where places agree within their errors and nothing says otherwise, and reported."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable

from underturf.survey.report import ReportRow
from underturf.survey.things import Thing

__all__ = ["apart_because", "merged", "same_within_m", "standard_deviation_m"]

#: Standard deviation where neither the file nor the mapping states one: the document's own defaults, else a careful tape.
DEFAULT_SD_M = {"heads": 0.05, "flags": 0.1, "marks": 0.25}
OTHER_SD_M = 0.02

#: Places nearer than this are the same whatever their standard deviations.
LEAST_M = 0.05

#: Standard deviations in the horizontal accuracy at 95 %, as site documents read it.
SDS_OF_ACCURACY_95 = 2.4477

#: Keys by which things at one place are told apart, with the words for it.
TELLING = {
    "kind": "kind",
    "class": "class",
    "zone": "zone",
    "line": "line",
    "radius": "radius",
    "depth": "depth",
    "found": "finding",
}

#: Those of a list that tell; others are completed from one another.
TELLS = {
    "heads": ("kind", "zone"),
    "flags": ("class", "line"),
    "probes": ("radius", "depth", "found"),
    "digs": ("radius", "width", "depth"),
}


def standard_deviation_m(thing: Thing) -> float:
    """Return the standard deviation of a thing's place along each axis."""
    if "accuracy_95" in thing.entry:
        return float(thing.entry["accuracy_95"]) / SDS_OF_ACCURACY_95
    return float(thing.entry.get("sd", DEFAULT_SD_M.get(thing.key, OTHER_SD_M)))


def same_within_m(one: Thing, other: Thing) -> float:
    """Return how far apart two measurements of one thing may lie: two sd of their difference, 0.05 m at least."""
    return max(LEAST_M, 2 * math.hypot(standard_deviation_m(one), standard_deviation_m(other)))


def merged(things: Iterable[Thing], base: Iterable[Thing] = ()) -> tuple[list[Thing], list[ReportRow]]:
    """Return things once each, and rows of the report.

    Things of two files, or two of one name, are one where their places agree. The place is the mean weighted by 1/sd2; entries of
    the site document keep theirs. What one says and the other does not is kept.
    """
    things, held = list(things), list(base)
    kept = Neighbours([*held, *things])
    for of in held:
        kept.add(of)
    fresh: list[Thing] = []
    rows: list[ReportRow] = []
    for thing in things:
        near = [of for of in kept.about(thing) if is_near(of, thing)]
        near.sort(key=lambda of: distance(of, thing))
        twin = next((of for of in near if may_be_one(of, thing) and apart_because(of, thing) is None), None)
        if twin is not None:
            rows.append(thing.row("merged", merge(twin, thing)))
            continue
        for of in near:
            reason = apart_because(of, thing)
            if reason is not None and of.file != thing.file:
                said = f"{distance(of, thing):.2f} m from {where(of)}, kept apart: {reason}"
                rows.append(thing.row("changed", said))
        rows.append(thing.row("taken"))
        kept.add(thing)
        fresh.append(thing)
    return fresh, rows


class Neighbours:
    """Things by list, shape and square of the plane, so that few are compared.

    Parameters
    ----------
    things : list of Thing
        All that will be looked at: squares are as wide as the least certain of them needs.
    """

    def __init__(self, things: list[Thing]) -> None:
        worst = max((standard_deviation_m(thing) for thing in things), default=0.0)
        # A mean may have moved by as much again as things may lie apart.
        self.side_m = 2 * max(LEAST_M, 2 * math.sqrt(2) * worst)
        self.squares: defaultdict[tuple[str, str, int, int], list[Thing]] = defaultdict(list)

    def square(self, thing: Thing) -> tuple[int, int]:
        """Return the square that a point lies in; outlines and paths share one, since they may begin anywhere."""
        if thing.shape != "point":
            return 0, 0
        x, y = thing.points[0]
        return math.floor(x / self.side_m), math.floor(y / self.side_m)

    def add(self, thing: Thing) -> None:
        """Put a thing in."""
        self.squares[thing.key, thing.shape, *self.square(thing)].append(thing)

    def about(self, thing: Thing) -> list[Thing]:
        """Return the things that may be near."""
        i, j = self.square(thing)
        steps = [(0, 0)] if thing.shape != "point" else [(a, b) for a in (-1, 0, 1) for b in (-1, 0, 1)]
        return [of for a, b in steps for of in self.squares.get((thing.key, thing.shape, i + a, j + b), ())]


def where(thing: Thing) -> str:
    """Return where a thing stands, in words."""
    return f"{thing.file}, {thing.place}" if thing.place else thing.file


def may_be_one(one: Thing, other: Thing) -> bool:
    """Whether things may be two measurements: of two files, or of one name. One file lists each thing once."""
    apart = one.file != other.file and other.file not in one.files
    return apart or (one.name() is not None and one.name() == other.name())


def distance(one: Thing, other: Thing) -> float:
    """Return how far apart things lie: the largest distance of points that belong together; infinite for unlike shapes."""
    if one.shape == "point":
        return math.dist(one.points[0], other.points[0])
    a, b = one.points, other.points
    if len(a) != len(b):
        return math.inf
    orders = [b, b[::-1]]
    if one.shape == "outline":
        orders = [way[k:] + way[:k] for way in orders for k in range(len(way))]
    return min(max(math.dist(p, q) for p, q in zip(a, order, strict=True)) for order in orders)


def is_near(one: Thing, other: Thing) -> bool:
    """Whether the places of things agree within their errors."""
    far = 5 + same_within_m(one, other)
    if one.shape == "point" or min(math.dist(one.points[0], of) for of in other.points) < far:
        return distance(one, other) <= same_within_m(one, other)
    return False


def apart_because(one: Thing, other: Thing) -> str | None:
    """Return what tells two things apart that lie at one place; None where nothing does."""
    a, b = one.name(), other.name()
    if a is not None and b is not None and a != b:
        return f"names {a} and {b}"
    for key in TELLS.get(one.key, ("kind", "class")):
        mine, yours = one.entry.get(key), other.entry.get(key)
        if mine is None or yours is None:
            continue
        if differ(mine, yours):
            return f"{TELLING.get(key, key)} {mine} and {yours}"
    return None


def differ(mine: object, yours: object) -> bool:
    """Whether two values of a key say different things; a millimetre is rounding."""
    if isinstance(mine, float) and isinstance(yours, float):
        return abs(mine - yours) > 0.001
    return mine != yours


def merge(kept: Thing, thing: Thing) -> str:
    """Put a second measurement into the first; return what was done, in words."""
    away = distance(kept, thing)
    kept.files.add(thing.file)
    said = f"the same as {where(kept)}, {away:.3f} m away"
    unlike = [
        key
        for key, value in thing.entry.items()
        if key in kept.entry and differ(kept.entry[key], value) and key not in ("id", "sd", "accuracy_95")
    ]
    if kept.is_base:
        said += "; the document keeps its place"
    elif kept.shape == "point":
        ours = kept.weight or standard_deviation_m(kept) ** -2
        new = standard_deviation_m(thing) ** -2
        (x, y), (u, v) = kept.points[0], thing.points[0]
        kept.points = [((x * ours + u * new) / (ours + new), (y * ours + v * new) / (ours + new))]
        kept.weight = ours + new
        said += "; their weighted mean is taken"
        if standard_deviation_m(thing) < standard_deviation_m(kept) or not {"sd", "accuracy_95"} & kept.entry.keys():
            better = {key: thing.entry[key] for key in ("sd", "accuracy_95") if key in thing.entry}
            if better and standard_deviation_m(thing) <= standard_deviation_m(kept):
                kept.entry = {
                    key: value for key, value in kept.entry.items() if key not in ("sd", "accuracy_95")
                } | better
    else:
        said += "; the first is taken"
    for key, value in thing.entry.items():
        if key not in ("sd", "accuracy_95"):
            kept.entry.setdefault(key, value)
    kept.made_id = kept.made_id or thing.made_id
    return said + (f"; it keeps its own {' and '.join(unlike)}" if unlike else "")
