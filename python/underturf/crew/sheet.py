"""Write the sheet for the crew to a file: HTML, PDF or PNG by the ending of its name."""

from __future__ import annotations

import datetime
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from underturf.crew.html import html
from underturf.crew.pages import Pages, fitted
from underturf.crew.plan import make_plan
from underturf.crew.points import Places
from underturf.errors import ArgumentError

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["crew_sheet"]

#: Dots per inch of a PNG.
DPI = 150

#: What names of files may end in.
ENDINGS = (".html", ".pdf", ".png")


def crew_sheet(
    layouts: Layouts,
    path: str | os.PathLike[str],
    digs: Places,
    probes: Places,
    *,
    ticket: str | None,
    marks_date: datetime.date | str | None,
    date: datetime.date | str | None,
    least_chance: float,
    step_m: float,
    near_m: float,
    annex: bool,
    threads: int | None,
    progress: Any,
) -> Path:
    """Write the sheet; see `Layouts.crew_sheet`."""
    path = Path(path)
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise ArgumentError(f"{path.name} must end in .html, .pdf or .png")
    if not near_m >= 0:
        raise ArgumentError(f"near_m is {near_m}; it must be 0 or more")
    import matplotlib as mpl  # before the long work: it may not be installed

    plan = make_plan(
        layouts, digs, probes, ticket=ticket, marks_date=marks_date, date=date, least_chance=least_chance,
        step_m=step_m, near_m=near_m, threads=threads, progress=progress,
    )  # fmt: skip
    with mpl.rc_context({"text.parse_math": False, "pdf.fonttype": 42, "hatch.linewidth": 0.4, "text.hinting": "none"}):
        pages = fitted(plan, annex=annex)
        if ending == ".html":
            path.write_text(html(pages, annex=annex), encoding="utf-8")
        elif ending == ".pdf":
            write_pdf(pages, path)
        else:
            write_png(pages, path)
    return path


def write_pdf(pages: Pages, path: Path) -> None:
    """Write the pages as PDF."""
    from matplotlib.backends.backend_pdf import PdfPages

    about = {"Title": f"Dig sheet: {pages.plan.site.name or ''}", "Creator": "underturf", "CreationDate": None}
    with PdfPages(path, metadata=about) as file:
        for figure in pages.figures():
            file.savefig(figure)


def write_png(pages: Pages, path: Path) -> None:
    """Write the pages as one picture, one below the other."""
    from matplotlib.image import imsave

    pictures = []
    for figure in pages.figures():
        figure.set_dpi(DPI)
        canvas: Any = figure.canvas
        canvas.draw()
        pictures.append(np.asarray(canvas.buffer_rgba())[..., :3])
    imsave(path, np.ascontiguousarray(np.vstack(pictures)), dpi=DPI)
