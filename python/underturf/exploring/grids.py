"""The maps that a page stores: one for each radius and depth, on one grid, as fine as the size of the file allows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from underturf.errors import ArgumentError
from underturf.exploring.packed import CHANCES, packed, packed_chances

if TYPE_CHECKING:
    from underturf._checks import Length
    from underturf.layouts import Layouts
    from underturf.maps import StrikeMap
    from underturf.options import ExploreOptions, Running

__all__ = ["stored_maps"]

#: Sides of cells to choose from, metres.
CELLS_M = (0.05, 0.075, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0)

#: Finest cell when nothing is said, metres: a third of the narrowest hole that is stored gains nothing below that. Design.
FINEST = 1 / 3

#: Characters that a cell of one map takes: chance and error of two bytes each, a byte for where no chance counts at most.
CHARACTERS = 4 / 3 * 5

#: Room for all else on the page, megabytes: the map library, the site, some layouts.
ELSE_MB = 0.6

#: Share of the size asked for that a grid may pass: the extent is that of a coarse grid.
SLACK = 1.1


def stored_maps(layouts: Layouts, options: ExploreOptions, run: Running | None = None) -> dict[str, Any]:
    """Return the maps of all holes as a page stores them.

    Returns
    -------
    dict
        ``x0_m``, ``y0_m`` (centre of the first cell: row 0 is north), ``cell_m``, ``rows``, ``cols``, ``steps`` (of a chance),
        ``radii_m``, ``depths_m``, ``maps`` (``radius_m``, ``depth_m``, ``p``, ``mcse``, ``barred``: which of the next) and
        ``barred`` (bytes of cells: 1 in a tolerance zone, 2 on flagged metal).

    Raises
    ------
    ArgumentError
        If maps of the cell asked for would pass the size asked for; tells the size.
    """
    wanted = options.holes_m(layouts.site.units)
    cell_m = chosen_cell(layouts, options, run)
    maps: list[dict[str, Any]] = []
    barred: list[str] = []
    for radius, depth in wanted:
        smap = layouts.strike_map(radius, depth, cell_m, run=run)
        cells = packed(smap.in_tolerance_zone + 2 * (smap.on_flagged_metal & ~smap.in_tolerance_zone), "u1")
        if cells not in barred:
            barred.append(cells)
        chances = {"p": packed_chances(smap.p), "mcse": packed_chances(smap.mcse)}
        maps.append({"radius_m": radius, "depth_m": depth, **chances, "barred": barred.index(cells)})
    rows, cols = smap.p.shape
    holes = np.array(wanted)
    return {
        "x0_m": float(smap.x_m[0]),
        "y0_m": float(smap.y_m[0]),
        "cell_m": smap.cell_m,
        "rows": rows,
        "cols": cols,
        "steps": CHANCES,
        "radii_m": np.unique(holes[:, 0]).tolist(),
        "depths_m": np.unique(holes[:, 1]).tolist(),
        "maps": maps,
        "barred": barred,
    }


def chosen_cell(layouts: Layouts, options: ExploreOptions, run: Running | None) -> float:
    """Return the side of a cell: as asked for, if the file stays small enough, else the finest that keeps it so."""
    wanted = options.holes_m(layouts.site.units)
    (radius, depth), count = wanted[0], len(wanted)
    coarse = first_map(layouts, radius, depth, run)
    ground = coarse.p.size * coarse.cell_m**2
    if options.cell_m is not None:
        cell: Length = options.cell_m
        size_mb = size_of(ground, float(cell), count)
        if size_mb > SLACK * options.size_mb:
            raise ArgumentError(
                f"cell_m is {float(cell):g}; {count} maps of such cells make a file of about {size_mb:.0f} MB, and size_mb is "
                f"{options.size_mb:g}: take larger cells, fewer radii and depths, or allow a larger file"
            )
        return float(cell)
    fine = [cell for cell in CELLS_M if cell >= FINEST * radius * (1 - 1e-9)] or [CELLS_M[-1]]
    fitting = [cell for cell in fine if size_of(ground, cell, count) <= options.size_mb]
    if not fitting:
        raise ArgumentError(
            f"size_mb is {options.size_mb:g}; {count} maps of cells of {fine[-1]:g} m take more: allow a larger file"
        )
    return fitting[0]


def first_map(layouts: Layouts, radius: float, depth: float, run: Running | None) -> StrikeMap:
    """Return a coarse map, for the ground that a finer one will cover."""
    return layouts.strike_map(radius, depth, 1.0, run=run)


def size_of(ground_m2: float, cell_m: float, count: int) -> float:
    """Return the size of a file with maps of so much ground, megabytes."""
    return ELSE_MB + CHARACTERS * count * ground_m2 / cell_m**2 / 1e6
