"""The holes that spots are looked for: each argument holds for all of them, or is a list with one for each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from underturf import _core
from underturf._checks import Length, absent, at_least, length
from underturf.digs import Pit, as_name, as_points
from underturf.errors import ArgumentError, DigError, at
from underturf.trees import Tree, TreeLike, as_tree

__all__ = ["AskedHole", "asked_holes", "checked"]

#: The outline of a pit that carries a tree to the engine's checks.
CORNERS = ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))


@dataclass(frozen=True)
class AskedHole:
    """A hole that a spot is looked for."""

    name: str | None
    radius_m: float
    depth_m: float
    tree: Tree | None
    bearer: _core.Dig | None


def asked_holes(
    n: int | None,
    radius_m: Length | Sequence[Length | None] | None,
    depth_m: Length | Sequence[Length | None] | None,
    tree: TreeLike | Sequence[TreeLike],
    names: Sequence[str] | None,
) -> list[AskedHole]:
    """Return the holes that spots are looked for.

    Raises
    ------
    ArgumentError
        If lists have other lengths than asked for, a name stands twice, or a hole has no size; every hole at once.
    """
    names = [names] if isinstance(names, str) else names
    alike = tree is None or isinstance(tree, Tree | str | Mapping)
    given: dict[str, Any] = {"tree": tree, "radius_m": radius_m, "depth_m": depth_m, "names": names}
    single = {"tree": alike, "radius_m": is_one(radius_m), "depth_m": is_one(depth_m), "names": names is None}
    lists: dict[str, list[Any]] = {name: list(given[name]) for name, one in single.items() if not one}
    count = at_least(1, number_of(n, lists), "n")
    wrong = [f"{name} has {len(values)}" for name, values in lists.items() if len(values) != count]
    if wrong:
        raise ArgumentError(f"{count} spots are looked for, but {', '.join(wrong)}")
    called_so = [name for name in map(as_name, lists.get("names", [])) if name is not None]
    twice = sorted({name for name in called_so if called_so.count(name) > 1})
    if twice:
        raise ArgumentError(f"names: {', '.join(twice)}: two holes have the same name")
    holes, faults = [], []
    for k in range(count):
        of = {name: lists[name][k] if name in lists else given[name] for name in given}
        called = "tree" if alike else f"tree[{k}]"
        planted = as_tree(of["tree"])
        bearer = None if planted is None else checked(called, CORNERS, planted)
        needed = None if bearer is None else bearer.needed_m
        least = (None, None) if needed is None else (needed[0] / 2, needed[1])
        sizes = zip(("radius_m", "depth_m"), least, strict=True)
        # An empty cell of a list says nothing; a NaN that is to hold for all holes is a slip.
        open_ = {name: absent(of[name]) if name in lists else of[name] is None for name in of}
        size: dict[str, Any] = {name: least if open_[name] else length(of[name], name) for name, least in sizes}
        missing = [name for name, value in size.items() if value is None]
        if missing:
            which = (
                "the holes have" if planted is None else f"{called} has neither caliper nor container, and its hole has"
            )
            faults.append(f"{which} no {' and no '.join(missing)}")
            continue
        holes.append(AskedHole(as_name(of["names"]), size["radius_m"], size["depth_m"], planted, bearer))
    if faults:
        raise ArgumentError("; ".join(dict.fromkeys(faults)))
    return holes


def is_one(value: object) -> bool:
    """Whether a size holds for all holes: none, a number, or a length as text."""
    return value is None or isinstance(value, str | int | float | np.number)


def number_of(n: int | None, lists: Mapping[str, list[Any]]) -> int:
    """Return how many spots are looked for: as asked, or as many as the lists have."""
    if n is not None:
        return n
    if not lists:
        raise ArgumentError("n is missing: how many spots are looked for? Give n, or a list of trees")
    return len(next(iter(lists.values())))


def checked(name: str, outline_m: npt.ArrayLike, tree: TreeLike = None) -> _core.Dig:
    """Check an outline or a tree by the rules of digs, and say which argument broke them."""
    try:
        return Pit(as_points(outline_m, name), 0.1, tree=tree)._bind(name)
    except DigError as error:
        raise at(name, error) from None
