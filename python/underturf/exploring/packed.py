"""Arrays as texts that a page can hold: little-endian bytes in base64, read there as typed arrays."""

from __future__ import annotations

import base64
from typing import Any

import numpy as np
import numpy.typing as npt

__all__ = ["CHANCES", "NO_CHANCE", "packed", "packed_chances"]

#: Steps of a stored chance: 65534 parts of one, so that a chance is at most 0.8 in 100,000 off. One value says that
#: there is none.
CHANCES, NO_CHANCE = 65534, 65535


def packed(values: npt.ArrayLike, kind: str) -> str:
    """Return numbers as text; ``kind`` as numpy names it, such as ``"<u2"``.

    Examples
    --------
    >>> packed([1, 258], "<u2")
    'AQACAQ=='
    """
    return base64.b64encode(np.ascontiguousarray(values, dtype=kind).tobytes()).decode("ascii")


def packed_chances(chances: npt.NDArray[Any]) -> str:
    """Return chances, or their errors, as text; NaN is kept as such.

    Examples
    --------
    >>> packed_chances(np.array([0.5, np.nan])) == packed([32767, 65535], "<u2")
    True
    """
    steps = np.where(np.isfinite(chances), np.rint(np.clip(chances, 0, 1) * CHANCES), NO_CHANCE)
    return packed(steps, "<u2")
