"""Probes as CSV files: plans with all that a sheet needs, and tables of places that others wrote."""

from __future__ import annotations

import io
import os
from pathlib import Path

import pandas as pd

from underturf._atomic import replacing
from underturf._checks import as_path, output
from underturf.cautions import CAUTIONS
from underturf.errors import ArgumentError, at
from underturf.results.files import is_written, read_lines
from underturf.results.probe_plan import ProbePlan

__all__ = ["read_probes", "write_probes"]


def write_probes(plan: ProbePlan | pd.DataFrame, path: str | os.PathLike[str]) -> Path:
    """Write a plan of probes as CSV, with all that `read_probes` and ``underturf sheet --probes`` need.

    Parameters
    ----------
    plan : ProbePlan or DataFrame
        As `Layouts.plan_probes` returns it, or some of it (``plan[1:]``); or a table with ``x_m``, ``y_m``, ``radius_m``.
    path : str or path
        Where to write; the name ends in ``.csv``.

    Returns
    -------
    Path
        The file written: comments with the cautions and with what holds for the whole plan, and the table.

    Raises
    ------
    ArgumentError
        If the name ends in anything else, or it is neither a plan nor a table.
    OSError
        If the file cannot be written.

    Examples
    --------
    >>> import tempfile, underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> plan = layouts.plan_probes(n=2, options=ut.ProbeOptions(slit_m=(0.8, 0.1), always=True))
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     again = ut.read_probes(ut.write_probes(plan, f"{folder}/probes.csv"))
    >>> again == plan, again.tool, again.slit_m
    (True, 'slit', (0.8, 0.1))
    """
    path = output(path, (".csv",))
    if isinstance(plan, ProbePlan):
        return plan.save(path)
    if not isinstance(plan, pd.DataFrame):
        raise ArgumentError(
            f"plan is {type(plan).__name__}; it must be a ProbePlan, as plan_probes returns it, or a table"
        )
    with replacing(path) as part, part.open("w", encoding="utf-8", newline="") as file:
        file.writelines(f"# {caution}\n" for caution in CAUTIONS)
        plan.to_csv(file)
    return path


def read_probes(path: str | os.PathLike[str]) -> ProbePlan | pd.DataFrame:
    r"""Read probes that `write_probes` wrote, or any CSV with ``x_m``, ``y_m``, ``radius_m``.

    Parameters
    ----------
    path : str or path
        The file. Lines before the table that begin with ``#`` are comments.

    Returns
    -------
    ProbePlan or DataFrame
        The plan, if the file holds one; else the table.

    Raises
    ------
    ArgumentError
        If the file is no text in UTF-8, the comment that holds the rest of a plan is broken, or there is no table.
    OSError
        If the file cannot be read.

    Examples
    --------
    >>> import tempfile, pathlib, underturf as ut
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = pathlib.Path(folder, "probes.csv")
    ...     _ = path.write_text("x_m,y_m,radius_m\n1.0,2.0,0.25\n")
    ...     list(ut.read_probes(path))
    ['x_m', 'y_m', 'radius_m']
    """
    lines = read_lines(as_path(path))
    if is_written(lines, ProbePlan.FORMAT):
        return ProbePlan.load(path)
    start = next((k for k, line in enumerate(lines) if not line.startswith("#")), len(lines))
    try:
        return pd.read_csv(io.StringIO("".join(lines[start:])))
    except (pd.errors.EmptyDataError, pd.errors.ParserError) as error:
        raise at(path, f"no table of probes: {error}") from None
