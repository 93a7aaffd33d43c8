"""The sheet for the crew: spots that a plan of probes moves, and where each outcome sends them."""

from __future__ import annotations

import dataclasses
import re
from collections import Counter

import numpy as np
import pandas as pd
import pytest
from sheets import Reader, html_of, legend_of, plan_of, tapes_of

import underturf as ut
from underturf.crew.spots import spots
from underturf.digs import from_core
from underturf.directions import azimuth_deg, direction


def test_spots_that_a_plan_moves_are_shown_where_they_are_dug(sampled):
    layouts = sampled["green"]
    probes = layouts.plan_probes(n=3, options=ut.ProbeOptions(cell_m=0.5, shift_m=1.5, always=True))
    outcomes = probes.outcomes().query("probe == 1").to_dict("records")
    plan = plan_of(layouts, probes=probes)
    drawn = {dig["id"]: dig for dig in layouts.site.to_dict()["digs"]}
    fixed = {plan.fixed.letter(k): np.array([x, y]) for k, (_, x, y) in enumerate(plan.fixed.points)}
    text = html_of(layouts, probes=probes)
    said = Reader(text).said
    assert "where a moved spot was drawn: not there" in legend_of(plan)
    assert any(np.hypot(row["dx_now_m"], row["dy_now_m"]) > 0.1 for row in outcomes)
    for k, row in enumerate(outcomes):
        assert plan.digs[k].id == row["dig"]
        shift = np.array([row["dx_now_m"], row["dy_now_m"]])
        np.testing.assert_allclose(plan.digs[k].points_m, plan.drawn[k].points_m + shift, atol=1e-9)
        assert plan.table["p_strike"].iloc[k] == pytest.approx(row["p_now"], abs=1e-9)
        if "radius" not in drawn[row["dig"]] or not shift.any():
            continue
        place = np.array([drawn[row["dig"]]["x"], drawn[row["dig"]]["y"]]) + shift
        words = spots(plan)[1].rows[k][4].replace("\u00a0", " ")
        assert words.split(" (the chance there")[0] in said
        length, way = re.match(r"MOVED (\d+\.\d\d) m ([a-z-]+) from where it was drawn", words).groups()
        assert abs(float(length) - np.hypot(*shift)) <= 0.005 + 1e-9
        assert way == direction(azimuth_deg(*shift))
        tapes = tapes_of(words[words.index("Dig at tapes") :].split(" (")[0])
        assert len(tapes) == 2
        for letter, length_m in tapes.items():
            assert abs(np.hypot(*(fixed[letter] - place)) - length_m) <= 0.006
    # No second shift on top of the plan's own.
    assert "Best shift" not in said


def test_probes_say_where_each_outcome_sends_a_spot(sampled):
    layouts = sampled["green"]
    probes = layouts.plan_probes(n=3, options=ut.ProbeOptions(cell_m=0.5, shift_m=1.5, always=True))
    rows = probes.outcomes()
    for k, (x, y) in zip(rows.index[1::5], ((0.3, 0.4), (0.0, -1.0), (-0.5, 0.0)), strict=False):
        rows.loc[k, "dx_if_clear_m"] = rows.loc[k, "dx_now_m"] + x
        rows.loc[k, "dy_if_clear_m"] = rows.loc[k, "dy_now_m"] + y
    probes = dataclasses.replace(probes, _outcomes=rows)
    number = {dig: k + 1 for k, dig in enumerate(layouts.site.dig_ids)}
    said = Reader(html_of(layouts, probes=probes)).said.replace("\u00a0", " ")
    plan = plan_of(layouts, probes=probes)
    told = 0
    for row in rows.itertuples():
        for outcome in ("found", "clear"):
            dx = getattr(row, f"dx_if_{outcome}_m") - row.dx_now_m
            dy = getattr(row, f"dy_if_{outcome}_m") - row.dy_now_m
            moves = np.hypot(dx, dy) > 1e-6
            label = f"{number[row.dig]} if P{row.probe} {outcome}"
            assert any(point.label.startswith(label) for point in plan.points) == moves
            if moves:
                assert f"spot {number[row.dig]} by {np.hypot(dx, dy):.2f} m" in said
                assert label in said
                told += 1
    assert told >= 3
    assert "where a probe's outcome sends a spot" in legend_of(plan)
    # Of a plan with its first row gone the second probe is P1, and what it says stays with it.
    rest = plan_of(layouts, probes=probes[1:])
    assert {(m.spot, m.outcome) for m in rest.moves if m.probe == "P1"} == {
        (m.spot, m.outcome) for m in plan.moves if m.probe == "P2"
    }


def test_digs_that_were_shifted_already_are_not_shifted_again(sampled):
    layouts = sampled["green"]
    probes = layouts.plan_probes(n=2, options=ut.ProbeOptions(cell_m=0.5, shift_m=1.5, always=True))
    first = plan_of(layouts, probes=probes)
    again = plan_of(layouts, digs=[from_core(dig) for dig in first.digs], probes=probes)
    assert first.shifts
    assert not again.shifts
    for there, here in zip(first.digs, again.digs, strict=True):
        np.testing.assert_allclose(there.points_m, here.points_m)


class Counting:
    """An engine's layouts that count what they are asked, by the name of the question."""

    def __init__(self, handle):
        self.handle, self.calls = handle, Counter()

    def __getattr__(self, name):
        thing = getattr(self.handle, name)

        def called(*given):
            self.calls[name] += 1
            return thing(*given)

        return called if callable(thing) else thing


@pytest.mark.parametrize("shift_m", [0.0, 1.5])
def test_a_sheet_asks_the_engine_once_for_each_thing(sampled, shift_m):
    """Assessing is most of a sheet's work: once is enough, where a plan moves spots too. Planted fault: a second assessment."""
    layouts = sampled["green"]
    options = ut.ProbeOptions(cell_m=0.5, shift_m=shift_m, always=True)
    probes = layouts.plan_probes(n=2, options=options)
    counting = Counting(layouts._handle)
    sheet = plan_of(ut.Layouts(counting, layouts.site), probes=probes)
    asked = ("assess", "likely_lines")
    assert {name: counting.calls[name] for name in (*asked, "tree_conflicts")} == {
        **dict.fromkeys(asked, 1),
        "tree_conflicts": 0,
    }
    assert bool(sheet.shifts) == bool(shift_m)
    assert sheet.trees
    ut.Layouts(counting, layouts.site).assess()
    assert counting.calls["assess"] == 2


def test_what_a_sheet_knows_is_what_its_digs_are_assessed_as(sampled):
    """Asked in one go with the places before they were moved, every dig has the figures that it has alone."""
    layouts = sampled["green"]
    options = ut.ProbeOptions(cell_m=0.5, shift_m=1.5, always=True)
    sheet = plan_of(layouts, probes=layouts.plan_probes(n=2, options=options))
    digs = [from_core(dig) for dig in sheet.digs]
    columns = ["p_strike", "mcse", "loss", "nearest_m", "verdict", "p_setback"]
    alone = layouts.assess(digs).table()[columns]
    assert sheet.shifts
    assert sheet.table[columns].equals(alone)
    conflicts = layouts.tree_conflicts(digs)
    assert pd.DataFrame(sheet.trees.values())["p_roots"].equals(conflicts["p_roots"].reset_index(drop=True))
