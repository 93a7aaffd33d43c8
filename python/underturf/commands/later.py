"""Parts of the package that a command asks for by name, with a sentence where an installation lacks them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from underturf.errors import ArgumentError

__all__ = ["part"]


def part(thing: object, name: str) -> Callable[..., Any]:
    """Return a function of a module or a method of a thing.

    Raises
    ------
    ArgumentError
        If there is none.

    Examples
    --------
    >>> part("abc", "upper")()
    'ABC'
    """
    found = getattr(thing, name, None)
    if not callable(found):
        raise ArgumentError(f"this version of underturf has no {name}")
    made: Callable[..., Any] = found
    return made
