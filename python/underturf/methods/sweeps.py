"""Where to pass a detector next: short passes in the order of what they settle."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from underturf._checks import at_least
from underturf._running import working
from underturf.dig_lists import Digs, bind_digs
from underturf.methods.metal import numbers_of_lines
from underturf.methods.tables import about, table_of
from underturf.options import Running, SweepOptions, chosen
from underturf.results.sweep_plan import SweepPlan

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["plan_sweeps"]


def plan_sweeps(
    layouts: Layouts,
    digs: Digs = None,
    n: int = 3,
    *,
    options: SweepOptions | None = None,
    run: Running | None = None,
) -> SweepPlan:
    """Choose where to pass a detector next: which places settle most of what is open about metal lines.

    Passes are a metre or two long, across places where drawn metal differs: where a line may go on, where two lines may be
    one, at a crossing or a bend. They end at the boundary and at walls; one that would lose more than a third of its length is
    not made. A pass is offered only if its gain, of the kind that ``options.by`` asks for, is above twice its Monte Carlo
    error; the first that is not ends the plan. Enter a flag where a pass sounds and swept ground where it stays silent, sample
    anew, plan again.

    Parameters
    ----------
    digs : dig, name, list of them, result or DataFrame, optional
        The digs that matter, as in `strike_probability`. Those inside a tolerance zone or on flagged metal have no part: marks
        and hands decide.
    n : int
        Most passes, 1 to 6. Each is chosen given every outcome of those before it.
    options : SweepOptions, optional
        How passes are made and what they are chosen for.
    run : Running, optional
        Threads, progress and memory.

    Returns
    -------
    SweepPlan
        Iterated over, it gives a `PlannedSweep` each, in the order to make them; ``notes`` are sentences. Its ``table()`` has one
        row a pass, index ``sweep`` from 1: ``x0_m``, ``y0_m``, ``x1_m``, ``y1_m`` (its ends), ``p_sounds`` (chance that it
        sounds), ``information_bits``, ``information_bits_mcse`` (about the layout), ``variance_gain``,
        ``variance_gain_mcse`` (what it takes off the expected Brier score of the digs; where bits are asked for it may be below
        zero: nothing that the draws can see), both after the passes above and judged on draws that had no part in the choice,
        ``settles`` (what it settles best, in words), ``settles_bits`` (about that alone), ``converged``. Fewer than n rows where
        nothing more is open, or the next is not seen to pay; none at all where no pass is. A pass that stays silent clears
        nothing.

    Raises
    ------
    DigError, ArgumentError
        As in `assess`.

    Notes
    -----
    In every draw a pass sounds with a chance that is known, so outcomes are summed over exactly: bits are the mutual information
    of outcome and layout (Lindley 1956).

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("metal")), draws=100, seed=7)
    >>> plan = layouts.plan_sweeps(n=2, options=ut.SweepOptions(by="information"))
    >>> plan.table().index.tolist(), bool(plan[0].settles.startswith("whether "))
    ([1, 2], True)
    """
    how = chosen(options, SweepOptions, "options")
    bound = bind_digs(digs, layouts._site)
    with working(run, "planning passes") as work:
        found = layouts._handle.plan_sweeps(
            bound,
            at_least(1, n, "n"),
            how.by,
            (how.length_m, how.reach_m, how.spacing_m),
            (how.p_detect, how.p_false),
            *work,
        )
    columns = found["rows"]
    number = numbers_of_lines(layouts) if len(columns["x0_m"]) else np.empty(0, dtype=np.int64)
    asked = zip(columns.pop("question"), columns.pop("line"), columns.pop("other"), columns.pop("fixture"), strict=True)
    columns["settles"] = [words_of(question, line, other, fixture, number) for question, line, other, fixture in asked]
    columns["settles_bits"] = columns.pop("settles_bits")
    columns["sweep"] = np.arange(1, len(columns["x0_m"]) + 1)
    table = table_of(layouts, columns, "sweep").astype({"settles": "object"})
    return SweepPlan(
        **about(layouts, table),
        by=how.by,
        variance_before=found["variance_before"],
        candidates=found["candidates"],
        notes=tuple(found["notes"]),
    )


def words_of(question: str, line: int, other: int, fixture: str, number: Any) -> str:
    """Say what a pass settles, lines by their numbers in tables.

    Examples
    --------
    >>> words_of("leads_to", 1, 0, "box-west", [2, 1])
    'whether line 1 leads to box-west'
    >>> words_of("are_one", 0, 1, "", [2, 1])
    'whether lines 1 and 2 are one'
    >>> words_of("runs_here", 0, 0, "", [2, 1]), words_of("metal", 0, 0, "", [])
    ('whether line 2 runs here', 'whether any metal runs here')
    """
    if question == "metal":
        return "whether any metal runs here"
    if question == "are_one":
        first, second = sorted((int(number[line]), int(number[other])))
        return f"whether lines {first} and {second} are one"
    said = {"leads_to": f"leads to {fixture}", "is_there": "is there at all", "runs_here": "runs here"}
    return f"whether line {int(number[line])} {said[question]}"
