"""Likely lines as a table: flags can be set from it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from underturf import _core
from underturf._checks import Length, lengths, number
from underturf._running import working
from underturf.methods.tables import table_of
from underturf.options import Running

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["likely_lines"]

#: A line further than this from its course belongs to another, metres: beyond lies one offset in five hundred.
REACH_M = _core.DEFAULTS["line_reach_m"]


def likely_lines(
    layouts: Layouts,
    least_chance: float = _core.DEFAULTS["least_chance"],
    step_m: Length = _core.DEFAULTS["step_m"],
    reach_m: Length = REACH_M,
    *,
    run: Running | None = None,
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
    run : Running, optional
        Threads, progress and memory.

    Returns
    -------
    DataFrame
        One row a station: ``line`` (from 1), ``class``, ``zone`` (that it most often belongs to;
        ``metal line``: one that `metal_lines` tells of), ``zone_share``,
        ``p_line`` (mean of ``p_here`` along the line), ``x_m``, ``y_m`` (middle of the band), ``half_width_m`` (of the
        band across the line that holds it in 90 % of the layouts that have it here), ``azimuth_deg`` (clockwise from
        north, in [0, 180)), ``span_m`` (length that the station stands for), ``p_here`` (share of layouts with a line of
        the class here), ``converged``. Lines are ordered by class, then the longest first.

    Raises
    ------
    ArgumentError
        If a number is out of range.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> lines = ut.sample_layouts(site, draws=200, seed=7).likely_lines()
    >>> bool((lines["p_here"] >= 0.25).all() and (lines["half_width_m"] > 0).all())
    True
    """
    step_m, reach_m = lengths(step_m=step_m, reach_m=reach_m)
    least_chance = number(least_chance, "least_chance")
    with working(run, "following lines") as work:
        columns = layouts._handle.likely_lines(least_chance, step_m, reach_m, *work)
    table = table_of(layouts, columns, None)
    table["line"] += 1
    return table
