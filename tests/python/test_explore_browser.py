"""The page to look at a site with, in a browser: at the size of a phone and of a desk, in light, in dark and without colour."""

from __future__ import annotations

import copy
import json

import numpy as np
import pytest
from browser import DESK, PHONE, browsing

import underturf as ut
from underturf.exploring import Exploration, content_of

MAPS = ut.ExploreOptions(radii_m=(0.15, 0.3, 0.6), depths_m=(0.3, 0.45), cell_m=0.25, draws=4)


@pytest.fixture(scope="module")
def browser():
    with browsing() as running:
        yield running


@pytest.fixture(scope="module")
def pages(sampled, tmp_path_factory):
    folder = tmp_path_factory.mktemp("pages")
    return {name: sampled[name].explore(folder / f"{name}.html", options=MAPS) for name in ("green", "terrace")}


def answer(browser):
    return browser.run("(({ state, p, mcse }) => ({ state, p, mcse }))(document.querySelector('.ut-answer').dataset)")


def cell(smap, x, y):
    """Row and column of the cell that a place lies in."""
    return int(np.abs(smap.y_m - y).argmin()), int(np.abs(smap.x_m - x).argmin())


@pytest.mark.parametrize("name", ["green", "terrace"])
def test_the_chance_of_a_link_is_that_of_the_cell_of_the_map(browser, sampled, pages, name):
    layouts, seen = sampled[name], {"chance": 0, "zone": 0, "out": 0}
    browser.look(DESK)
    browser.open(pages[name])
    random = np.random.default_rng(5)
    for radius, depth in [(0.15, 0.3), (0.3, 0.45), (0.6, 0.45)]:
        smap = layouts.strike_map(radius, depth, 0.25)
        for x, y in zip(random.choice(smap.x_m, 12), random.choice(smap.y_m, 12), strict=True):
            x, y = x + random.uniform(-0.12, 0.12), y + random.uniform(-0.12, 0.12)
            browser.run(f"location.hash = '#tap={x},{y}&radius={radius}&depth={depth}'")
            browser.run("new Promise((done) => setTimeout(done, 10))")
            told, at = answer(browser), cell(smap, x, y)
            seen[told["state"]] += 1
            if smap.in_tolerance_zone[at]:
                assert told == {"state": "zone", "p": "", "mcse": ""}
                assert "the mark counts here, not the chance" in browser.text(".ut-answer")
                assert "%" not in browser.text(".ut-answer")
            elif np.isnan(smap.p[at]):
                assert told["state"] == "out"
                assert "out of bounds" in browser.text(".ut-answer")
            else:
                assert float(told["p"]) == pytest.approx(smap.p[at], abs=1e-5)
                assert float(told["mcse"]) == pytest.approx(smap.mcse[at], abs=1e-5)
                assert ut.chance_text(float(told["p"])) in browser.text(".ut-answer")
                assert "Monte Carlo error" in browser.text(".ut-answer")
    assert seen["chance"] > 8
    assert seen["zone"] + seen["out"] > 4
    assert not browser.complaints


def test_a_finger_gets_the_hole_of_the_buttons(browser, sampled, pages):
    browser.look(PHONE, touch=True)
    browser.open(pages["green"])
    browser.tap(120, 290)
    before = answer(browser)
    assert before["state"] == "chance"
    browser.run("document.querySelector('[data-choice=radius][data-value=\"0.6\"]').click()")
    after = answer(browser)
    assert float(after["p"]) > float(before["p"])
    link = browser.run("location.hash")
    x, y = (float(part) for part in link.split("tap=")[1].split("&")[0].split(","))
    smap = sampled["green"].strike_map(0.6, 0.45, 0.25)
    assert float(after["p"]) == pytest.approx(smap.p[cell(smap, x, y)], abs=1e-5)
    browser.open(pages["green"], link)
    assert answer(browser) == after


@pytest.mark.parametrize(("size", "touch"), [(PHONE, True), (DESK, False)])
@pytest.mark.parametrize("dark", [False, True])
def test_cautions_are_in_view_and_nothing_is_too_small(browser, pages, size, touch, dark):
    browser.look(size, dark=dark, touch=touch)
    browser.open(pages["green"], "#tap=12,6&radius=0.3&depth=0.45")
    first = "document.querySelector('.ut-cautions strong').getBoundingClientRect()"
    assert browser.run(f"{first}.top > 0 && {first}.bottom <= innerHeight && {first}.right <= innerWidth")
    assert all(caution in browser.text(".ut-cautions") for caution in ut.CAUTIONS)
    assert browser.run("document.documentElement.scrollWidth") <= size[0]
    browser.run("document.querySelectorAll('details').forEach((part) => { part.open = true; })")
    small = """[...document.querySelectorAll('button, summary, .ut-legend label, input[type=range], .leaflet-bar a')]
      .filter((one) => one.getBoundingClientRect().height < 40).map((one) => one.outerHTML)"""
    assert browser.run(small) == []
    fine = """[...document.querySelectorAll('.ut *')].filter((one) => one.childNodes.length
      && [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim())
      && !one.closest('svg') && parseFloat(getComputedStyle(one).fontSize) < 14).map((one) => one.outerHTML)"""
    assert browser.run(fine) == []
    paper, ink = browser.run(
        "(({ backgroundColor, color }) => [backgroundColor, color])(getComputedStyle(document.querySelector('.ut')))"
    )
    assert (sum(map(int, ink[4:-1].split(","))) > sum(map(int, paper[4:-1].split(",")))) == dark


def test_a_page_asks_for_nothing_and_breaks_no_rule_of_its_own(browser, pages):
    browser.look(DESK)
    browser.open(pages["green"])
    browser.tap(400, 300)
    assert browser.asked_for == []
    assert browser.complaints == []
    assert browser.run("fetch('data:text/plain,a').then(() => 'let through', () => 'refused')") == "refused"
    assert browser.complaints != []  # planted: the browser does tell when the policy is broken


def test_digs_are_listed_with_their_verdict(browser, sampled, pages):
    browser.look(DESK)
    browser.open(pages["green"])
    browser.run("document.querySelectorAll('details').forEach((part) => { part.open = true; })")
    listed = browser.text(".ut-digs")
    for row in sampled["green"].assess():
        assert row.dig in listed
        assert row.verdict in listed
    browser.run(
        "[...document.querySelectorAll('.ut-digs button')].find((one) => one.textContent === 'lamp-post').click()"
    )
    assert answer(browser)["state"] == "zone"
    assert "Dig lamp-post: in a tolerance zone" in browser.text(".ut-answer")


def test_layers_can_be_switched_and_marks_cannot(browser, pages):
    browser.look(PHONE)
    browser.open(pages["green"], "#layers=")
    bare = browser.picture()
    shown = browser.run("[...document.querySelectorAll('.ut-legend input')].map((box) => box.dataset.layer)")
    assert {"chance", "likely", "sampled", "heads", "digs"} <= set(shown)
    assert not {"marks", "barred"} & set(shown)
    assert "GAS" in browser.run(
        "[...document.querySelectorAll('.ut-word span:not([hidden])')].map((one) => one.textContent)"
    )
    pictures = {bare}
    for name in shown:
        browser.open(pages["green"], f"#layers={name}")
        pictures.add(browser.picture())
    assert len(pictures) == len(shown) + 1  # every layer changes the picture


def test_words_of_known_lines_and_digs_do_not_lie_on_each_other(browser, pages):
    browser.look(DESK)
    for link in ("", "#tap=12,6"):
        browser.open(pages["green"], link)
        browser.run("new Promise((done) => setTimeout(done, 50))")
        boxes = browser.run("""[...document.querySelectorAll('.ut-word span:not([hidden])')].map((one) =>
          (({ left, right, top, bottom }) => [one.textContent, left, right, top, bottom])(one.getBoundingClientRect()))""")
        assert {"GAS", "maple", "lamp-post"} <= {box[0] for box in boxes}
        met = [
            (a[0], b[0])
            for k, a in enumerate(boxes)
            for b in boxes[:k]
            if a[1] < b[2] and b[1] < a[2] and a[3] < b[4] and b[3] < a[4]
        ]
        assert met == []


def test_layouts_are_shown_one_by_one(browser, pages):
    browser.look(DESK)
    pictures = set()
    for draw in range(4):
        browser.open(pages["green"], f"#layers=sampled&draw={draw}")
        browser.run("document.querySelectorAll('details').forEach((part) => { part.open = true; })")
        assert "of 200 (4 are stored)" in browser.text(".ut-drawn")
        pictures.add(browser.picture())
    assert len(pictures) == 4


def test_classes_stay_apart_without_colour(browser, pages):
    """Every two rows of the legend differ in their drawing when colours are taken away: by dashes, widths, shapes or letters."""
    browser.look(DESK, grey=True)
    browser.open(pages["green"])
    drawn = browser.run("""[...document.querySelectorAll('.ut-look')].map((row) =>
      [row.querySelector('svg').innerHTML.replace(/(stroke|fill)="#[0-9a-f]+"/g, ''), row.innerText.trim()])""")
    kinds = [
        look for look, words in drawn if not words.startswith("metal line")
    ]  # cased as marks are, and named on the map
    assert len(drawn) > 10
    assert len(set(kinds)) == len(kinds)


def test_unconverged_layouts_say_so_in_the_head_the_answer_and_the_foot(browser, sampled, tmp_path):
    content = copy.deepcopy(content_of(sampled["green"], None, MAPS))
    content["converged"] = False
    browser.look(PHONE, touch=True)
    browser.open(Exploration(content).save(tmp_path / "page.html"), "#tap=12,6")
    for part in ("header", ".ut-answer", "footer"):
        assert "NOT CONVERGED" in browser.text(part)


def test_lengths_are_in_the_units_of_the_document(browser, sampled, pages):
    assert sampled["terrace"].site.units == "ft"
    browser.look(DESK)
    browser.open(pages["terrace"], "#tap=5,5")
    said = browser.text(".ut-hole")
    assert "x 16.4 ft, y 16.4 ft" in said
    assert " m " not in said
    assert "ft" in browser.text(".leaflet-control-scale-line")


def test_names_that_look_like_markup_are_shown_as_they_are(browser, tmp_path):
    document = ut.read_site(ut.example("bare")).to_dict()
    document["name"] = "<b onclick='x()'>lawn</b></script>"
    document["digs"][0]["id"] = "<img src=x>"
    page = ut.sample_layouts(ut.Site.from_dict(document), draws=50, seed=1).explore(
        tmp_path / "page.html", options=MAPS
    )
    browser.look(DESK)
    browser.open(page)
    assert browser.text("h1") == document["name"]
    assert browser.run("document.querySelectorAll('.ut img, .ut b').length") == 0
    assert "<img src=x>" in browser.run("document.querySelector('.ut-digs').textContent")
    assert browser.asked_for == []


def test_a_widget_asks_python_and_shows_its_answer_beside_the_stored_one(browser, pages):
    browser.look(DESK)
    browser.open(pages["green"])
    browser.run("""(() => {
      const kept = { content: JSON.parse(document.getElementById('underturf-content').textContent), answer: {} };
      const calls = {};
      window.model = { kept, get: (name) => kept[name], set: (name, value) => { kept[name] = value; },
        save_changes: () => { kept.saved = (kept.saved ?? 0) + 1; },
        on: (event, call) => { calls[event] = call; }, off: () => {} };
      window.reply = (answer) => { kept.answer = answer; calls['change:answer'](); };
      const box = document.createElement('div');
      document.body.replaceChildren(box);
      window.end = underturf.render({ model: window.model, el: box });
    })()""")
    browser.run("new Promise((done) => setTimeout(done, 100))")
    browser.tap(300, 300)
    hole = browser.run("window.model.kept.hole")
    assert set(hole) == {"x_m", "y_m", "radius_m", "depth_m"}
    assert browser.run("window.model.kept.saved") == 1
    stored = browser.text(".ut-answer")
    told = {"hole": hole, "known": None, "p": 0.0823, "mcse": 0.004, "upper95": 0.0911, "converged": True}
    browser.run(f"window.reply({json.dumps(told)})")
    assert "Exact for this hole: 8.2 %, up to 9.1 %" in browser.text(".ut-exact")
    assert browser.text(".ut-answer") == stored
    browser.run(f"window.reply({json.dumps({'hole': hole, 'error': 'no such hole'})})")
    assert "No exact answer: no such hole" in browser.text(".ut-exact")
    browser.run("window.end()")
    assert browser.complaints == []
