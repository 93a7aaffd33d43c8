"""Rings, holes, heights, arrays, circles and systems of drawings: taken, or left with a reason."""

from __future__ import annotations

import copy
import json
import pickle
import subprocess
import sys

import ezdxf
import pytest
from survey_mistakes import geojson, polygon

import underturf as ut

FRAME = {"lon": 8.0, "lat": 50.0}


def reasons(survey, action):
    return [row.reason for row in survey.report if row.action == action]


def drawn(path, *add, units=6):
    drawing = ezdxf.new(units=units)
    for kind, arguments, more in add:
        attributes = {"layer": more.pop("layer")} if "layer" in more else {}
        getattr(drawing.modelspace(), f"add_{kind}")(*arguments, dxfattribs=attributes, **more)
    drawing.saveas(path)
    return path


def test_open_rings_are_closed_and_said_closed_ones_are_taken(tmp_path):
    corners = [(0, 0), (8, 0), (8, 5), (0, 5)]
    path = drawn(
        tmp_path / "a.dxf",
        ("lwpolyline", ([*corners, (0, 0.4)],), {"layer": "BLD1"}),
        ("lwpolyline", ([(x + 20, y) for x, y in [*corners, (0, 0)]],), {"layer": "BLD2"}),
        ("lwpolyline", ([(x + 40, y) for x, y in corners],), {"layer": "BLD3", "close": True}),
    )
    survey = ut.read_survey(path)
    assert [len(of["outline"]) for of in survey.document["obstacles"]] == [5, 4, 4]
    assert reasons(survey, "changed") == ["its line is open: it is closed with a straight side of 0.40 m"]


def test_holes_of_a_building_are_filled_and_said(tmp_path):
    ring = [[8, 50], [8.001, 50], [8.001, 50.001], [8, 50.001], [8, 50]]
    hole = [[8.0004, 50.0004], [8.0006, 50.0004], [8.0006, 50.0006], [8.0004, 50.0004]]
    (tmp_path / "a.geojson").write_text(
        geojson({"type": "Polygon", "coordinates": [ring, hole]}, code="PAV"), encoding="utf-8"
    )
    survey = ut.read_survey(tmp_path / "a.geojson", frame=FRAME)
    assert len(survey.document["obstacles"][0]["outline"]) == 4
    assert reasons(survey, "changed") == ["its 1 holes count as part of it"]


def test_heights_are_left_and_said_in_every_format(tmp_path):
    path = drawn(tmp_path / "a.dxf", ("point", ((1, 2, 101.5),), {"layer": "HD"}))
    assert reasons(ut.read_survey(path), "left") == ["a site is flat: heights are left out"]
    (tmp_path / "a.geojson").write_text(
        geojson({"type": "Point", "coordinates": [8, 50, 101.5]}, code="HD"), encoding="utf-8"
    )
    assert reasons(ut.read_survey(tmp_path / "a.geojson"), "left") == ["a site is flat: heights are left out"]


def test_parts_of_a_geometry_are_things_of_their_own(tmp_path):
    places = {"type": "MultiPoint", "coordinates": [[8, 50], [8.0001, 50]]}
    mixed = {"type": "GeometryCollection", "geometries": [{"type": "Point", "coordinates": [8, 50.0001]}]}
    (tmp_path / "a.geojson").write_text(geojson(places, mixed, code="HD", zones="x"), encoding="utf-8")
    survey = ut.read_survey(tmp_path / "a.geojson", frame=FRAME)
    assert len(survey.site.heads) == 3
    assert "heads have no such key" in reasons(survey, "left")


def test_names_of_zones_come_as_lists_too(tmp_path):
    feature = json.loads(geojson({"type": "Point", "coordinates": [8, 50]}, code="VB", zones=["front", "2"]))
    (tmp_path / "a.geojson").write_text(json.dumps(feature), encoding="utf-8")
    assert ut.read_survey(tmp_path / "a.geojson").document["valve_boxes"][0]["zones"] == ["front", "2"]


def test_the_middle_of_an_outline_is_a_box_and_is_said(tmp_path):
    (tmp_path / "a.geojson").write_text(
        geojson(polygon((8, 50), (8.00001, 50), (8.00001, 50.00001), (8, 50.00001)), code="VB"), encoding="utf-8"
    )
    survey = ut.read_survey(tmp_path / "a.geojson", frame=FRAME)
    assert survey.document["valve_boxes"] == [{"id": "box1", "x": 0.358, "y": 0.556}]
    assert reasons(survey, "changed") == ["the middle of its outline is its place"]


def test_digs_are_holes_trenches_and_pits(tmp_path):
    path = drawn(
        tmp_path / "a.dxf",
        ("circle", ((10, 10), 0.4), {"layer": "DIG-hole"}),
        ("line", ((0, 0), (9, 0)), {"layer": "TRENCH"}),
        ("lwpolyline", ([(20, 20), (22, 20), (22, 23)],), {"layer": "DIG", "close": True}),
    )
    survey = ut.read_survey(path, {"defaults": {"digs": {"depth": "50 cm", "width": "30 cm"}}})
    assert survey.document["digs"] == [
        {"id": "DIG-hole", "x": 10.0, "y": 10.0, "radius": 0.4, "depth": 0.5},
        {"id": "dig1", "path": [[0.0, 0.0], [9.0, 0.0]], "depth": 0.5, "width": 0.3},
        {"id": "dig2", "outline": [[20.0, 20.0], [22.0, 20.0], [22.0, 23.0]], "depth": 0.5},
    ]


def test_arrays_of_blocks_are_blocks_one_by_one_and_mirrored_ones_stand_where_they_are_seen(tmp_path):
    drawing = ezdxf.new(units=6)
    drawing.blocks.new("HD")
    model = drawing.modelspace()
    model.add_blockref(
        "HD", (1, 1), dxfattribs={"row_count": 2, "column_count": 3, "row_spacing": 5, "column_spacing": 4}
    )
    model.add_blockref("HD", (-30, 1), dxfattribs={"extrusion": (0, 0, -1)})
    drawing.saveas(tmp_path / "a.dxf")
    heads = ut.read_survey(tmp_path / "a.dxf").site.heads
    assert sorted(zip(heads["x_m"], heads["y_m"], strict=True)) == [
        (1, 1),
        (1, 6),
        (5, 1),
        (5, 6),
        (9, 1),
        (9, 6),
        (30, 1),
    ]


def test_a_drawing_in_a_reference_system_goes_through_the_frame(tmp_path):
    path = drawn(
        tmp_path / "a.dxf",
        ("point", ((500_000, 5_000_000),), {"layer": "HD"}),
        ("circle", ((500_010, 5_000_000), 1), {"layer": "DIG"}),
    )
    words = {"defaults": {"digs": {"depth": "1 m"}}}
    survey = ut.read_survey(path, words, crs="EPSG:32632", frame={"lon": 9.0, "lat": 45.15})
    head, dig = survey.document["heads"][0], survey.document["digs"][0]
    assert dig["x"] - head["x"] == pytest.approx(10 / 0.9996, abs=0.001)
    with pytest.raises(ut.ArgumentError, match=r"the drawing is in m, .* in US survey foot; if the header is wrong"):
        ut.read_survey(path, words, crs="EPSG:2264")
    with pytest.raises(ut.ArgumentError, match="is a drawing, and WGS 84 is in degrees"):
        ut.read_survey(path, words, crs="EPSG:4326")


def test_a_dig_in_feet_of_a_reference_system_keeps_its_size(tmp_path):
    path = drawn(tmp_path / "a.dxf", ("circle", ((1_500_000, 600_000), 2), {"layer": "DIG"}), units=21)
    (dig,) = ut.read_survey(path, {"defaults": {"digs": {"depth": "1 m"}}}, crs="EPSG:2264", units="ft").document[
        "digs"
    ]
    assert dig["radius"] == pytest.approx(2.000004, abs=1e-6), "two US survey feet"


def test_surveys_pickle_and_copy(tmp_path):
    (tmp_path / "a.csv").write_text("x_m,y_m,code\n1,2,SPR\n", encoding="utf-8")
    survey = ut.read_survey(tmp_path / "a.csv")
    for again in (pickle.loads(pickle.dumps(survey)), copy.deepcopy(survey)):  # noqa: S301 - our own bytes
        assert again == survey


@pytest.mark.parametrize(
    ("name", "package", "extra"),
    [
        ("a.gpx", "gpxpy", "geo"),
        ("a.xlsx", "openpyxl", "tables"),
        ("a.dxf", "ezdxf", "cad"),
        ("a.gpkg", "pyogrio", "geo"),
    ],
)
def test_a_format_that_needs_an_extra_names_it(tmp_path, monkeypatch, name, package, extra):
    (tmp_path / name).write_bytes(b"x")
    monkeypatch.setitem(sys.modules, package, None)
    with pytest.raises(ImportError, match=rf"reading {name} needs {package}.*underturf\[{extra}\]"):
        ut.read_survey(tmp_path / name)


def test_csv_on_the_plane_of_the_site_needs_no_extra_and_import_brings_none():
    code = (
        "import sys, pathlib, tempfile, underturf as ut\n"
        "path = pathlib.Path(tempfile.mkdtemp(), 'a.csv')\n"
        "path.write_text('x_m,y_m,code\\n1,2,SPR\\n')\n"
        "ut.read_survey(path)\n"
        "heavy = {'gpxpy', 'geopandas', 'pyogrio', 'pyproj', 'shapely', 'ezdxf', 'openpyxl', 'tomlkit'}\n"
        "sys.exit(str(heavy & set(sys.modules)) if heavy & set(sys.modules) else 0)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr
