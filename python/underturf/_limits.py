"""Limits of a call: how much work it may take, and how much memory."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager

from underturf import _core
from underturf.errors import ArgumentError

__all__ = ["effort_number", "gigabytes", "memory_limit"]


def effort_number(effort: float) -> float:
    """Return an effort that a call can be given, or refuse it.

    Examples
    --------
    >>> effort_number(2)
    2.0
    """
    number = _number("effort", effort)
    if not number > 0:
        raise ArgumentError(f"effort = {effort} is out of range: above 0; 1 is about a minute of work")
    return number


@contextmanager
def memory_limit(limit_gb: float | None) -> Iterator[None]:
    """Hold calls of this thread to so much memory in the meantime; None stands for half of what is free.

    Examples
    --------
    >>> with memory_limit(0.5):
    ...     pass
    """
    number = gigabytes(limit_gb)
    if number is None:
        yield  # what a call around this one allows holds on
        return
    before = _core.set_memory_limit(min(round(number * 1e9), 2**63))
    try:
        yield
    finally:
        _core.set_memory_limit(before)


def gigabytes(limit_gb: float | None) -> float | None:
    """Check a limit of memory.

    Examples
    --------
    >>> gigabytes(2), gigabytes(None)
    (2.0, None)
    """
    if limit_gb is None:
        return None
    number = _number("memory_limit_gb", limit_gb)
    if not number > 0:
        raise ArgumentError(f"memory_limit_gb = {limit_gb} is out of range: above 0")
    return number


def _number(name: str, value: float) -> float:
    try:
        number = float(value)
    except (TypeError, ValueError):
        raise ArgumentError(f"{name} = {value!r} is not a number") from None
    if math.isnan(number) or math.isinf(number):
        raise ArgumentError(f"{name} = {value!r} is not finite")
    return number
