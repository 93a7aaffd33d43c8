"""What each piece of evidence changed: the site's findings taken in one by one, in the document's order.

After each, the total uncertainty of the proposed digs, the digs whose verdict changed, and whether what was seen was
nearly impossible before it was seen.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from underturf.layouts import Layouts
    from underturf.site import Site

__all__ = ["SURPRISE", "evidence_log"]

#: A probe result less probable than this, given everything before it, is marked as surprising.
SURPRISE = 0.001


def evidence_log(layouts: Layouts, draws: int) -> pd.DataFrame:
    """Take in station tests and probes one by one; see `Layouts.evidence_log`."""
    from underturf.sample import sample_layouts

    rows: list[dict[str, Any]] = []
    before: tuple[Layouts, pd.DataFrame] | None = None
    for name, probe, site in _steps(layouts.site):
        now = sample_layouts(site, draws=draws, seed=layouts.seed, accept_unconverged=True, progress=False)
        table = (
            now.assess(progress=False) if site.to_dict().get("digs") else pd.DataFrame({"p_strike": [], "verdict": []})
        )
        if before is not None:
            earlier, digs = before
            chance = float("nan") if probe is None else earlier._handle.chance_of_probe(site._handle, probe)
            rows.append(
                {
                    "evidence": name,
                    "chance_before": chance,
                    "surprising": bool(chance < SURPRISE),
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


def _steps(site: Site) -> Iterator[tuple[str, int | None, Site]]:
    """Yield the site without findings, then with one more each time, and which probe that is, if it is one."""
    document = site.to_dict()
    kinds = ["station_tests", "probes"]
    bare = {key: value for key, value in document.items() if key not in kinds}
    yield "", None, type(site).from_dict(bare)
    for kind in kinds:
        entries = document.get(kind, [])
        for place in range(len(entries)):
            bare = {**bare, kind: entries[: place + 1]}
            yield f"{kind}[{place}]", place if kind == "probes" else None, type(site).from_dict(bare)


def _uncertainty(table: pd.DataFrame) -> float:
    p = table["p_strike"].to_numpy(dtype=float)
    return float(np.sum(p * (1.0 - p)))
