"""Tables that commands write: CSV, lengths in metres, below comments that say where it comes from and what to mind."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pandas as pd

import underturf as ut
from underturf._atomic import replacing
from underturf.cautions import NOT_CONVERGED

__all__ = ["write_table"]


def write_table(path: Path, table: pd.DataFrame, about: Mapping[str, Any], index: bool = False) -> None:
    """Write a table as CSV with the cautions, the seed, the draws, the version and what is not assessed.

    Parameters
    ----------
    path : path
        Where to.
    table : DataFrame
        The rows.
    about : mapping
        As `underturf.commands.answers.about` gives it.
    index : bool
        Whether its index is a column.
    """
    said = [NOT_CONVERGED] if about["converged"] is False else []
    said.append(f"underturf {ut.__version__}" + (f", site {about['site']}" if about["site"] else ""))
    if about["draws"] is not None:
        said.append(f"{about['draws']} draws, seed {about['seed']}")
    if about["not_assessed"]:
        said.append(f"not assessed: {', '.join(about['not_assessed'])}")
    with replacing(path) as part, part.open("w", encoding="utf-8", newline="") as file:
        file.writelines(f"# {' '.join(line.split())}\n" for line in (*said, *ut.CAUTIONS))
        table.to_csv(file, index=index, lineterminator="\n")
