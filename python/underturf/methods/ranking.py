"""Digs in the order of their expected loss."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from underturf import _core
from underturf._checks import draw_count, flag, word
from underturf._notes import note
from underturf._running import working
from underturf.dig_lists import Digs, bind_digs
from underturf.digs import from_core
from underturf.errors import DigError
from underturf.methods.tables import about, table_of
from underturf.options import Running, Weights, weight_list
from underturf.results.ranking import By, Ranking

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["rank"]


def rank(
    layouts: Layouts,
    digs: Digs = None,
    weights: Weights = None,
    by: By = "loss",
    *,
    until_distinct: bool = False,
    longest_draws: int = 32_000,
    run: Running | None = None,
) -> Ranking:
    """Order digs by expected loss, and say which of them cannot be told apart.

    All digs are looked at in the same draws, so what two have in common drops out of the error of their difference. Two are
    told apart where it exceeds 1.96 of its errors (95 %, for each pair by itself); with ``until_distinct`` that 5 % is shared
    among all looks that may be taken.

    Parameters
    ----------
    digs, run
        As in `strike_probability`.
    weights : mapping of str to float, optional
        As in `assess`.
    by : {"loss", "p"}
        Order by expected loss or by the chance of a strike.
    until_distinct : bool
        Whether to draw on, twice as many layouts each time from the same seed, until all neighbours can be told apart.
    longest_draws : int
        Most draws that this may take.

    Returns
    -------
    Ranking
        Iterated over, it gives a `RankedDig` each, in order; all that take digs take it. Its ``table()`` has one row a dig, index
        ``dig``: ``rank`` (from 1; digs inside tolerance zones or on flagged metal, and those that a building, a pool or the
        boundary blocks, share the last, whatever their chance), ``p_strike``, ``mcse``, ``loss``, ``loss_mcse``;
        ``gap_to_next``, ``gap_mcse``, ``distinct_from_next`` (the next dig compared in the same draws), ``draws_needed`` (to
        tell a gap as large as this one; infinite where there is none), ``tied_with`` (names of all digs that it cannot be
        told apart from), ``in_tolerance_zone``, ``on_flagged_metal``, ``blocked_by``, ``note`` (a sentence), ``converged``. A
        low rank is no clearance.

    Raises
    ------
    DigError, ArgumentError
        As in `assess`; also if two digs have the same name.
    ConvergenceError
        If further draws over unknown zones do not converge.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> ranking = ut.sample_layouts(site, draws=50, seed=7).rank()
    >>> ranking[0].rank, ranking[-1].dig
    (1, 'lamp-post')
    """
    bound, order = bind_digs(digs, layouts._site), word(by, "by", _core.WORDS["by"])
    by_name = {dig.id: dig for dig in bound}
    if len(by_name) < len(bound):
        names = [dig.id for dig in bound]
        twice = ", ".join(sorted({name for name in names if names.count(name) > 1}))
        raise DigError(f"{twice}: two digs have the same name; a ranking could not tell them apart")
    given = weight_list(weights)
    longest = draw_count(longest_draws, "longest_draws") if flag(until_distinct, "until_distinct") else None
    with working(run, "ranking digs") as work:
        columns = layouts._handle.rank(bound, given, order, longest, *work)
    draws, converged, distinct = (columns.pop(key) for key in ("draws", "converged", "distinct"))
    table = table_of(layouts, columns)
    table["distinct_from_next"] = pd.array(columns["distinct_from_next"], dtype="boolean")
    table["converged"] = converged
    table.insert(len(table.columns) - 1, "note", [note(row, draws) for _, row in table.iterrows()])
    ordered = tuple(from_core(by_name[name]) for name in table.index)
    known = about(layouts, table) | {"draws": draws, "converged": converged}
    return Ranking(**known, digs=ordered, by="p" if order == "p" else "loss", distinct=distinct)
