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
    from underturf.results import PlannedSweep, SweepPlan

__all__ = ["LEAST_BITS", "PASSES", "sweep_block", "sweep_points"]

#: Passes on a sheet, at most. Design: what a crew does before it digs.
PASSES = 3

#: A pass that tells less about what it settles best is not on the sheet, bits. Design: it would hardly change a chance.
LEAST_BITS = 0.05

#: What the sheet says where metal is told of and no pass is seen to pay.
NONE_PAYS = "No place stands out for another pass of the detector. Sweep each spot before you dig it all the same."


def told(sweeps: SweepPlan) -> list[tuple[str, PlannedSweep]]:
    """Return the passes that are on the sheet, under the names that they have there."""
    passes = [it for it in sweeps if it.settles_bits >= LEAST_BITS]
    return [(f"pass {k + 1}", it) for k, it in enumerate(passes)]


def sweep_points(sweeps: SweepPlan) -> list[Point]:
    """Return the ends of the passes, to be tied."""
    return [
        Point(f"{name} {end}", x, y)
        for name, it in told(sweeps)
        for end, x, y in (("from", it.x0_m, it.y0_m), ("to", it.x1_m, it.y1_m))
    ]


def settled(words: str) -> str:
    """Say what a pass settles, metal lines by their names on the sheet.

    Examples
    --------
    >>> settled("whether lines 1 and 2 are one"), settled("whether line 3 leads to box 4")
    ('whether ML1 and ML2 are one', 'whether ML3 leads to box 4')
    """
    words = re.sub(r"^whether lines (\d+) and (\d+)", r"whether ML\1 and ML\2", words)
    return re.sub(r"^whether line (\d+)", r"whether ML\1", words)


def sweep_block(plan: Plan) -> list[Block]:
    """List the passes of a detector that tell most, with their ends, or say that none is seen to pay."""
    rows: list[tuple[str, ...] | Group] = []
    for name, it in told(plan.sweeps):
        rows.append(Group(f"{name}: it settles {settled(it.settles)}; chance that it sounds {percent(it.p_sounds)}"))
        rows += [(f"{name} {end}", *plan.row(f"{name} {end}")) for end in ("from", "to")]
    if not rows:
        return [Text(NONE_PAYS)] if len(plan.metal) else []
    words = (
        "Before digging, pass a detector slowly from one end to the other, in this order. Flag what sounds and have the sheet "
        "made anew. A pass that stays silent clears nothing."
    )
    return [Heading("Sweep here first"), Text(words), Table(PLACE, tuple(rows), side_by_side=2)]
