"""Spots: places for holes of least total expected loss, as `Layouts.best_spots` finds them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from underturf._extras import needs
from underturf.digs import Hole, Method
from underturf.results.base import Result, by_class
from underturf.trees import Tree

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.plotting.styled import Style

__all__ = ["Spot", "Spots"]


@dataclass(frozen=True, slots=True)
class Spot:
    """A place for a hole.

    Attributes
    ----------
    number : int
        From 1, least loss first.
    id : str
        Its name.
    x_m, y_m : float
        Centre, metres east and north.
    radius_m, depth_m : float
        The hole as it will be dug, metres.
    method : {"hand", "machine"}
        Who digs.
    p_strike, mcse, p_upper95 : float
        Strike probability, its Monte Carlo standard error and one-sided 95 % bound.
    p_by_class : dict of str to float
        Strike probability of each assessed class.
    loss, setback_loss, roots_loss : float
        Expected loss, and what likely lines within the setback and a building within the roots add to it; no unit.
    p_setback : float or None
        Probability of a line within the setback of its tree; None without one.
    hole_too_small : bool
        Whether a smaller hole was asked for than the root ball needs.
    converged : bool
        Whether the row can be relied on.
    """

    number: int
    id: str
    x_m: float
    y_m: float
    radius_m: float
    depth_m: float
    method: Method
    p_strike: float
    mcse: float
    p_upper95: float
    p_by_class: dict[str, float]
    loss: float
    setback_loss: float
    roots_loss: float
    p_setback: float | None
    hole_too_small: bool
    converged: bool


@dataclass(frozen=True, slots=True, eq=False, repr=False, kw_only=True)
class Spots(Result[Spot]):
    """Places for holes. Made by `Layouts.best_spots`; iterating gives a `Spot` each, least loss first.

    It goes whole into every method that takes digs. A spot found here is no clearance to dig.

    Attributes
    ----------
    site, draws, seed, converged, not_assessed
        As in every `Result`.
    digs : tuple of Hole
        The holes, with their names and trees.
    total_loss : float
        Expected loss of all spots, with what setbacks and roots add.
    lower_bound : float
        No choice on this grid has a total loss below this.
    gap : float
        What could be gained at most: the total loss less the lower bound.
    exact : bool
        Whether the choice is proven best on this grid.
    candidates : int
        Places that were looked at.
    setback : str
        Setback of trees without one of their own.
    setback_limit : float
        Greatest probability of a line within the setback at which a place was taken.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> spots = layouts.best_spots(2, 0.45, 0.4)
    >>> [spot.id for spot in spots], spots.digs[0].radius_m
    (['spot 1', 'spot 2'], 0.45)
    >>> spots.table().index.tolist()
    [1, 2]
    """

    digs: tuple[Hole, ...]
    total_loss: float
    lower_bound: float
    gap: float
    exact: bool
    candidates: int
    setback: str
    setback_limit: float

    FORMAT: ClassVar[str] = "underturf-spots/1"
    ROWS: ClassVar[str] = "spots"
    SHOWN: ClassVar[tuple[str, ...]] = (
        "id",
        "x_m",
        "y_m",
        "radius_m",
        "depth_m",
        "p_strike",
        "mcse",
        "p_upper95",
        "loss",
    )

    @property
    def trees(self) -> tuple[Tree | None, ...]:
        """The tree of each spot; None where none is planted."""
        return tuple(dig.tree if isinstance(dig.tree, Tree) else None for dig in self.digs)

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the spots."""
        return tuple(str(dig.id) for dig in self.digs)

    def plot(self, ax: Axes | None = None, *, style: Style = None) -> Axes:
        """Draw the spots with their chances on a plan of the site.

        Parameters
        ----------
        ax : Axes, optional
            Where to draw; a new figure if not given.
        style : str, mapping or list of them, optional
            A style of matplotlib by name, or settings of it: fonts, sizes. Ink, paper and the colours that mean something stay.

        Raises
        ------
        ImportError
            If matplotlib is not installed (``pip install underturf[plot]``).

        Examples
        --------
        >>> from matplotlib.figure import Figure
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green"))
        >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
        >>> axes = layouts.best_spots(2, 0.3, 0.4).plot(Figure().add_subplot())
        >>> axes.has_data()
        True
        """
        needs("a plot", "matplotlib")
        from underturf.plotting.results import plot_spots
        from underturf.plotting.styled import styled

        with styled(style):
            return plot_spots(self, ax)

    def _row(self, name: Any, cells: Mapping[str, Any]) -> Spot:
        known = {key: cells[key] for key in Spot.__dataclass_fields__ if key not in ("number", "p_by_class")}
        return Spot(number=name, p_by_class=by_class(cells), **known)

    def _notes(self) -> tuple[str, ...]:
        best = "proven best on this grid" if self.exact else f"at most {self.gap:.3g} above the best on this grid"
        return (f"Total loss {self.total_loss:.3g}, {best}. A spot found here is no clearance to dig.",)
