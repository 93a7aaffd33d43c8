"""Labels of the map: spots, fixed points, probes, shut-offs, finds, likely lines, heads and stakes, each by its number or name.

What a crew cannot do without is labelled in any case. Heads and stakes are labelled where there is room: the sheet says how
many are not, and a full-page map has room for more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
import numpy.typing as npt

from underturf.crew.drawing.lines import lines_in
from underturf.crew.drawing.placing import FAR, NEAR, SPARED, Placer
from underturf.crew.drawing.view import View
from underturf.crew.drawing.windows import crowded
from underturf.crew.metal import label_of
from underturf.crew.words import class_words
from underturf.plotting import style
from underturf.plotting.courses import courses_of, has_course
from underturf.plotting.lettering import Point
from underturf.plotting.names import clean, literal

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf import _core
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

#: The same where it may lie out of view.
Sought: TypeAlias = tuple[npt.NDArray[np.float64] | None, str, str]


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


def label_all(ax: Axes, plan: Plan, listed: tuple[Stake, ...], view: View, taken: list[Point]) -> Unlabelled:
    """Write every number and letter in view where it covers nothing, least of all the strip of the scale bar.

    ``taken``: what is drawn already, see `underturf.plotting.lettering.Room`.
    """
    low, scale = view.y[0], 1 / plan.site.unit_m
    avoid = list(taken)
    avoid += [(stake.x_m * scale, stake.y_m * scale) for stake in listed]
    # Below lie scale bar and north arrow.
    avoid += [(float(x), low + share * view.strip) for x in np.linspace(*view.x, 60) for share in (0.3, 0.9)]
    spots = spot_labels(plan, view)
    avoid += [(float(named[0][0]), float(named[0][1])) for named, _ in spots if named[0] is not None]
    ways = [line.course * scale for line in lines_in(plan, view)]
    placer = Placer(ax, avoid, ways, floor=low + view.strip)
    for named, clear in (*frame_labels(view), *spots, *place_labels(plan, view)):
        boxed(ax, placer, named, clear=clear)
    # Fixed points that a tie on the first pages needs, and lines whose stakes are listed: these are looked for.
    fixed, needed = fixed_points(plan, view), plan.fixed_used
    mine = [stake for stake in listed if view.names((stake.x_m * scale, stake.y_m * scale))]
    lines, told = {**line_labels(plan, view), **metal_labels(plan, view)}, {stake.line for stake in mine}
    for named in (*(fixed[k] for k in needed if k in fixed), *(lines[line] for line in lines if line in told)):
        boxed(ax, placer, named)
    # Heads and stakes near a spot before those further away: where there is no room for all, these count.
    heads, hidden = head_labels(plan, view, per_inch(ax))
    plain = [(HEADS_FIRST * away, "heads", named) for away, named in heads]
    plain += [
        (s.near_m, "stakes", (np.array([s.x_m, s.y_m]) * scale, s.label.removeprefix("L"), style.INK)) for s in mine
    ]
    left_out = {"heads": (hidden, hidden + len(heads)), "stakes": (0, len(mine))}
    for _, kind, named in sorted(plain, key=lambda item: item[0]):
        missing, count = left_out[kind]
        left_out[kind] = missing + (not plainly(ax, placer, named, SLANTS[kind])), count
    further = [named for line, named in lines.items() if line not in told]
    unused = [named for k, named in fixed.items() if k not in needed]
    for kind, rest, count in (("lines", further, len(lines)), ("fixed points", unused, len(fixed))):
        # Frames of detail maps need the room where these would stand too close together.
        full = bool(view.windows) and crowded([named[0] for named in rest], per_inch(ax))
        left_out[kind] = sum(full or not boxed(ax, placer, named, must=False) for named in rest), count
    return left_out


def per_inch(ax: Axes) -> float:
    """Return the units of the document to an inch of a drawing."""
    return float(ax.figure.dpi / np.ptp(ax.transData.transform([(0.0, 0.0), (1.0, 0.0)])[:, 0]))


def frame_labels(view: View) -> list[tuple[Sought, float]]:
    """Return the names of detail maps at the upper left corner of their frames."""
    frames = (window for window in view.windows if not window.whole)
    return [((np.array([frame.x[0], min(frame.y[1], view.y[1])]), frame.name, style.INK), 0.0) for frame in frames]


def spot_labels(plan: Plan, view: View) -> list[tuple[Sought, float]]:
    """Return the numbers of spots and probes, each with the radius about its place that it keeps free."""
    scale, found = 1 / plan.site.unit_m, list[tuple[Sought, float]]()
    for k, dig in enumerate(plan.digs):
        radius = (float(np.ptp(dig.points_m, axis=0).min()) / 2 + dig.half_width_m) * scale
        found.append(((dig_middle(dig, view, scale), str(k + 1), style.DIG), radius))
    found += [((dig_middle(probe.dig, view, scale), probe.label, style.PROBE), 0.0) for probe in plan.probes]
    return found


def dig_middle(dig: _core.Dig, view: View, scale: float) -> npt.NDArray[np.float64] | None:
    """Return the middle of what is in view of a dig."""
    return view.middle(dig.points_m * scale, closed=dig.kind == "pit")


def place_labels(plan: Plan, view: View) -> list[tuple[Sought, float]]:
    """Return the labels of shut-offs and of dangerous lines."""
    found: list[tuple[Sought, float]] = [
        ((seen(view, shut.x, shut.y), shut.label, SHUT_OFF), 0.0) for shut in plan.shut_offs
    ]
    for find in (find for find in plan.finds if not find.label.startswith("ML")):
        words, (x, y) = f"{find.label} {class_words(find.of)}", np.array(find.middle) / plan.site.unit_m
        found.append(((seen(view, x, y), words, style.MARK_COLOURS[find.of]), 0.0))
    return found


def seen(view: View, x: float, y: float) -> npt.NDArray[np.float64] | None:
    """Return a point that is in view."""
    return np.array([x, y]) if view.holds((x, y))[0] else None


def fixed_points(plan: Plan, view: View) -> dict[int, Named]:
    """Return the labels of fixed points in view by their number."""
    points = np.array([[x, y] for _, x, y in plan.fixed.points]).reshape(-1, 2) / plan.site.unit_m
    return {k: (at, plan.fixed.letter(k), FIXED) for k, at in enumerate(points) if view.holds(at)[0]}


def metal_labels(plan: Plan, view: View) -> dict[str, Named]:
    """Return the labels of metal lines that have a course in view, near its start."""
    scale, found = 1 / plan.site.unit_m, dict[str, Named]()
    for line in plan.metal:
        parts = courses_of(plan.metal, line) if has_course(line) else []
        places = np.vstack([part.middle for part in parts]) * scale if parts else np.zeros((0, 2))
        here = places[view.holds(places)]
        if len(here):
            # Ends lie at walls and boxes, which have labels of their own.
            at = here[min(len(here) - 1, len(here) // 8)]
            found[label_of(line)] = (at, label_of(line), style.MARK_COLOURS[line.treat_as])
    return found


def line_labels(plan: Plan, view: View) -> dict[str, Named]:
    """Return the labels of likely lines in view by their name: at their start, or where they come into view."""
    scale, found = 1 / plan.site.unit_m, dict[str, Named]()
    for line in lines_in(plan, view):
        places = np.vstack([line.start, line.at]) * scale
        here = places[view.holds(places)]
        if len(here):
            found[f"L{line.number}"] = (here[0], f"L{line.number}", style.MARK_COLOURS[line.of])
    return found


def head_labels(plan: Plan, view: View, per_inch: float) -> tuple[list[tuple[float, Named]], int]:
    """Return the labels of heads, each with how far its head is from the nearest spot or probe, metres; and how many have none.

    Where the frames of detail maps need the room, crowded heads outside have no names.
    """
    scale = 1 / plan.site.unit_m
    names, _ = head_names(plan.document)
    spots = np.array([dig.points_m.mean(axis=0) for dig in (*plan.digs, *(probe.dig for probe in plan.probes))])
    found: list[tuple[float, Named]] = []
    for head, name in zip(plan.document.get("heads", []), names, strict=True):
        at = np.array([head["x"], head["y"]], float)
        if view.names(at):
            away = float(np.hypot(*(spots - at / scale).T).min()) if len(spots) else 0.0
            found.append((away, (at, name, style.INK)))
    if view.windows and crowded([named[0] for _, named in found], per_inch):
        return [], len(found)
    return found, 0


def boxed(ax: Axes, placer: Placer, named: Sought, *, clear: float = 0.0, must: bool = True) -> bool:
    """Write a label in a frame, with a thin leader to what it names, if it must be there or has room; return whether it is there.

    What is out of view has none. ``clear``: radius about what it names that it keeps free.
    """
    point, text, colour = named
    if point is None:
        return False
    # A long leader is worth it for what must be named.
    at = placer.take(point, text, SIZE, clear=clear, reaches=FAR if must else FAR[:2], must=must, pad=3.0)
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
