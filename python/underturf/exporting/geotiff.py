"""Maps as GeoTIFF: a band each for the chance, its error, its bound and the masks, row 0 at the top.

A site whose axes are turned against north keeps its cells: the raster's affine transform carries the turn, no value is resampled.
Cells where nothing may be dug are NaN, which is the file's mark for no data.
"""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from underturf.exporting.about import About
    from underturf.exporting.planes import Plane
    from underturf.maps import StrikeMap

__all__ = ["write_geotiff"]


def write_geotiff(path: Path, smap: StrikeMap, said: About, plane: Plane) -> None:
    """Write a map."""
    import rasterio
    from rasterio.errors import NotGeoreferencedWarning
    from rasterio.transform import Affine

    bands = {
        "p_strike": smap.p,
        "mcse": smap.mcse,
        "p_upper95": smap.upper,
        "in_tolerance_zone": smap.in_tolerance_zone,
        "on_flagged_metal": smap.on_flagged_metal,
    }
    if smap.p_setback is not None:
        bands["p_setback"] = smap.p_setback
    half = 0.5 * smap.cell_m
    turn = Affine(*plane.frame.affine()) if plane.name == "local" and plane.frame is not None else Affine.identity()
    transform = turn @ Affine(smap.cell_m, 0.0, smap.x_m[0] - half, 0.0, -smap.cell_m, smap.y_m[0] + half)
    shape = {"height": smap.p.shape[0], "width": smap.p.shape[1], "count": len(bands)}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        with rasterio.open(
            path,
            "w",
            driver="GTiff",
            dtype="float64",
            nodata=np.nan,
            compress="deflate",
            crs=rasterio.crs.CRS.from_wkt(plane.wkt()),
            transform=transform,
            **shape,
        ) as file:
            file.update_tags(**{**said.texts(), "coordinates": plane.words})
            for k, (name, values) in enumerate(bands.items(), start=1):
                file.write(values.astype(np.float64), k)
                file.set_band_description(k, name)
                file.update_tags(k, units="1", cautions=said.texts()["cautions"])
