"""What a GIS, a drawing program and a phone read is what was exported: shapes, attributes, places on Earth."""

from __future__ import annotations

import json

import ezdxf
import geopandas as gpd
import gpxpy
import numpy as np
import pyogrio
import pytest
import shapely
from exported import FRAME, apart_m, layouts, on_earth, same, thing, yard
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import underturf as ut
from underturf.exporting.dxf import APP, attributes_of
from underturf.exporting.layer import flat
from underturf.exporting.layers import layers_of
from underturf.exporting.looks import COLOURS
from underturf.exporting.set_out import set_out
from underturf.plotting.style import MARK_COLOURS

VECTOR = ["Site", "Layouts", "Assessment", "Ranking", "Spots", "ProbePlan", "SweepPlan", "MetalLines", "ValvePlan"]


def corners(shape):
    """Corners of a shape in an order that does not hang on where an outline begins."""
    return np.array(sorted(shapely.get_coordinates(shapely.normalize(shape)).tolist()))


def site_frame(of):
    return (of if isinstance(of, ut.Site) else of.site).to_dict()["frame"]


@pytest.mark.parametrize("kind", VECTOR)
def test_geojson_holds_every_layer_on_earth(tmp_path, kind):
    """To 1 mm: nine decimals of a degree are 0.1 mm, and geodesics and the projection differ by less."""
    of, layers = thing(kind), layers_of(thing(kind))
    path = of.export(tmp_path / "a.geojson")
    features = json.loads(path.read_text(encoding="utf-8"))["features"]
    assert len(features) == sum(map(len, layers))
    at, frame = 0, site_frame(of)
    for layer in layers:
        for k, row in enumerate(flat(layer.table).to_dict("records")):
            feature = features[at + k]
            said = feature["properties"]
            assert said.pop("layer") == layer.name
            assert list(said) == list(row)
            for key, cell in row.items():
                cell = None if cell == float("inf") or str(cell) == "<NA>" else cell
                assert same(said[key], cell), (layer.name, key)
            shape = None if layer.shapes is None else layer.shapes[k]
            if shape is None:
                assert feature["geometry"] is None
                continue
            got = shapely.geometry.shape(feature["geometry"])
            assert got.geom_type == shape.geom_type
            outline = shapely.get_coordinates(shape)
            true = on_earth(outline, frame)
            assert len(shapely.get_coordinates(got)) == len(true)
            near = [np.abs(np.hypot(*(true - place).T)).min() for place in shapely.get_coordinates(got)]
            assert max(near) < 1e-8, "degrees: 1 mm"
        at += len(layer)
    assert gpd.read_file(path).crs.to_epsg() == 4326


def test_outlines_of_geojson_run_counter_clockwise(tmp_path):
    """RFC 7946, 3.1.6."""
    collection = json.loads(thing("Spots").export(tmp_path / "a.geojson").read_text(encoding="utf-8"))
    rings = [f["geometry"]["coordinates"][0] for f in collection["features"] if f["geometry"]["type"] == "Polygon"]
    assert len(rings) >= 2
    assert all(shapely.LinearRing(ring).is_ccw for ring in rings)


def test_what_is_not_assessed_is_null_and_not_zero(tmp_path):
    assessment = thing("Assessment")
    assert "reclaimed" in assessment.not_assessed
    collection = json.loads(assessment.export(tmp_path / "a.geojson").read_text(encoding="utf-8"))
    digs = [f["properties"] for f in collection["features"] if f["properties"]["layer"] == "digs"]
    table = pyogrio.read_dataframe(assessment.export(tmp_path / "a.gpkg"), layer="digs")
    assert len(digs) == len(table) == 4
    for name in ut.CLASSES:
        unknown = name in assessment.not_assessed
        assert all((dig[f"p_{name}"] is None) is unknown for dig in digs), name
        assert bool(table[f"p_{name}"].isna().all()) is unknown, name
    drawing = ezdxf.readfile(assessment.export(tmp_path / "a.dxf"))
    (dig,) = [row for layer, row, _ in drawn(drawing) if layer == "DIGS" and row["name"] == "maple"]
    assert "p_reclaimed" not in dig
    assert dig["p_strike"] == assessment["maple"].p_strike


@pytest.mark.parametrize(
    ("kind", "crs"), [*((kind, "local") for kind in VECTOR), ("Site", "site"), ("Site", "lonlat"), ("Spots", "lonlat")]
)
def test_geopackages_hold_every_layer_with_its_plane(tmp_path, kind, crs):
    """Bit for bit on the site's plane; on others to 1 mm on Earth, whatever program works out where the plane lies."""
    of = thing(kind)
    layers = layers_of(of, ground=True, pieces=True)
    path = of.export(tmp_path / "a.gpkg", crs=crs)
    assert {name for name, _ in pyogrio.list_layers(path)} == {"about", *(layer.name for layer in layers)}
    frame = site_frame(of)
    for layer in layers:
        got = pyogrio.read_dataframe(path, layer=layer.name)
        table = flat(layer.table)
        assert len(got) == len(table)
        for name in table.columns:
            assert all(same(a, b) for a, b in zip(got[name], table[name], strict=True)), name
        if layer.shapes is None:
            continue
        want = np.vstack([shapely.get_coordinates(shape) for shape in layer.shapes if shape is not None])
        if crs == "site":
            assert got.crs.is_engineering
            assert np.array_equal(shapely.get_coordinates(got.geometry.array), want)
            continue
        assert got.crs.is_geographic if crs == "lonlat" else got.crs.is_projected
        there = got.geometry.to_crs(4326)
        assert apart_m(shapely.get_coordinates(there.array), on_earth(want, frame)) < 1e-3


def test_a_geopackage_of_a_turned_frame_keeps_lengths(tmp_path):
    """On the local plane metres stay metres. Planted fault: the turn the wrong way."""
    got = pyogrio.read_dataframe(yard().export(tmp_path / "a.gpkg"), layer="heads")
    table = yard().heads
    turn = np.radians(FRAME["azimuth_deg"])
    x, y = table["x_m"].to_numpy(), table["y_m"].to_numpy()
    east, north = got.geometry.x.to_numpy(), got.geometry.y.to_numpy()
    assert np.allclose(east, x * np.cos(turn) + y * np.sin(turn), atol=1e-9)
    assert np.allclose(north, -x * np.sin(turn) + y * np.cos(turn), atol=1e-9)
    assert np.abs(east - (x * np.cos(turn) - y * np.sin(turn))).max() > 1.0


def drawn(drawing):
    """Layer, attributes and entity of everything drawn that carries attributes."""
    for entity in drawing.modelspace():
        if entity.has_xdata(APP):
            yield entity.dxf.layer, attributes_of([tag.value for tag in entity.get_xdata(APP)]), entity


def outline_of(entity):
    """Corners of an entity in the drawing's unit."""
    if entity.dxftype() == "INSERT":
        return np.array([list(entity.dxf.insert)[:2]])
    if entity.dxftype() == "CIRCLE":
        return np.array([list(entity.dxf.center)[:2]])
    return np.array([(x, y) for x, y, *_ in entity.get_points()])


@pytest.mark.parametrize(("kind", "crs"), [*((kind, "site") for kind in VECTOR), ("Site", "local"), ("Spots", "local")])
def test_drawings_hold_every_layer_in_the_document_s_unit(tmp_path, kind, crs):
    """Within 1e-9 units: a drawing holds 16 digits. In feet: 1 ft is 0.3048 m."""
    of = thing(kind)
    site = of if kind == "Site" else of.site
    drawing = ezdxf.readfile(of.export(tmp_path / "a.dxf", crs=crs))
    assert not drawing.audit().errors
    assert drawing.header["$INSUNITS"] == (2 if site.units == "ft" else 6)
    turn = np.radians(FRAME["azimuth_deg"] if crs == "local" else 0.0)
    matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    found = {}
    for layer, row, entity in drawn(drawing):
        found.setdefault((layer, json.dumps(row, sort_keys=True)), []).append(entity)
    seen = 0
    for layer in layers_of(of, ground=True):
        if layer.shapes is None:
            continue
        for row, shape in zip(flat(layer.table).to_dict("records"), layer.shapes, strict=True):
            if shape is None:
                continue
            known = {k: v for k, v in row.items() if v is not None and str(v) != "<NA>" and v == v}
            name = layer.name.upper() + (f"-{row['class'].upper()}" if row.get("class") in COLOURS else "")
            entities = found[name, json.dumps(known, sort_keys=True)]
            for entity in entities:
                if entity.dxftype() == "CIRCLE":
                    assert entity.dxf.radius == pytest.approx(row["circle_radius_m"] / site.unit_m, abs=1e-9)
                    continue
                want = shapely.get_coordinates(shape) @ matrix / site.unit_m
                got = outline_of(entity)
                assert max(np.hypot(*(want - place).T).min() for place in got) < 1e-9, name
            seen += 1
    assert seen > 5


def test_a_drawing_is_coloured_by_the_public_code_and_keeps_its_cautions_apart(tmp_path):
    drawing = ezdxf.readfile(layouts().export(tmp_path / "a.dxf"))
    gas = drawing.layers.get("MARKS-GAS")
    assert gas.rgb == (217, 164, 0)
    assert gas.dxf.color == 2
    assert COLOURS == MARK_COLOURS
    text = drawing.modelspace().query('MTEXT[layer=="CAUTIONS"]')[0]
    low = min(outline_of(entity)[:, 1].min() for _, _, entity in drawn(drawing))
    assert text.dxf.insert.y < low
    doubt = drawing.modelspace().query('HATCH[layer=="LIKELY_DOUBT-LATERAL"]')
    assert len(doubt) > 3
    assert all(0.5 < hatch.transparency < 1 for hatch in doubt)


def test_bands_of_doubt_are_as_wide_as_they_say():
    """A station's band reaches its half width to either side, and no further than the widest of its line."""
    layers = {layer.name: layer for layer in layers_of(layouts())}
    stations, doubt = layers["likely_stations"], layers["likely_doubt"]
    by_line = dict(zip(doubt.table["line"], doubt.shapes, strict=True))
    assert len(stations) > 20
    for row, point in zip(stations.table.to_dict("records"), stations.shapes, strict=True):
        band = by_line[row["line"]]
        assert band.buffer(1e-6).contains(point)
        assert band.exterior.distance(point) <= row["half_width_m"] + 1e-6 if band.geom_type == "Polygon" else True
    widest = stations.table.groupby("line")["half_width_m"].max()
    assert all(np.isclose(row["half_width_m"], widest[row["line"]]) for row in doubt.table.to_dict("records"))


@pytest.mark.parametrize("kind", VECTOR)
def test_a_phone_is_led_to_every_point(tmp_path, kind):
    of = thing(kind)
    points = [] if kind == "ValvePlan" else set_out(of)
    waypoints = gpxpy.parse(of.export(tmp_path / "a.gpx").read_text(encoding="utf-8")).waypoints
    assert len(waypoints) >= max(len(points), 1)
    assert all("A probability is not a clearance" in point.description for point in waypoints)
    assert [point.name for point in waypoints[: len(points)]] == [" ".join(point.label.split()) for point in points]
    got = [(point.longitude, point.latitude) for point in waypoints[: len(points)]]
    true = on_earth([(point.x_m, point.y_m) for point in points] or np.zeros((0, 2)), site_frame(of))
    assert apart_m(got, true) < 1e-3
    if kind == "ValvePlan":
        box = of.site.valve_boxes.iloc[0]
        here = [(waypoints[0].longitude, waypoints[0].latitude)]
        assert apart_m(here, on_earth([(box["x_m"], box["y_m"])])) < 1e-3


POINTS = st.tuples(st.floats(-200, 200), st.floats(-200, 200))


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.floats(-180, 180), st.floats(-80, 80), st.floats(-180, 540), st.sampled_from(["m", "ft"]),
    st.lists(POINTS, min_size=1, max_size=6, unique=True),
)  # fmt: skip
def test_any_site_comes_back_from_any_format(tmp_path, lon, lat, azimuth, units, places):
    """Heads anywhere, frames in both hemispheres, any turn, feet and metres: the same places from four formats."""
    unit = 0.3048 if units == "ft" else 1.0
    frame = {"lon": lon, "lat": lat, "azimuth_deg": azimuth % 360}
    heads = [{"id": f"h{k}", "x": x, "y": y} for k, (x, y) in enumerate(places)]
    site = ut.Site.from_dict({"format": "underturf-site/2", "units": units, "frame": frame, "heads": heads})
    table = site.heads
    true = on_earth(table[["x_m", "y_m"]], frame)
    collection = json.loads(site.export(tmp_path / "a.geojson").read_text(encoding="utf-8"))
    from_json = [f["geometry"]["coordinates"] for f in collection["features"]]
    packed = pyogrio.read_dataframe(site.export(tmp_path / "a.gpkg"), layer="heads").geometry.to_crs(4326)
    waypoints = gpxpy.parse(site.export(tmp_path / "a.gpx").read_text(encoding="utf-8")).waypoints
    for got in (from_json, shapely.get_coordinates(packed.array), [(p.longitude, p.latitude) for p in waypoints]):
        assert apart_m(got, true) < 1e-3
    inserts = [outline_of(entity)[0] for _, _, entity in drawn(ezdxf.readfile(site.export(tmp_path / "a.dxf")))]
    assert np.allclose(np.array(inserts) * unit, table[["x_m", "y_m"]], atol=1e-9)


@pytest.mark.parametrize("kind", VECTOR)
def test_no_column_of_geojson_mixes_numbers_and_texts(tmp_path, kind):
    """One collection holds all layers, so a name means one type in all of them: readers make one column of it."""
    collection = json.loads(thing(kind).export(tmp_path / "a.geojson").read_text(encoding="utf-8"))
    kinds = {}
    for feature in collection["features"]:
        for name, cell in feature["properties"].items():
            if cell is not None:
                kinds.setdefault(name, set()).add(str if isinstance(cell, str) else float)
    assert len(kinds) > 3
    assert not [name for name, found in kinds.items() if len(found) > 1]
