"""The sheet that a crew takes to the ground."""

from __future__ import annotations

import datetime
import os
from pathlib import Path
from typing import TYPE_CHECKING

from underturf._checks import Length, absent, day, flag, lengths, number, word
from underturf._limits import memory_limit
from underturf._progress import Progress
from underturf.crew import crew_sheet as write_sheet
from underturf.crew.plan import SheetOptions
from underturf.crew.points import Places
from underturf.options import SETBACK, SETBACK_LIMIT, Weights

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["crew_sheet"]


def crew_sheet(
    layouts: Layouts,
    path: str | os.PathLike[str],
    digs: Places = None,
    probes: Places = None,
    *,
    ticket: str | None = None,
    marks_date: datetime.date | str | None = None,
    date: datetime.date | str | None = None,
    least_chance: float = 0.25,
    step_m: Length = 2.0,
    near_m: Length = 3.0,
    annex: bool = False,
    weights: Weights = None,
    setback: str = SETBACK,
    setback_limit: float = SETBACK_LIMIT,
    memory_limit_gb: float | None = None,
    threads: int | None = None,
    progress: Progress = None,
) -> Path:
    """Write the sheet that a crew takes to the ground, on one or two pages of letter (feet) or A4 (metres).

    It holds the map with spots, probes, likely lines as bands of doubt, shut-offs and tolerance zones; what to do
    before digging and if a line is hit; every spot, probe and stake as two tapes from two named fixed points and as
    distance along and square to the line of these points; evidence, assumptions, gates, cautions. It calls no spot safe.

    Parameters
    ----------
    path : str or path
        Where to write; the name ends in ``.html`` (one file, prints as it is), ``.pdf`` or ``.png``.
    digs : dig, name, list of them, result or DataFrame, optional
        Spots, numbered in this order; the site's own digs if not given. `Spots`, a `Ranking` and an `Assessment` go in as they
        are, with their trees. A table has ``x_m``, ``y_m``, ``radius_m``, ``depth_m``, and names in ``id``, ``dig``, ``spot`` or
        its index.
    probes : dig, name, list of them, ProbePlan or DataFrame, optional
        Probes in the order in which to dig them; a `ProbePlan` goes in as it is. A table has ``x_m``, ``y_m``, ``radius_m``,
        may have ``depth_m`` (0.45 m if not) and texts in ``if_clear``, ``if_found``, ``decides`` or ``reason``. A plan made
        with ``shift_m`` moves the spots that it names: they are shown, assessed and tied where they would go as things stand,
        each with where it was drawn and where it goes after each outcome. Plans read from a file: `underturf.read_probes`.
    ticket : str, optional
        Number of the one-call ticket; a blank line if not given.
    marks_date : date or str, optional
        Day of the marks, a date or ``YYYY-MM-DD``; dates of the document's marks, or a blank line, if not given.
    date : date or str, optional
        Day of the sheet, likewise; today if not given.
    least_chance, step_m
        As in `likely_lines`.
    near_m : float
        Stakes within this of a spot or probe are listed, metres, as far as two pages hold them: where they do not, the
        nearest are, and the sheet says how many are left out. All are near where there is neither.
    annex : bool
        List the other stakes too, on further pages.
    weights, setback, setback_limit
        As in `assess`.
    memory_limit_gb, threads, progress
        As in `sample_layouts`.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    MemoryLimitError
        If so many cells or places would pass the memory allowed; says how many fit.
    ArgumentError
        If the name ends in anything else, a day is none or a number is out of range, all before any work; if a table lacks
        a column, or `assess` refuses weights or setback.
    DigError
        If a dig has no size or its name is unknown.
    ImportError
        If matplotlib is not installed (``pip install underturf[plot]``).
    OSError
        If the file cannot be written; before any work, if there is no such folder or it may not be written to.

    Examples
    --------
    >>> import tempfile, underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7, progress=False)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = layouts.crew_sheet(f"{folder}/sheet.html", ticket="T-1", progress=False)
    ...     "One-call ticket no. T-1" in path.read_text(encoding="utf-8")
    True
    """
    step_m, near_m = lengths(step_m=step_m, near_m=near_m)
    least_chance, annex = number(least_chance, "least_chance"), flag(annex, "annex")
    marks_date, date = day(marks_date, "marks_date"), day(date, "date")
    ticket = None if absent(ticket) else str(ticket)
    setback, setback_limit = word(setback, "setback"), number(setback_limit, "setback_limit")
    options = SheetOptions(
        ticket, marks_date, date, least_chance, step_m, near_m, annex, weights, setback, setback_limit
    )
    with memory_limit(memory_limit_gb):
        return write_sheet(layouts, path, digs, probes, options, threads=threads, progress=progress)
