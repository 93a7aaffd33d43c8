"""Strips about lines: the patches that cover them, and areas made of patches that overlap, drawn with one common edge."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["band", "draw_area", "strip", "tint"]


def band(a: Sequence[float], b: Sequence[float], half: float) -> list[tuple[float, float]]:
    """Return the corners of the band about one straight bit."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    norm = (dx * dx + dy * dy) ** 0.5
    nx, ny = -dy / norm * half, dx / norm * half
    return [(a[0] + nx, a[1] + ny), (b[0] + nx, b[1] + ny), (b[0] - nx, b[1] - ny), (a[0] - nx, a[1] - ny)]


def strip(path: Sequence[Sequence[float]], half: float) -> list[Any]:
    """Return patches that cover everything within that distance of a line, or of a single point."""
    from matplotlib.patches import Circle, Polygon

    straight = [Polygon(band(a, b, half)) for a, b in zip(path, path[1:], strict=False) if tuple(a) != tuple(b)]
    return [*straight, *(Circle((point[0], point[1]), half) for point in path)]


def draw_area(
    ax: Axes,
    patches: Sequence[Any],
    face: Any,
    edge: str,
    zorder: float,
    *,
    line: Any = "solid",
    hatch: str | None = None,
) -> None:
    """Draw patches as one area: all edges first, then the fills over the edges inside, then the hatch."""
    from matplotlib.collections import PatchCollection

    looks = {"facecolor": face, "zorder": zorder}
    ax.add_collection(PatchCollection(patches, edgecolor=edge, linewidth=1.6, linestyle=line, **looks))
    ax.add_collection(PatchCollection(patches, edgecolor="none", **looks))
    if hatch is not None:
        overlay = {"facecolor": "none", "edgecolor": edge, "linewidth": 0, "hatch": hatch, "zorder": zorder}
        ax.add_collection(PatchCollection(patches, **overlay))


def tint(colour: str, share: float = 0.22) -> tuple[float, ...]:
    """Mix a colour with paper, opaque, so that the parts of a zone do not darken each other."""
    from matplotlib.colors import to_rgb

    return tuple(1 - share * (1 - channel) for channel in to_rgb(colour))
