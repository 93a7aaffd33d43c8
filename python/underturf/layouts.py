"""Sampled pipe layouts, and what they say about digs.

`Layouts`, as `sample_layouts` returns them, answer everything that is asked about a site: chances of digs,
assessments with a verdict, maps. Probabilities are between 0 and 1 and never exactly either; a class of line for
which the document holds no evidence is *not assessed*: NaN in numbers, never a small number.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import numpy as np
import numpy.typing as npt
import pandas as pd

from underturf import _core
from underturf._checks import Length, at_least, lengths, word, worker_threads
from underturf._convergence import Reliance
from underturf._crew import Crew
from underturf._decide import SETBACK, SETBACK_LIMIT, Decisions, Weights, tree_rules, weight_list
from underturf._evidence import evidence_log
from underturf._limits import memory_limit
from underturf._plan import Plans
from underturf._progress import Progress, progress_callback
from underturf._zones import ZoneDoubt
from underturf.cautions import NOT_CONVERGED
from underturf.digs import Digs, bind_digs
from underturf.errors import ArgumentError
from underturf.maps import StrikeMap
from underturf.report import length_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.site import Site

__all__ = ["CLASSES", "Form", "Layouts"]

#: Every class of buried line, in the order of all tables.
CLASSES: tuple[str, ...] = tuple(_core.CLASSES)

Form: TypeAlias = Literal["auto", "general", "determinant"]


class Layouts(Reliance, ZoneDoubt, Decisions, Plans, Crew):
    """Sampled layouts of one site. Made by `sample_layouts`; never changes.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=50, seed=7, progress=False)
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
    def effective_draws(self) -> float:
        """Effective number of independent draws: all before any probe, fewer where draws share an outer state or a chain."""
        return self._handle.effective_draws

    @property
    def effort_spent(self) -> float:
        """Work that sampling took, in the measure of ``effort``: the same on every machine and for any number of threads."""
        return self._handle.effort_spent

    def evidence_log(self, draws: int = 500) -> pd.DataFrame:
        """Tell what each tree, sketch, swept ground, station test and probe of the site changed, taken in one by one.

        Layouts are sampled anew before and after each, so this takes as long as that many calls of `sample_layouts`
        and `assess`. A step whose sampling does not pass the gates is told all the same, and marked.

        Parameters
        ----------
        draws : int
            Layouts sampled at each step.

        Returns
        -------
        DataFrame
            One row a piece of evidence, kinds in the order above: ``evidence`` (its place in the document), ``chance_before``
            (of a probe: the chance of its result given everything before it; of a find, that a line is met which answers to
            what was noted of it, or that it is false; of a station test: that labels and the tests before it contradict it by so
            much or more, or, if that is less, that it raised none or all of the heads; else NaN), ``surprising`` (that is below
            0.001, for a find without unknown lines and false finds: a wrong position, a wrong zone, an abandoned line or a
            false find is likely), ``uncertainty_before`` and ``uncertainty_after`` (sum over the proposed digs of p (1 - p); 0
            where there are none), ``verdicts_changed`` (names of digs), ``converged`` (false: what was sampled before or after
            it did not pass the gates; do not rely on the row).

        Raises
        ------
        EffortError
            If a step takes more work than these layouts were allowed; a note says which.

        Examples
        --------
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green")).with_probe(3.4, 4.0, 0.25, 0.45, found=False)
        >>> log = ut.sample_layouts(site, draws=40, seed=7, progress=False).evidence_log(draws=40)
        >>> log["evidence"].tolist()
        ['probes[0]']
        """
        return evidence_log(self, at_least(2, draws, "draws"))

    def bearings(self) -> pd.DataFrame:
        """Grid bearings along which pipe may run, by the heads and edges of the site and by what probes found.

        Returns
        -------
        DataFrame
            ``bearing_deg`` (degrees counter-clockwise from x, in [0, 90); the grid's other axis is square to it),
            ``probability`` (given all evidence), ``before_probes`` (without what probes found) and ``converged`` (false: do
            not rely on ``probability``), likeliest first.
        """
        table = pd.DataFrame(self._handle.bearings, columns=["bearing_deg", "probability", "before_probes"])
        return self._marked(table.sort_values("probability", ascending=False, ignore_index=True))

    def segments(self) -> pd.DataFrame:
        """Every straight piece of line of every draw.

        Returns
        -------
        DataFrame
            One row a piece: ``draw``, ``zone``, ``class``, ``kind``, ``x0_m``, ``y0_m``, ``x1_m``, ``y1_m``,
            ``cover_m`` (ground above the top of the pipe), ``diameter_m`` (outside), ``converged`` (false: do not rely on the
            row).
        """
        columns = self._handle.segments()
        for name, words in (("zone", self._handle.systems), ("class", CLASSES), ("kind", _core.KINDS)):
            columns[name] = pd.Categorical.from_codes(columns[name], pd.Index(list(words)))
        return self._marked(pd.DataFrame(columns))

    # chances

    def strike_probability(
        self,
        digs: Digs = None,
        *,
        form: Form = "auto",
        threads: int | None = None,
        progress: Progress = None,
    ) -> npt.NDArray[np.float64]:
        """Chance that each dig strikes a line of an assessed class or an unknown one.

        Parameters
        ----------
        digs : dig, name, or list of them, optional
            Shapes or names of digs of the site; the site's own if not given.
        form : {"auto", "general", "determinant"}
            How to compute: by averaging over draws, or by determinants where the law factors over runs.
        threads, progress
            As in `sample_layouts`.

        Returns
        -------
        ndarray, shape (n,), float64
            One chance a dig, in the order given; never 0, never 1. An array cannot carry a mark: look at ``converged``
            of these layouts, or use `strikes`.

        Raises
        ------
        DigError
            If a dig has no size or its name is unknown.
        ArgumentError
            If the form is unknown or does not apply: the determinant form needs zones that are known or settled.
        ConvergenceError
            If chains over unknown zones do not tell a chance closely enough (an error above 0.01 and above a tenth of it).

        Examples
        --------
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green"))
        >>> layouts = ut.sample_layouts(site, draws=50, seed=7, progress=False)
        >>> layouts.strike_probability([]).shape
        (0,)
        >>> narrow, wide = layouts.strike_probability([ut.Hole(4, 3, 0.2, 0.4), ut.Hole(4, 3, 0.8, 0.4)])
        >>> bool(narrow <= wide)
        True
        """
        p: npt.NDArray[np.float64] = self._strike(digs, form, threads, progress)["p_strike"]
        return p

    def strikes(
        self,
        digs: Digs = None,
        *,
        form: Form = "auto",
        threads: int | None = None,
        progress: Progress = None,
    ) -> pd.DataFrame:
        """Chances of digs with their Monte Carlo error, by class.

        Parameters
        ----------
        digs, form, threads, progress
            As in `strike_probability`.

        Returns
        -------
        DataFrame, one row a dig, index ``dig``
            ``p_strike`` (assessed classes and floor only), ``mcse`` (Monte Carlo standard error), ``p_upper95``
            (one-sided 95 % bound), for each class ``p_<class>`` and ``mcse_<class>`` (NaN: not assessed), ``form``
            (the form that made the row) and ``converged`` (false: do not rely on the row).

        Raises
        ------
        DigError, ArgumentError
            As in `strike_probability`.
        """
        return self._table(self._strike(digs, form, threads, progress))

    # maps

    def strike_map(
        self,
        radius_m: Length = 0.3,
        depth_m: Length = 0.4,
        cell_m: Length = 0.1,
        classes: str | Iterable[str] | None = None,
        *,
        memory_limit_gb: float | None = None,
        threads: int | None = None,
        progress: Progress = None,
    ) -> StrikeMap:
        """Chance of a strike for one round hole, centred at each cell of a grid over the site.

        Parameters
        ----------
        radius_m, depth_m : float or str
            The hole: metres, or a text with its unit (``"2 ft"``, ``"14 ft 6 in"``, ``"30 cm"``). So are all lengths.
        cell_m : float or str
            Side of a cell.
        classes : str or iterable of str, optional
            Classes to count; all assessed ones and the floor if not given.
        memory_limit_gb, threads, progress
            As in `sample_layouts`.

        Returns
        -------
        StrikeMap
            Arrays of shape (rows, cols), row 0 at the north; NaN outside the boundary.

        Raises
        ------
        MemoryLimitError
            If so many cells or places would pass the memory allowed; says how many fit.
        ArgumentError
            If a length is not positive, the grid too large, or a class unknown or not assessed.
        """
        radius_m, depth_m, cell_m = lengths(radius_m=radius_m, depth_m=depth_m, cell_m=cell_m)
        names = None if classes is None else self._counted(classes)
        with memory_limit(memory_limit_gb), progress_callback(progress, "mapping") as callback:
            core = self._handle.strike_map(radius_m, depth_m, cell_m, names, worker_threads(threads), callback)
        radius, depth = (length_text(length, self._site.units) for length in (radius_m, depth_m))
        what = f"round hole, radius {radius}, depth {depth}"
        return StrikeMap._wrap(core, self, what, classes=self.assessed if names is None else tuple(names))

    def dig_maps(
        self,
        digs: Digs = None,
        reach_m: Length = 1.5,
        cell_m: Length = 0.1,
        weights: Weights = None,
        *,
        setback: str = SETBACK,
        setback_limit: float = SETBACK_LIMIT,
        memory_limit_gb: float | None = None,
        threads: int | None = None,
        progress: Progress = None,
    ) -> list[StrikeMap]:
        """For each dig: its chance when the same shape is moved, by up to a reach.

        Parameters
        ----------
        digs : dig, name, or list of them, optional
            As in `strike_probability`.
        reach_m : float
            Greatest shift, metres.
        cell_m : float
            Step of the shift, metres.
        weights : mapping of str to float, optional
            As in `assess`.
        setback, setback_limit
            As in `assess`.
        memory_limit_gb, threads, progress
            As in `sample_layouts`.

        Returns
        -------
        list of StrikeMap
            One a dig, in order. Its cells are where the dig's own middle would come to lie; ``shift`` is the place that `assess`
            names, ``no_better`` whether the dig should go elsewhere and has nowhere to go within reach.

        Raises
        ------
        DigError, ArgumentError
            As in `strike_probability` and `strike_map`.
        """
        reach_m, cell_m = lengths(reach_m=reach_m, cell_m=cell_m)
        bound = bind_digs(digs, self._site)
        given, rules = weight_list(weights), tree_rules(setback, setback_limit)
        with memory_limit(memory_limit_gb), progress_callback(progress, "moving digs") as callback:
            found = self._handle.dig_maps(bound, reach_m, cell_m, given, rules, worker_threads(threads), callback)
        return [
            StrikeMap._wrap(
                core,
                self,
                f"{dig.id}, moved",
                classes=self.assessed,
                dig=dig,
                shift=shift,
                no_better=no_better,
                setback_limit=setback_limit,
            )
            for dig, (core, shift, no_better) in zip(bound, found, strict=True)
        ]

    def plot(self, ax: Axes | None = None, *, digs: Digs = None, draws: int = 5) -> Axes:
        """Draw a plan of the site with some draws and the chances of digs; see `underturf.plotting.plot_site`."""
        return self._site.plot(ax, layouts=self, digs=digs, draws=draws)

    def plot_zones(self, ax: Axes | None = None) -> Axes:
        """Draw heads by their likely zone, and how sure that is; see `underturf.plotting.plot_zones`.

        Raises
        ------
        ImportError
            If matplotlib is not installed (``pip install underturf[plot]``).
        ArgumentError
            If the site has no heads.
        """
        from underturf.plotting import plot_zones

        return plot_zones(self, ax)

    # inside

    def _counted(self, classes: str | Iterable[str]) -> list[str]:
        """Check names of classes to count: a class without evidence would count as nothing."""
        if not isinstance(classes, Iterable):
            raise ArgumentError(
                f"classes is {classes!r}; it must be names of classes, or None for all that are assessed"
            )
        names = [classes] if isinstance(classes, str) else list(classes)
        for name in names:
            if name not in CLASSES:
                hint = _core.spelling_hint(str(name), CLASSES)
                raise ArgumentError(f"there is no class {name!r}; there are {', '.join(CLASSES)}{hint}")
            if name not in self.assessed:
                raise ArgumentError(f"{name} is not assessed here; assessed are {', '.join(self.assessed)}")
        return names

    def _strike(self, digs: Digs, form: Form, threads: int | None, progress: Progress) -> dict[str, Any]:
        bound, way = bind_digs(digs, self._site), word(form, "form", ("auto", "general", "determinant"))
        with progress_callback(progress, "computing strikes") as callback:
            return self._handle.strike(bound, way, worker_threads(threads), callback)

    def __repr__(self) -> str:
        mark = "" if self.converged else f"{NOT_CONVERGED}: "
        return f"<Layouts: {mark}{self.draws} draws, seed {self.seed}, of {self._site!r}>"
