"""What each piece of evidence changed: the site's findings taken in one by one, in the document's order.

After each, the total uncertainty of the proposed digs, the digs whose verdict changed, and whether what was seen was
nearly impossible before it was seen.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from underturf.digs import Dig, Hole, Trench

if TYPE_CHECKING:
    from underturf.layouts import Layouts
    from underturf.site import Site

__all__ = ["SURPRISE", "evidence_log"]

#: A probe result less probable than this, given everything before it, is marked as surprising.
SURPRISE = 0.001

#: Chance that a line in the way of a probe is met, by tool (common practice, no source).
DETECTION = {"pothole": 0.97, "slit": 0.95, "rod": 0.7}


def evidence_log(layouts: Layouts, draws: int) -> pd.DataFrame:
    """Take in station tests and probes one by one; see `Layouts.evidence_log`."""
    from underturf.sample import sample_layouts

    rows: list[dict[str, Any]] = []
    before: tuple[Layouts, pd.DataFrame] | None = None
    for name, entry, site in _steps(layouts.site):
        now = sample_layouts(site, draws=draws, seed=layouts.seed, progress=False)
        table = (
            now.assess(progress=False) if site.to_dict().get("digs") else pd.DataFrame({"p_strike": [], "verdict": []})
        )
        if before is not None:
            earlier, digs = before
            chance = _chance(earlier, entry, site.unit_m)
            rows.append(
                {
                    "evidence": name,
                    "chance_before": chance,
                    "surprising": bool(chance < SURPRISE),
                    "uncertainty_before": _uncertainty(digs),
                    "uncertainty_after": _uncertainty(table),
                    "verdicts_changed": ", ".join(table.index[table["verdict"] != digs["verdict"]]),
                }
            )
        before = now, table
    columns = ["evidence", "chance_before", "surprising", "uncertainty_before", "uncertainty_after", "verdicts_changed"]
    return pd.DataFrame(rows, columns=columns)


def _steps(site: Site) -> Iterator[tuple[str, dict[str, Any], Site]]:
    """Yield the site without findings, then with one more each time. Heads without a zone need their tests at once."""
    document = site.to_dict()
    kinds = ["probes"]
    if all("zone" in head for head in document.get("heads", [])):
        kinds.insert(0, "station_tests")
    bare = {key: value for key, value in document.items() if key not in kinds}
    yield "", {}, type(site).from_dict(bare)
    for kind in kinds:
        entries = document.get(kind, [])
        for count, entry in enumerate(entries, start=1):
            bare = {**bare, kind: entries[:count]}
            yield f"{kind}[{count - 1}]", entry, type(site).from_dict(bare)


def _chance(layouts: Layouts, entry: dict[str, Any], unit_m: float) -> float:
    """Chance of a probe's plain result given everything before it; NaN for other evidence."""
    if "found" not in entry:
        return float("nan")
    line = float(layouts.strike_probability([_as_dig(entry, unit_m)], progress=False)[0])
    met = entry.get("p_detect", DETECTION[entry.get("tool", "pothole")]) * line
    found = 1.0 - (1.0 - entry.get("p_false", 0.01)) * (1.0 - met)
    return float(found if entry["found"] else 1.0 - found)


def _as_dig(entry: dict[str, Any], unit_m: float) -> Dig:
    depth_m = entry["depth"] * unit_m
    if "path" in entry:
        path = tuple((float(x) * unit_m, float(y) * unit_m) for x, y in entry["path"])
        return Trench(path, width_m=entry["width"] * unit_m, depth_m=depth_m)
    return Hole(entry["x"] * unit_m, entry["y"] * unit_m, radius_m=entry["radius"] * unit_m, depth_m=depth_m)


def _uncertainty(table: pd.DataFrame) -> float:
    p = table["p_strike"].to_numpy(dtype=float)
    return float(np.sum(p * (1.0 - p)))
