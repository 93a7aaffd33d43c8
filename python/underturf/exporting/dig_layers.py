"""Digs as layers: their middles, which carry all that is known of them, and their footprints as they will be dug."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from underturf.exporting.layer import Layer, Shapes, areas, as_shapes, points, strips, with_names
from underturf.exporting.looks import CIRCLE

if TYPE_CHECKING:
    from underturf import _core

__all__ = ["dig_layers", "middle", "places"]

#: Columns that a dig itself tells better than a table.
OWN = ("x_m", "y_m", "radius_m", "width_m", "depth_m", "path_m", "outline_m", "method", "id", "dig")


def dig_layers(digs: Sequence[_core.Dig], table: pd.DataFrame, name: str = "digs", one: str = "dig") -> list[Layer]:
    """Return digs as two layers: ``name`` with their middles and every column of a table, and ``<one>_footprints``.

    Parameters
    ----------
    digs : sequence of Dig
        The digs, with the width and depth of the hole that the ball of a tree needs.
    table : DataFrame
        What is known of each, row by row.
    name, one : str
        Names of the layers.
    """
    shown = places(digs)
    rest = table.reset_index(drop=True).drop(columns=[key for key in OWN if key in table])
    known = pd.concat([shown, rest], axis=1)
    names = [dig.id for dig in digs]
    middles = points(shown[["x_m", "y_m"]].to_numpy(float))
    outlines = shown.drop(columns=["x_m", "y_m"])
    outlines[CIRCLE] = [dig.half_width_m if dig.kind == "hole" else None for dig in digs]
    outlines[CIRCLE] = outlines[CIRCLE].astype(float)
    if "p_strike" in table:
        outlines["p_strike"] = table["p_strike"].to_numpy()
    return [
        Layer(name, with_names(known, names), middles),
        Layer(f"{one}_footprints", with_names(outlines, names), footprints(digs)),
    ]


def places(digs: Sequence[_core.Dig]) -> pd.DataFrame:
    """Return where digs are and how large: middle, width, depth, and what was drawn where the ball of a tree needs more."""
    rows = []
    for dig in digs:
        x, y = middle(dig)
        drawn = dig.drawn
        rows.append({
            "shape": dig.kind,
            "x_m": x,
            "y_m": y,
            "width_m": None if dig.kind == "pit" else 2 * dig.half_width_m,
            "depth_m": dig.depth_m,
            "method": dig.method,
            "drawn_width_m": None if drawn is None or dig.kind == "pit" else 2 * drawn.half_width_m,
            "drawn_depth_m": None if drawn is None else drawn.depth_m,
        })  # fmt: skip
    kinds = {"shape": object, "method": object}
    columns = ("shape", "x_m", "y_m", "width_m", "depth_m", "method", "drawn_width_m", "drawn_depth_m")
    return pd.DataFrame(rows, columns=list(columns)).astype({name: kinds.get(name, float) for name in columns})


def middle(dig: _core.Dig) -> tuple[float, float]:
    """Return the middle of a dig: of a hole its centre, of a trench half way, of a pit the centre of its area.

    Examples
    --------
    >>> from underturf import Pit, Trench
    >>> middle(Trench([[0, 0], [4, 0], [4, 2]], width_m=0.3, depth_m=0.5)._bind("t"))
    (3.0, 0.0)
    >>> middle(Pit([[0, 0], [3, 0], [0, 3]], depth_m=0.5)._bind("p"))
    (1.0, 1.0)
    """
    at = dig.points_m
    if dig.kind == "pit":
        # The corners are taken from the first one: far from the origin nothing cancels.
        (x, y), (x1, y1) = (at - at[0]).T, np.roll(at - at[0], -1, axis=0).T
        cross = x * y1 - x1 * y
        dx, dy = ((x + x1) @ cross / (3 * cross.sum()), (y + y1) @ cross / (3 * cross.sum()))
        return float(at[0, 0] + dx), float(at[0, 1] + dy)
    gone = np.concatenate([[0.0], np.hypot(*np.diff(at, axis=0).T).cumsum()]) if len(at) > 1 else np.zeros(1)
    return float(np.interp(gone[-1] / 2, gone, at[:, 0])), float(np.interp(gone[-1] / 2, gone, at[:, 1]))


def footprints(digs: Sequence[_core.Dig]) -> Shapes:
    """Return the ground that each dig takes; trenches have square ends."""
    made: list[Any] = []
    for dig in digs:
        at, half = dig.points_m, dig.half_width_m
        if dig.kind == "pit":
            made += list(areas([at]))
        else:
            made += list(strips([at], [half], "round" if dig.kind == "hole" else "flat"))
    return as_shapes(made)
