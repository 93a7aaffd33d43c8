"""Known lines, flags, keep-off strips, swept ground and services on every picture: all there, in view, and seen in grey."""

from __future__ import annotations

import warnings

import matplotlib as mpl
import numpy as np
import pytest
from sheets import Reader, plan_of, said_on

import underturf as ut
from underturf.crew.frame import framed, map_figure
from underturf.crew.html import html
from underturf.crew.pages import fitted
from underturf.plotting import known, style
from underturf.plotting.view import extent

mpl.use("agg")
from matplotlib import pyplot as plt
from matplotlib.collections import LineCollection
from matplotlib.text import Annotation, Text

FEET = {
    "format": "underturf-site/1",
    "units": "ft",
    "name": "Yard (invented)",
    "boundary": [[0, 0], [90, 0], [90, 60], [0, 60]],
    "heads": [
        {"id": f"h{k}", "x": 1 + 22 * (k % 5), "y": 1 + 19 * (k // 5), "zone": str(1 + k // 5)} for k in range(15)
    ],
    "valve_boxes": [{"id": "box", "x": 50, "y": 8, "zones": ["1", "2", "3"]}],
    "sources": [{"id": "bf", "x": 85, "y": 30, "kind": "backflow"}],
    "obstacles": [{"kind": "building", "outline": [[60, 42], [88, 42], [88, 58], [60, 58]]}],
    "marks": [
        {"class": "gas", "path": [[80, -12], [80, 20], [72, 30], [72, 40]]},
        {"class": "electric", "path": [[-8, 22], [50, 22], [58, 40]], "half_zone": 2.0},
        {"class": "communication", "path": [[8, -5], [8, 66]]},
    ],
    "services": [
        {"class": "potable", "from": [95, -6], "to": [78, 40]},
        {"class": "sewer", "from": [54, 40], "to": [54, -8]},
    ],
    "flags": [
        {"x": -4, "y": 36, "line": "iron-2"},
        {"x": 6, "y": 37, "line": "iron-2"},
        {"x": 26, "y": 37, "line": "iron-2"},
        {"x": 20, "y": 4, "line": "bend"},
        {"x": 20, "y": 12, "line": "bend"},
        {"x": 42, "y": 14, "line": "bend"},
        {"x": 35, "y": 52},
        {"x": 12, "y": 70},
        {"x": 62, "y": 9},
    ],
    "swept": [{"outline": [[-9, 28], [48, 28], [48, 58], [-9, 58]]}],
    "probes": [
        {"x": 60, "y": 28, "radius": 0.5, "depth": 2.5, "found": True, "class": "gas", "bearing_deg": 60.0},
        {"x": 37, "y": 6, "radius": 0.5, "depth": 2.0, "found": True, "class": "electric"},
        {"x": 30, "y": 50, "radius": 0.5, "depth": 2.0, "found": False},
    ],
    "digs": [
        {"id": "oak", "x": 78, "y": 12, "radius": 1.5, "depth": 1.5},
        {"id": "post", "x": 97, "y": 3, "radius": 0.5, "depth": 2.5},
    ],
}

#: Half width of the keep-off strips of the stand-in, metres.
HALF_M = 0.6


class Handle:
    """A site's handle with keep-off strips of a known width: lines along their flags, discs at single flags."""

    def __init__(self, handle, document, unit_m):
        self._handle, self._strips = handle, []
        lines = {}
        for k, flag in enumerate(document.get("flags", [])):
            at = (flag["x"] * unit_m, flag["y"] * unit_m)
            if flag.get("line") is None:
                self._strips.append((f"flag {k + 1}", [at], HALF_M))
            else:
                lines.setdefault(flag["line"], []).append(at)
        self._strips += [(name, path, HALF_M) for name, path in lines.items()]

    def __getattr__(self, name):
        return getattr(self._handle, name)

    def keep_offs(self):
        return self._strips


def sampled_with_strips(document, draws=60):
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=draws, seed=3, progress=False)
    site = layouts.site
    site._handle = Handle(site._handle, site.to_dict(), site.unit_m)
    return layouts


@pytest.fixture(scope="module")
def yard():
    return sampled_with_strips(FEET)


@pytest.fixture(autouse=True)
def close():
    yield
    plt.close("all")


def sheet_map(layouts):
    """The map of the sheet with its legend, as it stands on paper."""
    plan = plan_of(layouts)
    figure = map_figure(plan, plan.listed(None), framed(plan, 7.27, 6.5, None), 7.27)
    return figure.axes[0]


PICTURES = {
    "plan": lambda layouts: layouts.plot(),
    "map": lambda layouts: layouts.strike_map(0.3, 0.6, 0.3, progress=False).plot(digs=None),
    "dig": lambda layouts: layouts.dig_maps(cell_m=0.3, progress=False)[0].plot(),
    "zones": lambda layouts: layouts.plot_zones(),
    "sheet": sheet_map,
}


def words(figure):
    return [text.get_text() for text in figure.findobj(Text) if text.get_text()]


def legend(ax):
    """Every entry of the legends of a picture."""
    return [text.get_text() for legend in ax.figure.legends for text in legend.get_texts()]


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
        "detector flag; named lines joined",
        f"gas met by a probe{letter}",
        f"electric met by a probe{letter}",
    ):
        assert entries.count(entry) == 1, entry
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
        ("flags", {"x": 120, "y": 30}, 120),
        ("trees", {"x": 120, "y": 30, "stem_diameter": 1.0}, 120),
        ("swept", {"outline": [[80, 10], [120, 10], [120, 20]]}, 120),
        ("services", {"class": "sewer", "from": [10, 10], "to": [120, 10]}, 120),
        ("marks", {"class": "gas", "path": [[10, 10], [120, 10]]}, 120 + 0.762 / 0.3048),
        ("marks", {"class": "gas", "path": [[10, 10], [120, 10]], "half_zone": 4.0}, 124),
        ("sketches", {"path": [[10, 10], [120, 10]], "trust": 0.5}, 120),
    ],
)
def test_each_kind_alone_stretches_the_view(key, item, reach):
    # Would catch: a kind that the limits forget, or its zone. No strips here: the engine's own cover the flags.
    document = {"format": "underturf-site/1", "units": "ft", "boundary": FEET["boundary"], key: [item]}
    site = ut.Site.from_dict(document)
    if key == "flags":
        site._handle = Handle(site._handle, {}, site.unit_m)
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
    document = {**FEET, "flags": [{"x": x, "y": 50, "line": "zigzag"} for x in (10, 40, 20, 30)]}
    layouts = sampled_with_strips(document)
    foot = 0.3048
    straight = [(10 * foot, 50 * foot), (20 * foot, 50 * foot), (30 * foot, 50 * foot), (40 * foot, 50 * foot)]
    branch = [(20 * foot, 50 * foot), (20 * foot, 55 * foot)]
    layouts.site._handle._strips = [("zigzag", straight, 0.5), ("zigzag", branch, 0.5)]
    ax = layouts.plot(draws=0)
    drawn = [np.round(line.get_xydata(), 6).tolist() for line in ax.lines if line.get_linestyle() != "None"]
    assert [[10, 50], [20, 50], [30, 50], [40, 50]] in drawn
    assert [[20, 50], [20, 55]] in drawn
    assert [[10, 50], [40, 50], [20, 50], [30, 50]] not in drawn
    assert words(ax.figure).count("zigzag") == 1


def pixels(figure):
    figure.canvas.draw()
    return np.asarray(figure.canvas.buffer_rgba())[..., :3]


def pixel(ax, image, point):
    x, y = ax.transData.transform(point)
    return round(x), image.shape[0] - 1 - round(y)


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
        for text in along:
            assert min(abs(text.get_rotation() % 180 - turn % 180) for turn in turns) < 0.1
            assert text.get_path_effects()
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


# grey

#: Classes of the public colour code, each as a mark.
CLASSES = list(style.LINES)

ALL = {
    "format": "underturf-site/1",
    "units": "m",
    "boundary": [[0, 0], [44, 0], [44, 16], [0, 16]],
    "heads": [
        {"id": f"h{k}", "x": 0.5 + 4.3 * (k % 11), "y": 2 + 6 * (k // 11), "zone": str(1 + k // 11)} for k in range(33)
    ],
    "valve_boxes": [{"id": "box", "x": 20.6, "y": 0.5, "zones": ["1", "2", "3"]}],
    "sources": [{"id": "meter", "x": 43.0, "y": 1.0, "kind": "meter"}],
    "marks": [{"class": of, "path": [[2.6 + 4.3 * k, -1], [2.6 + 4.3 * k, 17]]} for k, of in enumerate(CLASSES)],
    "sketches": [{"path": [[0.5, 5.0], [43.0, 5.2]], "trust": 0.5}],
    "digs": [{"id": "oak", "x": 0.8, "y": 11.0, "radius": 0.4, "depth": 0.4}],
}


def ink(ax, grey, ends, busy=()):
    """How strong one straight line is in grey: its contrast with what lies close beside it, times its width in points.

    The middle of many cuts across it: where letters, heads or other lines cross it counts no more than elsewhere.
    """
    dots = ax.figure.dpi / 72
    a, b = ax.transData.transform(np.array(ends))
    length = np.hypot(*(b - a))
    along = (b - a) / length
    cuts = a + np.linspace(0.05, 0.95, 120)[:, None] * (b - a)
    box = ax.get_window_extent()
    inside = ((cuts > [box.x0 + 15, box.y0 + 0.2 * box.height]) & (cuts < [box.x1 - 15, box.y1 - 15])).all(axis=1)
    for c, d in busy:
        way = (d - c) / np.hypot(*(d - c))
        inside &= np.abs((cuts - c) @ np.array([-way[1], way[0]])) > 14 * dots
    cuts = cuts[inside]
    if length < 15 * dots or len(cuts) < 20:
        return 0.0
    offsets = np.linspace(-7.5, 7.5, 121)
    at = cuts[:, None] + offsets[None, :, None] * dots * np.array([-along[1], along[0]])
    rows = np.clip(grey.shape[0] - 1 - np.round(at[..., 1]).astype(int), 0, grey.shape[0] - 1)
    values = grey[rows, np.clip(np.round(at[..., 0]).astype(int), 0, grey.shape[1] - 1)]
    # An edge between two grounds is no line: what lies beside is taken from either side, whichever is nearer.
    beside = [np.median(values[:, side], axis=1, keepdims=True) for side in (offsets < -5.5, offsets > 5.5)]
    contrast = np.minimum(*(np.abs(values - side) for side in beside))
    # The line itself: what stands out without a gap from its middle. Parallel lines nearby are others.
    middle = len(offsets) // 2
    out = contrast > 0.08
    out[:, middle] = True  # the middle may fall between pixels
    left = np.cumprod(out[:, middle::-1], axis=1)[:, ::-1]
    right = np.cumprod(out[:, middle:], axis=1)
    own = np.hstack([left, right[:, 1:]]).astype(bool)
    return float(np.median((contrast * own).sum(axis=1) * (offsets[1] - offsets[0])))


def inks(ax):
    """The ink of each marked class, and of every other line on a picture by what it is."""
    grey = pixels(ax.figure) @ np.array([0.299, 0.587, 0.114]) / 255
    marked = {mark["class"]: mark["path"] for mark in ALL["marks"]}
    busy = [tuple(ax.transData.transform(np.array(path))) for path in marked.values()]
    dangerous = {of: ink(ax, grey, path) for of, path in marked.items()}
    others = {}
    for artist in ax.get_children():
        if artist.get_path_effects():
            continue
        if isinstance(artist, LineCollection):
            bits = artist.get_segments()
        elif isinstance(artist, mpl.lines.Line2D) and artist.get_linestyle() != "None":
            bits = [artist.get_xydata()]
        elif isinstance(artist, mpl.patches.Polygon):
            bits = [artist.get_xy()]
        else:
            continue
        name = f"{type(artist).__name__} {artist.get_label()} {artist.get_zorder()}"
        weights = [
            ink(ax, grey, ends, busy)
            for bit in bits
            if len(bit)
            for ends in zip(bit, bit[1:], strict=False)
            if (ends[0] != ends[1]).any()
        ]
        others[name] = max([others.get(name, 0.0), *weights])
    return dangerous, others


def most_visible(dangerous, others):
    """What is wrong with the order of inks; nothing if gas and electric come first, then all marks, then every other line."""
    wrong = []
    strongest = max(others.values())
    if strongest == 0.0:
        wrong.append("no other line was measured")
    lesser = {of: weight for of, weight in dangerous.items() if of not in ("gas", "electric", "unknown")}
    for of, weight in lesser.items():
        if weight < strongest * (1.0 if of in ("lateral", "control_wire") else 1.2):
            wrong.append(f"{of} {weight:.2f}, another line {strongest:.2f}")
    for of in ("gas", "electric"):
        if dangerous[of] < 1.1 * max(lesser.values()) or dangerous[of] < 1.5 * strongest:
            wrong.append(
                f"{of} {dangerous[of]:.2f}, other marks {max(lesser.values()):.2f}, other lines {strongest:.2f}"
            )
    return wrong


@pytest.fixture(scope="module")
def every_class():
    return ut.sample_layouts(ut.Site.from_dict(ALL), draws=60, seed=5, progress=False)


@pytest.mark.parametrize("name", ["plan", "map", "zones", "sheet"])
def test_in_grey_no_line_is_as_strong_as_gas_and_electric(every_class, name):
    # Would catch: a yellow that prints pale, a casing that is lost on dark cells, a draw or lateral as broad as a mark.
    ax = PICTURES[name](every_class)
    dangerous, others = inks(ax)
    assert most_visible(dangerous, others) == [], (dangerous, others)
    if name != "map":  # it has no lines of layouts
        assert max(weight for kind, weight in others.items() if kind.startswith("LineCollection")) > 0.4


def test_the_old_looks_would_fail_in_grey(every_class, monkeypatch):
    # The planted fault: marks as dashed lines in the colours of their paint, as they were drawn before.
    def plain(ax, path, of, label, **_):
        ax.plot(
            *np.transpose(path),
            color=style.MARK_COLOURS[of],
            linewidth=2.2,
            linestyle=(0, (5, 1.5)),
            zorder=4,
            label=label,
        )

    monkeypatch.setattr(known, "draw_cased", plain)
    dangerous, others = inks(every_class.plot())
    assert dangerous["gas"] < 3.0
    assert any(fault.startswith("gas") for fault in most_visible(dangerous, others))


def test_a_service_on_dark_cells_is_cut_out_of_them(every_class):
    # Would catch: a dark casing without its light rim, which dark cells of a map swallow.
    from matplotlib.figure import Figure

    figure = Figure(figsize=(4, 4), dpi=100)
    mpl.backends.backend_agg.FigureCanvasAgg(figure)
    ax = figure.add_axes((0, 0, 1, 1))
    ax.set(xlim=(0, 10), ylim=(0, 10), facecolor="black")
    known.draw_cased(ax, [[2, 0], [2, 10]], "gas", None)
    known.draw_cased(ax, [[7, 0], [7, 10]], "electric", None)
    grey = pixels(figure) @ np.array([0.299, 0.587, 0.114]) / 255
    for x in (80, 280):
        profile = grey[200, x - 10 : x + 10]
        assert profile.max() > 0.5  # a light rim on either side
        assert (profile[:8] > 0.5).any()
        assert (profile[-8:] > 0.5).any()


# names

NAMES = [
    "cost $5 & $6",
    "a_b^2 {x} \\frac{1}{0}",
    "<script>alert('$')</script>",
    "y" * 150 + " $ " + "z" * 147,
    "\U0001f9d1\u200d\U0001f33e \u6c34\u9053 \u0645\u0627\u0621 \U0001d5a0 $x$",
    "_under\nand\tover -->",
]


def hostile():
    """A site whose every name is hostile."""
    return {
        "format": "underturf-site/1",
        "units": "m",
        "name": " ".join(NAMES),
        "boundary": [[0, 0], [24, 0], [24, 12], [0, 12]],
        "heads": [
            {"id": f"{NAMES[k % 6]} {k}", "x": 1.0 + 4.0 * (k % 6), "y": 1.0 + 5 * (k // 6), "zone": NAMES[k % 6]}
            for k in range(18)
        ],
        "valve_boxes": [
            {"id": f"{name} box", "x": 2 + 3.5 * k, "y": 3.5, "zones": [name]} for k, name in enumerate(NAMES)
        ],
        "sources": [{"id": NAMES[0], "x": 23, "y": 11, "kind": "meter"}],
        "outlets": [{"id": NAMES[2], "x": 12, "y": 11.5, "kind": "hose_bib"}],
        "station_tests": [{"zone": NAMES[0], "heads": [f"{NAMES[0]} 0", f"{NAMES[0]} 6"]}],
        "flags": [
            {"x": 1 + 3.0 * k, "y": 2.5 + 1.3 * n, "line": name} for n, name in enumerate(NAMES) for k in range(2)
        ],
        "marks": [{"class": "gas", "path": [[20, -1], [20, 13]], "date": "2026-05-04"}],
        "digs": [{"id": name, "x": 3 + 3.0 * k, "y": 4.5, "radius": 0.3, "depth": 0.4} for k, name in enumerate(NAMES)],
    }


@pytest.fixture(scope="module")
def named():
    return sampled_with_strips(hostile())


def printed(text):
    """What matplotlib prints of a text, and whether it reads a formula."""
    return text._preprocess_math(text.get_text())


@pytest.mark.parametrize("name", list(PICTURES))
def test_names_are_printed_as_they_are(named, name, tmp_path):
    # Would catch: dollars eaten as a formula, warnings for signs the font lacks (errors here), lines broken in a label,
    # entries that the legend drops, 300 letters that push the drawing off the sheet.
    ax = PICTURES[name](named)
    figure = ax.figure
    figure.canvas.draw()
    if name == "plan":
        for ending in ("pdf", "svg"):
            figure.savefig(tmp_path / f"picture.{ending}")
    said = [printed(text) for text in figure.findobj(Text)]
    assert not any(formula for _, formula in said)
    every = "\n".join(words for words, _ in said)
    if name != "dig":  # no flag and no label of a dig is near
        assert "cost $5 & $6" in every
        assert "a_b^2 {x} \\frac{1}{0}" in every or "a_b^2 {x} \\f…c{1}{0}" in every
        assert "y" * 17 + "…" in every or "y" * 14 + "…" in every
    assert "\\$" not in every
    assert not any(character in every for character in "\t\u200d\U0001f33e\u6c34")
    entries = [printed(text)[0] for box in figure.legends for text in box.get_texts()]
    if name in ("plan", "zones", "sheet"):
        assert any("_under and over -->" in entry for entry in entries)
        assert max(map(len, entries)) < 60
    # All of the legend is on the sheet.
    box = figure.legends[0].get_window_extent()
    assert box.x0 >= 0
    assert box.x1 <= figure.bbox.x1 + 1
    assert box.y1 <= figure.bbox.y1 + 1


def test_the_sheet_prints_names_as_they_are(named, tmp_path):
    # Would catch: names that are formulas, tags or warnings on paper or in a browser.
    plan = plan_of(named)
    pages = fitted(plan, annex=False)
    figures = pages.figures()
    figures[0].savefig(tmp_path / "sheet.pdf")
    for figure in figures:
        figure.canvas.draw()
        said = [printed(text) for text in figure.findobj(Text)]
        assert not any(formula for _, formula in said)
        assert not any("\\$" in words for words, _ in said)
    paper = said_on(pages)
    text = html(pages, annex=False)
    browser = Reader(text).said
    for said in (paper, browser):
        assert "cost $5 & $6" in said
        assert "<script>alert('$')</script>" in said
        assert "a_b^2 {x} \\frac{1}{0}" in said
    assert NAMES[4].split()[0] in browser  # a browser has more fonts
    assert "<script" not in text
    assert not any("script" in tag for tag, _ in Reader(text).tags)


def test_a_legend_that_the_caller_makes_reads_no_formula(named):
    # Would catch: names that are safe in the legend of ours alone.
    figure, ax = plt.subplots()
    named.plot(ax)
    box = ax.legend()
    figure.canvas.draw()
    assert not any(printed(text)[1] for text in box.get_texts())
    assert any(printed(text)[0] == "heads of zone cost $5 & $6" for text in box.get_texts())


def test_fonts_of_the_settings_are_tried(named):
    # Would catch: a box for a sign that one of the fonts in use has.
    from underturf.plotting.names import clean

    assert clean("\u6c34", families=("DejaVu Sans",)) == "\ufffd"
    assert clean("\u2135", families=("DejaVu Sans Mono", "DejaVu Sans")) == "\u2135"
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert clean("a\u00a0b \u202edcba") == "a b dcba"


# north

TURN = 30.0


@pytest.fixture(scope="module")
def turned():
    frame = {"lon": 10.0, "lat": 50.0, "bearing_deg": TURN}
    return ut.sample_layouts(ut.Site.from_dict({**FEET, "frame": frame}), draws=30, seed=3, progress=False)


@pytest.mark.parametrize("name", list(PICTURES))
def test_north_is_where_the_frame_says(yard, turned, name):
    # Would catch: an arrow up the plan, or turned the wrong way, and axes that call a turned plan's sides east and north.
    # The x axis of the site points 30 degrees north of east: true north is 30 degrees clockwise from its y axis.
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
    site = ut.Site.from_dict({"format": "underturf-site/1", "units": "m", "flags": [{"x": 3.0, "y": 4.0}]})
    (left, right), (low, high) = extent(site, site.to_dict())
    assert left < 3.0 < right
    assert low < 4.0 < high
    pixels(site.plot().figure)
