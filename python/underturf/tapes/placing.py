"""First places: one point after another, from circles that cross and offsets from lines.

Two circles cross twice. A told side settles which crossing is meant, and so do tapes from elsewhere. Where neither does, both
are followed until a later point tells, and what is still open at the end is a fault that names both places. Places are compared
by the sum of absolute misfits in standard deviations, so that one blunder does not choose the side.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from underturf.tapes.circles import SAME_M, Circle, Misfit, crossings, minima, nearest_miss
from underturf.tapes.measurements import Measurement, Offset, Place, Point, Side, Tape

__all__ = ["Placing", "place_all", "side_of"]

#: A place is taken over another where it fits better by this many standard deviations.
GAP = 6.0

#: Most ways of choosing sides that are followed at once.
MOST_STATES = 64

#: Most tapes to one point whose crossings are tried.
MOST_TAPES = 8


@dataclass(slots=True)
class Placing:
    """First places, and what stands in their way.

    Attributes
    ----------
    places : dict of str to (float, float)
        Places in metres.
    faults : list of (str, str)
        Point and sentence.
    """

    places: dict[str, Place]
    faults: list[tuple[str, str]] = field(default_factory=list)


@dataclass(slots=True)
class _State:
    """One way of choosing sides: places so far, and how badly they fit."""

    places: dict[str, Place]
    misfit: float = 0.0


def place_all(
    points: Sequence[Point], measurements: Sequence[Measurement], known: Mapping[str, Place], unit: tuple[float, str]
) -> Placing:
    """Place every point that measurements reach from the known ones.

    Parameters
    ----------
    points : sequence of Point
        All points.
    measurements : sequence of Tape or Offset
        What was measured.
    known : mapping of str to (float, float)
        Places of the known points.
    unit : (float, str)
        Metres in the unit of the notes, and its name, for the sentences.

    Examples
    --------
    >>> points = [Point("A", ""), Point("B", ""), Point("h", "")]
    >>> tapes = [Tape("A", "h", 3.0, 0.01, ""), Tape("B", "h", 5.0, 0.01, "")]
    >>> placing = place_all(points, tapes, {"A": (0, 0), "B": (4, 0)}, (1.0, "m"))
    >>> print(*placing.faults[0], sep=": ")
    h: the tapes cross twice, at x 0.00, y 3.00 m and at x 0.00, y -3.00 m; say on which side of a line it lies (baseline, side)
    """
    return _Placer(points, measurements, known, unit).run()


class _Placer:
    """Places points one by one, following every choice of sides that is still open."""

    def __init__(
        self,
        points: Sequence[Point],
        measurements: Sequence[Measurement],
        known: Mapping[str, Place],
        unit: tuple[float, str],
    ) -> None:
        self.points = {point.name: point for point in points}
        self.of: dict[str, list[Measurement]] = {name: [] for name in self.points}
        for measurement in measurements:
            for name in measurement.names:
                self.of[name].append(measurement)
        self.states = [_State(dict(known))]
        self.placed = set(known)
        self.failed: set[str] = set()
        self.faults: list[tuple[str, str]] = []
        self.unit = unit

    def run(self) -> Placing:
        """Place what can be placed; list what cannot."""
        while (name := self._next()) is not None:
            self._place(name)
        best = min(self.states, key=lambda state: state.misfit)
        open_ = [state for state in self.states if state.misfit < best.misfit + GAP]
        for name in sorted(self.placed, key=list(self.points).index):
            other = next((state for state in open_ if apart(state.places[name], best.places[name])), None)
            if other is not None:
                self._two_places(name, best.places[name], other.places[name])
        for name in self.points:
            if name not in self.placed and name not in self.failed and not self._hangs_on_failed(name):
                self.faults.append((name, self._why_not(name)))
        return Placing(best.places, self.faults)

    # which point is next

    def _ready(self, name: str) -> tuple[list[Tape], list[Offset]]:
        """Return the tapes and offsets to a point from points that are placed."""
        near = [m for m in self.of[name] if all(of in self.placed for of in m.names if of != name)]
        tapes = [m for m in near if isinstance(m, Tape)]
        return tapes, [m for m in near if isinstance(m, Offset) and m.point == name]

    def _next(self) -> str | None:
        """Return the point that is held best by those placed; None where none is held."""
        best, found = 0, None
        for name, point in self.points.items():
            if name in self.placed or name in self.failed:
                continue
            tapes, offsets = self._ready(name)
            anchors = len({other for tape in tapes for other in tape.names} - {name})
            told = point.side is not None and {point.side[0], point.side[1]} <= self.placed
            rank = 4 if offsets else 3 if anchors > 2 else (2 if told else 1) if anchors == 2 else 0
            if rank > best:
                best, found = rank, name
        return found

    # one point

    def _place(self, name: str) -> None:
        """Place a point in every state; states may part there."""
        tapes, offsets = self._ready(name)
        grown: list[_State] = []
        said: str | None = None
        for state in self.states:
            found, why = self._candidates(name, state.places, tapes, offsets)
            said = said or why
            for place, misfit in found:
                grown.append(_State({**state.places, name: place}, state.misfit + misfit))
        if not grown:
            self.failed.add(name)
            self.faults.append((name, said or "its measurements do not meet"))
            return
        self.placed.add(name)
        grown.sort(key=lambda state: state.misfit)
        kept = [state for state in grown if state.misfit < grown[0].misfit + 10 * GAP]
        if len(kept) > 1 and not self._tells_later(name):
            kept = self._settle(name, kept)
        self.states = kept[:MOST_STATES]

    def _tells_later(self, name: str) -> bool:
        """Whether a measurement from this point to one not yet placed is still to come."""
        return any(other not in self.placed for m in self.of[name] for other in m.names)

    def _settle(self, name: str, states: list[_State]) -> list[_State]:
        """Choose between states that differ only in a point that nothing later tells of; a fault where they fit alike."""
        kept: list[_State] = []
        told = False
        for state in states:
            twin = next((of for of in kept if self._differ_only_in(name, of, state)), None)
            if twin is None:
                kept.append(state)
            elif state.misfit < twin.misfit + GAP and not told:
                self._two_places(name, twin.places[name], state.places[name])
                told = True
        return kept

    def _differ_only_in(self, name: str, a: _State, b: _State) -> bool:
        return all(place == b.places[other] for other, place in a.places.items() if other != name)

    def _candidates(
        self, name: str, places: Mapping[str, Place], tapes: list[Tape], offsets: list[Offset]
    ) -> tuple[list[tuple[Place, float]], str | None]:
        """Return the places that a point may have and their misfits, or why there is none."""
        circles = [
            Circle(places[other], tape.length_m, tape.sd_m) for tape in tapes for other in tape.names if other != name
        ]
        feet: list[tuple[Place, Offset]] = []
        for of in offsets:
            signed = of.signed_m(places[of.start], places[of.end])
            if math.isnan(signed):
                return [], f"{no_side(of.side)} of the line from {of.start} to {of.end}"
            feet.append((from_line(places[of.start], places[of.end], of.along_m, signed), of))

        def misfit(place: Place) -> float:
            taped = sum(abs(math.dist(place, of.middle) - of.radius) / of.sd for of in circles)
            return taped + sum(math.dist(place, foot) / max(of.sds_m) for foot, of in feet)

        if feet:  # a line and an offset to a side leave one place
            return [min(((foot, misfit(foot)) for foot, _ in feet), key=lambda found: found[1])], None
        pairs = list(combinations(circles[:MOST_TAPES], 2))
        tried = [place for a, b in pairs for place in crossings(a, b)]
        if not tried:
            return [], self._no_crossing(tapes, *nearest_miss(pairs))
        basins = minima(tried, circles if len(circles) > 2 else [], misfit)
        return self._on_side(name, places, basins, misfit)

    def _on_side(
        self, name: str, places: Mapping[str, Place], basins: list[tuple[Place, float]], misfit: Misfit
    ) -> tuple[list[tuple[Place, float]], str | None]:
        """Return the places on the side that the notes tell of, or why there is none."""
        told = self.points[name].side
        if told is None or not {told[0], told[1]} <= self.placed:
            return basins, None
        start, end, side = told
        sign = side.sign(places[start], places[end])
        if sign == 0:
            return [], f"{no_side(side)} of the line from {start} to {end}"
        a, b = places[start], places[end]
        right = [found for found in basins if side_of(found[0], a, b) * sign >= 0]
        best, least = basins[0]
        if right and right[0][1] < least + GAP:
            return right, None
        if misfit(from_line(a, b, along_of(best, a, b), -side_of(best, a, b))) < least + GAP:
            return basins[:1], None  # so near the line that tapes do not tell its sides apart
        return [], f"the notes put it {side.said} of the line from {start} to {end}, its tapes put it on the other side"

    # sentences

    def _two_places(self, name: str, a: Place, b: Place) -> None:
        if all(name != of for of, _ in self.faults):
            told = self.points[name].side
            unsaid = (
                "say on which side of a line it lies (baseline, side)"
                if told is None
                else (
                    "its side does not choose: tell the side of another line, or add a tape from a point off the line"
                )
            )
            self.faults.append((name, f"the tapes cross twice, at {self._at(a)} and at {self._at(b)}; {unsaid}"))

    def _at(self, place: Place) -> str:
        unit_m, unit = self.unit
        x, y = (0.0 if abs(value) < 0.005 * unit_m else value / unit_m for value in place)
        return f"x {x:.2f}, y {y:.2f} {unit}"

    def _no_crossing(self, tapes: list[Tape], pair: int, gap_m: float) -> str:
        unit_m, unit = self.unit
        first, second = list(combinations(tapes[:MOST_TAPES], 2))[pair]
        return f"{first} and {second} do not meet: they miss each other by {gap_m / unit_m:.2f} {unit}"

    def _hangs_on_failed(self, name: str) -> bool:
        """Whether a point would be held, were those placed that failed for reasons of their own."""
        held = {other for m in self.of[name] for other in m.names} - {name}
        return len(held & (self.placed | self.failed)) > 1 and bool(held & self.failed)

    def _why_not(self, name: str) -> str:
        others = [other for m in self.of[name] for other in m.names if other != name]
        from_known = list(dict.fromkeys(other for other in others if other in self.placed))
        rest = list(dict.fromkeys(other for other in others if other not in self.placed))
        if not others:
            return "nothing was measured to it"
        if not from_known:
            return f"nothing was measured to it from a place that is known, only from {', '.join(rest)}"
        also = f" (and from {', '.join(rest)}, not known either)" if rest else ""
        return f"one tape, from {', '.join(from_known)}, does not fix it{also}; it takes two from places that are known"


def from_line(a: Place, b: Place, along: float, offset: float) -> Place:
    """Return the place at a way along a line and an offset to its left.

    Examples
    --------
    >>> from_line((0, 0), (0, 9), 4.0, 1.0)
    (-1.0, 4.0)
    """
    long = math.dist(a, b)
    ux, uy = ((b[0] - a[0]) / long, (b[1] - a[1]) / long) if long else (0.0, 0.0)
    return a[0] + along * ux - offset * uy, a[1] + along * uy + offset * ux


def side_of(place: Place, a: Place, b: Place) -> float:
    """Return how far a place lies to the left of a line, metres; negative to the right."""
    long = math.dist(a, b)
    return ((b[0] - a[0]) * (place[1] - a[1]) - (b[1] - a[1]) * (place[0] - a[0])) / long if long else 0.0


def along_of(place: Place, a: Place, b: Place) -> float:
    """Return how far along a line a place lies, metres from its first point."""
    long = math.dist(a, b)
    return ((b[0] - a[0]) * (place[0] - a[0]) + (b[1] - a[1]) * (place[1] - a[1])) / long if long else 0.0


def no_side(side: Side | None) -> str:
    """Say that a compass word does not tell the sides of a line apart."""
    return f"{side.said if side else 'nothing'} does not tell the sides"


def apart(a: Place, b: Place) -> bool:
    """Whether two places are two."""
    return math.dist(a, b) > SAME_M
