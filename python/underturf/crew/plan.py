"""Everything that a sheet tells, worked out once: spots with their chances, probes, likely lines, stakes, ties."""

from __future__ import annotations

import datetime
import functools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from underturf._checks import length
from underturf._progress import Progress
from underturf.crew.finds import Find, finds_of
from underturf.crew.likely_lines import LikelyLine, lines_of
from underturf.crew.metal import label_of, stations
from underturf.crew.moves import LEAST_M, Move, Shift, moved, moves_of, shifts_now, unless_there
from underturf.crew.points import Fixed, Places, Point, Probe, as_digs, as_probes, spot_points, tied
from underturf.crew.sweeps import PASSES, sweep_points
from underturf.dig_lists import bind_digs
from underturf.digs import from_core
from underturf.directions import y_azimuth_deg
from underturf.methods.assessment import assess_with_trees
from underturf.options import Running, SheetOptions, TreeRules, chosen
from underturf.settings import settings_table

if TYPE_CHECKING:
    from underturf import _core
    from underturf.layouts import Layouts
    from underturf.results import MetalLines, SweepPlan
    from underturf.site import Site

__all__ = ["Plan", "SheetOptions", "ShutOff", "Stake", "make_plan"]

#: What likely lines call a line that metal tells of.
METAL = "metal line"


@dataclass(frozen=True)
class Stake:
    """A flag on a likely line, called L and its number, or on a metal line, called ML and its number."""

    line: str
    label: str
    x_m: float
    y_m: float
    half_width_m: float
    chance: float
    near_m: float


@dataclass(frozen=True)
class ShutOff:
    """Where water can be closed."""

    label: str
    words: str
    x: float
    y: float
    source: bool


@dataclass(frozen=True, eq=False)
class Plan:
    """What the sheet tells. Lengths in metres, but for places of the document in its own unit.

    ``digs`` lie where they are to be dug, ``drawn`` where they were given; ``shifts`` holds what lies between, of those that
    moved.
    """

    site: Site
    document: dict[str, Any]
    layouts: Layouts
    digs: tuple[_core.Dig, ...]
    drawn: tuple[_core.Dig, ...]
    shifts: dict[int, Shift]
    p_drawn: npt.NDArray[np.float64]
    moves: tuple[Move, ...]
    table: pd.DataFrame
    not_assessed: tuple[str, ...]
    reach_m: float
    trees: dict[int, dict[Any, Any]]
    finds: tuple[Find, ...]
    probes: tuple[Probe, ...]
    lines: pd.DataFrame
    metal: MetalLines
    sweeps: SweepPlan
    stakes: tuple[Stake, ...]
    shut_offs: tuple[ShutOff, ...]
    points: tuple[Point, ...]
    places: dict[str, int]
    fixed: Fixed
    options: SheetOptions
    date: str

    @property
    def units(self) -> str:
        """Unit of the document."""
        return self.site.units

    @property
    def y_azimuth_deg(self) -> float:
        """Azimuth of the plan's y axis."""
        return y_azimuth_deg(self.document)

    @functools.cached_property
    def settings(self) -> dict[str, float]:
        """Every setting as the document has it, or as shipped, in the units of the table of settings."""
        return {**settings_table()["default"].to_dict(), **self.document.get("settings", {})}

    def cells(self, label: str) -> tuple[str, str, str]:
        """Write the tie of the point with that label: two tapes, along, and aside."""
        return self.fixed.cells(self.places[label], self.units)

    def row(self, label: str) -> tuple[str, str, str]:
        """Write the same for a table."""
        return self.fixed.row(self.places[label], self.units)

    @functools.cached_property
    def likely(self) -> tuple[LikelyLine, ...]:
        """The likely lines, as arrays."""
        return lines_of(self.lines, self.y_azimuth_deg)

    @functools.cached_property
    def listed(self) -> tuple[Stake, ...]:
        """The stakes near spots and probes, in the order of their lines."""
        return tuple(stake for stake in self.stakes if stake.near_m <= self.options.near_m)

    @functools.cached_property
    def fixed_used(self) -> tuple[int, ...]:
        """The fixed points from which spots, probes, listed stakes and finds are measured."""
        labels = [point.label for point in self.points] + [stake.label for stake in self.listed]
        labels += [point.label for find in self.finds for point in find.points]
        labels += [point.label for point in sweep_points(self.sweeps)]
        pairs = [self.fixed.records[self.places[label]]["pair"] for label in labels]
        return tuple(sorted({k for pair in pairs if not pd.isna(pair) for k in self.fixed.pairs[int(pair)][:2]}))


def make_plan(
    layouts: Layouts,
    digs: Places,
    probes: Places,
    options: SheetOptions,
    *,
    threads: int | None = None,
    progress: Progress = None,
) -> Plan:
    """Work out what a sheet tells."""
    site = layouts.site
    drawn = bind_digs(as_digs(digs), site)
    run, rules = Running(threads=threads, progress=progress), chosen(options.rules, TreeRules, "rules")
    planned_shifts = shifts_now(probes, drawn)
    known = assess_places(layouts, drawn, planned_shifts, options, rules, run)
    bound, table = known.digs, known.table
    if planned_shifts:
        # Where the plan left a dig it was free to go elsewhere: another shift would contradict the plan.
        told = ["shift_m", "shift_azimuth_deg", "p_shifted", "p_setback_shifted", "p_roots_shifted"]
        rows = [k in planned_shifts for k in range(len(bound))]
        table.loc[rows, told] = np.nan
        table.loc[rows, "shift_note"] = ""
    planned = as_probes(probes, site)
    moves = tuple(moves_of(probes, bound))
    lines = likely_of_pipe(layouts.likely_lines(options.least_chance, options.step_m, run=run))
    metal = layouts.metal_lines()
    sweeps = layouts.plan_sweeps([from_core(dig) for dig in bound], PASSES, run=run)
    dug = [*bound, *(probe.dig for probe in planned)]
    stakes = (*metal_stakes(metal, options, dug), *stakes_of(lines, dug))
    document = site._plain()
    finds = tuple(finds_of(site, document, metal))
    turned = y_azimuth_deg(document)
    points = [point for k, dig in enumerate(bound) for point in spot_points(str(k + 1), dig, turned)]
    points += [point for probe in planned for point in spot_points(probe.label, probe.dig, turned)]
    for move in moves:
        points += spot_points(move.label, moved(bound[move.spot], (move.dx_m, move.dy_m)), turned)
    set_out = [*points, *(Point(stake.label, stake.x_m, stake.y_m) for stake in stakes)]
    set_out += [point for find in finds for point in find.points]
    set_out += sweep_points(sweeps)
    return Plan(
        site=site,
        document=document,
        layouts=layouts,
        digs=tuple(bound),
        drawn=tuple(drawn),
        shifts={k: shift for k, shift in known.shifts.items() if np.hypot(*shift) > LEAST_M},
        p_drawn=known.p_drawn,
        moves=moves,
        table=table,
        not_assessed=layouts.not_assessed,
        reach_m=known.reach_m,
        trees=known.trees,
        finds=finds,
        probes=tuple(planned),
        lines=lines,
        metal=metal,
        sweeps=sweeps,
        stakes=stakes,
        shut_offs=tuple(shut_offs(site)),
        points=tuple(points),
        places={point.label: k for k, point in enumerate(set_out)},
        fixed=tied(site, set_out),
        options=options,
        date=str(datetime.date.today() if options.date is None else options.date),
    )


@dataclass(frozen=True)
class Known:
    """Digs where they are to be dug, with what is known of each: the table of an assessment, and what stands against trees."""

    digs: list[_core.Dig]
    shifts: dict[int, Shift]
    p_drawn: npt.NDArray[np.float64]
    table: pd.DataFrame
    trees: dict[int, dict[Any, Any]]
    reach_m: float


def assess_places(
    layouts: Layouts,
    drawn: Sequence[_core.Dig],
    planned_shifts: dict[int, tuple[Shift, float]],
    options: SheetOptions,
    rules: TreeRules,
    run: Running,
) -> Known:
    """Assess digs where they were drawn and where a plan moves them, all in one go, and take each where it is to be dug."""
    places = [*drawn, *(moved(drawn[k], shift) for k, (shift, _) in planned_shifts.items())]
    assessed, conflicts = assess_with_trees(layouts, places, options.weights, rules=rules, run=run)
    table = assessed.table()
    p = table["p_strike"].to_numpy()
    at = {k: len(drawn) + place for place, k in enumerate(planned_shifts)}
    p_there = np.array([p[at.get(k, k)] for k in range(len(drawn))])
    shifts = unless_there(planned_shifts, p[: len(drawn)], p_there)
    chosen_rows = [at[k] if k in shifts else k for k in range(len(drawn))]
    with_tree = [place for place, dig in enumerate(places) if dig.tree is not None]
    trees = dict(zip(with_tree, conflicts.to_dict("records"), strict=True))
    return Known(
        digs=[places[row] for row in chosen_rows],
        shifts=shifts,
        p_drawn=p[: len(drawn)],
        table=table.iloc[chosen_rows].copy(),
        trees={k: trees[row] for k, row in enumerate(chosen_rows) if row in trees},
        reach_m=assessed.reach_m,
    )


def likely_of_pipe(lines: pd.DataFrame) -> pd.DataFrame:
    """Return likely lines without those that are metal lines in most draws: these have a course of their own."""
    lines = lines[lines["zone"] != METAL].reset_index(drop=True)
    return lines.assign(line=pd.factorize(lines["line"])[0] + 1)


def metal_stakes(metal: MetalLines, options: SheetOptions, digs: Sequence[_core.Dig]) -> list[Stake]:
    """Return stations of metal lines by number, the most dangerous line first."""
    found: list[Stake] = []
    for line, places in stations(metal, length(options.step_m, "step_m"), options.least_chance):
        name = label_of(line)
        for k, (x, y, half, p) in enumerate(places):
            near = min((distance_m(dig, np.array([x, y])) for dig in digs), default=0.0)
            found.append(Stake(name, f"{name}.{k + 1}", x, y, half, p, near))
    return found


def stakes_of(lines: pd.DataFrame, digs: Sequence[_core.Dig]) -> list[Stake]:
    """Return the stations of likely lines by number, each with how near a spot or probe is; near if there is neither."""
    stakes: list[Stake] = []
    placed: dict[int, int] = {}
    for row in lines.to_dict("records"):
        line = row["line"]
        placed[line] = placed.get(line, 0) + 1
        at = np.array([row["x_m"], row["y_m"]])
        near = min((distance_m(dig, at) for dig in digs), default=0.0)
        label = f"L{line}.{placed[line]}"
        stakes.append(Stake(f"L{line}", label, row["x_m"], row["y_m"], row["half_width_m"], row["p_here"], near))
    return stakes


def distance_m(dig: _core.Dig, at: npt.NDArray[np.float64]) -> float:
    """Return the distance from a point to the middle line or outline of a dig, less half the dig's width; 0 at least."""
    points = dig.points_m
    if dig.kind == "pit":
        points = np.vstack([points, points[:1]])
    if len(points) == 1:
        return max(float(np.hypot(*(points[0] - at))) - dig.half_width_m, 0.0)
    start, leg = points[:-1], np.diff(points, axis=0)
    squared = np.maximum((leg**2).sum(axis=1), 1e-12)
    share = np.clip(((at - start) * leg).sum(axis=1) / squared, 0, 1)
    gaps = np.hypot(*(start + leg * share[:, None] - at).T)
    return max(float(gaps.min()) - dig.half_width_m, 0.0)


def shut_offs(site: Site) -> list[ShutOff]:
    """Return where water can be closed, numbered: sources first, then valve boxes; places in the document's unit."""
    found, numbered = [], dict[str, int]()
    for words, x_m, y_m, of_source in site._handle.shut_offs():
        kind = "S" if of_source else "V"
        numbered[kind] = numbered.get(kind, 0) + 1
        found.append(ShutOff(f"{kind}{numbered[kind]}", words, x_m / site.unit_m, y_m / site.unit_m, source=of_source))
    return found
