"""The map and named digs against polygon buffers of an independent library (python/docs/model.md, 12.10, 12.12 and 12.24)."""

import numpy as np
import pytest
import shapely

import underturf as ut


@pytest.fixture(scope="module")
def layouts():
    return ut.sample_layouts(ut.read_site(ut.example("green")), draws=40, seed=11)


def buffers(layouts, radius_m, depth_m):
    """Union of buffered laterals of each draw; 512 segments a quarter circle keep the error below 2e-6 of the radius: swing pipes
    start at the heads in every draw, so many draws share an outline there."""
    table = layouts.segments()
    table = table[(table["class"] == "lateral") & (table["cover_m"] < depth_m)]
    unions = []
    for _, draw in table.groupby("draw"):
        ends = draw[["x0_m", "y0_m", "x1_m", "y1_m"]].to_numpy().reshape(-1, 2, 2)
        reach = radius_m + draw["diameter_m"].to_numpy() / 2
        unions.append(shapely.union_all(shapely.buffer(shapely.linestrings(ends), reach, quad_segs=512)))
    return unions


def test_map_equals_union_of_buffers(layouts):
    smap = layouts.strike_map(0.45, 0.4, 0.1, classes="lateral")
    x, y = np.meshgrid(smap.x_m, smap.y_m)
    struck = np.zeros(smap.p.shape)
    unions = buffers(layouts, 0.45, 0.4)
    for union in unions:
        shapely.prepare(union)
        struck += shapely.contains_xy(union, x, y)
    known = ~np.isnan(smap.p)
    assert known.sum() > 10_000
    # A count of all draws is reported as n / (n + 1): no count of draws proves certainty.
    expected = np.minimum(struck / layouts.draws, layouts.draws / (layouts.draws + 1))
    differing = np.abs(smap.p - expected)[known] > 1e-9
    # Only cells within 1e-6 m of an outline may differ.
    assert differing.mean() < 1e-3
    assert np.abs(smap.p - expected)[known].max() < 1.5 / layouts.draws


def test_a_buffer_without_the_pipe_is_noticed(layouts):
    """Planted fault: the pipe's radius left out of the buffers."""
    smap = layouts.strike_map(0.45, 0.4, 0.1, classes="lateral")
    x, y = np.meshgrid(smap.x_m, smap.y_m)
    thin = sum(shapely.contains_xy(union, x, y) for union in buffers(layouts, 0.45 - 0.0167, 0.4))
    known = ~np.isnan(smap.p)
    assert (np.abs(smap.p - thin / layouts.draws)[known] > 0.02).mean() > 0.02
