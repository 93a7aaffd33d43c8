"""``underturf probes``, ``valves`` and ``sweeps``: what to look at before anybody digs, in the order of what it settles."""

from __future__ import annotations

from typing import Any

import click

import underturf as ut
from underturf import _core
from underturf._checks import length
from underturf.commands.given import (
    DEFAULTS,
    DIGS,
    RULES,
    SAMPLING,
    SITE,
    WEIGHTS,
    Given,
    command,
    count,
    length_option,
    number,
    option,
    out_option,
    switch,
)
from underturf.commands.reading import read_document, typed, weights
from underturf.commands.results import Shown, say_result
from underturf.commands.sampling import asked_digs, rules, running, sampled
from underturf.commands.texts import Column, place_text, told
from underturf.commands.writing import target
from underturf.options.probes import CAREFUL
from underturf.report import length_text
from underturf.results.files import ENDINGS

__all__ = ["probes", "sweeps", "valves"]

PROBES = (
    count("--count", 8, "Most probes.", "-n"),
    option("--tool", type=click.Choice(_core.WORDS["tool"]), help="What they are dug with. Potholes if not given."),
    length_option("--radius", "0.25m", "Radius of a pothole."),
    option("--slit", nargs=2, metavar="LENGTH WIDTH", help="Dig slits of this length and width."),
    length_option("--depth", None, "Depth of the probes; that of the deepest dig, at most 0.9m, if not given."),
    length_option("--reach", DEFAULTS["probe_reach_m"], "How far from the edge of a dig a probe may lie."),
    length_option("--cell", None, "Side of a cell of the places looked at; about 0.25m if not given."),
    length_option("--shift", DEFAULTS["shift_m"], "How far each dig may be moved once probes have reported."),
    option("--objective", type=click.Choice(_core.WORDS["objective"]), default="loss", help="What to make small."),
    number("--p-detect", None, "Chance that a line within a probe is met; that of the tool if not given.", "P"),
    number("--p-false", None, "Chance of a find where there is no line; likewise.", "P"),
    number("--careful", CAREFUL, "Cost of a line that a probe meets, as a share of a strike by hand.", "SHARE"),
    number("--probe-cost", _core.DEFAULTS["probe_cost"], "Cost of each probe besides, in units of the weights."),
    switch("--always", help="Plan on where no probe is worth what it costs."),
    *out_option("Write the plan, .csv or .json, for the sheet and for add-probe;"),
)


@command("probes", SITE, DIGS, PROBES, RULES, WEIGHTS, SAMPLING)
def probes(given: Given) -> None:
    """Plan probes: small hand digs, in the order to dig them, by what they save."""
    site = read_document(given)
    digs, costs, how = asked_digs(given, site), weights(given), probe_options(given, site)
    (radius_m,) = typed(given, site, "radius")
    place = target(given, ENDINGS)
    layouts = sampled(given, site)
    plan = layouts.plan_probes(
        digs, given.count, radius_m, options=how, weights=costs, rules=rules(given), run=running(given)
    )
    columns = (
        Column("probe", "probe"),
        Column("x_m", "x", "place"),
        Column("y_m", "y", "place"),
        *((Column("azimuth_deg", "along", "azimuth"),) if plan.slit_m is not None else ()),
        Column("p_found", "find", "chance"),
        Column("p_strike", "strike by it", "chance"),
        Column("gain", "gain", "number"),
        Column("worth", "worth it", "yes"),
    )
    lines = [told(f"probe {probe.number}", probe.decides) for probe in plan]
    shown = Shown(columns, [f"{size_text(plan)}. A clear probe is no clearance.", *plan.notes], lines)
    say_result(given, plan, layouts, shown, place)


def probe_options(given: Given, site: ut.Site) -> ut.ProbeOptions:
    """Return how probes are dug and what they are chosen for."""
    depth_m, reach_m, cell_m, shift_m = typed(given, site, "depth", "reach", "cell", "shift")
    slit: Any = None if given.slit is None else tuple(length(text, "--slit", site.unit_m) for text in given.slit)
    if given.tool is not None and (slit is None) == (given.tool == "slit"):
        raise click.UsageError("--slit LENGTH WIDTH goes with --tool slit, and with no other tool")
    return ut.ProbeOptions(
        objective=given.objective,
        tool=given.tool,
        slit_m=slit,
        depth_m=depth_m,
        p_detect=given.p_detect,
        p_false=given.p_false,
        reach_m=reach_m,
        cell_m=cell_m,
        shift_m=shift_m,
        careful=given.careful,
        probe_cost=given.probe_cost,
        always=given.always,
    )


def size_text(plan: ut.ProbePlan) -> str:
    """Say what the probes of a plan are."""
    units = plan.site.units
    depth = f"{length_text(plan.depth_m, units)} deep"
    if plan.slit_m is not None:
        long, wide = (length_text(size, units) for size in plan.slit_m)
        return f"each a slit {long} long, {wide} wide, {depth}"
    return f"each a {plan.tool}, radius {length_text(plan.radius_m, units)}, {depth}"


VALVES = (
    option(
        "--by",
        type=click.Choice(("information", "loss", "variance")),
        default="information",
        help="Order by bits, by loss that the digs lose, or by their expected Brier score.",
    ),
    *out_option("Write the whole answer, .csv or .json;"),
)


@command("valves", SITE, DIGS, VALVES, WEIGHTS, SAMPLING)
def valves(given: Given) -> None:
    """Rank valves to run where zones are not known, by what they settle."""
    site = read_document(given)
    digs, costs, place = asked_digs(given, site, needed=False), weights(given), target(given, ENDINGS)
    layouts = sampled(given, site)
    plan = layouts.plan_station_tests(digs, costs, given.by, run=running(given))
    columns = (
        Column("valve", "valve"),
        Column("information_bits", "bits", "number"),
        Column("gain", "gain", "number"),
        Column("heads_expected", "heads that come up", "number"),
    )
    lines = [
        told(valve.valve, f"these heads may or may not come up: {', '.join(valve.unsure_heads)}")
        for valve in plan
        if valve.unsure_heads
    ]
    say_result(given, plan, layouts, Shown(columns, plan.notes, lines, chances=False), place)


SWEEPS = (
    count("--count", 3, "Most passes.", "-n"),
    option(
        "--by",
        type=click.Choice(_core.WORDS["sweep_for"]),
        default="variance",
        help="Choose by the expected Brier score of the digs, or by bits about the layout.",
    ),
    length_option("--length", DEFAULTS["sweep_length_m"], "Length of a pass."),
    length_option("--reach", DEFAULTS["sweep_reach_m"], "How far to either side a line is heard."),
    length_option("--spacing", DEFAULTS["sweep_spacing_m"], "Least distance between the middles of two passes."),
    number("--p-detect", _core.DEFAULTS["sweep_p_detect"], "Chance that a line under a pass sounds.", "P"),
    number("--p-false", _core.DEFAULTS["sweep_p_false"], "Chance that a pass sounds where no line lies.", "P"),
    *out_option("Write the whole answer, .csv or .json;"),
)


@command("sweeps", SITE, DIGS, SWEEPS, SAMPLING)
def sweeps(given: Given) -> None:
    """Plan passes of a detector: where they settle most of what is open about metal lines."""
    site = read_document(given)
    digs, place = asked_digs(given, site, needed=False), target(given, ENDINGS)
    length_m, reach_m, spacing_m = typed(given, site, "length", "reach", "spacing")
    how = ut.SweepOptions(
        by=given.by,
        length_m=length_m,
        reach_m=reach_m,
        spacing_m=spacing_m,
        p_detect=given.p_detect,
        p_false=given.p_false,
    )
    layouts = sampled(given, site)
    plan = layouts.plan_sweeps(digs, given.count, options=how, run=running(given))
    columns = (
        Column("sweep", "pass"),
        Column("p_sounds", "sounds", "chance"),
        Column("information_bits", "bits", "number"),
    )
    lines = [told(f"pass {sweep.number}", f"{ends(sweep, site)}; {sweep.settles}") for sweep in plan]
    say_result(given, plan, layouts, Shown(columns, plan.notes, lines, chances=False), place)


def ends(sweep: ut.PlannedSweep, site: ut.Site) -> str:
    """Say where a pass begins and ends."""
    x0, y0, x1, y1 = (place_text(at, site.units) for at in (sweep.x0_m, sweep.y0_m, sweep.x1_m, sweep.y1_m))
    return f"from x {x0}, y {y0} to x {x1}, y {y1}"
