"""Everything a digger needs to decide, by dig, and what stands against trees."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import pandas as pd

from underturf import _core
from underturf._checks import Length, lengths, word
from underturf._running import working
from underturf.dig_lists import Digs, bind_digs
from underturf.digs import from_core
from underturf.methods.tables import about, table_of
from underturf.options import SETBACK, Running, TreeRules, Weights, tree_rules, weight_list
from underturf.results.assessment import Assessment

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["assess", "assess_with_trees", "tree_conflicts"]

#: How far a better place is looked for and in which steps when nothing is said, metres.
REACH_M, CELL_M = _core.DEFAULTS["reach_m"], _core.DEFAULTS["shift_cell_m"]


def assess(
    layouts: Layouts,
    digs: Digs = None,
    weights: Weights = None,
    *,
    rules: TreeRules | None = None,
    reach_m: Length = REACH_M,
    cell_m: Length = CELL_M,
    run: Running | None = None,
) -> Assessment:
    """Tell everything a digger needs to decide, by dig.

    A dig for a tree is assessed as the hole that its root ball needs, where that is larger than what was drawn.

    Parameters
    ----------
    digs
        As in `strike_probability`.
    weights : mapping of str to float, optional
        Consequence weights by class, 0 or more, and the factor for digs by ``machine``; those of `underturf.default_weights`
        where nothing is given. Only their order means something.
    rules : TreeRules, optional
        Setback of trees, and the greatest probability of a line within it at which a tree is left where it is.
    reach_m, cell_m : float
        How far a better place is looked for and in which steps, metres, as in `shifted`. A larger reach takes longer, with
        its square.
    run : Running, optional
        Threads, progress and memory.

    Returns
    -------
    Assessment
        Iterated over, it gives an `AssessedDig` each; printed, it is the text for the site; `crew_sheet`, `plan_probes`, `rank`
        and all others that take digs take it. Its ``table()`` has one row a dig, index ``dig``:
        ``p_strike`` (assessed classes and unmapped lines only), ``mcse``, ``p_upper95``; ``p_<class>`` for each class (NaN: not
        assessed); ``loss`` (expected loss: sum over assessed classes of weight times chance; no unit), ``loss_mcse``;
        ``nearest_class``, ``nearest_zone``, ``nearest_share`` (the class that comes nearest in most draws, its likeliest
        line, and the share of draws of that class; valves nobody named count as one), ``nearest_m``, ``nearest_m_q05``,
        ``nearest_m_q95`` (distance from the footprint to the nearest line of any class: median, 5 and 95 % of draws);
        ``mark_class``, ``mark_m``, ``mark_half_zone_m`` (nearest utility mark), ``in_tolerance_zone``; ``metal``,
        ``metal_m``, ``metal_half_width_m`` (nearest flagged metal, the ground to keep off along it), ``on_flagged_metal``;
        ``blocked_by`` (the building, pool or stem of a standing tree that the dig meets as it is drawn, or the boundary that
        it reaches over; empty: none); ``shift_dx_m``, ``shift_dy_m``, ``shift_m``, ``shift_azimuth_deg``, ``p_shifted``,
        ``loss_shifted`` (the shift of least loss within ``reach_m`` whose chance is no greater, unless it may not be dug
        where it is drawn; NaN where there is none; never into a tolerance zone, onto flagged metal, into a building, a stem
        or over the boundary, nor onto paving from beside it; for a tree never where a line lies within its setback with
        more than the limit, nor into protected roots; ``p_shifted`` is the least of many chances and biased low, see
        ``python/docs/validation.md``, 6), ``shift_note`` (why there is none); of digs for a tree ``p_setback`` and
        ``p_roots`` (chance that a line lies within its setback, and within its roots at maturity; NaN: exempt or no tree;
        see `tree_conflicts`),
        ``line_in_setback`` (whether ``p_setback`` is above the limit), ``structure_m``, ``structure_in_roots`` (nearest
        building or pool), and the same after the shift: ``p_setback_shifted``, ``p_roots_shifted``,
        ``structure_m_shifted``; ``hole_width_m``, ``hole_depth_m`` (the hole that its root ball needs, NaN where neither
        caliper nor container is known), ``hole_too_small`` (whether the dig is drawn smaller than that),
        ``p_strike_drawn`` (the chance of the smaller hole that was drawn); ``standing_tree``, ``standing_tree_m``,
        ``in_root_protection`` (whether the dig reaches into the protected roots of a standing tree, BS 5837:2012);
        ``verdict`` (a sentence; no dig is ever called safe);
        ``converged`` (false: do not rely on the row).

    Raises
    ------
    DigError
        If a dig has no size or its name is unknown.
    MemoryLimitError
        If so many cells or places would pass the memory allowed; says how many fit.
    ArgumentError
        If a weight is not a number from 0 up or names no class (every fault at once), there is no such setback, or a reach or
        step is out of range.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
    >>> assessment = layouts.assess()
    >>> [row.dig for row in assessment] == list(site.dig_ids)
    True
    >>> float(assessment.table().loc["maple", "p_strike"]) == assessment["maple"].p_strike
    True
    """
    return assess_with_trees(layouts, bind_digs(digs, layouts._site), weights, reach_m, cell_m, rules=rules, run=run)[0]


def assess_with_trees(
    layouts: Layouts,
    bound: Sequence[_core.Dig],
    weights: Weights = None,
    reach_m: Length = REACH_M,
    cell_m: Length = CELL_M,
    *,
    rules: TreeRules | None = None,
    run: Running | None = None,
) -> tuple[Assessment, pd.DataFrame]:
    """Assess digs, and tell what stands against their trees, which the assessment has worked out on its way.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
    >>> assessment, trees = assess_with_trees(layouts, bind_digs(None, site))
    >>> trees.equals(layouts.tree_conflicts())
    True
    """
    reach_m, cell_m = lengths(reach_m=reach_m, cell_m=cell_m)
    row, limit = tree_rules(rules)
    given = weight_list(weights)
    with working(run, "assessing digs") as work:
        columns, trees = layouts._handle.assess(bound, given, (row, limit), reach_m, cell_m, *work)
    table = table_of(layouts, columns)
    digs_given = tuple(map(from_core, bound))
    found = Assessment(**about(layouts, table), digs=digs_given, setback=row, setback_limit=limit, reach_m=reach_m)
    return found, table_of(layouts, trees)


def tree_conflicts(
    layouts: Layouts,
    digs: Digs = None,
    setback: str = SETBACK,
    *,
    run: Running | None = None,
) -> pd.DataFrame:
    """Tell what stands against the trees that digs are made for: lines, buildings, meters, the hole their ball needs.

    Parameters
    ----------
    digs, run
        As in `strike_probability`. Digs without a tree are left out.
    setback : str
        A name of `underturf.setbacks`.

    Returns
    -------
    DataFrame, one row a dig with a tree, index ``dig``
        ``setback_m`` and ``roots_m`` (radius from the middle of the stem, metres; NaN: the tree is exempt, or stays small and
        carries no root conflict); for each of the two ``p_<it>`` and ``mcse_<it>`` (chance that any line lies within, at any
        depth, and its Monte Carlo error) and ``p_<it>_<class>``, ``mcse_<it>_<class>`` (NaN: neither assessed nor marked, or
        not spoken of by the setback; a marked line counts as straight with the error of its mark); ``structure``,
        ``structure_m``, ``structure_in_setback``, ``structure_in_roots`` (the nearest building or pool, distance to its
        footing); ``meter_m``, ``meter_in_setback``; ``hole_width_m``, ``hole_depth_m``, ``hole_source`` (the hole for its
        root ball, by caliper or container, or why the tables do not tell; see `underturf.root_ball`), ``hole_too_small``
        (whether the dig is drawn smaller, by the widest round hole about its middle); ``converged``.

    Raises
    ------
    DigError, ArgumentError
        As in `assess`.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> trees = ut.sample_layouts(site, draws=50, seed=7).tree_conflicts()
    >>> bool(trees.loc["maple", "p_setback"] > 0), bool(trees.loc["crabapple", "setback_m"] > 0)
    (True, False)
    """
    bound, named = bind_digs(digs, layouts._site), word(setback, "setback")
    with working(run, "weighing trees") as work:
        columns = layouts._handle.tree_conflicts(bound, named, *work)
    return table_of(layouts, columns)
