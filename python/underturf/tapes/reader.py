"""Reads single values of tape notes and gathers the faults: every one with its place, and none twice."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar

from underturf import _core
from underturf._checks import length, number, whole
from underturf.errors import ArgumentError

__all__ = ["Reader"]

Value = TypeVar("Value")

#: What stands for a value that is a fault.
ABSENT = object()


class Reader:
    """Values of a document, and the faults met so far.

    Parameters
    ----------
    unit_m : float
        Metres in the document's unit.

    Examples
    --------
    >>> reader = Reader(0.3048)
    >>> reader.length({"x": "14 ft 6 in", "y": "1,5"}, "y", "points[0]") is None
    True
    >>> reader.faults
    [('points[0].y', '"1,5" has a comma, ...')]
    """

    def __init__(self, unit_m: float) -> None:
        self.unit_m = unit_m
        self.faults: list[tuple[str, str]] = []

    def fault(self, place: str, sentence: str) -> None:
        """Keep a fault."""
        self.faults.append((place, sentence))

    def keys(self, table: Mapping[str, Any], known: Iterable[str], place: str) -> None:
        """Keep a fault for every key that nobody knows."""
        known = tuple(known)
        for key in table:
            if key not in known:
                hint = _core.spelling_hint(key, known)
                self.fault(inside(place, key), f"unknown key{hint}; known here: {', '.join(known)}")

    def tables(self, document: Mapping[str, Any], key: str) -> list[tuple[str, Mapping[str, Any]]]:
        """Return the tables of a list with their places."""
        found = document.get(key, [])
        if not isinstance(found, list):
            self.fault(key, "must be a list of tables")
            return []
        for k, entry in enumerate(found):
            if not isinstance(entry, Mapping):
                self.fault(f"{key}[{k}]", "must be a table, like {name = ..., ...}")
        return [(f"{key}[{k}]", entry) for k, entry in enumerate(found) if isinstance(entry, Mapping)]

    def table(self, document: Mapping[str, Any], key: str, place: str = "") -> Mapping[str, Any]:
        """Return a table inside a table; empty where there is none."""
        found = document.get(key, {})
        if isinstance(found, Mapping):
            return found
        self.fault(inside(place, key), "must be a table, like {A = 12.5, B = 9}")
        return {}

    def name(self, table: Mapping[str, Any], key: str, place: str) -> str | None:
        """Return a name; None where it is missing or none."""
        return self._read(table, key, place, name_of)

    def pair(self, table: Mapping[str, Any], key: str, place: str) -> tuple[str, str] | None:
        """Return the names of two points; None where they are missing or not two."""

        def read(value: Any) -> tuple[str, str]:
            names = [name_of(name) for name in value] if isinstance(value, list) else []
            if len(names) != 2 or names[0] == names[1]:
                raise ArgumentError('must be two names of points, like ["A", "B"]')
            return names[0], names[1]

        return self._read(table, key, place, read)

    def length(
        self, table: Mapping[str, Any], key: str, place: str, least: float = -5000.0, most: float = 5000.0
    ) -> float | None:
        """Return a length in metres; None where it is missing or out of bounds."""

        def read(value: Any) -> float:
            found = length(value, "it", self.unit_m)
            if not least <= found <= most or (found == 0 and least > 0):
                raise ArgumentError(f"is {value!r}, {found:.6g} m; it must be {bounds(least, most)} m")
            return found

        return self._read(table, key, place, read)

    def number(self, table: Mapping[str, Any], key: str, place: str, least: float, most: float) -> float | None:
        """Return a number; None where it is missing or out of bounds."""

        def read(value: Any) -> float:
            found = number(value, "it")
            if not least <= found <= most:
                raise ArgumentError(f"is {value!r}; it must be {least:g} to {most:g}")
            return found

        return self._read(table, key, place, read)

    def _read(self, table: Mapping[str, Any], key: str, place: str, read: Callable[[Any], Value]) -> Value | None:
        value = table.get(key, ABSENT)
        if value is ABSENT:
            self.fault(inside(place, key), "is missing")
            return None
        try:
            return read(value)
        except ArgumentError as error:
            self.fault(inside(place, key), str(error).removeprefix("it: "))
            return None


def name_of(value: Any) -> str:
    """Return a name as text: trimmed, blanks within folded to one, a whole number as text.

    Examples
    --------
    >>> name_of(" house   corner "), name_of(7)
    ('house corner', '7')
    """
    if not isinstance(value, str):
        try:
            value = str(whole(value, "it"))
        except ArgumentError:
            raise ArgumentError(f"is {value!r}; a name must be a text") from None
    found = " ".join(value.split())
    if not found:
        raise ArgumentError("is empty; a name must be a text")
    return found


def bounds(least: float, most: float) -> str:
    """Word the bounds of a length."""
    return f"{least:g} to {most:g}" if least >= 0 else f"-{most:g} to {most:g}"


def inside(place: str, key: str) -> str:
    """Return the place of a key in a table."""
    return f"{place}.{key}" if place else key
