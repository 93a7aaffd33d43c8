"""The legend of the map as pairs of a small picture and its words, which paper and browser set as text of their own."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

from underturf.plotting import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["KEY", "add_ground_keys", "keys_of", "svg_of"]

#: Width and height of the picture beside the words of an entry, inches.
KEY = (0.5, 0.19)

#: Kinds of ground with their words and looks: drawn without a key by the plan.
GROUND = {
    "building": ("building", {"facecolor": style.BUILDING, "edgecolor": style.INK, "hatch": "/////"}),
    "paving": ("paving, drive or walk", {"facecolor": style.PAVING, "edgecolor": style.FAINT}),
    "pool": ("pool or pond", {"facecolor": style.POOL, "edgecolor": style.INK, "hatch": "~"}),
    "bed": ("bed", {"facecolor": style.BED, "edgecolor": style.FAINT, "linestyle": (0, (2, 2))}),
}


def add_ground_keys(ax: Axes, document: dict[str, Any]) -> None:
    """Give the ground its keys: boundary, buildings, paving, pools, beds, the dashed edge of tolerance zones."""
    if document.get("boundary"):
        ax.plot([], [], color=style.INK, linewidth=1.2, label="boundary")
    kinds = {item["kind"] for item in document.get("obstacles", [])}
    for kind, (words, looks) in GROUND.items():
        if kind in kinds:
            ax.fill([], [], linewidth=0.8, label=words, **looks)


def keys_of(handles: list[Any], *, text_as: str) -> list[str]:
    """Draw each entry's picture.

    Parameters
    ----------
    handles : list of Artist
        What the legend of the map would show.
    text_as : str
        As in `svg_of`.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    found = []
    for handle in handles:
        figure = Figure(figsize=KEY, facecolor="none")
        FigureCanvasAgg(figure)
        look = {"frameon": False, "borderpad": 0, "borderaxespad": 0, "handletextpad": 0, "loc": "center"}
        figure.legend([handle], [""], handlelength=3.6, handleheight=1.0, fontsize=8.5, **look)
        found.append(svg_of(figure, "", text_as=text_as))
    return found


def svg_of(figure: Figure, words: str, *, text_as: str) -> str:
    """Return a figure as an SVG element.

    Parameters
    ----------
    figure : Figure
        The drawing.
    words : str
        What it shows, for readers who hear it; nothing for ornaments.
    text_as : str
        ``"none"`` keeps text as text, for a reader that has the font; ``"path"`` draws its outlines.
    """
    import matplotlib as mpl

    stream = io.StringIO()
    with mpl.rc_context({"svg.hashsalt": "underturf", "svg.fonttype": text_as, "hatch.linewidth": 0.4}):
        figure.savefig(stream, format="svg", metadata={"Date": None, "Creator": None})
    text = stream.getvalue()
    # The element alone, without the head of an XML file; its metadata name addresses elsewhere.
    element = re.sub(r"<metadata>.*?</metadata>", "", text[text.index("<svg") :], flags=re.DOTALL)
    # Names of groups are the same in every picture, and nothing refers to them.
    element = re.sub(r'<g id="[^"]*"', "<g", element)
    tag = f'role="img" aria-label="{words}"' if words else 'aria-hidden="true"'
    return element.replace("<svg ", f"<svg {tag} ", 1)
