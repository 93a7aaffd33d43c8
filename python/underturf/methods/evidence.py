"""What each piece of evidence changed: what the site holds besides heads and boxes, taken in piece by piece.

After each, the total uncertainty of the proposed digs, the digs whose verdict changed, and whether what was seen was
nearly impossible before it was seen.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from underturf import _core
from underturf._checks import draw_count
from underturf._sampling import sampled
from underturf.errors import EffortError
from underturf.options import Running

if TYPE_CHECKING:
    from underturf.layouts import Layouts
    from underturf.site import Site

__all__ = ["evidence_log"]

#: What was seen is marked as surprising where it is less probable than this, given everything before it.
SURPRISE = _core.DEFAULTS["surprise"]

#: Kinds of evidence in the order in which they are taken in.
KINDS = ("trees", "sketches", "swept", "station_tests", "probes")


def evidence_log(layouts: Layouts, draws: int = 500) -> pd.DataFrame:
    """Tell what each tree, sketch, swept ground, station test and probe of the site changed, taken in one by one.

    Layouts are sampled anew before and after each, so this takes as long as that many calls of `sample_layouts`
    and `assess`. A step whose sampling did not converge is reported too, and marked.

    Parameters
    ----------
    draws : int
        Layouts sampled at each step.

    Returns
    -------
    DataFrame
        One row a piece of evidence, kinds in the order above: ``evidence`` (its place in the document), ``chance_before``
        (of a probe: the chance of its result given everything before it; of a find, that a line is met which answers to
        what was noted of it, or that it is false; of a station test: that zones and the tests before it contradict it by so
        much or more, or, if that is less, that it raised none or all of the heads; else NaN), ``surprising`` (that is below
        0.001, for a find without unknown lines and false finds: a wrong position, a wrong zone, an abandoned line or a
        false find is likely), ``uncertainty_before`` and ``uncertainty_after`` (sum over the proposed digs of p (1 - p); 0
        where there are none), ``verdicts_changed`` (names of digs), ``converged`` (false: what was sampled before or after
        it did not converge; do not rely on the row).

    Raises
    ------
    EffortError
        If a step takes more work than these layouts were allowed; a note says which.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green")).with_probe(3.4, 4.0, 0.25, 0.45, found=False)
    >>> log = ut.sample_layouts(site, draws=40, seed=7).evidence_log(draws=40)
    >>> log["evidence"].tolist()
    ['probes[0]']
    """
    return log_of(layouts, draw_count(draws))


def log_of(layouts: Layouts, draws: int) -> pd.DataFrame:
    """Take in evidence piece by piece."""
    rows: list[dict[str, Any]] = []
    before: tuple[Layouts, pd.DataFrame] | None = None
    for kind, place, site in _steps(layouts.site):
        try:
            core = sampled(
                site,
                draws,
                layouts.seed,
                accept_unconverged=True,
                effort=layouts._handle.effort,
                run=Running(progress=False),
            )
            now = type(layouts)(core, site)
        except EffortError as error:
            error.add_note(f"This was while taking in {kind}[{place}]." if kind else "This was before any evidence.")
            raise
        table = (
            now.assess(run=Running(progress=False)).table()
            if site.dig_ids
            else pd.DataFrame({"p_strike": [], "verdict": []})
        )
        if before is not None:
            earlier, digs = before
            chance, by_known = _chances(kind, place, earlier, site)
            rows.append(
                {
                    "evidence": f"{kind}[{place}]",
                    "chance_before": chance,
                    "surprising": bool(by_known < SURPRISE),
                    "uncertainty_before": _uncertainty(digs),
                    "uncertainty_after": _uncertainty(table),
                    "verdicts_changed": ", ".join(table.index[table["verdict"] != digs["verdict"]]),
                    "converged": earlier.converged and now.converged,
                }
            )
        before = now, table
    columns = [
        "evidence",
        "chance_before",
        "surprising",
        "uncertainty_before",
        "uncertainty_after",
        "verdicts_changed",
        "converged",
    ]
    return pd.DataFrame(rows, columns=columns)


def _steps(site: Site) -> Iterator[tuple[str, int, Site]]:
    """Yield the site without evidence, then with one more piece each time, its kind and place among them."""
    document = site._document()
    bare = {key: value for key, value in document.items() if key not in KINDS}
    yield "", 0, type(site).from_dict(bare)
    for kind in KINDS:
        entries = document.get(kind, [])
        for place in range(len(entries)):
            bare = {**bare, kind: entries[: place + 1]}
            yield kind, place, type(site).from_dict(bare)


def _chances(kind: str, place: int, earlier: Layouts, site: Site) -> tuple[float, float]:
    """Return the chance of what was seen before it was, and the same by what is known to lie there."""
    if kind == "probes":
        handle = earlier._handle
        return handle.chance_of_probe(site._handle, place), handle.chance_by_known_lines(site._handle, place)
    if kind == "station_tests":
        chance = site._handle.chance_of_contradictions(place)
        return chance, chance
    return float("nan"), float("nan")


def _uncertainty(table: pd.DataFrame) -> float:
    p = table["p_strike"].to_numpy(dtype=float)
    return float(np.sum(p * (1.0 - p)))
