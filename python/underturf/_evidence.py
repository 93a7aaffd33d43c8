"""What each piece of evidence changed: what the site holds besides heads and boxes, taken in piece by piece.

After each, the total uncertainty of the proposed digs, the digs whose verdict changed, and whether what was seen was
nearly impossible before it was seen.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from underturf.errors import EffortError

if TYPE_CHECKING:
    from underturf.layouts import Layouts
    from underturf.site import Site

__all__ = ["SURPRISE", "evidence_log"]

#: What was seen is marked as surprising where it is less probable than this, given everything before it.
SURPRISE = 0.001

#: Kinds of evidence in the order in which they are taken in.
KINDS = ("trees", "sketches", "swept", "station_tests", "probes")


def evidence_log(layouts: Layouts, draws: int) -> pd.DataFrame:
    """Take in evidence piece by piece; see `Layouts.evidence_log`."""
    from underturf.sample import sample_layouts

    rows: list[dict[str, Any]] = []
    before: tuple[Layouts, pd.DataFrame] | None = None
    for kind, place, site in _steps(layouts.site):
        try:
            now = sample_layouts(
                site,
                draws=draws,
                seed=layouts.seed,
                accept_unconverged=True,
                effort=layouts._handle.effort,
                progress=False,
            )
        except EffortError as error:
            error.add_note(f"This was while taking in {kind}[{place}]." if kind else "This was before any evidence.")
            raise
        table = now.assess(progress=False) if site.dig_ids else pd.DataFrame({"p_strike": [], "verdict": []})
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
    document = site.to_dict()
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
