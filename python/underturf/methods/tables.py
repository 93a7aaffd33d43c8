"""What tables and results of layouts have in common."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from underturf.cautions import CAUTIONS

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["about", "marked", "table_of"]


def marked(layouts: Layouts, table: pd.DataFrame) -> pd.DataFrame:
    """Add to a table whether its figures can be relied on, row by row."""
    # A head or zone may have that name, and keeps its column.
    marks = np.full(len(table), layouts.converged)
    table.insert(len(table.columns), "converged", marks, allow_duplicates=True)
    return table


def table_of(layouts: Layouts, columns: dict[str, Any], index: str | None = "dig") -> pd.DataFrame:
    """Return columns as a table, with whether each row can be relied on."""
    table = pd.DataFrame(columns)
    table = table if index is None else table.set_index(index)
    if "converged" not in table:
        table["converged"] = layouts.converged
    table.attrs["cautions"] = list(CAUTIONS)
    return table


def about(layouts: Layouts, table: pd.DataFrame) -> dict[str, Any]:
    """Return what every result holds."""
    return {
        "site": layouts.site,
        "draws": layouts.draws,
        "seed": layouts.seed,
        "converged": layouts.converged and bool(table["converged"].all()),
        "not_assessed": layouts.not_assessed,
        "_table": table,
    }
