"""Which settings matter: each is moved alone, and every dig is asked again with the same random numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt
import pandas as pd

from underturf import _core
from underturf._progress import progress_callback
from underturf._sampling import sampled
from underturf.dig_lists import Digs, bind_digs
from underturf.digs import from_core
from underturf.methods.tables import about
from underturf.options import Running, SensitivityOptions, chosen
from underturf.results.sensitivity import Sensitivity
from underturf.site import Site

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["sensitivity", "settings_that_can_matter"]

#: Two-sided 97.5 % points of Student's t, by degrees of freedom from 1; from 10 on the last is taken, which is too wide and so no
#: claim too much.
STUDENT = (12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228)

#: Settings that can move a chance only where a document holds such evidence, by what `evidence_of` calls it.
CAN_MATTER = {
    "": ("unmapped_density_per_m", "unmapped_cover_m"),
    "heads": (
        *("lateral_cover_m", "offset_sd_m", "offset_stray_share", "length_rate", "align_gain"),
        *("header_share", "chain_share", "loose_share", "elbow_share"),
    ),
    "supply": ("mainline_cover_m",),
    "outlets": ("house_fed_share",),
    "trees": ("tree_factor",),
    "paving": ("crossing_factor", "paving_cover_m"),
    "buildings": ("obstacle_clearance_m",),
    "sketches": ("sketch_tolerance_m",),
    "swept": ("sweep_detect",),
    "unknown zones": ("zone_fill", "extra_valve_factor"),
    "station_tests": ("station_error",),
    "flags": ("metal_stray_share", "metal_gap_share"),
    "marks": ("metal_false_mark",),
    "metal": ("metal_lines", "metal_axis_share", "metal_beyond_m"),
}


class Moved(NamedTuple):
    """A setting as it is and as it is moved; None where it is not moved that way."""

    name: str
    unit: str
    value: float
    low: float | None
    high: float | None


class Answers(NamedTuple):
    """Chances of digs, one row a replicate, and whether all of them can be relied on."""

    p: npt.NDArray[np.float64]
    converged: bool


#: Chances with a setting moved down (``low``) and up (``high``); None where it is not moved that way.
Ways: TypeAlias = "dict[str, Answers | None]"


def sensitivity(
    layouts: Layouts,
    digs: Digs = None,
    *,
    options: SensitivityOptions | None = None,
    accept_unconverged: bool = False,
    run: Running | None = None,
) -> Sensitivity:
    """Tell which settings move the chances of digs: each setting is moved alone, down and up, and all is sampled again.

    Samples with the setting as it is and as it is moved begin with the same seed, so that what the setting does not
    touch stays the same: one that cannot matter has a change of exactly zero. This is done with several seeds; the mean
    over them is the change, their spread its Monte Carlo error. A change is called distinct where it is larger than the
    error explains (Student's t, two-sided, 0.05, each change for itself: of a hundred that are noise, five pass).

    It takes long: ``replicates`` times one more than twice the number of settings, in samples of ``draws`` layouts.
    Where zones are not known each of these is a run of chains. It can be stopped at any moment.

    Parameters
    ----------
    digs : dig, name, list of them, result or DataFrame, optional
        As in `strike_probability`.
    options : SensitivityOptions, optional
        Which settings, how far they are moved, draws and replicates.
    accept_unconverged : bool
        As in `sample_layouts`; rows whose samples did not converge are marked.
    run : Running, optional
        Threads, progress and memory.

    Returns
    -------
    Sensitivity
        Its ``table()`` has one row a dig and setting; of each dig distinct changes come first, the greatest on top:
        ``dig``, ``setting``, ``unit``,
        ``value``, ``low``, ``high`` (NaN: not moved that way), ``p_strike``, ``p_low``, ``p_high``, ``change_low``,
        ``change_low_mcse``, ``change_high``, ``change_high_mcse``, ``swing`` (the greater change, without its sign),
        ``distinct``, ``converged``.

    Raises
    ------
    DigError, ArgumentError
        As in `strike_probability`.
    SiteError
        If values that were asked for do not go together, such as shares that pass one in sum.
    ConvergenceError, EffortError, LayoutError
        As in `sample_layouts`.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7)
    >>> options = ut.SensitivityOptions(settings=["unmapped_density_per_m", "metal_lines"], draws=50, replicates=2)
    >>> table = layouts.sensitivity("stake", options=options).table()
    >>> table["setting"].tolist(), bool(table["swing"].iloc[0] > 0), float(table["swing"].iloc[1])
    (['unmapped_density_per_m', 'metal_lines'], True, 0.0)
    """
    asked = chosen(options, SensitivityOptions, "options")
    bound = bind_digs(digs, layouts.site)
    moved = [moved_setting(layouts.site, name, values, asked.share) for name, values in wanted(layouts, asked).items()]
    steps = Steps(layouts, asked, bound, accept_unconverged, chosen(run, Running, "run"))
    rows: list[dict[str, Any]] = []
    with steps.counting(1 + sum((move.low is not None) + (move.high is not None) for move in moved)):
        base = steps.sample(layouts.site)
        for move in moved:
            ways: Ways = {}
            for way, value in (("low", move.low), ("high", move.high)):
                ways[way] = None if value is None else steps.sample(with_setting(layouts.site, move.name, value))
            rows += list(effects(move, base, ways, [dig.id for dig in bound]))
    table = pd.DataFrame(rows, columns=["place", *COLUMNS]).astype({"distinct": bool, "converged": bool})
    table = table.sort_values(["place", "distinct", "swing"], ascending=[True, False, False], kind="stable").drop(
        columns="place"
    )
    table = table.reset_index(drop=True).rename_axis("row")
    return Sensitivity(
        **{**about(layouts, table), "draws": asked.draws * asked.replicates},
        replicates=asked.replicates,
        share=asked.share,
        for_digs=tuple(map(from_core, bound)),
    )


#: Columns of the table.
COLUMNS = [
    *("dig", "setting", "unit", "value", "low", "high", "p_strike", "p_low", "p_high"),
    *("change_low", "change_low_mcse", "change_high", "change_high_mcse", "swing", "distinct", "converged"),
]


class Steps:
    """Samples one after the other, with one bar for all of them."""

    def __init__(
        self,
        layouts: Layouts,
        options: SensitivityOptions,
        digs: list[_core.Dig],
        accept_unconverged: bool,
        run: Running,
    ) -> None:
        self.seed, self.options, self.digs = layouts.seed, options, digs
        self.accept, self.run = accept_unconverged, run
        self.done, self.total = 0, 1
        self.callback: Callable[[int, int], object] | None = None

    @contextmanager
    def counting(self, moves: int) -> Iterator[None]:
        """Sample so many times, each with all seeds, under one bar."""
        self.total = moves * self.options.replicates
        with progress_callback(self.run.progress, "moving settings") as callback:
            self.callback = callback
            yield

    def sample(self, site: Site) -> Answers:
        """Return the chances of the digs on a site, with each seed."""
        found = [self.once(site, k) for k in range(self.options.replicates)]
        return Answers(np.array([p for p, _ in found]), all(passed for _, passed in found))

    def once(self, site: Site, replicate: int) -> tuple[npt.NDArray[np.float64], bool]:
        """Return the chances of the digs by one sample."""
        quiet = Running(threads=self.run.threads, memory_limit_gb=self.run.memory_limit_gb, progress=self.inner())
        seed = (self.seed + replicate) % 2**64
        core = sampled(site, self.options.draws, seed, accept_unconverged=self.accept, effort=1.0, run=quiet)
        columns = core.strike(self.digs, "general", None if quiet.threads is None else int(quiet.threads), None)
        self.done += 1
        if self.callback is not None:
            self.callback(self.done * PARTS, self.total * PARTS)
        return np.asarray(columns["p_strike"], float), core.passed

    def inner(self) -> Callable[[int, int], object] | bool:
        """Return what one sample tells of its own progress: a part of the whole."""
        callback = self.callback
        if callback is None:
            return False
        done, total = self.done * PARTS, self.total * PARTS
        return lambda part, whole: callback(done + (PARTS * part // whole if whole else 0), total)


#: Parts of the bar for one sample.
PARTS = 1000


def with_setting(site: Site, name: str, value: float) -> Site:
    """Return a site with one setting at another value."""
    document = site._document()
    return Site.from_dict({**document, "settings": {**document.get("settings", {}), name: value}})


def wanted(layouts: Layouts, options: SensitivityOptions) -> dict[str, tuple[float, float] | None]:
    """Return the settings to move, each with its values if they were given."""
    if options.settings is None:
        return dict.fromkeys(settings_that_can_matter(layouts.site))
    given: dict[str, tuple[float, float] | None] = dict(options.settings)  # type: ignore[arg-type]  # as the options keep it
    return given


def settings_that_can_matter(site: Site) -> tuple[str, ...]:
    """Return the settings that can move a chance on a site, by what its document holds; a choice, not all of them.

    Examples
    --------
    >>> import underturf as ut
    >>> names = settings_that_can_matter(ut.read_site(ut.example("bare")))
    >>> "lateral_cover_m" in names, "metal_lines" in names
    (True, False)
    """
    held = evidence_of(site)
    return tuple(name for of, names in CAN_MATTER.items() if not of or of in held for name in names)


def evidence_of(site: Site) -> set[str]:
    """Return what a document holds, in the words of `CAN_MATTER`."""
    document = site._document()
    held = {key for key, value in document.items() if isinstance(value, list) and value}
    obstacles = {item["kind"] for item in document.get("obstacles", [])}
    met = any(probe.get("found") and probe.get("class") for probe in document.get("probes", []))
    told = {
        "supply": bool(held & {"valve_boxes", "sources"}),
        "paving": "paving" in obstacles,
        "buildings": bool(obstacles & {"building", "pool"}),
        "unknown zones": any(head.get("zone") is None for head in document.get("heads", [])),
        "metal": bool(held & {"flags", "marks", "services"}) or met,
    }
    return held | {name for name, there in told.items() if there}


def moved_setting(site: Site, name: str, values: tuple[float, float] | None, share: float) -> Moved:
    """Return a setting as it is on a site and as it is moved.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("bare"))
    >>> moved_setting(site, "lateral_cover_m", None, 0.5)
    Moved(name='lateral_cover_m', unit='m', value=0.23, low=0.14, high=0.32)
    >>> moved_setting(site, "third_branch_factor", None, 0.5)
    Moved(name='third_branch_factor', unit='1', value=1.0, low=0.505, high=None)
    """
    default, least, greatest, unit = next(row[1:5] for row in _core.settings_table() if row[0] == name)
    value = float(site._document().get("settings", {}).get(name, default))
    if values is not None:
        return Moved(name, unit, value, *values)
    step = share * min(value - least, greatest - value)
    if step > 0:
        low, high = (min(max(three_digits(value + move), least), greatest) for move in (-step, step))
        return Moved(name, unit, value, low, high)
    inward = three_digits(share * (greatest - least))
    return Moved(name, unit, value, *((None, value + inward) if value == least else (greatest - inward, None)))


def three_digits(value: float) -> float:
    """Return a value with three digits that matter."""
    return float(f"{value:.3g}")


def effects(move: Moved, base: Answers, ways: Ways, names: list[str]) -> Iterator[dict[str, Any]]:
    """Yield a row of the table for each dig."""
    for k, dig in enumerate(names):
        cells: dict[str, Any] = {"place": k, "dig": dig, "p_strike": float(base.p[:, k].mean())}
        passed, swing, distinct = base.converged, 0.0, False
        for way, there in ways.items():
            changes = np.full(1, np.nan) if there is None else there.p[:, k] - base.p[:, k]
            mean, error = float(changes.mean()), error_of(changes)
            cells |= {f"change_{way}": mean, f"change_{way}_mcse": error}
            cells[f"p_{way}"] = np.nan if there is None else float(there.p[:, k].mean())
            if there is not None:
                passed, swing = passed and there.converged, max(swing, abs(mean))
                distinct = distinct or abs(mean) > student(len(changes)) * error
        yield {
            **move._asdict(),
            "setting": move.name,
            **cells,
            "swing": swing,
            "distinct": distinct,
            "converged": passed,
        }


def error_of(changes: npt.NDArray[np.float64]) -> float:
    """Return the standard error of a mean over replicates."""
    return float(changes.std(ddof=1) / np.sqrt(len(changes))) if len(changes) > 1 else float("nan")


def student(replicates: int) -> float:
    """Return the bound on a mean over its standard error that noise passes once in twenty.

    Examples
    --------
    >>> student(2), student(4), student(50)
    (12.706, 3.182, 2.228)
    """
    return STUDENT[min(replicates - 1, len(STUDENT)) - 1]
