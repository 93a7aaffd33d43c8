"""Pictures of the report, as PNG that a page can hold: the plan of the site, and one map of chances."""

from __future__ import annotations

import base64
import io
from typing import TYPE_CHECKING, Any

from underturf._extras import needs

if TYPE_CHECKING:
    from underturf.dig_lists import Digs
    from underturf.layouts import Layouts
    from underturf.options import Running

__all__ = ["map_picture", "plan_picture"]

#: Dots per inch: letters of 7 points stay sharp on paper.
DPI = 170

#: The hole of the map, metres: a small shrub. Design.
RADIUS_M, DEPTH_M = {"m": 0.3, "ft": 0.3048}, {"m": 0.45, "ft": 0.4572}

#: Side of a cell, metres, and most cells along a side: a picture shows no more.
CELL_M, MOST_CELLS = 0.1, 400


def plan_picture(layouts: Layouts, digs: Digs) -> str:
    """Return the plan of the site with its digs and a few layouts, as PNG in base64."""
    return encoded(layouts.plot(digs=digs))


def map_picture(layouts: Layouts, run: Running | None) -> tuple[str, str]:
    """Return the map of chances of one hole, as PNG in base64, and what is dug."""
    units = layouts.site.units
    coarse = layouts.strike_map(RADIUS_M[units], DEPTH_M[units], 1.0, run=run)
    cell = max(CELL_M, max(coarse.p.shape) * coarse.cell_m / MOST_CELLS)
    smap = layouts.strike_map(RADIUS_M[units], DEPTH_M[units], cell, run=run)
    return encoded(smap.plot()), smap.what


def encoded(ax: Any) -> str:
    """Return the figure of some axes as PNG in base64, and close it."""
    needs("a picture", "matplotlib")
    import matplotlib.pyplot as plt

    stream = io.BytesIO()
    ax.figure.savefig(stream, format="png", dpi=DPI, bbox_inches="tight")
    plt.close(ax.figure)
    return base64.b64encode(stream.getvalue()).decode("ascii")
