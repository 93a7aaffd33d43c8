"""The map of strike chances, over the plan: light where little is likely, dark where much is, on a uniform scale."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from underturf.cautions import NOT_CONVERGED
from underturf.dig_lists import Digs, bind_digs
from underturf.directions import y_azimuth_deg
from underturf.maps import LEVELS
from underturf.plotting import style as looks
from underturf.plotting.digs import Labelled, draw_digs, footprint
from underturf.plotting.findings import draw_probes
from underturf.plotting.furniture import LEAST, Sheet
from underturf.plotting.ground import draw_fixtures, draw_ground, draw_heads
from underturf.plotting.lettering import Room
from underturf.plotting.site_plan import dig_words, draw_danger, fixed_points
from underturf.plotting.styled import Style, colour_map, styled
from underturf.plotting.view import extent
from underturf.report import chance_text, length_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.colors import Colormap

    from underturf.maps import StrikeMap

__all__ = ["plot_map"]

#: Lines and their letters are ink on what is lighter than this, paper on what is darker.
MIDDLE = 0.5

#: Chances written at the colour scale; its ends are never written 0 % or 100 %.
TICKS = (0.0, 0.05, 0.25, 0.5, 0.75, 1.0)


def plot_map(
    smap: StrikeMap,
    ax: Axes | None = None,
    *,
    digs: Digs = (),
    levels: tuple[float, ...] = LEVELS,
    cmap: str | Colormap | None = None,
    style: Style = None,
) -> Axes:
    """Draw a map of strike chances over the plan of its site, in the document's units.

    Parameters
    ----------
    smap : StrikeMap
        The map. That of one dig also shows the dig and its best shift.
    ax : Axes, optional
        Where to draw; a new figure if not given.
    digs : dig, name, or list of them, optional
        Digs to show with their own chances; none if not given, the site's own for None.
    levels : tuple of float
        Chances at which to draw lines.
    cmap : str or Colormap, optional
        Colours from chance 0 to chance 1; light to dark if not given.
    style : str, mapping or list of them, optional
        A style of matplotlib by name, or settings of it: fonts, sizes. Ink, paper and the colours that mean something stay.

    Returns
    -------
    Axes

    Raises
    ------
    ImportError
        If matplotlib is not installed.
    ArgumentError
        If there are no such colours or no such style.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
    >>> from underturf.plotting import plot_map
    >>> axes = plot_map(layouts.strike_map(cell_m=0.5), Figure().add_subplot())
    >>> axes.has_data()
    True
    """
    colours = colour_map(cmap)
    with styled(style):
        return draw_map(smap, ax, digs, levels, colours)


def draw_map(smap: StrikeMap, ax: Axes | None, digs: Digs, levels: tuple[float, ...], colours: Colormap) -> Axes:
    """Draw a map in colours."""
    site = smap.layouts.site
    document, scale = site._plain(), 1 / site.unit_m
    near = smap._dig is not None
    bound = bind_digs(digs, site)
    x, y = around(smap, scale) if near else extent(site, document, bound)
    sheet = Sheet(ax, x, y, site.units, y_azimuth_deg(document), scale=True)
    ax = sheet.ax
    room = Room(sheet.floor, fixed_points(document))
    draw_danger(ax, site, document, room)
    image = draw_cells(ax, smap, scale, colours)
    draw_levels(ax, smap, scale, levels, colours)
    draw_ground(ax, document, lawn=False)
    draw_barred(ax, smap, scale)
    draw_fixtures(ax, document, quiet=True)
    draw_heads(ax, document, quiet=True)
    draw_probes(ax, document, room)
    notes = [note(smap)]
    if near:
        notes += draw_dig(ax, smap, scale)
    if bound:
        words, more = dig_words(bound, digs, smap.layouts)
        draw_digs(ax, Labelled(bound, words), scale, room.taken)
        notes += more
    sheet.colour_bar(image, TICKS, [chance_text(tick) for tick in TICKS], "chance of a strike, dig centred here")
    mark = [] if smap.converged else [NOT_CONVERGED]
    return sheet.finish([*mark, site.name or "Map", smap.what], notes)


def edges(centres: npt.NDArray[np.float64], cell_m: float, scale: float) -> tuple[float, float]:
    """Return the outer edges of a row of cells, in the document's unit."""
    return (float(centres.min()) - cell_m / 2) * scale, (float(centres.max()) + cell_m / 2) * scale


def around(smap: StrikeMap, scale: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the ground that the dig of a map covers anywhere within reach, in the document's unit."""
    dig = smap._dig
    assert dig is not None  # noqa: S101  the caller asked only for maps of one dig
    half = np.ptp(dig.points_m, axis=0) / 2 + dig.half_width_m
    (x0, x1), (y0, y1) = edges(smap.x_m, smap.cell_m, scale), edges(smap.y_m, smap.cell_m, scale)
    dx, dy = half * scale
    return (x0 - dx, x1 + dx), (y0 - dy, y1 + dy)


def draw_cells(ax: Axes, smap: StrikeMap, scale: float, colours: Colormap) -> Any:
    """Draw the cells on a linear scale from 0 to 1, so that maps can be compared."""
    x, y = edges(smap.x_m, smap.cell_m, scale), edges(smap.y_m, smap.cell_m, scale)
    limits = ax.get_xlim(), ax.get_ylim()
    image = ax.imshow(
        smap.p,
        cmap=colours,
        vmin=0,
        vmax=1,
        extent=(*x, *y),
        origin="upper",
        interpolation="nearest",
        zorder=1,
    )
    ax.set_xlim(*limits[0])
    ax.set_ylim(*limits[1])
    return image


def draw_levels(ax: Axes, smap: StrikeMap, scale: float, levels: tuple[float, ...], colours: Colormap) -> None:
    """Draw lines of equal chance where the map has them."""
    if min(smap.p.shape) < 2 or not np.isfinite(smap.p).any():
        return
    inside = [level for level in sorted(levels) if np.nanmin(smap.p) < level < np.nanmax(smap.p)]
    if not inside:
        return
    inks = [looks.INK if lightness(colours(level)) > MIDDLE else looks.PAPER for level in inside]
    lines = ax.contour(
        smap.x_m * scale, smap.y_m * scale, smap.p, levels=inside, colors=inks, linewidths=0.6, zorder=1.2
    )
    ax.clabel(lines, fmt=lambda level: chance_text(level), fontsize=LEAST)


def lightness(colour: tuple[float, float, float, float]) -> float:
    """Return how light a colour prints in grey, 0 to 1: Rec. 709 weights of its parts.

    Examples
    --------
    >>> lightness((0.0, 0.0, 0.0, 1.0)), round(lightness((1.0, 1.0, 1.0, 1.0)), 6)
    (0.0, 1.0)
    """
    red, green, blue, _ = colour
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def draw_barred(ax: Axes, smap: StrikeMap, scale: float) -> None:
    """Hatch where no probability counts, and where a line is too likely within the setback of the dig's tree."""
    draw_ground_of(
        ax,
        smap,
        scale,
        smap.in_tolerance_zone,
        "////",
        "dig would enter a tolerance zone:\nmarks, wait, hand or vacuum only",
    )
    metal = smap.on_flagged_metal & ~smap.in_tolerance_zone
    draw_ground_of(ax, smap, scale, metal, "\\\\\\\\", "dig would stand on flagged metal:\nuncover by hand first")
    if smap.p_setback is not None and smap.setback_limit is not None:
        over = (smap.p_setback > smap.setback_limit) & np.isfinite(smap.p)
        limit = chance_text(smap.setback_limit)
        draw_ground_of(ax, smap, scale, over, "....", f"a line within the tree's setback\nwith more than {limit}")


def draw_ground_of(
    ax: Axes, smap: StrikeMap, scale: float, cells: npt.NDArray[np.bool_], hatch: str, words: str
) -> None:
    """Hatch cells of a map, with their edge."""
    if not cells.any() or min(smap.p.shape) < 2:
        return
    fine = 4 if smap.p.size < 100_000 else 1  # contours run through centres of cells: finer cells, truer edges
    mask = np.kron(cells, np.ones((fine, fine)))
    x, y = (finer(centres, smap.cell_m, fine) * scale for centres in (smap.x_m, -smap.y_m))
    filled = ax.contourf(x, -y, mask, levels=[0.5, 1.5], colors="none", hatches=[hatch], zorder=1.6)
    filled.set(edgecolor=looks.FAINT, linewidth=0)
    ax.contour(x, -y, mask, levels=[0.5], colors=looks.INK, linewidths=0.8, linestyles="dashed", zorder=1.6)
    ax.scatter([], [], marker="s", s=60, facecolor="none", edgecolor=looks.FAINT, hatch=hatch + hatch[:2], label=words)


def finer(centres: npt.NDArray[np.float64], cell_m: float, parts: int) -> npt.NDArray[np.float64]:
    """Return the centres of cells cut in equal parts; centres ascend."""
    inner = (np.arange(parts) + 0.5) / parts - 0.5
    return (centres[:, None] + inner * cell_m).ravel()


def draw_dig(ax: Axes, smap: StrikeMap, scale: float) -> list[str]:
    """Draw the dig of a map where it is proposed, and its best shift; return the note about it."""
    from matplotlib.collections import PatchCollection

    dig, shift, units = smap._dig, smap.shift, smap.layouts.site.units
    assert dig is not None  # noqa: S101  the caller asked only for maps of one dig
    outline = {"facecolor": "none", "edgecolor": looks.DIG, "linewidth": 1.6, "zorder": 7}
    ax.add_collection(PatchCollection(footprint(dig, scale), **outline))
    ax.plot([], [], "o", markerfacecolor="none", markeredgecolor=looks.DIG, label="dig as proposed")
    if shift is None and smap.no_better:
        return ["No better place within reach."]
    if shift is None:
        return ["No shift within reach lowers the chance by more than its error."]
    moved = footprint(dig, scale, (shift.dx_m, shift.dy_m))
    ax.add_collection(PatchCollection(moved, **{**outline, "edgecolor": looks.INK, "linestyle": "--"}))
    start = dig.points_m.mean(axis=0)
    end = start + (shift.dx_m, shift.dy_m)
    ax.annotate(
        "", xy=tuple(end * scale), xytext=tuple(start * scale), zorder=8,
        arrowprops={"arrowstyle": "-|>", "color": looks.INK, "linewidth": 1.2},
    )  # fmt: skip
    ax.plot([], [], color=looks.INK, linewidth=1.2, linestyle="--", label="best shift")
    setback = "" if shift.p_setback is None else f", of a line within the setback {chance_text(shift.p_setback)}"
    return [
        f"Best shift: {length_text(shift.distance_m, units)}, to a chance of {chance_text(shift.p_strike)}{setback}."
    ]


def note(smap: StrikeMap) -> str:
    """Return what the colours mean."""
    counted = ", ".join(name.replace("_", " ") for name in smap.classes)
    greatest = float(np.nanmax(smap.mcse)) if np.isfinite(smap.mcse).any() else math.nan
    return (
        f"Colour: chance that this dig, centred there, strikes a line ({counted}; nothing else is assessed), "
        f"from {smap.layouts.draws} sampled layouts; greatest Monte Carlo error {chance_text(greatest)}. "
        "White: out of the boundary, into a building or pool, or where something is known to lie."
    )
