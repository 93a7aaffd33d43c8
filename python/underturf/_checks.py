"""Checks of whole numbers that the engine takes as sizes."""

from __future__ import annotations

import operator
from typing import SupportsIndex

from underturf.errors import ArgumentError

__all__ = ["at_least", "worker_threads"]


def worker_threads(threads: SupportsIndex | None) -> int | None:
    """Check a number of threads; None means one per core."""
    return None if threads is None else at_least(1, threads, "threads")


def at_least(least: int, number: SupportsIndex, name: str) -> int:
    """Check a count.

    Examples
    --------
    >>> at_least(1, 0, "threads")
    Traceback (most recent call last):
    underturf.errors.ArgumentError: threads is 0; it must be at least 1
    """
    count = operator.index(number)
    if count < least:
        raise ArgumentError(f"{name} is {count}; it must be at least {least}")
    return count
