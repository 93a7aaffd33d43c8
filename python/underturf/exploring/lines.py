"""Lines that nobody has seen, for a page: likely lines, metal lines with their bands, and some layouts to look at one by one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from underturf import _core
from underturf.directions import on_plan
from underturf.exploring.packed import packed
from underturf.plotting.courses import courses_of, has_course

if TYPE_CHECKING:
    from underturf.layouts import Layouts
    from underturf.options import Running
    from underturf.results import MetalLines

__all__ = ["likely_of", "metal_of", "sampled_of"]

#: Stations of one line further apart than this do not follow each other, as a share of the greatest step between stations.
GAP = 2.5


def likely_of(layouts: Layouts, run: Running | None = None) -> list[dict[str, Any]]:
    """Return likely lines station by station; a line that metal tells of is left to `metal_of`."""
    table = layouts.likely_lines(run=run)
    turned = layouts.site._handle.y_azimuth_deg
    lines: list[dict[str, Any]] = []
    for _, part in table[table["zone"].astype(str) != "metal line"].groupby("line", sort=True):
        at = part[["x_m", "y_m"]].to_numpy(float)
        gaps = np.hypot(*np.diff(at, axis=0).T)
        far = np.flatnonzero(gaps > GAP * _core.DEFAULTS["step_m"]) + 1
        for piece in np.split(np.arange(len(at)), far):
            rows = part.iloc[piece]
            aside = on_plan(rows["azimuth_deg"].to_numpy(float) + 90.0, turned)
            lines.append(
                {
                    "class": str(rows["class"].iloc[0]),
                    "zone": str(rows["zone"].iloc[0]),
                    "p": round(float(rows["p_line"].iloc[0]), 3),
                    "path": at[piece].round(3).tolist(),
                    "aside": aside.round(4).tolist(),
                    "half_m": rows["half_width_m"].round(3).tolist(),
                    "p_here": rows["p_here"].round(3).tolist(),
                }
            )
    return lines


def metal_of(metal: MetalLines) -> list[dict[str, Any]]:
    """Return metal lines with the bands of doubt along their courses."""
    found: list[dict[str, Any]] = []
    for line in metal:
        stretches = [
            {
                "path": course.middle.round(3).tolist(),
                "aside": np.column_stack([-course.along[:, 1], course.along[:, 0]]).round(4).tolist(),
                "half_m": course.half_m.round(3).tolist(),
                "between": course.between.tolist(),
            }
            for course in courses_of(metal, line)
        ]
        words = {"treat_as": line.treat_as, "told_by": line.told_by, "leads_to": line.leads_to}
        own = {"own": has_course(line), "dangerous": line.dangerous, "p": round(line.probability, 3)}
        found.append({"line": line.line, **words, **own, "stretches": stretches})
    return found


def sampled_of(layouts: Layouts, most: int) -> dict[str, Any]:
    """Return some layouts, evenly spaced among all: neighbours of a chain are alike.

    Returns
    -------
    dict
        ``draws`` (numbers of the layouts, from 0), ``starts`` (of each among the pieces, and the end), ``xy`` (four coordinates a
        piece, millimetres, little-endian ``i4``), ``class`` and ``zone`` (of each piece, by number), ``zones`` (their names).
    """
    chosen = np.unique(np.linspace(0, layouts.draws - 1, min(most, layouts.draws)).round().astype(int))
    table = layouts.segments()
    table = table[table["draw"].isin(chosen)].sort_values("draw", kind="stable")
    starts = np.searchsorted(table["draw"].to_numpy(), [*chosen, layouts.draws])
    return {
        "draws": chosen.tolist(),
        "starts": starts.tolist(),
        "xy": packed((table[["x0_m", "y0_m", "x1_m", "y1_m"]].to_numpy(float) * 1000).round(), "<i4"),
        "class": packed(table["class"].cat.codes.to_numpy(), "u1"),
        "classes": [str(name) for name in table["class"].cat.categories],
        "zone": packed(table["zone"].cat.codes.to_numpy(), "<u2"),
        "zones": [str(name) for name in table["zone"].cat.categories],
    }
