"""The report of a site for the file."""

from __future__ import annotations

import datetime
import os
from pathlib import Path
from typing import TYPE_CHECKING

from underturf._atomic import replacing
from underturf._checks import day, output
from underturf._extras import needs
from underturf.dig_lists import Digs
from underturf.errors import must_be
from underturf.options import Running, SensitivityOptions
from underturf.results.sensitivity import Sensitivity
from underturf.site_report.document import Report, report_html

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["report"]

#: What names of reports may end in.
ENDINGS = (".html", ".htm")


def report(
    layouts: Layouts,
    path: str | os.PathLike[str],
    *,
    digs: Digs = None,
    sensitivity: Sensitivity | SensitivityOptions | bool = True,
    date: datetime.date | str | None = None,
    run: Running | None = None,
) -> Path:
    """Write a report of the site for the file: one HTML file that prints as it is.

    It holds the digs with chances and verdicts, a plan and a map, what the document holds and what is odd in it, the
    settings that differ from what is shipped, the settings that matter for each dig (`sensitivity`, which takes most of
    the time), convergence, versions, seed and the document itself, so that all can be done again. The cautions stand at
    its head and at its foot.

    Parameters
    ----------
    path : str or path
        Where to write; the name ends in ``.html``.
    digs : dig, name, list of them, result or DataFrame, optional
        As in `strike_probability`.
    sensitivity : Sensitivity, SensitivityOptions or bool
        Effects that were worked out before, how to work them out, or whether to.
    date : date or str, optional
        Day of the report, a date or ``YYYY-MM-DD``; today if not given.
    run : Running, optional
        Threads, progress and memory.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    ArgumentError
        If the name ends in anything else, or a day is none; before any work.
    DigError
        If a dig has no size or its name is unknown.
    ImportError
        If matplotlib is not installed (``pip install underturf[plot]``); before any work.
    ConvergenceError, EffortError, LayoutError
        As in `sensitivity`.
    OSError
        If the file cannot be written; before any work, if there is no such folder or it may not be written to.

    Examples
    --------
    >>> import tempfile, underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = layouts.report(f"{folder}/report.html", sensitivity=False)
    ...     "A probability is not a clearance" in path.read_text(encoding="utf-8")
    True
    """
    where = output(path, ENDINGS)
    when = day(date, "date") or datetime.date.today().isoformat()
    needs("a report", "matplotlib")
    if not isinstance(sensitivity, Sensitivity | SensitivityOptions | bool):
        raise must_be("sensitivity", sensitivity, "a Sensitivity, SensitivityOptions, True or False")
    assessment = layouts.assess(digs, run=run)
    effects, why_not = None, ""
    if isinstance(sensitivity, Sensitivity):
        effects = sensitivity
    elif sensitivity is False:
        why_not = "Settings were not moved for this report."
    elif len(assessment):
        options = None if sensitivity is True else sensitivity
        effects = layouts.sensitivity(assessment, options=options, accept_unconverged=not layouts.converged, run=run)
    text = report_html(Report(layouts, assessment, effects, why_not, when), run)
    with replacing(where) as written:
        written.write_text(text, encoding="utf-8")
    return where
