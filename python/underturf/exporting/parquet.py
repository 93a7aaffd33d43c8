"""Tables as Parquet: types and lists are kept, what is not known is null, and the file's schema carries what it says of itself.

The schema's metadata holds it whole as JSON under ``underturf``, and each part as a text under its own name.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

if TYPE_CHECKING:
    from underturf.exporting.about import About

__all__ = ["write_parquet"]


def write_parquet(path: Path, table: pd.DataFrame, said: About, plane: str) -> None:
    """Write a table."""
    import pyarrow
    from pyarrow import parquet

    plain = pd.DataFrame({str(name): tidy(table[name]) for name in table.columns})
    made = pyarrow.Table.from_pandas(plain, preserve_index=False)
    texts = {**said.texts(), "coordinates": plane}
    whole = json.dumps({**said.whole(), "coordinates": plane}, ensure_ascii=False, default=str)
    kept = {**(made.schema.metadata or {}), **{key: text.encode() for key, text in texts.items()}}
    parquet.write_table(made.replace_schema_metadata({**kept, b"underturf": whole.encode()}), path)


def tidy(column: pd.Series[Any]) -> pd.Series[Any]:
    """Return a column of one type: lists of texts stay lists, a column without any cell is one of texts."""
    if column.dtype != object:
        return column
    cells = [list(cell) if isinstance(cell, tuple) else None if not isinstance(cell, list) and missing(cell) else cell
             for cell in column.tolist()]  # fmt: skip
    known = [cell for cell in cells if cell is not None]
    if not known:
        return pd.Series(cells, index=column.index, dtype="string")
    if len({kind_of(cell) for cell in known}) > 1:
        cells = [None if cell is None else str(cell) for cell in cells]
    return pd.Series(cells, index=column.index, dtype="object")


def kind_of(cell: Any) -> str:
    """Return which kind of value a cell is; whole numbers are numbers."""
    return "number" if isinstance(cell, int | float) and not isinstance(cell, bool) else type(cell).__name__


def missing(cell: Any) -> bool:
    """Whether nothing is known in a cell."""
    return cell is None or cell is pd.NA or bool(pd.api.types.is_scalar(cell) and pd.isna(cell))
