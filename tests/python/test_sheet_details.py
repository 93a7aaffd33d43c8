"""Page 1 always shows the site; where its map is too small for its labels, detail maps at a standard scale follow."""

from __future__ import annotations

import re

import numpy as np
import pytest
from sheets import close, drawings_of, pages_of, pdf_of, plan_of, words_on

import underturf as ut
from underturf.crew.drawing.fit import fitted
from underturf.crew.drawing.picture import ground_of, map_figure
from underturf.crew.drawing.scales import details as scales_of
from underturf.crew.drawing.view import view_of
from underturf.crew.drawing.windows import crowded, labelled, window_view, windows_of
from underturf.crew.sizes import inner_of


def strip(wide, high, units="m", spots=((0.3, 0.2), (0.35, 0.22), (0.7, 0.8))):
    """A site of that shape: three zones in rows, with spots at those shares of its sides."""
    heads = [
        {"id": f"h{zone}{k}", "x": wide * (0.1 + 0.2 * k), "y": high * (0.15 + 0.35 * zone), "zone": str(zone + 1)}
        for zone in range(3)
        for k in range(5)
    ]
    digs = [
        {"id": f"tree {k + 1}", "x": wide * x, "y": high * y, "radius": 0.4, "depth": 0.5}
        for k, (x, y) in enumerate(spots)
    ]
    document = {"format": "underturf-site/2", "units": units, "name": "Strip (invented)", "heads": heads, "digs": digs}
    document["boundary"] = [[0, 0], [wide, 0], [wide, high], [0, high]]
    document["valve_boxes"] = [{"id": "box", "x": wide / 2, "y": high / 3, "zones": ["1", "2", "3"]}]
    return ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=4)


@pytest.fixture(scope="module")
def park():
    return plan_of(strip(80.0, 60.0), least_chance=0.15)


SHAPES = {"tall": (12.0, 60.0, "m"), "wide": (60.0, 12.0, "m"), "square": (90.0, 80.0, "ft")}


@pytest.mark.parametrize("name", SHAPES)
def test_page_one_shows_the_site_whatever_its_shape(name):
    # Would catch: a map that needs more room than the orders leave, and moves to page 2.
    wide, high, units = SHAPES[name]
    pages = pages_of(pdf_of(plan_of(strip(wide, high, units))))
    assert f"{units} north" in pages[0].said
    assert "If a line is hit" in pages[0].said
    assert "Spots" in " ".join(page.said for page in pages[:2])


@pytest.mark.parametrize("name", ["green", "terrace", "bare"])
def test_page_one_of_the_examples_shows_the_site_and_its_legend(sampled, name):
    plan = plan_of(sampled[name])
    first = pages_of(pdf_of(plan))[0]
    map_, _ = drawings_of(plan)
    assert f"{plan.units} north" in first.said
    for key in map_["legend"]:
        assert close(key["text"]) in close(first.said)
    # The map takes what the orders leave: in one direction it fills its room.
    assert map_["width"] > 0.9 * inner_of(plan.units)[0] or map_["height"] > 4.0


def test_map_and_legend_share_the_page_so_that_the_site_is_large():
    inner, legends = (7.27, 10.19), {1: 5.0, 2: 2.7, 3: 1.7}
    tall, wide = (fitted(ground, inner, 4.1, legends) for ground in ((20.0, 70.0), (70.0, 20.0)))
    assert (tall.legend_at, wide.legend_at) == ("beside", "below")
    assert tall.height > 5.4
    assert wide.width == pytest.approx(inner[0])
    # A legend that leaves no map on page 1 follows on the next one; orders that fill page 1 push the map to a page of its own.
    assert fitted((20.0, 20.0), inner, 4.1, {1: 12.0, 2: 6.5, 3: 4.5}).legend_at == "after"
    assert fitted((20.0, 20.0), inner, 9.0, legends).width > 6.0
    for orders in (3.5, 4.0, 4.5, 5.0):
        for ground in ((20.0, 70.0), (70.0, 20.0), (30.0, 30.0)):
            fit = fitted(ground, inner, orders, legends)
            assert fit.width <= inner[0] + 1e-9
            assert fit.height + (legends[3] if fit.legend_at == "below" else 0.0) <= inner[1] - orders


def test_labels_that_stand_too_close_together_are_crowded():
    grid = [(float(x), float(y)) for x in range(10) for y in range(10)]
    assert not crowded(grid, 3.9)  # neighbours 0.256 in apart
    assert crowded(grid, 4.1)
    assert not crowded(grid[:3], 100.0)  # two others can stand beside a third
    # Two probes in one spot do not make a map unreadable.
    assert not crowded([*grid, (0.01, 0.0)], 3.9)


def test_a_large_site_has_detail_maps_on_which_every_label_can_be_read(park):
    first, details = drawings_of(park)
    assert re.fullmatch(r"Detail maps, 1:\d+", details["title"])
    assert len(details["maps"]) >= 2
    stakes = {stake.label[1:] for stake in park.listed}
    on_details = words_on(*details["maps"])
    assert len(stakes) > 4
    assert len(stakes - on_details) <= 0.05 * len(stakes)
    assert not stakes & words_on(first)
    # Every spot is on a detail map that names it, and every frame is named on page 1.
    names = " ".join(detail["name"] for detail in details["maps"])
    assert all(re.search(rf"\b{k + 1}\b", names) for k in range(len(park.digs)))
    assert {detail["name"].split(":")[0] for detail in details["maps"]} <= words_on(first)
    # Planted fault: on the whole map these labels are crowded.
    ground = ground_of(park)[0] / (first["width"] - 0.66)
    windows, scale = windows_of(park, ground)
    points = labelled(park)
    inside = points[np.any([window.holds(points) for window in windows], axis=0)]
    assert crowded(inside, ground)
    assert not crowded(inside, scale.per_inch)


def test_detail_maps_are_to_the_scale_that_they_state(park):
    windows, scale = windows_of(park, 12.0)
    view = window_view(windows[0], scale.per_inch)
    _, details = drawings_of(park)
    drawing = details["maps"][0]
    figure, *_ = map_figure(park, drawing["width"], drawing["height"], view)
    (ax,) = figure.axes
    ends = ax.transData.transform([(view.x[0], view.y[0]), (view.x[0] + 5.0, view.y[0])]) / figure.dpi
    stated = float(re.search(r"1:(\d+)", details["title"])[1])
    assert 5.0 / 0.0254 / np.hypot(*(ends[1] - ends[0])) == pytest.approx(stated, rel=1e-6)
    # On the page too: the title and the axes of a detail stand there, and no page is wider than its paper.
    said = [page.said for page in pages_of(pdf_of(park))]
    assert sum(details["title"] in page for page in said) == 1
    assert all(detail["width"] <= inner_of(park.units)[0] for detail in details["maps"])


def test_windows_hold_every_spot_and_fit_on_a_page(park):
    windows, scale = windows_of(park, 12.0)
    x, y = view_of(park).x, view_of(park).y
    for dig in park.digs:
        (at,) = dig.points_m
        assert any(window.holds(at)[0] for window in windows)
    for window in windows:
        assert window.x[1] - window.x[0] <= 6.6 * scale.per_inch
        assert window.y[1] - window.y[0] <= 8.0 * scale.per_inch
        assert x[0] - 1e-9 <= window.x[0]
        assert window.x[1] <= x[1] + 1e-9
        assert y[0] - 1e-9 <= window.y[0]
        assert window.y[1] <= y[1] + 1e-9
    # Two trees four metres apart share a window, the third has its own.
    assert len(windows) == 2


def test_small_sites_need_no_detail_map(sampled):
    _, details = drawings_of(plan_of(sampled["bare"]))
    assert details["maps"] == []
    assert "Detail map" not in " ".join(page.said for page in pages_of(pdf_of(plan_of(sampled["bare"]))))


def test_scales_of_details_go_from_small_to_the_largest():
    assert [scale.words for scale in scales_of("m", 12.0)] == [
        "1:400", "1:300", "1:250", "1:200", "1:125", "1:100", "1:50",
    ]  # fmt: skip
    assert scales_of("ft", 5.2) == []


def test_places_in_feet_stand_in_two_columns(sampled):
    # Would catch: cells so wide that half of the paper stays white.
    pages = pages_of(pdf_of(plan_of(sampled["terrace"])))
    signs = np.array([left for page in pages for letter, _, (left, *_) in page.letters if letter == "\u00b1"])
    assert len(signs) > 20
    assert 0.3 < (signs < pages[0].width / 2).mean() < 0.7


def test_probes_say_no_chance_that_stays_as_it_is(sampled):
    layouts = ut.sample_layouts(sampled["green"].site, draws=200, seed=14)
    probes = layouts.plan_probes(n=2, options=ut.ProbeOptions(shift_m=1.0, always=True))
    alike = re.compile(r"(\d+ %|under 1 %|over 99 %) to \1:")
    plan = plan_of(layouts, probes=probes)
    assert any(alike.search(probe.decides) for probe in probes)  # planted by the plan itself
    assert not any(alike.search(probe.words) for probe in plan.probes)
    assert any(re.search(r"\d+ % to \d+ %:", probe.words) for probe in plan.probes)
