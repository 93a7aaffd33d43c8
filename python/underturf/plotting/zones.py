"""Heads by their likely zone, and how sure that is: pale where in doubt, and lines between near heads that go together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from underturf.cautions import NOT_CONVERGED
from underturf.directions import y_azimuth_deg
from underturf.errors import ArgumentError
from underturf.plotting import style
from underturf.plotting.findings import draw_probes
from underturf.plotting.furniture import LEAST, Sheet
from underturf.plotting.ground import draw_fixtures, draw_ground
from underturf.plotting.lettering import Room
from underturf.plotting.names import legend_name
from underturf.plotting.shapes import tint
from underturf.plotting.site_plan import draw_danger, fixed_points
from underturf.plotting.styled import Style, styled
from underturf.plotting.view import extent
from underturf.report import chance_text

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from underturf.layouts import Layouts

__all__ = ["plot_zones"]

#: Heads less sure than this have their chance written beside them.
SURE = 0.9

#: Two near heads less likely than this to share a zone have no line between them.
APART = 0.05

#: A third head keeps two apart when it lies in the circle over them, widened so that its square grows by about this.
#: Numerical choice: enough for heads set by tape to miss a right angle by 8 degrees.
WIDER = 1.15

#: Share of the drawing's width within which a chance is written to the left of its head.
RIM = 0.06

#: Size of a head, points.
SIZE = 7.9

#: Chances shown in the key of fills.
KEY = (0.95, 0.6, 0.3)


def plot_zones(layouts: Layouts, ax: Axes | None = None, *, style: Style = None) -> Axes:
    """Draw heads in the colours of their likely zones over the plan of the site, in the document's units.

    The zones are those of ``Layouts.likely_groups``. The paler a head, the less sure its zone; the thicker a line between
    two near heads, the likelier they share one, whichever it is (``Layouts.same_zone_chances``).

    Parameters
    ----------
    layouts : Layouts
        Sampled layouts.
    ax : Axes, optional
        Where to draw; a new figure if not given.
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
        If the site has no heads.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
    >>> from underturf.plotting import plot_zones
    >>> axes = plot_zones(layouts, Figure().add_subplot())
    >>> axes.has_data()
    True
    """
    with styled(style):
        return draw_zones(layouts, ax)


def draw_zones(layouts: Layouts, ax: Axes | None) -> Axes:
    """Draw heads in the colours of their likely zones."""
    site = layouts.site
    document = site._plain()
    if not document.get("heads"):
        raise ArgumentError("this site has no heads: there are no zones to draw")
    sheet = Sheet(ax, *extent(site, document), site.units, y_azimuth_deg(document))
    ax = sheet.ax
    room = Room(sheet.floor, fixed_points(document))
    draw_danger(ax, site, document, room)
    draw_ground(ax, document)
    written = {head["id"]: (head["x"], head["y"]) for head in document["heads"]}
    groups = layouts.likely_groups()
    places = np.array([written[head] for head in groups.index]).reshape(-1, 2)  # heads written twice stand once
    looks = style.zone_styles(groups["group"].tolist())
    draw_links(ax, places, layouts.same_zone_chances().to_numpy(), groups, looks)
    draw_fixtures(ax, document)
    draw_grouped(ax, places, groups, looks)
    draw_probes(ax, document, room)
    mark = [] if layouts.converged else [NOT_CONVERGED]
    return sheet.finish([*mark, site.name or "Zones", "Likely zones of the heads"], [note(layouts)])


def draw_links(
    ax: Axes,
    places: npt.NDArray[np.float64],
    together: npt.NDArray[np.float64],
    groups: pd.DataFrame,
    looks: dict[str, style.ZoneStyle],
) -> None:
    """Draw a line between two near heads, as thick as they are likely to share a zone; grey between two groups."""
    from matplotlib.collections import LineCollection

    group = groups["group"].to_numpy()
    pairs = [(a, b) for a, b in near_pairs(places) if together[a, b] >= APART]
    within = [looks[group[a]].colour if group[a] == group[b] else style.FAINT for a, b in pairs]
    widths = [0.4 + 4.6 * together[a, b] for a, b in pairs]
    ends = [places[[a, b]] for a, b in pairs]
    lines = LineCollection(ends, colors=within, linewidths=widths, alpha=0.45, capstyle="round", zorder=5)
    ax.add_collection(lines)


def near_pairs(places: npt.NDArray[np.float64]) -> list[tuple[int, int]]:
    """Pairs of places with no third one in a circle a little larger than that over them, so that lines seldom cross.

    Without `WIDER` these were the edges of the Gabriel graph, which has one diagonal in every square of heads.

    Examples
    --------
    >>> near_pairs(np.array([[0.0, 0.0], [2.0, 0.1], [4.0, 0.0]]))
    [(0, 1), (1, 2)]
    >>> near_pairs(np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.1], [0.0, 4.0]]))
    [(0, 1), (0, 3), (1, 2), (2, 3)]
    """
    squares = ((places[:, None] - places[None]) ** 2).sum(axis=2)
    found = []
    for a in range(len(places)):
        for b in range(a + 1, len(places)):
            third = squares[a] + squares[b] < squares[a, b] * WIDER
            third[[a, b]] = False
            if not third.any():
                found.append((a, b))
    return found


def draw_grouped(
    ax: Axes, places: npt.NDArray[np.float64], groups: pd.DataFrame, looks: dict[str, style.ZoneStyle]
) -> None:
    """Draw heads by group, filled as far as they are sure; write the chance beside those in doubt."""
    for name, look in looks.items():
        here = (groups["group"] == name).to_numpy()
        chances = groups["probability"].to_numpy()[here]
        for (x, y), chance in zip(places[here], chances, strict=True):
            ax.plot(x, y, zorder=6, linestyle="none", markersize=SIZE, **marks(look, tint(look.colour, fill(chance))))
        heads = "1 head" if here.sum() == 1 else f"{here.sum()} heads"
        key(ax, marks(look, look.colour), f"{legend_name(name)}: {heads}")
    for chance in KEY:
        sure = marks(style.ZoneStyle(style.INK, "o"), tint(style.INK, fill(chance)))
        key(ax, sure, f"{chance_text(chance)} sure of its zone")
    doubtful = (groups["probability"] < SURE).to_numpy()
    rim = ax.get_xlim()[1] - RIM * float(np.ptp(ax.get_xlim()))
    for (x, y), chance in zip(places[doubtful], groups["probability"][doubtful], strict=True):
        side, way = (-1, "right") if x > rim else (1, "left")
        words = {"fontsize": LEAST, "ha": way, "va": "bottom", "color": style.INK, "zorder": 6.2}
        halo = {"facecolor": style.PAPER, "edgecolor": "none", "alpha": 0.75, "pad": 0.6}
        at = (4.5 * side, 4.5)
        ax.annotate(chance_text(chance), (x, y), xytext=at, textcoords="offset points", bbox=halo, **words)


def fill(chance: float) -> float:
    """How strongly a head is filled: from paper at one half or less of a chance to full colour.

    Examples
    --------
    >>> [fill(chance) for chance in (0.1, 0.5, 0.75, 1.0)]
    [0.0, 0.0, 0.5, 1.0]
    """
    return float(np.clip(2 * chance - 1, 0.0, 1.0))


def marks(look: style.ZoneStyle, face: Any) -> dict[str, Any]:
    """Return the marker of a head whose fill is that colour."""
    return {**look.marks, "markerfacecolor": face, "markeredgecolor": look.colour, "markeredgewidth": 1.3}


def key(ax: Axes, look: dict[str, Any], words: str) -> None:
    """Add an entry to the legend; matplotlib leaves out those that begin with an underscore."""
    words = f" {words}" if words.startswith("_") else words
    ax.plot([], [], linestyle="none", markersize=7, label=words, **look)


def note(layouts: Layouts) -> str:
    """Return what fills, lines and letters mean."""
    words = (
        "Colour and marker: the zoning that agrees best with all draws on which heads go together. Fill: how sure a head is of "
        f"its zone; below {chance_text(SURE)} the chance is written beside it. Lines between near heads: the thicker, the "
        "likelier they share a zone (grey: between two of the zones shown). They are no pipes."
    )
    if layouts.exchangeable_zones:
        words += " Letters stand for valves without a name: which valve is which is open."
    return words
