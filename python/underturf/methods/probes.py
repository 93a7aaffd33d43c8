"""Where to probe: exploratory hand digs in the order of what they save."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from underturf._checks import Length, at_least, length
from underturf._running import working
from underturf.dig_lists import Digs, bind_digs
from underturf.digs import from_core
from underturf.methods.tables import about, table_of
from underturf.options import ProbeOptions, Running, TreeRules, Weights, chosen, tree_rules, weight_list
from underturf.results.probe_plan import ProbePlan

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["plan_probes"]


def plan_probes(
    layouts: Layouts,
    digs: Digs = None,
    n: int = 8,
    radius_m: Length = 0.25,
    *,
    options: ProbeOptions | None = None,
    weights: Weights = None,
    rules: TreeRules | None = None,
    run: Running | None = None,
) -> ProbePlan:
    """Choose exploratory hand digs by what they save in the decisions about digs.

    The first row is the best single next probe; the order of the table is the order to dig. Enter each report with
    ``site.with_probe(...)``, sample anew and plan again: the rows below were chosen without knowing it.

    Parameters
    ----------
    digs : dig, name, list of them, result or DataFrame, optional
        The digs that matter, as in `strike_probability`. Those inside a tolerance zone or on flagged metal have no part:
        marks and hands decide.
    n : int
        Most probes, 1 to 64.
    radius_m : float
        Radius of a pothole, metres.
    options : ProbeOptions, optional
        How they are dug and what they are chosen for: tool, depth, reach, ``shift_m`` for digs that may move, costs.
    weights : mapping of str to float, optional
        As in `assess`.
    rules : TreeRules, optional
        As in `assess`.
    run : Running, optional
        Threads, progress and memory.

    Returns
    -------
    ProbePlan
        Iterated over, it gives a `PlannedProbe` each, in the order to dig; ``outcomes()`` tells what each outcome means for each
        dig, ``notes`` what else has to be known. Its ``table()`` has one row a probe, index ``probe`` from 1: ``x_m``,
        ``y_m``, ``azimuth_deg`` (of a slit, clockwise from north; NaN: a pothole), ``p_found`` (chance of a find),
        ``p_strike`` (chance that the dig for it meets a line), ``gain``, ``gain_mcse`` (expected loss that it takes off after
        the rows above, judged on draws that had no part in the choice; below zero: nothing they can see), ``variance_gain``,
        ``variance_gain_mcse`` (the same for the expected Brier score), ``own_cost``, ``worth`` (whether it pays by itself, or
        later ones need it: without it the plan is worth less), ``information_bits`` (about whether each dig strikes, summed),
        ``changes_if_found``, ``changes_if_clear`` (names of digs whose verdict or place changes, by this probe alone),
        ``unsure_if_found``, ``unsure_if_clear`` (names of digs whose verdict by these draws changes too, but by less than the
        error of its chances: more draws would tell), ``decides`` (the same in words), ``converged``. Fewer than n rows where
        no more are worth it. A probe is itself a hand dig: the cautions hold for it, and a clear probe is no clearance.

    Raises
    ------
    DigError, ArgumentError
        As in `assess`.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=100, seed=7)
    >>> plan = layouts.plan_probes(n=2, options=ut.ProbeOptions(objective="variance", always=True))
    >>> [probe.number for probe in plan]
    [1, 2]

    The first is dug, found clear, and the next is planned with what it says:

    >>> first = plan[0]
    >>> site = site.with_probe(first.x_m, first.y_m, first.radius_m, first.depth_m, found=False)
    >>> layouts = ut.sample_layouts(site, draws=100, seed=7)
    >>> len(layouts.plan_probes(n=1, options=ut.ProbeOptions(objective="variance", always=True)))
    1
    """
    radius_m, how = length(radius_m, "radius_m"), chosen(options, ProbeOptions, "options")
    bound = bind_digs(digs, layouts._site)
    with working(run, "planning probes") as work:
        found = layouts._handle.plan_probes(
            bound,
            at_least(1, n, "n"),
            radius_m,
            how.depth_m,
            (how.slit_m, how.tool == "rod", how.p_detect, how.p_false),
            how.objective,
            (how.reach_m, how.cell_m, how.shift_m),
            weight_list(weights),
            tree_rules(rules),
            (how.careful, how.probe_cost),
            how.always,
            *work,
        )
    columns, outcomes = found.pop("rows"), pd.DataFrame(found.pop("outcomes"))
    columns["probe"] = np.arange(1, len(columns["x_m"]) + 1)
    table = table_of(layouts, columns, "probe")
    return ProbePlan(
        **about(layouts, table),
        **(found | {"notes": tuple(found["notes"])}),
        planned_for=tuple(map(from_core, bound)),
        objective=how.objective,
        radius_m=radius_m,
        slit_m=how.slit_m,
        shift_m=how.shift_m,
        _outcomes=outcomes,
    )
