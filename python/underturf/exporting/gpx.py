"""Points to set out as GPX waypoints, for a phone: its own accuracy, metres, is far worse than a tape's.

Each waypoint says in its description what it is, and that it is no clearance. The file's description holds the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from underturf.cautions import NOT_CONVERGED
from underturf.exporting.about import SHORT
from underturf.frames import wrapped

if TYPE_CHECKING:
    from underturf.exporting.about import About
    from underturf.exporting.planes import Plane
    from underturf.exporting.set_out import SetOut

__all__ = ["write_gpx"]

#: What a phone alone is worth.
PHONE = "A phone finds a place to a few metres: measure with tapes from fixed points before you dig."


def write_gpx(path: Path, points: Sequence[SetOut], said: About, plane: Plane) -> None:
    """Write waypoints; one at least."""
    import geopandas
    import pyogrio
    import shapely

    at = plane.at([(point.x_m, point.y_m) for point in points])
    at[:, 0] = wrapped(at[:, 0])
    mark = "" if said.converged else f"{NOT_CONVERGED}. "
    table = {
        "name": [tidy(point.label) for point in points],
        "cmt": [f"{mark}{SHORT}"] * len(points),
        "desc": [tidy(f"{mark}{words_of(point)} {SHORT}") for point in points],
        "type": [tidy(point.what) for point in points],
    }
    frame = geopandas.GeoDataFrame(table, geometry=shapely.points(np.round(at, 9)), crs="EPSG:4326")
    options = {
        "METADATA_NAME": tidy(said.title),
        "METADATA_DESCRIPTION": tidy("\n".join([*said.lines(), PHONE])),
        "METADATA_KEYWORDS": f"underturf, {NOT_CONVERGED}" if mark else "underturf",
    }
    pyogrio.write_dataframe(frame, path, layer="waypoints", driver="GPX", dataset_options=options)


def words_of(point: SetOut) -> str:
    """Say what a point is, as a sentence."""
    said = f"{point.what}: {point.note}" if point.note else point.what
    return said if said.endswith(".") else f"{said}."


def tidy(text: str) -> str:
    r"""Leave out signs that XML cannot hold; line breaks stay.

    Examples
    --------
    >>> tidy("bed\x07 1\nb")
    'bed 1\nb'
    """
    return "".join(sign for sign in text if sign.isprintable() or sign == "\n")
