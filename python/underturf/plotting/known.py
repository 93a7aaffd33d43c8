"""Lines that are known of and may kill: marks, services between known ends, lines that probes met.

On every picture nothing is more visible than these, in colour and in grey. A colour of the public code alone does not do that:
the yellow of gas prints as the palest grey of all. So each is a broad line in its colour within a dark casing and a light rim,
which stands out on lawn and on dark cells of a map alike, above everything but labels, with its class written along it. Gas and
electric are the broadest.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING, Any

import numpy as np

from underturf.directions import on_plan, y_azimuth_deg
from underturf.plotting import style
from underturf.plotting.lettering import Point, Room, write_along, write_below
from underturf.plotting.shapes import draw_area, strip, tint
from underturf.plotting.view import in_view, probe_points, service_points, share

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["class_words", "draw_cased", "draw_known", "draw_met", "first", "samples"]

#: Tolerance zones: above obstacles, for a drive over a gas line hides no zone; below all lines.
ZONE_LAYER = 2.15

#: Above heads and digs, below probes and labels; the more dangerous line lies on top.
LAYER = 7.2

#: Points between the points by which labels keep off a line.
GRAIN = 14.0

#: Dashes of a line whose course is not known, sizes of its own width: with ends as far beyond as it is broad.
DASHES = (1.4, 2.6)

#: Share of a line that words leave bare on a small drawing, where lines are narrower than letters.
BARE = 0.6

#: Least length of the bar that shows how a line runs that a probe met, share of the drawing's side.
BAR = 0.03


def draw_known(ax: Axes, document: dict[str, Any], half_zone: float, room: Room, joined: Collection[int] = ()) -> None:
    """Draw marks with their tolerance zones, and services, as far as they are in view; axes have their limits already.

    Parameters
    ----------
    ax : Axes
        Where to draw.
    document : dict
        The site, in its own unit.
    half_zone : float
        Half width of a tolerance zone, for marks that name none and for lines that probes met.
    room : Room
        Where words may stand; lines and words are added.
    joined : collection of int
        Services, by number from 0, whose course is drawn from what else tells of it: only their ends are drawn.
    """
    draw_zones(ax, document, half_zone)
    courses = [
        (line["class"], False, line["path"], line.get("half_zone", half_zone)) for line in document.get("marks", [])
    ]
    services = [(line["class"], True, service_points(line), 0.0) for line in document.get("services", [])]
    courses += [course for k, course in enumerate(services) if k not in joined]
    courses = [course for course in courses if in_view(ax, course[2], course[3])]
    # The most dangerous lead the legend.
    courses.sort(key=lambda course: (list(style.LINES).index(course[0]), course[1]))
    named: set[str] = set()
    for of, guessed, path, _ in courses:
        name = class_words(of)
        label = f"{name} service, course not known" if guessed else f"mark: {name}, with tolerance zone"
        draw_cased(ax, path, of, first(named, label), dashed=guessed)
        if guessed:
            draw_ends(ax, path, of)
        word = style.LINES[of].word + ("?" if guessed else "")
        write_along(ax, path, word, room, bare=BARE if share(ax) < 1.0 else 0.0)
        room.taken += samples(ax, path)

    for of, _, path, _ in (services[k] for k in joined):
        draw_ends(ax, path, of)


def draw_ends(ax: Axes, path: Any, of: str) -> None:
    """Draw the known places of a service."""
    ends = {"color": style.INK, "markersize": 5, "markeredgecolor": style.PAPER, "zorder": layer(of)}
    ax.plot(*np.transpose(path), "o", linestyle="none", **ends)


def draw_met(ax: Axes, document: dict[str, Any], room: Room, letter: str) -> None:
    """Draw dangerous lines that probes met: a cased sign in the class's colour, a bar where it is noted how the line runs.

    Parameters
    ----------
    ax : Axes
        Where to draw.
    document : dict
        The site.
    room : Room
        The signs are added to what is taken.
    letter : str
        Letter of their labels, for the legend; where there are no labels it is empty, and the class is written below each.
    """
    span = max(np.ptp(ax.get_xlim()), np.ptp(ax.get_ylim()))
    named: set[str] = set()
    for probe in document.get("probes", []):
        of = probe.get("class")
        path = probe_points(probe)
        if not probe["found"] or of not in style.DANGEROUS or not in_view(ax, path):
            continue
        x, y = (float(middle) for middle in np.mean(path, axis=0))
        look = style.LINES[of]
        if "path" in probe:
            draw_cased(ax, path, of, None, above=0.5)
        elif "azimuth_deg" in probe:
            half = max(2.0 * probe["radius"], BAR * span)
            dx, dy = (half * on_plan(probe["azimuth_deg"], y_azimuth_deg(document))).tolist()
            draw_cased(ax, [(x - dx, y - dy), (x + dx, y + dy)], of, None, above=0.5)
        sign = {"marker": "D", "color": look.colour, "markeredgecolor": style.INK, "linestyle": "none"}
        above = {"markersize": 8.5 * share(ax), "markeredgewidth": 1.6, "zorder": layer(of) + 0.6}
        ax.plot([x], [y], path_effects=rim(0.0, 0.8), **sign, **above)
        label = first(named, f"{class_words(of)} met by a probe{letter and f' ({letter})'}")
        ax.plot([], [], markersize=6.5, markeredgewidth=1.2, label=label, **sign)
        room.taken.append((x, y))
        if not letter:
            write_below(ax, (x, y), look.word)


def draw_zones(ax: Axes, document: dict[str, Any], half_zone: float) -> None:
    """Draw the tolerance zones of marks and of utilities that probes met: the ground within them, with a dashed edge."""
    for mark in document.get("marks", []):
        draw_zone(ax, mark["path"], mark.get("half_zone", half_zone), mark["class"])
    for probe in document.get("probes", []):
        if probe["found"] and probe.get("class") in style.UTILITIES:
            draw_zone(ax, probe_points(probe), half_zone, probe["class"])


def draw_zone(ax: Axes, path: Any, half: float, of: str) -> None:
    """Draw one tolerance zone."""
    colour = style.MARK_COLOURS[of]
    draw_area(ax, strip(path, half), tint(colour), shade(colour), ZONE_LAYER, line=(0, (3, 2)))


def draw_cased(
    ax: Axes,
    path: Any,
    of: str,
    label: str | None,
    *,
    dashed: bool = False,
    above: float = 0.0,
    slim: float = 1.0,
) -> None:
    """Draw one line of a class: light rim, dark casing, colour; dashed where its course is not known, thinner by ``slim``."""
    look, size = style.LINES[of], slim * share(ax)
    # Ends that go half the width beyond let the casing close round each dash.
    ends = {"solid_capstyle": "projecting", "dash_capstyle": "projecting", "solid_joinstyle": "round"}
    core, casing = size * look.core, size * look.casing
    stroke = {"color": look.colour, "linewidth": core, "linestyle": (0, DASHES) if dashed else "solid"}
    ax.plot(
        *np.transpose(path), zorder=layer(of) + above, label=label, path_effects=rim(core, casing), **stroke, **ends
    )


def first(named: set[str], label: str) -> str | None:
    """Return the label of a legend's entry once, and nothing from then on."""
    if label in named:
        return None
    named.add(label)
    return label


def rim(core: float, casing: float) -> list[Any]:
    """Return what is drawn under a line: a light rim, and the dark casing on either side of its core."""
    from matplotlib.patheffects import Normal, Stroke

    light = Stroke(linewidth=core + 2 * (casing + style.RIM), foreground=style.PAPER)
    if core == 0.0:  # a sign brings its own casing
        return [light, Normal()]
    return [light, Stroke(linewidth=core + 2 * casing, foreground=style.INK), Normal()]


def samples(ax: Axes, path: Any) -> list[Point]:
    """Return points along a line, close enough that no label lies across it unnoticed."""
    found: list[Point] = []
    at = ax.transData.transform(np.asarray(path, float))
    for a, b in zip(at, at[1:], strict=False):
        count = max(int(np.hypot(*(b - a)) / (GRAIN * ax.figure.dpi / 72)), 1)
        bit = ax.transData.inverted().transform(a + np.linspace(0, 1, min(count, 500) + 1)[:, None] * (b - a))
        found += [(float(x), float(y)) for x, y in bit]
    return found


def shade(colour: str) -> tuple[float, float, float]:
    """Darken a colour: the edge of a zone must be seen in grey too."""
    from matplotlib.colors import to_rgb

    red, green, blue = (0.6 * channel for channel in to_rgb(colour))
    return red, green, blue


def layer(of: str) -> float:
    """Return the layer of a class: the broader, the higher."""
    return LAYER + 0.02 * style.LINES[of].core


def class_words(of: str) -> str:
    """Return the name of a class as people write it."""
    return of.replace("_", " ")
