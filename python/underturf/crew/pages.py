"""The sheet on paper: blocks flow over pages of US letter (feet) or A4 (metres), drawn with matplotlib (extra ``plot``)."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING

from underturf.crew.blocks import Block, Heading, Items, Map, Table, Together
from underturf.crew.columns import dealt, height_of, least_height
from underturf.crew.content import content, footer, title
from underturf.crew.frame import Frame, framed, greatest_height, map_into
from underturf.crew.typeset import FONT, GAP, LEADING, POINTS, Columns, Mark, Strip, text_width, typeset, wrap
from underturf.plotting import style
from underturf.plotting.names import drawable

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from underturf.crew.plan import Plan, Stake

__all__ = ["PAPER", "Pages", "fitted", "paper_of"]

#: Inches: width and height of the paper by the document's unit, and its name in style sheets.
PAPER = {"ft": (8.5, 11.0, "letter"), "m": (8.27, 11.69, "A4")}

#: Inches: margin all round; least and usual height of the map with its legend.
MARGIN, LEAST_MAP, USUAL_MAP = 0.5, 3.4, 4.6

#: Size of the cautions at the foot of every page, points.
FOOT = 7.0

#: Sizes of text that are tried, points, and pages that the sheet should not pass.
SIZES, MOST_PAGES = (8.0, 7.5, 7.0, 6.5), 2

#: In how well a sheet can be read, beside the width of the map: power of the size of text, weight of an empty share of page 1.
TEXT_WEIGHT, HOLE_WEIGHT = 1.5, 0.5

#: Sections that may stand beside the map, below its legend: what to do before digging, and if a line is hit.
BESIDE = 2


def paper_of(plan: Plan) -> tuple[float, float, str]:
    """Return width, height (inches) and name of the paper."""
    return PAPER[plan.units]


class Pages:
    """Pages under way.

    Parameters
    ----------
    plan : Plan
        What the sheet tells.
    size : float
        Size of text, points.
    most : int or None
        How many stakes to list.
    map_height : float, optional
        Height for the map with its legend, inches; as much as leaves no hole on the first page.
    beside : int
        How many of the sections that may stand beside the map do.
    annex : bool
        Whether the others follow.
    """

    def __init__(
        self,
        plan: Plan,
        size: float,
        most: int | None,
        map_height: float | None = None,
        beside: int = 0,
        *,
        annex: bool = False,
    ) -> None:
        self.plan, self.size, self.most, self.count = plan, size, most, beside
        self.width, self.height, _ = paper_of(plan)
        self.inner = self.width - 2 * MARGIN
        self.foot = wrap(footer(plan), self.inner - 0.9, FOOT)
        self.bottom = self.height - MARGIN - len(self.foot) * LEADING * FOOT / POINTS - 0.08
        self.pages: list[list[Mark]] = [[]]
        self.y = MARGIN
        #: What is left empty at the end of the first page where a second follows, inches.
        self.hole = 0.0
        self.heading()
        self.above, self.beside, self.below = parted(content(plan, most, annex=annex), beside)
        for block in self.above:
            self.put_block(block)
        self.heights = self.map_heights(self.below)
        frame = self.framed(self.heights[-1] if map_height is None else map_height)
        #: Whether what is to stand beside the map has room there.
        self.holds = frame is not None
        self.frame = frame or Frame(USUAL_MAP, 1.0)
        self.map_y = self.y
        self.put_beside()
        self.y += self.frame.height + 0.05
        for section in sections(self.below):
            self.put_section(section)

    # where things go

    def heading(self) -> None:
        """Write title and subtitle."""
        large, below = title(self.plan)
        for text, size, bold in ((large, self.size * 1.5, True), (below, self.size, False)):
            for line in wrap(text, self.inner, size, bold):
                self.y += LEADING * size / POINTS
                self.pages[0].append(Mark("text", MARGIN, self.y - 0.3 * size / POINTS, line, size, bold))
        self.y += 0.06

    def map_heights(self, rest: list[Block]) -> list[float]:
        """Return heights of the map that leave no hole at the end of the first page, the greatest first.

        Each lets the page end with one of the sections that follow; spots and what to do before digging are on it always.
        """
        most = greatest_height(self.plan, self.inner, column=bool(self.beside))
        left = self.bottom - self.y - 0.1
        heights: list[float] = []
        for section in sections(rest):
            left -= sum(self.height_of(block) for block in section)
            if self.beside or heights or any(isinstance(block, Items) for block in section):
                heights.append(min(left, most))
        return sorted({height for height in heights if height >= LEAST_MAP}, reverse=True) or [min(USUAL_MAP, most)]

    def framed(self, height: float) -> Frame | None:
        """Return the place of map, legend and what stands beside; nothing if that has no room."""
        return framed(self.plan, self.inner, height, self.column_height if self.beside else None)

    def column_height(self, width: float) -> float:
        """Return the height of what stands beside the map, in a column of that width."""
        return sum(
            strip.height
            for block in self.beside
            for strip in typeset(block, width, self.size)
            if isinstance(strip, Strip)
        )

    def put_beside(self) -> None:
        """Put what stands beside the map below its legend."""
        if not self.beside or not self.holds:
            return
        top, self.y = self.y, self.y + self.frame.column_y
        for block in self.beside:
            for strip in typeset(block, self.inner - self.frame.column_x, self.size):
                if isinstance(strip, Strip):
                    self.put(strip, MARGIN + self.frame.column_x)
                    self.y += strip.height
        self.y = top

    def height_of(self, block: Block) -> float:
        """Return the height of a block on one page."""
        if isinstance(block, Together):
            return sum(self.height_of(part) for part in block.blocks)
        strips = typeset(block, self.inner, self.size)
        return sum(
            strip.height if isinstance(strip, Strip) else height_of(strip, self.bottom - MARGIN) + self.gap
            for strip in strips
        )

    @property
    def gap(self) -> float:
        """Space below a table."""
        return 0.5 * LEADING * self.size / POINTS

    def put_section(self, section: list[Block]) -> None:
        """Put a section on pages: whole where it has no table, else its heading and words with the first rows of the table."""
        leads = 0.0
        for block in section:
            if isinstance(block, Table):
                (columns,) = typeset(block, self.inner, self.size)
                if isinstance(columns, Columns):
                    leads += columns.head.height + least_height(columns, self.bottom - MARGIN)
                break
            leads += self.height_of(block)
        if self.bottom < self.y + leads <= self.bottom + self.y - MARGIN:
            self.turn()
        for block in section:
            self.put_block(block)

    def put_block(self, block: Block) -> None:
        """Put a block on pages."""
        for part in block.blocks if isinstance(block, Together) else (block,):
            self.flow(typeset(part, self.inner, self.size))

    def flow(self, strips: Sequence[Strip | Columns]) -> None:
        """Put strips on pages; what belongs together goes on together."""
        for strip in strips:
            if isinstance(strip, Columns):
                self.flow_columns(strip)
                continue
            needed = strip.height + (4 * LEADING * self.size / POINTS if strip.with_next else 0.0)
            if self.y + needed > self.bottom:
                self.turn()
            self.put(strip, MARGIN)
            self.y += strip.height

    def flow_columns(self, columns: Columns) -> None:
        """Put a table on pages, in columns of equal height where it runs on side by side."""
        whole = self.bottom - MARGIN - columns.head.height
        rest = columns
        while rest.rows:
            parts, left = dealt(rest, self.bottom - self.y - columns.head.height, whole)
            if not any(parts):
                if self.y == MARGIN:
                    raise AssertionError("an empty page holds no row")  # rows are lower than pages
                self.turn()
                continue
            start, tallest = self.y, 0.0
            for column, rows in enumerate(parts):
                x, self.y = MARGIN + column * (columns.width + GAP), start
                for strip in (columns.head, *rows):
                    self.put(strip, x)
                    self.y += strip.height
                tallest = max(tallest, self.y)
            self.y = tallest
            rest = Columns(columns.head, left, columns.count, columns.width)
            if left:
                self.turn()
        self.y += self.gap

    def put(self, strip: Strip, x: float) -> None:
        """Put a strip at the present height."""
        for m in strip.marks:
            moved = Mark(m.kind, m.x + x, m.y + self.y, m.text, m.size, m.bold, m.colour, m.width, m.height)
            self.pages[-1].append(moved)

    def turn(self) -> None:
        """Begin a page; one that is still empty will do."""
        if self.pages[-1] or len(self.pages) == 1:
            if len(self.pages) == 1:
                self.hole = max(self.bottom - self.y, 0.0)
            self.pages.append([])
        self.y = MARGIN

    # ink

    def figures(self) -> list[Figure]:
        """Draw every page."""
        return [self.figure(k) for k in range(len(self.pages))]

    def figure(self, number: int) -> Figure:
        """Draw one page."""
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        figure = Figure(figsize=(self.width, self.height), facecolor=style.PAPER, dpi=150)
        FigureCanvasAgg(figure)
        for mark in self.pages[number]:
            draw_mark(figure, mark, self.width, self.height)
        if number == 0:
            low = self.height - self.map_y - self.frame.height
            map_into(figure, self.plan, self.listed, self.frame, (MARGIN, low))
        step = LEADING * FOOT / POINTS
        for k, line in enumerate(self.foot):
            y = self.height - MARGIN - (len(self.foot) - 1 - k) * step
            draw_mark(figure, Mark("text", MARGIN, y, line, FOOT), self.width, self.height)
        words = f"page {number + 1} of {len(self.pages)}"
        x = self.width - MARGIN - text_width(words, FOOT)
        draw_mark(figure, Mark("text", x, self.height - MARGIN, words, FOOT), self.width, self.height)
        return figure

    def legible(self) -> float:
        """Return how well the sheet can be read.

        Text that is smaller by a tenth is worth a map that is wider by a sixth, and so is a third of the first page left empty.
        """
        return self.frame.wide * self.size**TEXT_WEIGHT * (1 - HOLE_WEIGHT * self.hole / self.height)

    def again(self, most: int | None, *, annex: bool = False) -> Pages:
        """Lay the sheet out with so many stakes, in all else as it is."""
        return Pages(self.plan, self.size, most, self.frame.asked, self.count, annex=annex)

    @property
    def listed(self) -> tuple[Stake, ...]:
        """The stakes that are listed."""
        return self.plan.listed(self.most)


def sections(blocks: Sequence[Block]) -> list[list[Block]]:
    """Cut blocks before their headings."""
    found: list[list[Block]] = []
    for block in blocks:
        if not found or isinstance(block, Heading | Together):
            found.append([])
        found[-1].append(block)
    return found


def parted(blocks: Sequence[Block], beside: int) -> tuple[list[Block], list[Block], list[Block]]:
    """Part blocks into those above the map, those beside it, which are set in one column, and those below."""
    at = next(k for k, block in enumerate(blocks) if isinstance(block, Map))
    spots, *rest = sections(blocks[at + 1 :])
    column: list[Block] = []
    for block in (block for section in rest[:beside] for block in section):
        for part in block.blocks if isinstance(block, Together) else (block,):
            column.append(dataclasses.replace(part, columns=1) if isinstance(part, Items) else part)
    return list(blocks[:at]), column, [*spots, *(block for section in rest[beside:] for block in section)]


def fitted(plan: Plan, *, annex: bool) -> Pages:
    """Lay out a sheet on two pages if that can be, with large text and a large map; if not, with as many stakes as they hold.

    An annex comes on top.
    """
    tried = [
        pages
        for size in SIZES
        for beside in range(BESIDE + 1)
        for height in Pages(plan, size, None, beside=beside).heights
        if (pages := Pages(plan, size, None, height, beside)).holds
    ]
    good = [pages for pages in tried if len(pages.pages) <= MOST_PAGES]
    if good:
        best = max(good, key=Pages.legible)
        return best.again(None, annex=True) if annex else best
    last = [pages for pages in tried if pages.size == SIZES[-1]]
    best, low = min(last, key=lambda pages: len(pages.pages)), 0
    for pages in sorted(last, key=Pages.legible):
        # As many as the best so far, in a map that is no smaller, or it is no better.
        if len(pages.again(low).pages) <= MOST_PAGES:
            best, low = pages, most_stakes(pages, low)
    return best.again(low, annex=annex)


def most_stakes(pages: Pages, low: int) -> int:
    """Return how many stakes fit on two pages laid out like these, which hold `low`."""
    high = len(pages.plan.listed(None)) + 1  # so many do not fit
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if len(pages.again(middle).pages) <= MOST_PAGES else (low, middle)
    return low


def draw_mark(figure: Figure, mark: Mark, width: float, height: float) -> None:
    """Draw one mark on a page of that size."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Rectangle

    x, y = mark.x / width, 1 - mark.y / height
    if mark.kind == "text":
        figure.text(
            x, y, drawable(mark.text, (FONT,)), fontsize=mark.size, weight="bold" if mark.bold else "normal", color=mark.colour,
            va="baseline", family=FONT, parse_math=False,
        )  # fmt: skip
    elif mark.kind == "rule":
        end = (mark.x + mark.width) / width
        figure.add_artist(Line2D([x, end], [y, y], linewidth=mark.size, color=mark.colour))
    else:
        box = (x, y - mark.height / height), mark.width / width, mark.height / height
        if mark.kind == "shade":
            figure.add_artist(Rectangle(*box, facecolor=mark.colour, edgecolor="none", zorder=-1))
        else:
            figure.add_artist(Rectangle(*box, facecolor="none", edgecolor=mark.colour, linewidth=mark.size))
