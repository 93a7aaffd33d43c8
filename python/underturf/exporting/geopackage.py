"""Layers as a GeoPackage: a layer each, tables without places too, and a table ``about`` with what the file says of itself."""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from underturf.exporting.layer import flat

if TYPE_CHECKING:
    from underturf.exporting.about import About
    from underturf.exporting.layer import Layer
    from underturf.exporting.planes import Plane

__all__ = ["write_geopackage"]

#: Kinds of shapes of a layer that holds both.
MANY = {frozenset(("Polygon", "MultiPolygon")): "MultiPolygon", frozenset(("Polygon",)): "Polygon"}


def write_geopackage(path: Path, layers: Sequence[Layer], said: About, plane: Plane) -> None:
    """Write layers, the table ``about`` first."""
    import geopandas
    import pyogrio

    texts = {**said.texts(), "coordinates": plane.words}
    about = pd.DataFrame({"key": list(texts), "value": list(texts.values())})
    crs = plane.crs() if plane.name == "lonlat" else unlisted(plane.crs())
    with warnings.catch_warnings(), unhurried():
        warnings.filterwarnings("ignore", message="'crs' was not provided")  # of tables without places
        pyogrio.write_dataframe(about, path, layer="about", driver="GPKG", dataset_metadata=texts)
        for layer in layers:
            # The row numbers of the file are its own column "fid".
            table = flat(layer.table).rename(columns={"fid": "fid_", "geom": "geom_"})
            if layer.shapes is None:
                pyogrio.write_dataframe(table, path, layer=layer.name, driver="GPKG")
                continue
            shapes = plane.moved(layer.shapes)
            kinds = frozenset(shape.geom_type for shape in shapes if shape is not None)
            kind = next(iter(kinds)) if len(kinds) == 1 else MANY.get(kinds)
            placed = geopandas.GeoDataFrame(table, geometry=shapes, crs=crs)
            many = kind is not None and kind.startswith("Multi") and len(kinds) > 1
            pyogrio.write_dataframe(
                placed, path, layer=layer.name, driver="GPKG", geometry_type=kind, promote_to_multi=many
            )


def unlisted(crs: Any) -> Any:
    """Return a reference system that is in no public list: searching the list for it takes half a second a layer."""
    from pyproj import CRS

    class Unlisted(CRS):  # type: ignore[misc]
        def to_epsg(self, min_confidence: int = 70) -> None:
            return None

    return Unlisted(crs)


@contextmanager
def unhurried() -> Iterator[None]:
    """Leave it to the end to bring the file to the disk: it is not in its place before it is whole."""
    import pyogrio

    name = "OGR_SQLITE_SYNCHRONOUS"
    before = pyogrio.get_gdal_config_option(name)
    pyogrio.set_gdal_config_options({name: "OFF"})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({name: before})
