"""Where digs lose least within a reach."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from underturf import _core
from underturf._checks import Length, lengths
from underturf._running import working
from underturf.cautions import NOT_CONVERGED
from underturf.dig_lists import Digs, bind_digs
from underturf.digs import Hole, Pit, Trench, from_core
from underturf.options import Running, TreeRules, Weights, tree_rules, weight_list

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["Shifted", "shifted"]


class Shifted(list[Hole | Pit | Trench]):
    """Digs put where they lose least, with ``converged``: whether the layouts that chose the places can be relied on."""

    __slots__ = ("converged",)

    def __init__(self, digs: Iterable[Hole | Pit | Trench], converged: bool) -> None:
        super().__init__(digs)
        self.converged = converged

    def __repr__(self) -> str:
        mark = "" if self.converged else f"{NOT_CONVERGED}: "
        return f"{mark}{super().__repr__()}"


def shifted(
    layouts: Layouts,
    digs: Digs = None,
    reach_m: Length = _core.DEFAULTS["reach_m"],
    weights: Weights = None,
    *,
    rules: TreeRules | None = None,
    cell_m: Length = _core.DEFAULTS["shift_cell_m"],
    run: Running | None = None,
) -> Shifted:
    """Move digs to where they lose least within a reach; a dig stays where no place is better.

    If holes can move, give `plan_probes` a ``shift_m`` and shift again after each report: probes planned for holes that are then
    shifted away are no better than unplanned ones (measured on simulated sites, see ``python/docs/validation.md``, 6).

    Parameters
    ----------
    digs : dig, name, list of them, result or DataFrame, optional
        As in `strike_probability`.
    reach_m : float
        Greatest shift, metres.
    weights : mapping of str to float, optional
        As in `assess`.
    rules : TreeRules, optional
        As in `assess`.
    cell_m : float
        Step of the shift, metres.
    run : Running, optional
        Threads, progress and memory.

    Returns
    -------
    list of Hole, Trench or Pit
        One a dig, in order, with its name, depth, method and tree, as it was drawn. Each lies at the place of least expected
        loss whose chance is no greater than where it was drawn, unless it may not be dug there: never inside a tolerance
        zone, on flagged metal, in a building, the stem of a standing tree or over the boundary, nor on paving from beside
        it. A tree keeps the limit of its setback and stays out of protected roots; where no place within reach does, it
        stays where it is (`assess` says so in ``shift_note``). A place chosen for its low chance is no clearance, and its
        chance is biased low. The list has ``converged`` (false: do not rely on these places).

    Raises
    ------
    DigError, ArgumentError
        As in `dig_maps`.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=100, seed=7)
    >>> holes = layouts.shifted(["maple", "crabapple"])
    >>> [hole.id for hole in holes]
    ['maple', 'crabapple']
    """
    reach_m, cell_m = lengths(reach_m=reach_m, cell_m=cell_m)
    bound = bind_digs(digs, layouts._site)
    given = weight_list(weights)
    with working(run, "moving digs") as work:
        found = layouts._handle.shifted(bound, reach_m, cell_m, given, tree_rules(rules), *work)
    return Shifted(map(from_core, found), layouts.converged)
