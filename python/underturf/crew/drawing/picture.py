"""The map as a picture with its legend and notes: as wide as the page, and on a page of its own at a standard scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from underturf.crew.drawing.labels import SIZE, Unlabelled
from underturf.crew.drawing.legend import keys_of, svg_of
from underturf.crew.drawing.map import draw_map, limits
from underturf.crew.drawing.scales import Scale, fitting
from underturf.crew.sizes import inner_of
from underturf.plotting import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from underturf.crew.plan import Plan

__all__ = ["Picture", "is_tall", "map_figure", "page_map", "page_size", "scale_map", "scale_of"]

#: Inches round the drawing: left and below for ticks and their words, right and above for half a tick.
LEFT, BELOW, RIGHT, ABOVE = 0.56, 0.44, 0.1, 0.1

#: Inches: what title and orders take on page 1; a row of three entries of the legend; notes below it; least height of a map.
ORDERS, ROW, NOTES, LEAST = 3.9, 0.3, 0.35, 4.0

#: Inches that title and notes take on the page of a map at scale: upright, and across, where lines are longer.
TITLE, TITLE_ACROSS = 0.76, 0.64


@dataclass(frozen=True)
class Picture:
    """A drawn map: SVG, size in inches, the legend as pictures and words, and what there was no room for.

    ``parted``: a legend so long that no page holds both may stand on the next one.
    """

    svg: str
    width: float
    height: float
    legend: tuple[tuple[str, str], ...]
    left_out: Unlabelled
    scale: Scale | None = None
    parted: bool = False


def spans(plan: Plan) -> tuple[float, float]:
    """Return width and height of the ground that maps show, in the document's unit."""
    x, y = limits(plan)
    return x[1] - x[0], y[1] - y[0]


def legend_height(plan: Plan) -> float:
    """Return what legend and notes take below the map, inches, at most: every entry may take two lines."""
    from matplotlib.figure import Figure

    _, words, _ = draw_map(Figure().add_subplot(), plan, plan.listed, labels=False)
    return -(-len(words) // 3) * ROW + NOTES


def is_tall(plan: Plan) -> bool:
    """Tell whether the map with its legend has no room on page 1 below the orders."""
    wide, high = spans(plan)
    width, height = inner_of(plan.units)
    drawn = (width - LEFT - RIGHT) * high / wide
    return drawn + BELOW + ABOVE + legend_height(plan) > height - ORDERS


def map_figure(plan: Plan, width: float, height: float) -> tuple[Figure, list[Any], list[str], Unlabelled]:
    """Draw the map into a figure of that size, inches; return handles and words of its legend and what is left out too."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height), facecolor=style.PAPER, dpi=150)
    FigureCanvasAgg(figure)
    inner = (width - LEFT - RIGHT) / width, (height - BELOW - ABOVE) / height
    ax = figure.add_axes((LEFT / width, BELOW / height, *inner))
    handles, words, left_out = draw_map(ax, plan, plan.listed)
    return figure, handles, words, left_out


def page_size(plan: Plan) -> tuple[float, float, bool]:
    """Return width and height of the map as wide as the page, or as high as one page holds with the legend, inches.

    And whether the legend is so long that it may stand on the next page.
    """
    wide, high = spans(plan)
    width, height = inner_of(plan.units)
    most = height - legend_height(plan) - BELOW - ABOVE
    drawn = min((width - LEFT - RIGHT) * high / wide, max(most, LEAST))
    return drawn * wide / high + LEFT + RIGHT, drawn + BELOW + ABOVE, most < LEAST


def page_map(plan: Plan, *, text_as: str) -> Picture:
    """Draw the map as wide as the page, or as high as one page holds with its legend."""
    width, height, parted = page_size(plan)
    return picture(plan, width, height, None, text_as, parted)


def scale_of(plan: Plan) -> Scale:
    """Return the standard scale of the map that fills a page."""
    rooms = []
    for across, title in ((False, TITLE), (True, TITLE_ACROSS)):
        width, height = inner_of(plan.units, across=across)
        rooms.append((width - LEFT - RIGHT, height - BELOW - ABOVE - title))
    return fitting(*spans(plan), plan.units, *rooms)


def scale_map(plan: Plan, *, text_as: str) -> Picture:
    """Draw the map at a standard scale."""
    wide, high = spans(plan)
    scale = scale_of(plan)
    return picture(
        plan, wide / scale.per_inch + LEFT + RIGHT, high / scale.per_inch + BELOW + ABOVE, scale, text_as, False
    )


def picture(plan: Plan, width: float, height: float, scale: Scale | None, text_as: str, parted: bool) -> Picture:
    """Draw the map at that size, inches."""
    figure, handles, words, left_out = map_figure(plan, width, height)
    least_size(figure)
    svg = svg_of(figure, "map of the site", text_as=text_as)
    legend = zip(keys_of(handles, text_as=text_as), words, strict=True)
    plain = tuple((key, said.replace(r"\$", "$")) for key, said in legend)
    return Picture(svg, width, height, plain, left_out, scale, parted)


def least_size(figure: Figure) -> None:
    """Raise every text to the least size that is read at arm's length; the plans on screens have smaller ones."""
    from matplotlib.text import Text

    for text in figure.findobj(Text):
        if float(text.get_fontsize()) < SIZE:
            text.set_fontsize(SIZE)
