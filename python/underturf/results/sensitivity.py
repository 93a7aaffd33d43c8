"""Which settings move the chances of digs, as `Layouts.sensitivity` finds it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from underturf._extras import needs
from underturf.digs import Hole, Pit, Trench
from underturf.results.base import Result, plain_row

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["Effect", "Sensitivity"]


@dataclass(frozen=True, slots=True)
class Effect:
    """What moving one setting does to the chance of one dig.

    Attributes
    ----------
    row : int
        Its place in the table, from 0.
    dig, setting, unit : str
        The dig, the setting, and the unit of its values.
    value, low, high : float or None
        The setting as it is, and as it is moved; None where it is not moved that way.
    p_strike, p_low, p_high : float or None
        Strike probability with each, mean of the replicates.
    change_low, change_low_mcse, change_high, change_high_mcse : float or None
        Change of the probability, and its Monte Carlo standard error.
    swing : float
        The greater change, without its sign.
    distinct : bool
        Whether a change is larger than its error explains.
    converged : bool
        Whether all samples behind the row can be relied on.
    """

    row: int
    dig: str
    setting: str
    unit: str
    value: float
    low: float | None
    high: float | None
    p_strike: float
    p_low: float | None
    p_high: float | None
    change_low: float | None
    change_low_mcse: float | None
    change_high: float | None
    change_high_mcse: float | None
    swing: float
    distinct: bool
    converged: bool


@dataclass(frozen=True, slots=True, eq=False, repr=False, kw_only=True)
class Sensitivity(Result[Effect]):
    """Effects of settings on the chances of digs. Made by `Layouts.sensitivity`; iterating gives an `Effect` each.

    Its table has one row a dig and setting, digs in the order given; of each dig distinct changes come first, the greatest
    on top. ``draws`` is the number of layouts of all replicates together.

    Attributes
    ----------
    site, draws, seed, converged, not_assessed
        As in every `Result`.
    replicates : int
        Samples, each with a seed of its own, from which an effect and its error come.
    share : float
        How far settings without values were moved.
    for_digs : tuple of Hole, Trench or Pit
        The digs.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7)
    >>> options = ut.SensitivityOptions(settings=["lateral_cover_m"], draws=50, replicates=2)
    >>> effects = layouts.sensitivity(options=options)
    >>> [(effect.dig, effect.setting, effect.low, effect.high) for effect in effects]
    [('shrub', 'lateral_cover_m', 0.14, 0.32), ('stake', 'lateral_cover_m', 0.14, 0.32)]
    """

    replicates: int
    share: float
    for_digs: tuple[Hole | Pit | Trench, ...]

    FORMAT: ClassVar[str] = "underturf-sensitivity/1"
    ROWS: ClassVar[str] = "effects"
    SHOWN: ClassVar[tuple[str, ...]] = (
        "dig",
        "setting",
        "value",
        "low",
        "high",
        "p_strike",
        "change_low",
        "change_high",
        "distinct",
    )

    def plot(self, ax: Axes | None = None, *, dig: str | None = None) -> Axes:
        """Draw the changes of one dig as bars, the greatest on top, with their errors.

        Parameters
        ----------
        ax : Axes, optional
            Where to draw; a new figure if not given.
        dig : str, optional
            Which dig; the first if not given.

        Raises
        ------
        ImportError
            If matplotlib is not installed (``pip install underturf[plot]``).
        ArgumentError
            If there is no such dig.

        Examples
        --------
        >>> from matplotlib.figure import Figure
        >>> import underturf as ut
        >>> layouts = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7)
        >>> options = ut.SensitivityOptions(settings=["lateral_cover_m"], draws=50, replicates=2)
        >>> axes = layouts.sensitivity(options=options).plot(Figure().add_subplot(), dig="stake")
        >>> axes.has_data()
        True
        """
        needs("a plot", "matplotlib")
        from underturf.plotting.sensitivity import plot_sensitivity

        return plot_sensitivity(self, ax, dig)

    def _row(self, name: Any, cells: Mapping[str, Any]) -> Effect:
        return plain_row(Effect, name, cells)

    def _notes(self) -> tuple[str, ...]:
        return (
            "One setting at a time was moved, to the low and to the high value; what settings do together is not told.",
            "A change that is not distinct may be noise of sampling.",
        )
