"""Plans of probes as files: CSV that keeps what holds for the plan as a whole, so that a sheet can be made from it later.

A table written with ``to_csv`` loses its ``attrs``: slits become potholes, rods become holes, and spots that the plan moves
stay where they were drawn. So the first line of the file, a comment, carries them as JSON.
"""

from __future__ import annotations

import io
import json
import os
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from underturf._checks import as_path, output
from underturf.cautions import CAUTIONS, NOT_CONVERGED
from underturf.errors import ArgumentError

__all__ = ["read_probes", "write_probes"]

#: How the first line begins.
MARK = "# underturf-probes/1 "


def write_probes(plan: pd.DataFrame, path: str | os.PathLike[str]) -> Path:
    """Write a plan of probes as CSV, with all that `read_probes` and ``python -m underturf sheet --probes`` need.

    Parameters
    ----------
    plan : DataFrame
        As `Layouts.plan_probes` returns it, or rows of it.
    path : str or path
        Where to write; the name ends in ``.csv``.

    Returns
    -------
    Path
        The file written: a comment with what holds for the whole plan as JSON, a comment for each caution, the table.

    Raises
    ------
    ArgumentError
        If the name ends in anything else.
    OSError
        If the file cannot be written.

    Examples
    --------
    >>> import tempfile, underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7, progress=False)
    >>> plan = layouts.plan_probes(n=2, slit_m=(0.8, 0.1), always=True, progress=False)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     again = ut.read_probes(ut.write_probes(plan, f"{folder}/probes.csv"))
    >>> again.attrs["tool"], again.attrs["slit_m"], again.index.tolist()
    ('slit', [0.8, 0.1], [1, 2])
    """
    path = output(path, (".csv",))
    head = MARK + json.dumps(plan.attrs, default=plain, ensure_ascii=False)
    mark = () if plan.attrs.get("converged", True) else (NOT_CONVERGED,)
    with path.open("w", encoding="utf-8", newline="") as file:
        file.writelines(f"{line}\n" for line in (head, *(f"# {said}" for said in (*mark, *CAUTIONS))))
        plan.to_csv(file)
    return path


def read_probes(path: str | os.PathLike[str]) -> pd.DataFrame:
    """Read probes that `write_probes` wrote, or any CSV with ``x_m``, ``y_m``, ``radius_m``.

    Parameters
    ----------
    path : str or path
        The file. Lines before the table that begin with ``#`` are comments.

    Returns
    -------
    DataFrame
        The table; of a plan with its ``attrs``, and its rows numbered as in the plan.

    Raises
    ------
    ArgumentError
        If the file is no text in UTF-8, the comment that carries the ``attrs`` is broken, or there is no table.
    OSError
        If the file cannot be read.
    """
    path = as_path(path)
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines(keepends=True)
    except UnicodeDecodeError as error:
        raise ArgumentError(f"{path}: not a text in UTF-8: {error}") from None
    start = next((k for k, line in enumerate(lines) if not line.startswith("#")), len(lines))
    try:
        table = pd.read_csv(io.StringIO("".join(lines[start:])))
    except (pd.errors.EmptyDataError, pd.errors.ParserError) as error:
        raise ArgumentError(f"{path}: no table of probes: {error}") from None
    head = next((line for line in lines[:start] if line.startswith(MARK)), None)
    if head is None:
        return table
    try:
        attrs = json.loads(head.removeprefix(MARK))
    except json.JSONDecodeError as error:
        raise ArgumentError(f"{path}: the comment with what holds for the plan is broken: {error}") from None
    if not isinstance(attrs, dict) or "probe" not in table.columns:
        raise ArgumentError(f"{path}: the comment says that this is a plan of probes, the table is none")
    table = table.set_index("probe")
    table.attrs = attrs
    return table


def plain(value: Any) -> Any:
    """Return a number or array of numpy as JSON can write it."""
    if isinstance(value, np.generic | np.ndarray):
        return value.tolist()
    raise TypeError(f"{value!r} cannot be written as JSON")
