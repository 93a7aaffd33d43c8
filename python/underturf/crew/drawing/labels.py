"""Labels of the map: spots, fixed points, probes, shut-offs, finds, likely lines, heads and stakes, each by its number or name.

What a crew cannot do without is labelled in any case. Heads and stakes are labelled where there is room: the sheet says how
many are not, and a full-page map has room for more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
import numpy.typing as npt

from underturf.crew.drawing.lines import course
from underturf.crew.drawing.placing import FAR, NEAR, SPARED, Placer
from underturf.crew.words import class_words
from underturf.directions import on_plan
from underturf.plotting import style
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


#: A head counts as so much nearer to a spot than a stake: between stakes of a line another can be found by eye.
HEADS_FIRST = 0.5

#: Letters of names without a frame.
SLANTS = {"heads": "normal", "stakes": "italic"}

#: The leader of a name without a frame.
THIN = {"arrowstyle": "-", "color": style.INK, "linewidth": 0.5, "shrinkA": 0, "shrinkB": 1}

#: What the map has no room to name: of each kind of thing how many, and how many there are.
Unlabelled: TypeAlias = dict[str, tuple[int, int]]

#: A thing to name: where it is, in the document's unit, its name, and its colour.
Named: TypeAlias = tuple[npt.NDArray[np.float64], str, str]


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
    ways = [course(part, plan.y_azimuth_deg) * scale for _, part in plan.lines.groupby("line", sort=False)]
    placer = Placer(ax, avoid, ways, floor=low + strip)
    for k, dig in enumerate(plan.digs):
        radius = (float(np.ptp(dig.points_m, axis=0).min()) / 2 + dig.half_width_m) * scale
        boxed(ax, placer, (dig.points_m.mean(axis=0) * scale, str(k + 1), style.DIG), clear=radius)
    for probe in plan.probes:
        boxed(ax, placer, (probe.dig.points_m.mean(axis=0) * scale, probe.label, style.PROBE))
    for shut in plan.shut_offs:
        boxed(ax, placer, (np.array([shut.x, shut.y]), shut.label, SHUT_OFF))
    for find in plan.finds:
        words = f"{find.label} {class_words(find.of)}"
        boxed(ax, placer, (np.array(find.middle) * scale, words, style.MARK_COLOURS[find.of]))
    # Fixed points that a tie on the first pages needs, and lines whose stakes are listed: these are looked for.
    fixed, needed = fixed_points(plan, scale), plan.fixed_used
    lines, told = line_labels(plan, scale), {stake.line for stake in listed}
    for named in (*(fixed[k] for k in needed), *(lines[line] for line in lines if line in told)):
        boxed(ax, placer, named)
    # Heads and stakes near a spot before those further away: where there is no room for all, these count.
    plain = [(HEADS_FIRST * away, "heads", named) for away, named in head_labels(plan, scale)]
    plain += [(s.near_m, "stakes", (np.array([s.x_m, s.y_m]) * scale, s.label[1:], style.INK)) for s in listed]
    left_out = {kind: (0, sum(this == kind for _, this, _ in plain)) for kind in SLANTS}
    for _, kind, named in sorted(plain, key=lambda item: item[0]):
        missing, count = left_out[kind]
        left_out[kind] = missing + (not plainly(ax, placer, named, SLANTS[kind])), count
    rest = [lines[line] for line in lines if line not in told]
    left_out["lines"] = sum(not boxed(ax, placer, named, must=False) for named in rest), len(lines)
    rest = [fixed[k] for k in fixed if k not in needed]
    left_out["fixed points"] = sum(not boxed(ax, placer, named, must=False) for named in rest), len(fixed)
    return left_out


def fixed_points(plan: Plan, scale: float) -> dict[int, Named]:
    """Return the labels of fixed points by their number."""
    points = enumerate(plan.fixed.points)
    return {k: (np.array([x, y]) * scale, plan.fixed.letter(k), FIXED) for k, (_, x, y) in points}


def line_labels(plan: Plan, scale: float) -> dict[int, Named]:
    """Return the labels of likely lines by their number."""
    return {
        line: (line_start(part, plan.y_azimuth_deg) * scale, f"L{line}", style.MARK_COLOURS[part.iloc[0]["class"]])
        for line, part in plan.lines.groupby("line", sort=False)
    }


def head_labels(plan: Plan, scale: float) -> list[tuple[float, Named]]:
    """Return the labels of heads, each with how far its head is from the nearest spot or probe, metres."""
    heads, (names, _) = plan.document.get("heads", []), head_names(plan.document)
    at = [np.array([head["x"], head["y"]], float) for head in heads]
    spots = [dig.points_m.mean(axis=0) * scale for dig in (*plan.digs, *(probe.dig for probe in plan.probes))]
    away = [min((float(np.hypot(*(spot - point))) for spot in spots), default=0.0) / scale for point in at]
    return [(away[k], (at[k], names[k], style.INK)) for k in range(len(at))]


def line_start(part: pd.DataFrame, y_azimuth_deg: float) -> npt.NDArray[np.float64]:
    """Return where the label of a line points to: just before its first station, which has a stake and a number of its own."""
    first = part.iloc[0]
    at = first[["x_m", "y_m"]].to_numpy(float)
    way = on_plan(first["azimuth_deg"], y_azimuth_deg) * 0.25 * first["span_m"]
    back: npt.NDArray[np.float64] = way
    if len(part) > 1:
        back = way * np.sign(way @ (part.iloc[1][["x_m", "y_m"]].to_numpy(float) - at))
    start: npt.NDArray[np.float64] = at - back
    return start


def boxed(ax: Axes, placer: Placer, named: Named, *, clear: float = 0.0, must: bool = True) -> bool:
    """Write a label in a frame, with a thin leader to what it names, if it must be there or has room; return whether it is there.

    ``clear``: radius about what it names that it keeps free.
    """
    point, text, colour = named
    at = placer.take(point, text, SIZE, clear=clear, reaches=FAR, must=must, pad=3.0)
    if at is None:
        return False
    box = {"boxstyle": "round,pad=0.2", "facecolor": style.PAPER, "edgecolor": colour, "linewidth": 0.9}
    leader = {"arrowstyle": "-", "color": colour, "linewidth": 0.7, "shrinkA": 0, "shrinkB": 2}
    look = {"ha": "center", "va": "center", "fontsize": SIZE, "color": style.INK}
    # No leader lies across a label, its own or another.
    ax.annotate("", xy=(float(point[0]), float(point[1])), xytext=at, arrowprops=leader, zorder=8.7)
    ax.text(*at, literal(text), bbox=box, zorder=9, **look)
    return True


def plainly(ax: Axes, placer: Placer, named: Named, slant: str) -> bool:
    """Write a name right beside its point, or a little further with a leader, if there is room; return whether it is there."""
    point, text, colour = named
    box = {"boxstyle": "square,pad=0.02", "facecolor": style.PAPER, "edgecolor": "none", "alpha": 0.7}
    look = {"ha": "center", "va": "center", "fontsize": SIZE, "color": colour, "style": slant, "zorder": 8.8}
    at = placer.take(point, text, SIZE, reaches=NEAR, must=False, pad=0.5)
    if at is None:
        at = placer.take(point, text, SIZE, reaches=SPARED, must=False, pad=0.5)
        if at is None:
            return False
        ax.annotate("", xy=(float(point[0]), float(point[1])), xytext=at, arrowprops=THIN, zorder=8.6)
    ax.text(*at, literal(text), bbox=box, **look)
    return True
