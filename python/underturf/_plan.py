"""What to do before digging: where digs had better go, where to probe, and which valves to run."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal, TypeAlias

import numpy as np
import pandas as pd

from underturf._checks import Length, at_least, flag, length, lengths, number, word, worker_threads
from underturf._decide import SETBACK, SETBACK_LIMIT, Weights, tree_rules, weight_list
from underturf._limits import memory_limit
from underturf._part import Part
from underturf._progress import Progress, progress_callback
from underturf.cautions import NOT_CONVERGED
from underturf.digs import Digs, Hole, Pit, Trench, bind_digs, from_core
from underturf.errors import ArgumentError

__all__ = ["Plans"]

Objective: TypeAlias = Literal["loss", "variance"]

#: What a line that a probe meets costs, as a share of a strike by ordinary hand digging.
CAREFUL = 0.02


class Shifted(list[Hole | Pit | Trench]):
    """Digs put where they lose least, with ``converged``: whether the layouts that chose the places can be relied on."""

    __slots__ = ("converged",)

    def __init__(self, digs: Iterable[Hole | Pit | Trench], converged: bool) -> None:
        super().__init__(digs)
        self.converged = converged

    def __repr__(self) -> str:
        mark = "" if self.converged else f"{NOT_CONVERGED}: "
        return f"{mark}{super().__repr__()}"


class Plans(Part):
    """The part of `Layouts` that says what to change and what evidence to look for before anything is dug."""

    __slots__ = ()

    def shifted(
        self,
        digs: Digs = None,
        reach_m: Length = 1.5,
        weights: Weights = None,
        *,
        setback: str = SETBACK,
        setback_limit: float = SETBACK_LIMIT,
        cell_m: Length = 0.1,
        threads: int | None = None,
        progress: Progress = None,
    ) -> Shifted:
        """Put digs where they lose least within a reach; one that is as well off where it is stays there.

        Who may shift a hole should have probes planned with that in mind (``plan_probes(..., shift_m=...)``) and choose again
        after each report: probes planned for holes that are then shifted away are no better than unplanned ones (measured on
        simulated sites, see the README).

        Parameters
        ----------
        digs : dig, name, or list of them, optional
            As in `strike_probability`.
        reach_m : float
            Greatest shift, metres.
        weights : mapping of str to float, optional
            As in `assess`.
        setback, setback_limit
            As in `assess`.
        cell_m : float
            Step of the shift, metres.
        threads, progress
            As in `sample_layouts`.

        Returns
        -------
        list of Hole, Trench or Pit
            One a dig, in order, with its name, depth, method and tree, as it was drawn. Each lies at the place of least expected
            loss whose chance is no greater than where it was drawn, unless it may not be dug there: never inside a tolerance
            zone, on flagged metal, in a building, the stem of a standing tree or over the boundary, nor on paving from beside
            it. A tree keeps the limit of its setback and stays out of protected roots; where no place within reach does, it
            stays where it is (`assess` says so in ``shift_note``). A place chosen for its low chance is no clearance, and its
            chance is rather too low. The list has ``converged`` (false: do not rely on these places).

        Raises
        ------
        DigError, ArgumentError
            As in `dig_maps`.

        Examples
        --------
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green"))
        >>> layouts = ut.sample_layouts(site, draws=100, seed=7, progress=False)
        >>> holes = layouts.shifted(["maple", "crabapple"], progress=False)
        >>> [hole.id for hole in holes]
        ['maple', 'crabapple']
        """
        reach_m, cell_m = lengths(reach_m=reach_m, cell_m=cell_m)
        bound = bind_digs(digs, self._site)
        given = weight_list(weights)
        with progress_callback(progress, "moving digs") as callback:
            rules = tree_rules(setback, setback_limit)
            found = self._handle.shifted(bound, reach_m, cell_m, given, rules, worker_threads(threads), callback)
        return Shifted(map(from_core, found), self.converged)

    def plan_probes(
        self,
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
    ) -> pd.DataFrame:
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
        DataFrame, one row a probe, index ``probe`` from 1, in the order to dig
            ``x_m``, ``y_m``, ``bearing_deg`` (of a slit, counter-clockwise from x; NaN: a pothole), ``p_found`` (chance of a
            find), ``p_strike`` (chance that the dig for it meets a line), ``gain``, ``gain_mcse`` (expected loss that it takes
            off after the rows above, judged on draws that had no part in the choice; below zero: nothing they can see),
            ``variance_gain``, ``variance_gain_mcse`` (the same for the expected Brier score), ``own_cost``, ``worth`` (whether
            it pays by itself, or later ones need it: without it the plan is worth less), ``information_bits`` (about whether
            each dig strikes, summed), ``changes_if_found``, ``changes_if_clear`` (names of digs whose verdict or place changes,
            by this probe alone), ``unsure_if_found``, ``unsure_if_clear`` (names of digs whose verdict by these draws changes
            too, but by less than the error of its chances: more draws would tell), ``decides`` (the same in words),
            ``converged``. Fewer than n rows where no more are worth it. ``attrs`` hold ``notes``, ``outcomes`` (a record for
            each probe and dig: chance, its error and verdict now, if found, if clear, and with ``dx_now_m``, ``dy_now_m`` and
            so on the shift from where it was given, east and north), ``tool``, ``depth_m``, ``radius_m``, ``slit_m``,
            ``p_detect``, ``shift_m``, ``loss_before``, ``variance_before``, ``candidates``, ``cell_m``, and the cautions. A
            probe is itself a hand dig: the cautions hold for it, and a clear probe is no clearance.

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
        >>> plan.index.tolist()
        [1, 2]

        The first is dug, found clear, and the next is planned with what it says:

        >>> first = plan.loc[1]
        >>> site = site.with_probe(first["x_m"], first["y_m"], 0.25, plan.attrs["depth_m"], found=False)
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
        bound = bind_digs(digs, self._site)
        if slit is not None and flag(rod, "rod"):
            raise ArgumentError("give slit_m or rod, not both: a rod makes no slit")
        with memory_limit(memory_limit_gb), progress_callback(progress, "planning probes") as callback:
            found = self._handle.plan_probes(
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
        columns = found.pop("rows")
        columns["probe"] = np.arange(1, len(columns["x_m"]) + 1)
        table = self._table(columns, "probe")
        outcomes = pd.DataFrame(found.pop("outcomes"))
        table.attrs.update(found, objective=objective, radius_m=radius_m, slit_m=slit, shift_m=shift_m)
        table.attrs["outcomes"] = outcomes.to_dict("records")
        return table

    def plan_station_tests(
        self,
        digs: Digs = None,
        weights: Weights = None,
        by: Literal["information", "loss", "variance"] = "information",
        *,
        threads: int | None = None,
        progress: Progress = None,
    ) -> pd.DataFrame:
        """Rank valves to run where zones are not known: which settles most about heads and digs.

        Running a valve is the cheapest evidence there is; the advice is always to run every zone and flag the wet heads before
        digging. The ranking is for when that cannot be done at once.

        Parameters
        ----------
        digs : dig, name, or list of them, optional
            The digs that matter, as in `strike_probability`; those inside a tolerance zone or on flagged metal have no part.
        weights : mapping of str to float, optional
            As in `assess`.
        by : {"information", "loss", "variance"}
            Order by expected bits, by the loss that the digs lose, or by their expected Brier score.
        threads, progress
            As in `sample_layouts`.

        Returns
        -------
        DataFrame, one row a valve, index ``valve``, the one to run first on top
            ``information_bits`` (about which heads share a zone, no more than this), ``gain``, ``gain_mcse`` (expected loss of
            decisions about the digs that it takes off, no less than this in expectation), ``variance_gain``,
            ``variance_gain_mcse`` (the same for the expected Brier score), ``heads_expected`` (mean number of heads that come
            up), ``unsure_heads`` (which may or may not come up, the least sure first), ``zones``, ``boxes``, ``converged``.
            Valves without a name that share a box cannot be told apart and are one row: any of them. Empty where zones are known.
            ``attrs`` hold ``notes`` (sentences, the advice among them) and the cautions.

        Raises
        ------
        DigError, ArgumentError
            As in `assess`.

        Notes
        -----
        The information is that of the tree-shaped law with the same pairs of heads (Chow and Liu, 1968), an upper bound; gains
        are those of a line through the answers, learned on one half of the draws and judged on the other.

        Examples
        --------
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green"))
        >>> tests = ut.sample_layouts(site, draws=50, seed=7, progress=False).plan_station_tests(progress=False)
        >>> len(tests), tests.attrs["notes"][0]
        (0, 'The zone of every head is known or settled by tests: no valve has to be run for that.')
        """
        keys = {"information": "information_bits", "loss": "gain", "variance": "variance_gain"}
        order = keys[word(by, "by", keys)]
        bound = bind_digs(digs, self._site)
        with progress_callback(progress, "weighing valves") as callback:
            found = self._handle.plan_station_tests(bound, weight_list(weights), worker_threads(threads), callback)
        columns = found["rows"]
        named = columns.pop("named")
        columns["valve"] = [
            valve_name(zones, boxes, bool(is_named))
            for zones, boxes, is_named in zip(columns["zones"], columns["boxes"], named, strict=True)
        ]
        for name in ("zones", "boxes"):
            columns[name] = columns.pop(name)
        table = self._table(columns, "valve").sort_values(order, ascending=False, kind="stable")
        table.attrs.update(notes=found["notes"], by=by)
        return table


def slit_of(slit_m: object) -> tuple[float, float]:
    """Return length and width of a slit."""
    if not isinstance(slit_m, Sequence | np.ndarray) or isinstance(slit_m, str) or len(slit_m) != 2:
        raise ArgumentError(f"slit_m is {slit_m!r}; it must be a length and a width, such as (0.8, 0.1)")
    long, wide = slit_m
    return length(long, "slit_m[0]"), length(wide, "slit_m[1]")


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
