"""What every sheet needs round its drawing: scale bar, north arrow, axes in the document's units, cautions."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from underturf.cautions import CAUTIONS
from underturf.plotting.style import INK, PAPER

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["caption", "frame", "new_axes", "nice_length"]

#: Characters of 7 point text in one inch, measured on the default font.
CHARACTERS_PER_INCH = 17.0


def new_axes(width_in: float = 8.0, height_in: float = 8.0) -> Axes:
    """Return the axes of a new figure of pyplot, so that notebooks show it."""
    import matplotlib.pyplot as plt

    _, ax = plt.subplots(figsize=(width_in, height_in), layout="constrained")
    return ax


def frame(ax: Axes, x: tuple[float, float], y: tuple[float, float], unit: str, bearing_deg: float = 0.0) -> None:
    """Set equal axes over the ground between two corners; put scale bar and north arrow in a strip below it.

    Parameters
    ----------
    ax : Axes
        Axes to finish.
    x, y : (float, float)
        Least and greatest coordinate to show, in the document's unit.
    unit : str
        The document's unit of length.
    bearing_deg : float
        Direction of true north, degrees clockwise from the plan's y axis.
    """
    span = max(x[1] - x[0], y[1] - y[0])
    margin, strip = 0.03 * span, 0.09 * span
    ax.set_aspect("equal")
    ax.set_xlim(x[0] - margin, x[1] + margin)
    ax.set_ylim(y[0] - margin - strip, y[1] + margin)
    ax.set_facecolor(PAPER)
    ax.tick_params(labelsize=7, length=2, color=INK)
    for spine in ax.spines.values():
        spine.set_visible(False)
    ax.set_ylabel(f"{unit} north" if bearing_deg == 0 else f"{unit} up the plan", fontsize=7)
    scale_bar(ax, x[0], y[0] - 0.55 * strip, nice_length(0.3 * (x[1] - x[0])), unit, 0.012 * span)
    north_arrow(ax, x[1] - 0.3 * strip, y[0] - 0.55 * strip, 0.7 * strip, bearing_deg)


def nice_length(limit: float) -> float:
    """Return the greatest of 1, 2, 5 times a power of ten that is at most the limit.

    Examples
    --------
    >>> [nice_length(limit) for limit in (0.3, 4.9, 7, 20)]
    [0.2, 2.0, 5.0, 20.0]
    """
    power = 10.0 ** math.floor(math.log10(limit))
    return max(step * power for step in (1, 2, 5) if step * power <= limit * (1 + 1e-9))


def scale_bar(ax: Axes, x: float, y: float, length: float, unit: str, height: float) -> None:
    """Draw a bar of two halves, black and white, with its ends written below."""
    from matplotlib.patches import Rectangle

    for k, colour in enumerate((INK, PAPER)):
        corner = (x + k * length / 2, y)
        ax.add_patch(Rectangle(corner, length / 2, height, facecolor=colour, edgecolor=INK, linewidth=0.7, zorder=9))
    for share in (0.0, 0.5, 1.0):
        words = f"{share * length:g}" + (f" {unit}" if share == 1 else "")
        ax.text(
            x + share * length,
            y - 0.6 * height,
            words,
            ha="center",
            va="top",
            fontsize=7,
            color=INK,
            zorder=9,
        )


def north_arrow(ax: Axes, x: float, y: float, size: float, bearing_deg: float) -> None:
    """Draw an arrow to true north about (x, y)."""
    angle = math.radians(bearing_deg)
    dx, dy = math.sin(angle) * size / 2, math.cos(angle) * size / 2
    ax.annotate(
        "",
        xy=(x + dx, y + dy),
        xytext=(x - dx, y - dy),
        arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 1.2, "shrinkA": 0, "shrinkB": 0},
        annotation_clip=False,
        zorder=9,
    )
    ax.text(
        x - 1.6 * dx,
        y - 1.25 * dy,
        "N",
        ha="center",
        va="top",
        fontsize=8,
        weight="bold",
        color=INK,
        zorder=9,
    )


def caption(ax: Axes, unit: str, lines: Sequence[str]) -> None:
    """Write notes and the cautions under the axes, wrapped to their width."""
    figure = ax.figure
    width_in = ax.get_position().width * figure.get_figwidth() if figure is not None else 8.0
    width = max(int(width_in * CHARACTERS_PER_INCH), 40)
    notes = [textwrap.fill(line, width) for line in (*lines, "Before you dig: " + " ".join(CAUTIONS))]
    ax.set_xlabel("\n".join([f"{unit} east", *notes]), fontsize=7, loc="left", color=INK, linespacing=1.35)
