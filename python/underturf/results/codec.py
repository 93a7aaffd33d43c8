"""Results as plain values that JSON and CSV can hold, and back, bit for bit.

A float is written with as many digits as it takes to read the same float again. Values that JSON does not know carry a tag: a
table is ``{"$table": ...}``, a dig ``{"$dig": ...}``, a site ``{"$site": ...}``, a number that is not finite ``{"$number":
"nan"}``.
"""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pandas as pd

from underturf.digs import Dig, Hole, Pit, Trench
from underturf.site import Site

__all__ = ["canonical", "decoded", "encoded", "from_text", "kind_of", "to_text"]

#: Kinds of digs by the name that a file gives them.
DIGS: dict[str, type[Hole] | type[Pit] | type[Trench]] = {"hole": Hole, "pit": Pit, "trench": Trench}


def encoded(value: Any) -> Any:
    """Return a value as JSON can hold it.

    Examples
    --------
    >>> encoded((1, 0.5, None, float("inf"), ("a", "b")))
    [1, 0.5, None, {'$number': 'inf'}, ['a', 'b']]
    """
    if isinstance(value, Site):
        return {"$site": value.to_dict()}
    if isinstance(value, pd.DataFrame):
        return {"$table": encoded_table(value)}
    if isinstance(value, Dig):
        kind = type(value).__name__.lower()
        return {"$dig": kind, **dataclasses.asdict(value)}  # type: ignore[call-overload]
    if isinstance(value, np.generic | np.ndarray):
        value = value.tolist()
    if isinstance(value, float) and not math.isfinite(value):
        return {"$number": repr(value)}
    if isinstance(value, list | tuple):
        return [encoded(item) for item in value]
    return None if value is pd.NA else value


def decoded(value: Any) -> Any:
    """Return a value as it was before it was encoded; lists become tuples.

    Examples
    --------
    >>> decoded(encoded((1, 0.5, None, float("inf"), ("a", "b"))))
    (1, 0.5, None, inf, ('a', 'b'))
    """
    if isinstance(value, list):
        return tuple(decoded(item) for item in value)
    if not isinstance(value, dict):
        return value
    if "$site" in value:
        return Site.from_dict(value["$site"])
    if "$table" in value:
        return decoded_table(value["$table"])
    if "$number" in value:
        return float(value["$number"])
    parts = {key: part for key, part in value.items() if key != "$dig"}
    return DIGS[value["$dig"]](**parts)


def canonical(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table of its own whose cells and types are those that a file brings back."""
    return decoded_table(encoded_table(table))


def encoded_table(table: pd.DataFrame) -> dict[str, Any]:
    """Return a table by columns, each with its kind."""
    columns = [
        {"name": str(name), "kind": kind_of(column), "cells": cells(column)}
        for name, column in ((name, table[name]) for name in table.columns)
    ]
    index = {"name": table.index.name, "kind": kind_of(table.index.to_series()), "cells": table.index.tolist()}
    return {"index": index, "columns": columns}


def decoded_table(written: dict[str, Any]) -> pd.DataFrame:
    """Return a table from its columns."""
    of = written["index"]
    index = pd.Index(series(of["kind"], of["cells"], pd.RangeIndex(len(of["cells"]))), name=of["name"])
    columns = {of["name"]: series(of["kind"], of["cells"], index) for of in written["columns"]}
    return pd.DataFrame(columns, index=index)


def kind_of(column: pd.Series[Any]) -> str:
    """Name the kind of a column: number, count, flag, maybe (a flag that may be unknown), text, name (or None), any.

    Examples
    --------
    >>> [kind_of(pd.Series(cells)) for cells in ([0.5], [1], [True], ["a", ""], ["a", None], [["a"], []])]
    ['number', 'count', 'flag', 'text', 'name', 'any']
    """
    kinds = {"float64": "number", "int64": "count", "bool": "flag", "boolean": "maybe"}
    found = kinds.get(str(column.dtype))
    if found is not None:
        return found
    known = [cell for cell in cells(column) if cell is not None]
    if not all(isinstance(cell, str) for cell in known):
        return "any"
    if len(known) == len(column):
        return "text"
    return "name" if all(known) else "any"


def cells(column: pd.Series[Any]) -> list[Any]:
    """Return the cells of a column as JSON can hold them; NaN and NA are None."""
    return [None if is_missing(cell) else encoded(cell) for cell in column.tolist()]


def is_missing(cell: object) -> bool:
    """Whether nothing is known in a cell."""
    return cell is None or cell is pd.NA or (isinstance(cell, float) and math.isnan(cell))


def series(kind: str, given: Sequence[Any], index: pd.Index[Any]) -> pd.Series[Any]:
    """Return a column of a kind."""
    types = {"number": "float64", "count": "int64", "flag": "bool", "maybe": "boolean"}
    made = [list(cell) if isinstance(cell, tuple) else cell for cell in map(decoded, given)]
    if kind == "number":
        made = [math.nan if cell is None else cell for cell in made]
    return pd.Series(made, index=index, dtype=types.get(kind, None if made else "object"))


def to_text(kind: str, cell: Any) -> str:
    """Write a cell of a CSV file.

    Examples
    --------
    >>> to_text("number", 0.1), to_text("number", None), to_text("name", None), to_text("any", ["a"])
    ('0.1', '', '', '["a"]')
    """
    if cell is None:
        return ""
    if kind in ("text", "name"):
        return str(cell)
    if kind == "number":
        return repr(decoded(cell))
    return json.dumps(cell, ensure_ascii=False)


def from_text(kind: str, text: str) -> Any:
    """Read a cell of a CSV file.

    Examples
    --------
    >>> from_text("number", "0.1"), from_text("number", "not assessed"), from_text("any", '["a"]'), from_text("flag", "TRUE")
    (0.1, None, ['a'], True)
    """
    if kind == "text":
        return text
    if not text or (kind == "number" and text == "not assessed"):
        return None
    read: dict[str, Callable[[str], Any]] = {"name": str, "number": number, "count": count}
    if kind in read:
        return read[kind](text)
    return json.loads(text.lower() if kind in ("flag", "maybe") else text)


def number(text: str) -> Any:
    """Read a number."""
    return encoded(float(text))


def count(text: str) -> int:
    """Read a whole number; spreadsheets write some with a point."""
    found = float(text)
    if not found.is_integer():
        raise ValueError(f"{text} is not a whole number")
    return int(found)
