"""Metal lines on the sheet: their table, their stakes, and what is said of each to the owner of the ground."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from underturf.crew.blocks import Block, Heading, Table, Text
from underturf.crew.points import Point, about
from underturf.crew.words import OWNER_CLASSES, class_words, percent
from underturf.methods.metal import ORDER
from underturf.plotting.courses import courses_of, has_course, straightened

if TYPE_CHECKING:
    from collections.abc import Iterator

    from underturf.crew.plan import Plan
    from underturf.results import MetalLine, MetalLines

__all__ = ["carries", "label_of", "metal_block", "metal_points", "owner_name", "rank", "stations", "sure", "told_words"]

#: Share of the draws that must pass a place for the owner to be told that the line runs there.
TOLD = 0.5

#: A course is told by the corners of a path that runs no further from it than this, metres: a foot.
BEND_M = 0.3

#: What tells of a line, in the words of the sheet.
KINDS = {"mark": "paint", "service": "known ends", "probe": "a find"}

Place = tuple[float, float, float, float]


def label_of(line: MetalLine | int) -> str:
    """Return what a metal line is called on the sheet: ML and its number."""
    return f"ML{line if isinstance(line, int) else line.line}"


def rank(of: str) -> int:
    """Return the place of a class among those that owners are told of: the most dangerous first."""
    return ORDER.index(of) if of in ORDER else len(ORDER)


def told_words(line: MetalLine) -> str:
    """Say what tells of a line.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> told_words(SimpleNamespace(told_by="7 flags, mark 1, service 2"))
    '7 detector flags, paint (mark 1), known ends (service 2)'
    """
    words = re.sub(r"(\d+) (flags?)", r"\1 detector \2", line.told_by)
    return re.sub(r"(mark|service|probe) (\d+)", lambda found: f"{KINDS[found[1]]} ({found[0]})", words)


def carries(line: MetalLine) -> str:
    """Say what a line carries and how sure that is; a chance of gas or power is never left out."""
    feared = sum(line.p_class.get(name, 0.0) for name in ("gas", "electric", "unknown"))
    best = f"{class_words(line.likeliest)} {percent(line.p_class[line.likeliest])}"
    if line.treat_as == "unknown":
        return (
            f"not settled: treat as gas or electric ({best})"
            if line.likeliest != "unknown"
            else "metal of unknown class"
        )
    if line.dangerous and line.treat_as not in ("gas", "electric"):
        return f"{best}; gas, electric or unknown {percent(feared)}"
    return best


def sure(line: MetalLine, units: str) -> str:
    """Say how sure a line is: that it is there, and within what it lies."""
    words = f"chance that it is there {percent(line.probability)}, class {carries(line)}"
    if has_course(line) and line.half_width_m is not None:
        words += f", within {about(line.half_width_m, units)} to either side"
    return words


def metal_block(plan: Plan) -> list[Block]:
    """List the metal lines with their doubt, the dangerous ones first."""
    if not len(plan.metal):
        return []
    rows = tuple(
        (
            label_of(line),
            carries(line),
            percent(line.probability),
            told_words(line),
            line.leads_to.replace(" %", "\u00a0%") or "-",
            doubt(line, plan.units),
            f"{about(line.cover_low_m, plan.units)} to {about(line.cover_high_m, plan.units)}",
        )
        for line in plan.metal
    )
    words = (
        "Dangerous lines first. Chance: that the line is there. Doubt: in 9 of 10 layouts that have the line, it lies no further "
        "than this to either side, between the first and the last thing that tells of it. Beyond them it goes on (dashed on the "
        "map). Cover: 9 of 10 lie between. Tolerance zones and keep-off strips hold whatever stands here. Metal that nobody "
        "flagged or marked is not in this list."
    )
    words += beside_wire(plan)
    head = ("line", "carries", "chance", "told by", "leads to", "doubt", "cover")
    return [Heading("Metal lines"), Text(words), Table(head, rows)]


def beside_wire(plan: Plan) -> str:
    """Say of lines of control wire that the mainline commonly lies with them."""
    wires = [label_of(line) for line in plan.metal if line.treat_as == "control_wire"]
    if not wires:
        return ""
    share = plan.settings["main_with_wire_share"]
    carry = "is control wire" if len(wires) == 1 else "are control wire"
    return (
        f" {' and '.join(wires)} {carry}: the mainline commonly lies in the same trench ({percent(share)} of layouts)."
    )


def doubt(line: MetalLine, units: str) -> str:
    """Write the half width of doubt of a line."""
    if line.half_width_m is None:
        return "-"
    if not has_course(line) and not line.told_by.startswith("mark"):
        return "course not known"
    return "±" + about(line.half_width_m, units)


def stations(metal: MetalLines, step_m: float, least: float) -> Iterator[tuple[MetalLine, list[Place]]]:
    """Yield each line that is staked with places along it, no further apart than a step: x, y, half width, chance."""
    for line in metal:
        table = metal.courses
        table = table[(table["line"] == line.line) & (table["p_here"] >= least)]
        if not has_course(line) or not len(table):
            continue
        at = table[["x_m", "y_m"]].to_numpy(float)
        gone = np.concatenate([[0.0], np.hypot(*np.diff(at, axis=0).T).cumsum()])
        count = max(int(np.ceil(gone[-1] / step_m)), 1)
        wanted = (np.arange(count) + 0.5) * gone[-1] / count
        rows = np.unique([int(np.abs(gone - place).argmin()) for place in wanted])
        columns = table[["x_m", "y_m", "half_width_m", "p_here"]].to_numpy(float)
        yield line, [(x, y, half, p) for x, y, half, p in columns[rows].tolist()]


def metal_points(metal: MetalLines, line: MetalLine) -> tuple[Point, ...]:
    """Return where a line runs for whoever digs here next: start, bends and end of what most draws have."""
    parts = courses_of(metal, line, min(TOLD, 0.9 * line.probability))
    if not parts:
        return ()
    path = straightened(max(parts, key=lambda part: len(part.middle)).middle, BEND_M)
    names = ["start", *(f"bend {k}" for k in range(1, len(path) - 1)), "end"]
    return tuple(Point(f"{label_of(line)} {name}", x, y) for name, (x, y) in zip(names, path.tolist(), strict=True))


def owner_name(line: MetalLine) -> str:
    """Return what a line is called, as a sentence begins."""
    return (
        "Metal line of unknown class"
        if line.treat_as == "unknown"
        else OWNER_CLASSES[line.treat_as].capitalize().rstrip(",")
    )
