"""What options have in common: how they are chosen, and how their values are read."""

from __future__ import annotations

from typing import TypeVar

from underturf._checks import length, number
from underturf.errors import must_be

__all__ = ["chosen", "length_or_none", "number_or_none", "settle"]

Options = TypeVar("Options")


def chosen(given: Options | None, kind: type[Options], name: str) -> Options:
    """Return options as given, or the default ones.

    Examples
    --------
    >>> import underturf as ut
    >>> chosen(None, ut.TreeRules, "rules").setback_limit
    0.25
    >>> chosen("lateral_5ft", ut.TreeRules, "rules")
    Traceback (most recent call last):
    underturf.errors.ArgumentError: rules is 'lateral_5ft'; it must be a TreeRules, such as TreeRules()
    """
    if given is None:
        return kind()
    if not isinstance(given, kind):
        raise must_be(name, given, f"a {kind.__name__}, such as {kind.__name__}()")
    return given


def settle(options: object, **values: object) -> None:
    """Keep values of options as they were read."""
    for name, value in values.items():
        object.__setattr__(options, name, value)


def length_or_none(value: object, name: str) -> float | None:
    """Return a length in metres, or None where none is given."""
    return None if value is None else length(value, name)


def number_or_none(value: object, name: str) -> float | None:
    """Return a number, or None where none is given."""
    return None if value is None else number(value, name)
