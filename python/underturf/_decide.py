"""What to do with digs: assessments, trees against lines, ranking, the best spots."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal, TypeAlias

import numpy as np
import numpy.typing as npt
import pandas as pd

from underturf import _core
from underturf._checks import Length, at_least, flag, length, lengths, number, word, worker_threads
from underturf._limits import memory_limit
from underturf._notes import note
from underturf._part import Part
from underturf._progress import Progress, progress_callback
from underturf._spots import asked_holes, checked
from underturf._tables import tree_columns
from underturf._zones import valve_words
from underturf.digs import Digs, Method, bind_digs
from underturf.errors import ArgumentError
from underturf.trees import TreeLike

__all__ = ["Decisions", "Weights", "default_weights"]

Weights: TypeAlias = Mapping[str, float] | None

#: The setback of trees when none is named.
SETBACK = "lateral_5ft"

#: Greatest chance of a line within the setback of a tree at which a place is taken for it, when nothing is said (common
#: practice, no source).
SETBACK_LIMIT = 0.25

#: What a line within the setback of a tree costs, as a share of striking it, when nothing is said.
SETBACK_SHARE = 0.1

#: What a building at the stem of a planted tree costs, as a share of striking a sewer, when nothing is said.
ROOTS_SHARE = 0.1


#: What is known of a choice of spots as a whole.
SPOTS_KNOWN = ("total", "lower_bound", "exact", "candidates")


def default_weights() -> dict[str, float]:
    """Return the consequence weights that are shipped, by class, and the factor for digs by ``machine``.

    Only their order means something (common practice, no source): gas and electric before sewer and communication, before
    potable, reclaimed and mainline, before lateral and control wire, before unknown lines. The chance of a strike is the
    same by hand and by machine; what it costs is not, since hands meet a line and a machine takes it along.

    Examples
    --------
    >>> import underturf as ut
    >>> weights = ut.default_weights()
    >>> weights["gas"] > weights["potable"] > weights["lateral"] > weights["unknown"]
    True
    """
    return dict(_core.default_weights())


def weight_list(weights: Weights) -> list[tuple[str, float]]:
    """Return given weights as the engine takes them; it checks names and numbers and names every fault."""
    if weights is None:
        return []
    if not isinstance(weights, Mapping):
        raise ArgumentError(f"weights must map classes to numbers, not {weights!r}")
    wrong = [f"{name} = {value!r}" for name, value in weights.items() if not is_number(value)]
    if wrong:
        raise ArgumentError(f"consequence weights: no numbers: {', '.join(wrong)}")
    return [(str(name), float(value)) for name, value in weights.items()]


def tree_rules(setback: str, setback_limit: float) -> tuple[str, float]:
    """Check what trees ask of their places: the setback for all, and the greatest chance of a line within it."""
    return word(setback, "setback"), number(setback_limit, "setback_limit")


def is_number(value: object) -> bool:
    """Whether a value can stand for a weight."""
    return isinstance(value, int | float | np.integer | np.floating) and not isinstance(value, bool)


class Decisions(Part):
    """The part of `Layouts` that says what to do."""

    __slots__ = ()

    def assess(
        self,
        digs: Digs = None,
        weights: Weights = None,
        *,
        setback: str = SETBACK,
        setback_limit: float = SETBACK_LIMIT,
        reach_m: Length = 1.5,
        cell_m: Length = 0.1,
        memory_limit_gb: float | None = None,
        threads: int | None = None,
        progress: Progress = None,
    ) -> pd.DataFrame:
        """Tell everything a digger needs to decide, by dig.

        A dig for a tree is assessed as the hole that its root ball needs, where that is larger than what was drawn.

        Parameters
        ----------
        digs, threads, progress
            As in `strike_probability`.
        memory_limit_gb
            As in `sample_layouts`.
        weights : mapping of str to float, optional
            Consequence weights by class, 0 or more, and the factor for digs by ``machine``; those of `underturf.default_weights`
            where nothing is given. Only their order means something.
        setback : str
            Setback of trees, a name of `underturf.setbacks`; a tree may have one of its own.
        setback_limit : float
            Greatest chance of a line within its setback at which a tree is left where it is, or moved to a place.
        reach_m, cell_m : float
            How far a better place is looked for and in which steps, metres, as in `shifted`. A larger reach takes longer, with
            its square.

        Returns
        -------
        DataFrame, one row a dig, index ``dig``
            ``p_strike`` (assessed classes and floor only), ``mcse``, ``p_upper95``; ``p_<class>`` for each class (NaN: not
            assessed); ``loss`` (expected loss: sum over assessed classes of weight times chance; no unit), ``loss_mcse``;
            ``nearest_class``, ``nearest_zone``, ``nearest_share`` (the class that comes nearest in most draws, its likeliest
            line, and the share of draws of that class; valves nobody named count as one), ``nearest_m``, ``nearest_m_q05``,
            ``nearest_m_q95`` (distance from the footprint to the nearest line of any class: median, 5 and 95 % of draws);
            ``mark_class``, ``mark_m``, ``mark_half_zone_m`` (nearest utility mark), ``in_tolerance_zone``; ``metal``,
            ``metal_m``, ``metal_half_width_m`` (nearest flagged metal, the ground to keep off along it), ``on_flagged_metal``;
            ``blocked_by`` (the building, pool or stem of a standing tree that the dig meets as it is drawn, or the boundary that
            it reaches over; empty: none); ``shift_dx_m``, ``shift_dy_m``, ``shift_m``, ``shift_bearing_deg``, ``p_shifted``,
            ``loss_shifted`` (the shift of least loss within ``reach_m`` whose chance is no greater, unless it may not be dug
            where it is drawn; NaN where there is none; never into a tolerance zone, onto flagged metal, into a building, a stem
            or over the boundary, nor onto paving from beside it; for a tree never where a line lies within its setback with
            more than the limit, nor into protected roots; ``p_shifted`` is the least of many chances and rather too low, see
            the README), ``shift_note`` (why there is none); of digs for a tree ``p_setback`` and ``p_roots`` (chance that a
            line lies within its setback, and within its roots at maturity; NaN: exempt or no tree; see `tree_conflicts`),
            ``line_in_setback`` (whether ``p_setback`` is above the limit), ``structure_m``, ``structure_in_roots`` (nearest
            building or pool), and the same after the shift: ``p_setback_shifted``, ``p_roots_shifted``,
            ``structure_m_shifted``; ``hole_width_m``, ``hole_depth_m`` (the hole that its root ball needs, NaN where neither
            caliper nor container is known), ``hole_too_small`` (whether the dig is drawn smaller than that),
            ``p_strike_drawn`` (the chance of the smaller hole that was drawn); ``standing_tree``, ``standing_tree_m``,
            ``in_root_protection`` (whether the dig reaches into the protected roots of a standing tree, BS 5837:2012);
            ``verdict`` (a sentence; no dig is ever called safe);
            ``converged`` (false: do not rely on the row). ``attrs`` hold what the total means, the unit of the document and the
            cautions.

        Raises
        ------
        DigError
            If a dig has no size or its name is unknown.
        MemoryLimitError
            If so many cells or places would pass the memory allowed; says how many fit.
        ArgumentError
            If a weight is no number from 0 up or names no class (every fault at once), there is no such setback, or a reach or
            step is out of range.

        Examples
        --------
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green"))
        >>> layouts = ut.sample_layouts(site, draws=50, seed=7, progress=False)
        >>> table = layouts.assess(progress=False)
        >>> list(table.index) == list(site.dig_ids)
        True
        >>> table.attrs["p_strike"]
        'assessed classes and floor only'
        """
        reach_m, cell_m = lengths(reach_m=reach_m, cell_m=cell_m)
        rules = tree_rules(setback, setback_limit)
        bound = bind_digs(digs, self._site)
        given = weight_list(weights)
        with memory_limit(memory_limit_gb), progress_callback(progress, "assessing digs") as callback:
            columns = self._handle.assess(bound, given, rules, reach_m, cell_m, worker_threads(threads), callback)
        words = valve_words(self._handle.zones)
        columns["nearest_zone"] = [words.get(zone, zone) for zone in columns["nearest_zone"]]
        table = self._table(columns)
        table.attrs.update(setback=setback, setback_limit=setback_limit, reach_m=reach_m)
        return table

    def tree_conflicts(
        self, digs: Digs = None, setback: str = SETBACK, *, threads: int | None = None, progress: Progress = None
    ) -> pd.DataFrame:
        """Tell what stands against the trees that digs are made for: lines, buildings, meters, the hole their ball needs.

        Parameters
        ----------
        digs, threads, progress
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
        >>> trees = ut.sample_layouts(site, draws=50, seed=7, progress=False).tree_conflicts(progress=False)
        >>> bool(trees.loc["maple", "p_setback"] > 0), bool(trees.loc["crabapple", "setback_m"] > 0)
        (True, False)
        """
        bound, named = bind_digs(digs, self._site), word(setback, "setback")
        with progress_callback(progress, "weighing trees") as callback:
            columns = self._handle.tree_conflicts(bound, named, worker_threads(threads), callback)
        return self._table(columns)

    def rank(
        self,
        digs: Digs = None,
        weights: Weights = None,
        by: Literal["loss", "p"] = "loss",
        *,
        until_distinct: bool = False,
        longest_draws: int = 32_000,
        threads: int | None = None,
        progress: Progress = None,
    ) -> pd.DataFrame:
        """Order digs by expected loss, and say which of them cannot be told apart.

        All digs are looked at in the same draws, so what two have in common drops out of the error of their difference. Two are
        told apart where it exceeds 1.96 of its errors (95 %, for each pair by itself); with ``until_distinct`` that 5 % is shared
        among all looks that may be taken.

        Parameters
        ----------
        digs, threads, progress
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
        DataFrame, index ``dig``, in order
            ``rank`` (from 1; digs inside tolerance zones or on flagged metal, and those that a building, a pool or the boundary
            blocks, share the last, whatever their chance), ``p_strike``, ``mcse``,
            ``loss``, ``loss_mcse``; ``gap_to_next``, ``gap_mcse``, ``distinct_from_next`` (the next dig compared in the same
            draws), ``draws_needed`` (to tell a gap as large as this one; infinite where there is none), ``tied_with`` (names of
            all digs that it cannot be told apart from), ``in_tolerance_zone``, ``on_flagged_metal``, ``blocked_by``, ``note`` (a
            sentence), ``converged``. ``attrs`` hold ``draws`` (that it rests on), ``by``, ``distinct`` and the cautions. A low
            rank is no clearance.

        Raises
        ------
        DigError, ArgumentError
            As in `assess`.
        ConvergenceError
            If further draws over unknown zones do not pass their gates.

        Examples
        --------
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green"))
        >>> ranking = ut.sample_layouts(site, draws=50, seed=7, progress=False).rank(progress=False)
        >>> ranking["rank"].is_monotonic_increasing, ranking.index[-1]
        (True, 'lamp-post')
        """
        bound, order = bind_digs(digs, self._site), word(by, "by", ("loss", "p"))
        given = weight_list(weights)
        longest = at_least(2, longest_draws, "longest_draws") if flag(until_distinct, "until_distinct") else None
        with progress_callback(progress, "ranking digs") as callback:
            columns = self._handle.rank(bound, given, order, longest, worker_threads(threads), callback)
        draws, converged, distinct = (columns.pop(key) for key in ("draws", "converged", "distinct"))
        table = self._table(columns)
        table["distinct_from_next"] = pd.array(columns["distinct_from_next"], dtype="boolean")
        table["converged"] = converged
        table.insert(len(table.columns) - 1, "note", [note(row, draws) for _, row in table.iterrows()])
        table.attrs.update(draws=draws, by=by, distinct=distinct, converged=converged)
        return table

    def best_spots(
        self,
        n: int | None = None,
        radius_m: Length | Sequence[Length | None] | None = None,
        depth_m: Length | Sequence[Length | None] | None = None,
        *,
        tree: TreeLike | Sequence[TreeLike] = None,
        names: Sequence[str] | None = None,
        spacing_m: Length = 0.0,
        gap_m: Length | None = None,
        setback: str | None = None,
        setback_limit: float = SETBACK_LIMIT,
        setback_share: float = SETBACK_SHARE,
        roots_share: float = ROOTS_SHARE,
        spare_roots: bool = True,
        from_building_m: Length = 0.0,
        from_boundary_m: Length = 0.0,
        cell_m: Length = 0.25,
        weights: Weights = None,
        within: npt.ArrayLike | None = None,
        method: Method = "hand",
        memory_limit_gb: float | None = None,
        threads: int | None = None,
        progress: Progress = None,
    ) -> pd.DataFrame:
        """Find places for holes of least total expected loss.

        Places are the cells of a grid; never inside a tolerance zone, on flagged metal, in a building or a pool, in paving or
        over the boundary. Few places are searched exactly; for many, a good choice comes with a proven lower bound of every
        choice. Chances of places that were chosen for being low are rather too low, see the README.

        Parameters
        ----------
        n : int, optional
            Number of holes, 1 to 1000; as many as there are trees where a list of them is given.
        radius_m, depth_m : float or str, or sequence of them, optional
            Each hole: metres, or a text with its unit, as all lengths. May be left out for a tree whose caliper or container is
            known: its hole is the one that its root ball needs, and never less than that.
        tree : str, mapping, Tree, or sequence of them, optional
            What is planted: the same everywhere, or one for each hole, which may differ, each with its own hole and setback. A
            tree that stays small is exempt from the setbacks that say so; others have roots at maturity, as wide as size, vigour
            or ``root_radius_m`` say, and a building or pool within them adds to the loss.
        names : str or sequence of str, optional
            Names of the holes; ``spot 1``, ``spot 2``, ... by loss if not given.
        spacing_m : float or str
            Least distance between two centres, metres.
        gap_m : float or str, optional
            Least distance between the edges of two holes, metres; 0.3 if not given: walls between holes have to stand (common
            practice, no source).
        setback : str, optional
            A name of `underturf.setbacks`, for trees without one of their own; the default one where a tree is given, none
            otherwise. What is known to lie within it (a mark, flagged metal, a meter) bars a place; what is likely to (a sampled
            line) adds to its loss.
        setback_limit : float
            Greatest chance of a line within the setback of a tree at which a place is taken for it.
        setback_share : float
            What a line within the setback costs, as a share of striking it (common practice, no source).
        roots_share : float
            What a building or pool at the stem costs, as a share of striking a sewer; less the further off it is, in proportion,
            and nothing at the end of the roots at maturity (common practice, no source). Lines within these roots are left to
            the setback.
        spare_roots : bool
            Whether to keep holes out of the protected roots of standing trees (BS 5837:2012, `underturf.root_protection_m`).
        from_building_m, from_boundary_m : float
            Least distance from the edge of a hole to a building or pool, and to the boundary, metres.
        cell_m : float
            Side of a cell, metres.
        weights : mapping of str to float, optional
            As in `assess`.
        within : array_like, shape (k, 2), optional
            Corners of the ground to stay in, metres.
        method : {"hand", "machine"}
            Who digs.
        memory_limit_gb, threads, progress
            As in `sample_layouts`.

        Returns
        -------
        DataFrame, one row a spot, index ``spot`` from 1, least loss first
            ``id`` (its name), ``x_m``, ``y_m``, ``radius_m``, ``depth_m`` (the hole as it will be dug), ``method``, the tree in
            ``tree_size``, ``tree_vigour``, ``tree_caliper_m``, ``tree_container_gal``, ``tree_root_radius_m``, ``tree_setback``;
            ``p_strike``, ``mcse``, ``p_upper95``, ``loss``, ``loss_mcse``, ``setback_loss`` (what likely lines within the setback
            add), ``p_setback`` (chance of a line within the setback of its tree; NaN: none or exempt), ``roots_loss`` (what a
            building within the roots at maturity adds), ``p_<class>`` (NaN: not assessed), ``hole_width_m``, ``hole_depth_m``,
            ``hole_source`` (the hole that the ball of its tree needs; NaN or none where nothing tells), ``hole_too_small``
            (whether a smaller hole was asked for), ``converged``. ``attrs`` hold ``total`` (these three losses of all spots),
            ``lower_bound`` (no choice on this grid comes to less), ``gap`` (what could be gained at most), ``exact`` (whether
            the choice is proven best on this grid), ``candidates`` and the cautions. The table goes into `assess`, `shifted`,
            `plan_probes` and `crew_sheet` as it is. A spot found here is no clearance to dig.

        Notes
        -----
        The least of many figures that each have an error is too low by chance. Assess the chosen spots with layouts of another
        seed to see them without that favour.

        Raises
        ------
        MemoryLimitError
            If so many cells or places would pass the memory allowed; says how many fit.
        ArgumentError
            If fewer than n fit (it says how many do), a hole has no size, or an argument is out of range.

        Examples
        --------
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green"))
        >>> layouts = ut.sample_layouts(site, draws=50, seed=7, progress=False)
        >>> spots = layouts.best_spots(3, 0.45, 0.4, spacing_m=3.0, cell_m=0.5, progress=False)
        >>> len(spots), spots.attrs["lower_bound"] <= spots.attrs["total"] + 1e-12
        (3, True)

        Two trees that differ, each in the hole that its ball needs; the table goes on as it is:

        >>> trees = [ut.Tree("small", caliper_m=0.0254), ut.Tree("small", container_gal=15)]
        >>> spots = layouts.best_spots(tree=trees, names=["crab", "plum"], cell_m=0.5, progress=False)
        >>> sorted(spots["id"]), layouts.assess(spots, progress=False).index.tolist() == spots["id"].tolist()
        (['crab', 'plum'], True)
        """
        asked = asked_holes(n, radius_m, depth_m, tree, names)
        spacing, cell = lengths(spacing_m=spacing_m, cell_m=cell_m)
        gap = None if gap_m is None else length(gap_m, "gap_m")
        from_building, from_boundary = lengths(from_building_m=from_building_m, from_boundary_m=from_boundary_m)
        ground = None if within is None else checked("within", within)
        keeps = setback is not None
        holes = [(hole.name, hole.radius_m, hole.depth_m, hole.bearer, keeps) for hole in asked]
        row = SETBACK if setback is None else word(setback, "setback")
        limits = (
            number(setback_limit, "setback_limit"),
            number(setback_share, "setback_share"),
            number(roots_share, "roots_share"),
        )
        with memory_limit(memory_limit_gb), progress_callback(progress, "looking for spots") as callback:
            columns = self._handle.best_spots(
                holes,
                (spacing, gap, from_boundary, cell),
                weight_list(weights),
                word(method, "method", ("hand", "machine")),
                ground,
                (row, *limits, flag(spare_roots, "spare_roots"), from_building),
                worker_threads(threads),
                callback,
            )
        found = {key: columns.pop(key) for key in SPOTS_KNOWN}
        of = [asked[hole] for hole in columns.pop("hole")]
        first = {"spot": np.arange(1, len(of) + 1), "id": [hole.name or f"spot {k + 1}" for k, hole in enumerate(of)]}
        place = {key: columns.pop(key) for key in ("x_m", "y_m", "radius_m", "depth_m")}
        trees = tree_columns([hole.tree for hole in of])
        table = self._table({**first, **place, "method": [method] * len(of), **trees, **columns}, "spot")
        open_gap = max(0.0, found["total"] - found["lower_bound"])
        table.attrs.update(found, gap=open_gap, setback=row, setback_limit=setback_limit)
        return table
