"""What a document lists, as tables in metres: one row an entry, columns as the keys of the format, lengths with ``_m``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from underturf.trees import TREE_COLUMNS

__all__ = ["LISTS", "counted", "table_of_list"]

#: Keys that hold lengths or points.
LENGTHS = frozenset(
    (
        *("x", "y", "radius", "path", "width", "outline", "depth", "cover", "sd", "half_zone", "from", "to"),
        *("accuracy_95", "stem_diameter", "caliper", "root_radius"),
    )
)

#: Lists of a document in the order in which a summary names them, with their keys; a document may leave most of them out.
LISTS: dict[str, tuple[str, ...]] = {
    "heads": ("id", "x", "y", "kind", "zone", "sd", "accuracy_95", "radius", "arc_deg", "flow"),
    "valve_boxes": ("id", "x", "y", "zones", "valves", "spare"),
    "sources": ("id", "x", "y", "kind"),
    "outlets": ("id", "x", "y", "kind", "fed"),
    "obstacles": ("kind", "outline"),
    "trees": ("x", "y", "stem_diameter"),
    "station_tests": ("zone", "valve", "heads", "error"),
    "probes": ("x", "y", "radius", "path", "width", "depth", "found", "class", "cover", "tool", "p_detect", "p_false"),
    "flags": ("x", "y", "sd", "accuracy_95", "line", "class", "depth"),
    "swept": ("outline", "p_detect"),
    "marks": ("class", "path", "sd", "accuracy_95", "half_zone", "quality", "date"),
    "services": ("class", "from", "to"),
    "sketches": ("path", "trust"),
    "digs": ("id", "x", "y", "radius", "path", "width", "outline", "depth", "method"),
}

#: What an entry of each list is called, and several of them.
NAMES: dict[str, tuple[str, str]] = {
    "heads": ("head", "heads"),
    "valve_boxes": ("valve box", "valve boxes"),
    "sources": ("source", "sources"),
    "outlets": ("outlet", "outlets"),
    "obstacles": ("obstacle", "obstacles"),
    "trees": ("tree", "trees"),
    "station_tests": ("station test", "station tests"),
    "probes": ("probe", "probes"),
    "flags": ("detector flag", "detector flags"),
    "swept": ("swept area", "swept areas"),
    "marks": ("utility mark", "utility marks"),
    "services": ("service line", "service lines"),
    "sketches": ("line from old drawings", "lines from old drawings"),
    "digs": ("proposed dig", "proposed digs"),
}

#: Keys whose values are no numbers.
WORDS = frozenset(
    [
        "id",
        "kind",
        "zone",
        "zones",
        "valve",
        "heads",
        "class",
        "tool",
        "line",
        "quality",
        "date",
        "method",
        "path",
        "outline",
        "from",
        "to",
        "found",
    ]
)


def table_of_list(entries: list[dict[str, Any]], key: str, unit_m: float) -> pd.DataFrame:
    """Return a list of a document, with its lengths as numbers in a unit, as a table in metres.

    Examples
    --------
    >>> table_of_list([{"id": "a", "x": 10.0, "y": 5.0}], "outlets", 0.3048)
      id    x_m    y_m  kind  fed
    0  a  3.048  1.524  None  NaN
    """
    known = LISTS[key]
    further = dict.fromkeys(name for entry in entries for name in entry if name not in known and name != "tree")
    columns: dict[str, pd.Series[Any]] = {}
    for name in (*known, *further):
        cells = [in_metres(entry.get(name), unit_m) if name in LENGTHS else entry.get(name) for entry in entries]
        kind = "object" if name in WORDS or any(isinstance(cell, str | list) for cell in cells) else "float64"
        columns[f"{name}_m" if name in LENGTHS else name] = pd.Series(cells, dtype=kind)
    if key == "digs":
        trees = [tree_cells(entry.get("tree"), unit_m) for entry in entries]
        for name in TREE_COLUMNS.values():
            columns[name] = pd.Series([tree.get(name) for tree in trees], dtype="object")
    return pd.DataFrame(columns)


def in_metres(value: Any, unit_m: float) -> Any:
    """Return a length, a point or points in metres; None stays None."""
    if isinstance(value, list):
        return [in_metres(item, unit_m) for item in value]
    return None if value is None else value * unit_m


def tree_cells(tree: str | Mapping[str, Any] | None, unit_m: float) -> dict[str, Any]:
    """Return the tree of a dig as cells of a table."""
    parts = {"size": tree} if isinstance(tree, str) else dict(tree or {})
    scaled = {name: in_metres(value, unit_m) if name in LENGTHS else value for name, value in parts.items()}
    named = {"caliper": "caliper_m", "container": "container_gal", "root_radius": "root_radius_m"}
    return {TREE_COLUMNS[named.get(name, name)]: value for name, value in scaled.items()}


def counted(key: str, count: int) -> str:
    """Return how many entries a list has, in words.

    Examples
    --------
    >>> counted("valve_boxes", 1), counted("heads", 3)
    ('1 valve box', '3 heads')
    """
    return f"{count} {NAMES[key][count != 1]}"
