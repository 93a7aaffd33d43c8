"""The format of the file: its name and version, what older versions need, and what its columns are.

python/docs/layouts-file.md tells what each column holds; a test holds page and files together.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from underturf import _core
from underturf.errors import at

__all__ = ["ENDING", "FORMAT", "LAYOUTS", "attributes", "brought_up"]

#: What names of files end in: NetCDF-4.
ENDING = ".nc"

#: Name of the format, before its version.
NAME = "underturf-layouts"

#: The version that is written.
VERSION = 1

#: Name and version.
FORMAT = f"{NAME}/{VERSION}"

#: The group that holds the columns, a group of its own for each sort of thing.
LAYOUTS = "layouts"

#: For each older version, what makes its columns those of the next.
MIGRATIONS: Mapping[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}

#: Endings of names, and the unit that they stand for.
UNITS = {"_m": "m", "rad": "radian", "share": "1", "probability": "1"}

#: Columns of codes, and what the codes mean.
CODES = {"class": _core.CLASSES, "kind": _core.KINDS, "family": ("direct", "loose", "header", "split", "chain")}


def brought_up(path: Path, form: object, writer: object, columns: dict[str, Any]) -> dict[str, Any]:
    """Return the columns of a file as this version has them.

    Raises
    ------
    ArgumentError
        If the file holds another thing, or is of a version that is newer than this one.
    """
    told = re.fullmatch(rf"{NAME}/(\d+)", str(form))
    if not told:
        raise at(path, f"its format is {form!r}; layouts have the format {FORMAT!r}")
    version = int(told[1])
    if version > VERSION:
        raise at(
            path,
            f"it was written by underturf {writer} in the format {form!r}; this version reads up to {FORMAT!r}. Install that "
            "version of underturf or a newer one, or sample the layouts again from the site document in the file (attribute "
            "'site')",
        )
    for step in range(version, VERSION):
        columns = MIGRATIONS[step](columns)
    return columns


def attributes(group: str, name: str, columns: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a column says of itself, in the words of the climate and forecast conventions."""
    told: dict[str, Any] = {}
    unit = next((unit for ending, unit in UNITS.items() if name.endswith(ending)), None)
    if unit is not None:
        told["units"] = unit
    if name in CODES and not group.startswith(("watched", "metal_watched")):
        told["flag_values"] = list(range(len(CODES[name])))
        told["flag_meanings"] = " ".join(CODES[name])
    counted = counts_of(group, name)
    if counted and any(other.startswith(f"{counted}/") for other in columns):
        told["sample_dimension"] = counted
    return told


#: Columns that count how many rows of another group belong to each row, and that group.
COUNTS = {
    "draws/trees": "trees",
    "draws/unknown_lines": "unknown_lines",
    "draws/pieces": "pieces",
    "trees/runs": "tree_runs",
    "trees/lines": "tree_lines",
    "runs/ways": "ways",
    "ways/points": "way_points",
    "ways/paved_legs": "paved_legs",
    "paved_legs/parts": "paved_parts",
    "metal_sets/lines": "metal_set_lines",
    "metal_lines/points": "metal_points",
    "metal_lines/items": "metal_items",
    "metal_lines/fixtures": "metal_fixtures",
    "models/heads": "model_heads",
    "zonings/heads": "zoning_heads",
    "watched/chains": "watched_chains",
    "watched_chains/states": "watched_states",
    "metal_watched/chains": "metal_watched_chains",
    "metal_watched_chains/states": "metal_watched_states",
    "supply_cases/lines": "supply_lines",
    "supply_lines/points": "supply_points",
    "supply_lines/sources": "supply_sources",
    "supply_lines/outlets": "supply_outlets",
    "supply_lines/boxes": "supply_boxes",
    "supply_bearings/cases": "supply_shares",
}


def counts_of(group: str, name: str) -> str | None:
    """Return the group whose rows a column counts."""
    return COUNTS.get(f"{group}/{name}")
