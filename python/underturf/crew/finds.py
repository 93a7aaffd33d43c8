"""Dangerous lines that were marked, met or flagged: each with a label, words for the owner of the ground, and points to measure.

Whoever digs here next has nothing but this note: "a gas line was found" without a place would send them to look for it with a
spade.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from underturf.crew.metal import label_of, metal_points, owner_name, rank, sure, told_words
from underturf.crew.points import Point, with_unit
from underturf.crew.words import OWNER_CLASSES
from underturf.directions import direction
from underturf.plotting.courses import has_course

if TYPE_CHECKING:
    from underturf.results import MetalLine, MetalLines
    from underturf.site import Site

__all__ = ["Find", "finds_of"]

#: Letters of finds with what tells of their metal line.
TOLD = {"M": "mark", "F": "probe", "K": "service"}


@dataclass(frozen=True)
class Find:
    """A dangerous line, and what is known of where it lies; places in metres."""

    label: str
    of: str
    words: str
    points: tuple[Point, ...]
    met: bool

    @property
    def middle(self) -> tuple[float, float]:
        """Where its label points to: a marked line in its middle bit, a find where it was met."""
        k = (len(self.points) - 1) // 2
        a, b = self.points[k], self.points[min(k + 1, len(self.points) - 1)]
        return 0.5 * (a.x_m + b.x_m), 0.5 * (a.y_m + b.y_m)


def finds_of(site: Site, document: dict[str, Any], metal: MetalLines) -> list[Find]:
    """Return the lines of the classes about which owners are told, the most dangerous class first.

    Metal lines (ML) that have a course of their own, marks (M), finds of probes (F), services between known ends (K); each of
    these with how sure its metal line is.
    """
    found = [with_line(find, metal, site.units) for find in noted(site, document)]
    return sorted([*lines_of(metal, site.units), *found], key=lambda find: rank(find.of))


def lines_of(metal: MetalLines, units: str) -> Iterator[Find]:
    """Yield the metal lines that owners are told of for themselves."""
    for line in metal:
        points = metal_points(metal, line)
        told = line.treat_as in OWNER_CLASSES or line.dangerous
        if has_course(line) and told and points:
            leads = f"; leads to {line.leads_to}" if line.leads_to else ""
            words = f"{owner_name(line)}, told by {told_words(line)}: {sure(line, units)}{leads}"
            yield Find(label_of(line), line.treat_as, words.replace(" %", "\u00a0%"), points, met=False)


def with_line(find: Find, metal: MetalLines, units: str) -> Find:
    """Return a find that says how sure its metal line is, or which metal line it is a part of."""
    name = f"{TOLD[find.label[0]]} {find.label[1:]}"
    line: MetalLine | None = next((line for line in metal if name in line.told_by.split(", ")), None)
    if line is None:
        return find
    words = f"; part of {label_of(line)}" if has_course(line) else f"; {sure(line, units)}"
    return dataclasses.replace(find, words=find.words + words)


def noted(site: Site, document: dict[str, Any]) -> Iterator[Find]:
    """Yield marks, finds of probes and services of the document."""
    scale = site.unit_m
    for k, mark in enumerate(document.get("marks", [])):
        if mark["class"] in OWNER_CLASSES:
            day = f", mark of {mark['date']}" if mark.get("date") else ""
            words = f"{named(mark)} marked here (mark {k + 1}{day})"
            yield Find(f"M{k + 1}", mark["class"], words, ends(f"M{k + 1}", mark["path"], scale), met=False)
    for k, probe in enumerate(document.get("probes", [])):
        if probe["found"] and probe.get("class") in OWNER_CLASSES:
            path = probe.get("path", [[probe.get("x"), probe.get("y")]])
            words = f"{named(probe)} found by probe {k + 1}"
            if "path" in probe:
                words += ", somewhere along its slit"
            if "azimuth_deg" in probe:
                one = probe["azimuth_deg"]
                words += f", running {direction(one)} and {direction(one + 180)}"
            if "cover" in probe:
                words += f", under {with_unit(probe['cover'] * scale, site.units)} of cover"
            yield Find(f"F{k + 1}", probe["class"], words, ends(f"F{k + 1}", path, scale), met=True)
    for k, service in enumerate(document.get("services", [])):
        if service["class"] in OWNER_CLASSES:
            path = [service["from"], *service.get("path", []), service["to"]]
            words = f"{named(service)} between two known ends here; its course is not known"
            yield Find(f"K{k + 1}", service["class"], words, ends(f"K{k + 1}", path, scale), met=False)


def named(item: dict[str, Any]) -> str:
    """Return what a line is called, as a sentence begins."""
    return OWNER_CLASSES[item["class"]].capitalize()


def ends(label: str, path: list[list[float]], scale: float) -> tuple[Point, ...]:
    """Return the points of a path with their names."""
    if len(path) == 1:
        return (Point(label, path[0][0] * scale, path[0][1] * scale),)
    names = ["start", *(f"bend {k}" for k in range(1, len(path) - 1)), "end"]
    return tuple(Point(f"{label} {name}", x * scale, y * scale) for name, (x, y) in zip(names, path, strict=True))
