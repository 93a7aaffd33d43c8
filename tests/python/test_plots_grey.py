"""In grey, as a site office prints it, no line is as strong as gas and electric: measured on the pictures themselves."""

from __future__ import annotations

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib import pyplot as plt
from matplotlib.collections import LineCollection
from pictures import PICTURES, pixels

import underturf as ut
from underturf.plotting import known, style


@pytest.fixture(autouse=True)
def close():
    yield
    plt.close("all")


#: Classes of the public colour code, each as a mark.
CLASSES = list(style.LINES)

ALL = {
    "format": "underturf-site/2",
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
        # Nine in ten of its pieces: the rest lie on a sign, or beside a line that is measured with them.
        others[name] = max(others.get(name, 0.0), float(np.quantile(weights, 0.9)) if weights else 0.0)
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
    return ut.sample_layouts(ut.Site.from_dict(ALL), draws=60, seed=5)


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
