"""Likely lines on the map: bands of doubt; laterals in the pattern of their zone, every other class in a pattern of its own.

Laterals and mainline share the purple of the public colour code, and a copy in grey has no colours: so what may flood a hole is
drawn with a casing, and laterals are thinner and never solid. A mainline is one solid line; a potable line is two thin ones, for
these two lie side by side near the source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import numpy.typing as npt

from underturf.crew.drawing.zones import ZoneLook
from underturf.crew.words import class_words
from underturf.directions import on_plan
from underturf.plotting import style
from underturf.plotting.shapes import tint

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from underturf.crew.drawing.view import View
    from underturf.crew.plan import Plan

__all__ = ["CLASSES", "ClassLook", "course", "draw_lines", "lines_in", "look_of", "zone_of"]

#: Tint of the bands.
BAND_SHARE = 0.28

#: Width of a lateral, points.
LATERAL = 1.2


class ClassLook(NamedTuple):
    """How a likely line looks that is no lateral: widths of core and casing on either side, points; dashes; whether hollow."""

    core: float
    casing: float
    dashes: tuple[float, ...] = ()
    hollow: bool = False


#: Looks of classes; known lines stay the stronger. Others look as a mainline does.
CLASSES: dict[str, ClassLook] = {
    "mainline": ClassLook(1.0, 0.3),
    "potable": ClassLook(1.2, 0.6, hollow=True),
    "reclaimed": ClassLook(1.2, 0.6, (5.0, 1.6), hollow=True),
    "control_wire": ClassLook(0.9, 0.3, (1.4, 1.8)),
}

#: Stations further apart than this many of their spans are not joined.
JOINED = 1.6


def zone_of(row: pd.Series[Any]) -> str:
    """Return the zone of a lateral as the document names it."""
    return str(row["zone"]).removeprefix("zone ")


def lines_in(plan: Plan, view: View) -> pd.DataFrame:
    """Return the likely lines of which something is in view, or nearly."""
    scale = 1 / plan.site.unit_m
    at, reach = plan.lines[["x_m", "y_m"]].to_numpy(float) * scale, plan.lines["span_m"].to_numpy(float) * scale
    low, high = np.array([view.x[0], view.y[0]]), np.array([view.x[1], view.y[1]])
    near = np.asarray(((at >= low - reach[:, None]) & (at <= high + reach[:, None])).all(axis=1))
    return plan.lines[plan.lines["line"].isin(plan.lines["line"].to_numpy()[near])]


def draw_lines(ax: Axes, plan: Plan, view: View, looks: dict[str, ZoneLook]) -> None:
    """Draw likely lines: at each station the band of doubt over the length that it stands for, and a line through the middles."""
    from matplotlib.collections import LineCollection, PolyCollection

    lines, scale, turned = lines_in(plan, view), 1 / plan.site.unit_m, plan.y_azimuth_deg
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
            stroke = {**look_of(str(name)), "zorder": 2.8}
            label = f"likely {class_words(str(name))} (L)"
        ax.add_collection(LineCollection([course(part, turned) * scale], color=colour, capstyle="butt", **stroke))
        if label is not None and label not in named:
            named.add(label)
            ax.plot([], [], color=colour, label=label, **stroke)
    if len(lines):
        ax.fill([], [], facecolor="#d5d3dc", edgecolor="none", label="band of doubt of a likely line")


def look_of(name: str) -> dict[str, Any]:
    """Return how a line of a class that is no lateral is stroked."""
    from matplotlib.patheffects import AbstractPathEffect, Normal, Stroke

    look = CLASSES.get(name, CLASSES["mainline"])
    wide = look.core + 2 * look.casing
    effects: list[AbstractPathEffect]
    if look.hollow:
        effects = [
            Stroke(linewidth=wide, foreground=style.MARK_COLOURS[name]),
            Stroke(linewidth=look.core, foreground=style.PAPER),
        ]
    else:
        effects = [Stroke(linewidth=wide, foreground=style.INK), Normal()]
    dashes: Any = (0, look.dashes) if look.dashes else "solid"
    return {"linewidth": look.core, "linestyle": dashes, "path_effects": effects}


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
