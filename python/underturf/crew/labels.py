"""Labels of the map: numbers of spots, letters of fixed points, and the names of probes, shut-offs, finds and lines."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from underturf.crew.words import class_words
from underturf.plotting import style
from underturf.plotting.digs import label_points
from underturf.plotting.lettering import Point

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.crew.plan import Plan, Stake

__all__ = ["FIXED", "label_all"]

#: Colour of fixed points.
FIXED = "#000000"


def label_all(ax: Axes, plan: Plan, listed: tuple[Stake, ...], strip: float, taken: list[Point]) -> None:
    """Write every number and letter where it covers nothing, least of all the strip of that height at the lower edge.

    ``taken``: what is drawn already, see `underturf.plotting.lettering.Room`.
    """
    low, scale = ax.get_ylim()[0], 1 / plan.site.unit_m
    avoid = list(taken)
    avoid += [(stake.x_m * scale, stake.y_m * scale) for stake in listed]
    # Below lie scale bar and north arrow.
    avoid += [(float(x), low + 0.5 * strip) for x in np.linspace(*ax.get_xlim(), 30)]
    points: list[npt.NDArray[np.float64]] = []
    words, colours, radii = [], [], []

    def add(point: npt.ArrayLike, text: str, colour: str, radius: float = 0.0) -> None:
        points.append(np.asarray(point, float))
        words.append(text)
        colours.append(colour)
        radii.append(radius)

    for k, dig in enumerate(plan.digs):
        radius = (float(np.ptp(dig.points_m, axis=0).min()) / 2 + dig.half_width_m) * scale
        add(dig.points_m.mean(axis=0) * scale, str(k + 1), style.DIG, radius)
    for k, (_, x_m, y_m) in enumerate(plan.fixed.points):
        add((x_m * scale, y_m * scale), plan.fixed.letter(k), FIXED)
    for probe in plan.probes:
        add(probe.dig.points_m.mean(axis=0) * scale, probe.label, style.PROBE)
    for shut in plan.shut_offs:
        add((shut.x, shut.y), shut.label, "#1769c4")
    for find in plan.finds:
        x_m, y_m = find.middle
        add((x_m * scale, y_m * scale), f"{find.label} {class_words(find.of)}", style.MARK_COLOURS[find.of])
    # Lines whose stakes are listed first: these are looked for on the map.
    told = {stake.line for stake in listed}
    parts = sorted(plan.lines.groupby("line", sort=False), key=lambda group: (group[0] not in told, group[0]))
    for line, part in parts:
        first = part.iloc[0]
        at = first[["x_m", "y_m"]].to_numpy(float)
        angle = math.radians(first["bearing_deg"])
        way = np.array([math.cos(angle), math.sin(angle)]) * 0.25 * first["span_m"]
        back = way if len(part) == 1 else way * np.sign(way @ (part.iloc[1][["x_m", "y_m"]].to_numpy(float) - at))
        add((at - back) * scale, f"L{line}", style.MARK_COLOURS[first["class"]])
    label_points(ax, points, words, avoid, radii, 6.5, colours)
    for text in ax.texts:
        text.set_zorder(9)
