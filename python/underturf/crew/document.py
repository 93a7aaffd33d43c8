"""The sheet as plain data, which both templates read: the one for paper and the one for browsers.

Names of a document reach the templates as strings of this data and never as part of a template, so no sign in them is a command:
the typesetter reads them from JSON, and the browser's template escapes every one.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, TypeAlias, TypeVar

from underturf.crew.blocks import Alarm, Block, Details, Group, Heading, Items, Map, Table, Text, Together
from underturf.crew.drawing.picture import Keys, Picture
from underturf.plotting.names import clean

__all__ = ["Data", "block_data", "details_data", "keys_data", "map_data", "scale_data"]

#: What JSON holds.
Data: TypeAlias = dict[str, Any]

Part = TypeVar("Part")

#: What stands over a map at scale; most letters of the title there.
PRINTING = "Print at actual size, not fitted to the page, and check the scale bar with a ruler."
LEGEND = "Signs: see the legend of the map of page 1."
TITLE = 60

#: A narrow table of more rows than this is set in two halves side by side; still longer ones flow from column to column and
#: from page to page.
FEW, HALVED = 8, 70


def block_data(block: Block, maps: Mapping[str, Data]) -> Data:
    """Return a block as data; ``maps``: that of page 1 is ``"first"``; the ``"details"``; and that at ``"scale"``, if wanted."""
    match block:
        case Heading():
            return {"kind": "heading", "text": block.text, "new_page": block.new_page}
        case Text():
            return {"kind": "text", "text": block.text, "bold": block.bold}
        case Alarm():
            return {"kind": "alarm", "text": block.text}
        case Items():
            items = [{"term": term, "text": text} for term, text in block.items]
            sizes = [1 + (len(item["term"]) + len(item["text"])) / 45 for item in items]
            parts = halves(items, sizes) if block.columns > 1 else [items]
            return {"kind": "items", "boxes": block.boxes, "parts": parts}
        case Table():
            return table_data(block)
        case Map():
            drawn = maps["scale" if block.at_scale else "first"]
            return {"kind": "map", "at_scale": block.at_scale, "again": block.again, **drawn}
        case Details():
            return {"kind": "details", **maps["details"]}
        case Together():
            return {"kind": "together", "blocks": [block_data(part, maps) for part in block.blocks]}


def table_data(block: Table) -> Data:
    """Return a table as data: groups of rows, in halves where it is narrow and not long."""
    groups: list[Data] = [{"title": None, "rows": []}]
    for row in block.rows:
        if isinstance(row, Group):
            groups.append({"title": row.text, "rows": []})
        else:
            groups[-1]["rows"].append(cells_of(row))
    groups = [group for group in groups if group["title"] is not None or group["rows"]]
    count = len(block.rows)
    narrow = block.side_by_side > 1
    parts = [groups]
    if narrow and FEW < count <= HALVED:
        parts = split_groups(groups)
    return {
        "kind": "table",
        "head": list(block.head),
        "parts": parts,
        "shares": list(block.shares),
        "narrow": narrow,
        "ems": ems_of(block),
        "flows": narrow and count > HALVED,
    }


def cells_of(row: Sequence[str]) -> list[Data]:
    """Return the cells of a row; one before empty cells takes their room, for a refusal is longer than a tape.

    Examples
    --------
    >>> cells_of(("1", "no tie", "", ""))
    [{'text': '1', 'span': 1}, {'text': 'no tie', 'span': 3}]
    """
    cells: list[Data] = []
    for cell in row:
        if cell or not cells:
            cells.append({"text": cell, "span": 1})
        else:
            cells[-1]["span"] += 1
    return cells


def ems_of(block: Table) -> float:
    """Return about how wide a table is that breaks no cell, sizes of the font: a browser sets two side by side where both fit."""
    rows = [block.head, *(row for row in block.rows if not isinstance(row, Group))]
    longest = [0] * len(block.head)
    for row in rows:
        for k, cell in enumerate(row):
            if k + 1 == len(row) or row[k + 1]:
                longest[k] = max(longest[k], *map(len, cell.split("\n")))
    return round(sum(0.62 * count + 0.8 for count in longest), 1)


def split_groups(groups: list[Data]) -> list[list[Data]]:
    """Part a table in two halves: between groups, or within the only one, whose title is then said again."""
    if len(groups) > 1:
        return halves(groups, [1 + len(group["rows"]) for group in groups])
    (group,) = groups
    rows = halves(group["rows"], [1.0] * len(group["rows"]))
    return [[{"title": group["title"], "rows": part}] for part in rows]


def halves(parts: Sequence[Part], sizes: Iterable[float]) -> list[list[Part]]:
    """Part a list in two of nearly equal size, the first not the smaller where that can be chosen.

    Examples
    --------
    >>> halves("abcde", [1, 1, 1, 1, 1]), halves("ab", [9, 1])
    ([['a', 'b', 'c'], ['d', 'e']], [['a'], ['b']])
    """
    ends = list(itertools.accumulate(sizes))
    cut = min(range(1, len(parts) + 1), key=lambda k: (max(ends[k - 1], ends[-1] - ends[k - 1]), -k))
    return [list(part) for part in (parts[:cut], parts[cut:]) if part]


def keys_data(legend: Keys) -> list[Data]:
    """Return a legend as data."""
    return [{"svg": svg, "file": f"key-{k}.svg", "text": text} for k, (svg, text) in enumerate(legend)]


def map_data(picture: Picture) -> Data:
    """Return the map of page 1 as data; SVG stands in it as it is."""
    assert picture.fit is not None  # noqa: S101  only the map of page 1 has no scale
    return {
        **drawing_data(picture, "map"),
        "legend": keys_data(picture.legend),
        "legend_at": picture.fit.legend_at,
        "legend_columns": picture.fit.columns,
    }


def scale_data(picture: Picture, title: str) -> Data:
    """Return the map at scale as data; ``title``: of the sheet, for its page may lie alone."""
    assert picture.scale is not None  # noqa: S101  the caller asked only for maps at scale
    return {
        **drawing_data(picture, "scale"),
        "said": [f"{clean(title, TITLE)}.", PRINTING, LEGEND, *notes(picture)],
        "scale": picture.scale.words,
        "across": picture.scale.across,
    }


def details_data(pictures: Sequence[Picture]) -> Data:
    """Return the detail maps as data; none where the map of page 1 is readable."""
    if not pictures:
        return {"title": "", "said": "", "maps": []}
    frames = "their frames" if len(pictures) > 1 else "its frame"
    where = "" if pictures[0].window is None or pictures[0].window.whole else f"The map of page 1 shows {frames}. "
    scale = "" if pictures[0].scale is None else f", {pictures[0].scale.words}"
    return {
        "title": f"Detail map{'s' if len(pictures) > 1 else ''}{scale}",
        "said": f"{where}{LEGEND} {PRINTING}",
        "maps": [
            {**drawing_data(picture, f"detail-{k}"), "name": detail_name(picture)} for k, picture in enumerate(pictures)
        ],
    }


def detail_name(picture: Picture) -> str:
    """Return what a detail map is called, with the spots and probes on it."""
    assert picture.window is not None  # noqa: S101  only detail maps have a name
    named = ", ".join(picture.named)
    return picture.window.name + (f": {named}" if named else "")


def drawing_data(picture: Picture, name: str) -> Data:
    """Return a drawing as data: its file for the typesetter, its size, and what it has no room to name."""
    return {
        "svg": picture.svg,
        "file": f"{name}.svg",
        "width": picture.width,
        "height": picture.height,
        "notes": notes(picture),
    }


def notes(picture: Picture) -> list[str]:
    """Say what the map has no room to name."""
    parts = [f"{missing} of {count} {what}" for what, (missing, count) in picture.left_out.items() if missing]
    left = " and ".join(filter(None, (", ".join(parts[:-1]), *parts[-1:])))
    said = [picture.elsewhere] if picture.elsewhere else []
    said += [f"No room here for the names of {left}."] if left else []
    return [" ".join(said)] if said else []
