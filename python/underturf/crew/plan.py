"""Everything that a sheet tells, worked out once: spots with their chances, probes, likely lines, stakes, ties."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
import numpy.typing as npt
import pandas as pd

from underturf._progress import Progress
from underturf.crew.points import Fixed, Places, Point, Probe, as_digs, as_probes, spot_points, tied
from underturf.digs import bind_digs

if TYPE_CHECKING:
    from underturf import _core
    from underturf.layouts import Layouts
    from underturf.site import Site

__all__ = ["Plan", "SheetOptions", "ShutOff", "Stake", "make_plan"]

#: Kinds of source at which water is closed, with what people call them; a stub-out has no valve.
CLOSES = {"meter": "meter", "backflow": "backflow assembly", "pump": "pump"}


Day: TypeAlias = datetime.date | str | None


@dataclass(frozen=True)
class SheetOptions:
    """What is asked of a sheet besides its spots and probes; see `Layouts.crew_sheet`."""

    ticket: str | None = None
    marks_date: Day = None
    date: Day = None
    least_chance: float = 0.25
    step_m: float = 2.0
    near_m: float = 3.0
    annex: bool = False


@dataclass(frozen=True)
class Stake:
    """A flag on a likely line."""

    line: int
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
    """What the sheet tells. Lengths in metres, but for places of the document in its own unit."""

    site: Site
    document: dict[str, Any]
    layouts: Layouts
    digs: tuple[_core.Dig, ...]
    table: pd.DataFrame
    probes: tuple[Probe, ...]
    lines: pd.DataFrame
    stakes: tuple[Stake, ...]
    shut_offs: tuple[ShutOff, ...]
    points: tuple[Point, ...]
    fixed: Fixed
    options: SheetOptions
    date: str

    @property
    def units(self) -> str:
        """Unit of the document."""
        return self.site.units

    def listed(self, most: int | None) -> tuple[Stake, ...]:
        """Return the stakes near spots and probes, at most so many, the nearest ones, in the order of their lines."""
        near = [stake for stake in self.stakes if stake.near_m <= self.options.near_m]
        if most is not None and len(near) > most:
            kept = sorted(near, key=lambda stake: stake.near_m)[:most]
            labels = {stake.label for stake in kept}
            near = [stake for stake in near if stake.label in labels]
        return tuple(near)


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
    chosen = as_digs(digs)
    bound = bind_digs(chosen, site)
    table = layouts.assess(chosen, threads=threads, progress=progress)
    planned = as_probes(probes, site)
    lines = layouts.likely_lines(options.least_chance, options.step_m, threads=threads, progress=progress)
    taken = [*bound, *(probe.dig for probe in planned)]
    stakes = tuple(stakes_of(lines, taken))
    points = [point for k, dig in enumerate(bound) for point in spot_points(str(k + 1), dig)]
    points += [point for probe in planned for point in spot_points(probe.label, probe.dig)]
    set_out = [*points, *(Point(stake.label, stake.x_m, stake.y_m) for stake in stakes)]
    document = site.to_dict()
    return Plan(
        site=site,
        document=document,
        layouts=layouts,
        digs=tuple(bound),
        table=table,
        probes=tuple(planned),
        lines=lines,
        stakes=stakes,
        shut_offs=tuple(shut_offs(document)),
        points=tuple(points),
        fixed=tied(site, set_out),
        options=options,
        date=str(datetime.date.today() if options.date is None else options.date),
    )


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
        stakes.append(Stake(line, label, row["x_m"], row["y_m"], row["half_width_m"], row["chance"], near))
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


def _named(thing: str, name: object) -> str:
    """Return thing and name, or the thing alone where the name says no more."""
    return thing if str(name).lower() in (thing, *thing.split()) else f"{thing} {name}"


def shut_offs(document: dict[str, Any]) -> list[ShutOff]:
    """Return where water can be closed: sources first, then valve boxes."""
    found = []
    sources = [source for source in document.get("sources", []) if source["kind"] in CLOSES]
    for k, source in enumerate(sources):
        kind = CLOSES[source["kind"]]
        found.append(ShutOff(f"S{k + 1}", _named(kind, source["id"]), source["x"], source["y"], True))
    for k, box in enumerate(document.get("valve_boxes", [])):
        zones = ", ".join(str(zone) for zone in box.get("zones", []))
        held = f"zones {zones}" if zones else f"{box['valves']} valves" if "valves" in box else "valves not counted"
        held = held.replace("zones", "zone") if zones and "," not in zones else held
        found.append(ShutOff(f"V{k + 1}", f"{_named('valve box', box['id'])} ({held})", box["x"], box["y"], False))
    return found
