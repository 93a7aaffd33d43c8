"""GPX files: waypoints, routes, and tracks such as the walk with a detector. Places are longitude and latitude."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from underturf._extras import needs
from underturf.survey.context import Context
from underturf.survey.csv_files import decoded_text
from underturf.survey.observed import Batch, Observed
from underturf.survey.tables import LONLAT

__all__ = ["read_gpx"]

#: Dilutions of precision: they tell how the satellites stood, not how good a place is.
DILUTIONS = ("horizontal_dilution", "position_dilution")


def read_gpx(path: Path, file: str, context: Context) -> list[Batch]:
    """Return the things in a GPX file.

    A code is read from the type of a waypoint, point or track where that is a known one, else from its name. Points of a track
    that have a known code are things of their own; the others make one line.
    """
    needs(f"reading {file}", "gpxpy")
    import gpxpy
    from gpxpy.gpx import GPXException

    data = path.read_bytes()
    if not data.strip():
        context.faults.add(file, "", "is empty")
        return []
    try:
        text, _ = decoded_text(data)
        if "<gpx" not in text:
            context.faults.add(file, "", "is no GPX: it has no element gpx")
            return []
        found = gpxpy.parse(data)
    except (GPXException, ValueError, LookupError, TypeError, AttributeError) as error:
        context.faults.add(file, "", f"is no GPX that can be read, or is cut off: {error}")
        return []
    batch = Batch(file, LONLAT, context.unit_m(file))
    for k, point in enumerate(found.waypoints, start=1):
        batch.observed.append(single(point, f"waypoint {k}", file, context))
    for k, route in enumerate(found.routes, start=1):
        add_line(batch, route, route.points, f"route {k}", context)
    for k, track in enumerate(found.tracks, start=1):
        for n, segment in enumerate(track.segments, start=1):
            part = f", segment {n}" if len(track.segments) > 1 else ""
            add_line(batch, track, segment.points, f"track {k}{part}", context)
    points = [*found.waypoints, *(p for route in found.routes for p in route.points)]
    points += [p for track in found.tracks for segment in track.segments for p in segment.points]
    if not points:
        batch.left.append(("", "file", "it has no waypoints, routes or tracks"))
    remark(batch, points)
    return [batch]


def single(point: Any, place: str, file: str, context: Context) -> Observed:
    """Return a point that is a thing of its own; its other fields are known by the names of their elements."""
    code = code_of(point, context) or context.words(file).code or ""
    fields = {element.tag.rpartition("}")[2]: (element.text or "").strip() for element in point.extensions}
    attributes = {name: text for name, text in fields.items() if text}
    if point.name and " ".join(point.name.split()) != code:
        attributes["name"] = point.name
    return Observed("point", ((point.longitude, point.latitude),), place, code, "code", attributes)


def code_of(thing: Any, context: Context) -> str:
    """Return the code of a waypoint or track: its type where that is a known code, else its name, else its type."""
    said = [" ".join(text.split()) for text in (thing.type, thing.name) if text and text.strip()]
    return next((text for text in said if context.code(text, "code")[0] is not None), said[-1] if said else "")


def add_line(batch: Batch, owner: Any, points: list[Any], place: str, context: Context) -> None:
    """Add the points of a track or route that have a code, and the rest as one line."""
    own = [context.code(code_of(point, context), "code")[0] is not None for point in points]
    for k, point in enumerate(points, start=1):
        if own[k - 1]:
            batch.observed.append(single(point, f"{place}, point {k}", batch.file, context))
    rest = tuple((point.longitude, point.latitude) for point, is_own in zip(points, own, strict=True) if not is_own)
    if not rest:
        if not points:
            batch.left.append((place, "line", "it has no points"))
        return
    code = code_of(owner, context) or context.words(batch.file).code or ""
    kind = "line" if len(rest) > 1 else "point"
    batch.observed.append(Observed(kind, rest, place, code))  # type: ignore[arg-type]


def remark(batch: Batch, points: list[Any]) -> None:
    """Note heights and dilutions: neither goes into a site."""
    heights = sum(point.elevation is not None for point in points)
    if heights:
        batch.left.append(("", f"{heights} heights", "a site is flat: heights are left out"))
    diluted = sum(any(getattr(point, name) is not None for name in DILUTIONS) for point in points)
    if diluted:
        reason = "they tell how satellites stood, not how far a place may be off: give defaults of accuracy_95 in the mapping"
        batch.left.append(("", f"{diluted} dilutions of precision (hdop, pdop)", reason))
    batch.accuracy_note = (
        "the file says nothing of accuracy, so places count as good as the defaults of documents (heads 0.05 m, flags 0.1 m). "
        "A phone is off by metres: give what your receiver states, such as defaults.flags.accuracy_95 in the mapping"
    )
