"""Letters that can be read, sixteen zones told apart in grey, labels that hide no sign, ticks where the plan is."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib import pyplot as plt
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.text import Text
from pictures import FEET, PICTURES, apart, grey, sampled

import underturf as ut
from underturf.plotting import style
from underturf.plotting.digs import SIGN, costs
from underturf.plotting.findings import DASHES, SHAPES, draw_station_tests, ring
from underturf.plotting.known import draw_known
from underturf.plotting.lettering import Room
from underturf.plotting.likely import CLASSES, sampled_look


@pytest.fixture(scope="module")
def yard():
    return sampled(FEET)


@pytest.fixture(autouse=True)
def close():
    yield
    plt.close("all")


@pytest.mark.parametrize("name", ["plan", "map", "dig", "zones"])
def test_no_letters_of_a_picture_are_smaller_than_seven_points(yard, name):
    # Would catch: chances along the lines of a map, or beside doubtful heads, at 6 points as they were.
    figure = PICTURES[name](yard).figure
    sizes = [text.get_fontsize() for text in figure.findobj(Text) if text.get_text()]
    assert len(sizes) > 20
    assert min(sizes) >= 7.0
    axes = plt.subplots(figsize=(7, 7))[1]
    yard.plot(axes)
    assert min(text.get_fontsize() for text in axes.get_legend().get_texts()) >= 7.0


@pytest.mark.parametrize("side", [3.0, 4.5, 9.0])
def test_words_along_lines_are_never_small_and_leave_the_line_bare(side):
    # Would catch: words that shrink with the drawing to 5 points, and words that hide a short line.
    figure = Figure(figsize=(side, side), dpi=100)
    FigureCanvasAgg(figure)
    ax = figure.add_axes((0, 0, 1, 1))
    ax.set(xlim=(0, 10), ylim=(0, 10))
    marks = [{"class": "electric", "path": [[1, 5], [1 + length, 5]]} for length in (0.5, 8.0)]
    draw_known(ax, {"marks": marks[1:]}, 0.5, Room(0.0, []))
    long = [text for text in ax.texts if text.get_text() == "ELECTRIC"]
    assert long
    assert min(text.get_fontsize() for text in long) >= 7.0
    draw_known(ax, {"marks": marks[:1]}, 0.5, Room(0.0, []))
    words = [text for text in ax.texts if text.get_text() == "ELECTRIC"]
    # On a full-size drawing a line says its class at least once; on a small one a short line is left to its colour and key.
    assert (len(words) > len(long)) == (side >= 5.0)


def test_sampled_lines_are_told_apart_without_colour():
    def alone(name):
        look = {**sampled_look(name), "color": "#555555"}
        return grey(lambda ax: ax.add_collection(LineCollection([[(0, 0.5), (1, 0.5)]], **look)))

    assert apart([alone(name) for name in CLASSES]) > 0.004
    # Planted fault: mainline and potable line drawn alike, as they were.
    assert apart([alone("mainline"), alone("mainline")]) == 0


def test_no_tick_stands_beside_the_scale_bar_or_a_legend(yard):
    own, axes = yard.plot(), plt.subplots(figsize=(7, 7))[1]
    yard.plot(axes)
    for ax in (own, axes):
        ticks = ax.get_yticks()
        assert len(ticks) >= 3
        # Flags of the yard stand at y = 70, a gas line ends at -12 with its tolerance zone about it.
        assert ticks.min() >= -18
        assert ticks.max() <= 75


def test_rings_and_heads_of_sixteen_zones_are_told_apart_without_colour():
    looks = list(style.zone_styles([str(k) for k in range(1, 17)]).values())
    rings = [
        grey(
            lambda ax, look=look: ax.scatter(
                [0.5], [0.5], 120, **ring("#555555", look.marker, int(look.filled != "full"))
            )
        )
        for look in looks
    ]
    heads = [
        grey(lambda ax, look=look: ax.plot([0.5], [0.5], markersize=6, **{**look.marks, "color": "#555555"}))
        for look in looks
    ]
    assert len(rings) == 16
    assert apart(rings) > 0.005
    assert apart(heads) > 0.003
    # Planted fault: rings of eight zones that begin again.
    assert apart([*rings, rings[0]]) == 0
    # Valves whose zone has no name: as many rings.
    unnamed = [
        grey(lambda ax, s=shape, k=kind: ax.scatter([0.5], [0.5], 120, **ring(style.INK, s, k)))
        for shape in SHAPES
        for kind in range(len(DASHES))
    ]
    assert len(unnamed) == 16
    assert apart(unnamed) > 0.005


def test_the_ring_of_a_head_is_wider_only_if_it_came_up_before():
    # Would catch: the ring of the twelfth test as wide as a bed, though its heads came up once.
    heads = [{"id": f"h{k}", "x": float(k), "y": 0.0, "zone": str(k)} for k in range(12)]
    tests = [{"zone": str(k), "heads": [f"h{k}"]} for k in range(12)] + [{"zone": "0", "heads": ["h0", "h1"]}]
    ax = Figure().add_subplot()
    draw_station_tests(ax, {"heads": heads, "station_tests": tests})
    sizes = [
        rings.get_sizes().tolist()
        for rings in ax.collections
        if len(rings.get_offsets()) and len(rings.get_offsets().compressed())
    ]
    assert len(sizes) == 13
    assert len({size for part in sizes[:12] for size in part}) == 1
    assert min(sizes[12]) > max(sizes[0])


def test_a_label_keeps_off_the_whole_of_a_sign():
    box = np.array([[[0.0, 0.0], [40.0, 10.0]]])
    window = Figure(figsize=(2, 2), dpi=100).bbox
    sign, nothing = np.array([[20.0, 10.0 + 0.5 * SIGN]]), np.empty((0, 2, 2))
    assert costs(box, nothing, sign, window, SIGN)[0] >= 3.0
    # Planted fault: only the middle of the sign counts, and its lower half is hidden.
    assert costs(box, nothing, sign, window)[0] < 3.0


def test_the_hose_bib_of_the_green_is_not_hidden(sampled):
    ax = sampled["green"].plot()
    ax.figure.canvas.draw()
    (bib,) = ut.read_site(ut.example("green")).to_dict()["outlets"]
    at = ax.transData.transform((bib["x"], bib["y"]))
    for text in ax.texts:
        if "hornbeam" in text.get_text():
            assert not text.get_window_extent().padded(2.0).contains(*at)
            break
    else:
        raise AssertionError("no label of the hornbeam")
