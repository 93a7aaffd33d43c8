"""The sheet on paper: blocks flow over pages of US letter (feet) or A4 (metres), drawn with matplotlib (extra ``plot``)."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

from underturf.crew.blocks import Block, Heading, Items, Map, Together
from underturf.crew.columns import dealt, height_of
from underturf.crew.content import content, footer, title
from underturf.crew.map import draw_map, limits
from underturf.crew.typeset import GAP, LEADING, POINTS, Columns, Mark, Strip, text_width, typeset, wrap
from underturf.plotting import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from underturf.crew.plan import Plan, Stake

__all__ = ["PAPER", "Pages", "fitted", "map_figure", "paper_of"]

#: Inches: width and height of the paper by the document's unit, and its name in style sheets.
PAPER = {"ft": (8.5, 11.0, "letter"), "m": (8.27, 11.69, "A4")}

#: Inches: margin all round; least, usual and greatest height of the map with its legend.
MARGIN, LEAST_MAP, USUAL_MAP, GREATEST_MAP = 0.5, 3.4, 4.6, 7.2

#: Size of the cautions at the foot of every page, points.
FOOT = 7.0

#: Sizes of text that are tried, points, and pages that the sheet should not pass.
SIZES, MOST_PAGES = (8.0, 7.5, 7.0, 6.5), 2

#: Inches: a line of legend, and its column beside a map that is higher than wide; ticks and their label.
ENTRY, LEGEND_WIDE, TICKS = 0.135, 2.55, 0.36


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
        Height for the map with its legend, inches; as much as leaves room for spots and what to do before digging.
    annex : bool
        Whether the others follow.
    """

    def __init__(
        self, plan: Plan, size: float, most: int | None, map_height: float | None = None, *, annex: bool = False
    ) -> None:
        self.plan, self.size, self.most = plan, size, most
        self.width, self.height, _ = paper_of(plan)
        self.inner = self.width - 2 * MARGIN
        self.foot = wrap(footer(plan), self.inner - 0.9, FOOT)
        self.bottom = self.height - MARGIN - len(self.foot) * LEADING * FOOT / POINTS - 0.08
        self.pages: list[list[Mark]] = [[]]
        self.y = MARGIN
        self.map_box: tuple[int, float, float] | None = None
        self.heading()
        blocks = content(plan, most, annex=annex)
        at = next(k for k, block in enumerate(blocks) if isinstance(block, Map))
        for block in blocks[:at]:
            self.put_block(block)
        self.heights = self.map_heights(blocks[at + 1 :])
        self.place_map(self.heights[-1] if map_height is None else map_height)
        for block in blocks[at + 1 :]:
            self.put_block(block)

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
        most = map_height(self.plan, self.inner)
        left = self.bottom - self.y - 0.1
        heights: list[float] = []
        for section in sections(rest):
            left -= sum(self.height_of(block) for block in section)
            if any(isinstance(block, Items | Together) for block in section) or heights:
                heights.append(min(left, most))
        return sorted({height for height in heights if height >= LEAST_MAP}, reverse=True) or [min(USUAL_MAP, most)]

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

    def place_map(self, height: float) -> None:
        """Leave that much room for the map, or less where it cannot use it."""
        height = arranged(self.plan, self.inner, height)[2]
        self.map_box = (len(self.pages) - 1, self.y, height)
        self.y += height + 0.05

    def put_block(self, block: Block) -> None:
        """Put a block on pages."""
        if isinstance(block, Together):
            needed = self.height_of(block)
            if self.y + needed > self.bottom and needed <= self.bottom - MARGIN:
                self.turn()
            for part in block.blocks:
                self.flow(typeset(part, self.inner, self.size))
        else:
            self.flow(typeset(block, self.inner, self.size))

    def flow(self, strips: list[Strip | Columns]) -> None:
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
        if self.map_box is not None and self.map_box[0] == number:
            _, y, height = self.map_box
            map_into(figure, self.plan, self.listed, (MARGIN, self.height - y - height, self.inner, height))
        step = LEADING * FOOT / POINTS
        for k, line in enumerate(self.foot):
            y = self.height - MARGIN - (len(self.foot) - 1 - k) * step
            draw_mark(figure, Mark("text", MARGIN, y, line, FOOT), self.width, self.height)
        words = f"page {number + 1} of {len(self.pages)}"
        x = self.width - MARGIN - text_width(words, FOOT)
        draw_mark(figure, Mark("text", x, self.height - MARGIN, words, FOOT), self.width, self.height)
        return figure

    @property
    def listed(self) -> tuple[Stake, ...]:
        """The stakes that are listed."""
        return self.plan.listed(self.most)


def sections(blocks: list[Block]) -> list[list[Block]]:
    """Cut blocks before their headings."""
    found: list[list[Block]] = []
    for block in blocks:
        if not found or isinstance(block, Heading | Together):
            found.append([])
        found[-1].append(block)
    return found


def fitted(plan: Plan, *, annex: bool) -> Pages:
    """Lay out a sheet on two pages if that can be: smaller map first, then smaller text, then fewer stakes.

    An annex comes on top.
    """
    for size in SIZES:
        pages = Pages(plan, size, None)
        for height in pages.heights:
            pages = Pages(plan, size, None, height)
            if len(pages.pages) <= MOST_PAGES:
                return pages if not annex else Pages(plan, size, None, height, annex=True)
    size, height = SIZES[-1], pages.heights[-1]
    low, high = 0, len(plan.listed(None))  # `high` stakes do not fit
    while high - low > 1:
        middle = (low + high) // 2
        fits = len(Pages(plan, size, middle, height).pages) <= MOST_PAGES
        low, high = (middle, high) if fits else (low, middle)
    return Pages(plan, size, low, height, annex=annex)


def draw_mark(figure: Figure, mark: Mark, width: float, height: float) -> None:
    """Draw one mark on a page of that size."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Rectangle

    x, y = mark.x / width, 1 - mark.y / height
    if mark.kind == "text":
        figure.text(
            x, y, mark.text, fontsize=mark.size, weight="bold" if mark.bold else "normal", color=mark.colour,
            va="baseline", family="DejaVu Sans", parse_math=False,
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


# the map with its legend


@functools.lru_cache(maxsize=4)
def legend_rows(plan: Plan) -> int:
    """Return how many entries the legend of the map has, drawn on scratch paper."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(4, 4), dpi=50)
    FigureCanvasAgg(figure)
    return len(draw_map(figure.add_axes((0.1, 0.1, 0.8, 0.8)), plan, plan.listed(None), labels=False)[1])


def map_height(plan: Plan, width: float) -> float:
    """Return the height at which the map is as wide as the page, with its legend below; more would be empty."""
    x, y = limits(plan)
    shape = (y[1] - y[0]) / (x[1] - x[0])
    return min(max((width - 0.4) * shape + TICKS + below(plan) + 0.08, LEAST_MAP), GREATEST_MAP)


def below(plan: Plan) -> float:
    """Return the height of a legend below the map."""
    return ENTRY * -(-legend_rows(plan) // 3) + 0.08


def arranged(plan: Plan, width: float, height: float) -> tuple[bool, float, float]:
    """Return whether the legend stands below the map (else beside: whichever leaves it larger), its width, the height of both."""
    x, y = limits(plan)
    shape = (y[1] - y[0]) / (x[1] - x[0])
    height -= 0.08  # the uppermost tick is written half above the drawing
    under = min(width - 0.4, (height - TICKS - below(plan)) / shape)
    beside = min(width - 0.4 - LEGEND_WIDE, (height - TICKS) / shape)
    if under >= beside:
        return True, under, under * shape + TICKS + below(plan) + 0.08
    return False, beside, max(beside * shape + TICKS, ENTRY * legend_rows(plan) + 0.08) + 0.08


def map_into(figure: Figure, plan: Plan, listed: tuple[Stake, ...], box: tuple[float, float, float, float]) -> None:
    """Draw the map and its legend into a box of a figure, inches from its lower left corner."""
    left, bottom, width, height = box
    x, y = limits(plan)
    shape = (y[1] - y[0]) / (x[1] - x[0])
    under, wide, _ = arranged(plan, width, height)
    page_width, page_height = figure.get_size_inches()
    low = bottom + TICKS + (below(plan) if under else max(height - 0.08 - TICKS - wide * shape, 0.0))
    place = (left + 0.4, low, wide, wide * shape)
    ax = figure.add_axes((place[0] / page_width, place[1] / page_height, place[2] / page_width, place[3] / page_height))
    handles, words = draw_map(ax, plan, listed)
    look = {"fontsize": 6.5, "frameon": False, "borderaxespad": 0.0, "borderpad": 0.2, "labelspacing": 0.35}
    if under:
        corner = (left / page_width, (bottom + below(plan) - 0.04) / page_height)
        legend = figure.legend(
            handles, words, ncols=3, loc="upper left", bbox_to_anchor=corner, columnspacing=1.2, **look
        )
    else:
        corner = ((left + 0.4 + wide + 0.15) / page_width, (low + wide * shape) / page_height)
        legend = figure.legend(handles, words, ncols=1, loc="upper left", bbox_to_anchor=corner, **look)
    for text in legend.get_texts():
        text.set_parse_math(False)


def map_figure(plan: Plan, listed: tuple[Stake, ...], height: float) -> Figure:
    """Draw the map alone, as wide as the page within its margins."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    width = paper_of(plan)[0] - 2 * MARGIN
    figure = Figure(figsize=(width, height), facecolor=style.PAPER, dpi=150)
    FigureCanvasAgg(figure)
    map_into(figure, plan, listed, (0.0, 0.0, width, height))
    return figure
