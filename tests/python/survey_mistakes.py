"""Broken survey files: what is in them, how they are read, and words that the one error must say."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

GPX = '<gpx version="1.1" creator="a" xmlns="http://www.topografix.com/GPX/1/1">{}</gpx>'


@dataclass(frozen=True)
class Mistake:
    """A file, or several, as texts, bytes or functions that write them; arguments; words that must be said."""

    files: dict[str, Any]
    words: tuple[str, ...]
    options: dict[str, Any] = field(default_factory=dict)
    raises: str = "ArgumentError"


def csv_of(text: str | bytes, *words: str, **options: Any) -> Mistake:
    return Mistake({"a.csv": text}, ("a.csv", *words), options)


def geojson(*geometries: Any, **properties: Any) -> str:
    features = [{"type": "Feature", "properties": properties, "geometry": of} for of in geometries]
    return json.dumps({"type": "FeatureCollection", "features": features})


def polygon(*corners: tuple[float, float]) -> dict[str, Any]:
    return {"type": "Polygon", "coordinates": [[*corners, corners[0]]]}


def point(*place: float) -> dict[str, Any]:
    return {"type": "Point", "coordinates": list(place)}


def vector(
    crs: str | None, codes: list[str], places: list[tuple[float, float]], **fields: Any
) -> Callable[[Path], None]:
    def write(path: Path) -> None:
        import warnings

        import geopandas

        frame = geopandas.GeoDataFrame(
            {"code": codes, **fields}, geometry=geopandas.points_from_xy(*zip(*places, strict=True)), crs=crs
        )
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            frame.to_file(path)

    return write


def emptied(path: Path) -> None:
    """A GeoPackage with one layer and nothing in it."""
    import geopandas

    frame = geopandas.GeoDataFrame({"code": ["HD"]}, geometry=geopandas.points_from_xy([8.0], [50.0]), crs="EPSG:4326")
    frame.iloc[:0].to_file(path, layer="heads", driver="GPKG")


def drawing(
    *add: tuple[str, tuple[Any, ...], str], insunits: int = 6, cut: int | None = None
) -> Callable[[Path], None]:
    def write(path: Path) -> None:
        import ezdxf

        made = ezdxf.new(units=insunits)
        for kind, arguments, layer in add:
            getattr(made.modelspace(), f"add_{kind}")(*arguments, dxfattribs={"layer": layer})
        made.saveas(path)
        if cut is not None:
            path.write_bytes(path.read_bytes()[:cut])

    return write


def book(*sheets: list[list[Any]], cut: int | None = None) -> Callable[[Path], None]:
    def write(path: Path) -> None:
        import openpyxl

        made = openpyxl.Workbook()
        made.remove(made.active)
        for k, rows in enumerate(sheets, start=1):
            sheet = made.create_sheet(f"S{k}")
            for row in rows:
                sheet.append(row)
        made.save(path)
        if cut is not None:
            path.write_bytes(path.read_bytes()[:cut])

    return write


def only(name: str, content: Any, *words: str, **options: Any) -> Mistake:
    return Mistake({name: content}, (name, *words), options)


def zipped() -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as file:
        file.writestr("a.txt", "no spreadsheet")
    return data.getvalue()


HEADS = "id,x_m,y_m,code\nh1,1,2,SPR\n"

MISTAKES: dict[str, Mistake] = {
    # tables: header and units
    "no unit anywhere": csv_of("id,x,y,code\nh1,1,2,SPR\n", "row 1: x and y have no unit", 'units="m"'),
    "two units": csv_of("id,x_ft,y_m,code\nh1,1,2,SPR\n", "x_ft and y_m are in different units"),
    "no places": csv_of("id,code\nh1,SPR\n", "row 1", "no columns of places", "columns are id, code"),
    "no y": csv_of("id,x_m,code\nh1,1,SPR\n", "a column of x and none of y"),
    "no lon": csv_of("id,lat,code\nh1,1,SPR\n", "a column of lat and none of lon"),
    "both planes": csv_of("x_m,y_m,lon,lat,code\n1,2,3,4,SPR\n", "has x and y, and longitude and latitude"),
    "a column twice": csv_of("x_m,y_m,code,desc\n1,2,SPR,a\n", "columns code and desc both say code"),
    "no header": csv_of(
        "1,100.0,200.0,5.0,SPR\n2,101.0,200.0,5.0,SPR\n", "row 1", "holds numbers, not names of columns", "header = ["
    ),
    "one column": csv_of("a b c\n1 2 3\n", "row 1: has one column", "commas, semicolons or tabs"),
    "degrees as x and y": csv_of(
        "x,y,code\n8.123456,50.123456,SPR\n8.123556,50.123556,SPR\n", "look like degrees", "lon and lat", units="m"
    ),
    "a unit that is none": Mistake(
        {"a.csv": HEADS}, ("units is 'metters'", 'did you mean "meters"?'), {"units": "metters"}
    ),
    # tables: cells
    "empty": csv_of("", "is empty"),
    "comments alone": csv_of("# nothing\n\n", "is empty"),
    "header alone": csv_of("id,x_m,y_m,code\n", "it has no rows"),
    "text for a number": csv_of("x_m,y_m,code\n1,two,SPR\n", "row 2: y_m is 'two', no number"),
    "nan": csv_of(
        "x_m,y_m,code\nnan,2,SPR\n1,inf,HD\n", "row 2: x_m is 'nan', no finite number", "row 3: y_m is 'inf'"
    ),
    "a place is missing": csv_of("x_m,y_m,code\n1,,SPR\n", "row 2: y_m is missing"),
    "decimal commas parted by commas": csv_of(
        "x_m,y_m,code\n1,5,2,5,SPR\n", "row 2: has 5 cells, the header has 3; a decimal comma"
    ),
    "decimal commas parted by semicolons": csv_of(
        "x_m;y_m;code\n1,5;2,5;SPR\n", "row 2: x_m is '1,5'", 'decimal = ","'
    ),
    "a short row": csv_of("x_m,y_m,code\n1,2\n", "row 2: has 2 cells, the header has 3"),
    "an open quote": csv_of('x_m,y_m,code\n1,2,"SPR\n', "cannot be parted into cells"),
    "utf-16 without its mark": csv_of(HEADS.encode("utf-16-le"), "zero bytes", "UTF-8"),
    "utf-16 cut off": csv_of(HEADS.encode("utf-16")[:-1], "no text that can be read"),
    "utf-16, unknown unit in it": csv_of("x,y,code\n1,2,SPR\n".encode("utf-16"), "x and y have no unit"),
    "windows-1252, nothing known in it": csv_of(
        "x_m,y_m,code\n1,2,Größe\n".encode("cp1252"), "code 'Größe' is not known"
    ),
    "a mark of byte order, and no number": csv_of(
        ("\ufeff" + HEADS.replace("1,2", "1,b")).encode(), "row 2: y_m is 'b'"
    ),
    "latitude and longitude swapped": csv_of(
        "lon,lat,code\n50.1,128.2,HD\n", "row 2", "no place on Earth; are they swapped?"
    ),
    "one of them swapped": csv_of("lon,lat,code\n8,50,HD\n8.0001,50,HD\n50,8,HD\n", "row 4", "lies", "swapped?"),
    # tables: codes and values
    "unknown codes alone": csv_of("x_m,y_m,code\n1,2,SPRY\n", "code 'SPRY' is not known", 'did you mean "SPR"?'),
    "no code": csv_of("x_m,y_m\n1,2\n", "row 2", "it has no code"),
    "a dig without depth": csv_of("x_m,y_m,code,radius_m\n1,2,DIG,0.3\n", "row 2", "has no depth", "defaults.digs"),
    "a dig without size": csv_of("x_m,y_m,code\n1,2,POST\n", "has no depth and radius"),
    "a probe without finding": csv_of("x_m,y_m,code,radius_m,depth_m\n1,2,PROBE,0.3,0.4\n", "has no found"),
    "a finding that is neither": csv_of(
        "x_m,y_m,code,radius_m,depth_m,found\n1,2,PROBE,0.3,0.4,maybe\n", "found is 'maybe'; write yes or no"
    ),
    "a source of no kind": csv_of("x_m,y_m,code\n1,2,SOURCE\n", "has no kind"),
    "a standing tree without a stem": csv_of("x_m,y_m,code\n1,2,TREE\n", "has no stem_diameter", "PLANT"),
    "a length without unit": csv_of("lon,lat,code,radius\n8,50,HD,12\n", "row 2: radius is '12' and has no unit"),
    "a kind against its code": csv_of(
        "x_m,y_m,code,kind\n1,2,SPR,rotor\n", "code SPR says kind spray, the field kind says rotor"
    ),
    "a kind that is none": csv_of("x_m,y_m,code,kind\n1,2,HD,sprinklr\n", "row 2: heads[0].kind"),
    "an outline of two corners": csv_of(
        "x_m,y_m,code\n0,0,BLD1\n9,0,BLD1\n5,5,HD\n", "row 2 to row 3", "has 2 corners; it needs 3"
    ),
    "a mark of one point": csv_of("x_m,y_m,code\n0,0,GAS1\n", "row 2", "has 1 points; it needs 2"),
    "an outline that crosses itself": csv_of(
        "x_m,y_m,code\n0,0,BLD1\n9,9,BLD1\n9,0,BLD1\n0,9,BLD1\n", "row 2 to row 5: obstacles[0].outline", "cross"
    ),
    "a day that is none": csv_of(
        "x_m,y_m,code,date\n0,0,GAS1,2026-02-30\n5,0,GAS1,2026-02-30\n", "row 2: date", "not a day"
    ),
    "two boundaries": csv_of(
        "x_m,y_m,code\n0,0,BND1\n9,0,BND1\n9,9,BND1\n0,0,BND2\n8,0,BND2\n8,8,BND2\n",
        "is a second boundary beside that of a.csv, row 2",
    ),
    "corners that disagree": csv_of(
        "x_m,y_m,code,kind\n0,0,OBSTACLE1,bed\n9,0,OBSTACLE1,pool\n9,9,OBSTACLE1,bed\n",
        "row 3: kind is pool, and bed at another point",
    ),
    # spreadsheets
    "a spreadsheet cut off": only(
        "a.xlsx", book([["x_m", "y_m", "code"], [1, 2, "HD"]], cut=900), "no spreadsheet that can be read"
    ),
    "another thing in a zip": only("a.xlsx", zipped(), "no spreadsheet that can be read"),
    "a spreadsheet of empty sheets": only("a.xlsx", book([], []), "sheet S1: is empty", "sheet S2: is empty"),
    "a text in a sheet": only("a.xlsx", book([["x_m", "y_m", "code"], [1, "b", "HD"]]), "sheet S1, row 2: y_m is 'b'"),
    "yes as a coordinate": only("a.xlsx", book([["x_m", "y_m", "code"], [1, True, "HD"]]), "row 2: y_m is True"),
    # GPX
    "a GPX cut off": only(
        "a.gpx", GPX.format('<wpt lat="50" lon="8"><name>HD</name></wpt>')[:110], "no GPX that can be read"
    ),
    "no GPX": only("a.gpx", "<kml/>", "it has no element gpx"),
    "an empty GPX": only("a.gpx", "", "is empty"),
    "a GPX of nothing": only("a.gpx", GPX.format(""), "no waypoints, routes or tracks"),
    "a latitude in words": only("a.gpx", GPX.format('<wpt lat="fifty" lon="8"/>'), "no GPX that can be read", "fifty"),
    "a latitude of 150": only(
        "a.gpx", GPX.format('<wpt lat="150" lon="8"><name>HD</name></wpt>'), "waypoint 1", "are they swapped?"
    ),
    "a building of two track points": only(
        "a.gpx",
        GPX.format(
            '<trk><name>BLD</name><trkseg><trkpt lat="50" lon="8"/><trkpt lat="50" lon="8.0001"/></trkseg></trk>'
        ),
        "track 1",
        "has 2 corners",
    ),
    # GeoJSON, GeoPackage, shapefiles
    "GeoJSON cut off": only("a.geojson", geojson(point(8, 50), code="HD")[:80], "cannot be read"),
    "GeoJSON without features": only("a.geojson", geojson(), "it has no features"),
    "GeoJSON of another system": only(
        "a.geojson",
        json.dumps(
            {
                **json.loads(geojson(point(5e5, 5e6), code="HD")),
                "crs": {"type": "name", "properties": {"name": "EPSG:32632"}},
            }
        ),
        "always in longitude and latitude (RFC 7946)",
    ),
    "GeoJSON swapped": only("a.geojson", geojson(point(50, 120), code="HD"), "feature 0", "are they swapped?"),
    "GeoJSON with feet": only("a.geojson", geojson(point(512000, 4980000), code="HD"), "no place on Earth"),
    "a polygon as a head": only(
        "a.geojson",
        geojson({"type": "LineString", "coordinates": [[8, 50], [8, 50.0001]]}, code="SPR"),
        "spray head: it is a point; this is a line",
    ),
    "a polygon as a mark": only(
        "a.geojson", geojson(polygon((8, 50), (8.0001, 50), (8, 50.0001)), code="GAS"), "it is a line; this is an area"
    ),
    "a ring that crosses itself": only(
        "a.geojson",
        geojson(polygon((8, 50), (8.0002, 50.0002), (8.0002, 50), (8, 50.0003)), code="BLD"),
        "feature 0",
        "cross",
    ),
    "swept ground with a hole": only(
        "a.geojson",
        geojson(
            {
                "type": "Polygon",
                "coordinates": [
                    [[8, 50], [8.001, 50], [8.001, 50.001], [8, 50]],
                    [[8.0004, 50.0002], [8.0005, 50.0002], [8.0005, 50.0003], [8.0004, 50.0002]],
                ],
            },
            code="SWEPT",
        ),
        "1 holes, where nobody swept",
    ),
    "null geometry alone": only("a.geojson", geojson(None, code="HD"), "it has no geometry"),
    "an empty layer": only("a.gpkg", emptied, "layer heads", "it has no features"),
    "no GeoPackage": only("a.gpkg", "hello", "cannot be read"),
    "a shapefile without system, in degrees": only(
        "a.shp",
        vector(None, ["HD", "HD"], [(8.1234567, 50.1), (8.1234, 50.10001)]),
        "no reference system",
        "look like degrees",
        "EPSG:4326",
    ),
    "a shapefile without system": only(
        "a.shp", vector(None, ["HD"], [(500.0, 900.0)]), "no reference system", 'units="m"'
    ),
    "a layer far from the frame": only(
        "a.gpkg",
        vector("EPSG:32633", ["HD"], [(500000, 5550000)]),
        "feature 1",
        "km from the frame's origin; is the reference system",
        frame={"lon": 8, "lat": 50},
    ),
    # drawings
    "a drawing without units": only(
        "a.dxf",
        drawing(("point", ((1, 2),), "HD"), insunits=0),
        "the drawing has no unit ($INSUNITS is 0)",
        'units="ft"',
    ),
    "a drawing in light years": only("a.dxf", drawing(("point", ((1, 2),), "HD"), insunits=19), "$INSUNITS is 19"),
    "a drawing cut off": only(
        "a.dxf", drawing(("point", ((1, 2),), "HD"), cut=-400), "is cut off: it does not end with EOF"
    ),
    "a text as a drawing": only("a.dxf", "hello\n", "no DXF that can be read"),
    "an empty drawing": only("a.dxf", drawing(), "holds no points, lines or blocks"),
    "unknown layers alone": only(
        "a.dxf", drawing(("point", ((1, 2),), "HEDS")), "layer 'HEDS' is not known", 'did you mean "HEADS"?'
    ),
    "a two-cornered building": only("a.dxf", drawing(("line", ((0, 0), (9, 0)), "BLD")), "layer BLD", "has 2 corners"),
    "a line round the Earth": only(
        "a.dxf", drawing(("arc", ((0, 0), 1e9, 0, 90), "GAS")), "layer GAS, ARC", "m wide, more than 20000 m"
    ),
    "an endless place": only("a.dxf", drawing(("point", ((1, float("inf")),), "HD")), "layer HD", "no finite numbers"),
    "a circle as a mark": only("a.dxf", drawing(("circle", ((0, 0), 4), "GAS")), "has 1 points; it needs 2"),
    # files
    "no ending that is known": only("a.docx", "hello", "must end in .csv, .tsv"),
    "a closed format": only("a.dwg", b"AC1032", "save it as .dxf"),
    "no such file": Mistake({}, ("there is no file", "a.csv"), raises="FileNotFoundError"),
    "a folder": Mistake({"a.csv": None}, ("is a folder",), raises="IsADirectoryError"),
    "a second site document": Mistake(
        {
            "a.toml": 'format = "underturf-site/2"\nunits = "m"\n',
            "b.toml": 'format = "underturf-site/2"\nunits = "m"\n',
        },
        ("b.toml", "second site document beside a.toml"),
    ),
    "a broken site document": Mistake(
        {"a.toml": 'format = "underturf-site/2"\nunits = "m"\nhedas = []\n'}, ("a.toml", "hedas", "heads")
    ),
    "a site document that is no TOML": Mistake({"a.toml": "units = \n"}, ("a.toml",)),
    "a broken JSON": Mistake({"a.json": '{"type": '}, ("a.json",)),
    "plane and Earth": Mistake(
        {"a.csv": HEADS, "b.csv": "id,lon,lat,code\nh9,8,50,HD\n"},
        ("a.csv", "is on the plane of the site, b.csv on Earth", "frame="),
    ),
    # options and mappings
    "a system that is none": Mistake(
        {"a.csv": "x,y,code\n1,2,HD\n"}, ("crs is 'EPSG:0'", "EPSG:26915"), {"crs": "EPSG:0"}
    ),
    "half a frame": Mistake({"a.csv": HEADS}, ("frame has no lat",), {"frame": {"lon": 8}}),
    "a bearing in the frame": Mistake(
        {"a.csv": HEADS}, ("frame has no key 'bearing_deg'",), {"frame": {"lon": 8, "lat": 5, "bearing_deg": 3}}
    ),
    "half an origin": Mistake({"a.csv": HEADS}, ("origin is (5,)",), {"origin": (5,)}),
    "a mapping with an unknown key": Mistake(
        {"a.csv": HEADS}, ("mapping, code:", 'did you mean "codes"?'), {"mapping": {"code": {}}}
    ),
    "a mapping to an unknown code": Mistake(
        {"a.csv": HEADS}, ("mapping, layers.V-IRRG: is 'SPRRY'",), {"mapping": {"layers": {"V-IRRG": "SPRRY"}}}
    ),
    "a mapping to an unknown list": Mistake(
        {"a.csv": HEADS},
        ("there is no list 'hedas'", 'did you mean "heads"?'),
        {"mapping": {"codes": {"A": {"list": "hedas"}}}},
    ),
    "a mapping to an unknown key": Mistake(
        {"a.csv": HEADS},
        ("codes.A.raduis: is no key of heads", 'did you mean "radius"?'),
        {"mapping": {"codes": {"A": {"list": "heads", "raduis": "3 m"}}}},
    ),
    "a default without unit": Mistake(
        {"a.csv": HEADS}, ("defaults.digs: depth = 2 has no unit",), {"mapping": {"defaults": {"digs": {"depth": 2}}}}
    ),
    "a default that is no length": Mistake(
        {"a.csv": "x_m,y_m,code\n1,2,POST\n"},
        ("depth of digs",),
        {"mapping": {"defaults": {"digs": {"depth": "deep", "radius": "1 ft"}}}},
    ),
    "a mapping of a file that is not read": Mistake(
        {"a.csv": HEADS},
        ("files.b.csv: no such file is read; there are a.csv",),
        {"mapping": {"files": {"b.csv": {"units": "m"}}}},
    ),
    "a column called what is no key": Mistake(
        {"a.csv": HEADS},
        ("columns.Tiefe: is 'dept'", 'did you mean "depth"?'),
        {"mapping": {"columns": {"Tiefe": "dept"}}},
    ),
    "several at once": csv_of(
        "x_m,y_m,code,radius_m\nb,2,HD,\n1,2,DIG,x\n1,c,HD,\n", "3 faults in the survey", "row 2", "row 3", "row 4"
    ),
}
