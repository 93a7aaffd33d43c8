"""The sheet for the crew: how many pages it takes, and what stays together on them."""

from __future__ import annotations

import re

import numpy as np
import pytest
from sheets import EXAMPLES, Reader, html_of, plan_of, said_on

import underturf as ut
from underturf.crew.columns import dealt
from underturf.crew.html import html
from underturf.crew.map import limits
from underturf.crew.pages import Pages, fitted
from underturf.crew.typeset import Columns, Strip, text_width, wrap
from underturf.crew.words import IF_HIT


def page_count(path):
    return len(re.findall(rb"/Type /Page\b", path.read_bytes()))


@pytest.mark.parametrize("name", EXAMPLES)
def test_pdf_has_at_most_two_pages(sampled, name, tmp_path):
    path = sampled[name].crew_sheet(tmp_path / "sheet.pdf")
    assert 1 <= page_count(path) <= 2


def test_sixty_heads_still_take_two_pages_and_say_what_is_left_out(tmp_path):
    heads = [
        {"id": f"h{i}-{j}", "x": 4.0 * i, "y": 4.0 * j, "zone": str(1 + i // 2)} for i in range(10) for j in range(6)
    ]
    boxes = [{"id": f"v{k}", "x": 2.0 + 8.0 * k, "y": -1.0, "zones": [str(k + 1)]} for k in range(5)]
    digs = [{"id": f"tree {k}", "x": 3.0 + 5.1 * k, "y": 5.0 + 2 * k, "radius": 0.5, "depth": 0.4} for k in range(6)]
    document = {"format": "underturf-site/1", "units": "ft", "heads": heads, "valve_boxes": boxes, "digs": digs}
    document["sources"] = [{"id": "bf", "x": -1.0, "y": -1.0, "kind": "backflow"}]
    document["boundary"] = [[-2, -2], [40, -2], [40, 24], [-2, 24]]
    for key in ("heads", "valve_boxes", "sources", "digs"):
        for item in document[key]:
            item["x"], item["y"] = item["x"] / 0.3048, item["y"] / 0.3048
    for dig in digs:
        dig["radius"], dig["depth"] = 1.6, 1.3
    document["boundary"] = [[x / 0.3048, y / 0.3048] for x, y in document["boundary"]]
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=5)
    path = layouts.crew_sheet(tmp_path / "sheet.pdf")
    assert page_count(path) == 2
    plan = plan_of(layouts)
    pages = fitted(plan, annex=False)
    said = said_on(pages)
    left = len(plan.stakes) - len(plan.listed(pages.most))
    assert left > 0
    assert f"Not listed: {left} of {len(plan.stakes)} stakes" in said
    assert len(fitted(plan, annex=True).pages) > 2
    assert (
        "off at the controller and at the backflow assembly (S1 backflow assembly bf)"
        in Reader(html_of(layouts, tmp_path)).said
    )


@pytest.mark.parametrize("tool", [None, {}, {"shift_m": 1.5, "cell_m": 0.5}])
def test_as_many_stakes_are_listed_as_two_pages_hold(sampled, tool):
    layouts = sampled["green"]
    probes = None if tool is None else layouts.plan_probes(n=4, options=ut.ProbeOptions(always=True, **tool))
    plan = plan_of(layouts, probes=probes)
    pages = fitted(plan, annex=False)
    assert len(pages.pages) == 2
    near, listed = plan.listed(None), plan.listed(pages.most)
    said = said_on(pages).replace("\u00a0", " ")
    if len(listed) < len(near):
        assert len(pages.again(len(listed) + 1).pages) > 2
        assert "further away than those listed (there is no room for all)" in said
    else:
        assert "further than 3.00 m from every spot and probe" in said
    assert len(listed) > 20
    assert f"Not listed: {len(plan.stakes) - len(listed)} of {len(plan.stakes)} stakes" in said
    # No hole at the end of the first page.
    assert max(mark.y for mark in pages.pages[0]) > pages.bottom - 0.8


@pytest.mark.parametrize("name", EXAMPLES)
def test_what_to_do_when_a_line_is_hit_is_on_one_page(sampled, name):
    plan = plan_of(sampled[name])
    wanted = ["If a line is hit", *(f"{term}:" for term, _ in IF_HIT if len(term) < 20), "until its owner has said"]
    for height in (3.4, 4.0, 4.4, 4.8, 5.2, 5.8):
        pages = Pages(plan, 8.0, None, height)
        words = [" ".join(mark.text for mark in page if mark.kind == "text") for page in pages.pages]
        assert sum(all(part in said for part in wanted) for said in words) == 1
        assert '<div class="together"><h2>If a line is hit</h2>' in html(pages, annex=False)


@pytest.mark.parametrize("name", ["green", "terrace"])
@pytest.mark.parametrize("step_m", [2.0, 0.7])
def test_stakes_of_a_line_stay_together_where_a_column_holds_them(sampled, name, step_m):
    plan = plan_of(sampled[name], step_m=step_m)
    pages = fitted(plan, annex=True)
    assert len(pages.pages) > 2
    columns = {}
    for number, page in enumerate(pages.pages):
        # The annex alone: the stakes before it are on the second page.
        start = min((mark.y for mark in page if mark.text.startswith("Annex")), default=0.0 if number > 1 else np.inf)
        for mark in page:
            if mark.y > start and (found := re.fullmatch(r"(L\d+)\.\d+", mark.text)):
                columns.setdefault(found[1], set()).add((number, round(mark.x, 2)))
    assert len(columns) > 10
    assert all(len(places) == 1 for places in columns.values())


def test_headings_are_on_the_page_of_what_they_head(tmp_path):
    heads = [{"id": f"h{k}", "x": 12.0 * k, "y": 0.5 * k, "zone": "1"} for k in range(4)]
    document = {"format": "underturf-site/1", "units": "ft", "heads": heads}
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=2)
    pages = fitted(plan_of(layouts), annex=False)
    words = [{mark.text for mark in page} for page in pages.pages]
    assert len(words) == 2
    # One line whose stakes stay together and fill more than what is left of the first page.
    (page,) = (number for number, said in enumerate(words) if "L1.1" in said)
    assert "Stakes on likely lines" in words[page]


def strips(lengths):
    """Rows of one inch: a title and so many rows for each."""
    rows = []
    for length in lengths:
        rows.append(Strip(1.0, with_next=True, again=True))
        rows += [Strip(1.0, with_next=k < length - 1) for k in range(length)]
    return rows


def test_rows_are_dealt_out_whole_unless_no_column_holds_them():
    parts, left = dealt(Columns(Strip(0.0), strips([3, 2, 4]), 2, 1.0), 8.0, 20.0)
    assert [len(part) for part in parts] == [7, 5]
    assert left == []
    # The last does not fit in what is left, but on a page of its own.
    parts, left = dealt(Columns(Strip(0.0), strips([3, 3, 9]), 2, 1.0), 5.0, 20.0)
    assert [len(part) for part in parts] == [4, 4]
    assert len(left) == 10
    # No page holds it: its title is said again.
    parts, left = dealt(Columns(Strip(0.0), strips([12]), 2, 1.0), 5.0, 5.0)
    assert [len(part) for part in parts] == [5, 5]
    assert parts[1][0].again
    assert len(left) == 5
    assert left[0].again


def test_a_building_beyond_the_boundary_leaves_room_for_the_map(sampled):
    plan = plan_of(sampled["terrace"])
    _, (low, high) = limits(plan)
    assert -20 < low < -5  # the building reaches to -26
    assert high > 76
    pages = fitted(plan, annex=False)
    assert len(pages.pages) <= 2
    assert pages.frame.wide > 3.0
    # What stands beside the map is neither on it, nor on the legend, nor off the paper, nor said again below.
    assert pages.beside
    column = [mark for mark in pages.pages[0] if mark.x >= 0.5 + pages.frame.column_x - 1e-6 and mark.kind == "text"]
    column = [mark for mark in column if mark.y < pages.map_y + pages.frame.height]
    assert min(mark.y for mark in column) > pages.map_y + pages.frame.column_y
    assert pages.frame.column_x > 0.4 + pages.frame.wide
    assert said_on(pages).count("Before digging") == 1
    assert '<div class="beside"' in html(pages, annex=False)


def test_nothing_runs_off_the_paper(sampled):
    for layouts in sampled.values():
        pages = fitted(plan_of(layouts), annex=True)
        for page in pages.pages:
            for mark in page:
                if mark.kind == "text":
                    right = mark.x + text_width(mark.text, mark.size, mark.bold)
                    assert right <= pages.width - 0.3
                    assert 0.3 <= mark.y <= pages.bottom + 0.02


def test_lines_are_no_wider_than_their_column():
    text = "one two " + "x" * 90 + " three"
    lines = wrap(text, 1.5, 8.0)
    assert max(text_width(line, 8.0) for line in lines) <= 1.5
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_png_shows_both_pages(sampled, tmp_path):
    from matplotlib.image import imread

    picture = imread(sampled["green"].crew_sheet(tmp_path / "sheet.png"))
    height, width, _ = picture.shape
    pages = height / width / (11.69 / 8.27)
    assert abs(pages - round(pages)) < 0.01
    assert 1 <= round(pages) <= 2
    ink = (picture < 0.97).any(axis=2).mean()
    assert 0.03 < ink < 0.6


@pytest.mark.parametrize("name", EXAMPLES)
def test_wide_tables_can_become_lists_on_a_telephone(sampled, name):
    # Would catch: cells that lose their heading where a narrow screen has no room for the head of the table.
    plan = plan_of(sampled[name])
    tags = Reader(html(fitted(plan, annex=False), annex=False)).tags
    heads = [attributes["data-head"] for tag, attributes in tags if tag == "td" and "data-head" in attributes]
    assert heads[:5] == ["no.", "spot", "chance of a strike", "by class", "what to do"]
    assert len(heads) == 5 * len(plan.digs)
    assert [attributes for tag, attributes in tags if tag == "div" and attributes.get("class") == "picture"]


def test_a_legend_of_long_names_takes_fewer_columns():
    # Would catch: a legend that runs off the paper.
    zone = "the long bed behind the garage, part {}"
    heads = [{"id": f"h{k}", "x": 3.0 * k, "y": 0.1 * k, "zone": zone.format(k // 3)} for k in range(9)]
    boxes = [{"id": f"b{k}", "x": 9.0 * k, "y": 2.0, "zones": [zone.format(k)]} for k in range(3)]
    document = {"format": "underturf-site/1", "units": "m", "heads": heads, "valve_boxes": boxes}
    document["boundary"] = [[-1, -1], [25, -1], [25, 3], [-1, 3]]
    plan = plan_of(ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=2))
    pages = fitted(plan, annex=False)
    assert pages.frame.under
    assert pages.frame.columns < 3
    (legend,) = pages.figure(0).legends
    box = legend.get_window_extent()
    assert box.x0 / 150 >= 0.5
    assert box.x1 / 150 <= pages.width - 0.5
    assert pages.figure(0).legends[0]._ncols == pages.frame.columns
