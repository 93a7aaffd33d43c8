"""Write the sheet for the crew to a file: HTML, PDF or PNG by the ending of its name."""

from __future__ import annotations

import itertools
import os
from pathlib import Path
from typing import TYPE_CHECKING

from underturf._atomic import replacing
from underturf._checks import output
from underturf._extras import needs
from underturf._progress import Progress
from underturf.crew import browser, paper
from underturf.crew.blocks import Map
from underturf.crew.content import content, footer, title
from underturf.crew.document import Data, block_data, details_data, map_data, scale_data
from underturf.crew.drawing.picture import scale_map
from underturf.crew.page_one import first_maps
from underturf.crew.plan import Plan, SheetOptions, make_plan
from underturf.crew.points import Places
from underturf.crew.sizes import BOTTOM, MARGIN, PAPER, TEXT, inner_of
from underturf.errors import ArgumentError

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["ENDINGS", "crew_sheet", "sheet_data"]

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
    if not options.near_m >= 0:
        raise ArgumentError(f"near_m is {options.near_m}; it must be 0 or more")
    needs("a crew sheet", "matplotlib", "jinja2", "typst")
    plan = make_plan(layouts, digs, probes, options, threads=threads, progress=progress)
    ending = path.suffix.lower()
    if ending == ".html":
        sheet = browser.html(sheet_data(plan, text_as="path")).encode()
    else:
        sheet = (paper.pdf if ending == ".pdf" else paper.png)(sheet_data(plan, text_as="none"))
    with replacing(path) as part:
        part.write_bytes(sheet)
    return path


def sheet_data(plan: Plan, *, text_as: str) -> Data:
    """Return everything that a sheet says and shows, as data.

    Parameters
    ----------
    plan : Plan
        What it tells.
    text_as : str
        Whether maps keep their text, ``"none"``, or draw its outlines, ``"path"``: see `underturf.crew.drawing.legend.svg_of`.
    """
    width, height, name = PAPER[plan.units]
    large, below = title(plan)
    sheet: Data = {
        "title": large,
        "subtitle": below,
        "footer": footer(plan),
        "paper": {"width": width, "height": height, "name": name, "margin": MARGIN, "bottom": BOTTOM, "text": TEXT},
        "inner": inner_of(plan.units)[0],
    }
    blocks = content(plan, annex=plan.options.annex)
    above = itertools.takewhile(lambda block: not isinstance(block, Map), blocks)
    first, details = first_maps(plan, sheet, [block_data(block, {}) for block in above], text_as=text_as)
    maps = {"first": map_data(first), "details": details_data(details)}
    if plan.options.full_page_map:
        maps["scale"] = scale_data(scale_map(plan, text_as=text_as), large)
    return {**sheet, "blocks": [block_data(block, maps) for block in blocks]}
