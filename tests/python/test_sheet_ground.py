"""The sheet for the crew: dangerous lines for the owner, trees, slits and rods, labels on the map."""

from __future__ import annotations

import re

import numpy as np
import pytest
from sheets import EXAMPLES, Reader, html_of, labels_of, legend_of, pdf_of, plan_of, said_on, tapes_of

import underturf as ut
from underturf.crew.drawing.view import limits
from underturf.crew.spots import spots


def with_finds():
    """The example with dangerous lines met by probes, one of them by a slit, and a standing tree."""
    document = ut.read_site(ut.example("green")).to_dict()
    document["probes"] = [
        {
            "x": 8.2,
            "y": 14.0,
            "radius": 0.25,
            "depth": 0.6,
            "found": True,
            "class": "gas",
            "azimuth_deg": 0.0,
            "cover": 0.5,
        },
        {"x": 3.0, "y": 14.0, "radius": 0.25, "depth": 0.6, "found": True, "class": "sewer"},
        {"path": [[1.0, 6.0], [2.0, 6.0]], "width": 0.2, "depth": 0.5, "found": True, "class": "communication"},
        {"x": 5.5, "y": 5.0, "radius": 0.25, "depth": 0.5, "found": False},
    ]
    document["trees"] = [{"x": 7.5, "y": 10.2, "stem_diameter": 0.35}]
    return ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=3)


def test_every_dangerous_line_is_told_to_the_owner_with_its_place():
    layouts = with_finds()
    plan = plan_of(layouts)
    said = Reader(html_of(layouts)).said
    note = said[said.index("To the owner of the ground") :]
    for words in (
        "M1: Gas line marked here",
        "F1: Gas line found by probe 1, running north and south, under 0.50 m of cover",
        "F2: Sewer or drain found by probe 2",
        "F3: Communication line found by probe 3, somewhere along its slit",
    ):
        assert words in note
    fixed = {plan.fixed.letter(k): np.array([x, y]) for k, (_, x, y) in enumerate(plan.fixed.points)}
    for label, place in (
        ("F1 A", (8.2, 14.0)),
        ("F2 A", (3.0, 14.0)),
        ("F3 start A", (1.0, 6.0)),
        ("M1 end A", (17.2, 8.0)),
    ):
        at = note.index(label) + len(label) - 1
        tapes = tapes_of(" ".join(note[at:].split()[:4]))
        assert len(tapes) == 2
        for letter, length_m in tapes.items():
            assert abs(np.hypot(*(fixed[letter] - place)) - length_m) <= 0.006
    legend = legend_of(plan)
    assert {f"{name} met by a probe (F)" for name in ("gas", "sewer", "communication")} <= set(legend)
    assert {"F1 gas", "F2 sewer", "F3 communication", "M1 gas"} <= labels_of(plan)


def test_trees_to_be_planted_and_standing_ones_are_on_the_map_and_in_the_list(sampled):
    plan = plan_of(with_finds())
    assert {
        "setback of a new tree",
        "mature roots of a new tree",
        "stem of a standing tree",
        "protected roots of a standing tree",
    } <= set(legend_of(plan))
    todo = [row[4].replace("\u00a0", " ") for row in spots(plan)[1].rows]
    assert re.search(r"Large tree: setback 1\.52 m, chance of a line within \d+ %; mature roots 7\.20 m", todo[0])
    assert "Reaches into the protected roots of trees[0]" in todo[4]
    # What stays small is exempt from both.
    assert "tree: setback" not in todo[1]
    assert "round, 0.90 m across, 0.40 m deep" in spots(plan)[1].rows[0][1].replace("\u00a0", " ")
    tight = ut.Hole(6.7, 2.0, 0.45, 0.4, tree=ut.Tree("large", caliper_m=0.0508))
    (row,) = spots(plan_of(sampled["green"], digs=[tight]))[1].rows
    assert "needs a hole 1.83 m across, 0.35 m deep, MORE THAN IS DRAWN" in row[4].replace("\u00a0", " ")
    bare = plan_of(sampled["bare"])
    assert not any("tree" in words for words in legend_of(bare)) or any(dig.tree for dig in bare.digs)


def test_slits_and_rods_are_drawn_and_worded_as_what_they_are(sampled):
    layouts = sampled["green"]
    slits = plan_of(layouts, probes=layouts.plan_probes(n=2, options=ut.ProbeOptions(slit_m=(0.8, 0.1), always=True)))
    rods = plan_of(layouts, probes=layouts.plan_probes(n=2, options=ut.ProbeOptions(always=True, tool="rod")))
    holes = plan_of(layouts, probes=layouts.plan_probes(n=2, options=ut.ProbeOptions(always=True)))
    words = ("slit to dig (P), to scale, in order", "rod to push (P), in order", "probe to dig (P), in order")
    for plan, mine in zip((slits, rods, holes), words, strict=True):
        assert [entry for entry in legend_of(plan) if entry in words] == [mine]
    said = said_on(pdf_of(rods)).replace("\u00a0", " ")
    assert "rod, pushed" in said
    assert "Push the rods by hand" in said
    assert "Dig them by hand" not in said
    assert "A clear one is no clearance" in said
    assert "decides: " not in said


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_likely_line_has_its_label_on_the_map(sampled, name):
    plan = plan_of(sampled[name])
    assert len({f"L{line}" for line in plan.lines["line"]} - labels_of(plan, inches=12.0)) <= 1
    assert {stake.line for stake in plan.listed} <= labels_of(plan, listed=plan.listed)


def test_spots_at_the_edge_are_whole_on_the_map(sampled):
    dig = ut.Hole(30.0, 8.0, 1.2, 0.4)
    x, _ = limits(plan_of(sampled["green"], digs=[dig]))
    assert x[1] > 31.2
