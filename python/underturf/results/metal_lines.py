"""Metal lines that flags, paint and known ends tell of, as `Layouts.metal_lines` finds them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import pandas as pd

from underturf._extras import needs
from underturf.results.base import Result, by_class
from underturf.results.codec import canonical

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.plotting.styled import Style

__all__ = ["MetalLine", "MetalLines"]


@dataclass(frozen=True, slots=True)
class MetalLine:
    """A line of buried metal.

    Attributes
    ----------
    line : int
        Its number, from 1: dangerous lines come first.
    probability : float
        That it is there.
    likeliest : str
        The class that it most likely carries.
    p_class : dict of str to float
        Probability of each class, given that the line is there.
    treat_as : str
        The class to treat it as: the likeliest, or ``"unknown"``, the worst, where no class has half of the probability.
    dangerous : bool
        Whether it has to be feared as gas or power.
    told_by, leads_to : str
        What tells of it, and the fixtures that it leads to.
    flags : int
        Number of detector flags on it.
    half_width_m : float or None
        Greatest half width of doubt between the first and the last of what tells of it, metres.
    cover_m, cover_low_m, cover_high_m : float
        Ground above its top, metres: the median, and the band that holds nine tenths.
    converged : bool
        Whether the row can be relied on.
    """

    line: int
    probability: float
    likeliest: str
    p_class: dict[str, float]
    treat_as: str
    dangerous: bool
    told_by: str
    leads_to: str
    flags: int
    half_width_m: float | None
    cover_m: float
    cover_low_m: float
    cover_high_m: float
    converged: bool


@dataclass(frozen=True, slots=True, eq=False, repr=False, kw_only=True)
class MetalLines(Result[MetalLine]):
    """Metal lines, dangerous ones first. Made by `Layouts.metal_lines`; iterating gives a `MetalLine` each.

    A line that nobody flagged, painted or knows the ends of is not here: silence is no clearance.

    Attributes
    ----------
    site, draws, seed, converged, not_assessed
        As in every `Result`.
    courses : DataFrame
        One row a station along a line: ``line``, ``x_m``, ``y_m`` (middle of the band), ``azimuth_deg`` (of the line, clockwise
        from north, in [0, 180)), ``half_width_m`` (to the further side of the band that holds nine tenths of the draws that
        pass here), ``p_here`` (share of all draws that pass here), ``between`` (whether it lies between the first and the last
        of what tells of the line; beyond them the line goes on, as far as ``p_here`` says).
    crossings : DataFrame
        One row a pair of lines that cross: ``line``, ``crosses``, ``x_m``, ``y_m``, ``probability``.
    failures : tuple of str
        Convergence checks that the chains over metal did not pass: which flag is on which line is sampled.
    notes : tuple of str
        What else has to be known, a sentence each.

    Examples
    --------
    >>> import underturf as ut
    >>> lines = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7).metal_lines()
    >>> [(line.likeliest, line.told_by, line.dangerous) for line in lines]
    [('gas', 'mark 1', True)]
    >>> bool((lines.courses["half_width_m"] > 0).all()), len(lines.crossings)
    (True, 0)
    """

    failures: tuple[str, ...]
    notes: tuple[str, ...]
    _courses: pd.DataFrame
    _crossings: pd.DataFrame

    FORMAT: ClassVar[str] = "underturf-metal-lines/1"
    ROWS: ClassVar[str] = "metal lines"
    SHOWN: ClassVar[tuple[str, ...]] = (
        "probability",
        "treat_as",
        "class",
        "dangerous",
        "told_by",
        "leads_to",
        "half_width_m",
        "cover_m",
    )

    def __post_init__(self) -> None:
        for name in ("_table", "_courses", "_crossings"):
            object.__setattr__(self, name, canonical(getattr(self, name)))

    @property
    def courses(self) -> pd.DataFrame:
        """Where the lines run, station by station; a table of its own."""
        return self._courses.copy()

    @property
    def crossings(self) -> pd.DataFrame:
        """Where two lines cross; a table of its own."""
        return self._crossings.copy()

    def plot(self, ax: Axes | None = None, *, style: Style = None) -> Axes:
        """Draw the lines with their bands of doubt on a plan of the site, by class, the most dangerous on top.

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
        >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
        >>> axes = layouts.metal_lines().plot(Figure().add_subplot())
        >>> axes.has_data()
        True
        """
        needs("a plot", "matplotlib")
        from underturf.plotting.results import plot_metal_lines
        from underturf.plotting.styled import styled

        with styled(style):
            return plot_metal_lines(self, ax)

    def _row(self, name: Any, cells: Mapping[str, Any]) -> MetalLine:
        known = {key: cells[key] for key in MetalLine.__dataclass_fields__ if key in cells}
        return MetalLine(line=name, likeliest=cells["class"], p_class=by_class(cells), **known)

    def _notes(self) -> tuple[str, ...]:
        return self.notes
