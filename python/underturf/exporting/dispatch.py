"""One call for all formats: the ending of the name says which, and a table says which endings a thing has."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from underturf._atomic import replacing
from underturf._checks import as_path, either, output
from underturf._extras import needs
from underturf.errors import ArgumentError
from underturf.exporting.about import about
from underturf.exporting.csv_table import write_csv
from underturf.exporting.dxf import write_dxf
from underturf.exporting.geojson import write_geojson
from underturf.exporting.geopackage import write_geopackage
from underturf.exporting.geotiff import write_geotiff
from underturf.exporting.gpx import write_gpx
from underturf.exporting.layers import Thing, layers_of, site_of
from underturf.exporting.netcdf import write_netcdf
from underturf.exporting.parquet import write_parquet
from underturf.exporting.planes import Plane, PlaneName, plane_of
from underturf.exporting.set_out import waypoints
from underturf.exporting.tables import placed, stakes_table, table_of
from underturf.layouts import Layouts
from underturf.maps import StrikeMap
from underturf.results.base import Result

if TYPE_CHECKING:
    from underturf.dig_lists import Digs

__all__ = ["ENDINGS", "export_to"]

#: What tapes are measured by: its ending is longer than that of other tables.
STAKES = ".stakes.csv"

#: Endings of what has shapes, and of what has points to set out too.
SHAPES = (".csv", ".dxf", ".geojson", ".gpkg", ".gpx", ".parquet")
SET_OUT = (*SHAPES, STAKES)

#: Endings by what is exported.
ENDINGS: dict[str, tuple[str, ...]] = {
    "Site": SET_OUT,
    "Layouts": SET_OUT,
    "Assessment": SET_OUT,
    "Ranking": SET_OUT,
    "Spots": SET_OUT,
    "ProbePlan": SET_OUT,
    "SweepPlan": SET_OUT,
    "MetalLines": SET_OUT,
    "ValvePlan": SHAPES,
    "Sensitivity": (".csv", ".parquet"),
    "StrikeMap": (".csv", ".nc", ".parquet", ".tif", ".tiff"),
}

#: What digs go into beside layouts.
WITH_DIGS = (".dxf", ".geojson", ".gpkg", ".gpx", STAKES)

#: Planes of each format, the usual one first.
PLANES: dict[str, tuple[PlaneName, ...]] = {
    ".csv": ("lonlat", "local", "site"),
    ".stakes.csv": ("lonlat", "local", "site"),
    ".parquet": ("lonlat", "local", "site"),
    ".geojson": ("lonlat", "site"),
    ".gpkg": ("local", "lonlat", "site"),
    ".dxf": ("site", "local"),
    ".gpx": ("lonlat",),
    ".nc": ("local", "site"),
    ".tif": ("local", "site"),
    ".tiff": ("local", "site"),
}

#: Packages that each format needs.
PACKAGES: dict[str, tuple[str, ...]] = {
    ".csv": (),
    ".stakes.csv": (),
    ".parquet": ("pyarrow",),
    ".geojson": ("shapely",),
    ".gpkg": ("geopandas", "pyogrio", "pyproj", "shapely"),
    ".dxf": ("ezdxf", "shapely"),
    ".gpx": ("geopandas", "pyogrio", "shapely"),
    ".nc": ("h5netcdf", "xarray"),
    ".tif": ("rasterio",),
    ".tiff": ("rasterio",),
}


def export_to(thing: Thing | StrikeMap, path: str | os.PathLike[str], crs: str | None = None, digs: Digs = ()) -> Path:
    """Write a thing for another program, in the format that the ending names.

    Parameters
    ----------
    thing : Site, Layouts, StrikeMap or Result
        What is written.
    path : str or path
        The file; its ending says the format.
    crs : {"lonlat", "local", "site"}, optional
        The plane of its places; see `underturf.exporting.planes`. The usual one of the format if not given.

    digs : dig, name, list of them, or result, optional
        What goes into the same file as layouts.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    ArgumentError
        If the thing has no such ending, the format no such plane, or the site no frame where one is needed.
    ImportError
        If a package is not installed; says which extra brings it.
    OSError
        If the file cannot be written.
    """
    kind = kind_of(thing)
    target = as_path(path)
    ending = ending_of(target, kind)
    output(target, (target.suffix.lower(),))
    site = thing.layouts.site if isinstance(thing, StrikeMap) else site_of(thing)
    plane = plane_of(site, crs, PLANES[ending], ending)
    earth = ("pyproj",) if plane.name != "site" else ()
    shaped = ("shapely",) if ending in (".csv", ".parquet") and kind == "Site" else ()
    needs(f"a {ending} file", *dict.fromkeys((*PACKAGES[ending], *earth, *shaped)))
    writer = writer_of(thing, beside(thing, digs, ending), target, plane)
    with replacing(target) as part:
        writer(part)
    return target


def kind_of(thing: object) -> str:
    """Return under which name a thing stands in the table of endings."""
    return next(kind.__name__ for kind in type(thing).__mro__ if kind.__name__ in ENDINGS)


def ending_of(path: Path, kind: str) -> str:
    """Return the ending of a name, checked against those that a thing has.

    Examples
    --------
    >>> ending_of(Path("map.tif"), "StrikeMap")
    '.tif'
    >>> ending_of(Path("map.dxf"), "StrikeMap")
    Traceback (most recent call last):
    underturf.errors.ArgumentError: map.dxf must end in .csv, .nc, .parquet, .tif or .tiff: a StrikeMap has no other
    """
    name = path.name.lower()
    found = STAKES if name.endswith(STAKES) else path.suffix.lower()
    if found not in ENDINGS[kind]:
        raise ArgumentError(f"{path.name or path} must end in {either(ENDINGS[kind])}: a {kind} has no other")
    return found


def beside(thing: Thing | StrikeMap, digs: Digs, ending: str) -> tuple[Result[Any], ...]:
    """Return the result that goes into the same file as layouts, if any."""
    if isinstance(digs, tuple | list) and not digs:
        return ()
    if not isinstance(thing, Layouts) or ending not in WITH_DIGS:
        raise ArgumentError(f"digs go beside layouts into {either(WITH_DIGS)}; export their own result to {ending}")
    return (digs if isinstance(digs, Result) else thing.assess(digs),)


def writer_of(
    thing: Thing | StrikeMap, more: tuple[Result[Any], ...], target: Path, plane: Plane
) -> Callable[[Path], None]:
    """Return what writes a thing, and results beside it; what can be refused is refused here."""
    said, ending = about(thing, *more), ending_of(target, kind_of(thing))
    if ending in (".csv", ".parquet"):
        table = placed(table_of(thing), plane)
        write = write_csv if ending == ".csv" else write_parquet
        return lambda path: write(path, table, said, words_of(plane))
    if isinstance(thing, StrikeMap):
        grid = write_netcdf if ending == ".nc" else write_geotiff
        return lambda path: grid(path, thing, said, plane)
    if ending == STAKES:
        stakes = placed(stakes_table(thing, *more), plane)
        return lambda path: write_csv(path, stakes, said, words_of(plane))
    if ending == ".gpx":
        points = [point for one in (*more, thing) for point in waypoints(one)]
        if not points:
            raise ArgumentError(
                f"{target.name}: nothing of this {said.kind} is set out, so there is no waypoint to write"
            )
        return lambda path: write_gpx(path, points, said, plane)
    layers = layers_of(thing, *more, ground=ending in (".gpkg", ".dxf"), pieces=ending == ".gpkg")
    drawn = {".geojson": write_geojson, ".gpkg": write_geopackage, ".dxf": write_dxf}[ending]
    return lambda path: drawn(path, layers, said, plane)


def words_of(plane: Plane) -> str:
    """Say what the places of a table are."""
    own = "x and y are metres on the plane of the site document."
    return own if plane.name == "site" else f"{own} {', '.join(plane.columns)}: {plane.words}"
