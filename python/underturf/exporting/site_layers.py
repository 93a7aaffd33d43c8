"""What a site document lists, as layers: one a list, in the order of the format, with the ground that is kept off."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from underturf.exporting.dig_layers import dig_layers
from underturf.exporting.layer import Layer, Shapes, areas, lines, points, strips, with_names
from underturf.site_tables import NAMES

if TYPE_CHECKING:
    from underturf.site import Site

__all__ = ["site_layers"]

#: Lists of points.
POINTS = ("heads", "valve_boxes", "sources", "outlets", "trees", "flags")

#: Columns that a shape tells.
SHAPED = ["path_m", "outline_m", "from_m", "to_m"]


def site_layers(site: Site, *, digs: bool = True) -> list[Layer]:
    """Return the layers of a site; empty ones are left out.

    Parameters
    ----------
    site : Site
        The site.
    digs : bool
        Whether its own digs are among them.

    Examples
    --------
    >>> import underturf as ut
    >>> [layer.name for layer in site_layers(ut.read_site(ut.example("bare")))]
    ['boundary', 'heads', 'digs', 'dig_footprints']
    """
    boundary = site._plain().get("boundary")
    found = []
    if boundary:
        table = pd.DataFrame({"name": [site.name or "boundary"]})
        found.append(Layer("boundary", table, areas([np.array(boundary, float) * site.unit_m])))
    found += [outlined(site, "obstacles")]
    found += [placed(site, key) for key in POINTS]
    found += [*probes(site), outlined(site, "swept")]
    found += [*marks(site), services(site), pathed(site, "sketches"), *keep_offs(site)]
    tests = site.station_tests
    found.append(Layer("station_tests", with_names(tests, called("station_tests", tests))))
    if digs:
        found += dig_layers(site._handle.digs(), site.digs)
    return [layer for layer in found if len(layer)]


def called(key: str, table: pd.DataFrame) -> list[str]:
    """Return what entries of a list are called: by their id, else by their number in the document, from 1."""
    if "id" in table:
        return [str(name) for name in table["id"]]
    return [f"{NAMES[key][0]} {k + 1}" for k in range(len(table))]


def layer_of(key: str, table: pd.DataFrame, shapes: Shapes, name: str | None = None) -> Layer:
    """Return a layer of a list."""
    rest = table.drop(columns=[column for column in SHAPED if column in table])
    return Layer(name or key, with_names(rest, called(key, table)), shapes)


def placed(site: Site, key: str) -> Layer:
    """Return a list of points."""
    table: pd.DataFrame = getattr(site, key)
    return layer_of(key, table, points(table[["x_m", "y_m"]].to_numpy(float)))


def outlined(site: Site, key: str) -> Layer:
    """Return a list of areas."""
    table: pd.DataFrame = getattr(site, key)
    return layer_of(key, table, areas(table["outline_m"]))


def pathed(site: Site, key: str) -> Layer:
    """Return a list of lines."""
    table: pd.DataFrame = getattr(site, key)
    return layer_of(key, table, lines(table["path_m"]))


def services(site: Site) -> Layer:
    """Return the services: straight between the places that they are known to pass."""
    table = site.services
    paths = []
    for row in table.to_dict("records"):
        between = row.get("path_m")
        paths.append([row["from_m"], *(between if isinstance(between, list) else []), row["to_m"]])
    return layer_of("services", table, lines(paths))


def probes(site: Site) -> list[Layer]:
    """Return the probes that were dug: holes as points, slits as lines."""
    table = site.probes
    names = called("probes", table)
    slit = table["path_m"].notna().to_numpy()
    rest = with_names(table.drop(columns="path_m"), names)
    holes = points(table.loc[~slit, ["x_m", "y_m"]].to_numpy(float))
    return [
        Layer("probes", rest[~slit].reset_index(drop=True), holes),
        Layer("probe_slits", rest[slit].reset_index(drop=True), lines(table.loc[slit, "path_m"])),
    ]


def marks(site: Site) -> list[Layer]:
    """Return the marks and their tolerance zones."""
    table = site.marks
    half = table["half_zone_m"].astype(float).fillna(site._handle.half_zone_m)
    zones = pd.DataFrame({"class": table["class"], "half_zone_m": half})
    names = [f"tolerance zone of mark {k + 1}" for k in range(len(table))]
    layer = Layer("tolerance_zones", with_names(zones, names), strips(table["path_m"], half))
    return [pathed(site, "marks"), layer]


def keep_offs(site: Site) -> list[Layer]:
    """Return the ground to keep off along metal that a detector heard."""
    rows: list[dict[str, Any]] = []
    paths = []
    for name, branches, half in site._handle.keep_offs():
        for path in branches:
            rows.append({"name": f"keep off: {name}", "half_width_m": half})
            paths.append(path)
    table = pd.DataFrame(rows, columns=["name", "half_width_m"])
    return [Layer("keep_off", table, strips(paths, table["half_width_m"]))]
