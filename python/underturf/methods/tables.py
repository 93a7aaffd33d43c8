"""Tables with what their reader must know."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from underturf import _core
from underturf.cautions import CAUTIONS, TOTAL

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["marked", "table_of"]


def marked(layouts: Layouts, table: pd.DataFrame, **attrs: Any) -> pd.DataFrame:
    """Add to a table whether its figures can be relied on, row by row: joining tables loses their attributes."""
    # A head or zone may have that name, and keeps its column.
    marks = np.full(len(table), layouts.converged)
    table.insert(len(table.columns), "converged", marks, allow_duplicates=True)
    told: dict[Any, Any] = {"converged": layouts.converged, **attrs}
    table.attrs = told
    return table


def table_of(layouts: Layouts, columns: dict[str, Any], index: str | None = "dig") -> pd.DataFrame:
    """Return a table with what its reader must know."""
    table = pd.DataFrame(columns)
    table = table if index is None else table.set_index(index)
    if "converged" not in table:
        table["converged"] = layouts.converged
    table.attrs = {
        "p_strike": TOTAL,
        "not_assessed": [
            name for name, known in zip(_core.CLASSES, layouts._handle.assessed, strict=True) if not known
        ],
        "units": layouts._site.units,
        "north_deg": layouts._site._handle.north_deg,
        "draws": layouts._handle.draws,
        "seed": layouts._handle.seed,
        "converged": layouts.converged and bool(table["converged"].all()),
        "cautions": list(CAUTIONS),
    }
    return table
