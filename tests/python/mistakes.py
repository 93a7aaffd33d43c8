"""A plain document, arguments told apart from options, and values that hold themselves, for the tables of mistakes."""

from __future__ import annotations

import dataclasses

HEADS = [{"id": f"h{k}", "x": 2.0 + 4 * (k % 3), "y": 2.0 + 5 * (k // 3), "zone": str(1 + k // 3)} for k in range(6)]
PLAIN = {
    "format": "underturf-site/2",
    "units": "m",
    "boundary": [[0, 0], [14, 0], [14, 10], [0, 10]],
    "heads": HEADS,
    "digs": [{"id": "oak", "x": 4, "y": 4.5, "radius": 0.3, "depth": 0.5}],
}


def plain(**more: object) -> dict[str, object]:
    """The plain document with other or further keys."""
    return {**PLAIN, **more}


def with_options(kind: type, **given: object) -> dict[str, object]:
    """Arguments of a call, those that are options of a kind put into it."""
    own = {field.name for field in dataclasses.fields(kind)}
    rest = {name: value for name, value in given.items() if name not in own}
    return {**rest, "options": kind(**{name: value for name, value in given.items() if name in own})}


def deep_list(deep: int) -> list[object]:
    found: list[object] = []
    for _ in range(deep):
        found = [found]
    return found
