"""Longitude and latitude on the plane of the site: transverse Mercator about the frame's origin, turned to its azimuth.

Its scale is one along the origin's meridian. What it is elsewhere is computed from the library's own factors and stated.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from underturf._extras import needs

__all__ = ["SCALE_LIMIT", "LocalFrame"]

#: Scale error beyond which the report warns: one millimetre in a kilometre.
SCALE_LIMIT = 1e-6

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LocalFrame:
    """Where the plane of a site lies on Earth.

    Attributes
    ----------
    lon, lat : float
        Longitude and latitude of its origin, degrees (WGS 84).
    azimuth_deg : float
        Azimuth of its y axis, degrees clockwise from north.
    """

    lon: float
    lat: float
    azimuth_deg: float = 0.0

    def system(self) -> Any:
        """Return the projection before it is turned, as the library knows it: metres east and north of the origin."""
        needs("placing longitude and latitude", "pyproj")
        import pyproj

        return pyproj.CRS.from_proj4(
            f"+proj=tmerc +lat_0={self.lat!r} +lon_0={self.lon!r} +k=1 +x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs"
        )

    def turned(self, east: Floats, north: Floats) -> tuple[Floats, Floats]:
        """Return x and y of places east and north of the origin."""
        turn = math.radians(self.azimuth_deg)
        cos, sin = math.cos(turn), math.sin(turn)
        return east * cos - north * sin, east * sin + north * cos

    def unturned(self, x_m: Floats, y_m: Floats) -> tuple[Floats, Floats]:
        """Return metres east and north of the origin of places on the plane."""
        turn = math.radians(self.azimuth_deg)
        cos, sin = math.cos(turn), math.sin(turn)
        return x_m * cos + y_m * sin, y_m * cos - x_m * sin

    def plane(self, points: Sequence[tuple[float, float]], crs: Any = "OGC:CRS84") -> tuple[Floats, str]:
        """Return places of a reference system on the plane, shape (n, 2) in metres, and how the library says it got there.

        Places that the system cannot hold come out as infinite.

        Examples
        --------
        >>> places, _ = LocalFrame(8.0, 50.0, 90.0).plane([(8.0, 50.0), (8.0, 50.001)])
        >>> places.round(2) + 0.0 # the y axis points east
        array([[   0.  ,    0.  ], [-111.23,    0.  ]])
        """
        import pyproj

        over = pyproj.Transformer.from_crs(crs, self.system(), always_xy=True)
        values = np.asarray(points, dtype=float).reshape(-1, 2)
        east, north = over.transform(values[:, 0], values[:, 1])
        with np.errstate(invalid="ignore"):
            x_m, y_m = self.turned(np.asarray(east, dtype=float), np.asarray(north, dtype=float))
        steps = [step.strip() for step in str(over.description).split(" + ")]
        said = " + ".join(step for step in steps if step != "unknown" and not step.startswith("axis order"))
        accuracy = f", good to {over.accuracy:g} m" if said and over.accuracy and over.accuracy > 0 else ""
        return np.column_stack([x_m, y_m]), said + accuracy

    def earth(self, points_m: Sequence[tuple[float, float]]) -> Floats:
        """Return longitude and latitude of places on the plane, shape (n, 2) in degrees (WGS 84).

        Examples
        --------
        >>> LocalFrame(8.0, 50.0).earth([(0.0, 111.2293)]).round(6).tolist()
        [[8.0, 50.001]]
        """
        import pyproj

        back = pyproj.Transformer.from_crs(self.system(), "OGC:CRS84", always_xy=True)
        values = np.asarray(points_m, dtype=float).reshape(-1, 2)
        east, north = self.unturned(values[:, 0], values[:, 1])
        return np.column_stack(back.transform(east, north))

    def scale_error(self, points_m: Floats) -> float:
        """Return the largest scale error of the projection over places on the plane, as a share.

        Examples
        --------
        >>> error = LocalFrame(8.0, 50.0).scale_error(np.array([[1000.0, 0.0]]))
        >>> 1.2e-8 < error < 1.3e-8
        True
        """
        import pyproj

        degrees = self.earth([(float(x), float(y)) for x, y in points_m])
        factors = pyproj.Proj(self.system()).get_factors(degrees[:, 0], degrees[:, 1])
        scales = np.concatenate([np.atleast_1d(factors.meridional_scale), np.atleast_1d(factors.parallel_scale)])
        return float(np.max(np.abs(scales - 1.0)))
