"""Names are printed as they are written: dollars, tags, signs that no font has, and 300 letters harm no picture and no sheet."""

from __future__ import annotations

import warnings

import pytest
from matplotlib import pyplot as plt
from matplotlib.text import Text
from pictures import PICTURES, sampled
from sheets import Reader, browser_of, pdf_of, plan_of, said_on
from sheets import close as joined

from underturf.plotting.names import clean


@pytest.fixture(autouse=True)
def close():
    yield
    plt.close("all")


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
        "format": "underturf-site/2",
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
    return sampled(hostile())


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


def test_the_sheet_prints_names_as_they_are(named):
    # Would catch: names that are formulas, tags or warnings on paper or in a browser.
    plan = plan_of(named)
    text = browser_of(plan)
    for said in (joined(said_on(pdf_of(plan))), joined(Reader(text).said)):
        assert joined("cost $5 & $6") in said
        assert joined("<script>alert('$')</script>") in said
        assert joined("a_b^2 {x} \\frac{1}{0}") in said
    assert NAMES[4].split()[0] in Reader(text).said  # a browser has more fonts
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
    assert clean("\u6c34", families=("DejaVu Sans",)) == "\ufffd"
    assert clean("\u2135", families=("DejaVu Sans Mono", "DejaVu Sans")) == "\u2135"
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert clean("a\u00a0b \u202edcba") == "a b dcba"
