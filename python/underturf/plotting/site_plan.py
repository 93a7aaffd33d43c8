"""The plan of a site: what can be seen and was found, a few sampled layouts in thin lines, and digs with their chances."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, TypeAlias

from underturf.cautions import NOT_CONVERGED, TOTAL
from underturf.dig_lists import Digs, bind_digs
from underturf.directions import y_azimuth_deg
from underturf.options import Running
from underturf.plotting import style
from underturf.plotting.courses import draw_courses, joined_services
from underturf.plotting.digs import Labelled, draw_digs
from underturf.plotting.findings import draw_probes, draw_sketches, draw_station_tests
from underturf.plotting.furniture import Sheet
from underturf.plotting.ground import draw_fixtures, draw_ground, draw_heads
from underturf.plotting.known import draw_known
from underturf.plotting.lettering import Point, Room
from underturf.plotting.likely import sampled_look
from underturf.plotting.metal import draw_metal
from underturf.plotting.names import BESIDE, clean
from underturf.plotting.styled import Style, styled
from underturf.plotting.view import extent, keep_offs, probe_points
from underturf.report import chance_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.layouts import Layouts
    from underturf.results import MetalLines
    from underturf.site import Site

__all__ = ["KNOWN", "chance_note", "draw_danger", "draw_plan", "plot_site"]

#: Places to ring, in the document's unit, each with the words of the legend.
Marked: TypeAlias = "Sequence[tuple[float, float, str]]"

#: Layouts to draw as thin lines, and how many of them; or metal lines alone.
Drawn: TypeAlias = "tuple[Layouts, int] | MetalLines"


def plot_site(
    site: Site,
    ax: Axes | None = None,
    *,
    layouts: Layouts | None = None,
    digs: Digs = None,
    draws: int = 5,
    style: Style = None,
) -> Axes:
    """Draw a plan of a site in its document's units.

    Parameters
    ----------
    site : Site
        The site.
    ax : Axes, optional
        Where to draw; a new figure if not given.
    layouts : Layouts, optional
        Sampled layouts: some are drawn as thin lines, metal lines with their bands of doubt, and digs are labelled with
        their chance of a strike.
    digs : dig, name, or list of them, optional
        Digs to show; the site's own if not given.
    draws : int
        How many layouts to draw.
    style : str, mapping or list of them, optional
        A style of matplotlib by name, or settings of it: fonts, sizes. Ink, paper and the colours that mean something stay.

    Returns
    -------
    Axes

    Raises
    ------
    ImportError
        If matplotlib is not installed.
    DigError
        If a dig has no size or its name is unknown.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> from underturf.plotting import plot_site
    >>> axes = plot_site(site, Figure().add_subplot())
    >>> axes.has_data()
    True
    """
    bound = bind_digs(digs, site)
    words, notes = dig_words(bound, digs, layouts) if bound else ([], [])
    converged = layouts is None or layouts.converged
    drawn = None if layouts is None or draws <= 0 else (layouts, draws)
    with styled(style):
        return draw_plan(site, ax, Labelled(bound, words), notes=notes, drawn=drawn, converged=converged)


def draw_plan(
    site: Site,
    ax: Axes | None,
    labelled: Labelled,
    *,
    notes: Sequence[str] = (),
    marked: Marked = (),
    drawn: Drawn | None = None,
    converged: bool = True,
) -> Axes:
    """Draw the plan of a site with digs under the words given and rings round the places marked."""
    document, scale = site._plain(), 1 / site.unit_m
    sheet = Sheet(ax, *extent(site, document, labelled.digs), site.units, y_azimuth_deg(document))
    ax = sheet.ax
    room = Room(sheet.floor, fixed_points(document))
    metal = drawn[0].metal_lines() if isinstance(drawn, tuple) else drawn
    draw_danger(ax, site, document, room, metal)
    draw_ground(ax, document)
    said = []
    if isinstance(drawn, tuple):
        layouts, draws = drawn
        shown = draw_layouts(ax, layouts, draws, scale)
        said.append(
            f"Thin lines: {shown} of {layouts.draws} sampled layouts; each agrees with all that is seen, none is the truth."
        )
    draw_sketches(ax, document)
    draw_fixtures(ax, document)
    draw_heads(ax, document)
    draw_station_tests(ax, document)
    draw_probes(ax, document, room)
    if labelled.digs:
        draw_digs(ax, labelled, scale, room.taken)
    if marked:
        draw_rings(ax, marked)
    mark = [] if converged else [NOT_CONVERGED]
    return sheet.finish([*mark, site.name or "Plan"], [*said, *notes])


def draw_rings(ax: Axes, marked: Marked) -> None:
    """Draw rings round places, in the document's unit, with one entry in the legend."""
    x, y = zip(*((x, y) for x, y, _ in marked), strict=True)
    ax.plot(x, y, "o", markersize=13, fillstyle="none", color=style.INK, markeredgewidth=1.2, label=marked[0][2])


#: What sampled lines are called that are no laterals.
SAMPLED = {
    "mainline": "mainline",
    "potable": "potable line",
    "reclaimed": "reclaimed line",
    "control_wire": "control wire",
    "unknown": "line that a probe met, on no plan",
}

#: What is written at a dig in place of a chance, where something is known to lie.
KNOWN = {"tolerance_zone": "tolerance zone"}


def draw_danger(
    ax: Axes,
    site: Site,
    document: dict[str, Any],
    room: Room,
    metal: MetalLines | None = None,
    *,
    numbered: bool = True,
) -> None:
    """Draw what no dig may meet: known lines first, so that they lead the legend, then courses of metal and its flags.

    ``numbered``: whether the words along courses say the numbers of the lines.
    """
    joined = () if metal is None else joined_services(metal)
    draw_known(ax, document, site._handle.half_zone_m / site.unit_m, room, joined)
    if metal is not None:
        draw_courses(ax, metal, room, numbered=numbered)
    draw_metal(ax, document, keep_offs(site), room, traced=metal is None)


def dig_words(bound: list[Any], digs: Digs, layouts: Layouts | None) -> tuple[list[str], list[str]]:
    """Return the label of each dig and the note that explains them."""
    if layouts is None:
        return [clean(dig.id, BESIDE) for dig in bound], []
    table = layouts.strikes(digs, run=Running(progress=False))
    known = layouts._handle.known_there(bound)
    words = [
        f"{clean(dig.id, BESIDE)}\n" + (chance_text(p) if there is None else KNOWN.get(there, "flagged metal"))
        for dig, p, there in zip(bound, table["p_strike"], known, strict=True)
    ]
    return words, [chance_note(layouts.not_assessed)]


def chance_note(missing: Sequence[str]) -> str:
    """Say what the chances of a plan are, and which classes have no part in them."""
    note = f"Chance of a strike: {TOTAL}."
    if missing:
        note += f" Not assessed: {', '.join(name.replace('_', ' ') for name in missing)}."
    return note


def draw_layouts(ax: Axes, layouts: Layouts, draws: int, scale: float) -> int:
    """Draw the first layouts as thin lines in the colours of their zones; return how many."""
    from matplotlib.collections import LineCollection

    document = layouts.site._plain()
    looks = style.zone_styles([str(head["zone"]) for head in document.get("heads", []) if head.get("zone") is not None])
    table = layouts.segments()
    shown = min(draws, layouts.draws)
    table = table[(table["draw"] < shown) & (table["kind"] != "metal")]  # metal lines are drawn with their doubt
    for (zone, line), part in table.groupby(["zone", "class"], observed=True):
        ends = part[["x0_m", "y0_m", "x1_m", "y1_m"]].to_numpy().reshape(-1, 2, 2) * scale
        look = looks.get(str(zone).removeprefix("zone "))
        stroke = {"color": style.FAINT if look is None else look.colour, "linewidth": 0.9, "alpha": 0.45}
        if line != "lateral":
            stroke = sampled_look(str(line))
        ax.add_collection(LineCollection(list(ends), zorder=3, **stroke))
    seen = set(table["class"].astype(str))
    for line, words in SAMPLED.items():
        if line in seen:
            ax.plot([], [], label=f"sampled {words}", **sampled_look(line))
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
