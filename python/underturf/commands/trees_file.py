"""A list of trees to be planted, as a nursery or a designer writes it: a row a kind, each with its size and its count."""

from __future__ import annotations

import os
from dataclasses import dataclass

import underturf as ut
from underturf.commands.tables import Cell, count_of, read_table

__all__ = ["COLUMNS", "Planting", "read_trees"]

#: Columns of a list of trees. A caliper must say its unit: "2" in a document in feet would be two feet.
COLUMNS = {
    "id": Cell(),
    "count": Cell("count"),
    "size": Cell(words=("small", "medium", "large")),
    "vigour": Cell(words=("aggressive", "ordinary", "small")),
    "caliper": Cell("sized"),
    "container": Cell("number"),
    "root_radius": Cell("length"),
    "setback": Cell(),
    "radius": Cell("length"),
    "depth": Cell("length"),
}


@dataclass(frozen=True)
class Planting:
    """Trees to be planted, each with its name and the hole that is asked for; None where its root ball says it."""

    names: list[str]
    trees: list[ut.Tree | None]
    radii_m: list[float | None]
    depths_m: list[float | None]


def read_trees(path: str | os.PathLike[str], unit_m: float) -> Planting:
    r"""Read a list of trees.

    A row with a count above 1 is so many trees, named ``oak 1``, ``oak 2``.

    Raises
    ------
    ArgumentError
        With every fault at once: no size, both caliper and container, a hole without a size, or a name twice.
    OSError
        If the file cannot be read.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = pathlib.Path(folder, "trees.csv")
    ...     _ = path.write_text("id,count,size,caliper_in\noak,1,large,2\ncrab,2,small,1.5\n")
    ...     read_trees(path, 0.3048).names
    ['oak', 'crab 1', 'crab 2']
    """
    faults: list[str] = []
    found = Planting([], [], [], [])
    for k, row in enumerate(read_table(path, COLUMNS, unit_m)):
        where, name = f"line {row['line']}", " ".join(row.get("id", f"tree {k + 1}").split())
        if "size" not in row:
            faults.append(f"{where}: {name} has no size; it must be small, medium or large")
            continue
        if "caliper" in row and "container" in row:
            faults.append(f"{where}: {name} has a caliper and a container; give one")
        missing = [key for key in ("radius", "depth") if key not in row]
        if missing and not {"caliper", "container"} & set(row):
            faults.append(
                f"{where}: {name} has neither caliper nor container, and its hole no {' and no '.join(missing)}"
            )
        tree = ut.Tree(
            row["size"],
            row.get("vigour"),
            row.get("caliper"),
            row.get("container"),
            row.get("root_radius"),
            row.get("setback"),
        )
        many = row.get("count", 1)
        for copy in range(many):
            found.names.append(name if many == 1 else f"{name} {copy + 1}")
            found.trees.append(tree)
            found.radii_m.append(row.get("radius"))
            found.depths_m.append(row.get("depth"))
    twice = sorted({name for name in found.names if found.names.count(name) > 1})
    faults += [f'the name "{name}" stands twice' for name in twice]
    if faults:
        raise ut.ArgumentError("\n".join([f"{path}: {count_of(faults)}", *(f"  {fault}" for fault in faults)]))
    return found
