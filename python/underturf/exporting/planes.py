"""The planes that places are written on: longitude and latitude, the projection about the site's origin, the site's own plane."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import numpy as np
import numpy.typing as npt

from underturf._checks import word
from underturf.errors import ArgumentError
from underturf.frames import LocalFrame

if TYPE_CHECKING:
    from underturf.exporting.layer import Shapes
    from underturf.site import Site

__all__ = ["SITE_WKT", "Plane", "PlaneName", "plane_of"]

#: ``lonlat``: WGS 84. ``local``: transverse Mercator about the origin, north up, metres. ``site``: the plane of the document.
PlaneName: TypeAlias = Literal["lonlat", "local", "site"]

#: How the site's own plane is told to a GIS: metres on a flat plane, whose place on Earth nobody says.
SITE_WKT = (
    'ENGCRS["Site plane, metres (underturf)",EDATUM["Origin and axes of the site document"],CS[Cartesian,2],'
    'AXIS["site x (x)",unspecified,ORDER[1],LENGTHUNIT["metre",1]],AXIS["site y (y)",unspecified,ORDER[2],LENGTHUNIT["metre",1]]]'
)

#: What each plane is, for the reader of a file.
WORDS = {
    "lonlat": "Longitude and latitude, degrees, WGS 84.",
    "local": "Metres east and north of the site's origin: transverse Mercator about it, scale 1, WGS 84.",
    "site": "Metres on the plane of the site document, x and y from its origin.",
}

#: How to give a frame.
FRAME = (
    'give the site a frame in its document: frame = {"lon": ..., "lat": ..., "azimuth_deg": ...}, the place of its origin in '
    "degrees (WGS 84) and the azimuth of its y axis, clockwise from north"
)


@dataclass(frozen=True)
class Plane:
    """A plane, and the frame by which places of the site get there."""

    name: PlaneName
    frame: LocalFrame | None = None

    @property
    def words(self) -> str:
        """What its numbers are."""
        return WORDS[self.name]

    @property
    def columns(self) -> tuple[str, str]:
        """What columns of places on it begin with, and their unit."""
        return {"lonlat": ("lon_deg", "lat_deg"), "local": ("east_m", "north_m"), "site": ("x_m", "y_m")}[self.name]

    def at(self, xy: npt.ArrayLike) -> npt.NDArray[np.float64]:
        """Return places of the site on this plane, shape (n, 2)."""
        places = np.asarray(xy, dtype=float).reshape(-1, 2)
        if self.frame is None or self.name == "site":
            return places
        return self.frame.to_lonlat(places) if self.name == "lonlat" else self.frame.to_plane(places)

    def moved(self, shapes: Shapes) -> Shapes:
        """Return shapes of the site on this plane."""
        import shapely

        moved: Shapes = shapely.transform(shapes, self.at)
        return moved

    def wkt(self) -> str:
        """Return its coordinate reference system as text (WKT 2)."""
        if self.frame is None or self.name == "site":
            return SITE_WKT
        from pyproj import CRS

        found: str = (CRS("EPSG:4326") if self.name == "lonlat" else self.frame.crs()).to_wkt()
        return found

    def crs(self) -> Any:
        """Return the same as a ``pyproj.CRS``."""
        from pyproj import CRS

        return CRS.from_wkt(self.wkt())


def plane_of(site: Site, asked: object, allowed: Sequence[PlaneName], ending: str) -> Plane:
    """Return the plane that a file is written on.

    Parameters
    ----------
    site : Site
        Its frame leads from its own plane to the others.
    asked : str or None
        The plane asked for; None: the first that is allowed.
    allowed : sequence of str
        The planes that a format has, the usual one first.
    ending : str
        The ending, for messages.

    Raises
    ------
    ArgumentError
        If the format has no such plane, or the site has no frame and the plane needs one.
    """
    frame = LocalFrame.of(site)
    if asked is not None:
        name = word(asked, "crs", ("lonlat", "local", "site"))
        if name not in allowed:
            raise ArgumentError(f"crs is {name!r}; a {ending} file has {' or '.join(map(repr, allowed))}")
        if name != "site" and frame is None:
            raise ArgumentError(f"crs is {name!r}, and the site has no frame: {FRAME}")
        return Plane(next(known for known in allowed if known == name), frame)
    first = allowed[0]
    if first == "site" or frame is not None:
        return Plane(first, frame)
    if first == "lonlat" and ending in (".geojson", ".gpx"):
        other = ', or export with crs="site": metres on the plane of the site, which no map places' * (
            "site" in allowed
        )
        raise ArgumentError(f"a {ending} file has longitudes and latitudes, and the site has no frame: {FRAME}{other}")
    return Plane("site", None)
