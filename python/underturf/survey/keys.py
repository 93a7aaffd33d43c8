"""What columns, attribute fields and block attributes are called, and which key of a document each fills."""

from __future__ import annotations

from functools import cache

from underturf.site_tables import LISTS
from underturf.survey.codes import SHAPES

__all__ = ["COLUMN_KEYS", "FLOWS", "LENGTH_KEYS", "PLACES", "column_key", "entry_keys"]

#: Keys of places, of names and of codes.
PLACES = ("x", "y", "lon", "lat", "z", "code")

#: Keys of entries that hold single lengths; diameter is halved.
LENGTH_KEYS = frozenset(
    ["sd", "accuracy_95", "radius", "diameter", "depth", "width", "half_zone", "stem_diameter", "cover"]
)

#: Flows by the ending of their column: litres per second in one.
FLOWS: dict[str, float] = {"flow_l_s": 1.0, "flow_gpm": 3.785411784 / 60}

#: Keys of entries that columns cannot give: they are made from the places.
MADE = frozenset(["x", "y", "outline", "path", "from", "to", "heads"])

#: Lists whose points may say a diameter instead of a radius.
ROUND = frozenset(["digs", "probes"])


def entry_keys(owner: str) -> frozenset[str]:
    """Return the keys of a list that columns, codes and defaults may give.

    Examples
    --------
    >>> sorted(entry_keys("outlets"))
    ['fed', 'id', 'kind']
    """
    more = {"probes": ("azimuth_deg", "diameter"), "digs": ("tree", "diameter"), "flags": ("class", "depth")}
    flows = tuple(FLOWS) if owner == "heads" else ()
    return frozenset([*LISTS.get(owner, ()), *more.get(owner, ()), *flows]) - MADE - {"flow"}


#: Keys that a column may fill.
COLUMN_KEYS: tuple[str, ...] = tuple(
    dict.fromkeys([*PLACES, *(key for owner in SHAPES if owner for key in sorted(entry_keys(owner)))])
)

#: Other names of columns. Common practice, no source.
CALLED: dict[str, str] = {
    **dict.fromkeys(["easting", "east", "e"], "x"),
    **dict.fromkeys(["northing", "north", "n"], "y"),
    **dict.fromkeys(["longitude", "lng", "long"], "lon"),
    **dict.fromkeys(["latitude"], "lat"),
    **dict.fromkeys(["elev", "elevation", "height", "altitude", "ele"], "z"),
    **dict.fromkeys(["desc", "description", "feature", "feature_code"], "code"),
    **dict.fromkeys(["name", "point", "pt", "no", "point_id", "point_no", "pt_no"], "id"),
    **dict.fromkeys(["station", "circuit"], "zone"),
    **dict.fromkeys(["throw"], "radius"),
    **dict.fromkeys(["arc"], "arc_deg"),
    **dict.fromkeys(["stdev", "sigma"], "sd"),
    **dict.fromkeys(["dbh"], "stem_diameter"),
}


@cache
def column_key(name: str) -> str | None:
    """Return the key that a column without its unit fills, if it is a known name.

    Examples
    --------
    >>> column_key("Northing"), column_key("Stem diameter"), column_key("colour")
    ('y', 'stem_diameter', None)
    """
    said = "_".join(name.strip().lower().replace("-", " ").replace("_", " ").split())
    said = CALLED.get(said, said)
    return said if said in COLUMN_KEYS else None
