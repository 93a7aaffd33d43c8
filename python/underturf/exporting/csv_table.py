"""Tables as CSV in UTF-8: comments that begin with ``#``, a row of names, rows. What is not known is empty, never zero.

Texts stand in quotes, numbers do not, so that a ``#`` in a name is not taken for a comment: ``pandas.read_csv(path,
comment="#")``. Numbers have as many digits as it takes to read the same number again.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from underturf.exporting.layer import flat

if TYPE_CHECKING:
    from underturf.exporting.about import About

__all__ = ["write_csv"]


def write_csv(path: Path, table: pd.DataFrame, said: About, plane: str) -> None:
    """Write a table."""
    plain = flat(table)
    columns = [[cell_of(cell) for cell in plain[name].tolist()] for name in plain.columns]
    with path.open("w", encoding="utf-8", newline="") as file:
        file.writelines(f"# {line}\n" for line in (*said.lines(), plane))
        rows = csv.writer(file, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\n")
        rows.writerow(list(plain.columns))
        rows.writerows(zip(*columns, strict=True))


def cell_of(cell: Any) -> Any:
    """Return a cell as the writer knows it: whole numbers and truth values too are no texts.

    Examples
    --------
    >>> [cell_of(cell) for cell in (0.1, float("nan"), True, 3, "a")]
    [0.1, '', True, 3, 'a']
    """
    if cell is None or cell is pd.NA or cell != cell:
        return ""
    return cell.item() if hasattr(cell, "item") else cell
