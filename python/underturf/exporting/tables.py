"""Things as one table each, for CSV and Parquet: places in metres of the site plane, and beside them on the plane asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from underturf.dig_lists import bind_digs
from underturf.exporting.dig_layers import places
from underturf.exporting.layers import layers_of
from underturf.exporting.set_out import set_out
from underturf.layouts import Layouts
from underturf.maps import StrikeMap
from underturf.results import Assessment, MetalLines, Ranking
from underturf.site import Site

if TYPE_CHECKING:
    from underturf.exporting.layers import Thing
    from underturf.exporting.planes import Plane

__all__ = ["cells_of", "placed", "stakes_table", "table_of"]

#: Columns of places in tables: of a point, and of both ends of a straight piece.
ENDS = ("", "0", "1")


def table_of(thing: Thing | StrikeMap) -> pd.DataFrame:
    """Return a thing as one table.

    Of layouts, every piece of every draw; of a map, every cell; of a site, everything that its document lists, with shapes as
    well-known text (``wkt``); of metal lines, every station with what is known of its line; of all else its own table.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7)
    >>> table_of(layouts.rank()).columns[:4].tolist()
    ['dig', 'x_m', 'y_m', 'rank']
    """
    if isinstance(thing, StrikeMap):
        return cells_of(thing)
    if isinstance(thing, Layouts):
        return thing.segments()
    if isinstance(thing, Site):
        return listed(thing)
    table = thing.table().reset_index()
    if isinstance(thing, MetalLines):
        known = table.drop(columns=["half_width_m"]).rename(columns={"converged": "line_converged"})
        stations = thing.courses.merge(known, on="line", how="outer")
        return stations.rename(columns={"line_converged": "converged"}).reset_index(drop=True)
    if isinstance(thing, Assessment | Ranking):
        at = places(bind_digs(thing.digs, thing.site))
        table.insert(1, "x_m", at["x_m"])
        table.insert(2, "y_m", at["y_m"])
    return table


def listed(site: Site) -> pd.DataFrame:
    """Return everything that a document lists as one table, with the shapes of its things as text."""
    import shapely

    parts = []
    for layer in layers_of(site):
        table = layer.table.copy()
        table.insert(0, "layer", layer.name)
        shapes = np.full(len(table), None, object) if layer.shapes is None else layer.shapes
        # Fifteen digits and a little: all that tells two lengths apart.
        table["wkt"] = pd.Series(shapely.to_wkt(shapes, rounding_precision=-1), dtype="object")
        parts.append(table.astype(object))
    return pd.concat(parts, ignore_index=True).infer_objects() if parts else pd.DataFrame({"layer": [], "name": []})


def cells_of(smap: StrikeMap) -> pd.DataFrame:
    """Return every cell of a map, row by row from the north-west; what may not be dug there is empty."""
    x, y = np.meshgrid(smap.x_m, smap.y_m)
    arrays: dict[str, Any] = {
        "x_m": x,
        "y_m": y,
        "p_strike": smap.p,
        "mcse": smap.mcse,
        "p_upper95": smap.upper,
        "in_tolerance_zone": smap.in_tolerance_zone,
        "on_flagged_metal": smap.on_flagged_metal,
    }
    if smap.p_setback is not None:
        arrays["p_setback"] = smap.p_setback
    return pd.DataFrame({name: array.ravel() for name, array in arrays.items()} | {"converged": smap.converged})


def placed(table: pd.DataFrame, plane: Plane) -> pd.DataFrame:
    """Put places on a plane beside those on the site's own; the site's own alone for ``site``.

    Examples
    --------
    >>> from underturf.exporting.planes import Plane
    >>> from underturf.frames import LocalFrame
    >>> table = pd.DataFrame({"x_m": [10.0], "y_m": [0.0]})
    >>> placed(table, Plane("local", LocalFrame(7.5, -33.0, 90.0))).round(6).to_dict("list")
    {'x_m': [10.0], 'y_m': [0.0], 'east_m': [0.0], 'north_m': [-10.0]}
    """
    if plane.name == "site":
        return table
    made = table.copy()
    for end in ENDS:
        here = [f"x{end}_m", f"y{end}_m"]
        if all(name in made for name in here):
            first, second = (f"{name.partition('_')[0]}{end}_{name.partition('_')[2]}" for name in plane.columns)
            xy = made[here].to_numpy(float)
            known = np.isfinite(xy).all(axis=1)
            there = np.full_like(xy, np.nan)
            if known.any():
                there[known] = plane.at(xy[known])
            at = made.columns.get_loc(here[1])
            made.insert(int(at) + 1, first, there[:, 0])  # type: ignore[arg-type]
            made.insert(int(at) + 2, second, there[:, 1])  # type: ignore[arg-type]
    return made


def stakes_table(thing: Thing, *more: Thing) -> pd.DataFrame:
    """Return what is set out of a thing, a row a point, with its tapes from two fixed points of the site.

    Columns: ``label``, ``what``, ``x_m``, ``y_m``, ``half_width_m``, ``chance``, ``note``; ``point_a``, ``point_b`` (what is
    measured from), their places, ``a_to_b_m`` (measure this first), ``to_a_m``, ``to_b_m`` (two tapes), ``along_m``,
    ``left_m`` (from the first towards the second, then square off to the left, minus: right), ``square_is_free`` (whether
    nothing is built there), ``error_m`` (of the place by its tapes, one standard deviation), ``no_tie`` (why there are no
    tapes), and both tapes as they are read in the document's unit (``tape_a``, ``tape_b``).
    """
    from underturf.crew.lengths import tape_text
    from underturf.crew.points import Point, tied
    from underturf.exporting.layers import site_of

    site = site_of(thing)
    points = [point for one in (*more, thing) for point in set_out(one)]
    fixed = tied(site, [Point(point.label, point.x_m, point.y_m) for point in points])
    rows = []
    for point, tie in zip(points, fixed.records, strict=True):
        row: dict[str, Any] = {**point._asdict()}
        found = not pd.isna(tie["pair"])
        a, b, apart = fixed.pairs[int(tie["pair"])] if found else (None, None, None)
        for end, k in (("a", a), ("b", b)):
            name, x, y = (None, None, None) if k is None else fixed.points[k]
            row |= {f"point_{end}": name, f"x_{end}_m": x, f"y_{end}_m": y}
        row["a_to_b_m"] = apart
        row |= {
            key: tie[key] if found else None
            for key in ("to_a_m", "to_b_m", "along_m", "left_m", "square_is_free", "error_m")
        }
        row["no_tie"] = None if found else str(tie["refused"])
        row |= {f"tape_{end}": tape_text(tie[f"to_{end}_m"], site.units) if found else None for end in ("a", "b")}
        rows.append(row)
    return pd.DataFrame(rows)
