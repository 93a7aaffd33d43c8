"""Values of columns and fields as a document has them: lengths in metres, names, days, yes and no."""

from __future__ import annotations

import datetime
import json
import re
from typing import Any

from underturf._checks import day, length
from underturf.errors import ArgumentError
from underturf.survey.keys import FLOWS, LENGTH_KEYS
from underturf.survey.tables import cell_number
from underturf.survey.units import UNITS

__all__ = ["entry_value"]

#: Keys that hold numbers, and whole numbers.
NUMBERS = frozenset(["arc_deg", "p_detect", "p_false", "trust", "azimuth_deg", "error", *FLOWS])
WHOLE = frozenset(["valves", "spare"])

#: What people write for yes and no. Common practice, no source.
YES = frozenset(["true", "yes", "y", "1", "found", "hit"])
NO = frozenset(["false", "no", "n", "0", "clear", "none"])


def entry_value(key: str, value: Any, unit: str | None, bare_m: float | None, decimal: str) -> Any:
    """Return a value for a key of an entry.

    Parameters
    ----------
    key : str
        The key.
    value : object
        What the file has.
    unit : str or None
        Unit that its column names.
    bare_m : float or None
        Metres in one unit of a length that names none.
    decimal : str
        Mark of decimals in texts.

    Raises
    ------
    ArgumentError
        If it is no value for that key; the message begins after the name of the column.

    Examples
    --------
    >>> entry_value("radius", "18", "in", None, "."), entry_value("depth", "2 ft", None, None, ".")
    (0.4572, 0.6096)
    >>> entry_value("found", "No", None, None, "."), entry_value("zones", "1; 2", None, None, ".")
    (False, ['1', '2'])
    """
    if hasattr(value, "tolist"):
        value = value.tolist()
    if key in LENGTH_KEYS:
        return metres(key, value, unit, bare_m, decimal)
    if unit is not None:
        raise ArgumentError(f"has a unit of length, {unit}; {key} is none")
    if key in NUMBERS:
        return cell_number(value, decimal)
    if key in WHOLE:
        found = cell_number(value, decimal)
        if found != int(found):
            raise ArgumentError(f"is {value!r}, no whole number")
        return int(found)
    if key == "found":
        said = name(value).lower()
        if said not in YES | NO:
            raise ArgumentError(f"is {value!r}; write yes or no")
        return said in YES
    if key == "date":
        return a_day(value)
    if key == "zones":
        return names(value)
    return name(value)


def metres(key: str, value: Any, unit: str | None, bare_m: float | None, decimal: str) -> float:
    """Return a length in metres."""
    factor = UNITS[unit] if unit is not None else bare_m
    try:
        found = cell_number(value, decimal)
    except ArgumentError as error:
        if not isinstance(value, str) or "," in value:
            raise
        if "no finite number" in str(error) or not re.search(r"\d", value):
            raise
        return length(value, "it")
    if factor is None:
        raise ArgumentError(
            f'is {value!r} and has no unit: name it {key}_m or {key}_ft, write "{value} ft", or say units="m" or "ft"'
        )
    return found * factor


def name(value: Any) -> str:
    """Return a name as a text; a whole number is written without decimals."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float) and float(value).is_integer():
        return str(int(value))
    return " ".join(str(value).split())


def names(value: Any) -> list[str]:
    """Return a list of names: one as such, one as JSON, as some libraries hand it on, or parted by marks."""
    if isinstance(value, str) and value.lstrip().startswith("["):
        try:
            value = json.loads(value)
        except ValueError:
            raise ArgumentError(f"is {value!r}, no list of names") from None
    parts = value if isinstance(value, list | tuple) else re.split(r"[;,/|]", name(value))
    return [name(part) for part in parts if name(part)]


def a_day(value: Any) -> str:
    """Return a day as documents write it."""
    if isinstance(value, datetime.datetime | datetime.date):
        return str(value)[:10]
    try:
        return str(day(name(value), "it"))
    except ArgumentError as error:
        raise ArgumentError(str(error).removeprefix("it: ")) from None
