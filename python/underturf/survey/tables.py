"""Tables of surveyed points, from CSV files and spreadsheets alike: columns to keys, rows to places."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from underturf import _core
from underturf._checks import absent, length
from underturf.errors import ArgumentError
from underturf.survey.context import Context
from underturf.survey.keys import COLUMN_KEYS
from underturf.survey.observed import Batch, Observed, Plane
from underturf.survey.units import UNITS

__all__ = ["cell_number", "read_table"]

#: What longitude and latitude are in where a file does not say otherwise.
LONLAT = "OGC:CRS84"


@dataclass(frozen=True, slots=True)
class Header:
    """Columns of a table: position of each key, its unit and name."""

    names: tuple[str, ...]
    keys: dict[str, int]
    units: dict[str, str | None]


def cell_number(cell: Any, decimal: str = ".") -> float:
    """Return the number in a cell.

    Examples
    --------
    >>> cell_number(" 2.5 "), cell_number("2,5", ",")
    (2.5, 2.5)
    >>> cell_number("2,5")
    Traceback (most recent call last):
    underturf.errors.ArgumentError: is '2,5'; if that comma is a decimal mark, say so in the mapping: decimal = ","
    """
    if isinstance(cell, bool) or not isinstance(cell, int | float | str):
        raise ArgumentError(f"is {cell!r}, no number")
    text = cell.strip().replace(decimal, ".") if isinstance(cell, str) and decimal == "," else cell
    if isinstance(text, str) and "," in text:
        raise ArgumentError(f'is {cell!r}; if that comma is a decimal mark, say so in the mapping: decimal = ","')
    try:
        found = float(text)
    except ValueError:
        raise ArgumentError(f"is {cell!r}, no number") from None
    if not math.isfinite(found):
        raise ArgumentError(f"is {cell!r}, no finite number")
    return found


def read_table(
    file: str, where: str, names: Sequence[str], rows: Iterable[tuple[int, Sequence[Any]]], context: Context
) -> Batch | None:
    """Return the things of a table; None where its header is no good, which is noted.

    Parameters
    ----------
    file, where : str
        Name of the file, and of its sheet with a comma and a blank after it; empty for a file without sheets.
    names : sequence of str
        Names of the columns.
    rows : iterable of (int, sequence)
        Number of each row in the file, counted from one, with its cells.
    context : Context
        The options.
    """
    header = header_of(file, where, names, context)
    if header is None:
        return None
    batch = batch_of(file, where, header, context)
    if batch is None:
        return None
    unknown = {k: name for k, name in enumerate(header.names) if k not in header.keys.values()}
    silent = {k for k, name in unknown.items() if not name or context.is_ignored(name)}
    filled: set[int] = set()
    lifted = 0
    for number, cells in rows:
        if all(absent(cell) for cell in cells):
            continue
        place = f"{where}row {number}"
        if len(cells) != len(header.names):
            more = "; a decimal comma, or a comma in a text without quotes?" if len(cells) > len(header.names) else ""
            context.faults.add(file, place, f"has {len(cells)} cells, the header has {len(header.names)}{more}")
            continue
        filled |= {k for k in unknown if not absent(cells[k])}
        lifted += "z" in header.keys and not absent(cells[header.keys["z"]])
        point = place_of(file, place, header, cells, batch, context)
        if point is not None:
            batch.observed.append(observed(point, place, header, cells, context.words(file).code))
    for k in sorted(filled - silent):
        more = _core.spelling_hint(header.names[k], COLUMN_KEYS)
        batch.left.append((f"{where}column {header.names[k]}", "column", f"no key is called so{more}"))
    if lifted:
        batch.left.append(
            (
                f"{where}column {header.names[header.keys['z']]}",
                f"{lifted} heights",
                "a site is flat: heights are left out",
            )
        )
    if not batch.observed:
        batch.left.append((where.rstrip(", "), "table", "it has no rows"))
    return batch


def header_of(file: str, where: str, names: Sequence[str], context: Context) -> Header | None:
    """Return the columns by their keys; note what is wrong with them."""
    names = tuple(" ".join(str(name).split()) for name in names)
    if sum(is_number(name) for name in names) >= 2:
        context.faults.add(
            file,
            f"{where}row 1",
            "holds numbers, not names of columns; name them in the mapping: "
            f'[files."{file}"] header = ["id", "y_ft", "x_ft", "z", "code"]',
        )
        return None
    keys: dict[str, int] = {}
    units: dict[str, str | None] = {}
    for k, name in enumerate(names):
        key, unit = context.column(name)
        if key is None or key == "ignore":
            continue
        if key in keys:
            context.faults.add(
                file,
                f"{where}row 1",
                f"columns {names[keys[key]]} and {name} both say {key}; leave one out in the mapping: columns",
            )
            return None
        keys[key], units[key] = k, unit
    return Header(names, keys, units)


def is_number(text: str) -> bool:
    """Whether a text is a number."""
    try:
        float(text.replace(",", "."))
    except ValueError:
        return False
    return True


def batch_of(file: str, where: str, header: Header, context: Context) -> Batch | None:
    """Return an empty batch in the coordinates of a table; note where they cannot be told."""
    plane, globe = {"x", "y"} & header.keys.keys(), {"lon", "lat"} & header.keys.keys()
    place, add = f"{where}row 1".strip(), context.faults.add
    if len(plane) == 2 and len(globe) == 2:
        add(file, place, "has x and y, and longitude and latitude; leave out two of them in the mapping: columns")
        return None
    for pair, found in ((("x", "y"), plane), (("lon", "lat"), globe)):
        if len(found) == 1 and max(len(plane), len(globe)) < 2:
            missing = next(key for key in pair if key not in found)
            add(
                file,
                place,
                f"there is a column of {next(iter(found))} and none of {missing}; columns are {', '.join(header.names)}",
            )
            return None
    if len(globe) == 2:
        return Batch(file, LONLAT, context.unit_m(file))
    if len(plane) < 2:
        add(
            file,
            place,
            "no columns of places: name them x_m and y_m, x_ft and y_ft, easting and northing, or lon and lat; "
            f"columns are {', '.join(header.names)}",
        )
        return None
    one, other = header.units["x"], header.units["y"]
    both = f"{header.names[header.keys['x']]} and {header.names[header.keys['y']]}"
    if one != other:
        add(file, place, f"{both} are in different units")
        return None
    system = context.system(file)
    if system is not None:
        return Batch(file, system, context.unit_m(file))
    unit = one or context.unit(file)
    if unit is None:
        add(
            file,
            place,
            f'{both} have no unit: name the columns x_m and y_m or x_ft and y_ft, or say units="m" or "ft"',
        )
        return None
    bare = UNITS[context.unit(file) or unit]
    return Batch(file, Plane(unit), bare)


def place_of(
    file: str, place: str, header: Header, cells: Sequence[Any], batch: Batch, context: Context
) -> tuple[float, float] | None:
    """Return the place in a row; note where it is none."""
    found: list[float] = []
    pair = ("lon", "lat") if {"lon", "lat"} <= header.keys.keys() else ("x", "y")
    for key in pair:
        name, cell = header.names[header.keys[key]], cells[header.keys[key]]
        if absent(cell):
            context.faults.add(file, place, f"{name} is missing")
            continue
        try:
            found.append(coordinate(cell, batch.coordinates, context.mapping.decimal))
        except ArgumentError as error:
            context.faults.add(file, place, f"{name} {error}")
    if len(found) < 2:
        return None
    return found[0], found[1]


def coordinate(cell: Any, coordinates: Any, decimal: str) -> float:
    """Return a coordinate: metres on the plane of the site, a number as it stands elsewhere."""
    if not isinstance(coordinates, Plane):
        return cell_number(cell, decimal)
    try:
        return cell_number(cell, decimal) * UNITS[coordinates.said]
    except ArgumentError as error:
        if not isinstance(cell, str) or "," in cell or not any(letter in cell for letter in "'\"ftinm"):
            raise
        try:
            return length(cell, "it", UNITS[coordinates.said])
        except ArgumentError:
            raise error from None


def observed(
    point: tuple[float, float], place: str, header: Header, cells: Sequence[Any], code: str | None
) -> Observed:
    """Return the thing in a row."""
    spent = {header.keys[key] for key in ("x", "y", "lon", "lat", "z", "code") if key in header.keys}
    attributes = {
        name: cell
        for k, (name, cell) in enumerate(zip(header.names, cells, strict=True))
        if k not in spent and not absent(cell)
    }
    said = cells[header.keys["code"]] if "code" in header.keys else None
    text = "" if absent(said) else " ".join(str(said).split())
    return Observed("point", (point,), place, text or code or "", "code", attributes)
