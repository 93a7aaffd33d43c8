"""Writing layouts to a file: whole at any moment, with all that it takes to answer again."""

from __future__ import annotations

import os
from importlib.metadata import version
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from underturf._atomic import replacing
from underturf._checks import output
from underturf._extras import needs
from underturf.cautions import CAUTIONS, NOT_CONVERGED
from underturf.keeping.form import ENDING, FORMAT, LAYOUTS, attributes
from underturf.methods import convergence

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["save"]


def save(layouts: Layouts, path: str | os.PathLike[str]) -> Path:
    """Write the layouts to one file that keeps all of them: NetCDF-4, which other programs read too.

    It holds the site's document, every draw, its pieces, weights, what chains went through, settings, seed and version.
    Layouts that `load` reads from it give the same answers, bit for bit, without sampling. The group ``posterior`` is what
    `to_datatree` gives, so that ArviZ can be pointed at the file. A kill at any moment leaves the old file or the new one.

    Parameters
    ----------
    path : str or path
        A name that ends in ``.nc``.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    ArgumentError
        If the name ends in anything else.
    ImportError
        If h5netcdf or xarray is not installed (``pip install underturf[keep]``).
    OSError
        If the file cannot be written.

    Examples
    --------
    >>> import tempfile, underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     again = ut.load(layouts.save(f"{folder}/bare.nc"))
    >>> again, bool((again.strike_probability() == layouts.strike_probability()).all())
    (<Layouts: 50 draws, seed 7, of <Site ...>>, True)
    """
    needs("a file of layouts", "h5netcdf", "h5py", "xarray")
    import h5netcdf

    path = output(path, (ENDING,))
    columns = layouts._handle.keep()
    tree = convergence.to_datatree(layouts)
    with replacing(path) as part:
        tree.to_netcdf(part, engine="h5netcdf", invalid_netcdf=False)
        with h5netcdf.File(part, "a") as file:
            file.attrs.update(about(layouts))
            for group, names in groupby(sorted(columns), key=lambda name: name.split("/")[0]):
                put_group(file, group, {name.split("/")[1]: columns[name] for name in names}, columns)
    return path


def about(layouts: Layouts) -> dict[str, Any]:
    """Return what the file says of itself."""
    return {
        "Conventions": "CF-1.11",
        "format": FORMAT,
        "underturf_version": version("underturf"),
        "title": f"Pipe layouts of {layouts.site.name or 'a site without a name'}",
        "site": layouts.site.to_json(),
        "seed": str(layouts.seed),
        "draws": layouts.draws,
        "converged": int(layouts.converged),
        "warnings": "\n".join([*([] if layouts.converged else [NOT_CONVERGED]), *layouts.warnings]),
        "not_assessed": " ".join(layouts.not_assessed),
        "cautions": "\n".join(CAUTIONS),
    }


def put_group(file: Any, group: str, columns: dict[str, Any], every: dict[str, Any]) -> None:
    """Write the columns of one sort of thing, a row each."""
    import h5py

    rows = len(next(iter(columns.values())))
    place = file.create_group(f"{LAYOUTS}/{group}")
    place.attrs["rows"] = rows
    if rows == 0:
        # A dimension without length would be one without end.
        place.attrs["columns"] = " ".join(f"{name}:{kind_of(column)}" for name, column in columns.items())
        return
    place.dimensions = {group: rows}
    for name, column in columns.items():
        if isinstance(column, list):
            variable = place.create_variable(name, (group,), dtype=h5py.string_dtype())
            variable[:] = np.array(column, dtype=object)
        else:
            small = smallest(column)
            packed = {"compression": "gzip", "compression_opts": 4, "shuffle": True, "fletcher32": True}
            variable = place.create_variable(name, (group,), dtype=small.dtype, data=small, **packed)
        for key, value in attributes(group, name, every).items():
            variable.attrs[key] = np.asarray(value, dtype=column.dtype) if key == "flag_values" else value


def kind_of(column: Any) -> str:
    """Return what an empty column would hold."""
    return "str" if isinstance(column, list) else str(column.dtype)


def smallest(column: Any) -> Any:
    """Return whole numbers in the least room that holds them; others as they are."""
    if column.dtype != np.int64:
        return column
    low, high = column.min(), column.max()
    for kind in (np.int8, np.int16, np.int32):
        if np.iinfo(kind).min <= low and high <= np.iinfo(kind).max:
            return column.astype(kind)
    return column
