"""What can be asked of a method besides its digs: weights of what is struck, and what trees ask of their places."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeAlias

import numpy as np

from underturf import _core
from underturf._checks import number, word
from underturf.errors import ArgumentError

__all__ = ["Weights", "default_weights"]

Weights: TypeAlias = Mapping[str, float] | None

#: The setback of trees when none is named.
SETBACK = "lateral_5ft"

#: Greatest chance of a line within the setback of a tree at which a place is taken for it, when nothing is said (common
#: practice, no source).
SETBACK_LIMIT = 0.25

#: What a line within the setback of a tree costs, as a share of striking it, when nothing is said.
SETBACK_SHARE = 0.1

#: What a building at the stem of a planted tree costs, as a share of striking a sewer, when nothing is said.
ROOTS_SHARE = 0.1

#: What a line that a probe meets costs, as a share of a strike by ordinary hand digging.
CAREFUL = 0.02


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


def tree_rules(setback: str, setback_limit: float) -> tuple[str, float]:
    """Check what trees ask of their places: the setback for all, and the greatest chance of a line within it."""
    return word(setback, "setback"), number(setback_limit, "setback_limit")


def is_number(value: object) -> bool:
    """Whether a value can stand for a weight."""
    return isinstance(value, int | float | np.integer | np.floating) and not isinstance(value, bool)
