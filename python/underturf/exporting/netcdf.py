"""Maps as NetCDF-4 after the CF conventions (1.11): ``StrikeMap.to_xarray`` with its place on Earth.

Where the site's axes point north, x and y are coordinates of the projection. Where they are turned, x and y stay the site's
own, and ``east``, ``north`` are coordinates of the projection for each cell (CF 5.6, the long form of ``grid_mapping``).
``lon`` and ``lat`` of each cell stand in any case (CF 5.2).
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from underturf.exporting.about import About
    from underturf.exporting.planes import Plane
    from underturf.maps import StrikeMap

__all__ = ["write_netcdf"]

#: Attributes of longitudes and latitudes.
DEGREES = {
    "lon": {"standard_name": "longitude", "long_name": "longitude, WGS 84", "units": "degrees_east"},
    "lat": {"standard_name": "latitude", "long_name": "latitude, WGS 84", "units": "degrees_north"},
}

#: The same of the projection.
PROJECTED = {
    "east": {"standard_name": "projection_x_coordinate", "long_name": "metres east of the site's origin", "units": "m"},
    "north": {
        "standard_name": "projection_y_coordinate",
        "long_name": "metres north of the site's origin",
        "units": "m",
    },
}


def write_netcdf(path: Path, smap: StrikeMap, said: About, plane: Plane) -> None:
    """Write a map."""
    data = smap.to_xarray()
    names = [str(name) for name in data.data_vars]
    if plane.name == "local" and plane.frame is not None:
        data = on_earth(data, names, plane)
    else:
        for axis in ("x", "y"):
            del data[axis].attrs["standard_name"]
    data.attrs |= {**said.texts(), "coordinates_of_places": plane.words, **data.attrs}
    encoding: dict[Any, dict[str, Any]] = {str(name): {"_FillValue": None} for name in data.variables}
    for name in names:
        if data[name].dtype == np.float64:
            encoding[name] = {"zlib": True, "_FillValue": np.nan}
    data.to_netcdf(path, engine="h5netcdf", encoding=encoding)


def on_earth(data: Any, names: list[str], plane: Plane) -> Any:
    """Return a dataset with its projection, and the place of each cell on Earth."""
    x, y = np.meshgrid(data["x"].values, data["y"].values)
    xy = np.column_stack([x.ravel(), y.ravel()])
    frame = plane.frame
    assert frame is not None  # noqa: S101 - for the checker of types
    grids = dict(zip(("lon", "lat"), frame.to_lonlat(xy).T.reshape(2, *x.shape), strict=True))
    attrs: dict[str, dict[str, str]] = {**DEGREES, **PROJECTED}
    mapping = "crs"
    if frame.azimuth_deg % 360.0:
        grids |= dict(zip(("east", "north"), frame.to_plane(xy).T.reshape(2, *x.shape), strict=True))
        mapping = "crs: east north"
        for axis in ("x", "y"):
            del data[axis].attrs["standard_name"]
    else:
        for axis, words in (("x", "east"), ("y", "north")):
            data[axis].attrs["long_name"] = PROJECTED[words]["long_name"]
    data = data.assign_coords({name: (("y", "x"), grid, attrs[name]) for name, grid in grids.items()})
    data["crs"] = ((), np.int32(0), plane.crs().to_cf())
    for name in names:
        data[name].attrs["grid_mapping"] = mapping
    return data
