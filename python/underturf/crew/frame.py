"""The map with its legend in a box as wide as the page: the legend stands below or beside, and beside it there may be a column.

Ground that is deeper than wide leaves the right half of the page empty; there the legend stands, and below it, where it has
room, what to do before digging and when a line is hit.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from underturf.crew.map import draw_map, limits
from underturf.plotting import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from underturf.crew.plan import Plan, Stake

__all__ = ["Frame", "framed", "greatest_height", "legend_rows", "map_figure", "map_into"]

#: Inches: a line of legend, and its least width beside a map; ticks and their label; room left of the map, and between map and
#: legend; what the uppermost tick stands above the drawing.
ENTRY, LEGEND_WIDE, TICKS, LEFT, BETWEEN, TOP = 0.135, 2.55, 0.36, 0.4, 0.15, 0.08

#: What the legend stands in from the left edge, inches.
INSET = 0.06

#: Looks of the legend.
LOOK: dict[str, Any] = {
    "fontsize": 6.5,
    "frameon": False,
    "borderaxespad": 0.0,
    "borderpad": 0.2,
    "labelspacing": 0.35,
    "columnspacing": 1.2,
    "loc": "upper left",
}

#: Height that no map passes, and the step by which one is made narrower for a column beside it, inches.
GREATEST, STEP = 7.5, 0.1


@dataclass(frozen=True)
class Frame:
    """Where things are in the box of the map, inches from its upper left corner."""

    height: float
    wide: float
    under: bool = True
    columns: int = 3
    column_x: float = 0.0
    column_y: float = 0.0
    asked: float = 0.0


@functools.lru_cache(maxsize=4)
def legend_rows(plan: Plan) -> tuple[int, tuple[float, ...]]:
    """Return how many entries the legend of the map has, and how wide it is in one to three columns, drawn on scratch paper."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(4, 4), dpi=150)
    FigureCanvasAgg(figure)
    handles, words = draw_map(figure.add_axes((0.1, 0.1, 0.8, 0.8)), plan, plan.listed(None), labels=False)
    legends = (figure.legend(handles, words, ncols=columns, **LOOK) for columns in (1, 2, 3))
    return len(words), tuple(legend.get_window_extent().width / figure.dpi for legend in legends)


def columns_of(plan: Plan, width: float) -> int:
    """Return in how many columns a legend below the map fits: long names take fewer."""
    _, widths = legend_rows(plan)
    return max((k + 1 for k, wide in enumerate(widths) if wide <= width - INSET), default=1)


def shape_of(plan: Plan) -> float:
    """Return height over width of the map."""
    x, y = limits(plan)
    return (y[1] - y[0]) / (x[1] - x[0])


def below(plan: Plan, width: float) -> float:
    """Return the height of a legend below the map."""
    return ENTRY * -(-legend_rows(plan)[0] // columns_of(plan, width)) + 0.08


def greatest_height(plan: Plan, width: float, *, column: bool) -> float:
    """Return the height at which a map as wide as the page, with its legend below, can grow no more.

    With a column beside the map there is no such height: the column may need it.
    """
    return GREATEST if column else min((width - LEFT) * shape_of(plan) + TICKS + below(plan, width) + TOP, GREATEST)


def framed(plan: Plan, width: float, height: float, column: Callable[[float], float] | None) -> Frame | None:
    """Place map and legend in a box so that the map is as large as can be.

    Parameters
    ----------
    plan : Plan
        What is drawn.
    width, height : float
        Of the box, inches; the frame may be lower.
    column : callable, optional
        Height of what is to stand below the legend, by its width.

    Returns
    -------
    Frame or None
        None where the column has no room.
    """
    entries, widths = legend_rows(plan)
    shape, legend = shape_of(plan), ENTRY * entries + 0.08
    beside = min(width - LEFT - BETWEEN - max(LEGEND_WIDE, widths[0]), (height - TOP - TICKS) / shape)
    if column is None:
        low = below(plan, width)
        under = min(width - LEFT, (height - TOP - TICKS - low) / shape)
        if under >= beside:
            return Frame(under * shape + TICKS + low + TOP, under, columns=columns_of(plan, width), asked=height)
        used = max(beside * shape + TICKS, legend) + TOP
        return Frame(used, beside, under=False, column_x=LEFT + beside + BETWEEN, asked=height)
    while beside > 0.3 * width:
        x = LEFT + beside + BETWEEN
        needed = legend + TOP + column(width - x)
        if needed <= height:
            used = max(beside * shape + TICKS + TOP, needed)
            return Frame(used, beside, under=False, column_x=x, column_y=legend + TOP, asked=height)
        beside -= STEP
    return None


def map_into(figure: Figure, plan: Plan, listed: tuple[Stake, ...], frame: Frame, corner: tuple[float, float]) -> None:
    """Draw the map and its legend into a frame, whose lower left corner is given in inches from that of the figure."""
    left, bottom = corner
    shape, wide = shape_of(plan), frame.wide
    page_width, page_height = figure.get_size_inches()
    top = bottom + frame.height - TOP
    low = top - wide * shape
    box = (left + LEFT, low, wide, wide * shape)
    ax = figure.add_axes((box[0] / page_width, box[1] / page_height, box[2] / page_width, box[3] / page_height))
    handles, words = draw_map(ax, plan, listed)
    if frame.under:
        # Broad lines of the legend reach a little beyond their place.
        rows = -(-len(words) // frame.columns)
        at = ((left + INSET) / page_width, (bottom + ENTRY * rows + 0.04) / page_height)
        figure.legend(handles, words, ncols=frame.columns, bbox_to_anchor=at, **LOOK)
    else:
        at = ((left + frame.column_x) / page_width, top / page_height)
        figure.legend(handles, words, ncols=1, bbox_to_anchor=at, **LOOK)


def map_figure(plan: Plan, listed: tuple[Stake, ...], frame: Frame, width: float) -> Figure:
    """Draw the map alone, as wide as the page within its margins."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, frame.height), facecolor=style.PAPER, dpi=150)
    FigureCanvasAgg(figure)
    map_into(figure, plan, listed, frame, (0.0, 0.0))
    return figure
