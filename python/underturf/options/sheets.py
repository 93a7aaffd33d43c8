"""What the sheet for the crew shows besides its spots and probes."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import TypeAlias

from underturf import _core
from underturf._checks import absent, day, flag, length, number
from underturf.options.checks import chosen, settle
from underturf.options.trees import TreeRules
from underturf.options.weights import Weights

__all__ = ["SheetOptions"]

Day: TypeAlias = datetime.date | str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetOptions:
    """What the sheet for the crew shows besides its spots and probes; see `Layouts.crew_sheet`.

    Parameters
    ----------
    ticket : str, optional
        Number of the one-call ticket; a blank line if not given.
    marks_date : date or str, optional
        Day of the marks, a date or ``YYYY-MM-DD``; dates of the document's marks, or a blank line, if not given.
    date : date or str, optional
        Day of the sheet, likewise; today if not given.
    least_chance : float
        Least share of layouts that have a likely line at a station, as in `Layouts.likely_lines`.
    step_m : float or str
        Greatest distance between stakes, metres.
    near_m : float or str
        Stakes within this of a spot or probe are listed, metres; the sheet says how many are left out. All are near where there
        is neither.
    annex : bool
        Whether to list the other stakes too, on further pages.
    full_page_map : bool
        Whether to add a map on a page of its own at a standard scale: 1 in = 10 ft for documents in feet, 1:100 in metres, the
        next one that fits where the ground is larger. Printed at actual size it is measured with a scale ruler.
    weights : mapping of str to float, optional
        As in `Layouts.assess`.
    rules : TreeRules, optional
        As in `Layouts.assess`.

    Raises
    ------
    ArgumentError
        If a value is not a length, number or day; when used: one that is out of range.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.SheetOptions(ticket=4711, step_m="6 ft").ticket
    '4711'
    """

    ticket: str | None = None
    marks_date: Day = None
    date: Day = None
    least_chance: float = _core.DEFAULTS["least_chance"]
    step_m: float = _core.DEFAULTS["step_m"]
    near_m: float = 3.0
    annex: bool = False
    full_page_map: bool = False
    weights: Weights = None
    rules: TreeRules | None = None

    def __post_init__(self) -> None:
        settle(
            self,
            ticket=None if absent(self.ticket) else str(self.ticket),
            marks_date=day(self.marks_date, "marks_date"),
            date=day(self.date, "date"),
            least_chance=number(self.least_chance, "least_chance"),
            step_m=length(self.step_m, "step_m"),
            near_m=length(self.near_m, "near_m"),
            annex=flag(self.annex, "annex"),
            full_page_map=flag(self.full_page_map, "full_page_map"),
            rules=chosen(self.rules, TreeRules, "rules"),
        )
