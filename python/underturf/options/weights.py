"""What a strike costs, by class of line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeAlias

import numpy as np

from underturf import _core
from underturf.errors import ArgumentError

__all__ = ["Weights", "default_weights", "weight_list"]

Weights: TypeAlias = Mapping[str, float] | None


def default_weights() -> dict[str, float]:
    """Return the consequence weights that are shipped, by class, and the factor for digs by ``machine``.

    Only their order means something (common practice, no source): gas and electric before sewer and communication, before
    potable, reclaimed and mainline, before lateral and control wire, before unknown lines. The chance of a strike is the
    same by hand and by machine; what it costs is not, since hands meet a line and a machine takes it along.

    Examples
    --------
    >>> import underturf as ut
    >>> weights = ut.default_weights()
    >>> weights["gas"] > weights["potable"] > weights["lateral"] > weights["unknown"]
    True
    """
    return dict(_core.default_weights())


def weight_list(weights: Weights) -> list[tuple[str, float]]:
    """Return given weights as the engine takes them; it checks names and numbers and names every fault."""
    if weights is None:
        return []
    if not isinstance(weights, Mapping):
        raise ArgumentError(f"weights must map classes to numbers, not {weights!r}")
    wrong = [f"{name} = {value!r}" for name, value in weights.items() if not is_number(value)]
    if wrong:
        raise ArgumentError(f"consequence weights: no numbers: {', '.join(wrong)}")
    return [(str(name), float(value)) for name, value in weights.items()]


def is_number(value: object) -> bool:
    """Whether a value can stand for a weight."""
    return isinstance(value, int | float | np.integer | np.floating) and not isinstance(value, bool)
