"""Limits of a call: how much work it may take, and how much memory."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager

from underturf import _core
from underturf._checks import number
from underturf.errors import must_be

__all__ = ["effort_number", "gigabytes", "memory_limit"]


def effort_number(effort: float) -> float:
    """Return an effort that a call can be given, or refuse it.

    Examples
    --------
    >>> effort_number(2)
    2.0
    """
    return _positive("effort", effort, "; 1 is about a minute of work")


@contextmanager
def memory_limit(limit_gb: float | None) -> Iterator[None]:
    """Hold calls of this thread to so much memory in the meantime; None stands for half of what is free.

    Examples
    --------
    >>> with memory_limit(0.5):
    ...     pass
    """
    allowed = gigabytes(limit_gb)
    if allowed is None:
        yield  # what a call around this one allows holds on
        return
    before = _core.set_memory_limit(min(round(allowed * 1e9), 2**63))
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
    return _positive("memory_limit_gb", limit_gb)


def _positive(name: str, value: object, more: str = "") -> float:
    found = number(value, name)
    if not (found > 0 and math.isfinite(found)):
        raise must_be(name, value, f"above 0 and finite{more}")
    return found
