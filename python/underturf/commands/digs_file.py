"""Digs from a file: a table that people wrote, or a file of a command that found places for digs."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import underturf as ut
from underturf._checks import either
from underturf.commands.tables import Cell, read_table
from underturf.dig_lists import Digs
from underturf.digs import Dig, Hole, Pit, Trench
from underturf.errors import must_end
from underturf.results.files import ENDINGS, is_written, read_lines

__all__ = ["COLUMNS", "read_digs"]

#: Columns of a table of digs. A caliper must say its unit: "2" in a document in feet would be two feet.
COLUMNS = {
    "id": Cell(),
    "x": Cell("length"),
    "y": Cell("length"),
    "radius": Cell("length"),
    "diameter": Cell("length"),
    "depth": Cell("length"),
    "path": Cell("points"),
    "width": Cell("length"),
    "outline": Cell("points"),
    "method": Cell(words=("hand", "machine")),
    "tree_size": Cell(words=("small", "medium", "large")),
    "tree_vigour": Cell(words=("aggressive", "ordinary", "small")),
    "tree_caliper": Cell("sized"),
    "tree_container_gal": Cell("number"),
    "tree_root_radius": Cell("length"),
    "tree_setback": Cell(),
}

#: Parts of `ut.Tree` by the column that holds them.
TREE = {
    "size": "tree_size",
    "vigour": "tree_vigour",
    "caliper_m": "tree_caliper",
    "container_gal": "tree_container_gal",
    "root_radius_m": "tree_root_radius",
    "setback": "tree_setback",
}

#: Results whose files hold digs.
HOLDERS: tuple[type[ut.Spots] | type[ut.Ranking] | type[ut.Assessment], ...] = (ut.Spots, ut.Ranking, ut.Assessment)


def read_digs(path: str | os.PathLike[str], unit_m: float) -> Digs:
    """Read digs from a table, or from a file that the commands spots, rank or assess wrote.

    Parameters
    ----------
    path : str or path
        A name that ends in ``.csv`` or ``.json``.
    unit_m : float
        Metres in the unit of lengths without one.

    Raises
    ------
    ArgumentError
        If the file holds no digs; with every fault of a table at once.
    DigError
        If a dig cannot be dug.
    OSError
        If the file cannot be read.
    """
    ending = Path(path).suffix.lower()
    if ending not in ENDINGS:
        raise must_end(Path(path), either(ENDINGS))
    if ending == ".json":
        form = json_format(path)
        for kind in HOLDERS:
            if form == kind.FORMAT:
                return kind.load(path)
        raise ut.ArgumentError(f"{path}: no digs; a .json of digs is one that spots, rank or assess wrote with -o")
    lines = read_lines(path)
    for kind in HOLDERS:
        if is_written(lines, kind.FORMAT):
            return kind.load(path)
    return [dig_of(path, row) for row in read_table(path, COLUMNS, unit_m)]


def json_format(path: str | os.PathLike[str]) -> object:
    """Return the format that a JSON file names."""
    try:
        whole = json.loads("".join(read_lines(path)))
    except ValueError as error:
        raise ut.ArgumentError(f"{path}: no JSON: {error}") from None
    return whole.get("format") if isinstance(whole, dict) else None


def dig_of(path: str | os.PathLike[str], row: dict[str, Any]) -> Dig:
    """Return the dig of a row."""
    where = f"{path}: line {row['line']}"
    if "diameter" in row:
        if "radius" in row:
            raise ut.ArgumentError(f"{where}: it has a radius and a diameter; give one")
        row = {**row, "radius": row["diameter"] / 2}
    shapes = {"outline": ("outline",), "path": ("path", "width"), "radius": ("x", "y", "radius")}
    shape = next((key for key in shapes if key in row), "radius")
    missing = [key for key in (*shapes[shape], "depth") if key not in row]
    if missing:
        raise ut.ArgumentError(f"{where}: it has no {', '.join(missing)}")
    tree = {part: row[column] for part, column in TREE.items() if column in row}
    if tree and "size" not in tree:
        raise ut.ArgumentError(f"{where}: a tree has no tree_size; it must be small, medium or large")
    more: dict[str, Any] = {
        "id": row.get("id"),
        "method": row.get("method", "hand"),
        "tree": ut.Tree(**tree) if tree else None,
    }
    if shape == "outline":
        return Pit(row["outline"], row["depth"], **more)
    if shape == "path":
        return Trench(row["path"], row["width"], row["depth"], **more)
    return Hole(row["x"], row["y"], row["radius"], row["depth"], **more)
