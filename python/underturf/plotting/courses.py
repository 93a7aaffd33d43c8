"""Courses of metal lines with their bands of doubt: by class, cased and lettered, thinner than paint and finds.

A course is what the draws agree on; paint and known ends are drawn as such by `known`. So a line that one mark alone tells of
has its band here and a stroke beyond the paint alone, and one that a service alone tells of has neither. Bands lie below
tolerance zones and keep-off strips: these hold whatever a chance says. Beyond what tells of it a line is dashed: it goes on, and
nobody knows how far.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from underturf.directions import on_plan
from underturf.plotting import style
from underturf.plotting.known import class_words, draw_cased, first, samples
from underturf.plotting.lettering import Room, write_along
from underturf.plotting.shapes import tint
from underturf.plotting.view import in_view

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from underturf.results.metal_lines import MetalLine, MetalLines

__all__ = ["Course", "courses_of", "draw_courses", "has_course", "joined_services", "straightened"]

Points = npt.NDArray[np.float64]

#: Share of the draws that must pass a place for a course to be drawn there: as for likely lines.
LEAST = 0.25

#: Bands lie on swept ground and below tolerance zones; courses on flags' traces and below known lines.
BAND_LAYER, COURSE_ABOVE = 2.13, -0.08

#: Width of a course, share of a known line's: of one to be feared, and of others.
FEARED, SLIM = 0.85, 0.62

#: Tint of a band.
BAND_SHARE = 0.3

#: Words run along bits that are straight to this share of the drawing's width.
STRAIGHT = 0.01

#: Stations further apart than this do not follow each other, metres: they are half a metre apart, and bends lie between.
JOINED_M = 1.2


class Course(NamedTuple):
    """A stretch of a line's course, metres: its middle, its half widths of doubt, and where it lies between what tells of it."""

    middle: Points
    half_m: Points
    along: Points
    between: npt.NDArray[np.bool_]


def has_course(line: MetalLine) -> bool:
    """Whether more tells of a line than one mark, service, find or flag: it is drawn for itself.

    A mark is on the ground already, a find or a flag alone has no direction, and of a service alone nobody knows the course.
    """
    return line.flags > 1 or "," in line.told_by


def joined_services(metal: MetalLines) -> set[int]:
    """Return the services, by number from 0, that are part of a line which is drawn for itself."""
    told = [item for line in metal if has_course(line) for item in line.told_by.split(", ")]
    return {int(item.removeprefix("service ")) - 1 for item in told if item.startswith("service ")}


def courses_of(metal: MetalLines, line: MetalLine, least: float = LEAST) -> list[Course]:
    """Return the stretches of a line's course where enough draws pass; none where a single thing gives it no direction."""
    if not has_course(line) and not line.told_by.startswith("mark"):
        return []
    table = metal.courses
    table = table[(table["line"] == line.line) & (table["p_here"] >= least)]
    turned = metal.site._handle.y_azimuth_deg
    at = table[["x_m", "y_m"]].to_numpy(float)
    gaps = np.hypot(*np.diff(at, axis=0).T) if len(at) else np.zeros(0)
    parts = np.split(np.arange(len(at)), np.flatnonzero(gaps > JOINED_M) + 1)
    return [stretch(table.iloc[part], turned) for part in parts if len(part) > 1]


def stretch(part: pd.DataFrame, turned: float) -> Course:
    """Return stations that follow each other as a stretch of a course, with its ways all in the direction of travel."""
    at = part[["x_m", "y_m"]].to_numpy(float)
    along = on_plan(part["azimuth_deg"].to_numpy(float), turned)
    travel = np.gradient(at, axis=0)
    along = np.where((along * travel).sum(axis=1, keepdims=True) < 0, -along, along)
    return Course(at, part["half_width_m"].to_numpy(float), along, part["between"].to_numpy(bool))


def draw_courses(ax: Axes, metal: MetalLines, room: Room, *, numbered: bool = True) -> None:
    """Draw the courses of metal lines, as far as they are in view; axes have their limits already.

    Parameters
    ----------
    ax : Axes
        Where to draw.
    metal : MetalLines
        The lines.
    room : Room
        Where words may stand; lines and words are added.
    numbered : bool
        Whether the words along the courses say the numbers of the lines.
    """
    scale, named = 1 / metal.site.unit_m, set[str]()
    shown = [(line, course) for line in metal for course in courses_of(metal, line)]
    shown = [(line, course) for line, course in shown if in_view(ax, (course.middle * scale).tolist())]
    for line, course in shown:
        draw_band(ax, course, line.treat_as, scale)
    for line, course in shown:
        middle, own = course.middle * scale, has_course(line)
        slim = FEARED if line.dangerous else SLIM
        label = "unknown metal, as gas" if line.treat_as == "unknown" else class_words(line.treat_as)
        for part, told in pieces(course.between):
            if own or not told:
                draw_cased(ax, middle[part], line.treat_as, None, dashed=not told, above=COURSE_ABOVE, slim=slim)
        if not own:
            continue
        key = first(named, f"likely {label}, by flags and ends (ML)")
        draw_cased(ax, np.full((2, 2), np.nan), line.treat_as, key, slim=slim)
        word = style.LINES[line.treat_as].word + (f" ML{line.line}" if numbered else "")
        bits = straightened(middle, STRAIGHT * float(np.ptp(ax.get_xlim())))
        write_along(ax, bits, word, room)
        room.taken += samples(ax, bits)
    if shown:
        ax.fill([], [], facecolor="#d5d3dc", edgecolor="none", label="band of doubt of a metal line")


def draw_band(ax: Axes, course: Course, of: str, scale: float) -> None:
    """Draw the band of doubt of a stretch."""
    from matplotlib.collections import PolyCollection

    aside = course.half_m[:, None] * np.column_stack([-course.along[:, 1], course.along[:, 0]])
    left, right = (course.middle + aside) * scale, (course.middle - aside) * scale
    quads = np.stack([left[:-1], left[1:], right[1:], right[:-1]], axis=1)
    face = tint(style.MARK_COLOURS[of], BAND_SHARE)
    # An edge of the same colour closes hair lines between the bits.
    ax.add_collection(PolyCollection(list(quads), facecolor=face, edgecolor=face, linewidth=0.4, zorder=BAND_LAYER))


def pieces(between: npt.NDArray[np.bool_]) -> list[tuple[slice, bool]]:
    """Return runs of stations that lie between what tells of a line, and beyond; each reaches to the next one's first.

    Examples
    --------
    >>> pieces(np.array([False, False, True, True, False]))
    [(slice(0, 3, None), False), (slice(2, 4, None), True), (slice(3, 5, None), False)]
    """
    edges = [0, *(np.flatnonzero(np.diff(between)) + 1).tolist(), len(between)]
    runs = []
    for start, end in zip(edges, edges[1:], strict=False):
        told = bool(between[start])
        reach = slice(start, end) if told else slice(max(start - 1, 0), min(end + 1, len(between)))
        runs.append((reach, told))
    return runs


def straightened(middle: Points, reach: float) -> Points:
    """Return a path without the points that lie no further than that from the straight way between those that stay.

    References
    ----------
    Douglas and Peucker 1973, Cartographica 10, 112-122 (from memory).

    Examples
    --------
    >>> straightened(np.array([[0.0, 0.0], [1.0, 0.1], [2.0, 0.0], [2.0, 3.0]]), 0.2).tolist()
    [[0.0, 0.0], [2.0, 0.0], [2.0, 3.0]]
    """
    if len(middle) < 3:
        return middle
    way, offsets = middle[-1] - middle[0], middle - middle[0]
    norm = float(np.hypot(*way))
    across = np.abs(offsets[:, 0] * way[1] - offsets[:, 1] * way[0])
    aside = across / norm if norm > 0 else np.hypot(*offsets.T)
    k = int(aside.argmax())
    if aside[k] <= reach:
        return middle[[0, -1]]
    return np.vstack([straightened(middle[: k + 1], reach)[:-1], straightened(middle[k:], reach)])
