"""Write the sheet for the crew to a file: HTML, PDF or PNG by the ending of its name."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from underturf._checks import output
from underturf._progress import Progress
from underturf.crew.content import content
from underturf.crew.frame import legend_rows
from underturf.crew.html import html
from underturf.crew.pages import Pages, fitted
from underturf.crew.plan import SheetOptions, make_plan
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
    options: SheetOptions,
    *,
    threads: int | None = None,
    progress: Progress = None,
) -> Path:
    """Write the sheet; see `Layouts.crew_sheet`."""
    path = output(path, ENDINGS)
    ending = path.suffix.lower()
    if not options.near_m >= 0:
        raise ArgumentError(f"near_m is {options.near_m}; it must be 0 or more")
    import matplotlib as mpl  # before the long work: it may not be installed

    plan = make_plan(layouts, digs, probes, options, threads=threads, progress=progress)
    looks = {"pdf.fonttype": 42, "hatch.linewidth": 0.4, "text.hinting": "none"}
    try:
        with mpl.rc_context(looks):
            pages = fitted(plan, annex=options.annex)
            if ending == ".html":
                path.write_text(html(pages, annex=options.annex), encoding="utf-8")
            elif ending == ".pdf":
                write_pdf(pages, path)
            else:
                write_png(pages, path)
    finally:
        # What was kept of this plan while layouts were tried would keep its draws in memory.
        content.cache_clear()
        legend_rows.cache_clear()
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
