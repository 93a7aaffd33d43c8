"""A plan of probes: exploratory hand digs in the order to dig them, as `Layouts.plan_probes` chooses them."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Literal, overload

import pandas as pd

from underturf._extras import needs
from underturf.digs import Hole, Pit, Trench
from underturf.directions import on_plan
from underturf.results.base import Result, records
from underturf.results.codec import canonical

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.plotting.styled import Style

__all__ = ["PlannedProbe", "ProbePlan"]


@dataclass(frozen=True, slots=True)
class PlannedProbe:
    """A probe to dig.

    Attributes
    ----------
    number : int
        Its number in the plan.
    x_m, y_m : float
        Its middle, metres east and north.
    azimuth_deg : float or None
        Direction of a slit, degrees clockwise from north; None: no slit.
    radius_m, depth_m : float
        Radius of a pothole and depth of any probe, metres.
    p_found, p_strike : float
        Probability of a find, and that the dig for it strikes a line.
    gain, gain_mcse : float
        Expected loss that it takes off after the probes before it, and its error.
    variance_gain, variance_gain_mcse : float
        The same for the expected Brier score.
    own_cost : float
        What digging it costs, in the unit of losses.
    worth : bool
        Whether it pays by itself, or later ones need it.
    information_bits : float
        About whether each dig strikes, summed.
    changes_if_found, changes_if_clear : tuple of str
        Names of digs whose verdict or place changes, by this probe alone.
    unsure_if_found, unsure_if_clear : tuple of str
        Names of digs whose verdict changes too, but by less than its error.
    decides : str
        The same in words.
    converged : bool
        Whether the row can be relied on.
    """

    number: int
    x_m: float
    y_m: float
    azimuth_deg: float | None
    radius_m: float
    depth_m: float
    p_found: float
    p_strike: float
    gain: float
    gain_mcse: float
    variance_gain: float
    variance_gain_mcse: float
    own_cost: float
    worth: bool
    information_bits: float
    changes_if_found: tuple[str, ...]
    changes_if_clear: tuple[str, ...]
    unsure_if_found: tuple[str, ...]
    unsure_if_clear: tuple[str, ...]
    decides: str
    converged: bool


@dataclass(frozen=True, slots=True, eq=False, repr=False, kw_only=True)
class ProbePlan(Result[PlannedProbe]):
    """Probes in the order to dig. Made by `Layouts.plan_probes`; iterating gives a `PlannedProbe` each.

    A probe is itself a hand dig: the cautions hold for it, and a clear probe is no clearance.

    Attributes
    ----------
    site, draws, seed, converged, not_assessed
        As in every `Result`.
    planned_for : tuple of Hole, Trench or Pit
        The digs that the probes are planned for, as they were given.
    tool : {"pothole", "slit", "rod"}
        What the probes are dug with.
    radius_m, depth_m : float
        Radius of a pothole, and depth, metres.
    slit_m : (float, float) or None
        Length and width of a slit, metres.
    p_detect : float
        Probability that a line within a probe is met.
    shift_m : float
        How far each dig may be shifted once probes have reported, metres; 0: not at all.
    objective : {"loss", "variance"}
        What was made small.
    loss_before, variance_before : float
        Expected loss, and expected Brier score, of the decisions without any probe.
    candidates : int
        Places that were looked at.
    cell_m : float
        Side of a cell of their grid, metres.
    notes : tuple of str
        What else has to be known, a sentence each.

    Examples
    --------
    >>> import tempfile, underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> plan = layouts.plan_probes(n=2, options=ut.ProbeOptions(always=True))
    >>> plan.tool, [probe.number for probe in plan], len(plan[1:])
    ('pothole', [1, 2], 1)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     ut.ProbePlan.load(plan.save(f"{folder}/plan.json")) == plan
    True
    """

    planned_for: tuple[Hole | Pit | Trench, ...]
    tool: Literal["pothole", "slit", "rod"]
    radius_m: float
    depth_m: float
    slit_m: tuple[float, float] | None
    p_detect: float
    shift_m: float
    objective: Literal["loss", "variance"]
    loss_before: float
    variance_before: float
    candidates: int
    cell_m: float
    notes: tuple[str, ...]
    _outcomes: pd.DataFrame

    FORMAT: ClassVar[str] = "underturf-probe-plan/1"
    ROWS: ClassVar[str] = "probes"
    SHOWN: ClassVar[tuple[str, ...]] = ("x_m", "y_m", "azimuth_deg", "p_found", "p_strike", "gain", "worth", "decides")

    def __post_init__(self) -> None:
        object.__setattr__(self, "_table", canonical(self._table))
        object.__setattr__(self, "_outcomes", canonical(self._outcomes))

    @property
    def digs(self) -> tuple[Hole | Trench, ...]:
        """The probes as digs, in order: round holes, or slits along their azimuths."""
        return tuple(self._dig(probe) for probe in self)

    def _dig(self, probe: PlannedProbe) -> Hole | Trench:
        name = f"probe {probe.number}"
        if self.slit_m is None or probe.azimuth_deg is None:
            return Hole(probe.x_m, probe.y_m, self.radius_m, self.depth_m, id=name)
        long, wide = self.slit_m
        along = on_plan(probe.azimuth_deg, self.site._handle.y_azimuth_deg)
        dx, dy = (0.5 * long * along).tolist()
        path = ((probe.x_m - dx, probe.y_m - dy), (probe.x_m + dx, probe.y_m + dy))
        return Trench(path, wide, self.depth_m, id=name)

    def outcomes(self) -> pd.DataFrame:
        """Return what each outcome of each probe means for each dig.

        Returns
        -------
        DataFrame, one row a probe and dig
            ``probe``, ``dig``; with ``now``, ``if_found`` and ``if_clear`` for each of them: ``p_<when>`` and ``mcse_<when>``
            (strike probability and its error), ``verdict_<when>``; of plans with ``shift_m`` also ``dx_<when>_m``,
            ``dy_<when>_m`` (shift from where the dig was given, metres east and north).

        Examples
        --------
        >>> import underturf as ut
        >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
        >>> plan = layouts.plan_probes("maple", n=1, options=ut.ProbeOptions(always=True))
        >>> plan.outcomes()[["probe", "dig"]].to_dict("records")
        [{'probe': 1, 'dig': 'maple'}]
        """
        return self._outcomes.copy()

    def plot(self, ax: Axes | None = None, *, style: Style = None) -> Axes:
        """Draw the probes, numbered in the order to dig them, and the digs they are planned for on a plan of the site.

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
        >>> axes = layouts.plan_probes(n=1, options=ut.ProbeOptions(cell_m=0.5)).plot(Figure().add_subplot())
        >>> axes.has_data()
        True
        """
        needs("a plot", "matplotlib")
        from underturf.plotting.results import plot_probe_plan
        from underturf.plotting.styled import styled

        with styled(style):
            return plot_probe_plan(self, ax)

    def _row(self, name: Any, cells: Mapping[str, Any]) -> PlannedProbe:
        known = {key: cells[key] for key in PlannedProbe.__dataclass_fields__ if key in cells}
        return PlannedProbe(number=name, radius_m=self.radius_m, depth_m=self.depth_m, **known)

    @overload
    def __getitem__(self, key: int | str) -> PlannedProbe: ...

    @overload
    def __getitem__(self, key: slice) -> ProbePlan: ...

    def __getitem__(self, key: int | str | slice) -> PlannedProbe | ProbePlan:
        """Return a probe by its place in the list, or the plan of some of the probes by a slice."""
        if not isinstance(key, slice):
            return Result.__getitem__(self, key)
        return dataclasses.replace(self, _table=self._table.iloc[key])

    def _outcome_records(self) -> list[dict[str, Any]]:
        """Return the outcomes row by row."""
        return records(self._outcomes)

    def _notes(self) -> tuple[str, ...]:
        return self.notes
