"""What every part of `Layouts` stands on: the engine's layouts, their site, and tables with what their reader must know."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from underturf import _core
from underturf.cautions import CAUTIONS

if TYPE_CHECKING:
    from underturf.site import Site

__all__ = ["Part"]

#: What the total of every table is, since classes without evidence are not in it.
TOTAL = "assessed classes and floor only"


class Part:
    """A part of `Layouts`; each part is a file of its own."""

    __slots__ = ()

    _handle: _core.Layouts
    _site: Site

    @property
    def converged(self) -> bool:
        """Whether the figures can be relied on: draws are independent, or their chains passed every gate."""
        return self._handle.passed is not False

    def _marked(self, table: pd.DataFrame, **attrs: Any) -> pd.DataFrame:
        """Add to a table whether its figures can be relied on, row by row: joining tables loses their attributes."""
        # A head or zone may have that name, and keeps its column.
        marks = np.full(len(table), self.converged)
        table.insert(len(table.columns), "converged", marks, allow_duplicates=True)
        told: dict[Any, Any] = {"converged": self.converged, **attrs}
        table.attrs = told
        return table

    def _table(self, columns: dict[str, Any], index: str | None = "dig") -> pd.DataFrame:
        """Return a table with what its reader must know."""
        table = pd.DataFrame(columns)
        table = table if index is None else table.set_index(index)
        if "converged" not in table:
            table["converged"] = self.converged
        table.attrs = {
            "p_strike": TOTAL,
            "not_assessed": [
                name for name, known in zip(_core.CLASSES, self._handle.assessed, strict=True) if not known
            ],
            "units": self._site.units,
            "north_deg": self._site._handle.north_deg,
            "draws": self._handle.draws,
            "seed": self._handle.seed,
            "converged": self.converged and bool(table["converged"].all()),
            "cautions": list(CAUTIONS),
        }
        return table
