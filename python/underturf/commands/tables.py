"""Tables that people write: CSV with a row a thing, whose headings may say a unit.

All faults come in one error, each with its line.
"""

from __future__ import annotations

import csv
import io
import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from underturf import _core
from underturf._checks import either, length
from underturf.errors import ArgumentError
from underturf.results.files import read_lines

__all__ = ["Cell", "read_table"]

#: Units that a heading may end in.
HEADED = ("m", "cm", "mm", "ft", "in", "yd")

#: What separates cells: the first of these that the line of headings holds.
SEPARATORS = (",", ";", "\t")


@dataclass(frozen=True)
class Cell:
    """What a column of a table holds.

    Attributes
    ----------
    kind : {"text", "length", "sized", "number", "count", "points"}
        A text; a length, a bare number in the unit of the document; a length that must say its unit, in the cell or in the
        heading; a number; a whole number above 0; points as JSON, in the unit of the document or of the heading.
    words : tuple of str
        What a text may be; anything if empty.
    """

    kind: str = "text"
    words: tuple[str, ...] = ()


def read_table(path: str | os.PathLike[str], known: Mapping[str, Cell], unit_m: float) -> list[dict[str, Any]]:
    r"""Read a table; rows are dicts by column, with the line number under ``line``; empty cells are left out.

    Lines before the headings that begin with ``#`` are comments. Cells are separated by commas, semicolons or tabs. Headings
    are the columns' names, or a name with a unit (``radius_ft``, ``depth in``).

    Parameters
    ----------
    path : str or path
        The file.
    known : mapping of str to Cell
        Columns that there may be.
    unit_m : float
        Metres in the unit of bare lengths.

    Raises
    ------
    ArgumentError
        With every fault at once: a column that nobody knows or that stands twice, a cell that is not what its column holds, a
        row that is longer than the headings, or no row at all.
    OSError
        If the file cannot be read.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = pathlib.Path(folder, "trees.csv")
    ...     _ = path.write_text("id,depth_in\noak,12\n")
    ...     read_table(path, {"id": Cell(), "depth": Cell("length")}, 1.0)
    [{'line': 2, 'id': 'oak', 'depth': 0.3048}]
    """
    lines = read_lines(path)
    start = next((k for k, line in enumerate(lines) if line.strip() and not line.startswith("#")), len(lines))
    if start == len(lines):
        raise ArgumentError(f"{path}: no table; its first line must name the columns: {', '.join(known)}")
    separator = next((mark for mark in SEPARATORS if mark in lines[start]), ",")
    table = csv.reader(io.StringIO("".join(lines[start:])), delimiter=separator)
    headings, faults = headings_of(next(table), known)
    rows = []
    for cells in table:
        line = start + table.line_num
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) > len(headings):
            faults.append(f"line {line}: {len(cells)} cells below {len(headings)} headings")
            continue
        row: dict[str, Any] = {"line": line}
        for (name, unit), cell in zip(headings, cells, strict=False):
            if not cell.strip() or name not in known:
                continue
            try:
                row[name] = read_cell(cell.strip(), name, known[name], unit, unit_m)
            except ArgumentError as error:
                faults.append(f"line {line}: {error}")
        rows.append(row)
    if not rows and not faults:
        faults.append("there is no row below the headings")
    if faults:
        raise ArgumentError("\n".join([f"{path}: {count_of(faults)}", *(f"  {fault}" for fault in faults)]))
    return rows


def count_of(faults: Sequence[str]) -> str:
    """Count faults in words."""
    return "1 fault" if len(faults) == 1 else f"{len(faults)} faults"


def headings_of(cells: Sequence[str], known: Mapping[str, Cell]) -> tuple[list[tuple[str, str]], list[str]]:
    """Return name and unit of each column, and what is wrong with them.

    Examples
    --------
    >>> headings_of(["ID", "Depth (in)", "hight"], {"id": Cell(), "depth": Cell("length")})[0]
    [('id', ''), ('depth', 'in'), ('hight', '')]
    """
    found: list[tuple[str, str]] = []
    faults = []
    for cell in cells:
        plain = "_".join(cell.replace("(", " ").replace(")", " ").replace("_", " ").lower().split())
        name, _, unit = plain.rpartition("_")
        headed = unit in HEADED and known.get(name, Cell()).kind in ("length", "sized", "points")
        pair = (name, unit) if headed else (plain, "")
        if pair[0] not in known:
            hint = _core.spelling_hint(plain, list(known))
            faults.append(f'there is no column "{cell.strip()}"{hint}; the columns are {", ".join(known)}')
        elif pair[0] in [name for name, _ in found]:
            faults.append(f'the column "{pair[0]}" stands twice')
        found.append(pair)
    return found, faults


def read_cell(text: str, name: str, cell: Cell, unit: str, unit_m: float) -> Any:
    """Return what a cell says; lengths in metres."""
    if cell.kind in ("length", "sized"):
        has_unit = bool(unit) or _core.read_length(text)[1] if is_length(text) else True
        if cell.kind == "sized" and not has_unit:
            raise ArgumentError(f'{name}: "{text}" has no unit; write "{text} in", or name the column {name}_in')
        bare = bool(unit) and is_length(text) and not _core.read_length(text)[1]
        return length(f"{text} {unit}" if bare else text, name, unit_m)
    if cell.kind == "points":
        return read_points(text, name, length(f"1 {unit}", name) if unit else unit_m)
    if cell.kind in ("number", "count"):
        return read_number(text, name, cell.kind == "count")
    if cell.words and text.lower() not in cell.words:
        hint = _core.spelling_hint(text.lower(), list(cell.words))
        raise ArgumentError(f'{name}: "{text}" must be {either(cell.words)}{hint}')
    return text.lower() if cell.words else text


def is_length(text: str) -> bool:
    """Whether a text is a length; what is none is told when it is read."""
    try:
        _core.read_length(text)
    except ArgumentError:
        return False
    return True


def read_number(text: str, name: str, counts: bool) -> float:
    """Return a number, or a whole number above 0."""
    try:
        found = float(text)
    except ValueError:
        found = float("nan")
    if counts and not (found >= 1 and found.is_integer()):
        raise ArgumentError(f'{name}: "{text}" is not a whole number above 0')
    if found != found:
        raise ArgumentError(f'{name}: "{text}" is not a number')
    return int(found) if counts else found


def read_points(text: str, name: str, unit_m: float) -> list[list[float]]:
    """Return points written as JSON."""
    try:
        return [[float(x) * unit_m, float(y) * unit_m] for x, y in json.loads(text)]
    except (ValueError, TypeError):
        raise ArgumentError(f'{name}: "{text}" is no list of points; write [[x, y], [x, y]]') from None
