"""What of a thing is set out on the ground: points with a label and a short note, for phones and tapes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from underturf.crew.plan import likely_of_pipe, metal_stakes, stakes_of
from underturf.crew.points import spot_points
from underturf.dig_lists import bind_digs
from underturf.exporting.layers import layers_of, site_of
from underturf.layouts import Layouts
from underturf.options import SheetOptions
from underturf.report import chance_text
from underturf.results import Assessment, MetalLines, ProbePlan, Ranking, Spots, SweepPlan, ValvePlan
from underturf.site import Site

if TYPE_CHECKING:
    from underturf import _core
    from underturf.crew.plan import Stake
    from underturf.exporting.layers import Thing

__all__ = ["SetOut", "set_out", "waypoints"]

#: Layers of a site that a phone is given besides digs.
SEEN = ("heads", "valve_boxes", "sources", "outlets", "trees", "flags")


class SetOut(NamedTuple):
    """A point to set out."""

    label: str
    what: str
    x_m: float
    y_m: float
    half_width_m: float | None = None
    chance: float | None = None
    note: str = ""


def set_out(thing: Thing) -> list[SetOut]:
    """Return the points to set out; labels of stakes are those of the sheet for the crew.

    Of layouts, stakes on metal lines and on likely lines; of a site and of results with digs, the middle of each hole, the bends
    of each trench, the corners of each pit; of a plan of passes, their ends.

    Examples
    --------
    >>> import underturf as ut
    >>> [point.label for point in set_out(ut.read_site(ut.example("bare")))]
    ['shrub', 'stake']
    """
    if isinstance(thing, Layouts):
        lines = likely_of_pipe(thing.likely_lines())
        return [*stakes(metal_stakes(thing.metal_lines(), SheetOptions(), [])), *stakes(stakes_of(lines, []))]
    if isinstance(thing, MetalLines):
        return list(stakes(metal_stakes(thing, SheetOptions(), [])))
    if isinstance(thing, SweepPlan):
        ends = [(k + 1, it, end) for k, it in enumerate(thing) for end in ("from", "to")]
        return [
            SetOut(
                f"pass {k} {end}",
                "pass of a detector",
                it.x0_m if end == "from" else it.x1_m,
                it.y0_m if end == "from" else it.y1_m,
                None,
                it.p_sounds,
                f"sounds with {chance_text(it.p_sounds)}; settles {it.settles}",
            )
            for k, it, end in ends
        ]
    site = site_of(thing)
    turned = site._handle.y_azimuth_deg
    if isinstance(thing, Site):
        return dug(thing._handle.digs(), [("", None)] * len(thing.dig_ids), turned, "dig")
    if isinstance(thing, ProbePlan):
        notes = [(probe.decides, probe.p_strike) for probe in thing]
        return dug(bind_digs(thing.digs, site), notes, turned, f"probe ({thing.tool})")
    if isinstance(thing, Spots):
        return dug(bind_digs(thing.digs, site), [("", spot.p_strike) for spot in thing], turned, "spot")
    if isinstance(thing, Assessment):
        return dug(bind_digs(thing.digs, site), [(row.verdict, row.p_strike) for row in thing], turned, "dig")
    if isinstance(thing, Ranking):
        rows = [(f"rank {row.rank}: {row.note}", row.p_strike) for row in thing]
        return dug(bind_digs(thing.digs, site), rows, turned, "dig")
    raise TypeError(f"nothing of a {type(thing).__name__} is set out")


def waypoints(thing: Thing) -> list[SetOut]:
    """Return the points that a phone is given: those to set out, and of a site all that can be seen."""
    if isinstance(thing, ValvePlan):
        (layer,) = layers_of(thing) or (None,)
        if layer is None or layer.shapes is None:
            return []
        rows = zip(layer.table.to_dict("records"), layer.shapes, strict=True)
        return [
            SetOut(row["name"], "valve to run", at.x, at.y, note=f"valve box {row['box']}")
            for row, at in rows
            if at is not None
        ]
    found = set_out(thing)
    if not isinstance(thing, Site):
        return found
    for layer in layers_of(thing):
        if layer.name in SEEN and layer.shapes is not None:
            names = zip(layer.table["name"], layer.shapes, strict=True)
            found += [SetOut(name, layer.name.removesuffix("s").replace("_", " "), at.x, at.y) for name, at in names]
    return found


def stakes(given: Iterable[Stake]) -> Iterable[SetOut]:
    """Return stakes as points to set out."""
    for stake in given:
        note = f"{chance_text(stake.chance)} that the line is here, within {stake.half_width_m:.2f} m to either side"
        kind = "stake on a metal line" if stake.line.startswith("ML") else "stake on a likely line"
        yield SetOut(stake.label, kind, stake.x_m, stake.y_m, stake.half_width_m, stake.chance, note)


def dug(
    digs: Iterable[_core.Dig], known: Iterable[tuple[str, float | None]], y_azimuth_deg: float, what: str
) -> list[SetOut]:
    """Return the points to set out for digs."""
    found = []
    for dig, (note, p) in zip(digs, known, strict=True):
        said = ". ".join(words for words in ("" if p is None else f"{chance_text(p)} to strike a line", note) if words)
        for point in spot_points(dig.id, dig, y_azimuth_deg):
            found.append(SetOut(point.label, what, point.x_m, point.y_m, None, p, said))
    return found
