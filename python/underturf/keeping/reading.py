"""Reading files that were written: layouts, and every result."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import numpy as np

from underturf._checks import as_path, either
from underturf._extras import needs
from underturf.errors import UnderturfError, at, must_end
from underturf.keeping.form import ENDING, LAYOUTS, brought_up
from underturf.layouts import Layouts, taken_up
from underturf.results import Result
from underturf.results.files import ENDINGS, is_written, read_lines

__all__ = ["load"]


def load(path: str | os.PathLike[str]) -> Layouts | Result[object]:
    """Read layouts that `Layouts.save` wrote, or a result that its own ``save`` wrote.

    Parameters
    ----------
    path : str or path
        A name that ends in ``.nc`` for layouts, in ``.json`` or ``.csv`` for results.

    Returns
    -------
    Layouts or Result
        Layouts answer the same bits as those that were written, without sampling.

    Raises
    ------
    ArgumentError
        If the file holds another thing, is broken, or is of a newer version: the message says what to do.
    ImportError
        For layouts, if h5netcdf is not installed (``pip install underturf[keep]``).
    OSError
        If the file cannot be read.

    Examples
    --------
    >>> import tempfile, underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     ut.load(layouts.rank().save(f"{folder}/ranking.json")) == layouts.rank()
    True
    """
    path = as_path(path)
    ending = path.suffix.lower()
    if ending == ENDING:
        return layouts_of(path)
    if ending in ENDINGS:
        return result_of(path)
    raise must_end(path, either((ENDING, *ENDINGS)))


def layouts_of(path: Path) -> Layouts:
    """Read layouts."""
    needs("a file of layouts", "h5py")
    path.open("rb").close()  # what the system says of a file that is not there or not to be read
    try:
        attributes, columns = content(path)
    except Exception as error:  # of spoilt bytes the libraries raise whatever they stumble over
        raise at(path, f"the file is broken, or no NetCDF-4 file of layouts: {error}") from None
    columns = brought_up(path, attributes.get("format"), attributes.get("underturf_version"), columns)
    try:
        return taken_up(str(attributes.get("site")), columns)
    except (UnderturfError, TypeError, OverflowError) as error:
        raise at(path, f"the file is broken: {error}") from None


def content(path: Path) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the attributes of a file, and its columns."""
    import h5py

    with h5py.File(path, "r") as file:
        attributes = {name: told(value) for name, value in file.attrs.items()}
        columns: dict[str, Any] = {}
        for group, place in file.get(LAYOUTS, {}).items():
            if not told(place.attrs["rows"]):
                empty = (text.split(":") for text in str(told(place.attrs["columns"])).split())
                columns |= {f"{group}/{name}": [] if kind == "str" else np.empty(0, kind) for name, kind in empty}
            # A dimension is written as a dataset of its own name.
            variables = {name: rows for name, rows in place.items() if name != group}
            columns |= {f"{group}/{name}": column(rows[...]) for name, rows in variables.items()}
    return attributes, columns


def told(attribute: Any) -> Any:
    """Return what an attribute says; one number is kept as an array of one."""
    if np.size(attribute) != 1:
        return attribute
    only = np.ravel(attribute)[0]
    return only.decode() if isinstance(only, bytes) else str(only) if isinstance(only, str) else only


def column(rows: Any) -> Any:
    """Return a column as the engine takes it."""
    if rows.dtype.kind in "OSU":
        return [row.decode() if isinstance(row, bytes) else str(row) for row in rows]
    wide = rows if rows.dtype.kind == "f" else rows.astype(np.int64)
    return np.require(wide, requirements=["C", "A"])


def result_of(path: Path) -> Result[object]:
    """Read a result of whatever kind."""
    kinds = {kind.FORMAT: kind for kind in subclasses(Result) if kind.FORMAT}
    lines = read_lines(path)
    if path.suffix.lower() == ".csv":
        form = next((form for form in kinds if is_written(lines, form)), None)
    else:
        try:
            whole = json.loads("".join(lines))
        except ValueError as error:
            raise at(path, f"the file is broken: {error}") from None
        form = whole.get("format") if isinstance(whole, dict) else None
    if form not in kinds:
        known = ", ".join(sorted(kinds))
        raise at(path, f"its format is {form!r}; results have one of {known}")
    found: Result[object] = kinds[form].load(path)
    return found


def subclasses(kind: type[Any]) -> list[type[Any]]:
    """Return the kinds of a kind, and theirs."""
    return [found for own in kind.__subclasses__() for found in (own, *subclasses(own))]
