"""Where spots may lie and what counts beside a strike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy.typing as npt

from underturf import _core
from underturf._checks import flag, length, number, word
from underturf.digs import Method
from underturf.options.checks import length_or_none, settle
from underturf.options.trees import SETBACK_LIMIT

__all__ = ["SpotOptions"]

#: What a line within the setback of a tree costs, as a share of striking it, when nothing is said.
SETBACK_SHARE = _core.DEFAULTS["setback_share"]

#: What a building at the stem of a planted tree costs, as a share of striking a sewer, when nothing is said.
ROOTS_SHARE = _core.DEFAULTS["roots_share"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpotOptions:
    """Where spots may lie and what counts beside a strike; see `Layouts.best_spots`.

    Parameters
    ----------
    names : str or sequence of str, optional
        Names of the holes; ``spot 1``, ``spot 2``, ... by loss if not given.
    spacing_m : float or str
        Least distance between two centres, metres.
    gap_m : float or str, optional
        Least distance between the edges of two holes, metres; 0.3 if not given: walls between holes have to stand (common
        practice, no source).
    setback : str, optional
        A name of `underturf.setbacks`, for trees without one of their own; the default one where a tree is given, none otherwise.
        What is known to lie within it (a mark, flagged metal, a meter) bars a place; what is likely to (a sampled line) adds to
        its loss.
    setback_limit : float
        Greatest probability of a line within the setback of a tree at which a place is taken for it.
    setback_share : float
        What a line within the setback costs, as a share of striking it (common practice, no source).
    roots_share : float
        What a building or pool at the stem costs, as a share of striking a sewer; less the further off it is, in proportion, and
        nothing at the end of the roots at maturity (common practice, no source). Lines within these roots are left to the
        setback.
    spare_roots : bool
        Whether to keep holes out of the protected roots of standing trees (BS 5837:2012, `underturf.root_protection_m`).
    from_building_m, from_boundary_m : float or str
        Least distance from the edge of a hole to a building or pool, and to the boundary, metres.
    cell_m : float or str
        Side of a cell, metres.
    within : array_like, shape (k, 2), optional
        Corners of the ground to stay in, metres.
    method : {"hand", "machine"}
        Who digs.

    Raises
    ------
    ArgumentError
        If a value is none of these or no length; when used: one that is out of range.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.SpotOptions(spacing_m="10 ft", method="machine").spacing_m
    3.048
    """

    names: str | Sequence[str] | None = None
    spacing_m: float = 0.0
    gap_m: float | None = None
    setback: str | None = None
    setback_limit: float = SETBACK_LIMIT
    setback_share: float = SETBACK_SHARE
    roots_share: float = ROOTS_SHARE
    spare_roots: bool = True
    from_building_m: float = _core.DEFAULTS["from_building_m"]
    from_boundary_m: float = 0.0
    cell_m: float = _core.DEFAULTS["spot_cell_m"]
    within: npt.ArrayLike | None = None
    method: Method = "hand"

    def __post_init__(self) -> None:
        settle(
            self,
            spacing_m=length(self.spacing_m, "spacing_m"),
            gap_m=length_or_none(self.gap_m, "gap_m"),
            setback=None if self.setback is None else word(self.setback, "setback"),
            setback_limit=number(self.setback_limit, "setback_limit"),
            setback_share=number(self.setback_share, "setback_share"),
            roots_share=number(self.roots_share, "roots_share"),
            spare_roots=flag(self.spare_roots, "spare_roots"),
            from_building_m=length(self.from_building_m, "from_building_m"),
            from_boundary_m=length(self.from_boundary_m, "from_boundary_m"),
            cell_m=length(self.cell_m, "cell_m"),
            method=word(self.method, "method", _core.WORDS["method"]),
        )
