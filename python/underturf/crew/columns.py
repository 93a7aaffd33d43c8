"""Rows of a table dealt out to columns side by side: what belongs together is parted only where no column holds it whole."""

from __future__ import annotations

from collections.abc import Sequence

from underturf.crew.typeset import Columns, Strip

__all__ = ["dealt", "height_of", "least_height"]

#: Halvings of the height that columns share, to bring it within a hair of the least.
HALVINGS = 12


def runs(rows: Sequence[Strip]) -> list[list[Strip]]:
    """Cut rows into runs that stay together."""
    found: list[list[Strip]] = []
    joined = False
    for row in rows:
        if joined:
            found[-1].append(row)
        else:
            found.append([row])
        joined = row.with_next
    return found


def height(rows: Sequence[Strip]) -> float:
    """Return the height of rows one below the other."""
    return sum(row.height for row in rows)


def fill(rows: Sequence[Strip], count: int, limit: float, whole: float) -> tuple[list[list[Strip]], list[Strip]]:
    """Fill columns of that height in order; return them and what is left over.

    A run taller than ``whole``, what a column of an empty page holds, is parted, and its title said again. Others wait for the
    next column or page.
    """
    columns: list[list[Strip]] = [[]]
    used = 0.0
    waiting = runs(rows)
    while waiting:
        run = waiting.pop(0)
        if used + height(run) <= limit:
            columns[-1] += run
            used += height(run)
            continue
        if height(run) > whole:
            title = [run[0]] if run[0].again else []
            part = list(title)
            rest = run[len(title) :]
            while rest and used + height(part) + rest[0].height <= limit:
                part.append(rest.pop(0))
            if len(part) > len(title):
                columns[-1] += part
                run = [*title, *rest]
        waiting.insert(0, run)
        if len(columns) == count:
            break
        if not columns[-1] and used == 0.0:
            break  # an empty column does not hold it: the next will not either
        columns.append([])
        used = 0.0
    return columns, [row for run in waiting for row in run]


def dealt(columns: Columns, room: float, whole: float) -> tuple[list[list[Strip]], list[Strip]]:
    """Deal rows out to columns as equal in height as can be, at most as high as there is room; return what is left over.

    Parameters
    ----------
    columns : Columns
        The table.
    room : float
        Height that is left below the head.
    whole : float
        Height below the head on an empty page.
    """
    rows = columns.rows
    best = fill(rows, columns.count, room, whole)
    if best[1]:
        return best
    low, high = 0.0, min(room, height(rows))
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        tried = fill(rows, columns.count, middle, whole)
        if tried[1]:
            low = middle
        else:
            high, best = middle, tried
    return best


def height_of(columns: Columns, whole: float) -> float:
    """Return the height of a table that stands on one page."""
    parts, _ = dealt(columns, whole - columns.head.height, whole - columns.head.height)
    return columns.head.height + max(map(height, parts), default=0.0)


def least_height(columns: Columns, whole: float) -> float:
    """Return the height of the first rows of a table: those that stay together, or one and its title if no page holds them."""
    first = next(iter(runs(columns.rows)), [])
    return height(first) if height(first) <= whole - columns.head.height else height(first[:2])
