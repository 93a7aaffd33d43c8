"""Pictures take the reader's colours and styles, and stay readable: no style hides the cautions."""

from __future__ import annotations

import matplotlib as mpl
import pytest
from exported import layouts, thing, yard

mpl.use("agg")
from matplotlib import pyplot as plt
from matplotlib.colors import to_rgb
from matplotlib.text import Text

import underturf as ut
from underturf.plotting.chance_map import lightness
from underturf.plotting.style import CHANCE_MAP, INK, PAPER

PICTURES = {
    "site": lambda **given: yard().plot(**given),
    "layouts": lambda **given: layouts().plot(**given),
    "zones": lambda **given: layouts().plot_zones(**given),
    "map": lambda **given: thing("StrikeMap").plot(**given),
    **{
        kind: lambda kind=kind, **given: thing(kind).plot(**given)
        for kind in ("Assessment", "Ranking", "Spots", "ProbePlan", "SweepPlan", "MetalLines", "ValvePlan")
    },
}


@pytest.fixture(autouse=True)
def close():
    yield
    plt.close("all")


def letters(figure):
    """Every text of a picture that is seen, with its colour."""
    figure.canvas.draw()
    seen = [text for text in figure.findobj(Text) if text.get_visible() and text.get_text().strip()]
    return {text.get_text(): to_rgb(text.get_color()) for text in seen}


@pytest.mark.parametrize("name", PICTURES)
def test_no_style_hides_the_cautions(name):
    """A dark style has white letters; on paper nobody would see them. Planted fault: the bare style of matplotlib."""
    axes = PICTURES[name](
        style=["dark_background", {"font.family": "monospace", "text.usetex": True, "axes.grid": True}]
    )
    figure = axes.figure
    assert to_rgb(figure.get_facecolor()) == to_rgb(axes.get_facecolor()) == to_rgb(PAPER)
    found = letters(figure)
    assert all(lightness((*colour, 1.0)) < 0.75 for text, colour in found.items() if text not in ("",)), found
    assert any("one-call centre" in text for text in found)
    cautions = next(text for text in figure.findobj(Text) if "one-call centre" in text.get_text())
    assert to_rgb(cautions.get_color()) == to_rgb(INK)
    assert cautions.get_fontfamily() == ["monospace"]
    box, page = cautions.get_window_extent(), figure.bbox
    assert box.x0 >= 0
    assert box.y0 >= 0
    assert box.x1 <= page.x1
    with mpl.style.context("dark_background"):
        assert mpl.rcParams["text.color"] == "white"


def test_a_style_ends_with_its_picture():
    before = dict(mpl.rcParams)
    yard().plot(style={"font.size": 23})
    assert dict(mpl.rcParams) == before


@pytest.mark.parametrize(
    ("style", "words"),
    [
        ("dark_backgroud", "no style 'dark_backgroud'.*did you mean \"dark_background\""),
        ({"font.sise": 3}, "style: .*font.sise"),
        ({"font.size": "much"}, "style: .*much"),
        (3, "style is 3; it must be a style of matplotlib by name"),
        (["default", 3], "it must be a style of matplotlib by name"),
        ("https://example.invalid/a.mplstyle", "no style"),
    ],
)
def test_a_style_that_is_none_is_refused(style, words):
    with pytest.raises(ut.ArgumentError, match=words):
        yard().plot(style=style)


def test_a_map_takes_other_colours():
    smap = thing("StrikeMap")
    for cmap in ("cividis_r", mpl.colormaps["Greys"], None):
        axes = smap.plot(cmap=cmap)
        (image,) = axes.images
        assert image.get_cmap().name == (CHANCE_MAP if cmap is None else getattr(cmap, "name", cmap))
        assert image.get_clim() == (0, 1)
    with pytest.raises(ut.ArgumentError, match='no such colour map; did you mean "viridis"'):
        smap.plot(cmap="viridiss")
    with pytest.raises(ut.ArgumentError, match="cmap is 3"):
        smap.plot(cmap=3)


@pytest.mark.parametrize("cmap", [CHANCE_MAP, "viridis", "Greys", "Greys_r", "cividis_r"])
def test_lines_of_equal_chance_stand_out_in_any_colours(cmap):
    """Planted fault: dark lines below three tenths, whatever the colours, drown in colours that begin dark."""
    axes = thing("StrikeMap").plot(cmap=cmap, levels=(0.05, 0.5))
    colours = mpl.colormaps[cmap]
    (drawn,) = [found for found in axes.collections if len(getattr(found, "levels", ())) == 2 and not found.filled]
    pairs = list(zip(drawn.levels.tolist(), drawn.get_edgecolor(), strict=True))
    apart = {level: abs(lightness(tuple(ink)) - lightness(colours(level))) for level, ink in pairs}
    assert len(apart) == 2
    assert min(apart.values()) > 0.35
    old = [to_rgb(INK if level < 0.3 else PAPER) for level in apart]
    faint = min(abs(lightness((*ink, 1.0)) - lightness(colours(level))) for ink, level in zip(old, apart, strict=True))
    assert bool(faint > 0.35) is (cmap in (CHANCE_MAP, "Greys", "cividis_r"))
