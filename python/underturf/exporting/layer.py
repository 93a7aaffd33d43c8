"""A layer: things of one kind, their shapes on the site plane, metres, and their attributes, units in the names of columns."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

__all__ = ["Layer", "Shapes", "areas", "as_shapes", "flat", "lines", "points", "strips", "with_names"]

#: Shapes of shapely, one a row; None where a thing has no place.
Shapes = npt.NDArray[np.object_]

#: Straight pieces in a quarter of a circle: a circle of 1 m lies within 1.3 mm of its corners' outline.
QUARTER = 16


@dataclass(frozen=True, eq=False)
class Layer:
    """Things of one kind.

    Attributes
    ----------
    name : str
        Name in files: small letters and underscores.
    table : DataFrame
        Attributes, a row a thing; its column ``name`` is what the thing is called, ``class`` the class of line, if it has one.
    shapes : ndarray of shapely geometries, or None
        Where they are, metres of the site plane, all of one kind; None for a table without places.
    """

    name: str
    table: pd.DataFrame
    shapes: Shapes | None = None

    def __len__(self) -> int:
        return len(self.table)


def points(xy: npt.ArrayLike) -> Shapes:
    """Return points; not a number: no place.

    Examples
    --------
    >>> [None if point is None else point.wkt for point in points([[1.0, 2.0], [np.nan, 0.0]])]
    ['POINT (1 2)', None]
    """
    import shapely

    at = np.asarray(xy, dtype=float).reshape(-1, 2)
    made = np.full(len(at), None, dtype=object)
    known = np.isfinite(at).all(axis=1)
    made[known] = shapely.points(at[known])
    return made


def lines(paths: Iterable[npt.ArrayLike]) -> Shapes:
    """Return lines through points, each of two or more."""
    import shapely

    given = [np.asarray(path, dtype=float) for path in paths]
    return as_shapes([shapely.LineString(path if len(path) > 1 else np.vstack([path, path])) for path in given])


def areas(outlines: Iterable[npt.ArrayLike]) -> Shapes:
    """Return areas by their outlines, which are not closed."""
    import shapely

    return as_shapes([shapely.Polygon(np.asarray(outline, dtype=float)) for outline in outlines])


def strips(paths: Iterable[npt.ArrayLike], half_m: Iterable[float], cap: str = "round") -> Shapes:
    """Return everything within a distance of lines, or of single points."""
    import shapely

    made = []
    for path, half in zip(paths, half_m, strict=True):
        at = np.asarray(path, dtype=float).reshape(-1, 2)
        middle = shapely.Point(at[0]) if len(np.unique(at, axis=0)) == 1 else shapely.LineString(at)
        made.append(middle.buffer(half, quad_segs=QUARTER, cap_style=cap, join_style="round"))
    return as_shapes(made)


def as_shapes(made: list[Any]) -> Shapes:
    """Return shapes as an array of objects."""
    found = np.full(len(made), None, dtype=object)
    found[:] = made
    return found


def with_names(table: pd.DataFrame, names: Iterable[object]) -> pd.DataFrame:
    """Put what things are called into the first column."""
    rest = table.drop(columns="name", errors="ignore").reset_index(drop=True)
    rest.insert(0, "name", pd.Series([str(name) for name in names], dtype="object"))
    return rest


def flat(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table whose cells every format can hold: lists as JSON texts, words of a category as texts, no ``attrs``.

    Examples
    --------
    >>> flat(pd.DataFrame({"of": [["a"], None], "p": [0.5, np.nan]})).to_dict("list")
    {'of': ['["a"]', None], 'p': [0.5, nan]}
    """
    columns = {str(name): table[name] for name in table.columns}
    made = pd.DataFrame({name: flat_column(column) for name, column in columns.items()}, index=table.index)
    made.attrs = {}
    return made


def flat_column(column: pd.Series[Any]) -> pd.Series[Any]:
    """Return a column with plain cells."""
    if isinstance(column.dtype, pd.CategoricalDtype):
        return column.astype(object)
    if column.dtype != object:
        return column
    cells = [plain_cell(cell) for cell in column.tolist()]
    known = [cell for cell in cells if cell is not None]
    if known and all(isinstance(cell, bool) for cell in known):
        return pd.Series(cells, index=column.index, dtype="bool" if len(known) == len(cells) else "boolean")
    if known and all(isinstance(cell, int | float) and not isinstance(cell, bool) for cell in known):
        return pd.Series([np.nan if cell is None else cell for cell in cells], index=column.index, dtype="float64")
    texts = [cell if cell is None or isinstance(cell, str) else json.dumps(cell) for cell in cells]
    return pd.Series(texts, index=column.index, dtype="object")


def plain_cell(cell: Any) -> Any:
    """Return a cell: None where nothing is known, JSON for lists."""
    if isinstance(cell, list | tuple | dict):
        return json.dumps(cell, ensure_ascii=False)
    if cell is None or cell is pd.NA or cell != cell:
        return None
    return cell.item() if hasattr(cell, "item") else cell
