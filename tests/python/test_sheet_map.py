"""The map of the sheet: zones and lines told apart without colour, labels, standard scales, the legend."""

from __future__ import annotations

import functools
import re

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from pictures import apart, grey
from sheets import (
    EXAMPLES,
    close,
    drawings_of,
    labels_of,
    legend_of,
    pages_of,
    pdf_of,
    plan_of,
    said_on,
    words_on,
)

import underturf as ut
from underturf.crew.drawing.labels import head_names
from underturf.crew.drawing.lines import LATERAL
from underturf.crew.drawing.map import draw_map
from underturf.crew.drawing.picture import least_size, map_figure, scale_map, scale_of
from underturf.crew.drawing.placing import FAR, NEAR, Placer
from underturf.crew.drawing.scales import fitting
from underturf.crew.drawing.view import limits
from underturf.crew.drawing.zones import LOOKS, looks_of
from underturf.plotting import style
from underturf.plotting.likely import CLASSES, look_of

#: Small drawings twice as wide as high, as grey pixels.
strip_of = functools.partial(grey, inches=(0.4, 0.2))


def heads_alone(look):
    return strip_of(
        lambda ax: ax.plot([0.5], [0.5], markersize=5.2, markeredgewidth=0.5, **{**look.marks, "color": "#777777"})
    )


def lines_alone(look):
    return strip_of(lambda ax: ax.plot([0, 1], [0.5, 0.5], color="#777777", linewidth=1.3, linestyle=look.dashes))


def test_sixteen_zones_are_told_apart_without_their_colours():
    assert len(LOOKS) == 16
    assert apart([heads_alone(look) for look in LOOKS]) > 0.004
    assert apart([lines_alone(look) for look in LOOKS]) > 0.004
    assert len({look.colour for look in LOOKS}) == 16
    # Planted fault: the looks of eight zones that begin again.
    again = [*LOOKS[:8], LOOKS[0]]
    assert apart([heads_alone(look) for look in again]) == 0
    assert apart([lines_alone(look) for look in again]) == 0


def test_more_zones_share_no_look():
    looks = looks_of([str(k) for k in range(256)])
    assert len({(look.zone.marker, look.zone.filled, look.pattern) for look in looks.values()}) == 256


def many_zones():
    heads = [
        {"id": f"{zone}{k}", "x": 3.0 * (n % 4) + 0.9 * k, "y": 4.0 * (n // 4), "zone": zone}
        for n, zone in enumerate("abcdefghijkl")
        for k in range(3)
    ]
    document = {"format": "underturf-site/2", "units": "m", "heads": heads}
    return plan_of(ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=2))


def test_every_zone_has_its_key():
    entries = [entry for entry in legend_of(many_zones()) if entry.startswith("zone ")]
    assert len(entries) == 12
    assert len({entry.split(":")[0] for entry in entries}) == 12


def test_known_dangers_are_darker_than_mainlines_and_mainlines_than_laterals(sampled):
    """Ink of the same length of line, in grey: the gas line leads, and pale yellow does not make it faint."""
    from underturf.plotting.known import draw_cased

    def likely(name):
        def draw(ax):
            if name == "lateral":
                ax.plot([0, 1], [0.5, 0.5], color=LOOKS[0].colour, linewidth=LATERAL, linestyle=LOOKS[0].dashes)
            else:
                ax.plot([0, 1], [0.5, 0.5], color=style.MARK_COLOURS[name], **look_of(name))

        return float((255 - strip_of(draw)).sum())

    def known(name):
        return float((255 - strip_of(lambda ax: draw_cased(ax, [(0, 0.5), (1, 0.5)], name, None))).sum())

    dangers = {name: known(name) for name in ("gas", "electric")}
    assert min(dangers.values()) > 1.4 * likely("mainline") > 1.4 * 1.4 * likely("lateral")


def test_likely_lines_of_every_class_are_told_apart_in_strip_of():
    """Mainline and potable line lie side by side: the one is solid, the other hollow, whatever the colour."""

    def alone(look):
        return strip_of(lambda ax: ax.plot([0, 1], [0.5, 0.5], color="#5a4a78", **look))

    looks = {name: look_of(name) for name in CLASSES}
    pictures = [alone(look) for look in looks.values()]
    assert len(pictures) >= 4
    assert apart(pictures) > 0.02
    # In colour too: a hollow line keeps the colour of its class at its rims.
    assert "#1769c4" in str([vars(effect) for effect in looks["potable"]["path_effects"]])
    # Planted fault: potable lines as they were, solid and cased like a mainline, with no more than another colour.
    assert apart([alone(looks["mainline"]), alone(look_of("mainline"))]) == 0


def test_house_walk_and_dotted_lines_have_keys(sampled):
    entries = set(legend_of(plan_of(sampled["green"])))
    assert {"building", "paving, drive or walk", "boundary", "mature roots of a new tree"} <= entries
    assert any("tolerance zone" in entry for entry in entries)
    assert "band of doubt of a likely line" in entries
    bare = legend_of(plan_of(sampled["bare"]))
    assert "building" not in bare
    assert len(bare) == len(set(bare))


@pytest.mark.parametrize("name", EXAMPLES)
def test_heads_are_named_on_a_map_and_stakes_numbered(sampled, name):
    plan = plan_of(sampled[name])
    first, details = drawings_of(plan)
    heads = {head["id"] for head in plan.document["heads"]}
    stakes, on_map = {stake.label[1:] for stake in plan.listed}, words_on(first, *details["maps"])
    assert len(heads - on_map) <= 0.12 * len(heads)
    assert len(stakes - on_map) <= 0.08 * len(stakes)
    # What has no room is told below the map.
    said = close(said_on(pdf_of(plan)))
    for drawing in (first, *details["maps"]):
        assert all(close(note) in said for note in drawing["notes"])
    missing = sum(int(count) for note in notes_of(first, details) for count in re.findall(r"(\d+) of \d+ stakes", note))
    assert missing >= len(stakes - on_map)
    # What the first pages name is on page 1 in any case.
    here = words_on(first)
    assert {str(k + 1) for k in range(len(plan.digs))} <= here
    assert {plan.fixed.letter(k) for k in plan.fixed_used} <= here
    assert {stake.line for stake in plan.listed} <= on_map


def notes_of(first, details):
    return [note for drawing in (first, *details["maps"]) for note in drawing["notes"]]


def test_on_crowded_ground_what_is_listed_is_named_first():
    heads = [
        {"id": f"R{14 * i + j}", "x": 9.0 * i, "y": 9.0 * j, "zone": str(1 + i // 8)}
        for i in range(16)
        for j in range(14)
    ]
    document = {"format": "underturf-site/2", "units": "m", "heads": heads}
    document["digs"] = [{"id": "oak", "x": 22.0, "y": 31.0, "radius": 0.5, "depth": 0.5}]
    plan = plan_of(ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=2), near_m=6.0)
    first, details = drawings_of(plan)
    on_map = words_on(first, *details["maps"])
    assert 0 < len(plan.listed) < 30
    assert {stake.line for stake in plan.listed} <= on_map
    assert {stake.label[1:] for stake in plan.listed} <= on_map
    assert any(re.search(r"\d+ of \d+ lines", note) for note in first["notes"])
    # The heads about the spot are named.
    near = sorted(heads, key=lambda head: np.hypot(head["x"] - 22.0, head["y"] - 31.0))[:4]
    assert sum(head["id"] in on_map for head in near) >= 3


def test_long_names_of_heads_are_numbers_with_a_table():
    assert head_names({"heads": [{"id": "1"}, {"id": "2"}]}) == (["H1", "H2"], True)
    assert head_names({"heads": [{"id": "a 1"}, {"id": "b"}]}) == (["a 1", "b"], False)
    heads = [{"id": f"by the gate {k}", "x": 3.0 * k, "y": 0.1 * k, "zone": "1"} for k in range(6)]
    document = {"format": "underturf-site/2", "units": "m", "heads": heads}
    plan = plan_of(ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=2))
    said = " ".join(page.said for page in pages_of(pdf_of(plan)))
    assert "Heads on the map" in said
    for k in range(6):
        assert f"H{k + 1} by the gate {k}" in said
    assert {f"H{k + 1}" for k in range(6)} <= labels_of(plan)


def test_labels_lie_on_no_label(sampled):
    figure = Figure(figsize=(5, 5), dpi=100)
    FigureCanvasAgg(figure)
    ax = figure.add_axes((0, 0, 1, 1))
    ax.set(xlim=(0, 100), ylim=(0, 100))
    points = np.random.default_rng(1).uniform(5, 95, (150, 2))
    placer = Placer(ax, points)
    placed = [placer.take(point, "12.3", 8.5, reaches=NEAR, must=False) for point in points]
    assert 20 < sum(place is not None for place in placed) < 150
    low, high = placer.boxes[:, 0], placer.boxes[:, 1]
    for k in range(len(low)):
        others = np.arange(len(low)) != k
        both = (np.minimum(high[k], high) - np.maximum(low[k], low)).min(axis=1)
        assert (both[others] <= 1e-9).all()
    # What must be there is there, at any cost.
    assert all(placer.take(point, "12", 8.5, reaches=FAR, must=True) is not None for point in points[:30])


def test_the_full_page_map_has_a_standard_scale(sampled):
    for name, unit in (("green", 1 / 0.0254), ("terrace", 1.0)):
        plan = plan_of(sampled[name], full_page_map=True)
        scale, picture = scale_of(plan), scale_map(plan, text_as="none")
        size = float(re.sub(r"^1:|^1 in = | ft$", "", scale.words))
        # Two points of the drawing, measured on the paper itself.
        figure, *_ = map_figure(plan, picture.width, picture.height)
        (ax,) = figure.axes
        at = ax.transData.transform([(0.0, 0.0), (5.0, 0.0)]) / figure.dpi
        assert 5.0 / np.hypot(*(at[1] - at[0])) * unit == pytest.approx(size, rel=1e-6)
        page = pages_of(pdf_of(plan))[-1]
        assert f"Map, {scale.words}" in page.said
        assert f"{plan.units} east" in page.said  # the drawing stands below its title
        assert "Print at actual size" in page.said
    assert len(pages_of(pdf_of(plan_of(sampled["bare"], full_page_map=True)))) == 1 + len(
        pages_of(pdf_of(plan_of(sampled["bare"])))
    )


def test_ground_that_does_not_fit_has_the_next_larger_scale():
    room, across = (6.7, 8.9), (9.6, 5.5)
    assert fitting(66, 88, "ft", room, across)[::2] == ("1 in = 10 ft", False)
    assert fitting(90, 50, "ft", room, across)[::2] == ("1 in = 10 ft", True)
    assert fitting(90, 60, "ft", room, across).words == "1 in = 20 ft"
    assert fitting(17, 20, "m", room, across).words == "1:100"
    assert fitting(18, 20, "m", room, across).words == "1:125"
    assert fitting(9000, 20, "ft", room, across).words == "1 in = 1000 ft"


def test_no_text_of_a_map_is_small(sampled):
    figure, *_ = map_figure(plan_of(sampled["green"]), 7.27, 7.0)
    small = [text for text in figure.findobj(Text) if float(text.get_fontsize()) < 8.5]
    assert small  # planted by the plans on screens: lettering and the scale bar
    least_size(figure)
    assert all(float(text.get_fontsize()) >= 8.5 for text in figure.findobj(Text))


def test_a_building_beyond_the_boundary_leaves_room_for_the_map(sampled):
    _, (low, high) = limits(plan_of(sampled["terrace"]))
    assert -20 < low < -5  # the building reaches to -26
    assert high > 76


def test_a_line_runs_through_its_stations_and_breaks_where_they_do(sampled):
    plan = plan_of(sampled["green"])
    assert [line.number for line in plan.likely] == list(dict.fromkeys(plan.lines["line"]))
    assert sum(len(line.at) for line in plan.likely) == len(plan.lines)
    for line in plan.likely:
        part = plan.lines[plan.lines["line"] == line.number]
        assert set(part["class"]) == {line.of}
        way = line.course
        for x, y in part[["x_m", "y_m"]].to_numpy():
            assert np.hypot(*(way - (x, y)).T)[~np.isnan(way[:, 0])].min() < 1e-9 or len(part) == 1
        assert np.nanmax(np.hypot(*np.diff(way, axis=0).T)) < 2 * part["span_m"].max()


def test_a_map_with_stakes_of_unknown_zones_tells_them_from_heads():
    layouts = ut.sample_layouts(ut.read_site(ut.example("unlabelled")), draws=60, seed=3, accept_unconverged=True)
    plan = plan_of(layouts)
    figure = Figure(figsize=(7, 7))
    ax = figure.add_subplot()
    handles, words, _ = draw_map(ax, plan, plan.listed)
    looks = dict(zip(words, handles, strict=True))
    stake = next(handle for entry, handle in looks.items() if entry.startswith("stake"))
    head = looks["head, zone unknown"]
    assert stake.get_markerfacecolor() != head.get_markerfacecolor()
    assert stake.get_markersize() < 0.75 * head.get_markersize()
