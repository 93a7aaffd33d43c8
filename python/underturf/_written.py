"""How Python values are written into a site document: plain numbers, and lengths in the document's own unit."""

from __future__ import annotations

import math
import numbers
from collections.abc import Mapping
from typing import Any

from underturf.errors import ArgumentError

__all__ = ["entry_in_units", "plain", "spelled"]

#: Keys of a document's entries that hold lengths or points.
LENGTHS = frozenset({"x", "y", "radius", "path", "width", "outline", "depth", "cover", "caliper", "root_radius"})


def plain(value: object) -> object:
    """Turn numpy numbers and arrays into what JSON knows."""
    if hasattr(value, "tolist"):
        return value.tolist()
    raise ArgumentError(f"{value!r} cannot stand in a site document")


def spelled(value: object) -> object:
    """Spell out numbers that JSON cannot hold, so that the document's checks name their place with all other faults.

    Examples
    --------
    >>> spelled({"heads": [{"x": float("nan"), "y": 1.0}]})
    {'heads': [{'x': 'nan', 'y': 1.0}]}
    """
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, Mapping):
        return {key: spelled(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [spelled(item) for item in value]
    return str(value) if isinstance(value, float) and not math.isfinite(value) else value


def entry_in_units(entry: Mapping[str, Any], unit_m: float) -> dict[str, Any]:
    """Return an entry of a document with its lengths, given in metres, in the document's unit; keys without value go.

    Examples
    --------
    >>> entry_in_units({"x": 0.9144, "depth": 0.381, "found": True, "tool": None}, 0.3048)
    {'x': 3.0, 'depth': 1.25, 'found': True}
    >>> entry_in_units({"tree": {"size": "large", "caliper": 0.0762, "container": None}}, 0.3048)
    {'tree': {'size': 'large', 'caliper': 0.25}}
    """
    given = {key: value for key, value in entry.items() if value is not None}
    return {key: value_in_units(key, value, unit_m) for key, value in given.items()}


def value_in_units(key: str, value: Any, unit_m: float) -> Any:
    """Return the value of a key in a unit: lengths, and lengths of tables in it (a dig's tree)."""
    if isinstance(value, Mapping):
        return entry_in_units(value, unit_m)
    return in_units(value, unit_m) if key in LENGTHS else value


def in_units(length_m: Any, unit_m: float) -> Any:
    """Return a length, or lists of them, in a unit; what is no number stays as it is, for the document's checks.

    It is rounded to 15 digits, all that a float holds of any decimal: 0.9144 m and 3 * 0.3048 m are both 3 ft.
    """
    if hasattr(length_m, "tolist"):
        length_m = length_m.tolist()
    if isinstance(length_m, list | tuple):
        return [in_units(item, unit_m) for item in length_m]
    if unit_m == 1 or isinstance(length_m, bool) or not isinstance(length_m, numbers.Real):
        return length_m
    return float(f"{float(length_m) / unit_m:.15g}")
