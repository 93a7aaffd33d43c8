"""How Python values are written into a site document: lengths given in metres in the document's own unit, texts as they are."""

from __future__ import annotations

import math
import numbers
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from underturf import _core
from underturf._checks import absent
from underturf.errors import ArgumentError

__all__ = ["entry_in_units"]

#: Keys of a document's entries that hold lengths or points.
LENGTHS = frozenset({"x", "y", "radius", "path", "width", "outline", "depth", "cover", "caliper", "root_radius"})

#: Those without which there is no shape: a NaN there is a fault, not an absent key.
SHAPE = frozenset({"x", "y", "radius", "path", "width", "outline", "depth"})


def entry_in_units(entry: Mapping[str, Any], unit_m: float) -> dict[str, Any]:
    """Return an entry of a document with its lengths, given in metres, in the document's unit; keys that say nothing go.

    Examples
    --------
    >>> entry_in_units({"x": 0.9144, "depth": 0.381, "found": True, "tool": None}, 0.3048)
    {'x': 3.0, 'depth': 1.25, 'found': True}
    >>> entry_in_units({"tree": {"size": "large", "caliper": 0.0762, "container": None}}, 0.3048)
    {'tree': {'size': 'large', 'caliper': 0.25}}
    >>> entry_in_units({"x": "14 ft 6 in", "depth": "0.381", "cover": float("nan")}, 0.3048)
    {'x': '14 ft 6 in', 'depth': 1.25}
    """
    given = {key: value for key, value in entry.items() if value is not None and (key in SHAPE or not absent(value))}
    return {key: value_in_units(key, value, unit_m) for key, value in given.items()}


def value_in_units(key: str, value: Any, unit_m: float) -> Any:
    """Return the value of a key in a unit: lengths, and lengths of tables in it (a dig's tree)."""
    if isinstance(value, Mapping):
        return entry_in_units(value, unit_m)
    return in_units(value, unit_m) if key in LENGTHS else value


def in_units(length_m: Any, unit_m: float, most_deep: int = 2) -> Any:
    """Return a length, or points of them, in a unit; what is no length stays as it is, for the document's checks.

    Texts with a unit stay too, as documents hold them. A number is rounded to 15 digits, all that a float holds of any
    decimal: 0.9144 m and 3 * 0.3048 m are both 3 ft.
    """
    if hasattr(length_m, "tolist"):
        length_m = length_m.tolist()
    if isinstance(length_m, list | tuple) and most_deep > 0:
        return [in_units(item, unit_m, most_deep - 1) for item in length_m]
    return in_units_one(length_m, unit_m)


def in_units_one(length_m: Any, unit_m: float) -> Any:
    """Return one length in a unit."""
    if isinstance(length_m, str):
        try:
            found, has_unit = _core.read_length(length_m)
        except ArgumentError:
            return length_m
        if has_unit:
            return length_m
        length_m = found
    if isinstance(length_m, bool) or not isinstance(length_m, numbers.Real | Decimal):
        return length_m
    if math.isnan(length_m):
        return "nan"  # an absent number would be told as a shape that is not given
    if unit_m == 1:
        return length_m
    return float(f"{float(length_m) / unit_m:.15g}")
