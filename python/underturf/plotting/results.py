"""Results on the plan of their site: digs, spots and probes under what is known of each."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from underturf.digs import Trench
from underturf.plotting.digs import Labelled
from underturf.plotting.names import BESIDE, clean
from underturf.plotting.site_plan import KNOWN, chance_note, draw_plan
from underturf.report import chance_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf import _core
    from underturf.digs import Hole, Pit
    from underturf.results import (
        AssessedDig,
        Assessment,
        MetalLines,
        ProbePlan,
        RankedDig,
        Ranking,
        Spots,
        SweepPlan,
        ValvePlan,
    )

__all__ = [
    "plot_assessment",
    "plot_metal_lines",
    "plot_probe_plan",
    "plot_ranking",
    "plot_spots",
    "plot_sweep_plan",
    "plot_valve_plan",
]


def plot_assessment(assessment: Assessment, ax: Axes | None = None) -> Axes:
    """Draw digs with their chances; see `Assessment.plot`."""
    words = [f"{clean(row.dig, BESIDE)}\n{chance_of(row)}" for row in assessment]
    return plan_of(assessment, ax, words, [chance_note(assessment.not_assessed)])


def plot_ranking(ranking: Ranking, ax: Axes | None = None) -> Axes:
    """Draw digs with their ranks and chances; see `Ranking.plot`."""
    words = [f"{row.rank}. {clean(row.dig, BESIDE)}\n{chance_of(row)}" for row in ranking]
    by = "expected loss" if ranking.by == "loss" else "chance of a strike"
    return plan_of(ranking, ax, words, [f"Numbers: rank by {by}.", chance_note(ranking.not_assessed)])


def plot_spots(spots: Spots, ax: Axes | None = None) -> Axes:
    """Draw spots with their chances; see `Spots.plot`."""
    words = [f"{clean(row.id, BESIDE)}\n{chance_text(row.p_strike)}" for row in spots]
    return plan_of(spots, ax, words, [chance_note(spots.not_assessed)])


def plot_probe_plan(plan: ProbePlan, ax: Axes | None = None) -> Axes:
    """Draw probes and the digs they are planned for; see `ProbePlan.plot`."""
    names = [clean(dig.id or "", BESIDE) for dig in plan.planned_for]
    finds = [f"probe {probe.number}\nfind: {chance_text(probe.p_found)}" for probe in plan]
    labelled = Labelled([bound(dig) for dig in (*plan.planned_for, *plan.digs)], names + finds, probes=len(plan))
    notes = ["Probes are numbered in the order to dig them, each with the chance of a find."]
    return draw_plan(plan.site, ax, labelled, notes=notes, converged=plan.converged)


def plot_valve_plan(plan: ValvePlan, ax: Axes | None = None) -> Axes:
    """Draw the heads that the first valve may or may not raise; see `ValvePlan.plot`."""
    unsure = set(plan[0].unsure_heads) if len(plan) else set()
    label = f"may or may not come up with {clean(plan[0].valve, BESIDE)}" if len(plan) else ""
    heads = plan.site._plain().get("heads", [])
    rings = [(head["x"], head["y"], label) for head in heads if head["id"] in unsure]
    return draw_plan(plan.site, ax, Labelled(), notes=plan.notes, marked=rings, converged=plan.converged)


def plot_sweep_plan(plan: SweepPlan, ax: Axes | None = None) -> Axes:
    """Draw the passes as strips under their numbers; see `SweepPlan.plot`."""
    ends = [[(it.x0_m, it.y0_m), (it.x1_m, it.y1_m)] for it in plan]
    strips = [Trench(path, width_m=STRIP_M, depth_m=STRIP_M, id=f"pass {k + 1}") for k, path in enumerate(ends)]
    words = [f"pass {it.number}\nsounds: {chance_text(it.p_sounds)}" for it in plan]
    called = "pass a detector along this"
    labelled = Labelled([bound(strip) for strip in strips], words, probes=len(plan), called=called)
    notes = [*plan.notes, "Passes are numbered in the order to make them, each with the chance that it sounds."]
    return draw_plan(plan.site, ax, labelled, notes=notes, converged=plan.converged)


# Width of a pass as drawn, metres: the head of a detector.
STRIP_M = 0.3


def plot_metal_lines(metal: MetalLines, ax: Axes | None = None) -> Axes:
    """Draw the courses of metal lines; see `MetalLines.plot`."""
    return draw_plan(metal.site, ax, Labelled(), notes=metal.notes, drawn=metal, converged=metal.converged)


def plan_of(result: Assessment | Ranking | Spots, ax: Axes | None, words: Iterable[str], notes: list[str]) -> Axes:
    """Draw the digs of a result under the words given."""
    labelled = Labelled([bound(dig) for dig in result.digs], list(words))
    return draw_plan(result.site, ax, labelled, notes=notes, converged=result.converged)


def bound(dig: Hole | Pit | Trench) -> _core.Dig:
    """Hand a dig to the engine under its name."""
    return dig._bind(dig.id or "")


def chance_of(row: AssessedDig | RankedDig) -> str:
    """Write the chance of a dig, or what is known to lie there."""
    if row.in_tolerance_zone:
        return KNOWN["tolerance_zone"]
    return "flagged metal" if row.on_flagged_metal else chance_text(row.p_strike)
