"""What page 1 has room for: title and orders first, then the map of the site, as large as the rest of the page allows.

The typesetter measures what stands above the map, and the legend for each number of columns; so nothing here guesses how long
a line of text is. Where the map comes out too small for its labels, detail maps follow.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from underturf.crew import paper
from underturf.crew.document import Data, keys_data
from underturf.crew.drawing.fit import BESIDE, LEFT, RIGHT, WIDE_COLUMNS, Fit, fitted
from underturf.crew.drawing.picture import Picture, detail_maps, frame_key, ground_of, legend_of, page_map
from underturf.crew.drawing.windows import windows_of
from underturf.crew.sizes import inner_of

if TYPE_CHECKING:
    from underturf.crew.plan import Plan

__all__ = ["first_maps", "fit_of"]


def first_maps(plan: Plan, sheet: Data, above: Iterable[Data], *, text_as: str) -> tuple[Picture, list[Picture]]:
    """Draw the map of page 1 and the detail maps.

    Parameters
    ----------
    plan : Plan
        What the sheet tells.
    sheet : dict
        Title and paper of the sheet.
    above : iterable of dict
        Blocks that stand above the map.
    text_as : str
        As in `underturf.crew.drawing.legend.svg_of`.
    """
    above, legend = list(above), legend_of(plan, text_as=text_as)
    fit = fit_of(plan, sheet, above, keys_data(legend))
    per_inch = ground_of(plan)[0] / (fit.width - LEFT - RIGHT)
    windows, scale = windows_of(plan, per_inch)
    if not windows or scale is None:
        return page_map(plan, fit, legend=legend, text_as=text_as), []
    # Frames have a key, so there is less room for the map.
    legend += () if windows[0].whole else frame_key(text_as=text_as)
    fit = fit_of(plan, sheet, above, keys_data(legend))
    details = detail_maps(plan, windows, scale, text_as=text_as)
    return page_map(plan, fit, windows, legend=legend, text_as=text_as), details


def fit_of(plan: Plan, sheet: Data, above: list[Data], keys: list[Data]) -> Fit:
    """Return how the map and a legend share page 1 below some blocks."""
    inner = inner_of(plan.units)
    widths = BESIDE | {WIDE_COLUMNS: inner[0]}
    legends = [
        {"width": width, "title": False, "blocks": [{"kind": "keys", "legend": keys, "columns": columns}]}
        for columns, width in widths.items()
    ]
    orders, *heights = paper.heights(sheet, [{"width": inner[0], "title": True, "blocks": above}, *legends])
    return fitted(ground_of(plan), inner, orders, dict(zip(widths, heights, strict=True)))
