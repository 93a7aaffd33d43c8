"""``underturf shift``: digs put where they lose least within a reach."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

import underturf as ut
from underturf._checks import DOCUMENT_ENDINGS
from underturf._notes import verdict
from underturf.cautions import CHOSEN
from underturf.commands.answers import Answer, about, say
from underturf.commands.given import (
    DEFAULTS,
    DIGS,
    RULES,
    SAMPLING,
    SITE,
    WEIGHTS,
    Given,
    command,
    length_option,
    out_option,
)
from underturf.commands.placed import write_digs
from underturf.commands.reading import read_document, source, typed, weights
from underturf.commands.sampling import asked_digs, rules, running, sampled
from underturf.commands.texts import Column, page, place_text, table, told
from underturf.commands.writing import target
from underturf.dig_lists import bind_digs
from underturf.digs import Hole, Pit, Trench, from_core
from underturf.directions import azimuth_deg, compass
from underturf.report import length_text

__all__ = ["shift"]

OPTIONS = (
    length_option("--reach", "1.5m", "How far digs may be moved."),
    length_option("--cell", DEFAULTS["shift_cell_m"], "Step of the shift."),
    *out_option("Write the document with the digs where they go, .toml or .json, or a table of them, .csv;"),
)

SHOWN = (
    Column("dig", "dig"),
    Column("moved", "shift"),
    Column("goes_to", "middle goes to"),
    Column("p_drawn", "chance as drawn", "chance"),
    Column("p_strike", "chance there", "chance"),
    Column("p_upper95", "up to", "chance"),
)


@command("shift", SITE, DIGS, OPTIONS, RULES, WEIGHTS, SAMPLING)
def shift(given: Given) -> None:
    """Move digs to where they lose least; a dig stays where no place within reach is better."""
    site = read_document(given)
    digs, costs = asked_digs(given, site), weights(given)
    reach_m, cell_m = typed(given, site, "reach", "cell")
    place = target(given, (*DOCUMENT_ENDINGS, ".csv"))
    layouts = sampled(given, site)
    before = [from_core(dig) for dig in bind_digs(digs, site)]
    moved = layouts.shifted(before, reach_m, costs, rules=rules(given), cell_m=cell_m, run=running(given))
    drawn, there = (layouts.strikes(digs, run=running(given)) for digs in (before, list(moved)))
    assessed = layouts.assess(before, reach_m=reach_m, weights=costs, rules=rules(given), run=running(given)).table()
    notes = assessed["shift_note"].fillna("")
    verdicts = [verdict(words, by) for words, by in zip(assessed["verdict"], assessed["blocked_by"], strict=True)]
    known = {**about(layouts), "converged": moved.converged}
    if place is not None:
        write_digs(site, moved, place, known, source(given))
    rows = [row_of(site, old, new) for old, new in zip(before, moved, strict=True)]
    for k, row in enumerate(rows):
        row |= {
            "p_drawn": drawn["p_strike"].iloc[k],
            **{key: there[key].iloc[k] for key in ("p_strike", "mcse", "p_upper95")},
        }
        row |= {"shift_note": notes.iloc[k] or None, "verdict_drawn": verdicts[k]}
        row |= {name: bool(assessed[name].iloc[k]) for name in ("in_tolerance_zone", "on_flagged_metal")}
    stay = [row for row in rows if row["azimuth_deg"] is None]
    lines = [told(row["dig"], "; ".join(filter(None, (row["shift_note"], row["verdict_drawn"])))) for row in stay]
    body = table([{**row, **words(site, row)} for row in rows], SHOWN, site.units)
    text = page(body, known, said=[CHOSEN], lines=lines)
    if place is not None:
        text += f"\n\n{place.said('Digs', moved.converged)}"
    say(given, Answer(text=text, about=known, rows=rows, files=[] if place is None else place.files))


def row_of(site: ut.Site, old: Hole | Pit | Trench, new: Hole | Pit | Trench) -> dict[str, Any]:
    """Return where a dig went; its middle is that of its points."""
    (x0_m, y0_m), (x_m, y_m) = middle(old), middle(new)
    dx_m, dy_m = x_m - x0_m, y_m - y0_m
    moved_m = math.hypot(dx_m, dy_m)
    turned = site._handle.y_azimuth_deg
    return {
        "dig": old.id,
        "x_drawn_m": x0_m,
        "y_drawn_m": y0_m,
        "x_m": x_m,
        "y_m": y_m,
        "shift_m": moved_m,
        "azimuth_deg": azimuth_deg(dx_m, dy_m, turned) if moved_m > 0 else None,
    }


def middle(dig: Hole | Pit | Trench) -> tuple[float, float]:
    """Return the middle of a dig's points."""
    if isinstance(dig, Hole):
        return dig.x_m, dig.y_m
    x_m, y_m = np.mean(dig.path_m if isinstance(dig, Trench) else dig.outline_m, axis=0).tolist()
    return x_m, y_m


def words(site: ut.Site, row: dict[str, Any]) -> dict[str, str]:
    """Say where a dig went."""
    units = site.units
    if row["azimuth_deg"] is None:
        return {"moved": "stays", "goes_to": "-"}
    moved = f"{length_text(row['shift_m'], units)} {compass(row['azimuth_deg'])}"
    return {"moved": moved, "goes_to": f"{place_text(row['x_m'], units)}, {place_text(row['y_m'], units)}"}
