"""Passes of a detector on the sheet: where to make them before anybody digs, and what each settles."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from underturf.crew.blocks import Block, Group, Heading, Table, Text
from underturf.crew.points import Point
from underturf.crew.spots import PLACE
from underturf.crew.words import percent

if TYPE_CHECKING:
    from underturf.crew.plan import Plan
    from underturf.results import SweepPlan

__all__ = ["LEAST_BITS", "PASSES", "sweep_block", "sweep_points"]

#: Passes on a sheet, at most. Design: what a crew does before it digs.
PASSES = 3

#: A pass that tells less about what it settles best is not on the sheet, bits. Design: it would hardly change a chance.
LEAST_BITS = 0.05


def label_of(number: int) -> str:
    """Return what a pass is called on the sheet."""
    return f"pass {number}"


def sweep_points(sweeps: SweepPlan) -> list[Point]:
    """Return the ends of the passes, to be tied."""
    ends = [
        (f"{label_of(it.number)} {word}", x, y)
        for it in sweeps
        for word, x, y in (("from", it.x0_m, it.y0_m), ("to", it.x1_m, it.y1_m))
    ]
    return [Point(*end) for end in ends]


def sweep_block(plan: Plan) -> list[Block]:
    """List the passes of a detector that tell most, with their ends."""
    told = [it for it in plan.sweeps if it.settles_bits >= LEAST_BITS]
    if not told:
        return []
    rows: list[tuple[str, ...] | Group] = []
    for it in told:
        settles = re.sub(r"line(s?) (\d)", lambda found: f"ML{found[2]}", it.settles)
        settles = re.sub(r" and (\d+) are one", r" and ML\1 are one", settles)
        rows.append(Group(f"{label_of(it.number)}: it settles {settles}; chance that it sounds {percent(it.p_sounds)}"))
        rows += [(f"{label_of(it.number)} {end}", *plan.row(f"{label_of(it.number)} {end}")) for end in ("from", "to")]
    words = (
        "Before digging, pass a detector slowly from one end to the other, in this order. Flag what sounds and have the sheet "
        "made anew. A pass that stays silent clears nothing."
    )
    return [Heading("Sweep here first"), Text(words), Table(PLACE, tuple(rows), side_by_side=2)]
