"""Vector files of GIS: GeoJSON, GeoPackage, shapefiles. Their places come with their reference system."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from underturf._checks import absent
from underturf._extras import needs
from underturf.survey.context import Context
from underturf.survey.observed import Batch, Observed, Plane
from underturf.survey.tables import LONLAT
from underturf.survey.units import UNITS

__all__ = ["read_vectors"]


def read_vectors(path: Path, file: str, context: Context) -> list[Batch]:
    """Return the things in a vector file, a batch for each of its layers."""
    needs(f"reading {file}", "geopandas", "pyogrio", "pyproj", "shapely")
    import pyogrio

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the library: what it meets is told below
        try:
            layers = [str(name) for name, _ in pyogrio.list_layers(path)]
            frames = [(name, pyogrio.read_dataframe(path, layer=name, fid_as_index=True)) for name in layers]
        except Exception as error:  # the libraries raise many kinds
            said = str(error).replace(str(path), file).split(";")[0]
            context.faults.add(file, "", f"cannot be read, or is cut off: {said}")
            return []
    if not layers:
        context.faults.add(file, "", "has no layers")
    batches = []
    for name, frame in frames:
        batch = read_layer(file, name, frame, context, alone=len(layers) == 1)
        if batch is not None:
            batches.append(batch)
    return batches


def read_layer(file: str, layer: str, frame: Any, context: Context, alone: bool) -> Batch | None:
    """Return the things in a layer; None where it has no place on Earth that can be told, which is noted."""
    where = "" if alone else f"layer {layer}, "
    if not len(frame) or "geometry" not in frame:
        batch = Batch(file, Plane("m"), None)
        reason = "it has no features" if not len(frame) else "it has no geometry"
        batch.left.append((f"layer {layer}", "layer", reason))
        return batch
    found = system_of(file, layer, frame, context)
    if found is None:
        return None
    coordinates, unit_m, scale = found
    batch = Batch(file, coordinates, unit_m)
    columns = [name for name in frame.columns if name != "geometry"]
    codes = [name for name in columns if context.column(str(name))[0] == "code"]
    unknown: dict[str, int] = {}
    heights = 0
    for fid, geometry, *cells in zip(frame.index, frame["geometry"], *(frame[name] for name in columns), strict=True):
        place = f"{where}feature {fid}"
        if geometry is None or geometry.is_empty:
            batch.left.append((place, "feature", "it has no geometry"))
            continue
        heights += bool(geometry.has_z)
        fields = {str(name): cell for name, cell in zip(columns, cells, strict=True) if not absent(cell)}
        written = next((str(fields.pop(str(name))) for name in codes if str(name) in fields), "")
        for name in fields:
            if context.column(name)[0] is None:
                unknown[name] = unknown.get(name, 0) + 1
        code, channel = (written, "code") if written else (context.words(file).code or layer, "layer")
        parts = list(parts_of(geometry))
        if not parts:
            batch.left.append((place, geometry.geom_type, "such a geometry is no point, line or area"))
        for n, (kind, points, holes) in enumerate(parts, start=1):
            part = f", part {n}" if len(parts) > 1 else ""
            scaled = tuple((x * scale, y * scale) for x, y in points)
            batch.observed.append(
                Observed(kind, scaled, place + part, " ".join(code.split()), channel, fields, holes=holes)  # type: ignore[arg-type]
            )
    batch.left += [
        (f"{where}field {name}", f"{count} values", "no key is called so") for name, count in unknown.items()
    ]
    if heights:
        batch.left.append((where.rstrip(", "), f"{heights} heights", "a site is flat: heights are left out"))
    return batch


def system_of(file: str, layer: str, frame: Any, context: Context) -> tuple[Any, float | None, float] | None:
    """Return the coordinates of a layer, its unit of lengths and what its numbers are multiplied by; note where none is told."""
    bounds = [float(of) for of in frame.total_bounds]
    if file.lower().endswith((".geojson", ".json")) and frame.crs is not None and not is_lonlat(frame.crs):
        context.faults.add(
            file,
            "",
            f"names the system {frame.crs.name}; GeoJSON is always in longitude and latitude (RFC 7946): export it again, "
            "or as a GeoPackage",
        )
        return None
    if frame.crs is not None:
        unit = frame.crs.axis_info[0].unit_conversion_factor if frame.crs.is_projected else None
        return frame.crs, context.unit_m(file) or unit, 1.0
    system = context.system(file)
    if system is not None:
        return system, context.unit_m(file), 1.0
    said = f'name it: crs="EPSG:..." in read_survey, or [files."{file}"] crs = "EPSG:..." in the mapping'
    if -180 <= bounds[0] <= bounds[2] <= 180 and -90 <= bounds[1] <= bounds[3] <= 90 and bounds[2] - bounds[0] < 0.05:
        context.faults.add(
            file,
            f"layer {layer}",
            f"has no reference system, and its numbers look like degrees (EPSG:4326 is longitude and latitude); {said}",
        )
        return None
    unit_name = context.unit(file)
    if unit_name is None:
        context.faults.add(
            file,
            f"layer {layer}",
            f'has no reference system; {said}; or, if it is drawn on the plane of the site, say units="m" or "ft"',
        )
        return None
    return Plane(unit_name), UNITS[unit_name], UNITS[unit_name]


def is_lonlat(crs: Any) -> bool:
    """Whether a system is WGS 84 longitude and latitude."""
    return bool(crs.equals(LONLAT, ignore_axis_order=True) or crs.to_epsg() in (4326, 4979))


def parts_of(geometry: Any) -> Iterator[tuple[str, tuple[tuple[float, float], ...], int]]:
    """Yield the points, lines and areas of a geometry, corners once each, with the number of holes."""
    name = geometry.geom_type
    if name == "Point":
        yield "point", ((geometry.x, geometry.y),), 0
    elif name in ("LineString", "LinearRing"):
        yield "line", tuple((c[0], c[1]) for c in geometry.coords), 0
    elif name == "Polygon":
        yield "area", tuple((c[0], c[1]) for c in geometry.exterior.coords)[:-1], len(geometry.interiors)
    else:
        for part in getattr(geometry, "geoms", ()):
            yield from parts_of(part)
