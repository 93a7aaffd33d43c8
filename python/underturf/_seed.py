"""Seeds: whatever says where randomness begins becomes one unsigned 64-bit number for the engine."""

from __future__ import annotations

from typing import SupportsIndex, TypeAlias

import numpy as np

from underturf._checks import whole
from underturf.errors import ArgumentError

__all__ = ["Seed", "seed_number"]

Seed: TypeAlias = SupportsIndex | np.random.Generator | np.random.SeedSequence | None


def seed_number(seed: Seed) -> int:
    """One number in [0, 2**64) from a whole number, a numpy Generator or SeedSequence, or fresh entropy for None.

    A Generator is advanced by the one number drawn from it, so that two calls with it differ.

    Examples
    --------
    >>> seed_number(7)
    7
    >>> seed_number(np.random.default_rng(1)) == seed_number(np.random.default_rng(1))
    True
    >>> seed_number(-1)
    Traceback (most recent call last):
    underturf.errors.ArgumentError: seed is -1; it must lie in 0 to 2**64 - 1
    """
    if seed is None:
        seed = np.random.SeedSequence()
    if isinstance(seed, np.random.Generator):
        return int(seed.integers(0, 2**64, dtype=np.uint64))
    if isinstance(seed, np.random.SeedSequence):
        return int(seed.generate_state(1, np.uint64)[0])
    number = whole(seed, "seed", "a whole number in 0 to 2**64 - 1, a numpy Generator or SeedSequence, or None")
    if not 0 <= number < 2**64:
        raise ArgumentError(f"seed is {number}; it must lie in 0 to 2**64 - 1")
    return number
