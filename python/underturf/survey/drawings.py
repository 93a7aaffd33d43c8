"""DXF drawings: layers and blocks by the mapping, curves flattened to a stated tolerance, units from the header or asked for."""

from __future__ import annotations

import logging
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from underturf._extras import needs
from underturf.errors import ArgumentError
from underturf.survey.context import Context
from underturf.survey.observed import Batch, Observed, Plane
from underturf.survey.units import UNITS

__all__ = ["read_drawing"]

#: Values of the header variable ``$INSUNITS`` and the units that they name (DXF Reference).
INSUNITS: dict[int, str] = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m", 7: "km", 10: "yd", 21: "us_ft"}

#: Entities that are lines or areas.
LINES = frozenset(["LINE", "LWPOLYLINE", "POLYLINE", "ARC", "SPLINE", "ELLIPSE"])

#: Widest thing of a drawing that is taken, metres.
WIDEST_M = 20_000.0

#: How binary drawings begin.
BINARY = b"AutoCAD Binary DXF"

#: Those that may be curved.
CURVES = frozenset(["ARC", "SPLINE", "ELLIPSE"])


def read_drawing(path: Path, file: str, context: Context) -> list[Batch]:
    """Return the things in model space. A thing is known by its block where that says something, else by its layer."""
    needs(f"reading {file}", "ezdxf")
    import ezdxf

    data = path.read_bytes()
    if not data:
        context.faults.add(file, "", "is empty")
        return []
    if not data.startswith(BINARY) and b"SECTION" in data and not data.rstrip(b"\x1a \r\n\t").endswith(b"EOF"):
        context.faults.add(file, "", "is cut off: it does not end with EOF")
        return []
    with quiet():
        try:
            drawing = ezdxf.readfile(path)
            unit = unit_of(file, drawing, context)
            if unit is None:
                return []
            batch = place_batch(file, *unit, context)
            tolerance = context.flatten_m / unit[0]
            for entity in singles(drawing.modelspace()):
                add_entity(batch, entity, unit[0], tolerance, context)
            papers = sum(len(layout) for layout in drawing.layouts if layout.name != "Model")
        except Exception as error:  # the library raises many kinds on broken files
            said = str(error).replace(str(path), file)
            context.faults.add(file, "", f"is no DXF that can be read, or is cut off: {said}")
            return []
    if papers:
        batch.left.append(("paper space", f"{papers} entities", "only model space holds the ground"))
    gathered(batch)
    if not batch.observed:
        batch.left.append(("", "drawing", "its model space holds no points, lines or blocks"))
    if any(of.curved for of in batch.observed):
        batch.notes.append(
            f"{file}: curves are flattened; no chord lies more than {context.flatten_m:g} m from its curve."
        )
    return [batch]


def singles(model: Any) -> Iterator[Any]:
    """Yield entities, those of an array of blocks one by one."""
    for entity in model:
        if entity.dxftype() == "INSERT" and entity.mcount > 1:
            yield from entity.multi_insert()
        else:
            yield entity


@contextmanager
def quiet() -> Iterator[None]:
    """Keep the library from writing to the log what is reported here."""
    log = logging.getLogger("ezdxf")
    before = log.level
    log.setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        log.setLevel(before)


def unit_of(file: str, drawing: Any, context: Context) -> tuple[float, str, str] | None:
    """Return metres in a unit of the drawing, the unit's name, and what was changed; note where no unit is told."""
    number = int(drawing.header.get("$INSUNITS", 0))
    own, stated = context.words(file).units, INSUNITS.get(number)
    if number and stated is None and own is None:
        said = f'$INSUNITS is {number}, a unit in which no site is drawn; say it in the mapping: [files."{file}"] units = "m"'
        context.faults.add(file, "header", said)
        return None
    changed = f"the header says {stated}, the mapping {own}" if own is not None and stated not in (None, own) else ""
    unit = own or stated
    system = context.system(file)
    if system is not None:
        return unit_of_system(file, system, unit, changed, context)
    unit = unit or context.mapping.units
    if unit is None:
        said = f'the drawing has no unit ($INSUNITS is 0); say units="ft" or "m", or [files."{file}"] units = "ft" in the mapping'
        context.faults.add(file, "header", said)
        return None
    return UNITS[unit], unit, changed


def unit_of_system(
    file: str, system: str, unit: str | None, changed: str, context: Context
) -> tuple[float, str, str] | None:
    """Return the unit of a drawing in a reference system, which is that of the system; note where the drawing says another."""
    needs(f"reading {file}", "pyproj")
    import pyproj

    crs = pyproj.CRS.from_user_input(system)
    if not crs.is_projected:
        context.faults.add(file, "", f"is a drawing, and {crs.name} is in degrees; name a projected system")
        return None
    axis = crs.axis_info[0]
    factor = float(axis.unit_conversion_factor)
    if unit is not None and abs(UNITS[unit] / factor - 1) > 1e-9:
        said = (
            f"the drawing is in {unit}, {crs.name} in {axis.unit_name}; if the header is wrong, say so in the mapping"
        )
        context.faults.add(file, "header", f'{said}: [files."{file}"] units')
        return None
    return factor, unit or axis.unit_name, changed


def place_batch(file: str, unit_m: float, unit: str, changed: str, context: Context) -> Batch:
    """Return an empty batch in the coordinates of the drawing."""
    system = context.system(file)
    batch = Batch(file, Plane(unit) if system is None else system, unit_m)
    if changed:
        batch.changed.append(("header", "unit", changed))
    return batch


def add_entity(batch: Batch, entity: Any, unit_m: float, tolerance: float, context: Context) -> None:
    """Add an entity of model space, or say why it is left."""
    kind, layer = entity.dxftype(), str(entity.dxf.get("layer", "0"))
    place = f"layer {layer}, {kind} {entity.dxf.handle}"
    scale = unit_m if isinstance(batch.coordinates, Plane) else 1.0
    code, channel, attributes = layer, "layer", {}
    if kind == "INSERT":
        attributes = {attrib.dxf.tag: attrib.dxf.text for attrib in entity.attribs if attrib.dxf.text.strip()}
        block = str(entity.dxf.name)
        if context.code(block, "block")[0] is not None or context.code(layer, "layer")[0] is None:
            code, channel, place = block, "block", f"block {block}, {entity.dxf.handle}"
    try:
        points, closed, radius, flat = shape_of(entity, kind, tolerance, unit_m)
    except ArgumentError as error:
        context.faults.add(batch.file, place, error)
        return
    if not points:
        batch.left.append((f"layer {layer}", kind, "such an entity is no point, line or block"))
        return
    for name in list(attributes):
        if context.column(name)[0] == "code":
            code, channel = " ".join(str(attributes.pop(name)).split()), "code"
        elif context.column(name)[0] is None:
            batch.left.append((f"block {code}, attribute {name}", "attribute", "no key is called so"))
    if any(abs(point[2]) > 1e-9 for point in points):
        batch.left.append((f"layer {layer}", "height", "a site is flat: heights are left out"))
    scaled = tuple((point[0] * scale, point[1] * scale) for point in points)
    shape = "area" if closed and len(scaled) > 2 else "line" if len(scaled) > 1 else "point"
    batch.observed.append(
        Observed(shape, scaled, place, code, channel, attributes, None if radius is None else radius * unit_m, 0, flat)  # type: ignore[arg-type]
    )


def shape_of(entity: Any, kind: str, tolerance: float, unit_m: float) -> tuple[list[Any], bool, float | None, bool]:
    """Return places, whether they close, the radius of a circle, and whether curves were flattened."""
    from ezdxf import path as paths

    if kind == "POINT":
        return [entity.dxf.location], False, None, False
    if kind == "INSERT":
        return [entity.ocs().to_wcs(entity.dxf.insert)], False, None, False
    if kind == "CIRCLE":
        in_reach(2 * float(entity.dxf.radius) * unit_m)
        return [entity.ocs().to_wcs(entity.dxf.center)], False, float(entity.dxf.radius), False
    if kind not in LINES or (kind == "POLYLINE" and not (entity.is_2d_polyline or entity.is_3d_polyline)):
        return [], False, None, False
    way = paths.make_path(entity)
    ends = [(point.x, point.y) for point in way.control_vertices()]
    in_reach(max(max(of) - min(of) for of in zip(*ends, strict=True)) * unit_m if ends else 0.0)
    points = list(way.flattening(tolerance))
    closed = len(points) > 3 and points[0].isclose(points[-1], abs_tol=1e-9)
    curved = kind in CURVES or bool(way.has_curves)
    return (points[:-1] if closed else points), closed, None, curved


def in_reach(wide_m: float) -> None:
    """Refuse what is wider than any site, before it is flattened into more points than memory holds."""
    if not wide_m <= WIDEST_M:
        raise ArgumentError(f"is {wide_m:.4g} m wide, more than {WIDEST_M:g} m: no part of a site")


def gathered(batch: Batch) -> None:
    """Say once, with a count, what was left for the same reason at the same place."""
    counts = Counter(batch.left)
    batch.left[:] = [(place, what if n == 1 else f"{n} x {what}", why) for (place, what, why), n in counts.items()]
