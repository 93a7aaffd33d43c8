"""Sampled pipe layouts, and what they say about digs.

`Layouts`, as `sample_layouts` returns them, answer everything that is asked about a site: chances of digs,
assessments with a verdict, maps. Probabilities are between 0 and 1 and never exactly either; a class of line for
which the document holds no evidence is *not assessed*: NaN in numbers, never a small number.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from underturf import _core
from underturf._extras import needs
from underturf._page import page
from underturf.cautions import NOT_CONVERGED
from underturf.errors import ArgumentError, UnderturfError
from underturf.keeping import writing
from underturf.methods import (
    assessment,
    chances,
    convergence,
    crew_sheets,
    evidence,
    exploring,
    exports,
    lines,
    maps,
    metal,
    probes,
    ranking,
    samples,
    sensitivity,
    shifts,
    site_report,
    spots,
    sweeps,
    valves,
    zones,
)
from underturf.site import Site

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.dig_lists import Digs
    from underturf.plotting.styled import Style

__all__ = ["CLASSES", "Layouts"]

#: Every class of buried line, in the order of all tables.
CLASSES: tuple[str, ...] = tuple(_core.CLASSES)


class Layouts:
    """Sampled layouts of one site. Made by `sample_layouts`; never changes.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
    >>> p = layouts.strike_probability([ut.Hole(4.0, 3.0, radius_m=0.3, depth_m=0.4)])
    >>> p.shape, p.dtype
    ((1,), dtype('float64'))
    >>> bool(0 < p[0] < 1)
    True
    """

    __slots__ = ("_handle", "_site")

    def __init__(self, core: _core.Layouts, site: Site) -> None:
        self._handle = core
        self._site = site

    # what they are

    @property
    def site(self) -> Site:
        """The site they were drawn for."""
        return self._site

    @property
    def draws(self) -> int:
        """Number of layouts."""
        return self._handle.draws

    @property
    def seed(self) -> int:
        """The seed they came from."""
        return self._handle.seed

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the reader of a result has to know, one sentence each."""
        return tuple(self._handle.warnings)

    @property
    def assessed(self) -> tuple[str, ...]:
        """Classes of line for which the document holds evidence; all others are not assessed."""
        return tuple(name for name, known in zip(CLASSES, self._handle.assessed, strict=True) if known)

    @property
    def not_assessed(self) -> tuple[str, ...]:
        """Classes of line for which the document holds no evidence: no number here counts them."""
        return tuple(name for name in CLASSES if name not in self.assessed)

    @property
    def exchangeable_zones(self) -> tuple[tuple[str, ...], ...]:
        """Zones that cannot be told apart: their valves have no name and share a box."""
        return tuple(map(tuple, self._handle.exchangeable_zones))

    @property
    def effective_draws(self) -> float:
        """Effective number of independent draws: all before any probe, fewer where draws share an outer state or a chain."""
        return self._handle.effective_draws

    @property
    def effort_spent(self) -> float:
        """Work that sampling took, in the measure of ``effort``: the same on every machine and for any number of threads."""
        return self._handle.effort_spent

    @property
    def converged(self) -> bool:
        """Whether the figures can be relied on: chains, over zones or over metal lines, passed every convergence check."""
        return self._handle.passed

    @property
    def independent(self) -> bool:
        """Whether draws are independent: so where zones are known or settled; else they come from chains over zones.

        Metal lines come from chains of their own, whose spread is in the Monte Carlo errors.
        """
        return self._handle.independent

    # what was drawn, and whether it can be relied on

    segments = samples.segments
    bearings = samples.bearings
    evidence_log = evidence.evidence_log
    diagnostics = convergence.diagnostics
    proposals = convergence.proposals
    to_datatree = convergence.to_datatree

    @property
    def run_info(self) -> convergence.RunInfo:
        """How the chains ran; empty where draws are independent.

        ``chains``, ``states_per_chain`` (kept of each), ``sweeps`` (of each chain), ``betas`` (inverse temperatures, from
        the reference at 0 to the site's model at 1), ``barrier`` (communication barrier; None before every pair of
        temperatures was offered a swap), ``round_trips`` (from the reference to the site's model and back, all
        chains), ``zoning_ess`` (effective number of zonings, by Frechet correlation; None if all are one), ``tree_ess``
        (the same of trees: which places a pipe joins),
        ``efficiency`` (share of independent draws that the draws are worth), ``failures`` (sentences: every check not passed).

        References
        ----------
        Syed, Bouchard-Cote, Deligiannidis and Doucet (2022), J. R. Stat. Soc. B 84, 321-350 (temperatures, barrier,
        round trips). Magee, Karcher, Matsen and Minin (2024), Bayesian Analysis 19, 565-593 (Frechet correlation).
        """
        return convergence.run_info(self)

    # buried metal

    metal_lines = metal.metal_lines
    flags = metal.flags

    # heads and zones

    zone_chances = zones.zone_chances
    same_zone_chances = zones.same_zone_chances
    likely_groups = zones.likely_groups

    # chances of digs

    strike_probability = chances.strike_probability
    strikes = chances.strikes
    strike_map = maps.strike_map
    dig_maps = maps.dig_maps

    sensitivity = sensitivity.sensitivity

    # what to do

    assess = assessment.assess
    tree_conflicts = assessment.tree_conflicts
    rank = ranking.rank
    best_spots = spots.best_spots
    shifted = shifts.shifted
    plan_probes = probes.plan_probes
    plan_station_tests = valves.plan_station_tests
    plan_sweeps = sweeps.plan_sweeps

    # what goes to the ground

    likely_lines = lines.likely_lines
    crew_sheet = crew_sheets.crew_sheet
    export = exports.export_layouts

    # for the file

    report = site_report.report

    # looks

    explore = exploring.explore
    explore_widget = exploring.explore_widget

    def plot(self, ax: Axes | None = None, *, digs: Digs = None, draws: int = 5, style: Style = None) -> Axes:
        """Draw a plan of the site with some draws and the chances of digs; see `underturf.plotting.plot_site`.

        Examples
        --------
        >>> from matplotlib.figure import Figure
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green"))
        >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
        >>> axes = layouts.plot(Figure().add_subplot(), draws=2)
        >>> axes.has_data()
        True
        """
        return self._site.plot(ax, layouts=self, digs=digs, draws=draws, style=style)

    def plot_zones(self, ax: Axes | None = None, *, style: Style = None) -> Axes:
        """Draw heads by their likely zone, and how sure that is; see `underturf.plotting.plot_zones`.

        Raises
        ------
        ImportError
            If matplotlib is not installed (``pip install underturf[plot]``).
        ArgumentError
            If the site has no heads.

        Examples
        --------
        >>> from matplotlib.figure import Figure
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green"))
        >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
        >>> axes = layouts.plot_zones(Figure().add_subplot())
        >>> axes.has_data()
        True
        """
        needs("a plot", "matplotlib")
        from underturf.plotting import plot_zones

        return plot_zones(self, ax, style=style)

    # what keeps them

    save = writing.save

    def __reduce__(self) -> tuple[Any, ...]:
        return unpickled, (self._site.to_json(), self._handle.keep())

    def __copy__(self) -> Layouts:
        return self

    def __deepcopy__(self, memo: dict[int, Any]) -> Layouts:
        return self

    def _repr_html_(self) -> str:
        table = pd.DataFrame(
            {"": [self.draws, round(self.effective_draws), self.seed, ", ".join(self.assessed)]},
            index=["draws", "effective draws", "seed", "assessed classes"],
        )
        return page(f"Layouts of {self._site.name or 'a site without a name'}", table, self.warnings, self.converged)

    def __repr__(self) -> str:
        mark = "" if self.converged else f"{NOT_CONVERGED}: "
        return f"<Layouts: {mark}{self.draws} draws, seed {self.seed}, of {self._site!r}>"


def taken_up(document: str, columns: dict[str, Any]) -> Layouts:
    """Return layouts that were kept, by the site's document as JSON and their columns."""
    site = Site.from_json(document)
    return Layouts(_core.Layouts.take_up(site._handle, columns), site)


def unpickled(document: str, columns: dict[str, Any]) -> Layouts:
    """Make layouts that were pickled.

    Raises
    ------
    ArgumentError
        If they were pickled by another version whose columns this one does not know.
    """
    try:
        return taken_up(document, columns)
    except UnderturfError as error:
        raise ArgumentError(f"these layouts were pickled by another version of underturf: {error}") from None
