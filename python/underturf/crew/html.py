"""The sheet as one HTML file: no other file, no script; all text of the user escaped; prints on letter or A4."""

from __future__ import annotations

import io
import re
from html import escape

from underturf.crew.blocks import Alarm, Block, Group, Heading, Items, Table, Text, Together
from underturf.crew.content import footer, title
from underturf.crew.frame import map_figure
from underturf.crew.pages import FOOT, Pages, paper_of
from underturf.crew.typeset import column_widths

__all__ = ["html"]

STYLE = """
@page { size: %(paper)s; margin: 11mm 12mm 11mm 12mm; @bottom-right { content: "page " counter(page) " of " counter(pages);
        font: 7pt sans-serif; } }
body { font: %(size)gpt/1.3 "DejaVu Sans", Verdana, sans-serif; color: #1f1f1f; margin: 0 auto; max-width: %(width)gin;
       overflow-wrap: anywhere; }
h1 { font-size: 1.7em; margin: 0 0 0.1em; }
h2 { font-size: 1.15em; margin: 0.5em 0 0.2em; padding-top: 0.15em; border-top: 0.8pt solid #1f1f1f; break-after: avoid; }
p { margin: 0 0 0.35em; break-inside: avoid; }
svg { display: block; width: 100%%; height: auto; }
.picture { overflow-x: auto; }
.map { display: grid; break-inside: avoid; }
.map .picture { grid-area: 1 / 1 / 2 / 3; }
.map .beside { grid-area: 1 / 2 / 2 / 3; }
.alarm { color: #b3001b; border: 1.6pt solid #b3001b;
         font-size: 1.5em; font-weight: bold; padding: 0.3em 0.5em; margin: 0.2em 0; }
.many { column-count: 2; column-gap: 0.25in; }
.together { break-inside: avoid; }
ul { list-style: none; margin: 0; padding: 0; }
ul.two { column-count: 2; column-gap: 0.25in; break-inside: avoid; }
li { margin-bottom: 0.2em; break-inside: avoid; }
ul.boxes li { padding-left: 1.5em; position: relative; }
ul.boxes li::before { content: ""; position: absolute; left: 0; top: 0.22em; width: 0.8em; height: 0.8em;
                    border: 0.7pt solid #1f1f1f; }
table.data { border-collapse: collapse; width: 100%%; margin-bottom: 0.5em; }
.data th { text-align: left; vertical-align: bottom; border-bottom: 0.6pt solid #1f1f1f; padding: 0.1em 0.7em 0.1em 0;
           overflow-wrap: normal; }
.data td { vertical-align: top; padding: 0.12em 0.7em 0.12em 0; overflow-wrap: anywhere; }
.data tr { break-inside: avoid; }
table.half { width: 50%%; }
.grouped tbody { break-inside: avoid; }
.data tr.odd td { background: #f2f2f0; }
.data tr.group td { font-weight: bold; padding-top: 0.35em; break-after: avoid; }
.many table.data td, .many table.data th { white-space: nowrap; }
.many table.data td.words, .many table.data tr.group td { white-space: normal; }
table.sheet { border-collapse: collapse; width: 100%%; table-layout: fixed; }
table.sheet > tbody > tr > td, table.sheet > tfoot > tr > td { padding: 0; }
.foot { font-size: %(foot)gpt; border-top: 0.4pt solid #b5b5b5; padding: 0.3em 6em 0 0; margin-top: 0.4em; }
@media print { * { print-color-adjust: exact; -webkit-print-color-adjust: exact; } }
@media screen { body { padding: 0.4in; } }
@media screen and (max-width: %(width)gin) { .map { display: block; } .map .beside { padding-top: 0 !important; } }
@media screen and (max-width: 6in) {
  body { padding: 0.12in; font-size: 10pt; }
  .picture svg { min-width: %(least)gin; }
  .many, ul.two { column-count: 1; }
  table.half { width: 100%%; }
  .many table.data { font-size: 7.8pt; }
  .many table.data td, .many table.data th { white-space: normal; padding-right: 0.25em; }
  .stack thead { display: none; }
  .stack, .stack tbody, .stack tr, .stack td { display: block; }
  .stack tr { padding: 0.25em 0; border-bottom: 0.4pt solid #b5b5b5; }
  .stack td::before { content: attr(data-head) ": "; font-weight: bold; }
  .foot { font-size: 9pt; padding-right: 0; }
}
"""


def html(pages: Pages, *, annex: bool) -> str:
    """Write the sheet that these pages hold as HTML.

    Parameters
    ----------
    pages : Pages
        The laid-out sheet: it says how many stakes there is room for, how high the map is, how large the text.
    annex : bool
        Whether the other stakes follow.

    Returns
    -------
    str
    """
    plan = pages.plan
    width, _, paper = paper_of(plan)
    # On a telephone the picture keeps its letters legible and is moved sideways: map first, a legend beside it after.
    least = 5.0 if pages.frame.under else width - 1.5
    style = STYLE % {"paper": paper, "size": pages.size, "width": width - 1, "foot": FOOT, "least": least}
    large, below = title(plan)
    if annex:
        pages = pages.again(pages.most, annex=True)
    parts = [block_html(block, pages) for block in pages.above]
    parts.append(map_html(pages))
    parts += [block_html(block, pages) for block in pages.below]
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en"><head><meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escape(large)}</title><style>{style}</style></head><body>",
            '<table class="sheet"><tbody><tr><td>',
            f"<h1>{escape(large)}</h1><p>{escape(below)}</p>",
            *parts,
            f'</td></tr></tbody><tfoot><tr><td><div class="foot">{escape(footer(plan))}</div></td></tr></tfoot></table>',
            "</body></html>",
            "",
        ]
    )


def map_html(pages: Pages) -> str:
    """Return the map, and beside it what has room there; where that needs more room in a browser, the map's row grows."""
    if not pages.beside:
        return picture(pages)
    column = "".join(block_html(block, pages) for block in pages.beside)
    top = f"{pages.frame.column_y:.2f}in"
    share = f"{100 * pages.frame.column_x / pages.inner:.2f}%"
    return (
        f'<div class="map" style="grid-template-columns: {share} 1fr">{picture(pages)}'
        f'<div class="beside" style="padding-top: {top}">{column}</div></div>'
    )


def picture(pages: Pages) -> str:
    """Return the map as an SVG element."""
    import matplotlib as mpl

    stream = io.StringIO()
    with mpl.rc_context({"svg.hashsalt": "underturf", "svg.fonttype": "path"}):
        figure = map_figure(pages.plan, pages.listed, pages.frame, pages.inner)
        figure.savefig(stream, format="svg", metadata={"Date": None, "Creator": None})
    text = stream.getvalue()
    # The element alone, without the head of an XML file; its metadata name addresses elsewhere.
    element = text[text.index("<svg") :]
    element = re.sub(r"<metadata>.*?</metadata>", "", element, flags=re.DOTALL)
    element = element.replace("<svg ", '<svg role="img" aria-label="map of the site" ', 1)
    return f'<div class="picture">{element}</div>'


def block_html(block: Block, pages: Pages) -> str:
    """Write one block."""
    if isinstance(block, Heading):
        return f"<h2>{escape(block.text)}</h2>"
    if isinstance(block, Text):
        inner = escape(block.text)
        return f"<p><b>{inner}</b></p>" if block.bold else f"<p>{inner}</p>"
    if isinstance(block, Alarm):
        return f'<p class="alarm">{escape(block.text)}</p>'
    if isinstance(block, Items):
        rows = (f"<b>{escape(term)}:</b> {escape(text)}" if term else escape(text) for term, text in block.items)
        kind = ("boxes" if block.boxes else "plain") + (" two" if block.columns > 1 else "")
        return f'<ul class="{kind}">' + "".join(f"<li>{row}</li>" for row in rows) + "</ul>"
    if isinstance(block, Table):
        return table_html(block, pages)
    if isinstance(block, Together):
        return '<div class="together">' + "".join(block_html(part, pages) for part in block.blocks) + "</div>"
    raise TypeError(f"{block!r} is placed by its page")


def table_html(block: Table, pages: Pages) -> str:
    """Write a table; one that is as wide as the page has the columns that it has on paper."""
    head = "".join(f"<th>{cell_html(cell)}</th>" for cell in block.head)
    # Wide tables become a list on a narrow screen, each cell with its heading.
    stacked = block.side_by_side == 1
    bodies: list[list[str]] = [[]]
    odd = False
    for row in block.rows:
        if isinstance(row, Group):
            bodies.append([f'<tr class="group"><td colspan="{len(block.head)}">{escape(row.text)}</td></tr>'])
            odd = False
            continue
        named = zip(row, block.head, strict=True)
        cells = "".join(cell_with(cell, head if stacked else None) for cell, head in named)
        bodies[-1].append(f'<tr class="odd">{cells}</tr>' if odd else f"<tr>{cells}</tr>")
        odd = not odd
    body = "".join(f"<tbody>{''.join(rows)}</tbody>" for rows in bodies if rows)
    # A browser would set head and body of one group side by side.
    side_by_side = block.side_by_side > 1 and (len(bodies) != 2 or bool(bodies[0]))
    kind = (" grouped" if len(bodies) > 1 else "") + (" stack" if stacked else "")
    kind += " half" if block.side_by_side > 1 and not side_by_side else ""
    columns = ""
    if stacked:
        widths = column_widths(block, pages.inner, pages.size)
        columns = "".join(f'<col style="width: {100 * width / sum(widths):.1f}%">' for width in widths)
        columns = f"<colgroup>{columns}</colgroup>"
    table = f'<table class="data{kind}">{columns}<thead><tr>{head}</tr></thead>{body}</table>'
    return f'<div class="many">{table}</div>' if side_by_side else table


def cell_with(cell: str, head: str | None) -> str:
    """Write a cell of a table, with its heading where the table may become a list."""
    long = ' class="words"' if len(cell) > 40 else ""
    name = "" if head is None else f' data-head="{escape(head)}"'
    return f"<td{long}{name}>{cell_html(cell)}</td>"


def cell_html(cell: str) -> str:
    """Write a cell; its lines stay lines."""
    return "<br>".join(escape(line) for line in cell.split("\n"))
