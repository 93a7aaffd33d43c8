"""Everything that was read on one plane: local coordinates as they are, others through the frame of the site."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from underturf._extras import needs
from underturf.errors import ArgumentError
from underturf.frames import LocalFrame
from underturf.survey.faults import Faults
from underturf.survey.observed import Batch, Plane
from underturf.survey.projection import SCALE_LIMIT, plane, scale_error

__all__ = ["frame_of", "made_frame", "placed", "system_named"]

#: Distance from the origin of the frame beyond which a place is a mistake.
FARTHEST_M = 50_000.0

#: Decimals of a frame that is made: about a metre.
DECIMALS = 5

Places = list[tuple[float, float]]


def frame_of(given: object) -> LocalFrame | None:
    """Check a frame: longitude and latitude of the origin, and the azimuth of the y axis.

    Examples
    --------
    >>> frame_of({"lon": 8.0, "lat": 50.0})
    LocalFrame(lon=8.0, lat=50.0, azimuth_deg=0.0)
    >>> frame_of({"lon": 50.0})
    Traceback (most recent call last):
    underturf.errors.ArgumentError: frame has no lat; give lon and lat of the origin, and azimuth_deg where the y axis is turned
    """
    if given is None:
        return None
    needed = "give lon and lat of the origin, and azimuth_deg where the y axis is turned"
    if not isinstance(given, Mapping):
        raise ArgumentError(f"frame is {given!r}; {needed}")
    unknown = [key for key in given if key not in ("lon", "lat", "azimuth_deg")]
    if unknown:
        raise ArgumentError(f"frame has no key {unknown[0]!r}; {needed}")
    values = {}
    for key, most in (("lon", 180.0), ("lat", 90.0), ("azimuth_deg", 360.0)):
        value = given.get(key, 0.0 if key == "azimuth_deg" else None)
        if value is None:
            raise ArgumentError(f"frame has no {key}; {needed}")
        if isinstance(value, bool) or not isinstance(value, int | float) or not -most <= value <= most:
            raise ArgumentError(f"frame.{key} is {value!r}; it must be a number from {-most:g} to {most:g}")
        values[key] = float(value)
    return LocalFrame(**values)


def system_named(name: str, argument: str) -> Any:
    """Return a reference system by the name that a user gives."""
    needs("a coordinate reference system", "pyproj")
    import pyproj

    try:
        return pyproj.CRS.from_user_input(name)
    except pyproj.exceptions.CRSError:
        raise ArgumentError(
            f'{argument} is {name!r}, no coordinate reference system that is known; write it as "EPSG:26915"'
        ) from None


def made_frame(batches: Sequence[Batch]) -> LocalFrame | None:
    """Return a frame about the middle of the first file that has a reference system; None where none has.

    The middle is the median, so that one stray place does not move it.
    """
    first = next((of for of in batches if not isinstance(of.coordinates, Plane) and of.observed), None)
    if first is None:
        return None
    needs("placing longitude and latitude", "pyproj")
    import pyproj

    over = pyproj.Transformer.from_crs(first.coordinates, "OGC:CRS84", always_xy=True)
    points = np.asarray([point for of in first.observed for point in of.points], dtype=float)
    lon, lat = over.transform(points[:, 0], points[:, 1])
    good = np.isfinite(lon) & np.isfinite(lat) & (np.abs(lat) <= 90) & (np.abs(lon) <= 180)
    if not good.any():
        return LocalFrame(0.0, 0.0)
    return LocalFrame(*(round(float(np.median(np.asarray(of)[good])), DECIMALS) for of in (lon, lat)))


def placed(batch: Batch, frame: LocalFrame | None, origin_m: tuple[float, float], faults: Faults) -> list[Places]:
    """Return the places of every thing of a batch on the plane of the site, in metres; note those that cannot be there."""
    endless = [of for of in batch.observed if not all(map(math.isfinite, [v for point in of.points for v in point]))]
    for of in endless:
        faults.add(batch.file, of.place, "its coordinates are no finite numbers")
    if endless:
        return [[] for _ in batch.observed]
    if isinstance(batch.coordinates, Plane):
        look_like_degrees(batch, faults)
        return [[(x - origin_m[0], y - origin_m[1]) for x, y in of.points] for of in batch.observed]
    if not batch.observed or frame is None:
        return [[] for _ in batch.observed]
    geographic = is_geographic(batch.coordinates)
    found: list[Places] = []
    points = [point for of in batch.observed for point in of.points]
    places, way = plane(frame, points, batch.coordinates)
    start = 0
    for of in batch.observed:
        mine = places[start : start + len(of.points)]
        start += len(of.points)
        for (x, y), (x_m, y_m) in zip(of.points, mine, strict=True):
            if geographic and not (abs(x) <= 180 and abs(y) <= 90):
                swap = "; are they swapped?" if abs(x) <= 90 and abs(y) <= 180 else ""
                faults.add(batch.file, of.place, f"longitude {x:g} and latitude {y:g} are no place on Earth{swap}")
                break
            far = float(np.hypot(x_m, y_m))
            if not far <= FARTHEST_M:
                away = f"{far / 1000:.0f} km from" if np.isfinite(far) else "nowhere near"
                more = (
                    "; are longitude and latitude swapped?"
                    if geographic
                    else "; is the reference system the right one?"
                )
                faults.add(batch.file, of.place, f"{x:.10g}, {y:.10g} lies {away} the frame's origin{more}")
                break
        found.append([(float(x), float(y)) for x, y in mine])
    near = places[np.isfinite(places).all(axis=1)]
    if len(near):
        note_scale(batch, frame, near, way)
    return found


def is_geographic(system: Any) -> bool:
    """Whether places of a system are longitude and latitude."""
    import pyproj

    return bool(pyproj.CRS.from_user_input(system).is_geographic)


def note_scale(batch: Batch, frame: LocalFrame, near: Any, way: str) -> None:
    """Say how places came onto the plane, and how true its scale is there."""
    import pyproj

    system = pyproj.CRS.from_user_input(batch.coordinates)
    error = scale_error(frame, near)
    unit = "" if system.is_geographic else f", in {system.axis_info[0].unit_name}"
    warned = ": WARNING, more than 1e-6; choose a frame nearer to the site" if error > SCALE_LIMIT else ""
    shift = f" ({way})" if way else ""
    note = (
        f"{batch.file}: {system.name}{unit}, through transverse Mercator about lon {frame.lon!r}, lat {frame.lat!r}, y axis at "
        f"azimuth {frame.azimuth_deg:g} degrees{shift}; scale error {error:.1e} at most{warned}."
    )
    if note not in batch.notes:
        batch.notes.append(note)


def look_like_degrees(batch: Batch, faults: Faults) -> None:
    """Note a file of plane coordinates whose numbers are most likely degrees."""
    points = [point for of in batch.observed for point in of.points]
    scale = 1.0
    if isinstance(batch.coordinates, Plane):
        from underturf.survey.units import UNITS

        scale = UNITS[batch.coordinates.said]
    if len(points) < 2:
        return
    xs, ys = ([point[k] / scale for point in points] for k in (0, 1))
    small = 0 < max(max(xs) - min(xs), max(ys) - min(ys)) < 0.05
    fine = sum(abs(value - round(value, 4)) > 1e-9 for value in (*xs, *ys)) > len(xs)
    if small and fine and max(map(abs, xs)) <= 180 and max(map(abs, ys)) <= 90:
        faults.add(
            batch.file,
            "",
            "its coordinates look like degrees: name the columns lon and lat, or say which system they are in: "
            'crs="EPSG:4326"',
        )
