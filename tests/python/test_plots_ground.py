"""Known lines, flags, keep-off strips, swept ground and services on every picture: all there, in view, to scale; and north."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib import pyplot as plt
from matplotlib.text import Annotation, Text
from pictures import FEET, HALF_M, PICTURES, legend, pixel, pixels, sampled, words

import underturf as ut
from underturf.plotting.view import extent


@pytest.fixture(scope="module")
def yard():
    return sampled(FEET)


@pytest.fixture(autouse=True)
def close():
    yield
    plt.close("all")


@pytest.mark.parametrize("name", ["plan", "map", "zones", "sheet"])
def test_everything_known_is_on_every_picture_and_in_its_legend(yard, name):
    # Would catch: a picture that leaves flags, strips, swept ground or services out, as plan, map and zones did.
    ax = PICTURES[name](yard)
    letter = " (F)" if name == "sheet" else ""
    entries = legend(ax)
    for entry in (
        "mark: gas, with tolerance zone",
        "mark: electric, with tolerance zone",
        "mark: communication, with tolerance zone",
        "sewer service, course not known",
        "potable service, course not known",
        "ground swept with a detector",
        "keep-off strip of flagged metal, to scale",
        f"gas met by a probe{letter}",
        f"electric met by a probe{letter}",
    ):
        assert entries.count(entry) == 1, entry
    assert sum(entry.startswith("detector flag") for entry in entries) == 1
    assert entries[0] == "mark: gas, with tolerance zone"
    said = words(ax.figure)
    for word in ("GAS", "ELECTRIC", "COMM", "SEWER?", "WATER?", "iron-2", "bend"):
        assert word in said


def test_a_picture_names_nothing_that_is_not_there(yard, sampled):
    # Would catch: entries of the legend without a thing, in a near view too, where most lie out of sight.
    for entries in (legend(PICTURES["plan"](sampled["bare"])), legend(PICTURES["dig"](yard))):
        assert not any("swept" in entry or "flag" in entry or "electric" in entry for entry in entries)
    near = PICTURES["dig"](yard)
    assert "mark: gas, with tolerance zone" in legend(near)
    assert "GAS" in words(near.figure)
    assert "COMM" not in words(near.figure)


@pytest.mark.parametrize("name", ["plan", "map", "zones", "sheet"])
def test_what_lies_beyond_the_boundary_is_in_view(yard, name):
    # Would catch: limits by the boundary alone. Places are in the document's feet, strips and zones with their width.
    ax = PICTURES[name](yard)
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    half, zone = HALF_M / 0.3048, 0.762 / 0.3048
    for x, y in (
        (-9, 28),
        (-4 - half, 36),
        (12, 70 + half),
        (95, -6),
        (80, -12 - zone),
        (-8 - 2.0, 22),
        (8, 66 + zone),
    ):
        assert left < x < right
        assert low < y < high
    if name != "zones":
        assert right > 97.5  # the post, to be dug over the boundary


@pytest.mark.parametrize(
    ("key", "item", "reach"),
    [
        ("flags", {"x": 120, "y": 30}, 120 + HALF_M / 0.3048),
        ("trees", {"x": 120, "y": 30, "stem_diameter": 1.0}, 120),
        ("swept", {"outline": [[80, 10], [120, 10], [120, 20]]}, 120),
        ("services", {"class": "sewer", "from": [10, 10], "to": [120, 10]}, 120),
        ("marks", {"class": "gas", "path": [[10, 10], [120, 10]]}, 120 + 0.762 / 0.3048),
        ("marks", {"class": "gas", "path": [[10, 10], [120, 10]], "half_zone": 4.0}, 124),
        ("sketches", {"path": [[10, 10], [120, 10]], "trust": 0.5}, 120),
    ],
)
def test_each_kind_alone_stretches_the_view(key, item, reach):
    # Would catch: a kind that the limits forget, or its zone or strip.
    document = {"format": "underturf-site/2", "units": "ft", "boundary": FEET["boundary"], key: [item]}
    site = ut.Site.from_dict(document)
    assert extent(site, site.to_dict())[0] == pytest.approx((0, reach))


def test_strips_are_to_scale_and_flags_where_they_stand(yard):
    # Would catch: metres taken for feet, half widths for widths, or a strip that hides under lawn or swept ground.
    ax = yard.plot(digs=[], draws=0)
    image = pixels(ax.figure)
    half = HALF_M / 0.3048
    grass = np.array([244, 247, 238])

    def bare(x, y):
        """Share of lawn or of the dots of swept ground about a place, which is across the line iron-2 or round a flag."""
        col, row = pixel(ax, image, (x, y))
        window = image[row - 1 : row + 2, col - 1 : col + 2].reshape(-1, 3).astype(int)
        return float((np.abs(window - grass).max(axis=1) < 3).mean())

    across = np.array(
        [[x, 37 + side * share * half] for x in (9.0, 12.0, 22.0) for side in (-1, 1) for share in (0.6, 0.85)]
    )
    assert max(bare(*at) for at in across) == 0.0
    turns = np.arange(0, 6.2, 0.7)
    near, far = (
        [bare(62 + share * half * np.cos(turn), 9 + share * half * np.sin(turn)) for turn in turns]
        for share in (0.8, 1.25)
    )
    assert max(near) == 0.0
    assert np.median(far) == 1.0
    (flags,) = (line for line in ax.lines if line.get_label().startswith("detector flag"))
    assert set(zip(*flags.get_data(), strict=True)) == {(flag["x"], flag["y"]) for flag in FEET["flags"]}


def test_the_flags_of_a_line_are_joined_as_its_strip_runs():
    # Would catch: flags joined in the order in which they are written, across the ground between, where the strip is not.
    places = [(10, 50), (40, 50), (20, 50), (30, 50), (20, 55)]
    document = {**FEET, "flags": [{"x": x, "y": y, "line": "zigzag"} for x, y in places]}
    ax = ut.Site.from_dict(document).plot()
    drawn = [np.round(line.get_xydata(), 6).tolist() for line in ax.lines if line.get_linestyle() != "None"]
    assert [[10, 50], [20, 50], [20, 55]] in drawn
    assert [[20, 50], [30, 50], [40, 50]] in drawn
    assert [[10, 50], [40, 50], [20, 50], [30, 50]] not in drawn
    assert words(ax.figure).count("zigzag") == 1


@pytest.mark.parametrize("name", ["plan", "map", "zones", "sheet"])
def test_classes_are_written_along_their_lines(yard, name):
    # Would catch: words that are level whatever the line does, that stand off it, or once on a line as long as the sheet.
    ax = PICTURES[name](yard)
    found = {}
    for text in ax.texts:
        found.setdefault(text.get_text(), []).append(text)
    angles = {"COMM": [90], "SEWER?": [90], "ELECTRIC": [0, 66.04], "GAS": [90, -51.34]}
    for word, turns in angles.items():
        along = [text for text in found[word] if not isinstance(text, Annotation)]
        assert along
        # Metal lines bear the word along courses of their own.
        turned = [text.get_rotation() % 180 for text in along]
        assert all(min(abs(angle - turn % 180) for angle in turned) < 0.1 for turn in turns)
        assert all(text.get_path_effects() for text in along)
    assert all(text.get_position()[0] == pytest.approx(8.0, abs=1e-6) for text in found["COMM"])
    assert len(found["COMM"]) >= 2


@pytest.mark.parametrize("layout", [None, "constrained"])
def test_in_axes_of_the_caller_nothing_is_covered_or_cut_off(yard, layout):
    # Would catch: a legend over lines that nobody may hit, cautions below the edge of the figure, a title above it.
    figure, ax = plt.subplots(figsize=(9, 8), layout=layout)
    yard.plot(ax)
    figure.canvas.draw()
    box = ax.get_legend().get_window_extent()
    highest = max(70 + HALF_M / 0.3048, 66 + 0.762 / 0.3048)  # a flag and a mark, with their strip and zone
    assert ax.transData.transform((0, highest))[1] <= box.y0 + 1
    assert box.x1 <= figure.bbox.x1 + 1
    assert box.y1 <= figure.bbox.y1 + 1
    notes = ax.xaxis.label.get_window_extent()
    assert ut.CAUTIONS[-1] in " ".join(ax.xaxis.label.get_text().split())
    assert notes.y0 >= -1
    title = next(text for text in figure.findobj(Text) if text.get_text() == "Yard (invented)")
    assert title.get_window_extent().y1 <= figure.bbox.y1 + 1


# north

TURN = 30.0


@pytest.fixture(scope="module")
def turned():
    frame = {"lon": 10.0, "lat": 50.0, "azimuth_deg": -TURN}
    return ut.sample_layouts(ut.Site.from_dict({**FEET, "frame": frame}), draws=30, seed=3)


@pytest.mark.parametrize("name", list(PICTURES))
def test_north_is_where_the_frame_says(yard, turned, name):
    # Would catch: an arrow up the plan, or turned the wrong way, and axes that call a turned plan's sides east and north.
    # The y axis of the site points 30 degrees west of north: true north is 30 degrees clockwise from its y axis.
    for layouts, turn in ((turned, TURN), (yard, 0.0)):
        ax = PICTURES[name](layouts)
        arrows = [
            text for text in ax.texts if isinstance(text, Annotation) and not text.get_text() and text.zorder == 9
        ]
        (way,) = (np.subtract(arrow.xy, arrow.xyann) for arrow in arrows)
        assert np.degrees(np.arctan2(way[0], way[1])) == pytest.approx(turn, abs=1e-6)
        said = " ".join(words(ax.figure))
        assert ("ft north" in said, "ft east" in said) == (not turn, not turn)
        assert ("ft up the plan" in said, "ft along the plan" in said) == (bool(turn), bool(turn))


def test_one_thing_alone_has_a_picture():
    # Would catch: limits without extent, which matplotlib widens with a warning.
    site = ut.Site.from_dict({"format": "underturf-site/2", "units": "m", "flags": [{"x": 3.0, "y": 4.0}]})
    (left, right), (low, high) = extent(site, site.to_dict())
    assert left < 3.0 < right
    assert low < 4.0 < high
    pixels(site.plot().figure)
