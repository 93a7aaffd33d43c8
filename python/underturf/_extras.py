"""Packages that only some calls need, and the extra of ours that brings each of them."""

from __future__ import annotations

import importlib.util

__all__ = ["needs"]

#: Package -> extra.
EXTRAS = {
    "anywidget": "widget",
    "arviz_stats": "diagnostics",
    "ezdxf": "cad",
    "geopandas": "geo",
    "gpxpy": "geo",
    "h5netcdf": "keep",
    "h5py": "keep",
    "jinja2": "paper",
    "matplotlib": "plot",
    "openpyxl": "tables",
    "pyogrio": "geo",
    "pyproj": "geo",
    "shapely": "geo",
    "tomlkit": "toml",
    "pyarrow": "tables",
    "rasterio": "raster",
    "typst": "paper",
    "xarray": "xarray",
}


def needs(what: str, *packages: str) -> None:
    """Refuse, before any work, where a package is not installed.

    Raises
    ------
    ImportError
        Names what needs the packages that are missing, and the extras that bring all that it needs.

    Examples
    --------
    >>> needs("a sum")
    """
    missing = [name for name in packages if importlib.util.find_spec(name) is None]
    if missing:
        extras = ",".join(dict.fromkeys(EXTRAS[name] for name in packages))
        raise ImportError(
            f"{what} needs {' and '.join(missing)}, not installed here: pip install 'underturf[{extras}]'",
            name=missing[0],
        )
