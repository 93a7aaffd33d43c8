"""What the sheet says of spots and probes: chance, size, what to do, where a spot was moved and where a probe may send it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from underturf import _core
from underturf._notes import verdict
from underturf.cautions import CHOSEN, TOTAL
from underturf.crew.blocks import Block, Heading, Table, Text
from underturf.crew.points import probe_text, size_text, with_unit
from underturf.crew.words import class_words, percent
from underturf.directions import azimuth_deg, direction
from underturf.report import TOTALS

if TYPE_CHECKING:
    import numpy as np

    from underturf.crew.plan import Plan

__all__ = ["PLACE", "probes", "set_out", "spots"]

#: A blank at which no line ends.
NO_BREAK = "\u00a0"

#: Heading of a table of places.
PLACE = ("place", "two tapes", "along", "aside")


def spots(plan: Plan) -> list[Block]:
    """Tell the chance of each spot and what to do there."""
    if not plan.digs:
        return [Heading("Spots"), Text("No spot is proposed.")]
    table, units = plan.table, plan.units
    missing = plan.not_assessed
    classes = [name[2:] for name in table.columns if name.startswith("p_")]
    classes = [name for name in classes if name not in (*missing, *TOTALS)]
    rows = []
    for k, (dig, (name, row)) in enumerate(zip(plan.digs, table.iterrows(), strict=True)):
        by_class = ", ".join(f"{class_words(c)} {percent(row[f'p_{c}'])}" for c in classes if row[f"p_{c}"] >= 0.001)
        todo = [*shift_words(plan, k), verdict(row["verdict"], row["blocked_by"])]
        if not pd.isna(row["shift_m"]):
            way = f"{with_unit(row['shift_m'], units)} {direction(row['shift_azimuth_deg'])}"
            todo.append(f"Best shift: {way}; the chance there is {percent(row['p_shifted'])}{setback_words(row)}")
        elif row["shift_note"] == _core.NOWHERE:
            todo.append(f"No better place within {with_unit(plan.reach_m, units)}")
        if row["on_flagged_metal"]:
            todo.append(f"Flagged metal {row['metal']}: {with_unit(row['metal_m'], units)} from the line of its flags")
        if row["in_tolerance_zone"]:
            todo.append(f"Mark: {class_words(row['mark_class'])}, {with_unit(row['mark_m'], units)} away")
        todo += tree_words(plan, k, row)
        chance = f"{percent(row['p_strike'])}\nup to {percent(row['p_upper95'])}"
        if row["hole_too_small"]:
            chance += f"\n(as drawn {percent(row['p_strike_drawn'])})"
        rows.append(
            (
                str(k + 1),
                f"{name}\n{size_text(dig, units)}",
                chance,
                by_class or "-",
                ". ".join(part[0].upper() + part[1:] for part in todo),
            )
        )
    head = ("no.", "spot", "chance of a strike", "by class", "what to do")
    notes = f"Chance: {TOTAL}. Up to: 95 % upper bound; it covers the error of sampling only."
    if plan.shifts:
        notes += " Moved spots: map, lists and chances show the place where to dig now."
    if plan.shifts or table["shift_m"].notna().any():
        notes += f" {CHOSEN}"
    if missing:
        notes += f" Not assessed: {', '.join(map(class_words, missing))}. Such lines may lie here all the same."
    return [Heading("Spots"), Table(head, tuple(rows), shares=(0.0, 2.2, 0.0, 1.7, 5.0)), Text(notes)]


def setback_words(row: pd.Series[Any]) -> str:
    """Say what a shift does to the chance of a line within the setback of a tree, before and after."""
    if pd.isna(row["p_setback"]) or pd.isna(row["p_setback_shifted"]):
        return ""
    return f", and of a line within the setback {percent(row['p_setback_shifted'])} (here {percent(row['p_setback'])})"


def shift_words(plan: Plan, k: int) -> list[str]:
    """Say by how much a spot was moved, and from where it is measured now."""
    if k not in plan.shifts:
        return []
    way = way_words(plan, plan.shifts[k])
    return [
        f"MOVED {way} from where it was drawn (the chance there is {percent(float(plan.p_drawn[k]))}). "
        f"Dig at {tapes_words(plan, str(k + 1))}"
    ]


def way_words(plan: Plan, shift: tuple[float, float]) -> str:
    """Write a shift as distance and direction."""
    length = (shift[0] ** 2 + shift[1] ** 2) ** 0.5
    return f"{with_unit(length, plan.units)} {direction(azimuth_deg(*shift, plan.y_azimuth_deg))}"


def tapes_words(plan: Plan, label: str) -> str:
    """Say where a place is; one of several corners or bends is in the list of places."""
    if label not in plan.places:
        return "the places in the list"
    tapes, along, aside = plan.cells(label)
    if not along:
        return f"a place without a tie ({tapes.removeprefix('no tie: ')})"
    places = [part.replace(" ", NO_BREAK) for part in (*tapes.split("  "), along, aside)]
    return f"tapes {', '.join(places[:2])}" + ("" if along.endswith("built over") else f" ({', '.join(places[2:])})")


def tree_words(plan: Plan, k: int, row: pd.Series[Any]) -> list[str]:
    """Say what stands against the tree of a spot: lines in its setback and roots, the hole of its ball, other trees' roots."""
    said, units = [], plan.units
    tree, grown = plan.trees.get(k), plan.digs[k].tree
    if tree is not None and grown is not None:
        parts = []
        for key, words in (("setback", "setback"), ("roots", "mature roots")):
            reach: np.float64 = tree[f"{key}_m"]
            if pd.notna(reach):
                chance = tree[f"p_{key}"]
                parts.append(f"{words} {with_unit(reach, units)}, chance of a line within {percent(chance)}")
        if pd.notna(tree["hole_width_m"]):
            ball = f"{with_unit(tree['hole_width_m'], units)} across, {with_unit(tree['hole_depth_m'], units)} deep"
            smaller = ", MORE THAN IS DRAWN: dig no less; the chance here is for that hole"
            parts.append(f"its root ball needs a hole {ball}{smaller if tree['hole_too_small'] else ''}")
        if parts:
            said.append(f"{grown[0].capitalize()} tree: {'; '.join(parts)}")
        if tree["structure_in_roots"]:
            said.append(
                f"A building or pool stands {with_unit(tree['structure_m'], units)} away, within its mature roots"
            )
    if row["in_root_protection"]:
        away = with_unit(row["standing_tree_m"], units)
        said.append(f"Reaches into the protected roots of {row['standing_tree']}, {away} from its stem")
    return said


def set_out(plan: Plan) -> list[Block]:
    """Tell where spots and probes are, and where spots go by what probes find."""
    rows = [(point.label, *plan.row(point.label)) for point in plan.points]
    if not rows:
        return []
    return [Heading("Set out spots and probes"), Table(PLACE, tuple(rows), side_by_side=2)]


def probes(plan: Plan) -> list[Block]:
    """Tell the order, size and meaning of probes."""
    if not plan.probes:
        return []
    rows = tuple(
        (
            probe.label,
            probe_text(probe, plan.units),
            " ".join(filter(None, (probe.words, moves_words(plan, probe.label)))) or "-",
        )
        for probe in plan.probes
    )
    rods = sum(probe.tool == "rod" for probe in plan.probes)
    how = "Push the rods by hand" if rods == len(plan.probes) else "Dig them by hand"
    hurt = "A rod can itself pierce a line" if rods == len(plan.probes) else "A probe can itself strike a line"
    again = " Places of spots change too: plan again if you can." if plan.moves else ""
    note = (
        f"{how}, in this order. {hurt}. A clear one is no clearance. Note what you find, which way it runs and its cover. Every "
        f"result changes the chances on this sheet.{again}"
    )
    return [Heading("Probes"), Table(("order", "size", "what it decides"), rows, shares=(0.0, 2.0, 5.0)), Text(note)]


def moves_words(plan: Plan, label: str) -> str:
    """Say what moves after each outcome of a probe, from where it lies on this sheet, and to where."""
    told = []
    for outcome in ("found", "clear"):
        moves = [move for move in plan.moves if (move.probe, move.outcome) == (label, outcome)]
        if moves:
            ways = ", ".join(
                f"spot {move.spot + 1} by {way_words(plan, (move.dx_m, move.dy_m))} from its place here, to "
                + (tapes_words(plan, move.label) if move.label in plan.places else f'"{move.label}" in the list')
                for move in moves
            )
            told.append(f"If {outcome}, move {ways}.")
    return " ".join(told)
