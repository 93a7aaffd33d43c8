"""An assessment: everything a digger needs to decide, by dig, as `Layouts.assess` finds it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from underturf._extras import needs
from underturf.digs import Hole, Pit, Trench
from underturf.maps import Shift
from underturf.report import text_table
from underturf.results.base import Result, by_class

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.plotting.styled import Style

__all__ = ["AssessedDig", "Assessment"]


@dataclass(frozen=True, slots=True)
class AssessedDig:
    """What a digger needs to decide about one dig; the table of the assessment holds more.

    Attributes
    ----------
    dig : str
        Its name.
    p_strike, mcse, p_upper95 : float
        Strike probability (assessed classes and unmapped lines only), its Monte Carlo standard error and one-sided 95 % bound.
    p_by_class : dict of str to float
        Strike probability of each assessed class.
    loss : float
        Expected loss, no unit.
    nearest_class, nearest_zone : str or None
        The class of line that comes nearest in most layouts, and its likeliest line.
    nearest_m : float or None
        Median distance to the nearest line, metres.
    in_tolerance_zone, on_flagged_metal : bool
        Whether the dig enters the tolerance zone of a mark, or stands on metal that a detector heard.
    blocked_by : str
        What the dig meets as it is drawn; empty: nothing.
    shift : Shift or None
        The best small move, if any helps.
    shift_note : str
        Why there is none.
    p_setback : float or None
        Probability of a line within the setback of its tree; None without one.
    action : str
        The verdict as a word for programs.
    verdict : str
        The verdict as a sentence; no dig is ever called safe.
    converged : bool
        Whether the row can be relied on.
    """

    dig: str
    p_strike: float
    mcse: float
    p_upper95: float
    p_by_class: dict[str, float]
    loss: float
    nearest_class: str | None
    nearest_zone: str | None
    nearest_m: float | None
    in_tolerance_zone: bool
    on_flagged_metal: bool
    blocked_by: str
    shift: Shift | None
    shift_note: str
    p_setback: float | None
    action: str
    verdict: str
    converged: bool


@dataclass(frozen=True, slots=True, eq=False, repr=False, kw_only=True)
class Assessment(Result[AssessedDig]):
    """Digs with what is known of each. Made by `Layouts.assess`; iterating gives an `AssessedDig` each, in the order given.

    Attributes
    ----------
    site, draws, seed, converged, not_assessed
        As in every `Result`.
    digs : tuple of Hole, Trench or Pit
        The digs as they were given.
    setback : str
        Setback of trees without one of their own.
    setback_limit : float
        Greatest probability of a line within the setback at which a tree is left where it is, or moved to a place.
    reach_m : float
        How far a better place was looked for, metres.

    Examples
    --------
    >>> import underturf as ut
    >>> assessment = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7).assess()
    >>> assessment["lamp-post"].in_tolerance_zone
    True
    >>> "A probability is not a clearance" in str(assessment)  # what print() shows
    True
    >>> float(assessment.table().loc["maple", "p_strike"]) == assessment["maple"].p_strike
    True
    """

    digs: tuple[Hole | Pit | Trench, ...]
    setback: str
    setback_limit: float
    reach_m: float

    FORMAT: ClassVar[str] = "underturf-assessment/1"
    ROWS: ClassVar[str] = "digs"
    SHOWN: ClassVar[tuple[str, ...]] = ("p_strike", "mcse", "p_upper95", "loss", "nearest_zone", "nearest_m", "verdict")

    def plot(self, ax: Axes | None = None, *, style: Style = None) -> Axes:
        """Draw the digs with their chances on a plan of the site.

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
        >>> axes = layouts.assess().plot(Figure().add_subplot())
        >>> axes.has_data()
        True
        """
        needs("a plot", "matplotlib")
        from underturf.plotting.results import plot_assessment
        from underturf.plotting.styled import styled

        with styled(style):
            return plot_assessment(self, ax)

    def _row(self, name: Any, cells: Mapping[str, Any]) -> AssessedDig:
        known = {key: cells[key] for key in AssessedDig.__dataclass_fields__ if key in cells}
        shift = None
        if cells["shift_m"] is not None:
            where = (cells["shift_dx_m"], cells["shift_dy_m"])
            turned = self.site._handle.y_azimuth_deg
            shift = Shift(*where, cells["p_shifted"], cells["loss_shifted"], cells["p_setback_shifted"], turned)
        return AssessedDig(dig=name, p_by_class=by_class(cells), shift=shift, **known)

    def __str__(self) -> str:
        return text_table(self)
