"""Units of length as survey files name them, in headers, in drawings and in options."""

from __future__ import annotations

import re
from functools import cache

from underturf import _core
from underturf.errors import ArgumentError, must_be

__all__ = ["FOOT", "SURVEY_FOOT", "UNITS", "split_unit", "unit_named"]

#: The international foot, by definition.
FOOT = 0.3048

#: The US survey foot, 1200/3937 m by definition; retired at the end of 2022 and in many older files.
SURVEY_FOOT = 1200 / 3937

#: Unit -> metres.
UNITS: dict[str, float] = {
    "m": 1.0,
    "cm": 0.01,
    "mm": 0.001,
    "km": 1000.0,
    "in": 0.0254,
    "ft": FOOT,
    "yd": 0.9144,
    "us_ft": SURVEY_FOOT,
}

#: Other ways to write them.
WRITTEN: dict[str, str] = {
    **dict.fromkeys(["metre", "metres", "meter", "meters"], "m"),
    **dict.fromkeys(["inch", "inches"], "in"),
    **dict.fromkeys(["foot", "feet", "ift", "int_ft"], "ft"),
    **dict.fromkeys(["usft", "us-ft", "sft", "survey_ft", "survey ft", "us survey ft", "us survey foot"], "us_ft"),
}


def unit_named(name: object, argument: str) -> str:
    """Return the unit that a text names.

    Examples
    --------
    >>> unit_named("Feet", "units"), unit_named("US-ft", "units")
    ('ft', 'us_ft')
    >>> unit_named("metters", "units")
    Traceback (most recent call last):
    underturf.errors.ArgumentError: units is 'metters'; it must be one of m, cm, mm, km, in, ft, yd, us_ft; did you mean "meters"?
    """
    if not isinstance(name, str):
        raise must_be(argument, name, f"one of {', '.join(UNITS)}")
    said = name.strip().lower()
    found = WRITTEN.get(said, said)
    if found not in UNITS:
        hint = _core.spelling_hint(said, [*UNITS, *WRITTEN])
        raise ArgumentError(f"{argument} is {name!r}; it must be one of {', '.join(UNITS)}{hint}")
    return found


@cache
def split_unit(header: str) -> tuple[str, str | None]:
    """Return a header without the unit that ends it, and the unit.

    Examples
    --------
    >>> split_unit("easting_ft"), split_unit("Depth (in)"), split_unit("x [m]"), split_unit("zone"), split_unit("y us_ft")
    (('easting', 'ft'), ('Depth', 'in'), ('x', 'm'), ('zone', None), ('y', 'us_ft'))
    """
    words = sorted([*UNITS, *WRITTEN], key=len, reverse=True)
    either = "|".join(map(re.escape, words))
    found = re.fullmatch(rf"(.*?)(?:\s*[(\[]\s*({either})\s*[)\]]|[_\s]({either}))\s*", header, re.IGNORECASE)
    if found is None or not found[1].strip():
        return header.strip(), None
    unit = (found[2] or found[3]).lower()
    return found[1].strip(), WRITTEN.get(unit, unit)
