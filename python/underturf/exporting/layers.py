"""Any of the things that are exported, as layers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from underturf.crew.metal import label_of
from underturf.crew.plan import likely_of_pipe, metal_stakes, stakes_of
from underturf.dig_lists import bind_digs
from underturf.exporting.dig_layers import dig_layers, middle
from underturf.exporting.layer import Layer, lines, points, with_names
from underturf.exporting.line_layers import likely_layers, metal_layers, segment_layer
from underturf.exporting.site_layers import site_layers
from underturf.layouts import Layouts
from underturf.options import SheetOptions
from underturf.results import Assessment, MetalLines, ProbePlan, Ranking, Spots, SweepPlan, ValvePlan
from underturf.results.base import Result
from underturf.site import Site

if TYPE_CHECKING:
    from underturf import _core

__all__ = ["Thing", "layers_of", "site_of"]

#: What has layers.
Thing = Site | Layouts | Result[Any]


def site_of(thing: Thing) -> Site:
    """Return the site of a thing."""
    return thing if isinstance(thing, Site) else thing.site


def layers_of(thing: Thing, *more: Result[Any], ground: bool = False, pieces: bool = False) -> list[Layer]:
    """Return a thing, and results beside it, as layers; empty ones are left out.

    Parameters
    ----------
    thing : Site, Layouts or Result
        What is exported.
    more : Result
        What goes into the same file.
    ground : bool
        Whether the site's own layers come first, without the digs that it proposes where the thing holds digs.
    pieces : bool
        Whether every draw's pieces are among the layers of layouts.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7)
    >>> [layer.name for layer in layers_of(layouts.rank())]
    ['digs', 'dig_footprints']
    """
    if isinstance(thing, Site):
        return site_layers(thing)
    own = of_layouts(thing, pieces) if isinstance(thing, Layouts) else of_result(thing)
    own = [layer for layer in (*own, *(layer for result in more for layer in of_result(result))) if len(layer)]
    taken = {layer.name for layer in own}
    around = site_layers(thing.site, digs="digs" not in taken) if ground else []
    return [*(layer for layer in around if layer.name not in taken), *own]


def of_layouts(layouts: Layouts, pieces: bool) -> list[Layer]:
    """Return what layouts tell of lines: likely ones of pipe, metal ones, and every piece of every draw."""
    table = likely_of_pipe(layouts.likely_lines())
    metal = layouts.metal_lines()
    found = [*likely_layers(table, layouts.site._handle.y_azimuth_deg), *metal_layers(metal), stakes(metal, table)]
    return [*found, segment_layer(layouts)] if pieces else found


def of_result(result: Result[Any]) -> list[Layer]:
    """Return a result as layers."""
    table = result.table().reset_index()
    if isinstance(result, MetalLines):
        return [*metal_layers(result), stakes(result)]
    if isinstance(result, SweepPlan):
        ends = table[["x0_m", "y0_m", "x1_m", "y1_m"]].to_numpy(float).reshape(-1, 2, 2)
        return [Layer("passes", with_names(table, (f"pass {k + 1}" for k in range(len(table)))), lines(ends))]
    if isinstance(result, ValvePlan):
        return [valves(result, table)]
    if isinstance(result, ProbePlan):
        bound = bind_digs(result.digs, result.site)
        planned = bind_digs(result.planned_for, result.site)
        extra = Layer(
            "probe_outcomes", with_names(result.outcomes(), (f"probe {k}" for k in result.outcomes()["probe"]))
        )
        footprints = dig_layers(planned, pd.DataFrame(index=range(len(planned))), "planned_for", "planned_for")
        return [*footprints, *dig_layers(bound, table, "planned_probes", "probe"), extra]
    if isinstance(result, Spots):
        return dig_layers(bind_digs(result.digs, result.site), table, "spots", "spot")
    if isinstance(result, Assessment | Ranking):
        bound = bind_digs(result.digs, result.site)
        more = [shifts(bound, table)] if isinstance(result, Assessment) else []
        return [*dig_layers(bound, table), *more]
    raise TypeError(f"{type(result).__name__} has no layers")


def stakes(metal: MetalLines, lines: pd.DataFrame | None = None) -> Layer:
    """Return the stakes on metal lines and on likely lines, with the labels of the sheet for the crew."""
    classes = {label_of(line): line.treat_as for line in metal}
    set_out = [(stake, classes[stake.line]) for stake in metal_stakes(metal, SheetOptions(), [])]
    if lines is not None:
        set_out += list(zip(stakes_of(lines, []), lines["class"].astype(str), strict=True))
    rows = [
        {
            "name": stake.label,
            "class": of,
            "line": int(stake.line.lstrip("ML")),
            "on": "metal line" if stake.line.startswith("ML") else "likely line",
            "x_m": stake.x_m,
            "y_m": stake.y_m,
            "half_width_m": stake.half_width_m,
            "p_here": stake.chance,
            "converged": metal.converged,
        }
        for stake, of in set_out
    ]
    return Layer("stakes", pd.DataFrame(rows), points([(stake.x_m, stake.y_m) for stake, _ in set_out]))


def shifts(digs: Sequence[_core.Dig], table: pd.DataFrame) -> Layer:
    """Return the best shift of each dig that has one: a line from where its middle is to where it would be."""
    known = ["shift_dx_m", "shift_dy_m", "shift_m", "shift_azimuth_deg", "p_strike", "p_shifted", "loss_shifted"]
    rows = table[known].reset_index(drop=True)
    moved = np.flatnonzero(rows["shift_m"].notna()).tolist()
    starts = np.array([middle(digs[k]) for k in moved]).reshape(-1, 2)
    steps = rows.loc[moved, ["shift_dx_m", "shift_dy_m"]].to_numpy(float)
    paths = np.stack([starts, starts + steps], axis=1)
    return Layer("shifts", with_names(rows.iloc[moved], (digs[k].id for k in moved)), lines(paths))


def valves(plan: ValvePlan, table: pd.DataFrame) -> Layer:
    """Return the valves to run, each at its box: a row for each box of a valve; one whose box nobody knows has no place."""
    boxes = plan.site.valve_boxes
    where = {str(row["id"]): (row["x_m"], row["y_m"]) for row in boxes.to_dict("records")}
    rows, places = [], []
    for k, row in enumerate(table.to_dict("records")):
        for box in row["boxes"] or [None]:
            rows.append({"name": f"run {k + 1}: {row['valve']}", "order": k + 1, "box": box, **row})
            places.append(where.get(str(box), (np.nan, np.nan)))
    return Layer("valves_to_run", pd.DataFrame(rows), points(np.array(places).reshape(-1, 2)))
