"""What is set out: spots, probes and stakes, each with its place in metres, and their ties to fixed points."""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
import pandas as pd

from underturf.crew.lengths import tape_text, width_text
from underturf.dig_lists import digs_of, result_digs
from underturf.digs import Dig, DigLike
from underturf.directions import azimuth_deg, compass
from underturf.errors import ArgumentError
from underturf.results.base import Result
from underturf.results.probe_plan import ProbePlan

if TYPE_CHECKING:
    from underturf import _core
    from underturf.site import Site

__all__ = [
    "Fixed",
    "Places",
    "Point",
    "Probe",
    "as_digs",
    "as_probes",
    "probe_text",
    "size_text",
    "spot_points",
    "tied",
]

#: What is taken for spots and probes: digs as everywhere, a result that holds digs, or a table with a row each.
Places: TypeAlias = "DigLike | Iterable[DigLike] | Result[object] | pd.DataFrame | None"

#: Depth of a probe whose table names none, metres: below the usual cover of a lateral.
PROBE_DEPTH_M = 0.45

#: Chances before and after that print alike, as a plan of probes writes them.
ALIKE = re.compile(r",? (\d+ %|under 1 %|over 99 %) to \1:")

#: Sides of a line in a table.
SIDES = {"left": "L", "right": "R"}

#: Columns of a table of probes that say what follows from each outcome, with the words of the sheet.
OUTCOMES = {"if_clear": "if clear: ", "if_found": "if found: ", "decides": "", "reason": "why: "}


@dataclass(frozen=True)
class Point:
    """A point to set out."""

    label: str
    x_m: float
    y_m: float


@dataclass(frozen=True)
class Probe:
    """A probe to dig, in the order of the plan."""

    label: str
    dig: _core.Dig
    words: str = ""
    tool: str = ""


@dataclass(frozen=True, eq=False)
class Fixed:
    """Fixed points, pairs of them, and the tie of every point set out."""

    points: tuple[tuple[str, float, float], ...] = ()
    pairs: tuple[tuple[int, int, float], ...] = ()
    ties: pd.DataFrame = field(default_factory=pd.DataFrame)

    @functools.cached_property
    def records(self) -> list[dict[Any, Any]]:
        """The ties, row by row."""
        return self.ties.to_dict("records")

    def letter(self, k: int) -> str:
        """Return the letter of a fixed point.

        Examples
        --------
        >>> Fixed().letter(0), Fixed().letter(27)
        ('A', 'B2')
        """
        return "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[k % 26] + (str(k // 26 + 1) if k >= 26 else "")

    def cells(self, k: int, units: str) -> tuple[str, str, str]:
        """Write the tie of one point: two tapes, distance along the line of the two, distance square to it."""
        tie = self.records[k]
        if pd.isna(tie["pair"]):
            return f"no tie: {tie['refused']}", "", ""
        a, b, _ = self.pairs[int(tie["pair"])]
        first, second = self.letter(a), self.letter(b)
        side = "left" if tie["left_m"] > 0 else "right"
        tapes = f"{first} {tape_text(tie['to_a_m'], units)}  {second} {tape_text(tie['to_b_m'], units)}"
        if not tie["square_is_free"]:
            return tapes, f"{first}{second}: built over", side
        along = f"{first}{second} {tape_text(tie['along_m'], units)}"
        return tapes, along, f"{tape_text(abs(tie['left_m']), units)} {side}"

    def row(self, k: int, units: str) -> tuple[str, str, str]:
        """Write the tie of one point for a table, shorter: two of them stand side by side on the page in feet too."""
        tapes, along, aside = self.cells(k, units)
        if not along:
            return tapes, along, aside
        length, _, side = aside.rpartition(" ")
        short = f"{length} {SIDES[side]}".strip()
        return close(tapes), close(along), close(short)

    def greatest_error_m(self) -> float:
        """Return the greatest error of a tie, one standard deviation, metres; NaN without ties."""
        return float(self.ties["error_m"].max()) if len(self.ties) else math.nan


def tied(site: Site, points: Iterable[Point]) -> Fixed:
    """Tie points to fixed points of the site."""
    found: dict[str, Any] = site._handle.ties([(point.x_m, point.y_m) for point in points])
    return Fixed(tuple(found["fixed"]), tuple(found["pairs"]), pd.DataFrame(found["ties"]))


def as_digs(places: Places) -> DigLike | list[DigLike] | None:
    """Return spots as digs; a table becomes round holes, and has ``x_m``, ``y_m``, ``radius_m`` and ``depth_m``.

    Names are its column ``id``, ``dig`` or ``spot``, else its index.
    """
    if isinstance(places, Result):
        return list(result_digs(places))
    if isinstance(places, pd.DataFrame):
        return list(digs_of(places, "digs"))
    if places is None or isinstance(places, str | Dig):
        return places
    return list(places)


def as_probes(places: Places, site: Site) -> list[Probe]:
    """Return probes in order, numbered P1, P2, ...; a table may say what follows from each outcome."""
    if places is None:
        return []
    tool, digs = "", list[DigLike]()
    if isinstance(places, ProbePlan):
        digs, words, tool = list(places.digs), [changed(probe.decides) for probe in places], places.tool
    elif isinstance(places, pd.DataFrame):
        digs = list(digs_of(places, "probes", PROBE_DEPTH_M))
        words = [outcome_words(row) for row in places.to_dict("records")]
    else:
        places = result_digs(places) if isinstance(places, Result) else places
        digs = [places] if isinstance(places, str | Dig) else list(places)
        words = [""] * len(digs)
    bound = []
    for k, dig in enumerate(digs):
        if isinstance(dig, str):
            bound.append(site._handle.dig(dig))
        elif isinstance(dig, Dig):
            bound.append(dig._bind(dig.id or f"probe{k + 1}"))
        else:
            raise ArgumentError(f"probes[{k}]: {dig!r} is no Hole, Trench or other dig, and no name of one")
    return [Probe(f"P{k + 1}", dig, text, tool) for k, (dig, text) in enumerate(zip(bound, words, strict=True))]


def outcome_words(row: Mapping[Any, Any]) -> str:
    """Say what a probe decides, from the columns of its table that are texts."""
    return "; ".join(f"{said}{row[name]}" for name, said in OUTCOMES.items() if isinstance(row.get(name), str))


def changed(words: str) -> str:
    """Leave out the chances of a dig whose two ends print alike: its verdict changes, and that is said.

    Examples
    --------
    >>> changed("found: maple 5 % to 69 %: uncover. clear: maple perhaps, 5 % to 5 %: dig by hand; oak 5 % to 5 %: probe.")
    'found: maple 5 % to 69 %: uncover. clear: maple perhaps: dig by hand; oak: probe.'
    """
    return ALIKE.sub(":", words)


def size_text(dig: _core.Dig, units: str) -> str:
    """Write the size of a dig."""
    depth = f"{with_unit(dig.depth_m, units)} deep"
    if dig.kind == "hole":
        return f"round, {with_unit(2 * dig.half_width_m, units)} across, {depth}"
    if dig.kind == "trench":
        length = float(np.linalg.norm(np.diff(dig.points_m, axis=0), axis=1).sum())
        return f"trench, {with_unit(length, units)} long, {with_unit(2 * dig.half_width_m, units)} wide, {depth}"
    return f"pit of {len(dig.points_m)} corners, {depth}"


def probe_text(probe: Probe, units: str) -> str:
    """Write what a probe is and its size; a rod makes no hole."""
    if probe.tool == "rod":
        return f"rod, pushed {with_unit(probe.dig.depth_m, units)} deep"
    if probe.tool == "slit" and probe.dig.kind == "trench":
        return size_text(probe.dig, units).replace("trench", "slit", 1)
    return size_text(probe.dig, units)


def close(text: str) -> str:
    r"""Write lengths in feet without the blank between feet and inches.

    Examples
    --------
    >>> print(close("A 50' 9½\"  B 6' 0\""), close("A 7.38  B 6.99"))
    A 50'9½"  B 6'0" A 7.38  B 6.99
    """
    return text.replace("' ", "'")


def with_unit(length_m: float, units: str) -> str:
    """Write a length with its unit; feet and inches carry theirs."""
    return tape_text(length_m, units).replace(" ", "\u00a0") + ("" if units == "ft" else "\u00a0m")


def about(width_m: float, units: str) -> str:
    """Write a width of doubt with its unit."""
    return width_text(width_m, units) + ("" if units == "ft" else "\u00a0m")


def spot_points(label: str, dig: _core.Dig, y_azimuth_deg: float = 0.0) -> list[Point]:
    """Return the points to set out for a dig: the middle of a hole, bends of a trench, corners of a pit."""
    points = dig.points_m.tolist()
    if dig.kind == "hole":
        return [Point(label, *points[0])]
    if dig.kind == "trench":
        ends = ["start", *(f"bend {k}" for k in range(1, len(points) - 1)), "end"]
        return [Point(f"{label} {end}", x, y) for end, (x, y) in zip(ends, points, strict=True)]
    middle = dig.points_m.mean(axis=0)
    names = [compass(azimuth_deg(x - middle[0], y - middle[1], y_azimuth_deg)) for x, y in points]
    if len(set(names)) < len(names):
        names = [str(k + 1) for k in range(len(points))]
    return [Point(f"{label} corner {name}", x, y) for name, (x, y) in zip(names, points, strict=True)]
