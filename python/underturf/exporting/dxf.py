"""Layers as a DXF drawing (R2018) in the document's unit, for CAD.

Each layer of ours is one of the drawing, a class of line one more: ``LIKELY_LINES-LATERAL``. Names of drawing layers are made
of ours and of classes alone, so nothing that a document names can break them. Points are blocks with their name as an
attribute, circles are circles, bands of doubt are hatched pale. Every attribute of a thing goes with it as extended data under
``UNDERTURF``: texts ``name=value``, values as JSON, in which a text of 250 signs or more goes on in the next as ``+value``.
What the drawing says of itself is a text on the layer ``CAUTIONS`` below the plan, and again in the drawing's own properties.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from underturf.exporting.layer import flat
from underturf.exporting.looks import CIRCLE, COLOURS, INDEX_COLOURS, rgb_of

if TYPE_CHECKING:
    from underturf.exporting.about import About
    from underturf.exporting.layer import Layer
    from underturf.exporting.planes import Plane

__all__ = ["APP", "CAUTIONS_LAYER", "attributes_of", "write_dxf"]

#: Name of our extended data.
APP = "UNDERTURF"

#: Layer of the cautions.
CAUTIONS_LAYER = "CAUTIONS"

#: Longest text of extended data; the format's limit is 255.
LONGEST = 250

#: Letters of a name beside its point; the extended data holds it whole.
NAME = 40

#: Height of names and of the cautions, radius of a point's block, metres on the ground.
LETTER_M, CAUTION_M, POINT_M = 0.12, 0.25, 0.1

#: Units of a drawing: metres, international feet.
UNITS = {"m": 6, "ft": 2}

#: Layers that are hatched: pale, so that what lies below is seen.
HATCHED = ("likely_doubt", "metal_doubt", "tolerance_zones", "keep_off")

#: Share of a hatch that one sees through.
PALE = 0.75

#: Layers whose names stand in the drawing; the others' would hide it.
NAMED = (
    "heads",
    "valve_boxes",
    "sources",
    "outlets",
    "digs",
    "site_digs",
    "spots",
    "planned_probes",
    "stakes",
    "valves_to_run",
)

#: Signs that the text of a drawing reads as commands.
COMMANDS = str.maketrans({"\\": r"\\", "{": r"\{", "}": r"\}", "^": "^ "})


def write_dxf(path: Path, layers: Sequence[Layer], said: About, plane: Plane) -> None:
    """Write layers as a drawing."""
    import ezdxf

    unit_m = 0.3048 if said.units == "ft" else 1.0
    drawing = ezdxf.new("R2018", units=UNITS[said.units])
    drawing.header["$MEASUREMENT"] = 0 if said.units == "ft" else 1
    drawing.appids.add(APP)
    block = drawing.blocks.new("UNDERTURF_POINT")
    size = POINT_M / unit_m
    block.add_circle((0, 0), size)
    block.add_line((-size, 0), (size, 0))
    block.add_line((0, -size), (0, size))
    unit = "foot" if said.units == "ft" else "metre"
    coordinates = f"{plane.words} The drawing's unit is the {unit}; attributes are in metres."
    for key, text in {**said.texts(), "coordinates": coordinates}.items():
        drawing.header.custom_vars.append(key, text.replace("\n", " "))
    low, high = [np.inf, np.inf], [-np.inf, -np.inf]
    notes: list[str] = []
    for layer in layers:
        if layer.shapes is None:
            notes += [f"{layer.name}: {'; '.join(f'{k} {v}' for k, v in row.items())}" for row in rows_of(layer)]
            continue
        shapes = scaled(plane.moved(layer.shapes), unit_m)
        for row, shape in zip(rows_of(layer), shapes, strict=True):
            if shape is None:
                notes.append(f"{layer.name}: {'; '.join(f'{k} {v}' for k, v in row.items())}")
                continue
            west, south, east, north = shape.bounds
            low, high = [min(low[0], west), min(low[1], south)], [max(high[0], east), max(high[1], north)]
            draw(drawing, layer.name, row, shape, unit_m)
    if not math.isfinite(low[0]):
        low, high = [0.0, 0.0], [20.0 / unit_m, 10.0 / unit_m]
    write_cautions(drawing, [*said.lines(), coordinates, *notes], (low[0], low[1]), high[0] - low[0], unit_m)
    drawing.set_modelspace_vport(1.2 * max(high[1] - low[1], 1.0), ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2))
    drawing.saveas(path)


def rows_of(layer: Layer) -> list[dict[str, Any]]:
    """Return the attributes of each thing that are known."""
    rows = flat(layer.table).to_dict("records")
    return [{str(key): cell for key, cell in row.items() if known(cell)} for row in rows]


def known(cell: Any) -> bool:
    """Whether something is known in a cell."""
    return cell is not None and str(cell) != "<NA>" and (isinstance(cell, str) or cell == cell)


def scaled(shapes: Any, unit_m: float) -> Any:
    """Return shapes in the drawing's unit."""
    import shapely

    return shapely.transform(shapes, lambda xy: xy / unit_m)


def layer_name(drawing: Any, name: str, of: Any) -> str:
    """Return the drawing's layer for a class of ours, made where it is not there yet."""
    found = name.upper() + (f"-{of.upper()}" if of in COLOURS else "")
    if found not in drawing.layers:
        made = drawing.layers.add(found, color=INDEX_COLOURS.get(of, 7))
        if of in COLOURS:
            made.rgb = rgb_of(COLOURS[of])
    return found


def draw(drawing: Any, name: str, row: Mapping[str, Any], shape: Any, unit_m: float) -> None:
    """Draw one thing, with its attributes."""
    space = drawing.modelspace()
    attribs = {"layer": layer_name(drawing, name, row.get("class"))}
    for part in getattr(shape, "geoms", [shape]):
        if part.geom_type == "Point":
            made = [space.add_blockref("UNDERTURF_POINT", (part.x, part.y), dxfattribs=attribs)]
            if name in NAMED:
                height, at = LETTER_M / unit_m, (part.x + 1.2 * POINT_M / unit_m, part.y)
                made[0].add_attrib("NAME", one_line(row["name"]), at, {**attribs, "height": height})
        elif part.geom_type == "LineString":
            made = [space.add_lwpolyline(list(part.coords), dxfattribs=attribs)]
        elif row.get(CIRCLE) is not None:
            made = [space.add_circle((part.centroid.x, part.centroid.y), row[CIRCLE] / unit_m, dxfattribs=attribs)]
        else:
            rings = [list(ring.coords)[:-1] for ring in (part.exterior, *part.interiors)]
            made = [space.add_lwpolyline(ring, close=True, dxfattribs=attribs) for ring in rings]
            if name in HATCHED:
                hatch(space, rings, attribs)
        for item in made:
            item.set_xdata(APP, [(1000, text) for text in texts_of(row)])


def hatch(space: Any, rings: Sequence[Any], attribs: Mapping[str, Any]) -> None:
    """Fill an area, pale."""
    from ezdxf.colors import float2transparency

    filled = space.add_hatch(color=256, dxfattribs=attribs)
    filled.dxf.transparency = float2transparency(PALE)
    for k, ring in enumerate(rings):
        filled.paths.add_polyline_path(ring, is_closed=True, flags=1 if k == 0 else 16)


def texts_of(row: Mapping[str, Any]) -> Iterator[str]:
    r"""Yield attributes as texts of extended data.

    Examples
    --------
    >>> list(texts_of({"name": "a\nü", "p": 0.5}))
    ['name="a\\n\\u00fc"', 'p=0.5']
    """
    for key, cell in row.items():
        text = f"{key}={json.dumps(cell)}"
        yield text[:LONGEST]
        for k in range(LONGEST, len(text), LONGEST - 1):
            yield "+" + text[k : k + LONGEST - 1]


def attributes_of(texts: Sequence[str]) -> dict[str, Any]:
    """Return attributes from the texts of extended data: how a reader gets them back.

    Examples
    --------
    >>> row = {"name": "long " * 100, "p": 0.5}
    >>> attributes_of(list(texts_of(row))) == row
    True
    """
    whole: list[str] = []
    for text in texts:
        if text.startswith("+"):
            whole[-1] += text[1:]
        else:
            whole.append(text)
    return {key: json.loads(cell) for key, _, cell in (text.partition("=") for text in whole)}


def one_line(name: object) -> str:
    r"""Return a name as a drawing letters it: one line, not long, without the signs that letter as commands.

    Examples
    --------
    >>> one_line("bed\nby the gate"), one_line("100%%d"), len(one_line("x" * 200))
    ('bed by the gate', '100% %d', 40)
    """
    line = " ".join("".join(sign if sign.isprintable() else " " for sign in str(name)).split())
    line = line if len(line) <= NAME else f"{line[: NAME - 1]}…"
    return line.replace("%%", "% %").replace("^", "^ ")


def plain(line: str) -> str:
    r"""Return a line that a drawing letters as it is.

    Examples
    --------
    >>> plain(r"{x} \P 100%%d")
    '\\{x\\} \\\\P 100% %d'
    """
    return "".join(sign for sign in line if sign.isprintable()).replace("%%", "% %").translate(COMMANDS)


def write_cautions(drawing: Any, lines: Sequence[str], low: tuple[float, float], width: float, unit_m: float) -> None:
    """Write what the drawing says of itself below the plan."""
    drawing.layers.add(CAUTIONS_LAYER, color=1)
    height = CAUTION_M / unit_m
    text = "\\P".join(plain(line) for line in lines)
    drawing.modelspace().add_mtext(
        text,
        {
            "layer": CAUTIONS_LAYER,
            "char_height": height,
            "width": max(width, 60 * height),
            "insert": (low[0], low[1] - 4 * height),
        },
    )
