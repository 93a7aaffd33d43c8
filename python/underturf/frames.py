"""Where a site lies on Earth: from its plane to longitude and latitude, and back.

The plane lies on a transverse Mercator projection about the origin of the site's frame, scale 1 there, on the ellipsoid of WGS
84. Within 500 m of the origin a length on it differs from the ellipsoid's by less than 4 parts in a thousand million. The
projection points north; ``frame.azimuth_deg`` turns the site's axes on it.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from underturf._extras import needs

if TYPE_CHECKING:
    from underturf.site import Site

__all__ = ["LocalFrame"]

Points = npt.NDArray[np.float64]

#: Affine map (x, y) -> (a x + b y + c, d x + e y + f), as raster libraries order it.
Affine = tuple[float, float, float, float, float, float]


@dataclass(frozen=True)
class LocalFrame:
    """The frame of a site: where its origin lies, and how its axes are turned.

    Parameters
    ----------
    lon, lat : float
        Origin of the site plane, degrees east and north, WGS 84.
    azimuth_deg : float
        Azimuth of the y axis, degrees clockwise from north.

    Examples
    --------
    >>> frame = LocalFrame(7.5, -33.0, azimuth_deg=90.0)  # y runs east, x runs south
    >>> east, south = frame.to_lonlat([[0.0, 100.0], [100.0, 0.0]])
    >>> bool(east[0] > 7.5), bool(south[1] < -33.0)
    (True, True)
    >>> frame.to_site(frame.to_lonlat([[12.0, -5.0]])).round(6).tolist()
    [[12.0, -5.0]]
    """

    lon: float
    lat: float
    azimuth_deg: float = 0.0

    @classmethod
    def of(cls, site: Site) -> LocalFrame | None:
        """Return the frame of a site; None where its document gives none.

        Examples
        --------
        >>> import underturf as ut
        >>> LocalFrame.of(ut.read_site(ut.example("green"))) is None
        True
        """
        frame = site._plain().get("frame")
        return None if frame is None else cls(frame["lon"], frame["lat"], frame.get("azimuth_deg") or 0.0)

    def crs(self) -> Any:
        """Return the projection, a ``pyproj.CRS``: transverse Mercator about the origin, north up, metres.

        Examples
        --------
        >>> LocalFrame(7.5, -33.0).crs().is_projected
        True
        """
        needs("a place on Earth", "pyproj")
        return _crs(self.lon, self.lat)

    def affine(self) -> Affine:
        """Return the map from the site plane to the projection: (a, b, c, d, e, f), east = a x + b y + c, north = d x + e y + f.

        Examples
        --------
        >>> [round(part, 6) + 0.0 for part in LocalFrame(7.5, -33.0, azimuth_deg=90.0).affine()]
        [0.0, 1.0, 0.0, -1.0, 0.0, 0.0]
        """
        turn = math.radians(self.azimuth_deg)
        cos, sin = math.cos(turn), math.sin(turn)
        return cos, sin, 0.0, -sin, cos, 0.0

    def to_plane(self, xy: npt.ArrayLike) -> Points:
        """Return places of the site as metres east and north of its origin, shape (n, 2)."""
        a, b, _, d, e, _ = self.affine()
        plane: Points = as_points(xy) @ np.array([[a, d], [b, e]])
        return plane

    def to_lonlat(self, xy: npt.ArrayLike) -> Points:
        """Return places of the site, metres, as longitude and latitude, degrees; shape (n, 2).

        Longitudes are within 180 degrees of the origin's, so that a site on the 180th meridian stays in one piece.
        """
        needs("a place on Earth", "pyproj")
        lon, lat = _transformer(self.lon, self.lat).transform(*self.to_plane(xy).T, direction="INVERSE")
        return np.column_stack([self.lon + wrapped(np.asarray(lon) - self.lon), lat])

    def to_site(self, lonlat: npt.ArrayLike) -> Points:
        """Return longitudes and latitudes, degrees, as places of the site, metres; shape (n, 2)."""
        needs("a place on Earth", "pyproj")
        return self.from_plane(np.column_stack(_transformer(self.lon, self.lat).transform(*as_points(lonlat).T)))

    def from_plane(self, plane: Points) -> Points:
        """Return metres east and north of the origin as places of the site, shape (n, 2)."""
        a, b, _, d, e, _ = self.affine()
        places: Points = plane @ np.array([[a, b], [d, e]])
        return places

    def scale_error(self, extent_m: float) -> float:
        """Return the greatest relative error of a length at that distance from the origin.

        Examples
        --------
        >>> LocalFrame(7.5, -33.0).scale_error(500.0) < 4e-9
        True
        """
        needs("a place on Earth", "pyproj")
        from pyproj import Proj

        ((lon, lat),) = LocalFrame(self.lon, self.lat).to_lonlat([[extent_m, 0.0]])
        factors = Proj(self.crs()).get_factors(lon, lat)
        return float(max(abs(factors.meridional_scale - 1), abs(factors.parallel_scale - 1)))


def as_points(points: npt.ArrayLike) -> Points:
    """Return points as an array of shape (n, 2)."""
    return np.asarray(points, dtype=float).reshape(-1, 2)


def wrapped(degrees: Points) -> Points:
    """Return angles between -180 and 180 degrees.

    Examples
    --------
    >>> wrapped(np.array([-359.5, 0.25, 200.0])).tolist()
    [0.5, 0.25, -160.0]
    """
    return (degrees + 180.0) % 360.0 - 180.0


@functools.lru_cache(maxsize=64)
def _crs(lon: float, lat: float) -> Any:
    from pyproj import CRS
    from pyproj.crs import GeographicCRS, ProjectedCRS
    from pyproj.crs.coordinate_operation import TransverseMercatorConversion

    about = TransverseMercatorConversion(lat, lon, 0.0, 0.0, 1.0)
    name = f"Local plane about {lon:.9g} {lat:.9g} (underturf)"
    return CRS(ProjectedCRS(about, name=name, geodetic_crs=GeographicCRS(name="WGS 84")))


@functools.lru_cache(maxsize=64)
def _transformer(lon: float, lat: float) -> Any:
    from pyproj import Transformer

    return Transformer.from_crs("EPSG:4326", _crs(lon, lat), always_xy=True)
