"""Places for holes of least total expected loss."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underturf._checks import Length, flag, length, lengths, number, word, worker_threads
from underturf._limits import memory_limit
from underturf._progress import Progress, progress_callback
from underturf._spots import asked_holes, checked
from underturf.dig_lists import digs_of, tree_columns
from underturf.digs import Method
from underturf.methods.tables import about, table_of
from underturf.options import ROOTS_SHARE, SETBACK, SETBACK_LIMIT, SETBACK_SHARE, Weights, weight_list
from underturf.results.spots import Spots
from underturf.trees import TreeLike

if TYPE_CHECKING:
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
) -> Spots:
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
    >>> len(spots), spots.lower_bound <= spots.total_loss + 1e-12
    (3, True)

    Two trees that differ, each in the hole that its ball needs; the spots go on as they are:

    >>> trees = [ut.Tree("small", caliper_m=0.0254), ut.Tree("small", container_gal=15)]
    >>> spots = layouts.best_spots(tree=trees, names=["crab", "plum"], cell_m=0.5, progress=False)
    >>> sorted(spots.names), [row.dig for row in layouts.assess(spots, progress=False)] == list(spots.names)
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
        columns = layouts._handle.best_spots(
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
    table = table_of(layouts, {**first, **place, "method": [method] * len(of), **trees, **columns}, "spot")
    return Spots(
        **about(layouts, table),
        digs=tuple(digs_of(table, "spots")),
        total_loss=found["total"],
        lower_bound=found["lower_bound"],
        gap=max(0.0, found["total"] - found["lower_bound"]),
        exact=found["exact"],
        candidates=found["candidates"],
        setback=row,
        setback_limit=limits[0],
    )
