"""Plots are drawn, are not empty, say what they must and never what they must not."""

from __future__ import annotations

import matplotlib as mpl
import numpy as np
import pytest

import underturf as ut

mpl.use("agg")
from matplotlib import pyplot as plt


@pytest.fixture(params=["green", "terrace"], scope="module")
def layouts(request):
    return ut.sample_layouts(ut.read_site(ut.example(request.param)), draws=100, seed=3)


@pytest.fixture(autouse=True)
def close():
    yield
    plt.close("all")


def pixels(figure):
    figure.canvas.draw()
    return np.asarray(figure.canvas.buffer_rgba())[..., :3]


def words(figure):
    texts = [text.get_text() for text in figure.findobj(mpl.text.Text)]
    return " ".join(" ".join(texts).split())


def check(ax):
    image, said = pixels(ax.figure), words(ax.figure)
    ink = (image < 250).any(axis=2)
    assert 0.03 < ink.mean() < 0.9  # neither blank nor flooded
    # Nothing is cut off: the outermost pixels are paper.
    assert not ink[:3].any()
    assert not ink[-3:].any()
    assert not ink[:, -3:].any()
    for caution in ut.CAUTIONS:
        assert caution in said
    assert "safe" not in said
    assert " 0 %" not in said
    assert "100 %" not in said
    return image, said


def test_plan_shows_chances_and_cautions(layouts):
    image, said = check(layouts.plot())
    assert all(dig in said for dig in layouts.site.dig_ids)
    assert "Not assessed: reclaimed" in said
    assert f"{layouts.site.units} north" in said
    assert len(np.unique(image.reshape(-1, 3), axis=0)) > 50


def test_plan_without_layouts_shows_no_chance(layouts):
    _, said = check(layouts.site.plot())
    assert "%" not in said


def test_map_shows_its_scale(layouts):
    smap = layouts.strike_map(0.3, 0.4, 0.2)
    image, said = check(smap.plot(digs=None))
    assert "<0.1 %" in said
    assert ">99.9 %" in said
    assert len(np.unique(image.reshape(-1, 3), axis=0)) > 200


def test_maps_of_digs_show_the_shift(layouts):
    for smap in layouts.dig_maps(cell_m=0.3):
        _, said = check(smap.plot())
        assert ("Best shift:" in said) == (smap.shift is not None)


def test_maps_draw_into_axes_of_the_caller(layouts):
    figure, axes = plt.subplots(1, 2, figsize=(12, 8), layout="constrained")
    smap = layouts.strike_map(0.3, 0.4, 0.5)
    assert smap.plot(axes[0]) is axes[0]
    assert layouts.plot(axes[1]) is axes[1]
    assert pixels(figure).std() > 5


def test_maps_become_labelled_datasets(layouts):
    xarray = pytest.importorskip("xarray")
    smap = layouts.strike_map(0.3, 0.4, 0.5)
    data = smap.to_xarray()
    assert data.p_strike.dims == ("y", "x")
    assert data.attrs["Conventions"] == "CF-1.11"
    assert data.y[0] > data.y[-1]
    assert data.p_strike.attrs["units"] == "1"
    xarray.testing.assert_identical(data, smap.to_xarray())


def test_a_site_without_heads_has_no_plan_of_zones():
    bare = {"format": "underturf-site/2", "units": "m", "boundary": [[0, 0], [20, 0], [20, 10], [0, 10]]}
    layouts = ut.sample_layouts(ut.Site.from_dict(bare), 20, 1)
    for table in (layouts.zone_chances(), layouts.likely_groups()):
        assert len(table) == 0
        assert "converged" in table.columns
    assert layouts.same_zone_chances().shape == (0, 0)
    with pytest.raises(ut.ArgumentError, match="no heads"):
        layouts.plot_zones()
