"""Places of any reference system on the plane of the site, and what the projection does to lengths there.

The plane is that of `underturf.frames`: transverse Mercator about the frame's origin, turned to its azimuth. Its scale is one
along the origin's meridian. What it is elsewhere is computed from the library's own factors and stated.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from underturf._extras import needs
from underturf.frames import LocalFrame, as_points

__all__ = ["SCALE_LIMIT", "plane", "scale_error"]

#: Scale error beyond which the report warns: one millimetre in a kilometre.
SCALE_LIMIT = 1e-6

Floats = npt.NDArray[np.float64]


def plane(frame: LocalFrame, points: npt.ArrayLike, crs: Any = "OGC:CRS84") -> tuple[Floats, str]:
    """Return places of a reference system on the plane, shape (n, 2) in metres, and how the library says it got there.

    Places that the system cannot hold come out as infinite.

    Examples
    --------
    >>> places, _ = plane(LocalFrame(8.0, 50.0, 90.0), [(8.0, 50.0), (8.0, 50.001)])
    >>> places.round(2) + 0.0 # the y axis points east
    array([[   0.  ,    0.  ], [-111.23,    0.  ]])
    """
    needs("placing longitude and latitude", "pyproj")
    import pyproj

    over = pyproj.Transformer.from_crs(crs, frame.crs(), always_xy=True)
    east_north = np.column_stack(over.transform(*as_points(points).T))
    with np.errstate(invalid="ignore"):
        places = frame.from_plane(east_north)
    steps = [step.strip() for step in str(over.description).split(" + ")]
    said = " + ".join(step for step in steps if step != "unknown" and not step.startswith("axis order"))
    accuracy = f", good to {over.accuracy:g} m" if said and over.accuracy and over.accuracy > 0 else ""
    return places, said + accuracy


def scale_error(frame: LocalFrame, points_m: npt.ArrayLike) -> float:
    """Return the largest scale error of the projection over places on the plane, as a share.

    Examples
    --------
    >>> 1.2e-8 < scale_error(LocalFrame(8.0, 50.0), [[1000.0, 0.0]]) < 1.3e-8
    True
    """
    import pyproj

    degrees = frame.to_lonlat(points_m)
    factors = pyproj.Proj(frame.crs()).get_factors(degrees[:, 0], degrees[:, 1])
    scales = np.concatenate([np.atleast_1d(factors.meridional_scale), np.atleast_1d(factors.parallel_scale)])
    return float(np.max(np.abs(scales - 1.0)))
