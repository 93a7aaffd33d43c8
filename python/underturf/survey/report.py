"""What a survey took, what it left and why: one row a thing, and sentences that hold for all of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

import pandas as pd

from underturf._page import page, text_page

__all__ = ["ReportRow", "SurveyReport"]

#: What can become of a thing.
Action = Literal["taken", "left", "merged", "changed"]
ACTIONS: tuple[str, ...] = ("taken", "left", "merged", "changed")


class ReportRow(NamedTuple):
    """A thing in a file and what became of it; `SurveyReport` lists them."""

    #: Name of the file.
    file: str
    #: Where in it: ``row 3``; empty for the file as a whole.
    place: str
    #: What it is.
    what: str
    #: ``taken``, ``left``, ``merged`` or ``changed``.
    action: str
    #: Why; empty where it was taken as it stands.
    reason: str


@dataclass(frozen=True, slots=True, repr=False)
class SurveyReport:
    """What became of everything in the files of a survey.

    Attributes
    ----------
    rows : tuple of ReportRow
        One a thing, in the order of the files.
    notes : tuple of str
        Sentences on projection, units, rounding and accuracy.

    Examples
    --------
    >>> report = SurveyReport((ReportRow("a.csv", "row 2", "HD (heads)", "taken", ""),), ("Rounded to 0.001 m.",))
    >>> report
    <SurveyReport: 1 taken, 0 left, 0 merged, 0 changed>
    >>> report.table()["action"].tolist()
    ['taken']
    """

    rows: tuple[ReportRow, ...]
    notes: tuple[str, ...] = ()

    def table(self) -> pd.DataFrame:
        """Return the rows as a table: ``file``, ``place``, ``what``, ``action``, ``reason``.

        Examples
        --------
        >>> list(SurveyReport(()).table().columns)
        ['file', 'place', 'what', 'action', 'reason']
        """
        return pd.DataFrame(list(self.rows), columns=list(ReportRow._fields))

    def counts(self) -> dict[str, int]:
        """Return how many things were taken, left, merged and changed.

        Examples
        --------
        >>> SurveyReport(()).counts()
        {'taken': 0, 'left': 0, 'merged': 0, 'changed': 0}
        """
        found = Counter(row.action for row in self.rows)
        return {action: found[action] for action in ACTIONS}

    def __iter__(self) -> Iterator[ReportRow]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    def _odd(self) -> pd.DataFrame:
        """Return the rows that were not taken as they stand."""
        table = self.table()
        return table[table["action"] != "taken"].reset_index(drop=True)

    def __repr__(self) -> str:
        return f"<SurveyReport: {', '.join(f'{count} {action}' for action, count in self.counts().items())}>"

    def __str__(self) -> str:
        odd = self._odd()
        lines = [
            f"{row.action}: {row.file}{', ' if row.place else ''}{row.place}: {row.what}: {row.reason}"
            for row in odd.itertuples()
        ]
        return text_page(repr(self), pd.DataFrame(), [*lines, *self.notes])

    def _repr_html_(self) -> str:
        return page(repr(self), self._odd(), self.notes)
