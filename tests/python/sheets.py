"""What the tests of the sheet for the crew share: plans, files and what they say."""

from __future__ import annotations

import functools
import html as markup
import re
from dataclasses import dataclass
from html.parser import HTMLParser

import pypdfium2
import pypdfium2.raw as pdfium
from matplotlib.figure import Figure

import underturf as ut
from underturf.crew import browser, paper
from underturf.crew.drawing.map import draw_map
from underturf.crew.plan import make_plan
from underturf.crew.sheet import sheet_data

EXAMPLES = ["green", "terrace", "bare"]

#: Things that are kept: enough for what one file of tests makes.
KEPT = 16


def once(make):
    """Make of a thing once what several tests look at, and nobody changes; the things made last are kept."""
    kept = {}

    @functools.wraps(make)
    def made(thing, *more):
        key = (id(thing), *map(repr, more))
        if key not in kept:
            if len(kept) >= KEPT:
                del kept[next(iter(kept))]
            kept[key] = thing, make(thing, *more)  # a thing that is kept shares its number with no other
        return kept[key][1]

    return made


def plan_of(layouts, digs=None, probes=None, **changes):
    options = ut.SheetOptions(**{"date": "2026-05-06", **changes})
    return _plan(layouts, options) if digs is None and probes is None else make_plan(layouts, digs, probes, options)


@once
def _plan(layouts, options):
    return make_plan(layouts, None, None, options)


@once
def data_of(plan, text_as="none"):
    """Everything that the sheet of a plan says and shows."""
    return sheet_data(plan, text_as=text_as)


@once
def pdf_of(plan):
    return paper.pdf(data_of(plan))


@once
def browser_of(plan):
    return browser.html(data_of(plan, "path"))


@dataclass
class Page:
    """A page of a PDF: size in points, its words, and every letter with its size and box (left, right, bottom, top)."""

    width: float
    height: float
    said: str
    letters: list[tuple[str, float, tuple[float, float, float, float]]]


@once
def pages_of(pdf):
    """Read a PDF back, with a library that has nothing to do with the one that wrote it."""
    found = []
    for page in pypdfium2.PdfDocument(pdf):
        text = page.get_textpage()
        matrix = pdfium.FS_MATRIX()
        letters = []
        for k in range(text.count_chars()):
            character = chr(pdfium.FPDFText_GetUnicode(text, k))
            if character.isspace() or pdfium.FPDFText_IsGenerated(text, k) == 1 or character in "\u200b\ufffe":
                continue
            pdfium.FPDFText_GetMatrix(text, k, matrix)
            scale = abs(matrix.a * matrix.d - matrix.b * matrix.c) ** 0.5
            left, bottom, right, top = text.get_charbox(k)
            letters.append((character, pdfium.FPDFText_GetFontSize(text, k) * scale, (left, right, bottom, top)))
        found.append(Page(*page.get_size(), spaced(text.get_text_range()), letters))
    return found


def spaced(text):
    """A text without the breaks that only serve its setting: every blank is one, and long names are whole."""
    return " ".join(re.sub("[\u200b\ufffe\u0002]", "", text).split())


def close(text):
    """A text without blanks and hyphens: lines are broken there where a column ends, and readers of PDF drop such hyphens."""
    return re.sub(r"[-\s\u200b\ufffe\u0002]", "", text)


def said_on(pdf):
    """All words of a PDF."""
    return " ".join(page.said for page in pages_of(pdf))


def cells_of(data):
    """Every text of a sheet's data: of headings, items, tables and legends."""
    if isinstance(data, dict):
        told = (data.get(key) for key in ("text", "title", "subtitle", "term", "footer"))
        yield from (text for text in told if isinstance(text, str))
        for value in data.values():
            yield from cells_of(value)
    elif isinstance(data, list):
        for value in data:
            yield from cells_of(value)


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


def drawings_of(plan):
    """The data of the map of page 1, and that of the detail maps."""
    blocks = data_of(plan)["blocks"]
    first = next(block for block in blocks if block["kind"] == "map")
    (details,) = (block for block in blocks if block["kind"] == "details")
    return first, details


def words_on(*drawings):
    """Every word of drawings, from their SVG."""
    return {markup.unescape(word) for drawing in drawings for word in re.findall(r">([^<>]+)</text>", drawing["svg"])}


def legend_of(plan):
    """Words of the map's legend."""
    ax = Figure().add_subplot()
    return draw_map(ax, plan, plan.listed, labels=False)[1]


def labels_of(plan, inches=7.3, listed=()):
    """Labels on the map."""
    figure = Figure(figsize=(inches, inches))
    ax = figure.add_subplot()
    draw_map(ax, plan, listed)
    return {text.get_text() for text in ax.texts}


def html_of(layouts, digs=None, probes=None, **options):
    return browser_of(plan_of(layouts, digs, probes, **options))


def tapes_of(text):
    """Lengths and letters of a place."""
    return {letter: float(length) for letter, length in re.findall(r"\b([A-Z]) (\d+\.\d\d)", text)}
