"""A ranking: digs in the order of their expected loss, as `Layouts.rank` finds it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Literal, TypeAlias

from underturf._extras import needs
from underturf.digs import Hole, Pit, Trench
from underturf.results.base import Result, plain_row

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.plotting.styled import Style

__all__ = ["By", "RankedDig", "Ranking"]

#: What digs are ordered by: expected loss, or the probability of a strike.
By: TypeAlias = Literal["loss", "p"]


@dataclass(frozen=True, slots=True)
class RankedDig:
    """A dig in its place.

    Attributes
    ----------
    dig : str
        Its name.
    rank : int
        From 1; digs inside tolerance zones or on flagged metal, and those that may not be dug where drawn, share the last.
    p_strike, mcse : float
        Strike probability and its Monte Carlo standard error.
    loss, loss_mcse : float
        Expected loss, no unit, and its error.
    gap_to_next, gap_mcse : float or None
        Difference to the next dig in the same draws, and its error; None for the last.
    distinct_from_next : bool or None
        Whether the two can be told apart.
    draws_needed : float or None
        Draws that would tell a gap as large as this one; infinite where there is none.
    tied_with : tuple of str
        Names of all digs that it cannot be told apart from.
    in_tolerance_zone, on_flagged_metal : bool
        Whether it is last for that alone.
    blocked_by : str
        What keeps it from being dug where it is drawn; empty: nothing.
    note : str
        The same as a sentence.
    converged : bool
        Whether the row can be relied on.
    """

    dig: str
    rank: int
    p_strike: float
    mcse: float
    loss: float
    loss_mcse: float
    gap_to_next: float | None
    gap_mcse: float | None
    distinct_from_next: bool | None
    draws_needed: float | None
    tied_with: tuple[str, ...]
    in_tolerance_zone: bool
    on_flagged_metal: bool
    blocked_by: str
    note: str
    converged: bool


@dataclass(frozen=True, slots=True, eq=False, repr=False, kw_only=True)
class Ranking(Result[RankedDig]):
    """Digs in order. Made by `Layouts.rank`; iterating gives a `RankedDig` each, the least first.

    A low rank is no clearance.

    Attributes
    ----------
    site, draws, seed, converged, not_assessed
        As in every `Result`; ``draws`` may be more than the layouts had, where they were drawn on.
    digs : tuple of Hole, Trench or Pit
        The digs, in order.
    by : {"loss", "p"}
        What they are ordered by.
    distinct : bool
        Whether all neighbours can be told apart.

    Examples
    --------
    >>> import underturf as ut
    >>> ranking = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7).rank()
    >>> ranking.digs[-1].id, ranking["lamp-post"].in_tolerance_zone
    ('lamp-post', True)
    """

    digs: tuple[Hole | Pit | Trench, ...]
    by: By
    distinct: bool

    FORMAT: ClassVar[str] = "underturf-ranking/1"
    ROWS: ClassVar[str] = "digs in order"
    SHOWN: ClassVar[tuple[str, ...]] = ("rank", "p_strike", "mcse", "loss", "loss_mcse", "distinct_from_next", "note")

    def plot(self, ax: Axes | None = None, *, style: Style = None) -> Axes:
        """Draw the digs with their ranks and chances on a plan of the site.

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
        >>> axes = layouts.rank().plot(Figure().add_subplot())
        >>> axes.has_data()
        True
        """
        needs("a plot", "matplotlib")
        from underturf.plotting.results import plot_ranking
        from underturf.plotting.styled import styled

        with styled(style):
            return plot_ranking(self, ax)

    def _row(self, name: Any, cells: Mapping[str, Any]) -> RankedDig:
        return plain_row(RankedDig, name, cells)

    def _notes(self) -> tuple[str, ...]:
        return ("A low rank is no clearance.",)
