"""Blocks set in lines of text for a given width: each block becomes strips that stay whole on a page. All lengths in inches.

Widths are measured on the font itself, so that no word runs out of its column.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from underturf.crew.blocks import Alarm, Block, Group, Heading, Items, Table, Text
from underturf.plotting import style
from underturf.plotting.names import drawable

__all__ = ["Columns", "Mark", "Strip", "column_widths", "text_width", "typeset", "wrap"]

#: The font of the sheet, which matplotlib brings along.
FONT = "DejaVu Sans"

#: Height of a line, in sizes of the font; points in an inch.
LEADING, POINTS = 1.3, 72.0

#: Colour of what alarms, of rules, and of every second row.
ALARM, RULE, SHADE = "#b3001b", "#b5b5b5", "#f2f2f0"

#: Screens and printers set letters on whole dots: lines come out this much wider at most (seen at 150 dots per inch).
SLACK = 1.035

#: Space between columns of a table, and between columns of text.
GUTTER, GAP = 0.09, 0.25


@dataclass(frozen=True)
class Mark:
    """Something to put on paper, relative to the upper left corner of its strip, y downward."""

    kind: str
    x: float
    y: float
    text: str = ""
    size: float = 0.0
    bold: bool = False
    colour: str = style.INK
    width: float = 0.0
    height: float = 0.0


@dataclass
class Strip:
    """Something that stays whole on a page.

    ``with_next``: stays with what follows. ``again``: is said again where what follows it runs on in another column.
    """

    height: float
    marks: list[Mark] = field(default_factory=list)
    with_next: bool = False
    again: bool = False


@dataclass
class Columns:
    """Rows that run on in columns side by side; the head stands over each column."""

    head: Strip
    rows: list[Strip]
    count: int
    width: float


@functools.cache
def advance(character: str, bold: bool) -> float:
    """Return how far a character moves the pen, in sizes of the font: between two others, so that blanks count."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family=FONT, size=100, weight="bold" if bold else "normal")
    frame, whole = (
        text_to_path.get_text_width_height_descent(t, font, ismath=False)[0]
        for t in ("||", f"|{drawable(character, (FONT,))}|")
    )
    return float(whole - frame) / 100


@functools.lru_cache(maxsize=100_000)
def word_width(word: str, bold: bool) -> float:
    """Return the width of a word in sizes of the font; pairs that are set closer are not looked at."""
    return sum(advance(character, bold) for character in word)


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Return the width of a line of text, inches."""
    return SLACK * word_width(text, bold) * size / POINTS


def wrap(text: str, width: float, size: float, bold: bool = False) -> list[str]:
    """Break text into lines no wider than that, at spaces; a word that is too wide is broken."""
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line, used, blank = "", 0.0, text_width(" ", size, bold)
        for word in paragraph.split(" "):
            wide = text_width(word, size, bold)
            if line and used + blank + wide <= width:
                line, used = f"{line} {word}", used + blank + wide
                continue
            if line:
                lines.append(line)
            line, used = word, wide
            while text_width(line, size, bold) > width and len(line) > 1:
                cut = max(k for k in range(1, len(line)) if k == 1 or text_width(line[:k], size, bold) <= width)
                lines.append(line[:cut])
                line = line[cut:]
                used = text_width(line, size, bold)
        lines.append(line)
    return lines


@functools.lru_cache(maxsize=2000)
def typeset(block: Block, width: float, size: float) -> tuple[Strip | Columns, ...]:
    """Set a block; the map and page breaks are the page's own business.

    Many layouts of a sheet are tried, and most of their blocks are the same: what was set is kept, and nobody changes it.
    """
    if isinstance(block, Heading):
        return (heading(block, width, size),)
    if isinstance(block, Text):
        return (Strip(*lines_of(block.text, width, size, bold=block.bold, below=0.3)),)
    if isinstance(block, Alarm):
        return (alarm(block, width, size),)
    if isinstance(block, Items) and block.columns > 1:
        narrow = (width - (block.columns - 1) * GAP) / block.columns
        return (Columns(Strip(0.0), list(items(block, narrow, size)), block.columns, narrow),)
    if isinstance(block, Items):
        return tuple(items(block, width, size))
    if isinstance(block, Table):
        return tuple(table(block, width, size))
    raise TypeError(f"{block!r} is not set in lines")


def lines_of(
    text: str, width: float, size: float, *, bold: bool = False, below: float = 0.0, x: float = 0.0
) -> tuple[float, list[Mark]]:
    """Return height and marks of a paragraph; ``below``: space after it, in lines."""
    step = LEADING * size / POINTS
    lines = wrap(text, width, size, bold)
    marks = [Mark("text", x, (k + 0.78) * step, line, size, bold) for k, line in enumerate(lines)]
    return (len(lines) + below) * step, marks


def heading(block: Heading, width: float, size: float) -> Strip:
    """Set a heading with a rule above."""
    step = LEADING * size / POINTS
    large = size * 1.15
    rule = Mark("rule", 0, 0.35 * step, width=width, size=0.8, colour=style.INK)
    return Strip(1.95 * step, [rule, Mark("text", 0, 1.55 * step, block.text, large, True)], with_next=True)


def alarm(block: Alarm, width: float, size: float) -> Strip:
    """Set a sentence in a frame."""
    large = size * 1.5
    step = LEADING * large / POINTS
    lines = wrap(block.text, width - 0.3, large, True)
    height = (len(lines) + 0.6) * step
    frame = Mark("frame", 0, 0.1 * step, width=width, height=height - 0.1 * step, size=1.6, colour=ALARM)
    marks = [Mark("text", 0.15, (k + 1.12) * step, line, large, True, ALARM) for k, line in enumerate(lines)]
    return Strip(height + 0.3 * step, [frame, *marks])


def items(block: Items, width: float, size: float) -> Sequence[Strip]:
    """Set a list: a box to tick or nothing, a term in bold, then its text."""
    strips = []
    step = LEADING * size / POINTS
    for term, text in block.items:
        indent = 1.5 * size / POINTS if block.boxes else 0.0
        marks = []
        if block.boxes:
            side = 0.85 * size / POINTS
            marks.append(Mark("frame", 0, 0.12 * step, width=side, height=side, size=0.7))
        height, lines = termed(term, text, width - indent, size)
        marks += [Mark(m.kind, m.x + indent, m.y, m.text, m.size, m.bold) for m in lines]
        strips.append(Strip(height + 0.2 * step, marks))
    return strips


def termed(term: str, text: str, width: float, size: float) -> tuple[float, list[Mark]]:
    """Set a term in bold and the text that follows on the same line."""
    if not term:
        return lines_of(text, width, size)
    step = LEADING * size / POINTS
    start = text_width(f"{term}: ", size, True)
    if start > 0.7 * width:
        above, marks = lines_of(f"{term}:", width, size, bold=True)
        height, rest = lines_of(text, width, size)
        return above + height, [*marks, *(Mark(m.kind, m.x, m.y + above, m.text, m.size, m.bold) for m in rest)]
    marks = [Mark("text", 0, 0.78 * step, f"{term}:", size, True)]
    words, first = text.split(" "), ""
    while words and text_width(f"{first} {words[0]}".strip(), size) <= width - start:
        first = f"{first} {words.pop(0)}".strip()
    marks.append(Mark("text", start, 0.78 * step, first, size))
    if not words:
        return step, marks
    height, rest = lines_of(" ".join(words), width, size)
    return step + height, [*marks, *(Mark(m.kind, m.x, m.y + step, m.text, m.size, m.bold) for m in rest)]


def table(block: Table, width: float, size: float) -> list[Strip | Columns]:
    """Set a table; its head is repeated where it runs on."""
    count = block.side_by_side if len(block.rows) > block.side_by_side else 1
    if block.side_by_side > 1:
        width = (width - (block.side_by_side - 1) * GAP) / block.side_by_side
    widths = column_widths(block, width, size)
    head = row_strip(block.head, widths, size, bold=True)
    head.marks.append(Mark("rule", 0, head.height - 0.01, width=width, size=0.6, colour=style.INK))
    head.with_next = True
    rows: list[Strip] = []
    grouped = shaded = False
    for row in block.rows:
        if isinstance(row, Group):
            height, marks = lines_of(row.text, width, size, bold=True, below=0.1)
            gap = 0.25 * LEADING * size / POINTS
            moved = [Mark(m.kind, m.x, m.y + gap, m.text, m.size, m.bold) for m in marks]
            if rows:
                rows[-1].with_next = False
            rows.append(Strip(height + gap, moved, with_next=True, again=True))
            grouped, shaded = True, False
            continue
        strip = row_strip(row, widths, size)
        if shaded:
            strip.marks.insert(0, Mark("shade", 0, 0, width=width, height=strip.height, colour=SHADE))
        shaded = not shaded
        strip.with_next = grouped
        rows.append(strip)
    if rows:
        rows[-1].with_next = False
    return [Columns(head, rows, count, width)]


def column_widths(block: Table, width: float, size: float) -> list[float]:
    """Divide a width among columns: what each needs, and if that is too much, its longest word and a share of the rest."""
    cells = [block.head, *(row for row in block.rows if not isinstance(row, Group))]
    bold = [True] + [False] * (len(cells) - 1)
    count = len(block.head)
    free = width - GUTTER * (count - 1)

    def widest(k: int, part: Any) -> float:
        return max(
            (text_width(word, size, b) for row, b in zip(cells, bold, strict=True) for word in part(row[k])),
            default=0.0,
        )

    natural = [widest(k, lambda cell: cell.split("\n")) for k in range(count)]
    if sum(natural) <= free:
        if block.wide is not None:
            natural[block.wide] += free - sum(natural)
        return natural
    least = [min(widest(k, str.split), free / count) for k in range(count)]
    spare = free - sum(least)
    # By the root, or the longest sentence leaves nothing to the others.
    wanted = [max(n - m, 0.0) ** 0.5 for n, m in zip(natural, least, strict=True)]
    return [m + spare * w / max(sum(wanted), 1e-9) for m, w in zip(least, wanted, strict=True)]


def row_strip(row: Sequence[str], widths: Sequence[float], size: float, *, bold: bool = False) -> Strip:
    """Set one row."""
    x, height, marks = 0.0, 0.0, []
    for cell, width in zip(row, widths, strict=True):
        # An empty cell leaves its room to the one before it: a refusal is longer than a tape.
        tall, lines = lines_of(cell, width + 1e-6, size, bold=bold, x=x)
        height = max(height, tall)
        marks += lines
        x += width + GUTTER
    pad = 0.12 * LEADING * size / POINTS
    return Strip(height + 2 * pad, [Mark(m.kind, m.x, m.y + pad, m.text, m.size, m.bold) for m in marks])
