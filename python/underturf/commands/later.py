"""Parts of the package that a command asks for by name, with a sentence where an installation lacks them."""

from __future__ import annotations

import importlib
import importlib.util
from collections.abc import Callable
from types import ModuleType
from typing import Any

from underturf.errors import ArgumentError

__all__ = ["module", "part"]


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


def module(name: str) -> ModuleType:
    """Return a module of the package.

    Raises
    ------
    ArgumentError
        If there is none.

    Examples
    --------
    >>> module("report").__name__
    'underturf.report'
    """
    if importlib.util.find_spec(f"underturf.{name.partition('.')[0]}") is None:
        raise ArgumentError(f"this version of underturf has no {name.partition('.')[0]}")
    return importlib.import_module(f"underturf.{name}")
