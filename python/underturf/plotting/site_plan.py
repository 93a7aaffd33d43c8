"""The plan of a site: what can be seen and was found, a few sampled layouts in thin lines, and digs with their chances."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from underturf.cautions import NOT_CONVERGED
from underturf.dig_lists import Digs, bind_digs
from underturf.plotting import style
from underturf.plotting.digs import draw_digs
from underturf.plotting.findings import draw_probes, draw_sketches, draw_station_tests
from underturf.plotting.furniture import Sheet
from underturf.plotting.ground import draw_fixtures, draw_ground, draw_heads
from underturf.plotting.known import draw_known
from underturf.plotting.lettering import Point, Room
from underturf.plotting.metal import draw_metal
from underturf.plotting.names import BESIDE, clean
from underturf.plotting.view import extent, keep_offs, probe_points
from underturf.report import chance_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.layouts import Layouts
    from underturf.site import Site

__all__ = ["draw_danger", "plot_site"]


def plot_site(
    site: Site,
    ax: Axes | None = None,
    *,
    layouts: Layouts | None = None,
    digs: Digs = None,
    draws: int = 5,
) -> Axes:
    """Draw a plan of a site in its document's units.

    Parameters
    ----------
    site : Site
        The site.
    ax : Axes, optional
        Where to draw; a new figure if not given.
    layouts : Layouts, optional
        Sampled layouts: some are drawn as thin lines, and digs are labelled with their chance of a strike.
    digs : dig, name, or list of them, optional
        Digs to show; the site's own if not given.
    draws : int
        How many layouts to draw.

    Returns
    -------
    Axes

    Raises
    ------
    ImportError
        If matplotlib is not installed.
    DigError
        If a dig has no size or its name is unknown.
    """
    document, scale = site._plain(), 1 / site.unit_m
    bound = bind_digs(digs, site)
    sheet = Sheet(ax, *extent(site, document, bound), site.units, document.get("frame", {}).get("bearing_deg", 0.0))
    ax = sheet.ax
    room = Room(sheet.floor, fixed_points(document))
    draw_danger(ax, site, document, room)
    draw_ground(ax, document)
    notes = []
    if layouts is not None and draws > 0:
        shown = draw_layouts(ax, layouts, draws, scale)
        notes.append(
            f"Thin lines: {shown} of {layouts.draws} sampled layouts; each agrees with all that is seen, none is the truth."
        )
    draw_sketches(ax, document)
    draw_fixtures(ax, document)
    draw_heads(ax, document)
    draw_station_tests(ax, document)
    draw_probes(ax, document, room)
    if bound:
        words, note = dig_words(bound, digs, layouts)
        draw_digs(ax, bound, words, scale, room.taken)
        notes += note
    mark = [] if layouts is None or layouts.converged else [NOT_CONVERGED]
    return sheet.finish([*mark, site.name or "Plan"], notes)


#: What is written at a dig in place of a chance, where something is known to lie.
KNOWN = {"tolerance_zone": "tolerance zone"}


def draw_danger(ax: Axes, site: Site, document: dict[str, Any], room: Room) -> None:
    """Draw what no dig may meet: known lines first, so that they lead the legend, then flagged metal."""
    draw_known(ax, document, site._handle.half_zone_m / site.unit_m, room)
    draw_metal(ax, document, keep_offs(site), room)


def dig_words(bound: list[Any], digs: Digs, layouts: Layouts | None) -> tuple[list[str], list[str]]:
    """Return the label of each dig and the note that explains them."""
    if layouts is None:
        return [clean(dig.id, BESIDE) for dig in bound], []
    table = layouts.strikes(digs, progress=False)
    known = layouts._handle.known_there(bound)
    words = [
        f"{clean(dig.id, BESIDE)}\n" + (chance_text(p) if there is None else KNOWN.get(there, "flagged metal"))
        for dig, p, there in zip(bound, table["p_strike"], known, strict=True)
    ]
    note = f"Chance of a strike: {table.attrs['p_strike']}."
    missing = table.attrs["not_assessed"]
    if missing:
        note += f" Not assessed: {', '.join(name.replace('_', ' ') for name in missing)}."
    return words, [note]


def draw_layouts(ax: Axes, layouts: Layouts, draws: int, scale: float) -> int:
    """Draw the first layouts as thin lines in the colours of their zones; return how many."""
    from matplotlib.collections import LineCollection

    document = layouts.site._plain()
    looks = style.zone_styles([str(head["zone"]) for head in document.get("heads", []) if head.get("zone") is not None])
    table = layouts.segments()
    shown = min(draws, layouts.draws)
    table = table[table["draw"] < shown]
    for (zone, line), part in table.groupby(["zone", "class"], observed=True):
        ends = part[["x0_m", "y0_m", "x1_m", "y1_m"]].to_numpy().reshape(-1, 2, 2) * scale
        look = looks.get(str(zone).removeprefix("zone "))
        colour = style.INK if line != "lateral" else look.colour if look is not None else style.FAINT
        ax.add_collection(LineCollection(list(ends), colors=colour, linewidths=0.9, alpha=0.45, zorder=3))
    if (table["class"] != "lateral").any():
        ax.plot([], [], color=style.INK, linewidth=0.9, alpha=0.6, label="sampled mainline and potable line")
    laterals = table.loc[table["class"] == "lateral", "zone"].astype(str).str.removeprefix("zone ")
    if laterals.isin(list(looks)).any():
        ax.plot([], [], color=style.ZONES[0].colour, linewidth=0.9, alpha=0.6, label="sampled laterals, by zone")
    if not laterals.isin(list(looks)).all():
        ax.plot([], [], color=style.FAINT, linewidth=0.9, alpha=0.6, label="sampled laterals, zone without a name")
    return shown


def fixed_points(document: dict[str, Any]) -> list[Point]:
    """Return what labels should not cover: heads, boxes, sources, outlets, probes."""
    keys = ("heads", "valve_boxes", "sources", "outlets")
    fixed = [(item["x"], item["y"]) for key in keys for item in document.get(key, [])]
    return fixed + [point for probe in document.get("probes", []) for point in probe_points(probe)]
