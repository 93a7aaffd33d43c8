"""What was drawn: every piece of line of every layout, and the bearings of the grid."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from underturf import _core
from underturf.methods.tables import marked

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["bearings", "segments"]


def bearings(layouts: Layouts) -> pd.DataFrame:
    """Grid bearings along which pipe may run, by the heads and edges of the site and by what probes found.

    Returns
    -------
    DataFrame
        ``azimuth_deg`` (clockwise from north, in [0, 90); the grid's other axis is square to it),
        ``probability`` (given all evidence), ``before_probes`` (without what probes found) and ``converged`` (false: do
        not rely on ``probability``), likeliest first.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> table = layouts.bearings()
    >>> bool(table["azimuth_deg"].between(0, 90).all()), round(float(table["probability"].sum()), 6)
    (True, 1.0)
    """
    table = pd.DataFrame(layouts._handle.bearings, columns=["azimuth_deg", "probability", "before_probes"])
    return marked(layouts, table.sort_values("probability", ascending=False, ignore_index=True))


def segments(layouts: Layouts) -> pd.DataFrame:
    """Every straight piece of line of every draw.

    Returns
    -------
    DataFrame
        One row a piece: ``draw``, ``zone`` (zone or system; ``metal line`` for what flags, marks, services and finds tell of),
        ``class``, ``kind`` (of run; ``metal`` for such a line), ``x0_m``, ``y0_m``, ``x1_m``, ``y1_m``,
        ``cover_m`` (ground above the top of the pipe), ``diameter_m`` (outside), ``converged`` (false: do not rely on the
        row).

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> pieces = layouts.segments()
    >>> int(pieces["draw"].nunique()), bool((pieces["cover_m"] > 0).all())
    (50, True)
    """
    columns = layouts._handle.segments()
    for name, words in (("zone", layouts._handle.systems), ("class", _core.CLASSES), ("kind", _core.KINDS)):
        columns[name] = pd.Categorical.from_codes(columns[name], pd.Index(list(words)))
    return marked(layouts, pd.DataFrame(columns))
