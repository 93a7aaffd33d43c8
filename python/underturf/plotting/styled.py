"""Styles of the reader's own for pictures: fonts, sizes of pictures, widths of plain lines.

What a picture says stays as it is whatever the style: ink on paper, the colours of classes and marks, the letters of the
cautions. A dark style would hide the cautions, so its colours of text and paper do not count.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, TypeAlias

from underturf import _core
from underturf.errors import ArgumentError, at, must_be, none_such
from underturf.plotting.style import CHANCE_MAP, INK, PAPER

if TYPE_CHECKING:
    from matplotlib.colors import Colormap

__all__ = ["Style", "colour_map", "styled"]

#: A style of matplotlib by name, settings of matplotlib (rcParams), or several of them, the last one counting.
Style: TypeAlias = "str | Mapping[str, object] | Sequence[str | Mapping[str, object]] | None"

#: Settings that a style may not change: letters must be seen, no name is read as a formula, the sheet lays itself out.
KEPT: dict[str, object] = {
    **dict.fromkeys(
        ("text.color", "axes.labelcolor", "xtick.color", "ytick.color", "xtick.labelcolor", "ytick.labelcolor"), INK
    ),
    **dict.fromkeys(("figure.facecolor", "axes.facecolor", "legend.facecolor"), PAPER),
    **dict.fromkeys(("text.usetex", "figure.autolayout", "figure.constrained_layout.use", "axes.grid"), False),
    "legend.labelcolor": INK,
}


@contextmanager
def styled(style: Style) -> Iterator[None]:
    """Draw in a style; None: as matplotlib is set.

    Raises
    ------
    ArgumentError
        If there is no such style or setting.

    Examples
    --------
    >>> import matplotlib
    >>> with styled({"font.size": 8, "text.color": "white"}):
    ...     matplotlib.rcParams["font.size"], matplotlib.rcParams["text.color"]
    (8.0, '#1f1f1f')
    """
    if style is None:
        yield
        return
    import matplotlib as mpl
    import matplotlib.style

    parts = [style] if isinstance(style, str | Mapping) else style
    if not isinstance(parts, Sequence) or not all(isinstance(part, str | Mapping) for part in parts):
        raise must_be("style", style, "a style of matplotlib by name, a mapping of its settings, or a list of them")
    known = ["default", *matplotlib.style.available]
    for name in parts:
        if isinstance(name, str) and name not in known:
            raise none_such("style", name, known, _core.spelling_hint(name, known))
    with mpl.rc_context():
        try:
            for part in parts:
                matplotlib.style.use(part)
        except (KeyError, ValueError) as error:
            raise at("style", " ".join(str(error).strip("\"'").split())) from None
        mpl.rcParams.update(KEPT)
        yield


def colour_map(cmap: str | Colormap | None) -> Colormap:
    """Return the colours of a map of chances, from 0 to 1.

    Raises
    ------
    ArgumentError
        If there are none of that name.

    Examples
    --------
    >>> colour_map(None).name, colour_map("cividis_r").name
    ('magma_r', 'cividis_r')
    """
    import matplotlib as mpl
    from matplotlib.colors import Colormap

    if isinstance(cmap, Colormap):
        return cmap
    name = CHANCE_MAP if cmap is None else cmap
    if not isinstance(name, str):
        raise must_be("cmap", cmap, "a colour map of matplotlib, or its name")
    if name not in mpl.colormaps:
        hint = _core.spelling_hint(name, list(mpl.colormaps))
        raise ArgumentError(f"cmap is {name!r}; matplotlib has no such colour map{hint}")
    return mpl.colormaps[name]
