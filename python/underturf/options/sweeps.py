"""How a detector is passed over the ground."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from underturf import _core
from underturf._checks import length, number, word
from underturf.options.checks import settle

__all__ = ["SweepFor", "SweepOptions"]

SweepFor: TypeAlias = Literal["information", "variance"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepOptions:
    """How passes of a detector are made and what they are chosen for; see `Layouts.plan_sweeps`.

    Parameters
    ----------
    by : {"variance", "information"}
        What to make small or large: the expected Brier score of the digs, the sum of p (1 - p), or bits about the layout. Without
        digs it is bits. A pass whose gain of this kind is not above twice its Monte Carlo error is not offered.
    length_m : float or str
        Length of a pass, metres; less where it ends at the boundary or at a wall.
    reach_m : float or str
        How far to either side of the middle of a pass a line is heard, metres.
    spacing_m : float or str
        Least distance between the middles of two passes, metres.
    p_detect : float
        Chance that a line under a pass sounds (common practice, no source).
    p_false : float
        Chance that a pass sounds where no line lies: junk (common practice, no source).

    Raises
    ------
    ArgumentError
        If a value is none of these or no length; when used: one that is out of range.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.SweepOptions(length_m="5 ft").length_m
    1.524
    """

    by: SweepFor = "variance"
    length_m: float = _core.DEFAULTS["sweep_length_m"]
    reach_m: float = _core.DEFAULTS["sweep_reach_m"]
    spacing_m: float = _core.DEFAULTS["sweep_spacing_m"]
    p_detect: float = _core.DEFAULTS["sweep_p_detect"]
    p_false: float = _core.DEFAULTS["sweep_p_false"]

    def __post_init__(self) -> None:
        settle(
            self,
            by=word(self.by, "by", _core.WORDS["sweep_for"]),
            length_m=length(self.length_m, "length_m"),
            reach_m=length(self.reach_m, "reach_m"),
            spacing_m=length(self.spacing_m, "spacing_m"),
            p_detect=number(self.p_detect, "p_detect"),
            p_false=number(self.p_false, "p_false"),
        )
