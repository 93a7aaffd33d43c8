"""The sheet round a drawing: axes in the document's units, scale bar, north arrow, legend, notes, cautions.

A sheet of our own is laid out in inches and made exactly as high as it needs to be, so that no caution is ever cut
off. In axes that the caller brings the notes hang below the drawing as the label of the x axis, and the legend has a strip
above it. There a figure without a layout gets the constrained one: else its lower edge would cut cautions off.
"""

from __future__ import annotations

import contextlib
import math
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from underturf.cautions import CAUTIONS
from underturf.plotting import style
from underturf.plotting.names import clean, literal

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["LEAST", "Sheet", "axis_words", "nice_length"]

#: Size of letters, points; nothing on a plan or map is smaller.
LEAST = 7.0

#: Characters of 7 point text in one inch, measured on the default font; wider fonts have fewer.
CHARACTERS_PER_INCH = 17.5

#: Inches: width of a sheet, left and right of the drawing, right of it with a colour scale, greatest height of it.
WIDTH, LEFT, RIGHT, SCALE_RIGHT, TALLEST = 8.0, 0.6, 0.2, 1.15, 7.0

#: Inches: a line of notes, a line of title, the tick labels below the drawing.
NOTE, TITLE, TICKS = 0.135, 0.17, 0.3

#: Inches: a shorter scale bar has its ends written, and not its middle.
LEAST_BAR = 0.8


class Sheet:
    """One drawing and what stands round it.

    Parameters
    ----------
    ax : Axes or None
        Axes of the caller; a new figure of pyplot, so that notebooks show it, if None.
    x, y : (float, float)
        Least and greatest coordinate to show, in the document's unit.
    unit : str
        The document's unit of length.
    y_azimuth_deg : float
        Azimuth of the plan's y axis, degrees clockwise from north.
    scale : bool
        Whether a colour scale will stand to the right.
    """

    def __init__(
        self,
        ax: Axes | None,
        x: tuple[float, float],
        y: tuple[float, float],
        unit: str,
        y_azimuth_deg: float = 0.0,
        *,
        scale: bool = False,
    ) -> None:
        self.own = ax is None
        span = max(x[1] - x[0], y[1] - y[0])
        margin, strip = 0.03 * span, 0.09 * span
        low, high = (x[0] - margin, y[0] - margin - strip), (x[1] + margin, y[1] + margin)
        self.ax = self._new_axes(low, high, scale) if ax is None else ax
        self.ax.set(xlim=(low[0], high[0]), ylim=(low[1], high[1]), aspect="equal", facecolor=style.PAPER)
        self.ax.tick_params(labelsize=LEAST, length=2, color=style.INK)
        self.ax.spines[:].set_visible(False)
        if not self.own:
            keep_cautions(self.ax)
            self.ax.apply_aspect()  # words along lines and labels are placed by what is drawn where
        across, up = axis_words(unit, y_azimuth_deg)
        self.across = across
        self._ticks(y, margin)
        self.ax.set_ylabel(up, fontsize=LEAST)
        #: Below this y stands the strip of the scale bar.
        self.floor = low[1] + strip
        cover_strip(self.ax, low, high[0] - low[0], strip)
        middle = low[1] + 0.5 * strip
        scale_bar(self.ax, x[0], middle, nice_length(0.3 * (x[1] - x[0])), unit, 0.012 * span)
        north_arrow(self.ax, high[0] - margin - 0.3 * strip, middle, 0.6 * strip, y_azimuth_deg)

    def _new_axes(self, low: tuple[float, float], high: tuple[float, float], scale: bool) -> Axes:
        import matplotlib.pyplot as plt

        shape = (high[1] - low[1]) / (high[0] - low[0])
        width = WIDTH - LEFT - (SCALE_RIGHT if scale else RIGHT)
        height = min(width * shape, TALLEST)
        self.size = (height / shape, height)
        figure = plt.figure(figsize=(WIDTH, height + 2), facecolor=style.PAPER)
        return figure.add_axes((LEFT / WIDTH, 0.5 / (height + 2), self.size[0] / WIDTH, height / (height + 2)))

    def _ticks(self, y: tuple[float, float], margin: float) -> None:
        """Keep the ticks of the y axis beside what is drawn: none stands beside the scale bar or a legend."""
        ticks = [tick for tick in self.ax.get_yticks() if y[0] - margin <= tick <= y[1] + margin]
        self.ax.set_yticks(ticks)

    def colour_bar(self, image: Any, ticks: Sequence[float], words: Sequence[str], label: str) -> None:
        """Add the colour scale to the right of the drawing."""
        if self.own:
            box = self.ax.get_position()
            slim = (box.x1 + 0.1 / WIDTH, box.y0 + 0.12 * box.height, 0.15 / WIDTH, 0.8 * box.height)
            bar = self.ax.figure.colorbar(image, cax=self.ax.figure.add_axes(slim))
            self.bar = bar.ax
        else:
            bar = self.ax.figure.colorbar(image, ax=self.ax, shrink=0.7, pad=0.01, aspect=30)
        bar.set_ticks(list(ticks), labels=list(words))
        bar.ax.tick_params(labelsize=LEAST, length=2)
        bar.set_label(label, fontsize=LEAST)
        bar.outline.set_linewidth(0.5)

    def finish(self, title: Sequence[str], notes: Sequence[str]) -> Axes:
        """Add title, legend, notes and cautions, and fit the sheet round them; return the axes."""
        inches = WIDTH - LEFT - RIGHT if self.own else self.ax.get_position().width * self.ax.figure.get_figwidth()
        width = max(int(inches * characters_per_inch()), 40)
        below = [textwrap.fill(line, width) for line in (*notes, "Before you dig: " + " ".join(CAUTIONS))]
        text = literal("\n".join([self.across, *below]))
        # As wide as the drawing: letters of the title are larger by 9 / 7, capitals wider still.
        heading = literal("\n".join(textwrap.fill(clean(line), max(int(width * 0.72), 30)) for line in title))
        handles, labels = self.ax.get_legend_handles_labels()
        if not self.own:
            self.ax.set_xlabel(text, fontsize=LEAST, loc="left", color=style.INK, linespacing=1.35)
            self.ax.set_title(heading, fontsize=9, loc="left", color=style.INK)
            self._make_room(handles, labels)
            return self.ax
        figure = self.ax.figure
        look = {"fontsize": LEAST, "loc": "upper left", "bbox_to_anchor": (0.0, 1.0)}
        legend, high = self._legend(figure, inches, handles, labels, look)
        caption = NOTE * (text.count("\n") + 1)
        total = caption + TICKS + self.size[1] + TITLE * (heading.count("\n") + 1) + high + 0.25
        bottom = caption + TICKS
        self._fit(total, bottom)
        above = bottom + self.size[1] + 0.08
        look = {"va": "top", "linespacing": 1.35, "color": style.INK}
        figure.text(LEFT / WIDTH, (bottom - TICKS + 0.02) / total, text, fontsize=LEAST, **look)
        figure.text(LEFT / WIDTH, above / total, heading, fontsize=9, va="bottom", color=style.INK)
        legend.set_bbox_to_anchor((LEFT / WIDTH - 0.01, 1 - 0.02 / total))
        return self.ax

    def _legend(
        self, where: Any, inches: float, handles: Sequence[Any], labels: Sequence[str], look: dict[str, Any]
    ) -> tuple[Any, float]:
        """Add the legend to a figure or axes, in as many columns as there is room for; return it and its height, inches."""
        dots = self.ax.figure.dpi
        for columns in (3, 2, 1):
            legend = where.legend(
                handles, labels, ncols=columns, frameon=False, borderaxespad=0.2, borderpad=0.2, **look
            )
            box = legend.get_window_extent()
            if box.width <= inches * dots or columns == 1:
                break
            legend.remove()
        return legend, (box.height / dots if labels else 0.0) + 0.08

    def _make_room(self, handles: Sequence[Any], labels: Sequence[str]) -> None:
        """Put the legend on a strip of its own above the drawing, within the caller's axes: what it covered might kill."""
        ax, figure = self.ax, self.ax.figure
        engine = figure.get_layout_engine()
        if engine is not None:
            engine.execute(figure)
        box = ax.get_position(original=True)
        wide, high = box.width * figure.bbox.width, box.height * figure.bbox.height
        (left, right), (low, top) = ax.get_xlim(), ax.get_ylim()
        look = {"fontsize": LEAST, "loc": "upper left", "bbox_to_anchor": (0.0, 1.0)}
        legend, inches = self._legend(ax, wide / figure.dpi, handles, labels, look)
        legend.set_zorder(10)
        # Pixels of one unit once the strip takes its share of the height; the drawing keeps a part in any case.
        share = max(high - inches * figure.dpi, 0.4 * high)
        strip = inches * figure.dpi / min(wide / (right - left), share / (top - low))
        cover_strip(ax, (left, top), right - left, strip)
        ax.set_ylim(low, top + strip)
        ax.set_anchor("NW")  # the legend may be wider than the drawing

    def _fit(self, total: float, bottom: float) -> None:
        """Make the figure that high; keep the drawing's size in inches."""
        figure = self.ax.figure
        old, old_bottom = figure.get_figheight(), self.ax.get_position().y0 * figure.get_figheight()
        for ax in figure.axes:
            box = ax.get_position()
            low = (box.y0 * old - old_bottom + bottom) / total
            ax.set_position((box.x0, low, box.width, box.height * old / total))
        figure.set_size_inches(WIDTH, total)


def keep_cautions(ax: Axes) -> None:
    """Let a figure of subplots make room for what hangs below them, where it has no layout yet."""
    figure = ax.figure
    if figure.get_layout_engine() is None and ax.get_subplotspec() is not None:
        # A colour bar that is there already forbids it.
        with contextlib.suppress(RuntimeError):
            figure.set_layout_engine("constrained")


def axis_words(unit: str, y_azimuth_deg: float) -> tuple[str, str]:
    """Return what the axes of a plan are called: east and north only where its y axis points to true north.

    Examples
    --------
    >>> axis_words("ft", 0.0), axis_words("m", 30.0)
    (('ft east', 'ft north'), ('m along the plan', 'm up the plan'))
    """
    turned = y_azimuth_deg % 360 != 0
    return (f"{unit} along the plan", f"{unit} up the plan") if turned else (f"{unit} east", f"{unit} north")


def nice_length(limit: float) -> float:
    """Return the greatest of 1, 2, 5 times a power of ten that is at most the limit.

    Examples
    --------
    >>> [nice_length(limit) for limit in (0.3, 4.9, 7, 20)]
    [0.2, 2.0, 5.0, 20.0]
    """
    power = 10.0 ** math.floor(math.log10(limit))
    return max(step * power for step in (1, 2, 5) if step * power <= limit * (1 + 1e-9))


def characters_per_inch() -> float:
    """Return how many characters of the caution fit in one inch, in the font that is set; no more than of the default font.

    Examples
    --------
    >>> import matplotlib as mpl
    >>> with mpl.rc_context({"font.family": "monospace"}):
    ...     characters_per_inch() < CHARACTERS_PER_INCH
    True
    """
    from matplotlib.textpath import TextPath

    said = "Before you dig: " + " ".join(CAUTIONS)
    inches = float(TextPath((0, 0), said, size=LEAST).get_extents().width) / 72
    return min(CHARACTERS_PER_INCH, len(said) / inches)


def cover_strip(ax: Axes, corner: tuple[float, float], width: float, height: float) -> None:
    """Keep the strip of the scale bar free of what the drawing has there."""
    from matplotlib.patches import Rectangle

    ax.add_patch(Rectangle(corner, width, height, facecolor=style.PAPER, edgecolor="none", zorder=8.5))


def scale_bar(ax: Axes, x: float, y: float, length: float, unit: str, height: float) -> None:
    """Draw a bar of two halves, black and white, with its ends written below, and its middle where there is room."""
    from matplotlib.patches import Rectangle

    for k, colour in enumerate((style.INK, style.PAPER)):
        corner = (x + k * length / 2, y)
        looks = {"facecolor": colour, "edgecolor": style.INK, "linewidth": 0.7, "zorder": 9}
        ax.add_patch(Rectangle(corner, length / 2, height, **looks))
    inches = length * float(np.ptp(ax.transData.transform([(0.0, 0.0), (1.0, 0.0)])[:, 0])) / ax.figure.dpi
    for share in (0.0, 0.5, 1.0) if inches > LEAST_BAR else (0.0, 1.0):
        words = f"{share * length:g}" + (f" {unit}" if share == 1 else "")
        ax.text(
            x + share * length,
            y - 0.5 * height,
            words,
            ha="center",
            va="top",
            fontsize=LEAST,
            color=style.INK,
            zorder=9,
        )


def north_arrow(ax: Axes, x: float, y: float, size: float, y_azimuth_deg: float) -> None:
    """Draw an arrow to true north about (x, y), its letter to the left."""
    angle = -math.radians(y_azimuth_deg)
    dx, dy = math.sin(angle) * size / 2, math.cos(angle) * size / 2
    arrow = {"arrowstyle": "-|>", "color": style.INK, "linewidth": 1.2, "shrinkA": 0, "shrinkB": 0}
    ax.annotate("", xy=(x + dx, y + dy), xytext=(x - dx, y - dy), arrowprops=arrow, annotation_clip=False, zorder=9)
    look = {"fontsize": 8, "weight": "bold", "color": style.INK, "zorder": 9}
    ax.text(x - 0.35 * size - abs(dx), y, "N", ha="right", va="center", **look)
