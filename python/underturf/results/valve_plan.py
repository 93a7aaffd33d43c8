"""A plan of station tests: which valves to run first, as `Layouts.plan_station_tests` finds it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Literal

from underturf._extras import needs
from underturf.results.base import Result, plain_row

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.plotting.styled import Style

__all__ = ["RankedValve", "ValvePlan"]


@dataclass(frozen=True, slots=True)
class RankedValve:
    """A valve, or valves that cannot be told apart.

    Attributes
    ----------
    valve : str
        What to run.
    information_bits : float
        About which heads share a zone: no more than this.
    gain, gain_mcse : float
        Expected loss of the decisions about digs that it takes off, no less than this in expectation, and its error.
    variance_gain, variance_gain_mcse : float
        The same for the expected Brier score.
    heads_expected : float
        Mean number of heads that come up.
    unsure_heads : tuple of str
        Heads that may or may not come up, the least sure first.
    zones, boxes : tuple of str
        Zones and valve boxes that the row stands for.
    converged : bool
        Whether the row can be relied on.
    """

    valve: str
    information_bits: float
    gain: float
    gain_mcse: float
    variance_gain: float
    variance_gain_mcse: float
    heads_expected: float
    unsure_heads: tuple[str, ...]
    zones: tuple[str, ...]
    boxes: tuple[str, ...]
    converged: bool


@dataclass(frozen=True, slots=True, eq=False, repr=False, kw_only=True)
class ValvePlan(Result[RankedValve]):
    """Valves to run. Made by `Layouts.plan_station_tests`; iterating gives a `RankedValve` each, the one to run first on top.

    Attributes
    ----------
    site, draws, seed, converged, not_assessed
        As in every `Result`.
    by : {"information", "loss", "variance"}
        What they are ordered by.
    notes : tuple of str
        Sentences, the advice to run every zone among them.

    Examples
    --------
    >>> import underturf as ut
    >>> plan = ut.sample_layouts(ut.read_site(ut.example("unlabelled")), draws=50, seed=7).plan_station_tests()
    >>> plan[0].valve, plan[0].boxes
    ('any valve of box', ('box',))
    """

    by: Literal["information", "loss", "variance"]
    notes: tuple[str, ...]

    FORMAT: ClassVar[str] = "underturf-valve-plan/1"
    ROWS: ClassVar[str] = "valves to run"
    SHOWN: ClassVar[tuple[str, ...]] = ("information_bits", "gain", "gain_mcse", "heads_expected", "boxes")

    def plot(self, ax: Axes | None = None, *, style: Style = None) -> Axes:
        """Draw a plan of the site that rings the heads which the first valve may or may not raise.

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
        >>> axes = layouts.plan_station_tests().plot(Figure().add_subplot())
        >>> axes.has_data()
        True
        """
        needs("a plot", "matplotlib")
        from underturf.plotting.results import plot_valve_plan
        from underturf.plotting.styled import styled

        with styled(style):
            return plot_valve_plan(self, ax)

    def _row(self, name: Any, cells: Mapping[str, Any]) -> RankedValve:
        return plain_row(RankedValve, name, cells)

    def _notes(self) -> tuple[str, ...]:
        return self.notes
