"""What the tests of pictures share: a yard with lines of every kind, keep-off strips of a known width, and every picture."""

from __future__ import annotations

import itertools

import matplotlib as mpl
import numpy as np
from sheets import plan_of

import underturf as ut
from underturf.crew.drawing.fit import fitted
from underturf.crew.drawing.picture import ground_of, map_figure
from underturf.crew.sizes import inner_of

mpl.use("agg")
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text

FEET = {
    "format": "underturf-site/2",
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
        {"x": 60, "y": 28, "radius": 0.5, "depth": 2.5, "found": True, "class": "gas", "azimuth_deg": 30.0},
        {"x": 37, "y": 6, "radius": 0.5, "depth": 2.0, "found": True, "class": "electric"},
        {"x": 30, "y": 50, "radius": 0.5, "depth": 2.0, "found": False},
    ],
    "digs": [
        {"id": "oak", "x": 78, "y": 12, "radius": 1.5, "depth": 1.5},
        {"id": "post", "x": 97, "y": 3, "radius": 0.5, "depth": 2.5},
    ],
}

#: Half width of the keep-off strips of flags as they are usually set: two standard deviations and the clearance, metres.
HALF_M = 2 * 0.1 + 0.457


def sampled(document, draws=60):
    return ut.sample_layouts(ut.Site.from_dict(document), draws=draws, seed=3)


def sheet_map(layouts):
    """The map of the sheet; its legend, which is text of the sheet, as one of matplotlib below the figure."""
    plan = plan_of(layouts)
    fit = fitted(ground_of(plan), inner_of(plan.units), 0.0, {1: 99.0, 2: 99.0, 3: 2.0})
    figure, handles, entries, _ = map_figure(plan, fit.width, fit.height)
    figure.legend(handles, entries, bbox_to_anchor=(0.0, 0.0), loc="upper left", ncols=1)
    return figure.axes[0]


PICTURES = {
    "plan": lambda layouts: layouts.plot(),
    "map": lambda layouts: layouts.strike_map(0.3, 0.6, 0.3).plot(digs=None),
    "dig": lambda layouts: layouts.dig_maps(cell_m=0.3)[0].plot(),
    "zones": lambda layouts: layouts.plot_zones(),
    "sheet": sheet_map,
}


def words(figure):
    return [text.get_text() for text in figure.findobj(Text) if text.get_text()]


def legend(ax):
    """Every entry of the legends of a picture."""
    return [text.get_text() for legend in ax.figure.legends for text in legend.get_texts()]


def pixels(figure):
    figure.canvas.draw()
    return np.asarray(figure.canvas.buffer_rgba())[..., :3]


def grey(draw, inches=(0.4, 0.4)):
    """A small drawing as grey pixels."""
    figure = Figure(figsize=inches, dpi=200)
    FigureCanvasAgg(figure)
    ax = figure.add_axes((0, 0, 1, 1))
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.axis("off")
    draw(ax)
    return pixels(figure).mean(axis=2)


def apart(pictures):
    """The least share of pixels in which two of the pictures differ clearly."""
    return min(float((np.abs(a - b) > 60).mean()) for a, b in itertools.combinations(pictures, 2))


def pixel(ax, image, point):
    x, y = ax.transData.transform(point)
    return round(x), image.shape[0] - 1 - round(y)


def text_of(ax):
    """All that is written on the figure of these axes, as one text."""
    return " ".join(words(ax.figure))
