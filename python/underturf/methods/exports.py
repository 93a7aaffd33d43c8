"""Ways out to other programs: one call, the format by the ending of the name."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    from underturf.dig_lists import Digs
    from underturf.exporting.planes import PlaneName
    from underturf.layouts import Layouts
    from underturf.maps import StrikeMap
    from underturf.results.base import Result
    from underturf.site import Site

__all__ = ["export", "export_layouts"]

#: What is exported by itself; layouts take digs beside them.
Exportable: TypeAlias = "Site | StrikeMap | Result[Any]"


def export(thing: Exportable, path: str | os.PathLike[str], *, crs: PlaneName | None = None) -> Path:
    """Write it for another program, in the format that the ending of the name says.

    Parameters
    ----------
    path : str or path
        The file. Sites and results: a name that ends in ``.csv``, ``.dxf``, ``.geojson``, ``.gpkg``, ``.gpx``, ``.parquet``
        or, where points are set out, ``.stakes.csv``. Maps: ``.csv``, ``.nc``, ``.parquet``, ``.tif`` or ``.tiff``.
        ``python/docs/exports.md`` tells what goes where.
    crs : {"lonlat", "local", "site"}, optional
        The plane of its places: longitude and latitude (WGS 84), metres east and north of the origin of the site's frame, or
        metres on the plane of the site. The usual one of the format if not given.

    Returns
    -------
    Path
        The file written, whole or not at all. It carries the cautions, draws and seed if there are any, the version, and
        whether its figures can be relied on.

    Raises
    ------
    ArgumentError
        If the name ends in anything else, the format has no such plane, or the site has no frame where one is needed.
    ImportError
        If a package that the format needs is not installed; says which extra brings it.
    OSError
        If the file cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     paths = [
    ...         site.export(f"{folder}/green.geojson", crs="site"),
    ...         layouts.rank().export(f"{folder}/ranking.gpkg"),
    ...         layouts.strike_map(cell_m=0.5).export(f"{folder}/map.tif"),
    ...     ]
    >>> [path.name for path in paths]
    ['green.geojson', 'ranking.gpkg', 'map.tif']
    """
    from underturf.exporting import export_to

    return export_to(thing, path, crs)


def export_layouts(
    layouts: Layouts, path: str | os.PathLike[str], *, digs: Digs = (), crs: PlaneName | None = None
) -> Path:
    """Write likely lines, metal lines and every draw's pieces for another program, in the format that the ending says.

    Parameters
    ----------
    path : str or path
        A name that ends in ``.csv``, ``.dxf``, ``.geojson``, ``.gpkg``, ``.gpx``, ``.parquet`` or ``.stakes.csv``;
        ``python/docs/exports.md`` tells what goes where.
    digs : dig, name, list of them, or result, optional
        What goes into the same file, tables of pieces (``.csv``, ``.parquet``) apart: a result as it is, other digs with
        what `assess` says of them; None: the site's own.
    crs : {"lonlat", "local", "site"}, optional
        The plane of its places: longitude and latitude (WGS 84), metres east and north of the origin of the site's
        frame, or metres on the plane of the site. The usual one of the format if not given.

    Returns
    -------
    Path
        The file written, whole or not at all. It carries the cautions, draws, seed, the version, and whether its figures
        can be relied on.

    Raises
    ------
    ArgumentError
        If the name ends in anything else, the format has no such plane, or the site has no frame where one is needed.
    ImportError
        If a package that the format needs is not installed; says which extra brings it.
    OSError
        If the file cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     layouts.export(f"{folder}/lines.dxf").name
    'lines.dxf'
    """
    from underturf.exporting import export_to

    return export_to(layouts, path, crs, digs)
