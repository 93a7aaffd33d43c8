"""Where to probe: exploratory hand digs in the order of what they save."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np
import pandas as pd

from underturf._checks import Length, at_least, flag, length, lengths, number, word, worker_threads
from underturf._limits import memory_limit
from underturf._progress import Progress, progress_callback
from underturf.dig_lists import Digs, bind_digs
from underturf.digs import from_core
from underturf.errors import ArgumentError
from underturf.methods.tables import about, table_of
from underturf.options import CAREFUL, SETBACK, SETBACK_LIMIT, Weights, tree_rules, weight_list
from underturf.results.probe_plan import ProbePlan

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["plan_probes"]

Objective: TypeAlias = Literal["loss", "variance"]


def plan_probes(
    layouts: Layouts,
    digs: Digs = None,
    n: int = 8,
    radius_m: Length = 0.25,
    *,
    objective: Objective = "loss",
    depth_m: Length | None = None,
    slit_m: tuple[Length, Length] | None = None,
    rod: bool = False,
    p_detect: float | None = None,
    p_false: float | None = None,
    reach_m: Length = 3.0,
    cell_m: Length | None = None,
    shift_m: Length = 0.0,
    weights: Weights = None,
    setback: str = SETBACK,
    setback_limit: float = SETBACK_LIMIT,
    careful: float = CAREFUL,
    probe_cost: float = 0.0,
    always: bool = False,
    memory_limit_gb: float | None = None,
    threads: int | None = None,
    progress: Progress = None,
) -> ProbePlan:
    """Choose exploratory hand digs by what they save in the decisions about digs.

    The first row is the best single next probe; the order of the table is the order to dig. Enter each report with
    ``site.with_probe(...)``, sample anew and plan again: the rows below were chosen without knowing it.

    Parameters
    ----------
    digs : dig, name, or list of them, optional
        The digs that matter, as in `strike_probability`. Those inside a tolerance zone or on flagged metal have no part:
        marks and hands decide.
    n : int
        Most probes, 1 to 64.
    radius_m : float
        Radius of a pothole, metres.
    objective : {"loss", "variance"}
        What to make small: the expected loss of the decisions that follow (dig as planned where the expected loss is below
        that of the verdict's limit, else act at the cost of that limit), or the expected Brier score, the sum of p (1 - p).
    depth_m : float, optional
        Depth of the probes, metres; that of the deepest dig, at most 0.9 m, if not given.
    slit_m : (float, float), optional
        Length and width of slits, metres, dug instead of potholes, along the likeliest grid bearing or across it.
    rod : bool
        Whether a rod is pushed down instead of digging a pothole.
    p_detect, p_false : float, optional
        Chance that a line within the probe is met, and of a find where there is none; those of the tool if not given.
    reach_m : float
        How far from the edge of a dig the middle of a probe may lie, metres.
    cell_m : float, optional
        Side of a cell of the grid of places, metres; about 0.25 if not given, wider on large ground.
    shift_m : float
        How far each dig may be shifted once probes have reported, metres. With 0 digs are dug where they are given or not
        at all. Else decisions are made among up to eight places for each dig, the first where it would go as things stand
        (`shifted`): those that someone who saw through the ground would want most. A probe is then worth what it saves
        in the choice of places too. A tree is sent to no place that breaks the limit of its setback.
    weights : mapping of str to float, optional
        As in `assess`.
    setback, setback_limit
        As in `assess`.
    careful : float
        What a line met by the probe costs, as a share of a strike by ordinary hand digging: hands that look for a line break
        few of those they meet (common practice, no source).
    probe_cost : float
        What each probe costs besides, in units of the weights.
    always : bool
        Whether to plan on where no probe is worth what it costs.
    memory_limit_gb, threads, progress
        As in `sample_layouts`.

    Returns
    -------
    ProbePlan
        Iterated over, it gives a `PlannedProbe` each, in the order to dig; ``outcomes()`` tells what each outcome means for each
        dig, ``notes`` what else has to be known. Its ``table()`` has one row a probe, index ``probe`` from 1: ``x_m``,
        ``y_m``, ``bearing_deg`` (of a slit, counter-clockwise from x; NaN: a pothole), ``p_found`` (chance of a find),
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
    >>> layouts = ut.sample_layouts(site, draws=100, seed=7, progress=False)
    >>> plan = layouts.plan_probes(n=2, objective="variance", always=True, progress=False)
    >>> [probe.number for probe in plan]
    [1, 2]

    The first is dug, found clear, and the next is planned with what it says:

    >>> first = plan[0]
    >>> site = site.with_probe(first.x_m, first.y_m, first.radius_m, first.depth_m, found=False)
    >>> layouts = ut.sample_layouts(site, draws=100, seed=7, progress=False)
    >>> len(layouts.plan_probes(n=1, objective="variance", always=True, progress=False))
    1
    """
    radius_m, reach_m, shift_m = lengths(radius_m=radius_m, reach_m=reach_m, shift_m=shift_m)
    depth_m = None if depth_m is None else length(depth_m, "depth_m")
    cell_m = None if cell_m is None else length(cell_m, "cell_m")
    slit = None if slit_m is None else slit_of(slit_m)
    p_detect = None if p_detect is None else number(p_detect, "p_detect")
    p_false = None if p_false is None else number(p_false, "p_false")
    careful, probe_cost = number(careful, "careful"), number(probe_cost, "probe_cost")
    bound = bind_digs(digs, layouts._site)
    if slit is not None and flag(rod, "rod"):
        raise ArgumentError("give slit_m or rod, not both: a rod makes no slit")
    with memory_limit(memory_limit_gb), progress_callback(progress, "planning probes") as callback:
        found = layouts._handle.plan_probes(
            bound,
            at_least(1, n, "n"),
            radius_m,
            depth_m,
            (slit, flag(rod, "rod"), p_detect, p_false),
            word(objective, "objective", ("loss", "variance")),
            (reach_m, cell_m, shift_m),
            weight_list(weights),
            tree_rules(setback, setback_limit),
            (careful, probe_cost),
            flag(always, "always"),
            worker_threads(threads),
            callback,
        )
    columns, outcomes = found.pop("rows"), pd.DataFrame(found.pop("outcomes"))
    columns["probe"] = np.arange(1, len(columns["x_m"]) + 1)
    table = table_of(layouts, columns, "probe")
    return ProbePlan(
        **about(layouts, table),
        **(found | {"notes": tuple(found["notes"])}),
        planned_for=tuple(map(from_core, bound)),
        objective="variance" if objective == "variance" else "loss",
        radius_m=radius_m,
        slit_m=slit,
        shift_m=shift_m,
        _outcomes=outcomes,
    )


def slit_of(slit_m: object) -> tuple[float, float]:
    """Return length and width of a slit."""
    if not isinstance(slit_m, Sequence | np.ndarray) or isinstance(slit_m, str) or len(slit_m) != 2:
        raise ArgumentError(f"slit_m is {slit_m!r}; it must be a length and a width, such as (0.8, 0.1)")
    long, wide = slit_m
    return length(long, "slit_m[0]"), length(wide, "slit_m[1]")
