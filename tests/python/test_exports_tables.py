"""Tables read back by pandas and pyarrow: bit for bit, with places on Earth beside those of the site, and stakes with tapes."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest
import shapely
from exported import apart_m, layouts, on_earth, same, thing, yard
from pyarrow import parquet

import underturf as ut
from underturf.exporting import ENDINGS
from underturf.exporting.layer import flat
from underturf.exporting.layers import layers_of
from underturf.exporting.set_out import set_out
from underturf.exporting.tables import table_of

TABLES = [kind for kind, endings in ENDINGS.items() if ".csv" in endings]


def csv_of(path):
    """A CSV file as a user reads it."""
    return pd.read_csv(path, comment="#")


@pytest.mark.parametrize("kind", TABLES)
def test_csv_holds_every_number_bit_for_bit(tmp_path, kind):
    want = flat(table_of(thing(kind)))
    got = csv_of(thing(kind).export(tmp_path / "a.csv", crs="site"))
    assert list(got.columns) == list(want.columns)
    assert len(got) == len(want)
    for name in want.columns:
        cells = zip(got[name].tolist(), want[name].tolist(), strict=True)
        assert all(same(a, b) for a, b in cells), name


@pytest.mark.parametrize("kind", TABLES)
def test_parquet_holds_types_and_lists(tmp_path, kind):
    want = table_of(thing(kind))
    path = thing(kind).export(tmp_path / "a.parquet", crs="site")
    got = parquet.read_table(path)
    assert got.column_names == [str(name) for name in want.columns]
    assert not [name for name in got.column_names if str(got.schema.field(name).type) == "null"]
    frame = got.to_pandas()
    for name in want.columns:
        if want[name].dtype.kind == "f":
            assert np.array_equal(frame[name].to_numpy(), want[name].to_numpy(), equal_nan=True), name
        elif want[name].dtype.kind in "bi":
            assert frame[name].tolist() == want[name].tolist(), name
    whole = json.loads(parquet.read_schema(path).metadata[b"underturf"])
    assert whole["cautions"] == list(ut.CAUTIONS)
    assert whole["kind"] == kind


def test_parquet_keeps_every_draw_and_lists_as_lists(tmp_path):
    got = pd.read_parquet(layouts().export(tmp_path / "a.parquet"))
    want = layouts().segments()
    assert got["draw"].nunique() == layouts().draws
    assert (got["class"].astype(str) == want["class"].astype(str)).all()
    ties = pd.read_parquet(thing("Ranking").export(tmp_path / "b.parquet"))["tied_with"]
    assert [list(cell) for cell in ties] == [list(row.tied_with) for row in thing("Ranking")]


@pytest.mark.parametrize(("kind", "ends"), [("Layouts", ("0", "1")), ("Assessment", ("",)), ("StrikeMap", ("",))])
def test_places_on_earth_stand_beside_those_of_the_site(tmp_path, kind, ends):
    """To 1 mm."""
    got = pd.read_parquet(thing(kind).export(tmp_path / "a.parquet"))
    local = pd.read_parquet(thing(kind).export(tmp_path / "b.parquet", crs="local"))
    for end in ends:
        true = on_earth(got[[f"x{end}_m", f"y{end}_m"]])
        assert apart_m(got[[f"lon{end}_deg", f"lat{end}_deg"]], true) < 1e-3
        east, north = local[f"east{end}_m"], local[f"north{end}_m"]
        assert np.allclose(np.hypot(east, north), np.hypot(got[f"x{end}_m"], got[f"y{end}_m"]))


def test_classes_not_assessed_are_null_in_tables(tmp_path):
    unknown = thing("Assessment").not_assessed
    assert unknown
    for table in (
        csv_of(thing("Assessment").export(tmp_path / "a.csv")),
        pd.read_parquet(thing("Assessment").export(tmp_path / "a.parquet")),
    ):
        for name in ut.CLASSES:
            assert bool(table[f"p_{name}"].isna().all()) is (name in unknown), name


def test_shapes_of_a_site_are_well_known_text(tmp_path):
    got = csv_of(yard().export(tmp_path / "a.csv"))
    for layer in layers_of(yard()):
        rows = got[got["layer"] == layer.name]
        assert len(rows) == len(layer)
        for text, shape in zip(
            rows["wkt"], layer.shapes if layer.shapes is not None else [None] * len(rows), strict=True
        ):
            if shape is None:
                assert pd.isna(text)
            else:
                assert np.allclose(
                    shapely.get_coordinates(shapely.from_wkt(text)), shapely.get_coordinates(shape), atol=1e-12
                )
    assert set(got["layer"]) >= {
        "heads",
        "probe_slits",
        "station_tests",
        "tolerance_zones",
        "dig_footprints",
        "services",
    }


def test_a_dig_is_as_wide_as_the_ball_of_its_tree_needs(tmp_path):
    got = csv_of(yard().export(tmp_path / "a.csv"))
    maple = got[(got["layer"] == "digs") & (got["name"] == "maple")].iloc[0]
    assert maple["drawn_width_m"] == pytest.approx(2 * 1.5 * 0.3048)
    assert maple["width_m"] > maple["drawn_width_m"]
    outline = got[(got["layer"] == "dig_footprints") & (got["name"] == "maple")].iloc[0]
    assert outline["circle_radius_m"] == pytest.approx(maple["width_m"] / 2)


@pytest.mark.parametrize("kind", [kind for kind, endings in ENDINGS.items() if ".stakes.csv" in endings])
def test_tapes_lead_to_the_point(tmp_path, kind):
    """Two circles about the points measured from, and the offset from their line, meet where the point is, to 1e-6 m."""
    of = thing(kind)
    got = csv_of(of.export(tmp_path / "a.stakes.csv"))
    points = set_out(of)
    assert len(got) == len(points) > 0
    assert got["label"].astype(str).str.strip().tolist() == [" ".join(point.label.split()) for point in points]
    tied = got[got["to_a_m"].notna()]
    for row in tied.to_dict("records"):
        at, a, b = (np.array([row[f"x{end}_m"], row[f"y{end}_m"]]) for end in ("", "_a", "_b"))
        assert np.hypot(*(at - a)) == pytest.approx(row["to_a_m"], abs=1e-6)
        assert np.hypot(*(at - b)) == pytest.approx(row["to_b_m"], abs=1e-6)
        along = (b - a) / row["a_to_b_m"]
        left = np.array([-along[1], along[0]])
        assert a + row["along_m"] * along + row["left_m"] * left == pytest.approx(at, abs=1e-6)
    assert got.loc[got["to_a_m"].isna(), "no_tie"].notna().all()
    if kind in ("Layouts", "Spots"):
        assert len(tied) > 0
        assert tied["tape_a"].str.contains("'").all(), "feet and inches"
    if "lon_deg" in got:
        assert apart_m(got[["lon_deg", "lat_deg"]], on_earth(got[["x_m", "y_m"]])) < 1e-3


def test_stakes_have_the_labels_of_the_sheet():
    from underturf.crew.plan import make_plan

    plan = make_plan(layouts(), [], None, ut.SheetOptions())
    labels = [stake.label for stake in plan.stakes]
    assert [point.label for point in set_out(layouts())] == labels
    (layer,) = [layer for layer in layers_of(layouts()) if layer.name == "stakes"]
    assert layer.table["name"].tolist() == labels
    by_line = {(row["on"], row["line"]): row["class"] for row in layer.table.to_dict("records")}
    assert by_line["likely line", 1] == layouts().likely_lines()["class"].iloc[0]
    (metal,) = [layer for layer in layers_of(thing("MetalLines")) if layer.name == "stakes"]
    assert metal.table["name"].iloc[0] == "ML1.1"
    assert set(metal.table["class"]) == {thing("MetalLines")[0].treat_as}
