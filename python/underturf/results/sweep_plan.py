"""A plan of passes with a detector, in the order to make them, as `Layouts.plan_sweeps` chooses them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Literal

from underturf._extras import needs
from underturf.results.base import Result, plain_row

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.plotting.styled import Style

__all__ = ["PlannedSweep", "SweepPlan"]


@dataclass(frozen=True, slots=True)
class PlannedSweep:
    """One pass of a detector.

    Attributes
    ----------
    number : int
        Its place in the order, from 1.
    x0_m, y0_m, x1_m, y1_m : float
        Its ends, metres.
    p_sounds : float
        Chance that it sounds.
    information_bits, information_bits_mcse : float
        About the layout, after the passes before it, judged on draws that had no part in the choice, and its Monte Carlo error.
    variance_gain, variance_gain_mcse : float
        What it takes off the expected Brier score of the digs, likewise; below zero: nothing that the draws can see.
    settles : str
        What it settles best, in words; metal lines by their number in `Layouts.metal_lines`.
    settles_bits : float
        About that alone; one bit at most.
    converged : bool
        Whether the row can be relied on.
    """

    number: int
    x0_m: float
    y0_m: float
    x1_m: float
    y1_m: float
    p_sounds: float
    information_bits: float
    information_bits_mcse: float
    variance_gain: float
    variance_gain_mcse: float
    settles: str
    settles_bits: float
    converged: bool


@dataclass(frozen=True, slots=True, eq=False, repr=False, kw_only=True)
class SweepPlan(Result[PlannedSweep]):
    """Passes in the order to make them. Made by `Layouts.plan_sweeps`; iterating gives a `PlannedSweep` each.

    A pass whose gain is not above twice its Monte Carlo error is not in it. A pass that stays silent clears nothing.

    Attributes
    ----------
    site, draws, seed, converged, not_assessed
        As in every `Result`.
    by : {"information", "variance"}
        What they are chosen for.
    variance_before : float
        Sum over digs of p (1 - p) as things stand.
    candidates : int
        Places there were to choose from.
    notes : tuple of str
        What else has to be known, a sentence each.

    Examples
    --------
    >>> import underturf as ut
    >>> plan = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7).plan_sweeps()
    >>> len(plan), plan.notes[0][:24]
    (0, 'No draw has metal lines:')
    """

    by: Literal["information", "variance"]
    variance_before: float
    candidates: int
    notes: tuple[str, ...]

    FORMAT: ClassVar[str] = "underturf-sweep-plan/1"
    ROWS: ClassVar[str] = "passes"
    SHOWN: ClassVar[tuple[str, ...]] = (
        "x0_m",
        "y0_m",
        "x1_m",
        "y1_m",
        "p_sounds",
        "variance_gain",
        "variance_gain_mcse",
        "settles",
    )

    def plot(self, ax: Axes | None = None, *, style: Style = None) -> Axes:
        """Draw the passes on a plan of the site, numbered in their order.

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
        >>> plan = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7).plan_sweeps()
        >>> plan.plot(Figure().add_subplot()).has_data()
        True
        """
        needs("a plot", "matplotlib")
        from underturf.plotting.results import plot_sweep_plan
        from underturf.plotting.styled import styled

        with styled(style):
            return plot_sweep_plan(self, ax)

    def _row(self, name: Any, cells: Mapping[str, Any]) -> PlannedSweep:
        return plain_row(PlannedSweep, name, cells)

    def _notes(self) -> tuple[str, ...]:
        return self.notes
