"""Decisions that later versions bring: named now, so that a program can ask, and refused with what to do meanwhile."""

from __future__ import annotations

import pandas as pd

from underturf.digs import Digs
from underturf.errors import NotAvailableError

__all__ = ["LaterDecisions"]


class LaterDecisions:
    """The part of `Layouts` that is not available yet."""

    __slots__ = ()

    def plan_probes(self, digs: Digs = None, n: int = 8, radius_m: float = 0.25) -> pd.DataFrame:
        """Choose exploratory hand digs that teach most. Not available yet.

        Raises
        ------
        NotAvailableError
            Always, in this version.
        """
        raise NotAvailableError(
            "plan_probes is not available yet: probes are learned from, not chosen; uncover by hand where assess says so"
        )

    def plan_station_tests(self) -> pd.DataFrame:
        """Choose valves to run. Not available yet.

        Raises
        ------
        NotAvailableError
            Always, in this version.
        """
        raise NotAvailableError(
            "plan_station_tests is not available yet: run the valves one by one and enter each with with_station_test"
        )
