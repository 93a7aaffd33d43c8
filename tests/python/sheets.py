"""What the tests of the sheet for the crew share: plans, files and what they say."""

from __future__ import annotations

import re
from html.parser import HTMLParser

from matplotlib.figure import Figure

import underturf as ut
from underturf.crew.map import draw_map
from underturf.crew.plan import make_plan

EXAMPLES = ["green", "terrace", "bare"]


def plan_of(layouts, digs=None, probes=None, **changes):
    options = ut.SheetOptions(**{"date": "2026-05-06", **changes})
    return make_plan(layouts, digs, probes, options)


def said_on(pages):
    """All words on the pages."""
    return " ".join(mark.text for page in pages.pages for mark in page if mark.kind == "text")


class Reader(HTMLParser):
    """Text and tags of a file; every tag must be closed."""

    VOID = frozenset({"meta", "br", "col"})

    def __init__(self, text):
        super().__init__()
        self.words, self.tags, self.open, self.quiet = [], [], [], 0
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] != "style":
            self.words.append(data)

    @property
    def said(self):
        return " ".join(" ".join(self.words).split())


def legend_of(plan):
    """Words of the map's legend."""
    ax = Figure().add_subplot()
    return draw_map(ax, plan, plan.listed(None), labels=False)[1]


def labels_of(plan):
    """Labels on the map."""
    figure = Figure(figsize=(6, 6))
    ax = figure.add_subplot()
    draw_map(ax, plan, ())
    return {text.get_text() for text in ax.texts}


def html_of(layouts, tmp_path, digs=None, probes=None, **options):
    options = ut.SheetOptions(date="2026-05-06", **options)
    path = layouts.crew_sheet(tmp_path / "sheet.html", digs, probes, options=options)
    return path.read_text(encoding="utf-8")


def tapes_of(text):
    """Lengths and letters of a place."""
    return {letter: float(length) for letter, length in re.findall(r"\b([A-Z]) (\d+\.\d\d)", text)}
