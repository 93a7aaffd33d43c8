"""Labels of the map: spots, fixed points, probes, shut-offs, finds, likely lines, heads and stakes, each by its number or name.

What a crew cannot do without is labelled in any case. Heads and stakes are labelled where there is room: the sheet says how
many are not, and a full-page map has room for more.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from underturf.crew.drawing.lines import course
from underturf.crew.drawing.placing import Placer
from underturf.crew.words import class_words
from underturf.plotting import style
from underturf.plotting.known import samples
from underturf.plotting.lettering import Point
from underturf.plotting.names import clean, literal

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from underturf.crew.plan import Plan, Stake

__all__ = ["FIXED", "SIZE", "Unlabelled", "head_names", "label_all"]

#: Colour of fixed points, and of shut-offs.
FIXED, SHUT_OFF = "#000000", "#1769c4"

#: Least size of letters on paper, points.
SIZE = 8.5

#: Most letters of a head's own name on the map; longer ones are numbered, and a table tells the names.
OWN_NAME = 5


@dataclass(frozen=True)
class Unlabelled:
    """How many heads and stakes the map has no room to label."""

    heads: int = 0
    stakes: int = 0


def head_names(document: dict[str, Any]) -> tuple[list[str], bool]:
    """Return what heads are called on the map, and whether these are numbers of a table and not their own names.

    Examples
    --------
    >>> head_names({"heads": [{"id": "a1"}, {"id": "a2"}]})
    (['a1', 'a2'], False)
    >>> head_names({"heads": [{"id": "7"}, {"id": "by the old gate"}]})
    (['H1', 'H2'], True)
    """
    own = [clean(head["id"]) for head in document.get("heads", [])]
    # A name without a letter would pass for the number of a spot.
    good = all(name and len(name) <= OWN_NAME and any(map(str.isalpha, name)) for name in own)
    if good and len(set(own)) == len(own) and not any("\ufffd" in name for name in own):
        return own, False
    return [f"H{k + 1}" for k in range(len(own))], True


def label_all(ax: Axes, plan: Plan, listed: tuple[Stake, ...], strip: float, taken: list[Point]) -> Unlabelled:
    """Write every number and letter where it covers nothing, least of all the strip of that height at the lower edge.

    ``taken``: what is drawn already, see `underturf.plotting.lettering.Room`.
    """
    low, scale = ax.get_ylim()[0], 1 / plan.site.unit_m
    avoid = list(taken)
    avoid += [(stake.x_m * scale, stake.y_m * scale) for stake in listed]
    # Below lie scale bar and north arrow.
    avoid += [(float(x), low + share * strip) for x in np.linspace(*ax.get_xlim(), 60) for share in (0.3, 0.9)]
    points = [dig.points_m.mean(axis=0) * scale for dig in (*plan.digs, *(probe.dig for probe in plan.probes))]
    avoid += [(float(x), float(y)) for x, y in points]
    ways = [course(part) * scale for _, part in plan.lines.groupby("line", sort=False)]
    placer = Placer(ax, avoid, [point for way in ways for point in samples(ax, way[~np.isnan(way[:, 0])])])

    def boxed(point: npt.ArrayLike, text: str, colour: str, clear: float = 0.0) -> None:
        at = placer.take(point, text, SIZE, clear=clear, far=True, must=True, pad=3.0)
        if at is not None:
            write_boxed(ax, point, at, text, colour)

    for k, dig in enumerate(plan.digs):
        radius = (float(np.ptp(dig.points_m, axis=0).min()) / 2 + dig.half_width_m) * scale
        boxed(dig.points_m.mean(axis=0) * scale, str(k + 1), style.DIG, radius)
    for k, (_, x_m, y_m) in enumerate(plan.fixed.points):
        boxed((x_m * scale, y_m * scale), plan.fixed.letter(k), FIXED)
    for probe in plan.probes:
        boxed(probe.dig.points_m.mean(axis=0) * scale, probe.label, style.PROBE)
    for shut in plan.shut_offs:
        boxed((shut.x, shut.y), shut.label, SHUT_OFF)
    for find in plan.finds:
        x_m, y_m = find.middle
        boxed((x_m * scale, y_m * scale), f"{find.label} {class_words(find.of)}", style.MARK_COLOURS[find.of])
    # Lines whose stakes are listed first: these are looked for on the map.
    told = {stake.line for stake in listed}
    parts = sorted(plan.lines.groupby("line", sort=False), key=lambda group: (group[0] not in told, group[0]))
    for line, part in parts:
        boxed(line_start(part) * scale, f"L{line}", style.MARK_COLOURS[part.iloc[0]["class"]])
    names, _ = head_names(plan.document)
    heads = plan.document.get("heads", [])
    return Unlabelled(
        plainly(
            ax, placer, [((head["x"], head["y"]), name) for head, name in zip(heads, names, strict=True)], "normal"
        ),
        plainly(ax, placer, [((s.x_m * scale, s.y_m * scale), s.label[1:]) for s in nearest(listed)], "italic"),
    )


def nearest(stakes: Iterable[Stake]) -> list[Stake]:
    """Return stakes, those nearest to a spot or probe first."""
    return sorted(stakes, key=lambda stake: stake.near_m)


def line_start(part: pd.DataFrame) -> npt.NDArray[np.float64]:
    """Return where the label of a line points to: just before its first station, which has a stake and a number of its own."""
    first = part.iloc[0]
    at = first[["x_m", "y_m"]].to_numpy(float)
    angle = math.radians(first["bearing_deg"])
    way = np.array([math.cos(angle), math.sin(angle)]) * 0.25 * first["span_m"]
    back: npt.NDArray[np.float64] = way
    if len(part) > 1:
        back = way * np.sign(way @ (part.iloc[1][["x_m", "y_m"]].to_numpy(float) - at))
    start: npt.NDArray[np.float64] = at - back
    return start


def write_boxed(ax: Axes, point: npt.ArrayLike, at: tuple[float, float], text: str, colour: str) -> None:
    """Write a label in a frame, with a thin leader to what it names."""
    x, y = np.asarray(point, float)
    box = {"boxstyle": "round,pad=0.2", "facecolor": style.PAPER, "edgecolor": colour, "linewidth": 0.9}
    leader = {"arrowstyle": "-", "color": colour, "linewidth": 0.7, "shrinkA": 0, "shrinkB": 2}
    look = {"ha": "center", "va": "center", "fontsize": SIZE, "color": style.INK}
    # No leader lies across a label, its own or another.
    ax.annotate("", xy=(x, y), xytext=at, arrowprops=leader, zorder=8.7)
    ax.text(*at, literal(text), bbox=box, zorder=9, **look)


def plainly(ax: Axes, placer: Placer, wanted: list[tuple[tuple[float, float], str]], slant: str) -> int:
    """Write names right beside their points where there is room; return how many have none."""
    missing = 0
    box = {"boxstyle": "square,pad=0.02", "facecolor": style.PAPER, "edgecolor": "none", "alpha": 0.7}
    for point, text in wanted:
        at = placer.take(point, text, SIZE, far=False, must=False, pad=0.5)
        if at is None:
            missing += 1
            continue
        look = {"ha": "center", "va": "center", "fontsize": SIZE, "color": style.INK, "style": slant, "zorder": 8.8}
        ax.text(*at, literal(text), bbox=box, **look)
    return missing
