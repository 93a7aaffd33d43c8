"""Where a plan of probes puts the spots: now, and after each outcome of each probe.

Probes planned with ``shift_m`` are chosen for spots that may move: their plan says where each would go. A sheet that showed
the spots where they were drawn would send the crew to places that nobody means to dig.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from underturf.digs import Dig, Hole, Pit, Trench, from_core
from underturf.results.probe_plan import ProbePlan

if TYPE_CHECKING:
    from underturf import _core
    from underturf.crew.points import Places

__all__ = ["LEAST_M", "Move", "Shift", "moved", "moves_of", "shifts_now", "unless_there"]

#: Shifts below this are none, metres.
LEAST_M = 1e-6

Shift = tuple[float, float]


@dataclass(frozen=True)
class Move:
    """Where a spot goes when a probe has reported: by so much from its place now, east and north on the plan, metres."""

    spot: int
    probe: str
    outcome: str
    dx_m: float
    dy_m: float

    @property
    def label(self) -> str:
        """What the place is called in the list of places: number of the spot, probe and outcome."""
        return f"{self.spot + 1} if {self.probe} {self.outcome}"


def planned(places: Places) -> list[dict[str, Any]]:
    """Return what a plan with shifts says of each probe and dig; nothing for any other probes."""
    if not isinstance(places, ProbePlan) or not places.shift_m:
        return []
    return [row for row in places._outcome_records() if "dx_now_m" in row]


def by_name(digs: Sequence[_core.Dig]) -> dict[str, int]:
    """Return the place of each dig in the list; names that two digs share name neither."""
    names = [dig.id for dig in digs]
    return {name: k for k, name in enumerate(names) if names.count(name) == 1}


def shifts_now(places: Places, digs: Sequence[_core.Dig]) -> dict[int, tuple[Shift, float]]:
    """Return the shift of each dig that a plan names, as things stand, and the chance that the plan saw there."""
    where = by_name(digs)
    return {
        where[row["dig"]]: ((row["dx_now_m"], row["dy_now_m"]), row["p_now"])
        for row in planned(places)
        if row["dig"] in where
    }


def unless_there(
    shifts: dict[int, tuple[Shift, float]], p_given: npt.NDArray[np.float64], p_moved: npt.NDArray[np.float64]
) -> dict[int, Shift]:
    """Keep the shifts that are still to be made: who hands over digs that were shifted already would move them twice.

    A dig is there already if the plan's chance is that of the place given and not that of the place it would move to.
    """
    return {
        k: shift for k, (shift, p) in shifts.items() if not (abs(p_given[k] - p) < 1e-9 and abs(p_moved[k] - p) > 1e-9)
    }


def moves_of(places: Places, digs: Sequence[_core.Dig]) -> Iterator[Move]:
    """Yield what moves after each outcome of each probe of a plan, in the order of the probes."""
    if not isinstance(places, ProbePlan):
        return
    labels = {probe.number: f"P{k + 1}" for k, probe in enumerate(places)}
    where = by_name(digs)
    for row in planned(places):
        if row["probe"] not in labels or row["dig"] not in where:
            continue
        for outcome in ("found", "clear"):
            dx, dy = (row[f"d{axis}_if_{outcome}_m"] - row[f"d{axis}_now_m"] for axis in "xy")
            if math.hypot(dx, dy) > LEAST_M:
                yield Move(where[row["dig"]], labels[row["probe"]], outcome, dx, dy)


def moved(dig: _core.Dig, shift: Shift) -> _core.Dig:
    """Return a dig that lies elsewhere and is the same in all else."""
    there: Dig = from_core(dig)
    dx, dy = shift
    if isinstance(there, Hole):
        there = dataclasses.replace(there, x_m=there.x_m + dx, y_m=there.y_m + dy)
    elif isinstance(there, Trench):
        there = dataclasses.replace(there, path_m=tuple((x + dx, y + dy) for x, y in there.path_m))
    elif isinstance(there, Pit):
        there = dataclasses.replace(there, outline_m=tuple((x + dx, y + dy) for x, y in there.outline_m))
    return there._bind(dig.id)
