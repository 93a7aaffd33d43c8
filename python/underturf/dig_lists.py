"""Everything that a method takes as digs, handed to the engine: shapes, names of digs of the site, and tables of places."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, TypeAlias, TypeGuard, cast

import pandas as pd

from underturf import _core
from underturf.digs import Dig, DigLike, Hole, Pit, Trench
from underturf.errors import ArgumentError, DigError, no_dig
from underturf.results.base import Result
from underturf.trees import TREE_COLUMNS, Tree

if TYPE_CHECKING:
    from underturf.site import Site

__all__ = ["Digs", "as_rows", "bind_digs", "digs_of", "tree_columns", "tree_of"]

#: What is taken for digs: shapes, names of digs of the site, a list of them, a result that holds digs, a table with a row each;
#: None stands for the site's own.
Digs: TypeAlias = "DigLike | Iterable[DigLike] | Result[object] | pd.DataFrame | None"

#: What is said of a plan of probes that is handed over as a bare table.
PLAN_HINT = "; hand over the plan itself, as plan_probes returns it, and not its table"

#: Columns that hold another shape than a round hole, and what else it takes.
SHAPES: dict[str, tuple[str, ...]] = {"path_m": ("width_m",), "outline_m": ()}

#: Columns that name the rows of a table.
NAMES = ("id", "dig", "spot", "probe")


def digs_of(table: pd.DataFrame, what: str, depth_m: float | None = None) -> list[Hole | Pit | Trench]:
    """Return the rows of a table as digs, with their trees: round holes, and trenches and pits where it tells their shapes.

    Parameters
    ----------
    table : DataFrame
        ``x_m``, ``y_m``, ``radius_m``, ``depth_m``; a row with ``path_m`` and ``width_m`` is a trench, one with ``outline_m`` a
        pit, as in `Site.digs`. Names are the column ``id``, ``dig``, ``spot`` or ``probe``, else the index.
        ``method`` and the columns of a tree (``tree_size``, ...) count where they are.
    what : str
        What it is a table of, for messages.
    depth_m : float, optional
        Depth where the table has none; without it a table has to have one.

    Raises
    ------
    ArgumentError
        If a column is missing, or a row lacks a number.
    """
    return list(holes(table, what, depth_m))


def holes(table: pd.DataFrame, what: str, depth_m: float | None) -> Iterator[Hole | Pit | Trench]:
    """Yield the digs of a table."""
    wanted = ["x_m", "y_m", "radius_m"] + ([] if depth_m is not None else ["depth_m"])
    missing = [name for name in wanted if name not in table.columns]
    if missing:
        raise ArgumentError(
            f"the table of {what} has no column {', '.join(missing)}; it has {', '.join(map(str, table.columns))}"
            f"{PLAN_HINT if 'p_found' in table.columns else ''}"
        )
    named = next((table[name] for name in NAMES if name in table.columns), None)
    names = list(table.index if named is None else named)
    for k, (name, row) in enumerate(zip(names, as_rows(table), strict=True)):
        text = name if isinstance(name, str) and name.strip() else None
        shape = next((key for key in SHAPES if row.get(key) is not None), None)
        needed = wanted if shape is None else [*SHAPES[shape], *(key for key in wanted if key == "depth_m")]
        empty = [key for key in needed if row.get(key) is None]
        if empty:
            raise ArgumentError(f"row {k + 1} ({text or name}) of the table of {what} has no {', '.join(empty)}")
        depth: Any = row.get("depth_m") if row.get("depth_m") is not None else depth_m
        given: dict[str, Any] = {"id": text, "tree": tree_of(row), "method": row.get("method") or "hand"}
        if shape == "path_m":
            yield Trench(row["path_m"], float(row["width_m"]), float(depth), **given)
            continue
        if shape == "outline_m":
            yield Pit(row["outline_m"], float(depth), **given)
            continue
        yield Hole(float(row["x_m"]), float(row["y_m"]), float(row["radius_m"]), float(depth), **given)


def as_rows(table: pd.DataFrame) -> list[dict[str, Any]]:
    """Return the rows of a table as dicts; NaN, NA and NaT are None: nothing is known there.

    Examples
    --------
    >>> as_rows(pd.DataFrame({"a": [1.0, float("nan")], "b": ["x", None]}))
    [{'a': 1.0, 'b': 'x'}, {'a': None, 'b': None}]
    """
    return [{str(key): known(value) for key, value in row.items()} for row in table.to_dict("records")]


def known(value: Any) -> Any:
    """Return a cell, or None where nothing is known."""
    return None if pd.api.types.is_scalar(value) and pd.isna(value) else value


def tree_of(row: Mapping[str, Any]) -> Tree | None:
    """Return the tree of a row; None where it has no size."""
    parts = {part: row.get(column) for part, column in TREE_COLUMNS.items()}
    given = {part: value for part, value in parts.items() if value is not None and value != ""}
    if not given:
        return None
    if "size" not in given:
        raise ArgumentError(f"a tree has {', '.join(given)} but no size (column {TREE_COLUMNS['size']})")
    return Tree(**given)


def tree_columns(trees: list[Tree | None]) -> dict[str, list[Any]]:
    """Return trees as columns; cells of what is not known are None."""
    return {column: [getattr(tree, part, None) for tree in trees] for part, column in TREE_COLUMNS.items()}


def bind_digs(digs: Digs, site: Site) -> list[_core.Dig]:
    """Hand digs to the engine: shapes as they are, rows of tables, names from the site, and the site's own for None."""
    if digs is None:
        return site._handle.digs()
    if isinstance(digs, Result):
        digs = result_digs(digs)
    if is_table(digs):
        digs = digs_of(digs, "digs")
    if isinstance(digs, Dig | str):
        digs = [digs]
    if not isinstance(digs, Iterable):
        raise DigError(
            f"{digs!r} are not digs; give Hole, PostHole, Pit or Trench, names of digs of the site, or a list of these"
        )
    given = cast("Iterable[DigLike]", digs)
    return [bind_dig(dig, site, f"dig{k + 1}") for k, dig in enumerate(given)]


def result_digs(result: Result[object]) -> tuple[Hole | Pit | Trench, ...]:
    """Return the digs that a result holds."""
    digs: tuple[Hole | Pit | Trench, ...] | None = getattr(result, "digs", None)
    if digs is None:
        raise DigError(f"a {type(result).__name__} holds no digs")
    return digs


def is_table(digs: object) -> TypeGuard[pd.DataFrame]:
    """Whether digs are the rows of a table."""
    return hasattr(digs, "to_dict") and hasattr(digs, "columns")


def bind_dig(dig: object, site: Site, name: str) -> _core.Dig:
    """Hand one dig to the engine, under that name if it has none."""
    if isinstance(dig, str):
        return site._handle.dig(dig)
    if isinstance(dig, Dig):
        return dig._bind(name if dig.id is None else dig.id)
    raise no_dig(dig, ", or the name of a dig of the site")
