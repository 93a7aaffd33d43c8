"""Digs on a plan: their footprints to scale, each with its chance in words, placed so that labels do not collide."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from underturf.plotting import style
from underturf.plotting.names import literal
from underturf.plotting.shapes import strip

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf import _core

__all__ = ["Labelled", "draw_digs", "footprint", "label_points"]


#: Points from the middle of a sign, a head or a hose bib, to its edge: labels keep off all of it.
SIGN = 4.0


@dataclass(frozen=True)
class Labelled:
    """Digs to draw, each with its words; the last so many are probes to dig, or what else they are called."""

    digs: Sequence[_core.Dig] = ()
    words: Sequence[str] = ()
    probes: int = 0
    called: str = "probe to dig, to scale"


def footprint(dig: _core.Dig, scale: float, shift: tuple[float, float] = (0.0, 0.0), grow: float = 0.0) -> list[Any]:
    """Return patches that cover a dig's footprint, in the document's unit.

    Parameters
    ----------
    dig : _core.Dig
        The dig, metres.
    scale : float
        Units of the document in one metre.
    shift : (float, float)
        Move, metres.
    grow : float
        Widen by this much on all sides (holes and trenches only), in the document's unit.
    """
    from matplotlib.patches import Circle, Polygon

    points = [(x, y) for x, y in ((dig.points_m + np.asarray(shift)) * scale).tolist()]
    if dig.kind == "pit":
        return [Polygon(points)]
    half = dig.half_width_m * scale + grow
    if dig.kind == "hole":
        return [Circle(points[0], half)]
    return strip(points, half)


def draw_digs(
    ax: Axes,
    labelled: Labelled,
    scale: float,
    avoid: Sequence[tuple[float, float]] = (),
) -> None:
    """Draw digs and label them; a later one lies on an earlier one.

    Parameters
    ----------
    ax : Axes
        Axes whose limits are set already.
    labelled : Labelled
        The digs and their labels.
    scale : float
        Units of the document in one metre.
    avoid : sequence of (float, float)
        Points that labels should not cover, in the document's unit.
    """
    from matplotlib.collections import PatchCollection

    edge = 0.0025 * max(np.ptp(ax.get_xlim()), np.ptp(ax.get_ylim()))
    digs, first_probe = labelled.digs, len(labelled.digs) - labelled.probes
    for k, dig in enumerate(digs):
        line, face = (style.DIG, "#ffd9d9") if k < first_probe else (style.PROBE, style.PAPER)
        looks = {"facecolor": line, "edgecolor": line if dig.kind == "pit" else "none"}
        above = 7 + 0.5 * k / len(digs)
        ax.add_collection(PatchCollection(footprint(dig, scale, grow=edge), linewidth=1.2, zorder=above, **looks))
        inner = PatchCollection(footprint(dig, scale), facecolor=face, edgecolor="none", zorder=above + 0.2 / len(digs))
        ax.add_collection(inner)
        if k in (0, first_probe):
            what = (
                labelled.called
                if k == first_probe
                else f"dig, to scale{'' if labelled.probes else ', with its chance'}"
            )
            ax.plot([], [], "o", markerfacecolor=face, markeredgecolor=line, label=what)
    middles = [dig.points_m.mean(axis=0) * scale for dig in digs]
    radii = [(np.ptp(dig.points_m, axis=0).min() / 2 + dig.half_width_m) * scale for dig in digs]
    label_points(ax, middles, labelled.words, avoid, radii)


def label_points(
    ax: Axes,
    points: Sequence[npt.NDArray[np.float64]],
    words: Sequence[str],
    avoid: Sequence[tuple[float, float]] = (),
    radii: Sequence[float] | None = None,
    size: float = 7.5,
    colours: Sequence[str] | None = None,
) -> None:
    """Write a label beside each point where it covers neither other labels nor other points, with a thin leader.

    Of 17 directions at three distances the one with the least overlap is taken; labels stay inside the axes.
    """
    if not points:
        return
    figure = ax.figure
    dots = figure.dpi / 72
    inside = ax.get_window_extent()
    at = ax.transData.transform(np.array(points))
    per_unit = float(np.ptp(ax.transData.transform([(0, 0), (1, 0)])[:, 0]))
    fixed = ax.transData.transform(np.array(avoid).reshape(-1, 2))
    taken: list[npt.NDArray[np.float64]] = []
    for k, text in enumerate(words):
        lines = text.split("\n")
        extent = np.array([0.62 * size * max(map(len, lines)) + 6, 1.3 * size * len(lines) + 4]) * dots
        clear = 0.0 if radii is None else radii[k] * per_unit
        reaches = [clear + reach * dots for reach in (8, 20, 36)]
        places = np.array([place(at[k], extent, angle, reach) for reach in reaches for angle in range(0, 360, 22)])
        others = np.concatenate([np.delete(at, k, axis=0), fixed])
        box = places[int(np.argmin(costs(places, np.array(taken).reshape(-1, 2, 2), others, inside, SIGN * dots)))]
        taken.append(box)
        middle = ax.transData.inverted().transform((box[0] + box[1]) / 2)
        colour = style.DIG if colours is None else colours[k]
        ax.annotate(
            literal(text),
            xy=tuple(points[k]),
            xytext=tuple(middle),
            ha="center",
            va="center",
            fontsize=size,
            color=style.INK,
            bbox={
                "boxstyle": "round,pad=0.25",
                "facecolor": style.PAPER,
                "edgecolor": colour,
                "linewidth": 0.7,
            },
            arrowprops={"arrowstyle": "-", "color": colour, "linewidth": 0.7, "shrinkB": 2},
            zorder=8,
        )


def place(
    point: npt.NDArray[np.float64], extent: npt.NDArray[np.float64], angle_deg: float, reach: float
) -> npt.NDArray[np.float64]:
    """Return the box of a label that lies in one direction from a point, as its two corners in pixels."""
    angle = np.radians(angle_deg)
    way = np.array([np.cos(angle), np.sin(angle)])
    middle = point + way * (reach + np.abs(way) @ extent / 2)
    return np.array([middle - extent / 2, middle + extent / 2])


def costs(
    boxes: npt.NDArray[np.float64],
    taken: npt.NDArray[np.float64],
    points: npt.NDArray[np.float64],
    inside: Any,
    beside: float = 0.0,
) -> npt.NDArray[np.float64]:
    """Return how bad places are: overlap with labels, points under or close beside, area outside the axes, then their rank."""
    area = np.prod(boxes[:, 1] - boxes[:, 0], axis=1)
    overlap = shared(boxes[:, None], taken[None]).sum(axis=1) / area
    above, below = points[None] > boxes[:, None, 0] - beside, points[None] < boxes[:, None, 1] + beside
    covered = np.all(above & below, axis=2).sum(axis=1)
    window = np.array([[inside.x0, inside.y0], [inside.x1, inside.y1]])
    outside = 1 - shared(boxes, window[None]) / area
    worth: npt.NDArray[np.float64] = 10 * overlap + 3 * covered + 20 * outside + 0.01 * np.arange(len(boxes))
    return worth


def shared(boxes: npt.NDArray[np.float64], others: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return the area that boxes share, two corners in the last axes."""
    sides = np.minimum(boxes[..., 1, :], others[..., 1, :]) - np.maximum(boxes[..., 0, :], others[..., 0, :])
    area: npt.NDArray[np.float64] = np.prod(np.maximum(sides, 0), axis=-1)
    return area
