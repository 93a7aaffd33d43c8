"""One site written as survey files of every format, for the tests of reading them."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import ezdxf
import geopandas
import gpxpy.gpx
import numpy as np
import openpyxl
from shapely.geometry import LineString, Point, Polygon

import underturf as ut
from underturf.frames import LocalFrame

FRAME = {"lon": 8.25, "lat": 50.5, "azimuth_deg": 30.0}

#: What surveys can say of a site: no station tests, no settings.
SITE = {
    "format": "underturf-site/2",
    "units": "m",
    "frame": FRAME,
    "boundary": [[0, 0], [24, 0], [24, 16], [0, 16]],
    "heads": [
        {"id": f"h{k}", "x": 1.0 + 5.5 * (k % 4), "y": 2.25 + 6.0 * (k // 4), "kind": "spray", "zone": str(1 + k // 4)}
        for k in range(8)
    ],
    "valve_boxes": [{"id": "box", "x": 22.5, "y": 14.5, "zones": ["1", "2"]}],
    "sources": [{"id": "meter", "x": 23.5, "y": 15.5, "kind": "meter"}],
    "obstacles": [{"kind": "building", "outline": [[2, 10.5], [8, 10.5], [8, 15.5], [2, 15.5]]}],
    "marks": [{"class": "gas", "path": [[12, 0.5], [12.5, 15.5]], "sd": 0.3}],
    "digs": [
        {"id": "oak", "x": 6.2, "y": 5.0, "radius": 0.4, "depth": 0.5},
        {"id": "post", "x": 15.3, "y": 8.3, "radius": 0.15, "depth": 0.6},
        {"id": "elm", "x": 19.0, "y": 12.1, "radius": 0.5, "depth": 0.5},
    ],
}

#: List -> code of its points.
POINT_CODES = {"heads": "SPR", "valve_boxes": "VB", "sources": "MTR", "digs": "DIG"}


def points(document):
    """Points with their codes, names and other keys."""
    for key, code in POINT_CODES.items():
        for entry in document[key]:
            rest = {name: value for name, value in entry.items() if name not in ("x", "y", "kind")}
            if "zones" in rest:
                rest["zones"] = ";".join(rest["zones"])
            for name in ("radius", "depth"):
                if name in rest:
                    rest[f"{name}_m"] = rest.pop(name)
            yield code, (entry["x"], entry["y"]), rest


def shapes(document):
    """Outlines and paths with their codes and other keys; whether they close."""
    yield "BND1", document["boundary"], {}, True
    for k, entry in enumerate(document["obstacles"], start=1):
        yield f"BLD{k}", entry["outline"], {}, True
    for k, entry in enumerate(document["marks"], start=1):
        yield f"GAS{k}", entry["path"], {"sd_m": entry["sd"]}, False


def rows(document):
    """Every point as a row of a table."""
    for code, place, rest in points(document):
        yield {"code": code, "x_m": place[0], "y_m": place[1], **rest}
    for code, places, rest, _ in shapes(document):
        for x, y in places:
            yield {"code": code, "x_m": x, "y_m": y, **rest}


COLUMNS = ("id", "code", "x_m", "y_m", "zone", "zones", "radius_m", "depth_m", "sd_m")


def write_csv(document, path: Path) -> Path:
    with path.open("w", newline="", encoding="utf-8") as file:
        table = csv.DictWriter(file, COLUMNS)
        table.writeheader()
        table.writerows(rows(document))
    return path


def write_spreadsheet(document, path: Path) -> Path:
    book = openpyxl.Workbook()
    book.active.append(COLUMNS)
    for row in rows(document):
        book.active.append([row.get(name) for name in COLUMNS])
    book.save(path)
    return path


def on_earth(places):
    return [(float(lon), float(lat)) for lon, lat in LocalFrame(**FRAME).to_lonlat(places)]


def write_gpx(document, path: Path) -> Path:
    """Waypoints for points, tracks for lines; the other keys as extensions, names as names."""
    import xml.etree.ElementTree as ET

    gpx = gpxpy.gpx.GPX()
    gpx.nsmap["u"] = "urn:u"
    for code, place, rest in points(document):
        ((lon, lat),) = on_earth([place])
        point = gpxpy.gpx.GPXWaypoint(lat, lon, name=rest.get("id"), type=code)
        for name, value in rest.items():
            if name != "id":
                element = ET.Element(f"{{urn:u}}{name}")
                element.text = str(value)
                point.extensions.append(element)
        gpx.waypoints.append(point)
    for code, places, _, closes in shapes(document):
        track = gpxpy.gpx.GPXTrack(name=code)
        way = [*places, places[0]] if closes else places
        track.segments.append(
            gpxpy.gpx.GPXTrackSegment([gpxpy.gpx.GPXTrackPoint(lat, lon) for lon, lat in on_earth(way)])
        )
        gpx.tracks.append(track)
    path.write_text(gpx.to_xml(), encoding="utf-8")
    return path


def features(document, place=on_earth):
    for code, where, rest in points(document):
        yield {"code": code, **rest}, Point(place([where])[0])
    for code, places, rest, closes in shapes(document):
        yield {"code": code, **rest}, (Polygon if closes else LineString)(place(places))


def write_geojson(document, path: Path) -> Path:
    made = [
        {"type": "Feature", "properties": fields, "geometry": geometry.__geo_interface__}
        for fields, geometry in features(document)
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": made}), encoding="utf-8")
    return path


def write_layers(document, path: Path, crs="EPSG:25832") -> Path:
    """A layer for points, one for lines, one for areas, in a projected system."""
    made = list(features(document))
    for name, kind in (("points", "Point"), ("lines", "LineString"), ("areas", "Polygon")):
        own = [(fields, geometry) for fields, geometry in made if geometry.geom_type == kind]
        frame = geopandas.GeoDataFrame(
            [fields for fields, _ in own], geometry=[of for _, of in own], crs="OGC:CRS84"
        ).to_crs(crs)
        if path.suffix == ".gpkg":
            frame.to_file(path, layer=name, driver="GPKG")
        else:
            frame.to_file(path.with_name(f"{path.stem}-{name}.shp"))
    return path


def write_drawing(document, path: Path, unit_m=0.3048, insunits=2) -> Path:
    """Blocks with attributes for points, lines on layers named by codes, in feet."""
    drawing = ezdxf.new(units=insunits)
    model = drawing.modelspace()
    for code in POINT_CODES.values():
        drawing.blocks.new(code)
    for code, (x, y), rest in points(document):
        block = model.add_blockref(code, (x / unit_m, y / unit_m))
        for name, value in rest.items():
            block.add_attrib(name, str(value))
    for code, places, rest, closes in shapes(document):
        layer = code if not rest else "GAS-MARK"
        model.add_lwpolyline([(x / unit_m, y / unit_m) for x, y in places], close=closes, dxfattribs={"layer": layer})
    drawing.saveas(path)
    return path


def farthest_m(one: ut.Site, other: ut.Site) -> float:
    """Largest distance between places of two sites that list the same things in the same order."""
    worst = 0.0
    for key in ("heads", "valve_boxes", "sources", "digs"):
        a, b = getattr(one, key), getattr(other, key)
        assert list(a["id"]) == list(b["id"]), key
        worst = max(worst, float(np.hypot(a["x_m"] - b["x_m"], a["y_m"] - b["y_m"]).max()))
    for p, q in zip(one.marks["path_m"], other.marks["path_m"], strict=True):
        worst = max(worst, float(np.abs(np.array(p) - np.array(q)).max()))
    grounds = ([np.array(of.to_dict()["boundary"]) * of.unit_m, *of.obstacles["outline_m"]] for of in (one, other))
    for p, q in zip(*grounds, strict=True):  # shapefiles turn outlines round
        assert len(p) == len(q)
        worst = max(worst, Polygon(p).exterior.hausdorff_distance(Polygon(q).exterior))
    return worst
