"""Layers as GeoJSON (RFC 7946): one collection whose features name their layer, longitudes and latitudes with nine decimals.

Nine decimals are 0.1 mm. What the file says of itself is a foreign member of the collection, ``underturf``, ahead of the
features. On the site's own plane, which RFC 7946 does not know, places are metres with four decimals, and
``underturf.coordinates`` says so. JSON knows no infinite number, and a text among numbers spoils a column for every reader:
it is null.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from underturf.exporting.layer import flat

if TYPE_CHECKING:
    from underturf.exporting.about import About
    from underturf.exporting.layer import Layer
    from underturf.exporting.planes import Plane

__all__ = ["write_geojson"]

#: Decimals of degrees and of metres.
DECIMALS = {"lonlat": 9, "site": 4}


def write_geojson(path: Path, layers: Sequence[Layer], said: About, plane: Plane) -> None:
    """Write layers as one collection."""
    features = [feature for layer in layers for feature in features_of(layer, plane)]
    about = {**said.whole(), "coordinates": plane.words}
    whole = {"type": "FeatureCollection", "underturf": about, "features": features}
    with path.open("w", encoding="utf-8") as file:
        json.dump(whole, file, ensure_ascii=False, allow_nan=False, default=str)
        file.write("\n")


def features_of(layer: Layer, plane: Plane) -> list[dict[str, Any]]:
    """Return the features of a layer."""
    import shapely

    rows = flat(layer.table).to_dict("records")
    if layer.shapes is None:
        shapes: list[Any] = [None] * len(rows)
    else:
        # Outlines run counter-clockwise, as RFC 7946, 3.1.6 asks for.
        shapes = [None if shape is None else oriented(shape) for shape in plane.moved(layer.shapes)]
    decimals = DECIMALS[plane.name]
    made = []
    for row, shape in zip(rows, shapes, strict=True):
        geometry = None if shape is None else rounded(shapely.geometry.mapping(shape), decimals)
        properties = {"layer": layer.name, **{str(key): cell_of(cell) for key, cell in row.items()}}
        made.append({"type": "Feature", "geometry": geometry, "properties": properties})
    return made


def oriented(shape: Any) -> Any:
    """Return a shape whose outlines run counter-clockwise, and whose holes run clockwise."""
    import shapely
    from shapely.geometry.polygon import orient

    if shape.geom_type == "Polygon":
        return orient(shape)
    return shapely.MultiPolygon([orient(part) for part in shape.geoms]) if shape.geom_type == "MultiPolygon" else shape


def rounded(geometry: dict[str, Any], decimals: int) -> dict[str, Any]:
    """Return a geometry with so many decimals."""
    return {"type": geometry["type"], "coordinates": round_all(geometry["coordinates"], decimals)}


def round_all(given: Any, decimals: int) -> Any:
    """Return numbers, or lists of them at any depth, with so many decimals.

    Examples
    --------
    >>> round_all(((1.23456, 2.0), (3.0, 4.0)), 3)
    [[1.235, 2.0], [3.0, 4.0]]
    """
    return [round_all(item, decimals) for item in given] if isinstance(given, list | tuple) else round(given, decimals)


def cell_of(cell: Any) -> Any:
    """Return a cell as JSON knows it; nothing known and no end are null.

    Examples
    --------
    >>> [cell_of(cell) for cell in (float("nan"), float("inf"), 0.0, True, "a")]
    [None, None, 0.0, True, 'a']
    """
    if cell is None or (not isinstance(cell, str) and cell != cell):
        return None
    if not isinstance(cell, str | bool | int | float):
        cell = cell.item() if hasattr(cell, "item") else None if str(cell) == "<NA>" else str(cell)
    return None if isinstance(cell, float) and math.isinf(cell) else cell
