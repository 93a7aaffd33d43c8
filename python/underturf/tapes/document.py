"""The format ``underturf-tapes/1``: from the keys of a document to points and measurements, or one error with every fault."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from underturf import _core
from underturf.tapes.measurements import Fixed, Measurement, Offset, Point, Side, Tape
from underturf.tapes.reader import Reader, inside, name_of
from underturf.tapes.solving import Problem, faults_error

__all__ = ["ATTRIBUTES", "FORMAT", "read_document"]

FORMAT = "underturf-tapes/1"

#: Metres in a unit.
UNITS = {"m": 1.0, "ft": 0.3048}

TOP = ("format", "units", "name", "azimuth_deg", "accuracy", "baseline", "fixed", "points", "tapes")

#: Keys of points that are kept for a site document, and ``code`` for a table of codes.
ATTRIBUTES = (
    *("id", "code", "kind", "zone", "zones", "valves", "spare", "class", "radius", "depth", "arc_deg", "flow", "fed"),
    *("stem_diameter", "line", "found", "tool", "cover", "p_detect", "p_false", "method", "tree", "date"),
)

#: Those that are lengths: a bare number gets the unit of the notes.
LENGTHS = frozenset({"radius", "depth", "stem_diameter", "cover", "caliper", "root_radius"})

#: How well a tape is read, where notes do not say: 0.02 m and a thousandth of its length; offsets square to 1 degree. Common
#: practice, no source; 0.025 m at 5 m is the tape of python/docs/trade-values.md, 6.8.
SD_M, PER_LENGTH, SQUARE_DEG = 0.02, 0.001, 1.0

#: Least and greatest length of a tape, metres. The greatest is beyond any tape: a slip of the units.
SHORTEST_M, LONGEST_M = 0.001, 1000.0


@dataclass(frozen=True, slots=True)
class Accuracy:
    """How well tapes are read.

    Attributes
    ----------
    sd_m : float
        Standard deviation of any tape, metres.
    per_length : float
        What is added to it for each metre of length.
    square_deg : float
        How far from square offsets are, as a standard deviation in degrees.
    """

    sd_m: float
    per_length: float
    square_deg: float

    def of(self, length_m: float) -> float:
        """Return the standard deviation of a tape of a length."""
        return self.sd_m + self.per_length * abs(length_m)


def read_document(document: Mapping[str, Any], name: str) -> Problem:
    """Return what a document asks.

    Raises
    ------
    ArgumentError
        With every fault of the document and its place.
    """
    return _Document(document, name).problem()


class _Document:
    """Reads one document, part after part."""

    def __init__(self, document: Mapping[str, Any], name: str) -> None:
        self.document, self.name = document, name
        self.reader = reader = Reader(UNITS.get(str(document.get("units")), 1.0))
        reader.keys(document, TOP, "")
        if document.get("format") != FORMAT:
            reader.fault("format", f"must be {FORMAT!r}" if "format" in document else f"is missing; write {FORMAT!r}")
        if document.get("units") not in UNITS:
            reader.fault("units", "must be 'm' or 'ft'" if "units" in document else "is missing; write 'm' or 'ft'")
        if "name" in document:
            reader.name(document, "name", "")
        self.azimuth = reader.number(document, "azimuth_deg", "", -360, 360) if "azimuth_deg" in document else None
        self.accuracy = self._accuracy()
        self.baseline = reader.pair(document, "baseline", "") if "baseline" in document else None
        self.points: dict[str, Point] = {}
        self.measurements: list[Measurement] = []

    def problem(self) -> Problem:
        """Return the points and measurements."""
        for k, name in enumerate(self.baseline or ()):
            self.points[name] = Point(name, f"baseline[{k}]")
        for place, entry in self.reader.tables(self.document, "fixed"):
            self._fixed(place, entry)
        entries = [
            (self._point(place, entry), place, entry) for place, entry in self.reader.tables(self.document, "points")
        ]
        for named, place, entry in entries:
            if named is not None:
                self._measured(named, place, entry)
        for place, entry in self.reader.tables(self.document, "tapes"):
            self._tape(place, entry)
        self._start()
        if self.reader.faults:
            raise faults_error(self.name, "tape notes", self.reader.faults)
        unit = str(self.document["units"])
        return Problem(
            self.name, (UNITS[unit], unit), tuple(self.points.values()), tuple(self.measurements), self.baseline
        )

    def _accuracy(self) -> Accuracy:
        table, place = self.reader.table(self.document, "accuracy"), "accuracy"
        self.reader.keys(table, ("sd", "per_length", "square_deg"), place)
        sd = self.reader.length(table, "sd", place, 1e-4, 1.0) if "sd" in table else SD_M
        share = self.reader.number(table, "per_length", place, 0, 0.1) if "per_length" in table else PER_LENGTH
        square = self.reader.number(table, "square_deg", place, 0, 15) if "square_deg" in table else SQUARE_DEG
        return Accuracy(sd or SD_M, share or 0.0, square or 0.0)

    # points

    def _new(self, place: str, entry: Mapping[str, Any]) -> str | None:
        """Return the name of a new point; points of the baseline may come again, to get their keys."""
        name = self.reader.name(entry, "name", place)
        old = self.points.get(name) if name is not None else None
        if old is not None and not old.place.startswith("baseline"):
            self.reader.fault(inside(place, "name"), f"{name!r} stands at {old.place} already")
            return None
        return name

    def _fixed(self, place: str, entry: Mapping[str, Any]) -> None:
        self.reader.keys(entry, ("name", "x", "y", "sd", *ATTRIBUTES), place)
        name = self._new(place, entry)
        x, y = (self.reader.length(entry, axis, place) for axis in ("x", "y"))
        sd = self.reader.length(entry, "sd", place, 0.0, 10.0) if "sd" in entry else 0.0
        if name is not None:
            self.points[name] = Point(name, place, Fixed(x or 0.0, y or 0.0, sd or 0.0), None, self._attributes(entry))

    def _point(self, place: str, entry: Mapping[str, Any]) -> str | None:
        self.reader.keys(entry, ("name", "tapes", "baseline", "along", "offset", "side", *ATTRIBUTES), place)
        name = self._new(place, entry)
        if name is not None:
            self.points[name] = Point(name, place, None, None, self._attributes(entry))
        return name

    def _attributes(self, entry: Mapping[str, Any]) -> dict[str, Any]:
        return {key: self._kept(key, value) for key, value in entry.items() if key in ATTRIBUTES}

    def _kept(self, key: str, value: Any) -> Any:
        """Return the value of a key as written; a bare length with the unit of the notes."""
        if isinstance(value, Mapping):
            return {inner: self._kept(inner, held) for inner, held in value.items()}
        if key in LENGTHS and isinstance(value, int | float) and not isinstance(value, bool):
            return f"{value} {self.document.get('units')}"
        return value

    # measurements

    def _tape(self, place: str, entry: Mapping[str, Any]) -> None:
        self.reader.keys(entry, ("from", "to", "length", "sd"), place)
        names = [self.reader.name(entry, key, place) for key in ("from", "to")]
        start, end = (self._known(of, inside(place, key)) for of, key in zip(names, ("from", "to"), strict=True))
        long = self.reader.length(entry, "length", place, SHORTEST_M, LONGEST_M)
        sd = self.reader.length(entry, "sd", place, 1e-4, 10.0) if "sd" in entry else self.accuracy.of(long or 0.0)
        if start is not None and start == end:
            self.reader.fault(place, f"runs from {start} to itself")
        elif start is not None and end is not None and long is not None and sd is not None:
            self.measurements.append(Tape(start, end, long, sd, place))

    def _measured(self, name: str, place: str, entry: Mapping[str, Any]) -> None:
        """Read the tapes to a point, its way along a line and its offset, and its side."""
        inline = self.reader.table(entry, "tapes", place)
        for of in inline:
            at = inside(place, f"tapes.{of}")
            start, long = self._known(name_of(of) if of.strip() else None, at), None
            long = self.reader.length(inline, of, inside(place, "tapes"), SHORTEST_M, LONGEST_M)
            if start == name:
                self.reader.fault(at, f"runs from {name} to itself")
            elif start is not None and long is not None:
                self.measurements.append(Tape(start, name, long, self.accuracy.of(long), at))
        line = self.reader.pair(entry, "baseline", place) if "baseline" in entry else None
        for of in line or ():
            self._known(of, inside(place, "baseline"))
        if line is not None and name in line:
            self.reader.fault(inside(place, "baseline"), f"holds {name} itself")
            return
        side = self._side(entry, place) if "side" in entry else None
        if "along" in entry or "offset" in entry:
            self._offset(name, place, entry, (line, side))
        elif "baseline" in entry and "side" not in entry:
            self.reader.fault(inside(place, "baseline"), "says nothing without side, or without along and offset")
        if side is None:
            return
        if line is None and "baseline" not in entry:
            if len(inline) == 2:
                first, second = (" ".join(of.split()) for of in inline)
                line = (first, second)
            elif "along" not in entry and "offset" not in entry:
                said = "of which line? Add baseline, two names of points"
                self.reader.fault(inside(place, "side"), said)
        if line is not None:
            old = self.points[name]
            self.points[name] = Point(name, old.place, None, (*line, side), old.attributes)

    def _offset(
        self, name: str, place: str, entry: Mapping[str, Any], told: tuple[tuple[str, str] | None, Side | None]
    ) -> None:
        line, side = told
        along = self.reader.length(entry, "along", place, -LONGEST_M, LONGEST_M)
        offset = self.reader.length(entry, "offset", place, 0.0, LONGEST_M)
        if "baseline" not in entry:
            self.reader.fault(
                inside(place, "baseline"), "is missing; along and offset need the two points of their line"
            )
        if offset and "side" not in entry:
            self.reader.fault(inside(place, "side"), "is missing; say on which side of the line the offset lies")
        if line is None or along is None or offset is None or (offset and side is None):
            return
        skew = offset * math.tan(math.radians(self.accuracy.square_deg))
        sds = (math.hypot(self.accuracy.of(along), skew), self.accuracy.of(offset))
        self.measurements.append(Offset(*line, name, along, offset, side if offset else None, sds, place))

    def _side(self, entry: Mapping[str, Any], place: str) -> Side | None:
        said = entry["side"]
        word = said.strip().lower() if isinstance(said, str) else ""
        if word in ("left", "right"):
            return Side(word, word == "left")
        azimuth = Side.azimuth_of(word)
        if azimuth is None:
            sentence = f"is {said!r}; it must be left, right or a compass word such as north or NE"
            self.reader.fault(inside(place, "side"), sentence)
            return None
        if self.azimuth is None and self.baseline is not None:
            sentence = "is a compass word, and nothing tells where north is; give azimuth_deg, or say left or right"
            self.reader.fault(inside(place, "side"), sentence)
            return None
        return Side.compass(f"to the {word}", azimuth, self.azimuth or 0.0)

    def _known(self, name: str | None, place: str) -> str | None:
        """Return the name of a point that is listed; a fault where it is not."""
        if name is None or name in self.points:
            return name
        hint = _core.spelling_hint(name, list(self.points))
        self.reader.fault(place, f"there is no point {name!r}{hint}; list it under points or fixed")
        return None

    def _start(self) -> None:
        """Check that there is something to begin with."""
        fixed = [point for point in self.points.values() if point.fixed is not None]
        if self.baseline is None:
            if "baseline" not in self.document and len(fixed) < 2:
                held = f"only {fixed[0].name} is fixed" if fixed else "nothing is fixed"
                said = f"{held}; give two points their x and y, or name two points as baseline and tape between them"
                self.reader.fault("fixed", said)
            self._apart(fixed)
            return
        if fixed:
            self.reader.fault("baseline", "stands beside fixed points; give one or the other")
        a, b = self.baseline
        between = [m for m in self.measurements if isinstance(m, Tape) and {m.start, m.end} == {a, b}]
        if not between and not self.reader.faults:
            self.reader.fault("baseline", f"no tape runs from {a} to {b}; it takes one to know how far apart they are")

    def _apart(self, fixed: list[Point]) -> None:
        """Check that fixed points are not all in one place."""
        places = {(point.fixed.x_m, point.fixed.y_m) for point in fixed if point.fixed is not None}
        if len(fixed) > 1 and len(places) == 1:
            self.reader.fault("fixed", "all fixed points have the same x and y")
