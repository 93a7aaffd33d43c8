"""The sheet on paper and in a browser: sizes, nothing lost, nothing off the page, names as they are written."""

from __future__ import annotations

import re

import numpy as np
import pytest
from PIL import Image
from sheets import EXAMPLES, Reader, browser_of, cells_of, close, data_of, pages_of, pdf_of, plan_of, said_on

import underturf as ut
from underturf.crew import paper
from underturf.crew.words import IF_HIT

#: Least size of letters on paper, points.
LEAST = 8.5

#: Names that are commands somewhere: to a typesetter, to a browser, to a template, to JSON.
HOSTILE = [
    "cost $5 & $6 #let x = 1",
    '<script>alert("x")</script>',
    "*bold* _under_ `raw` @ref <label> ~ -- --- ...",
    "back\\slash \\n \\u{41} \"quoted\" 'single'",
    '{{ sheet }} {% raw %} #include "a" /* no */ // no',
    "[brackets] = heading\nsecond line",
    "y" * 150 + " $ " + "z" * 147,
]


def hostile():
    """A site whose every name is a command."""
    heads = [
        {"id": f"{name} {k}", "x": 1.0 + 3.0 * k, "y": 1.0 + 6 * (k % 2), "zone": HOSTILE[k % 3]}
        for k, name in enumerate(HOSTILE)
    ]
    return {
        "format": "underturf-site/2",
        "units": "m",
        "name": " ".join(HOSTILE[:6]),
        "boundary": [[0, 0], [24, 0], [24, 12], [0, 12]],
        "heads": heads,
        "valve_boxes": [{"id": name, "x": 2 + 3 * k, "y": 3.5, "zones": [name]} for k, name in enumerate(HOSTILE[:3])],
        "sources": [{"id": HOSTILE[3], "x": 23, "y": 11, "kind": "meter"}],
        "digs": [
            {"id": name, "x": 3 + 2.5 * k, "y": 4.5, "radius": 0.3, "depth": 0.4} for k, name in enumerate(HOSTILE)
        ],
    }


@pytest.fixture(scope="module")
def named():
    layouts = ut.sample_layouts(ut.Site.from_dict(hostile()), draws=60, seed=3)
    return plan_of(layouts, ticket="<b>#1</b> $x$", annex=True)


@pytest.fixture(scope="module")
def feet():
    heads = [{"id": f"h{k}", "x": 12.0 * k, "y": 0.5 * k, "zone": "1"} for k in range(8)]
    digs = [{"id": "post", "x": 40, "y": 5, "radius": 1, "depth": 2}]
    document = {"format": "underturf-site/2", "units": "ft", "heads": heads, "digs": digs}
    return ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=2)


@pytest.fixture(scope="module")
def every(sampled, feet, named):
    """Sheets with everything on them, and their PDF read back."""
    plans = {name: plan_of(layouts, annex=True, full_page_map=True) for name, layouts in sampled.items()}
    plans |= {"feet": plan_of(feet, annex=True, full_page_map=True), "named": named}
    return {name: (plan, pages_of(pdf_of(plan))) for name, plan in plans.items()}


ALL = [*EXAMPLES, "feet", "named"]


@pytest.mark.parametrize("name", ALL)
def test_paper_is_letter_for_feet_and_a4_for_metres(every, name):
    plan, pages = every[name]
    size = (8.5 * 72, 11 * 72) if plan.units == "ft" else (8.27 * 72, 11.69 * 72)
    for page in pages:
        across = "Map, 1" in page.said and page.width > page.height
        np.testing.assert_allclose((page.width, page.height), size[::-1] if across else size, atol=0.1)


@pytest.mark.parametrize("name", ALL)
def test_every_letter_on_paper_is_large_enough_and_within_the_margins(every, name):
    _, pages = every[name]
    for page in pages:
        assert len(page.letters) > 100
        for letter, size, (left, right, bottom, top) in page.letters:
            assert size >= LEAST - 0.01, (letter, size)
            assert left >= 0.45 * 72
            assert right <= page.width - 0.45 * 72
            assert bottom >= 0.3 * 72
            assert top <= page.height - 0.4 * 72


@pytest.mark.parametrize("name", ALL)
def test_nothing_of_the_content_is_lost(every, name):
    plan, pages = every[name]
    on_paper = close(" ".join(page.said for page in pages))
    reader = close(Reader(browser_of(plan)).said)
    told = list(cells_of(data_of(plan)))
    assert len(told) > 60
    for text in told:
        assert close(text) in reader
        # A text that a page break parts has the cautions of one page within.
        parts = [close(word) for word in text.split()] if len(text) > 60 else [close(paper.printable(text))]
        assert all(part in on_paper for part in parts), text
    # Planted fault: a cell that is not on the sheet is missed.
    assert close("A 999.99") not in on_paper


@pytest.mark.parametrize("name", ALL)
def test_letters_do_not_lie_on_each_other(every, name):
    # Would catch: cells that run into the next column. Maps have labels of their own, which test_sheet_map.py looks at.
    _, pages = every[name]
    for page in pages:
        if "north" in page.said or "along the plan" in page.said:
            continue
        boxes = np.array([box for _, _, box in page.letters])
        for k, (left, right, bottom, top) in enumerate(boxes):
            wide = np.minimum(boxes[:, 1], right) - np.maximum(boxes[:, 0], left)
            high = np.minimum(boxes[:, 3], top) - np.maximum(boxes[:, 2], bottom)
            on = (wide > 1.5) & (high > 1.5)
            on[k] = False
            assert not on.any(), [page.letters[j][0] for j in np.flatnonzero(on)]


def test_names_are_on_paper_and_in_the_browser_as_they_are_written(every):
    plan, pages = every["named"]
    text = browser_of(plan)
    for said in (close(" ".join(page.said for page in pages)), close(Reader(text).said)):
        for name in HOSTILE:
            assert close(name) in said
        assert close("<b>#1</b> $x$") in said
    assert "<script" not in text
    assert not {tag for tag, _ in Reader(text).tags} & {"script", "b#1", "label"}
    # Planted fault: the same name as markup of the typesetter is another text, or none.
    import typst

    for name in HOSTILE[:3]:
        try:
            found = typst.compile({"main.typ": name.encode()}, format="pdf")
        except typst.TypstError:
            continue
        assert close(name) not in close(said_on(found))


def test_letters_that_the_font_lacks_are_shown_by_a_sign(sampled):
    # Would catch: a name that vanishes, and nobody sees that there was one.
    document = sampled["bare"].site.to_dict()
    document["name"] = "\u6c34\u9053 \u0416\u00bd"
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=3)
    plan = plan_of(layouts)
    assert "\ufffd\ufffd \u0416\u00bd" in said_on(pdf_of(plan))
    assert "\u6c34\u9053 \u0416\u00bd" in Reader(browser_of(plan)).said


def test_fonts_are_never_those_of_the_machine(sampled, monkeypatch):
    import typst

    asked = []
    compile_ = typst.compile
    monkeypatch.setattr(typst, "compile", lambda *given, **more: asked.append(more) or compile_(*given, **more))
    pdf = paper.pdf(data_of(plan_of(sampled["bare"])))
    assert asked[0]["ignore_system_fonts"] is True
    assert set(re.findall(rb"/FontName /[A-Z]{6}\+([A-Za-z-]+)", pdf)) <= {b"DejaVuSans", b"DejaVuSans-Bold"}


@pytest.mark.parametrize("name", EXAMPLES)
def test_orders_for_a_hit_line_are_short_and_on_the_first_page(every, name):
    _, pages = every[name]
    first = close(pages[0].said)
    for term, text in IF_HIT:
        assert close(term) + ":" + close(text) in first or all(close(s) in first for s in text.split(". "))
        for order in re.split(r"(?<=[.!])\s", text):
            assert 1 <= len(order.split()) <= 12, order
    orders = dict(IF_HIT)
    assert "stay on it unless it catches fire" in orders["Electric"]
    assert "water stops flowing" in next(text for term, text in IF_HIT if "under pressure" in term)
    assert "as gas or electric until its owner identifies it" in orders["Unknown"]


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_page_carries_the_cautions(every, name):
    _, pages = every[name]
    for number, page in enumerate(pages):
        assert all(caution in page.said for caution in ut.CAUTIONS)
        assert f"page {number + 1} of {len(pages)}" in page.said


def test_the_owner_has_a_page_that_can_be_handed_over(every):
    for name in ("green", "terrace"):
        plan, pages = every[name]
        mine = [page.said for page in pages if "To the owner of the ground" in page.said]
        (page,) = mine
        assert page.startswith("To the owner of the ground") or page.index("To the owner") < 600
        assert all(find.label in page for find in plan.finds)
        assert all(fixed in page for fixed, _, _ in plan.fixed.points)
        assert "replaces neither a call nor a mark" in page
        assert "Stakes on likely lines" not in page
    assert not any("To the owner" in page.said for page in every["bare"][1])


def test_the_owner_sees_the_map_again_in_a_browser(every):
    text = browser_of(every["green"][0])
    assert text.count('<g id="map">') == 1
    assert text.count('<use href="#map">') == 1
    assert text.index('<g id="map">') < text.index("To the owner of the ground") < text.index('<use href="#map">')
    inner = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"[^>]*>(?:(?!</svg>).)*<g id="map">', text, re.DOTALL).groups()
    again = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"[^>]*><use', text).groups()
    np.testing.assert_allclose([float(x) for x in again], [float(x) for x in inner], atol=0.01)
    assert not re.search(r'<g id="(?!map")', text)
    assert "<use href" not in browser_of(every["bare"][0])


def test_stakes_near_spots_come_first_and_the_rest_is_in_an_annex(every):
    plan, pages = every["green"]
    listed = {stake.label for stake in plan.listed}
    far = {stake.label for stake in plan.stakes} - listed
    assert len(listed) > 20
    assert len(far) > 20
    at = next(k for k, page in enumerate(pages) if "Annex: stakes further away" in page.said)
    before, after = (
        set(re.findall(r"\bL\d+\.\d+\b", " ".join(page.said for page in part))) for part in (pages[:at], pages[at:])
    )
    assert listed <= before
    assert not far & before
    assert far <= after
    assert f"Not listed: {len(far)} of {len(plan.stakes)} stakes" in " ".join(page.said for page in pages)
    without = said_on(pdf_of(plan_of(plan.layouts)))
    assert not any(re.search(rf"\b{re.escape(label)}\b", without) for label in far)


def test_png_shows_every_page(sampled, tmp_path):
    layouts = sampled["green"]
    path = layouts.crew_sheet(tmp_path / "sheet.png", options=ut.SheetOptions(date="2026-05-06"))
    picture = Image.open(path)
    count = len(pages_of(pdf_of(plan_of(layouts))))
    assert picture.width == pytest.approx(8.27 * 150, abs=1)
    assert picture.height == pytest.approx(11.69 * 150 * count, abs=count)
    grey = np.asarray(picture.convert("L"))
    for page in np.array_split(grey, count):
        assert 0.01 < (page < 200).mean() < 0.5


@pytest.mark.parametrize("name", EXAMPLES)
def test_nothing_scrolls_sideways_on_a_telephone(sampled, name):
    # Wide tables become lists, each cell with its heading; all else that may be wide has a box that scrolls by itself.
    plan = plan_of(sampled[name], annex=True, full_page_map=True)
    text = browser_of(plan)
    tags = Reader(text).tags
    heads = [attributes["data-head"] for tag, attributes in tags if tag == "td" and "data-head" in attributes]
    assert heads[:5] == ["no.", "spot", "chance of a strike", "by class", "what to do"]
    metal = len(plan.metal)  # a row a line beside the spots, seven cells each
    assert len(heads) == 5 * len(plan.digs) + 7 * metal
    for inner in re.findall(r'<table class="data[^>]*>|<svg[^>]*role="img"[^>]*>', text):
        start = text.index(inner)
        opened = text.rfind('<div class="box', 0, start)
        assert opened > text.rfind("</div>", 0, start)
    style = text[text.index("<style>") : text.index("</style>")]
    assert re.search(r"\.box \{ max-width: 100%; overflow-x: auto;", style)
    assert "table-layout: fixed" in style
    narrow = style[style.index("(max-width: 720px)") : style.index("@media print")]
    assert ".stack td { display: block; }" in narrow
    # Widths of a fixed number of inches or pixels stand only where a box scrolls.
    assert re.findall(r"(\S+ \S+) \{ min-width", narrow) == [".picture svg"]
    assert 'name="viewport" content="width=device-width' in text
