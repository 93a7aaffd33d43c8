"""Which valves to run where zones are not known."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from underturf._checks import word
from underturf._running import working
from underturf.dig_lists import Digs, bind_digs
from underturf.methods.tables import about, table_of
from underturf.options import Running, Weights, weight_list
from underturf.results.valve_plan import ValvePlan

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["plan_station_tests"]


def plan_station_tests(
    layouts: Layouts,
    digs: Digs = None,
    weights: Weights = None,
    by: Literal["information", "loss", "variance"] = "information",
    *,
    run: Running | None = None,
) -> ValvePlan:
    """Rank valves to run where zones are not known: which settles most about heads and digs.

    Running a valve is the cheapest evidence there is; the advice is always to run every zone and flag the wet heads before
    digging. The ranking is for when that cannot be done at once.

    Parameters
    ----------
    digs : dig, name, list of them, result or DataFrame, optional
        The digs that matter, as in `strike_probability`; those inside a tolerance zone or on flagged metal have no part.
    weights : mapping of str to float, optional
        As in `assess`.
    by : {"information", "loss", "variance"}
        Order by expected bits, by the loss that the digs lose, or by their expected Brier score.
    run : Running, optional
        Threads, progress and memory.

    Returns
    -------
    ValvePlan
        Iterated over, it gives a `RankedValve` each, the one to run first on top; ``notes`` are sentences, the advice among them.
        Its ``table()`` has one row a valve, index ``valve``: ``information_bits`` (about which heads share a zone, no more
        than this), ``gain``, ``gain_mcse`` (expected loss of decisions about the digs that it takes off, no less than this in
        expectation), ``variance_gain``, ``variance_gain_mcse`` (the same for the expected Brier score), ``heads_expected``
        (mean number of heads that come up), ``unsure_heads`` (which may or may not come up, the least sure first), ``zones``,
        ``boxes``, ``converged``. Valves without a name that share a box cannot be told apart and are one row: any of them.
        Empty where zones are known.

    Raises
    ------
    DigError, ArgumentError
        As in `assess`.

    Notes
    -----
    The information is that of the tree-shaped distribution with the same pairs of heads (Chow and Liu, 1968), an upper bound;
    gains are those of a line through the answers, learned on one half of the draws and judged on the other.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> tests = ut.sample_layouts(site, draws=50, seed=7).plan_station_tests()
    >>> len(tests), tests.notes[0]
    (0, 'The zone of every head is known or settled by tests: no valve has to be run for that.')
    """
    keys = {"information": "information_bits", "loss": "gain", "variance": "variance_gain"}
    order = keys[word(by, "by", keys)]
    bound = bind_digs(digs, layouts._site)
    with working(run, "weighing valves") as work:
        found = layouts._handle.plan_station_tests(bound, weight_list(weights), *work)
    columns = found["rows"]
    named = columns.pop("named")
    columns["valve"] = [
        valve_name(zones, boxes, bool(is_named))
        for zones, boxes, is_named in zip(columns["zones"], columns["boxes"], named, strict=True)
    ]
    for name in ("zones", "boxes"):
        columns[name] = columns.pop(name)
    table = table_of(layouts, columns, "valve").sort_values(order, ascending=False, kind="stable")
    return ValvePlan(**about(layouts, table), notes=tuple(found["notes"]), by=by)


def valve_name(zones: list[str], boxes: list[str], named: bool) -> str:
    """Name a row of valves that cannot be told apart.

    Examples
    --------
    >>> valve_name(["3"], ["a"], True), valve_name(["a valve 1", "a valve 2"], ["a"], False)
    ('zone 3', 'any valve of a')
    >>> valve_name(["a valve 2"], ["a"], False), valve_name(["unseen valve 1", "unseen valve 2"], [], False)
    ('the valve without a name of a', 'any unseen valve')
    """
    if named:
        return f"zone {zones[0]}"
    place = ", ".join(boxes)
    if len(zones) == 1:
        return f"the valve without a name of {place}" if place else f"the {zones[0]}"
    return f"any valve of {place}" if place else "any unseen valve"
