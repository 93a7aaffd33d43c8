"""Survey files of every format make the site that they were written from, and give its chances."""

from __future__ import annotations

import json
import sys
import types

import numpy as np
import pytest
from surveys import (
    FRAME,
    SITE,
    farthest_m,
    on_earth,
    write_csv,
    write_drawing,
    write_geojson,
    write_gpx,
    write_layers,
    write_spreadsheet,
)

import underturf as ut

#: Marks in GPX and DXF cannot carry the sd of a line; it stands in the mapping.
MAPPING = {"defaults": {"marks": {"sd": "0.3 m"}}, "layers": {"GAS-MARK": "GAS"}}

WRITERS = {
    "points.csv": write_csv,
    "points.xlsx": write_spreadsheet,
    "points.gpx": write_gpx,
    "points.geojson": write_geojson,
    "points.gpkg": write_layers,
    "points.dxf": write_drawing,
}


def read_back(folder, name):
    path = WRITERS[name](SITE, folder / name)
    return ut.read_survey(path, MAPPING, frame=FRAME, units="m")


@pytest.fixture(scope="module")
def surveys(tmp_path_factory):
    folder = tmp_path_factory.mktemp("surveys")
    return {name: read_back(folder, name) for name in WRITERS}


def sampled(site):
    return ut.sample_layouts(site, draws=100, seed=5)


@pytest.fixture(scope="module")
def chances():
    return sampled(ut.Site.from_dict(SITE)).strike_probability()


@pytest.mark.parametrize("name", WRITERS)
def test_every_format_gives_the_site_within_the_stated_rounding(surveys, name):
    survey = surveys[name]
    written = ut.Site.from_dict(SITE)
    # Rounded to 0.001 of the unit; longitude and latitude are written in full.
    assert farthest_m(written, survey.site) <= 0.001
    document = survey.document
    assert [of["zone"] for of in document["heads"]] == [of["zone"] for of in SITE["heads"]]
    assert {of["kind"] for of in document["heads"]} == {"spray"}
    assert document["valve_boxes"][0]["zones"] == ["1", "2"]
    assert document["marks"][0]["class"] == "gas"
    assert survey.site.marks["sd_m"][0] == pytest.approx(0.3, abs=1e-6)
    assert survey.report.counts()["taken"] == 8 + 1 + 1 + 1 + 1 + 3 + 1


@pytest.mark.parametrize("name", ["points.csv", "points.gpx", "points.geojson", "points.dxf"])
def test_every_format_gives_the_same_chances(surveys, chances, name):
    """A millimetre moves no chance by more than a tenth of a point on the same draws (100, seed 5)."""
    found = sampled(surveys[name].site).strike_probability()
    assert np.abs(found - chances).max() < 0.001
    assert chances.min() > 0.001


def test_a_survey_that_is_off_by_a_foot_would_be_seen(chances):
    """Planted fault of the two tests above: heads shifted by 0.3 m."""
    moved = [{**head, "y": head["y"] + 0.3} for head in SITE["heads"]]
    found = sampled(ut.Site.from_dict({**SITE, "heads": moved})).strike_probability()
    assert np.abs(found - chances).max() > 0.01


def test_shapefiles_are_read_with_their_system(tmp_path):
    write_layers(SITE, tmp_path / "s.shp")
    files = sorted(tmp_path.glob("*.shp"))
    assert len(files) == 3
    survey = ut.read_survey([files[2], files[1], files[0]], MAPPING, frame=FRAME, units="m")
    assert farthest_m(ut.Site.from_dict(SITE), survey.site) <= 0.001
    assert any("ETRS89 / UTM zone 32N, in metre" in note for note in survey.report.notes)


def test_files_in_systems_of_their_own_lie_on_one_plane(tmp_path):
    """Points in one zone, lines in another, in US survey feet: each is transformed by its own."""
    frame = {"lon": -93.0, "lat": 45.0}
    from underturf.frames import LocalFrame

    (lonlat,) = LocalFrame(**frame).to_lonlat([(10.0, 20.0)])
    import geopandas

    place = geopandas.GeoSeries.from_xy([lonlat[0]], [lonlat[1]], crs="OGC:CRS84")
    for crs, name in (("EPSG:6344", "one"), ("EPSG:6345", "two"), ("EPSG:2264", "three")):
        geopandas.GeoDataFrame({"code": ["HD"], "id": [name]}, geometry=place.to_crs(crs)).to_file(
            tmp_path / f"{name}.gpkg"
        )
    paths = [tmp_path / f"{name}.gpkg" for name in ("one", "two", "three")]
    survey = ut.read_survey(paths, frame=frame)
    # EPSG:2264 (feet) lies 1,200 km away, where its series are good to a millimetre or so.
    assert np.abs(survey.site.heads[["x_m", "y_m"]].to_numpy() - [10, 20]).max() < 0.01
    assert any("in US survey foot" in note for note in survey.report.notes)
    assert len(survey.site.heads) == 3, "they have different names and are kept apart"


def test_a_frame_is_made_and_kept_where_none_is_given(tmp_path):
    path = write_geojson(SITE, tmp_path / "a.geojson")
    survey = ut.read_survey(path, units="m")
    frame = survey.document["frame"]
    assert (round(frame["lon"], 5), round(frame["lat"], 5)) == (frame["lon"], frame["lat"])
    assert any("One was made about the middle of a.geojson" in note for note in survey.report.notes)
    again = ut.read_survey(path, units="m", frame=frame)
    assert again.site == survey.site
    heads, original = survey.site.heads, ut.Site.from_dict(SITE).heads
    ways = [
        np.hypot(*(of[["x_m", "y_m"]].to_numpy()[0] - of[["x_m", "y_m"]].to_numpy()[7])) for of in (heads, original)
    ]
    assert ways[0] == pytest.approx(ways[1], abs=0.002)


def test_the_azimuth_of_the_frame_turns_the_plane(tmp_path):
    (tmp_path / "a.csv").write_text("id,lat,lon,code\na,50.001,8,HD\n", encoding="utf-8")
    (east,) = ut.read_survey(tmp_path / "a.csv", frame={"lon": 8, "lat": 50, "azimuth_deg": 90}).document["heads"]
    (north,) = ut.read_survey(tmp_path / "a.csv", frame={"lon": 8, "lat": 50}).document["heads"]
    assert (north["x"], north["y"]) == (0.0, 111.229)
    assert (east["x"], east["y"]) == (-111.229, 0.0)


def test_northing_and_easting_are_told_by_their_names(tmp_path):
    (tmp_path / "a.csv").write_text(
        "Point,Northing (ft),Easting (ft),Elev,Description\n7,20,10,101.5,SPR\n", encoding="utf-8"
    )
    survey = ut.read_survey(tmp_path / "a.csv")
    assert survey.document["heads"] == [{"id": "7", "x": 10.0, "y": 20.0, "kind": "spray"}]
    assert survey.site.units == "ft"
    assert ("column Elev", "left") in [(row.place, row.action) for row in survey.report]


def test_units_are_exact(tmp_path):
    """US survey feet are 1200/3937 m, international ones 0.3048 m: 2 ppm, 4 mm in 2,000 ft."""
    for unit, metres in (
        ("ft", 609.6),
        ("us_ft", 2000 * 1200 / 3937),
        ("in", 50.8),
        ("yd", 1828.8),
        ("cm", 20.0),
        ("mm", 2.0),
    ):
        path = tmp_path / "a.csv"
        path.write_text(f"id,x_{unit},y_{unit},code\na,2000,0,HD\n", encoding="utf-8")
        survey = ut.read_survey(path, units="m")
        assert survey.document["heads"][0]["x"] == round(metres, 3)
        assert any("survey feet" in note for note in survey.report.notes) == (unit == "us_ft")


def test_a_drawing_in_us_survey_feet_is_read_exactly(tmp_path):
    import ezdxf

    drawing = ezdxf.new(units=21)
    drawing.modelspace().add_point((5000, 10), dxfattribs={"layer": "HD"})
    drawing.saveas(tmp_path / "a.dxf")
    survey = ut.read_survey(tmp_path / "a.dxf", units="m")
    assert survey.document["heads"][0]["x"] == round(5000 * 1200 / 3937, 3)


def test_a_detector_walk_is_flags_in_the_order_of_the_walk(tmp_path):
    (tmp_path / "walk.gpx").write_text(
        '<gpx version="1.1" creator="a" xmlns="http://www.topografix.com/GPX/1/1">'
        '<wpt lat="50" lon="8"><name>FLAG B</name><hdop>1.1</hdop></wpt>'
        "<trk><name>FLAG A</name><trkseg>"
        + "".join(f'<trkpt lat="{50 + k * 1e-5}" lon="8"/>' for k in range(4))
        + '</trkseg></trk><rte><name>GAS</name><rtept lat="50" lon="8"/><rtept lat="50.0001" lon="8"/></rte></gpx>',
        encoding="utf-8",
    )
    survey = ut.read_survey(tmp_path / "walk.gpx", frame={"lon": 8, "lat": 50})
    flags = survey.document["flags"]
    assert [flag["line"] for flag in flags] == ["B", "A", "A", "A", "A"]
    assert [flag["y"] for flag in flags][1:] == sorted(flag["y"] for flag in flags[1:])
    assert survey.document["marks"][0]["path"] == [[0.0, 0.0], [0.0, 11.123]]
    assert any("hdop" in row.what and row.action == "left" for row in survey.report)
    assert any("says nothing of accuracy" in note for note in survey.report.notes)
    stated = ut.read_survey(
        tmp_path / "walk.gpx", {"defaults": {"flags": {"accuracy_95": "4 m"}, "marks": {"sd": "2 m"}}}
    )
    assert {flag["accuracy_95"] for flag in stated.document["flags"]} == {4.0}
    assert not any("says nothing of accuracy" in note for note in stated.report.notes)


def test_curves_of_drawings_lie_within_the_stated_tolerance(tmp_path):
    import ezdxf
    from shapely.geometry import LineString, Polygon

    drawing = ezdxf.new(units=6)
    model = drawing.modelspace()
    model.add_lwpolyline(
        [(0, 0, 0, 0, 1.0), (20, 0, 0, 0, 0), (20, 20), (0, 20)], close=True, dxfattribs={"layer": "POOL"}
    )
    model.add_arc((0, 0), 30, 10, 100, dxfattribs={"layer": "GAS"})
    model.add_spline([(0, 0), (5, 9), (12, 3), (20, 8)], dxfattribs={"layer": "ELEC"})
    model.add_circle((10, 10), 0.4, dxfattribs={"layer": "DIG"})
    model.add_circle((10, 15), 2, dxfattribs={"layer": "BED"})
    drawing.saveas(tmp_path / "a.dxf")
    fine, coarse = (
        ut.read_survey(tmp_path / "a.dxf", {"defaults": {"digs": {"depth": 0.5}}}, units="m", flatten_m=flat).document
        for flat in (0.001, "10 cm")
    )
    pool = Polygon(coarse["obstacles"][0]["outline"])
    assert pool.exterior.hausdorff_distance(Polygon(fine["obstacles"][0]["outline"]).exterior) < 0.102
    assert pool.area == pytest.approx(400 + np.pi * 50, rel=0.01)
    assert min(y for _, y in fine["obstacles"][0]["outline"]) == pytest.approx(-10, abs=0.01), (
        "the bulge is to the right"
    )
    for k in range(2):
        a, b = (LineString(of["marks"][k]["path"]) for of in (fine, coarse))
        assert 0.005 < a.hausdorff_distance(b) < 0.102
        assert len(b.coords) < len(a.coords)
    assert fine["digs"] == [{"id": "dig1", "x": 10.0, "y": 10.0, "radius": 0.4, "depth": 0.5}]
    assert Polygon(fine["obstacles"][1]["outline"]).area == pytest.approx(4 * np.pi, rel=0.002)


def test_a_site_document_is_added_to_and_keeps_what_it_says(tmp_path):
    base = tmp_path / "site.toml"
    base.write_text(
        '# my garden (invented)\nformat = "underturf-site/2"\nunits = "ft"\nheads = [\n'
        '  { id = "h1", x = "10 ft", y = 20, kind = "spray" }, # by the gate\n]\n',
        encoding="utf-8",
    )
    (tmp_path / "more.csv").write_text("x_ft,y_ft,code,zone\n10.1,20,SPR,1\n22,20,SPR,1\n", encoding="utf-8")
    survey = ut.read_survey([tmp_path / "more.csv", base])
    assert survey.document["heads"] == [
        {"id": "h1", "x": "10 ft", "y": 20.0, "kind": "spray", "zone": "1"},
        {"id": "head1", "x": 22.0, "y": 20.0, "kind": "spray", "zone": "1"},
    ]
    assert survey.report.counts() == {"taken": 1, "left": 0, "merged": 1, "changed": 0}
    survey.write(base)
    assert base.read_text(encoding="utf-8") == (
        '# my garden (invented)\nformat = "underturf-site/2"\nunits = "ft"\nheads = [\n'
        '  { id = "h1", x = "10 ft", y = 20, kind = "spray", zone = "1"}, # by the gate\n'
        '  {id = "head1", x = 22.0, y = 20.0, kind = "spray", zone = "1"}, # more.csv, row 3\n]\n'
    )
    again = ut.read_survey([base, tmp_path / "more.csv"])
    assert again.site == survey.site, "reading the same survey again adds nothing"
    assert again.report.counts()["merged"] == 2


def test_tape_notes_are_taken_from_their_adjustment(tmp_path, monkeypatch):
    (tmp_path / "yard.tapes.toml").write_text("", encoding="utf-8")
    point = types.SimpleNamespace(name="h1", x_m=1.0, y_m=2.0, sd_m=0.03, attributes={"kind": "spray", "zone": "1"})
    other = types.SimpleNamespace(name="A", x_m=0.0, y_m=0.0, sd_m=0.0, attributes={})
    notes = types.SimpleNamespace(solve=lambda: types.SimpleNamespace(points=[point, other], agrees=False))
    monkeypatch.setitem(sys.modules, "underturf.tapes", types.SimpleNamespace(read_tapes=lambda _: notes))
    survey = ut.read_survey(tmp_path / "yard.tapes.toml")
    assert survey.document["heads"] == [{"id": "h1", "x": 1.0, "y": 2.0, "kind": "spray", "sd": 0.03, "zone": "1"}]
    assert [(row.place, row.action) for row in survey.report] == [("point A", "left"), ("point h1", "taken")]
    assert any("WARNING, the tapes do not agree" in note for note in survey.report.notes)


def test_geojson_in_a_json_file_is_told_from_a_site_document(tmp_path):
    write_geojson(SITE, tmp_path / "a.json")
    (tmp_path / "b.json").write_text(json.dumps({"format": "underturf-site/2", "units": "m"}), encoding="utf-8")
    survey = ut.read_survey([tmp_path / "b.json", tmp_path / "a.json"])
    assert len(survey.site.heads) == 8
    assert on_earth([(0, 0)])[0] == pytest.approx((FRAME["lon"], FRAME["lat"]))


def test_what_a_survey_shows_has_the_cautions(surveys):
    survey = surveys["points.csv"]
    for text in (str(survey.report), survey.report._repr_html_(), survey._repr_html_()):
        assert all(caution.split("'")[0] in text for caution in ut.CAUTIONS)
    assert list(survey.report.table().columns) == ["file", "place", "what", "action", "reason"]
