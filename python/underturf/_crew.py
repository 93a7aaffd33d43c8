"""What goes to the ground: likely lines as a table, and the sheet for the crew."""

from __future__ import annotations

import datetime
import os
from pathlib import Path

import pandas as pd

from underturf._checks import Length, absent, day, flag, lengths, number, word, worker_threads
from underturf._decide import SETBACK, SETBACK_LIMIT, Weights
from underturf._limits import memory_limit
from underturf._part import Part
from underturf._progress import Progress, progress_callback
from underturf._zones import valve_words
from underturf.crew import crew_sheet
from underturf.crew.plan import SheetOptions
from underturf.crew.points import Places

__all__ = ["Crew"]

#: A line further than this from its course belongs to another, metres: beyond lies one offset in five hundred.
REACH_M = 1.0


class Crew(Part):
    """The part of `Layouts` that a crew takes to the ground."""

    __slots__ = ()

    def likely_lines(
        self,
        least_chance: float = 0.25,
        step_m: Length = 2.0,
        reach_m: Length = REACH_M,
        *,
        threads: int | None = None,
        progress: Progress = None,
    ) -> pd.DataFrame:
        """Tell where lines probably run, station by station, with the width of doubt: flags can be set from it.

        A line counts by where it lies, not by the zone it is fed from. Counted over draws; below ``least_chance`` other
        courses are possible everywhere.

        Parameters
        ----------
        least_chance : float
            Least share of layouts that have the line at a station, above 0 and at most 1.
        step_m : float
            Greatest distance between stations, metres.
        reach_m : float
            A line further aside from a course than this belongs to another, metres.
        threads, progress
            As in `sample_layouts`.

        Returns
        -------
        DataFrame
            One row a station: ``line`` (from 1), ``class``, ``zone`` (that it most often belongs to), ``zone_share``,
            ``line_chance`` (mean along the line), ``x_m``, ``y_m`` (middle of the band), ``half_width_m`` (of the band across the
            line that holds it in 90 % of the layouts that have it here), ``bearing_deg`` (counter-clockwise from x), ``span_m``
            (length that the station stands for), ``chance`` (share of layouts with a line of the class here),
            ``converged``. Lines are ordered by class, then the longest first. ``attrs`` hold the cautions.

        Raises
        ------
        ArgumentError
            If a number is out of range.

        Examples
        --------
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green"))
        >>> lines = ut.sample_layouts(site, draws=200, seed=7, progress=False).likely_lines(progress=False)
        >>> bool((lines["chance"] >= 0.25).all() and (lines["half_width_m"] > 0).all())
        True
        """
        step_m, reach_m = lengths(step_m=step_m, reach_m=reach_m)
        least_chance = number(least_chance, "least_chance")
        with progress_callback(progress, "following lines") as callback:
            columns = self._handle.likely_lines(least_chance, step_m, reach_m, worker_threads(threads), callback)
        words = valve_words(self._handle.zones)
        columns["zone"] = [words.get(zone, zone) for zone in columns["zone"]]
        table = self._table(columns, None)
        table["line"] += 1
        return table

    def crew_sheet(
        self,
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
        full_page_map: bool = False,
        weights: Weights = None,
        setback: str = SETBACK,
        setback_limit: float = SETBACK_LIMIT,
        memory_limit_gb: float | None = None,
        threads: int | None = None,
        progress: Progress = None,
    ) -> Path:
        """Write the sheet that a crew takes to the ground, on US Letter (feet) or A4 (metres).

        It holds the map with spots, probes, likely lines as bands of doubt, shut-offs and tolerance zones; what to do
        before digging and if a line is hit; every spot, probe and stake as two tapes from two named fixed points and as
        distance along and square to the line of these points; evidence, assumptions, gates, cautions. It calls no spot safe.

        Parameters
        ----------
        path : str or path
            Where to write; the name ends in ``.html`` (one file, prints as it is), ``.pdf`` or ``.png``.
        digs : dig, name, list of them, or DataFrame, optional
            Spots, numbered in this order; the site's own digs if not given. A table has ``x_m``, ``y_m``, ``radius_m``,
            ``depth_m``, and names in ``id``, ``dig``, ``spot`` or its index; that of `best_spots` goes in as it is, with its
            trees.
        probes : dig, name, list of them, or DataFrame, optional
            Probes in the order in which to dig them. A table has ``x_m``, ``y_m``, ``radius_m``, may have ``depth_m`` (0.45 m
            if not) and texts in ``if_clear``, ``if_found``, ``decides`` or ``reason``. A plan made with ``shift_m`` moves the
            spots that it names: they are shown, assessed and tied where they would go as things stand, each with where it was
            drawn and where it goes after each outcome. Plans read from a file: `underturf.read_probes`.
        ticket : str, optional
            Number of the one-call ticket; a blank line if not given.
        marks_date : date or str, optional
            Day of the marks, a date or ``YYYY-MM-DD``; dates of the document's marks, or a blank line, if not given.
        date : date or str, optional
            Day of the sheet, likewise; today if not given.
        least_chance, step_m
            As in `likely_lines`.
        near_m : float
            Stakes within this of a spot or probe are listed, metres; the sheet says how many are left out. All are near where
            there is neither.
        annex : bool
            List the other stakes too, on further pages.
        full_page_map : bool
            Add a map on a page of its own at a standard scale: 1 in = 10 ft for documents in feet, 1:100 in metres, the next
            one that fits where the ground is larger. Printed at actual size it is measured with a scale ruler.
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
            If matplotlib, jinja2 or typst is not installed (``pip install underturf[plot,paper]``); before any work.
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
        from underturf.layouts import Layouts

        assert isinstance(self, Layouts)  # noqa: S101 - a mixin of Layouts alone
        step_m, near_m = lengths(step_m=step_m, near_m=near_m)
        least_chance, annex = number(least_chance, "least_chance"), flag(annex, "annex")
        marks_date, date = day(marks_date, "marks_date"), day(date, "date")
        full_page_map = flag(full_page_map, "full_page_map")
        ticket = None if absent(ticket) else str(ticket)
        setback, setback_limit = word(setback, "setback"), number(setback_limit, "setback_limit")
        options = SheetOptions(
            ticket,
            marks_date,
            date,
            least_chance,
            step_m,
            near_m,
            annex,
            weights,
            setback,
            setback_limit,
            full_page_map,
        )
        with memory_limit(memory_limit_gb):
            return crew_sheet(self, path, digs, probes, options, threads=threads, progress=progress)
