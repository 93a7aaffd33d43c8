"""Maps as rasters: every cell where it lies on Earth, whatever way the site is turned, with its masks and cautions."""

from __future__ import annotations

import numpy as np
import pytest
import rasterio
import xarray
from exported import FRAME, YARD, apart_m, layouts, on_earth, thing, yard
from pyproj import CRS, Transformer

import underturf as ut

#: Turns of the site: none, one way, the other way, upside down.
TURNS = [0.0, 25.0, -40.0, 180.0]


def turned(azimuth, lon=-58.4, lat=-34.6):
    """The map of the yard with its frame turned: the same cells, elsewhere on Earth."""
    frame = {"lon": lon, "lat": lat, "azimuth_deg": azimuth % 360}
    document = {key: YARD[key] for key in ("format", "units", "name", "boundary", "heads", "marks")}
    site = ut.Site.from_dict({**document, "frame": frame})
    return ut.sample_layouts(site, draws=20, seed=7).strike_map(cell_m=1.0), frame


def cells(smap):
    """Middles of all cells, row by row."""
    x, y = np.meshgrid(smap.x_m, smap.y_m)
    return np.column_stack([x.ravel(), y.ravel()])


@pytest.mark.parametrize("azimuth", TURNS)
@pytest.mark.parametrize("place", [(-58.4, -34.6), (24.9, 60.2), (179.9999, -17.0)])
def test_cells_of_a_geotiff_are_where_geodesics_lead(tmp_path, azimuth, place):
    """To 1 mm. Planted faults: the turn the wrong way, rows from the bottom up."""
    smap, frame = turned(azimuth, *place)
    with rasterio.open(smap.export(tmp_path / "a.tif")) as raster:
        assert raster.crs.is_projected
        rows, cols = np.meshgrid(np.arange(raster.height), np.arange(raster.width), indexing="ij")
        x, y = raster.transform @ (cols.ravel() + 0.5, rows.ravel() + 0.5)
        to_earth = Transformer.from_crs(CRS.from_wkt(raster.crs.to_wkt()), "EPSG:4326", always_xy=True)
        got = np.column_stack(to_earth.transform(x, y))
    assert apart_m(got, on_earth(cells(smap), frame)) < 1e-3
    assert apart_m(got, on_earth(cells(smap)[::-1], frame)) > 1.0
    if azimuth % 180:
        assert apart_m(got, on_earth(cells(smap), {**frame, "azimuth_deg": -azimuth})) > 1.0


def test_a_geotiff_holds_what_the_map_holds(tmp_path):
    smap = thing("StrikeMap")
    assert smap.in_tolerance_zone.any()
    with rasterio.open(smap.export(tmp_path / "a.tif")) as raster:
        assert raster.descriptions == ("p_strike", "mcse", "p_upper95", "in_tolerance_zone", "on_flagged_metal")
        assert np.isnan(raster.nodata)
        for k, values in enumerate((smap.p, smap.mcse, smap.upper, smap.in_tolerance_zone, smap.on_flagged_metal), 1):
            assert np.array_equal(raster.read(k), values, equal_nan=True)
        assert raster.read(1, masked=True).mask.sum() == np.isnan(smap.p).sum()
        assert raster.res == pytest.approx((0.5, 0.5))


def test_the_map_of_a_dig_keeps_where_it_may_not_be_dug(tmp_path):
    """NaN stays NaN, and the chance of a line in the setback of its tree has a band of its own."""
    (smap,) = layouts().dig_maps("maple", reach_m=2.0, cell_m=0.5)
    assert np.isnan(smap.p).any()
    with rasterio.open(smap.export(tmp_path / "a.tif")) as raster:
        assert raster.descriptions[-1] == "p_setback"
        assert np.array_equal(raster.read(raster.count), smap.p_setback, equal_nan=True)
        assert np.array_equal(np.isnan(raster.read(1)), np.isnan(smap.p))
        assert {"no_better", "setback_limit", "what"} <= set(raster.tags())


def test_without_a_frame_the_plane_is_the_site_s(tmp_path):
    layouts_of_bare = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=20, seed=7)
    smap = layouts_of_bare.strike_map(cell_m=0.5)
    with rasterio.open(smap.export(tmp_path / "a.tif")) as raster:
        x, y = raster.transform @ (0.5, 0.5)
        assert (x, y) == pytest.approx((smap.x_m[0], smap.y_m[0]), abs=1e-12)
        assert not raster.crs.is_projected
        assert not raster.crs.is_geographic
        assert "plane of the site document" in raster.tags()["coordinates"]
    with xarray.open_dataset(smap.export(tmp_path / "a.nc")) as data:
        assert "crs" not in data.variables
        assert "standard_name" not in data["x"].attrs
        assert np.array_equal(data["x"], smap.x_m)
    with xarray.open_dataset(thing("StrikeMap").export(tmp_path / "b.nc", crs="site")) as data:
        assert "crs" not in data.variables


@pytest.mark.parametrize("azimuth", TURNS)
def test_netcdf_follows_cf_and_places_every_cell(tmp_path, azimuth):
    """CF 1.11: 5.2 (longitude and latitude of each cell), 5.6 (projections). To 1 mm, read by three ways."""
    smap, frame = turned(azimuth)
    with xarray.open_dataset(smap.export(tmp_path / "a.nc"), decode_coords="all") as data:
        assert data.attrs["Conventions"] == "CF-1.11"
        true = on_earth(cells(smap), frame)
        assert apart_m(np.column_stack([data["lon"].values.ravel(), data["lat"].values.ravel()]), true) < 1e-3
        assert data["lon"].attrs["units"] == "degrees_east"
        assert data["lat"].attrs["standard_name"] == "latitude"
        crs = CRS.from_cf(data["crs"].attrs)
        assert data["crs"].attrs["grid_mapping_name"] == "transverse_mercator"
        if azimuth:
            assert "standard_name" not in data["x"].attrs
            x, y = data["east"].values.ravel(), data["north"].values.ravel()
            assert data["east"].attrs["standard_name"] == "projection_x_coordinate"
            assert data["p_strike"].encoding["grid_mapping"] == "crs: east north"
        else:
            assert data["x"].attrs["standard_name"] == "projection_x_coordinate"
            assert data["p_strike"].encoding["grid_mapping"] == "crs"
            x, y = (axis.ravel() for axis in np.meshgrid(data["x"], data["y"]))
        got = np.column_stack(Transformer.from_crs(crs, "EPSG:4326", always_xy=True).transform(x, y))
        assert apart_m(got, true) < 1e-3
        if azimuth % 180:
            assert apart_m(got, on_earth(cells(smap), {**frame, "azimuth_deg": -azimuth})) > 1.0


def test_netcdf_holds_what_the_map_holds(tmp_path):
    smap = thing("StrikeMap")
    with xarray.open_dataset(smap.export(tmp_path / "a.nc")) as data:
        for name, values in (("p_strike", smap.p), ("mcse", smap.mcse), ("p_upper95", smap.upper)):
            assert np.array_equal(data[name], values, equal_nan=True)
        assert np.array_equal(data["in_tolerance_zone"], smap.in_tolerance_zone)
        assert np.array_equal(data["on_flagged_metal"], smap.on_flagged_metal)
        assert data["in_tolerance_zone"].attrs["flag_meanings"] == "outside inside"
        assert set(data["p_strike"].encoding["coordinates"].split()) == {"lon", "lat", "east", "north"}


def test_the_frame_of_the_map_is_that_of_its_site(tmp_path):
    with rasterio.open(thing("StrikeMap").export(tmp_path / "a.tif")) as raster:
        assert str(FRAME["azimuth_deg"]) in raster.tags()["frame"]
        a, d = raster.transform.a, raster.transform.d
    assert np.degrees(np.arctan2(-d, a)) == pytest.approx(yard().to_dict()["frame"]["azimuth_deg"])
