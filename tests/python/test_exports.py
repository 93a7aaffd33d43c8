"""Every thing goes to every format it has, whole or not at all, and no file loses its cautions."""

from __future__ import annotations

import doctest
import functools
import json
import sys
from pathlib import Path

import ezdxf
import gpxpy
import pandas as pd
import pyogrio
import pytest
import rasterio
import xarray
from exported import NASTY, layouts, thing, yard
from pyarrow import parquet

import underturf as ut
from underturf import _core
from underturf.exporting import ENDINGS
from underturf.exporting.layers import layers_of

PAIRS = [(kind, ending) for kind, endings in ENDINGS.items() for ending in endings]


def said_in(path: Path) -> str:
    """All that a file says of itself, read by the library that its user would use."""
    ending = path.suffix
    if ending == ".csv":
        return "\n".join(line[2:] for line in path.read_text(encoding="utf-8").splitlines() if line.startswith("# "))
    if ending == ".parquet":
        kept = parquet.read_schema(path).metadata
        return "\n".join(text.decode() for key, text in kept.items() if key not in (b"ARROW:schema", b"pandas"))
    if ending == ".geojson":
        whole = json.loads(path.read_text(encoding="utf-8"))["underturf"]
        return "\n".join(f"{key}: {value}" for key, value in whole.items())
    if ending == ".gpkg":
        about = pyogrio.read_dataframe(path, layer="about")
        return "\n".join(about["key"] + ": " + about["value"])
    if ending == ".dxf":
        (text,) = ezdxf.readfile(path).modelspace().query('MTEXT[layer=="CAUTIONS"]')
        return text.plain_text()
    if ending == ".gpx":
        return gpxpy.parse(path.read_text(encoding="utf-8")).description
    if ending == ".nc":
        with xarray.open_dataset(path) as data:
            return "\n".join(f"{key}: {value}" for key, value in data.attrs.items())
    with rasterio.open(path) as raster:
        return "\n".join(f"{key}: {value}" for key, value in raster.tags().items())


def test_everything_that_answers_is_in_the_table():
    results = {kind.__name__ for kind in ut.Result.__subclasses__()}
    assert results | {"Site", "Layouts", "StrikeMap"} == set(ENDINGS)
    assert len(PAIRS) == 8 * 7 + 6 + 5 + 2


@pytest.mark.parametrize(("kind", "ending"), PAIRS)
def test_no_file_loses_its_cautions(tmp_path, kind, ending):
    of = thing(kind)
    path = of.export(tmp_path / f"out{ending}")
    assert list(tmp_path.iterdir()) == [path]
    said = said_in(path)
    assert all(caution in said for caution in ut.CAUTIONS)
    assert ut.__version__ in said
    assert "NOT CONVERGED" not in said
    drawn = of.layouts if kind == "StrikeMap" else of
    if kind != "Site":
        assert str(drawn.draws) in said
        assert str(drawn.seed) in said
        assert all(name in said.replace(" ", "_") for name in drawn.not_assessed)
    site = of if kind == "Site" else drawn.site
    assert " ".join((site.name or "").split())[:30] in " ".join(said.split())
    assert "no output is placed on Earth" not in said
    assert ("feet" in said or "foot" in said or '"ft"' in said or "ft" in said) if site.units == "ft" else True


@pytest.fixture(scope="module")
def astray():
    """Layouts whose chains did not pass: no chain is worth so many draws."""
    with pytest.MonkeyPatch.context() as patch:
        hard = functools.partial(_core.sample_layouts, thresholds=(1.01, 1e9, 0.01, 0.1))
        patch.setattr(_core, "sample_layouts", hard)
        site = ut.read_site(ut.example("unlabelled"))
        document = {**site.to_dict(), "frame": {"lon": 3.0, "lat": 8.0}}
        document["heads"] = document["heads"][:5]
        found = ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=3, longest=1, accept_unconverged=True)
    assert not found.converged
    return found


@pytest.mark.parametrize("ending", [*ENDINGS["Layouts"], ".nc", ".tif"])
def test_what_did_not_converge_says_so_first(tmp_path, astray, ending):
    of = astray.strike_map(cell_m=1.0) if ending in (".nc", ".tif") else astray
    path = of.export(tmp_path / f"out{ending}")
    assert "NOT CONVERGED, do not rely on these figures" in said_in(path)
    if ending.endswith(".csv"):
        assert "NOT CONVERGED" in path.read_text(encoding="utf-8").splitlines()[0]
    if ending == ".gpx":
        assert all("NOT CONVERGED" in point.description for point in gpxpy.parse(path.read_text()).waypoints)


@pytest.mark.parametrize("kind", ENDINGS)
def test_a_wrong_ending_is_answered_with_the_right_ones(tmp_path, kind):
    for name in ("plan.docx", "plan", "plan.json", "map.stakes.tif"):
        if name == "map.stakes.tif" and kind == "StrikeMap":
            continue
        with pytest.raises(ut.ArgumentError) as error:
            thing(kind).export(tmp_path / name)
        assert all(ending in str(error.value) for ending in ENDINGS[kind])
        assert kind in str(error.value)
    assert not list(tmp_path.iterdir())


def test_stakes_of_what_has_none_are_refused(tmp_path):
    for kind in ("StrikeMap", "ValvePlan"):
        with pytest.raises(ut.ArgumentError, match=r"must end in \.csv"):
            thing(kind).export(tmp_path / "a.stakes.csv")


def test_a_place_on_earth_needs_a_frame_and_says_how_to_give_one(tmp_path):
    bare = yard(framed=False)
    for ending in (".geojson", ".gpx"):
        with pytest.raises(ut.ArgumentError, match=r'no frame: give the site a frame.*"azimuth_deg"'):
            bare.export(tmp_path / f"a{ending}")
    for crs in ("lonlat", "local"):
        with pytest.raises(ut.ArgumentError, match="no frame"):
            bare.export(tmp_path / "a.gpkg", crs=crs)
    with pytest.raises(ut.ArgumentError, match=r"a \.geojson file has 'lonlat' or 'site'"):
        yard().export(tmp_path / "a.geojson", crs="local")
    with pytest.raises(ut.ArgumentError, match='did you mean "lonlat"'):
        yard().export(tmp_path / "a.gpkg", crs="lonlatt")
    assert not list(tmp_path.iterdir())


def test_a_failed_export_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "a.geojson"
    yard().export(path)
    before = path.read_bytes()
    monkeypatch.setattr(json, "dump", lambda *_, **__: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        yard().export(path)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_is_not_there_is_named_before_any_work(tmp_path):
    with pytest.raises(FileNotFoundError, match="there is no folder"):
        layouts().export(tmp_path / "none" / "a.gpkg")
    with pytest.raises(ut.ArgumentError, match="is no path"):
        layouts().export(7)


@pytest.mark.parametrize(
    ("kind", "ending", "package", "extra"),
    [
        ("Site", ".gpkg", "pyogrio", "geo"),
        ("Site", ".gpx", "geopandas", "geo"),
        ("Site", ".geojson", "shapely", "geo"),
        ("Site", ".dxf", "ezdxf", "cad"),
        ("Ranking", ".parquet", "pyarrow", "tables"),
        ("Ranking", ".csv", "pyproj", "geo"),
        ("StrikeMap", ".tif", "rasterio", "raster"),
        ("StrikeMap", ".nc", "h5netcdf", "keep"),
    ],
)
def test_a_format_names_the_extra_that_it_needs(tmp_path, monkeypatch, kind, ending, package, extra):
    of = thing(kind)
    monkeypatch.setitem(sys.modules, package, None)
    with pytest.raises(ImportError, match=rf"a \{ending} file needs {package}.*underturf\[.*{extra}"):
        of.export(tmp_path / f"a{ending}")
    assert not list(tmp_path.iterdir())


def test_a_table_of_results_needs_no_extra_without_a_frame(tmp_path, monkeypatch):
    ranking = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7).rank()
    for package in ("shapely", "pyproj", "geopandas", "pyogrio", "pyarrow", "ezdxf", "rasterio"):
        monkeypatch.setitem(sys.modules, package, None)
    lines = ranking.export(tmp_path / "a.csv").read_text(encoding="utf-8").splitlines()
    assert [line[:5] for line in lines if not line.startswith("#")] == ['"dig"', '"shru', '"stak']


def test_digs_go_beside_layouts(tmp_path):
    spots = thing("Spots")
    path = layouts().export(tmp_path / "a.dxf", digs=spots)
    names = {layer.dxf.name for layer in ezdxf.readfile(path).layers}
    assert {"SPOTS", "LIKELY_LINES-LATERAL", "METAL_LINES-GAS", "HEADS", "MARKS-GAS", "DIGS"} <= names
    assert "total_loss" in said_in(path)
    points = gpxpy.parse(layouts().export(tmp_path / "a.gpx", digs="maple").read_text(encoding="utf-8")).waypoints
    assert points[0].name == "maple"
    assert "to strike a line" in points[0].description
    assert any(point.name.startswith("L1.") for point in points)
    with pytest.raises(ut.ArgumentError, match="digs go beside layouts into"):
        layouts().export(tmp_path / "a.csv", digs=spots)
    with pytest.raises(ut.DigError):
        layouts().export(tmp_path / "b.dxf", digs="no such dig")


def test_a_plan_without_anything_to_set_out_says_so(tmp_path):
    empty = layouts().plan_station_tests()
    assert len(empty) == 0
    with pytest.raises(ut.ArgumentError, match="no waypoint to write"):
        empty.export(tmp_path / "a.gpx")
    assert "valves_to_run" not in {name for name, _ in pyogrio.list_layers(empty.export(tmp_path / "a.gpkg"))}


def test_names_with_signs_are_what_they_were(tmp_path):
    """Through each format: quotes, dollars, braces, commands of drawings, other alphabets, 200 letters."""
    names = set(yard().heads["id"])
    assert any("$5 & $6" in name for name in names)
    assert max(map(len, names)) > 190
    collection = json.loads(yard().export(tmp_path / "a.geojson").read_text(encoding="utf-8"))
    got = {"geojson": {f["properties"]["name"] for f in collection["features"] if f["properties"]["layer"] == "heads"}}
    got["gpkg"] = set(pyogrio.read_dataframe(yard().export(tmp_path / "a.gpkg"), layer="heads")["name"])
    table = pd.read_csv(yard().export(tmp_path / "a.csv"), comment="#")
    got["csv"] = set(table[table["layer"] == "heads"]["name"])
    columns = pd.read_parquet(yard().export(tmp_path / "a.parquet"))
    got["parquet"] = set(columns[columns["layer"] == "heads"]["name"])
    waypoints = gpxpy.parse(yard().export(tmp_path / "a.gpx").read_text(encoding="utf-8")).waypoints
    got["gpx"] = {point.name for point in waypoints if point.type == "head"}
    for ending, found in got.items():
        trimmed = {name.strip() for name in found}
        assert trimmed == {name.strip() for name in names}, ending
    assert " ".join(NASTY.split()) in names


#: Pages of the documentation.
DOCS = Path(__file__).parents[2] / "python" / "docs"


def test_the_page_of_exports_runs():
    flags = doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS
    ran = doctest.testfile(str(DOCS / "exports.md"), module_relative=False, optionflags=flags, encoding="utf-8")
    assert ran.attempted > 12
    assert not ran.failed


def test_the_page_of_exports_names_every_ending_thing_and_layer():
    page = (DOCS / "exports.md").read_text(encoding="utf-8")
    names = {*ENDINGS, *(ending for endings in ENDINGS.values() for ending in endings)}
    for kind in ENDINGS:
        if kind not in ("StrikeMap", "Sensitivity"):
            names |= {layer.name for layer in layers_of(thing(kind), ground=True, pieces=True)}
    assert len(names) > 40
    assert not {name for name in names if f"`{name}`" not in page}
