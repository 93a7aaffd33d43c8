"""Likely lines on the map: bands of doubt; laterals in the pattern of their zone, lines under pressure solid and cased.

Laterals and mainline share the purple of the public colour code, and a copy in grey has no colours: so what may flood a hole is
drawn as a solid cased line, and laterals are thinner and never solid.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from underturf.crew.drawing.zones import ZoneLook
from underturf.directions import on_plan
from underturf.plotting import style
from underturf.plotting.shapes import tint

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from underturf.crew.plan import Plan

__all__ = ["draw_lines", "zone_of"]

#: Tint of the bands.
BAND_SHARE = 0.28

#: Widths, points: a lateral; the core of a line under pressure, and its casing on either side. Known lines stay the stronger.
LATERAL, CORE, CASING = 1.2, 1.1, 0.35

#: Stations further apart than this many of their spans are not joined.
JOINED = 1.6


def zone_of(row: pd.Series[Any]) -> str:
    """Return the zone of a lateral as the document names it."""
    return str(row["zone"]).removeprefix("zone ")


def draw_lines(ax: Axes, plan: Plan, looks: dict[str, ZoneLook]) -> None:
    """Draw likely lines: at each station the band of doubt over the length that it stands for, and a line through the middles."""
    from matplotlib.collections import LineCollection, PolyCollection
    from matplotlib.patheffects import Normal, Stroke

    lines, scale, turned = plan.lines, 1 / plan.site.unit_m, plan.y_azimuth_deg
    named: set[str] = set()
    for (_, name), part in lines.groupby(["line", "class"], sort=False, observed=True):
        lateral = name == "lateral"
        look = looks.get(zone_of(part.iloc[0])) if lateral else None
        colour = look.colour if look is not None else style.MARK_COLOURS[str(name)]
        corners = bands(part, turned) * scale
        band = {"facecolor": tint(colour, BAND_SHARE), "edgecolor": "none", "zorder": 2.6}
        ax.add_collection(PolyCollection(list(corners), **band))
        stroke: dict[str, Any]
        if lateral:
            stroke = {
                "linewidth": LATERAL,
                "linestyle": look.dashes if look is not None else (0, (4, 2)),
                "zorder": 2.7,
            }
            label = None if look is not None else "likely lateral, zone unknown (L)"
        else:
            casing = [Stroke(linewidth=CORE + 2 * CASING, foreground=style.INK), Normal()]
            stroke = {"linewidth": CORE, "path_effects": casing, "zorder": 2.8}
            label = f"likely {str(name).replace('_', ' ')} (L)"
        ax.add_collection(LineCollection([course(part, turned) * scale], color=colour, capstyle="butt", **stroke))
        if label is not None and label not in named:
            named.add(label)
            ax.plot([], [], color=colour, label=label, **stroke)
    if len(lines):
        ax.fill([], [], facecolor="#d5d3dc", edgecolor="none", label="band of doubt of a likely line")


def ways(part: pd.DataFrame, y_azimuth_deg: float) -> npt.NDArray[np.float64]:
    """Return half of what each station stands for, along the line."""
    half: npt.NDArray[np.float64] = 0.5 * part[["span_m"]].to_numpy()
    return half * on_plan(part["azimuth_deg"].to_numpy(), y_azimuth_deg)


def bands(part: pd.DataFrame, y_azimuth_deg: float) -> npt.NDArray[np.float64]:
    """Return the corners of the band at each station, metres."""
    at, half = part[["x_m", "y_m"]].to_numpy(), ways(part, y_azimuth_deg)
    norm = np.maximum(np.hypot(*half.T)[:, None], 1e-12)
    wide = part[["half_width_m"]].to_numpy() * np.column_stack([-half[:, 1], half[:, 0]]) / norm
    found: npt.NDArray[np.float64] = np.stack(
        [at - half - wide, at + half - wide, at + half + wide, at - half + wide], axis=1
    )
    return found


def course(part: pd.DataFrame, y_azimuth_deg: float) -> npt.NDArray[np.float64]:
    """Return the line through the stations to its two ends, metres; broken where stations do not follow each other."""
    at, half = part[["x_m", "y_m"]].to_numpy(float), ways(part, y_azimuth_deg)
    if len(at) == 1:
        return np.vstack([at - half, at + half])
    first = half[0] * np.sign(half[0] @ (at[1] - at[0]) or 1.0)
    last = half[-1] * np.sign(half[-1] @ (at[-1] - at[-2]) or 1.0)
    points, spans = [at[0] - first, at[0]], part["span_m"].to_numpy()
    for k in range(1, len(at)):
        if np.hypot(*(at[k] - at[k - 1])) > JOINED * 0.5 * (spans[k] + spans[k - 1]):
            points.append(np.array([np.nan, np.nan]))
        points.append(at[k])
    return np.vstack([*points, at[-1] + last])
