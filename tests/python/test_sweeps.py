"""Passes of a detector: where they may lie, and which of them are offered."""

from __future__ import annotations

import numpy as np
import pytest
from sheets import plan_of

import underturf as ut
from underturf.crew.blocks import Heading, Text
from underturf.crew.sweeps import NONE_PAYS, sweep_block

#: A row of flags that stops half way across the lawn, and a hole where the line may or may not go on.
ROW = {
    "format": "underturf-site/2",
    "units": "m",
    "boundary": [[0, 0], [16, 0], [16, 8], [0, 8]],
    "flags": [{"x": 1.0 + 1.2 * k, "y": 0.5 + 0.03 * (k % 3), "class": "mainline"} for k in range(6)],
    "digs": [{"id": "oak", "x": 9.5, "y": 0.6, "radius": 0.6, "depth": 0.9}],
}

BITS = ut.SweepOptions(by="information")


@pytest.fixture(scope="module")
def row():
    return ut.sample_layouts(ut.Site.from_dict(ROW), draws=400, seed=3)


@pytest.fixture(scope="module")
def metal():
    return ut.sample_layouts(ut.read_site(ut.example("metal")), draws=200, seed=3)


def outside_m(ends):
    """How far the farthest of these places lies outside the boundary of the row."""
    x, y = np.asarray(ends).reshape(-1, 2).T
    return float(max(-x.min(), x.max() - 16, -y.min(), y.max() - 8))


def test_passes_lie_within_the_boundary(row):
    """Planted fault: the passes that were cut, as long as they were before about the same middle, leave the ground."""
    plan = row.plan_sweeps(n=6, options=BITS)
    ends = np.array([[(it.x0_m, it.y0_m), (it.x1_m, it.y1_m)] for it in plan])
    lengths = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    assert len(plan) >= 3
    assert outside_m(ends) < 1e-9
    assert 1.0 - 1e-9 < min(lengths) < 1.5 - 1e-3, (
        "the row is half a metre from the edge: some are cut, none is a stump"
    )
    assert max(lengths) < 1.5 + 1e-9
    middle = ends.mean(axis=1, keepdims=True)
    assert outside_m(middle + (ends - middle) * (1.5 / lengths)[:, None, None]) > 0.1


def test_only_passes_that_are_seen_to_pay_are_offered(row, metal):
    """A gain is above twice its error. Planted fault: one that was never asked for its gain of the digs does not pass."""
    paying = row.plan_sweeps(n=3)
    assert len(paying) >= 1
    assert all(it.variance_gain > 2 * it.variance_gain_mcse > 0 for it in paying)
    bits = metal.plan_sweeps(n=3, options=BITS)
    assert len(bits) == 3
    assert all(it.information_bits > 2 * it.information_bits_mcse > 0 for it in bits)
    assert any(it.variance_gain <= 2 * it.variance_gain_mcse for it in bits)


def test_a_plan_without_a_pass_says_so(metal, row):
    """In the notes, and in one sentence on the sheet. Planted fault: not said where one pays, nor without metal."""
    none = metal.plan_sweeps(n=3)
    assert (len(none), len(none.table())) == (0, 0)
    assert none.notes[-1].startswith("No pass is seen to pay: ")
    assert none.notes[-1].endswith(" 0 of the 3 asked for.")
    assert sweep_block(plan_of(metal)) == [Text(NONE_PAYS)]
    assert NONE_PAYS.startswith("No place stands out")
    assert sweep_block(plan_of(row))[0] == Heading("Sweep here first")
    bare = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=3)
    assert sweep_block(plan_of(bare)) == []
