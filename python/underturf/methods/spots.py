"""Places for holes of least total expected loss."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

import numpy as np

from underturf._checks import Length
from underturf._running import working
from underturf._spots import asked_holes, checked
from underturf.dig_lists import digs_of, tree_columns
from underturf.methods.tables import about, table_of
from underturf.options import SETBACK, Running, SpotOptions, Weights, chosen, weight_list
from underturf.results.spots import Spots
from underturf.trees import TreeLike

if TYPE_CHECKING:
    from underturf.digs import Hole
    from underturf.layouts import Layouts

__all__ = ["best_spots"]

#: What is known of a choice of spots as a whole.
SPOTS_KNOWN = ("total", "lower_bound", "exact", "candidates")


def best_spots(
    layouts: Layouts,
    n: int | None = None,
    radius_m: Length | Sequence[Length | None] | None = None,
    depth_m: Length | Sequence[Length | None] | None = None,
    *,
    tree: TreeLike | Sequence[TreeLike] = None,
    weights: Weights = None,
    options: SpotOptions | None = None,
    run: Running | None = None,
) -> Spots:
    """Find places for holes of least total expected loss.

    Places are the cells of a grid; never inside a tolerance zone, on flagged metal, in a building or a pool, in paving or
    over the boundary. Few places are searched exactly; for many, a good choice comes with a proven lower bound of every
    choice. The chances of chosen places are biased low, see ``python/docs/validation.md``, 6.

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
    weights : mapping of str to float, optional
        As in `assess`.
    options : SpotOptions, optional
        Names, distances to keep, setback and costs of trees, the ground to stay in, who digs.
    run : Running, optional
        Threads, progress and memory.

    Returns
    -------
    Spots
        Iterated over, they give a `Spot` each, least loss first; ``digs`` are the holes with names and trees, and all that take
        digs take the whole. ``total_loss``, ``lower_bound`` (no choice on this grid comes to less), ``gap`` (what could be
        gained at most) and ``exact`` (whether the choice is proven best on this grid) say how good the choice is. Their
        ``table()`` has one row a spot, index ``spot`` from 1: ``id`` (its name), ``x_m``, ``y_m``, ``radius_m``, ``depth_m``
        (the hole as it will be dug), ``method``, the tree in ``tree_size``, ``tree_vigour``, ``tree_caliper_m``,
        ``tree_container_gal``, ``tree_root_radius_m``, ``tree_setback``; ``p_strike``, ``mcse``, ``p_upper95``, ``loss``,
        ``loss_mcse``, ``setback_loss`` (what likely lines within the setback add), ``p_setback`` (chance of a line within the
        setback of its tree; NaN: none or exempt), ``roots_loss`` (what a building within the roots at maturity adds),
        ``p_<class>`` (NaN: not assessed), ``hole_width_m``, ``hole_depth_m``, ``hole_source`` (the hole that the ball of its
        tree needs; NaN or none where nothing tells), ``hole_too_small`` (whether a smaller hole was asked for),
        ``converged``. A spot found here is no clearance to dig.

    Notes
    -----
    Of many figures that each have an error, the least is biased low. Assess the chosen spots with layouts of another
    seed to see them without that bias.

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
    >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
    >>> spots = layouts.best_spots(3, 0.45, 0.4, options=ut.SpotOptions(spacing_m=3.0, cell_m=0.5))
    >>> len(spots), spots.lower_bound <= spots.total_loss + 1e-12
    (3, True)

    Two trees that differ, each in the hole that its ball needs; the spots go on as they are:

    >>> trees = [ut.Tree("small", caliper_m=0.0254), ut.Tree("small", container_gal=15)]
    >>> spots = layouts.best_spots(tree=trees, options=ut.SpotOptions(names=["crab", "plum"], cell_m=0.5))
    >>> sorted(spots.names), [row.dig for row in layouts.assess(spots)] == list(spots.names)
    (['crab', 'plum'], True)
    """
    where = chosen(options, SpotOptions, "options")
    asked = asked_holes(n, radius_m, depth_m, tree, where.names)
    ground = None if where.within is None else checked("within", where.within)
    keeps, row = where.setback is not None, where.setback or SETBACK
    holes = [(hole.name, hole.radius_m, hole.depth_m, hole.bearer, keeps) for hole in asked]
    shares = (where.setback_limit, where.setback_share, where.roots_share)
    with working(run, "looking for spots") as work:
        columns = layouts._handle.best_spots(
            holes,
            (where.spacing_m, where.gap_m, where.from_boundary_m, where.cell_m),
            weight_list(weights),
            where.method,
            ground,
            (row, *shares, where.spare_roots, where.from_building_m),
            *work,
        )
    found = {key: columns.pop(key) for key in SPOTS_KNOWN}
    of = [asked[hole] for hole in columns.pop("hole")]
    first = {"spot": np.arange(1, len(of) + 1), "id": [hole.name or f"spot {k + 1}" for k, hole in enumerate(of)]}
    place = {key: columns.pop(key) for key in ("x_m", "y_m", "radius_m", "depth_m")}
    trees = tree_columns([hole.tree for hole in of])
    table = table_of(layouts, {**first, **place, "method": [where.method] * len(of), **trees, **columns}, "spot")
    return Spots(
        **about(layouts, table),
        digs=cast("tuple[Hole, ...]", tuple(digs_of(table, "spots"))),
        total_loss=found["total"],
        lower_bound=found["lower_bound"],
        gap=max(0.0, found["total"] - found["lower_bound"]),
        exact=found["exact"],
        candidates=found["candidates"],
        setback=row,
        setback_limit=where.setback_limit,
    )
