"""Maps as pictures with legend and notes: that of page 1, windows of it at a standard scale, the one that fills a page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from underturf.crew.drawing.fit import ABOVE, BELOW, LEFT, RIGHT, Fit
from underturf.crew.drawing.labels import SIZE, Unlabelled
from underturf.crew.drawing.legend import keys_of, svg_of
from underturf.crew.drawing.map import FRAME, draw_map
from underturf.crew.drawing.scales import Scale, fitting
from underturf.crew.drawing.view import View, Window, view_of
from underturf.crew.drawing.windows import window_view
from underturf.crew.sizes import inner_of
from underturf.plotting import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from underturf.crew.plan import Plan

__all__ = [
    "Keys",
    "Picture",
    "detail_maps",
    "frame_key",
    "ground_of",
    "legend_of",
    "map_figure",
    "page_map",
    "scale_map",
    "scale_of",
]

#: Pictures and words of a legend.
Keys = tuple[tuple[str, str], ...]

#: Inches that title and notes take on the page of a map at scale: upright, and across, where lines are longer.
TITLE, TITLE_ACROSS = 0.76, 0.64


@dataclass(frozen=True)
class Picture:
    """A drawn map: SVG, size in inches, what there was no room for, and its scale where that is a standard one.

    ``fit``: how the map of page 1 shares the page with its legend; ``elsewhere``: what is named on detail maps.
    """

    svg: str
    width: float
    height: float
    left_out: Unlabelled
    legend: Keys = ()
    scale: Scale | None = None
    fit: Fit | None = None
    window: Window | None = None
    named: tuple[str, ...] = ()
    elsewhere: str = ""


def ground_of(plan: Plan) -> tuple[float, float]:
    """Return width and height of the ground that the whole map shows, in the document's unit."""
    view = view_of(plan)
    return view.x[1] - view.x[0], view.y[1] - view.y[0]


def legend_of(plan: Plan, *, text_as: str) -> Keys:
    """Return the legend of the map: the same whatever its size."""
    from matplotlib.figure import Figure

    handles, words, _ = draw_map(Figure().add_subplot(), plan, plan.listed, labels=False)
    keys = zip(keys_of(handles, text_as=text_as), words, strict=True)
    return tuple((key, said.replace(r"\$", "$")) for key, said in keys)


def frame_key(*, text_as: str) -> Keys:
    """Return the entry of the legend for frames of detail maps."""
    from matplotlib.patches import Patch

    (key,) = keys_of([Patch(**FRAME)], text_as=text_as)
    return ((key, "frame of a detail map"),)


def map_figure(
    plan: Plan, width: float, height: float, view: View | None = None
) -> tuple[Figure, list[Any], list[str], Unlabelled]:
    """Draw a view of the map, the whole if not given, into a figure of that size, inches.

    Returns handles and words of its legend and what is left out too.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height), facecolor=style.PAPER, dpi=150)
    FigureCanvasAgg(figure)
    inner = (width - LEFT - RIGHT) / width, (height - BELOW - ABOVE) / height
    ax = figure.add_axes((LEFT / width, BELOW / height, *inner))
    handles, words, left_out = draw_map(ax, plan, plan.listed, view)
    return figure, handles, words, left_out


def page_map(plan: Plan, fit: Fit, windows: tuple[Window, ...] = (), *, legend: Keys = (), text_as: str) -> Picture:
    """Draw the map of page 1, with the frames of detail maps."""
    svg, left_out = drawn(plan, (fit.width, fit.height), view_of(plan, windows), text_as)
    return Picture(svg, fit.width, fit.height, left_out, legend, fit=fit, elsewhere=elsewhere(windows))


def elsewhere(windows: tuple[Window, ...]) -> str:
    """Say where heads and stakes are named that the map of page 1 does not name."""
    if not windows:
        return ""
    if windows[0].whole:
        return "Heads and stakes are named on the detail map."
    if len(windows) == 1:
        return "Heads and stakes within the frame are named on the detail map."
    return "Heads and stakes within the frames are named on the detail maps."


def detail_maps(plan: Plan, windows: tuple[Window, ...], scale: Scale, *, text_as: str) -> list[Picture]:
    """Draw the windows at that scale."""
    found = []
    for window in windows:
        view = window_view(window, scale.per_inch)
        width, height = size_of(view, scale)
        svg, left_out = drawn(plan, (width, height), view, text_as)
        found.append(Picture(svg, width, height, left_out, scale=scale, window=window, named=named_in(plan, view)))
    return found


def named_in(plan: Plan, view: View) -> tuple[str, ...]:
    """Return spots and probes in view by what they are called, those that follow each other as a range."""
    scale, found = 1 / plan.site.unit_m, []
    for word, letter, digs in (("spot", "", plan.digs), ("probe", "P", [probe.dig for probe in plan.probes])):
        seen = [view.middle(dig.points_m * scale, closed=dig.kind == "pit") is not None for dig in digs]
        numbers = [k + 1 for k, here in enumerate(seen) if here]
        if numbers:
            found.append(f"{word}{'s' if len(numbers) > 1 else ''} {ranges(numbers, letter)}")
    return tuple(found)


def ranges(numbers: list[int], letter: str) -> str:
    """Write numbers that ascend, those that follow each other as a range.

    Examples
    --------
    >>> ranges([1, 2, 3, 5, 6, 9], "P")
    'P1 to P3, P5, P6, P9'
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    parts = [
        f"{letter}{run[0]} to {letter}{run[-1]}" if len(run) > 2 else ", ".join(f"{letter}{number}" for number in run)
        for run in runs
    ]
    return ", ".join(parts)


def scale_of(plan: Plan) -> Scale:
    """Return the standard scale of the map that fills a page."""
    rooms = []
    for across, title in ((False, TITLE), (True, TITLE_ACROSS)):
        width, height = inner_of(plan.units, across=across)
        rooms.append((width - LEFT - RIGHT, height - BELOW - ABOVE - title))
    return fitting(*ground_of(plan), plan.units, *rooms)


def scale_map(plan: Plan, *, text_as: str) -> Picture:
    """Draw the map at a standard scale."""
    scale, view = scale_of(plan), view_of(plan)
    width, height = size_of(view, scale)
    svg, left_out = drawn(plan, (width, height), view, text_as)
    return Picture(svg, width, height, left_out, scale=scale)


def size_of(view: View, scale: Scale) -> tuple[float, float]:
    """Return width and height of a view drawn at a scale with its ticks, inches."""
    wide, high = view.x[1] - view.x[0], view.y[1] - view.y[0]
    return wide / scale.per_inch + LEFT + RIGHT, high / scale.per_inch + BELOW + ABOVE


def drawn(plan: Plan, size: tuple[float, float], view: View, text_as: str) -> tuple[str, Unlabelled]:
    """Draw a view of the map at that size, inches."""
    figure, _, _, left_out = map_figure(plan, *size, view)
    least_size(figure)
    return svg_of(figure, "map of the site", text_as=text_as), left_out


def least_size(figure: Figure) -> None:
    """Raise every text to the least size that is read at arm's length; the plans on screens have smaller ones."""
    from matplotlib.text import Text

    for text in figure.findobj(Text):
        if float(text.get_fontsize()) < SIZE:
            text.set_fontsize(SIZE)
