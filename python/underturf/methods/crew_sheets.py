"""The sheet that a crew takes to the ground."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from underturf._limits import memory_limit
from underturf.crew import crew_sheet as write_sheet
from underturf.crew.points import Places
from underturf.options import Running, SheetOptions, chosen

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["crew_sheet"]


def crew_sheet(
    layouts: Layouts,
    path: str | os.PathLike[str],
    digs: Places = None,
    probes: Places = None,
    *,
    options: SheetOptions | None = None,
    run: Running | None = None,
) -> Path:
    """Write the sheet that a crew takes to the ground, on US Letter (feet) or A4 (metres).

    It holds the map with spots, probes, likely lines as bands of doubt, shut-offs and tolerance zones; what to do
    before digging and if a line is hit; every spot, probe and stake as two tapes from two named fixed points and as
    distance along and square to the line of these points; evidence, assumptions, convergence, cautions. It calls no spot safe.

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
    options : SheetOptions, optional
        Ticket and days, stakes to list, weights and rules of trees.
    run : Running, optional
        Threads, progress and memory.

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
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = layouts.crew_sheet(f"{folder}/sheet.html", options=ut.SheetOptions(ticket="T-1"))
    ...     "One-call ticket no. T-1" in path.read_text(encoding="utf-8")
    True
    """
    asked, how = chosen(options, SheetOptions, "options"), chosen(run, Running, "run")
    threads = None if how.threads is None else int(how.threads)
    with memory_limit(how.memory_limit_gb):
        return write_sheet(layouts, path, digs, probes, asked, threads=threads, progress=how.progress)
