"""The plane of a site: published examples, true distances, and the way back."""

from __future__ import annotations

import math

import numpy as np
import pyproj
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from underturf.frames import LocalFrame
from underturf.survey.projection import SCALE_LIMIT, plane, scale_error

frames = st.builds(LocalFrame, st.floats(-179, 179), st.floats(-80, 80), st.floats(-360, 360))
near = st.lists(st.tuples(st.floats(-2000, 2000), st.floats(-2000, 2000)), min_size=2, max_size=6)

#: Geodesics of WGS 84 after Karney, "Algorithms for geodesics", J. Geodesy 87 (2013), as the library has them.
GEOD = pyproj.Geod(ellps="WGS84")


def test_transverse_mercator_gives_the_published_example():
    """IOGP Guidance Note 7 part 2 (373-07-02, 2019), page 54: 50 30 N, 0 30 E on Airy 1830; given to a centimetre."""
    grid = pyproj.CRS.from_proj4(
        "+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000 +a=6377563.396 +rf=299.32496 +units=m"
    )
    over = pyproj.Transformer.from_crs(grid.geodetic_crs, grid, always_xy=True)
    east, north = over.transform(0.5, 50.5)
    assert (east, north) == pytest.approx((577274.99, 69740.50), abs=0.011)


def test_the_plane_agrees_with_a_national_grid_after_its_scale():
    """Near the central meridian of a UTM zone, a distance on the plane is that of the grid / 0.9996."""
    grid = [(500_000.0, 5_000_000.0), (500_300.0, 5_000_400.0)]
    found, said = plane(LocalFrame(9.0, 45.15), grid, "EPSG:32632")
    assert math.dist(*found) == pytest.approx(500 / 0.9996, abs=1e-4)
    assert "UTM zone 32N" in said


@settings(max_examples=60, deadline=None)
@given(frames, near)
def test_distances_on_the_plane_are_true_to_the_stated_scale_error(frame, points):
    degrees = frame.to_lonlat(points)
    error = scale_error(frame, np.array(points))
    assert error < SCALE_LIMIT
    for (lon, lat), (lon2, lat2), a, b in zip(degrees, degrees[1:], points, points[1:], strict=False):
        true = GEOD.inv(lon, lat, lon2, lat2)[2]
        # Plus 2e-6 m for rounding of degrees in 64 bits and for the series.
        assert abs(math.dist(a, b) - true) <= error * true + 2e-6


@settings(max_examples=60, deadline=None)
@given(frames, near)
def test_to_earth_and_back_is_the_same_place(frame, points):
    back, _ = plane(frame, [(float(lon), float(lat)) for lon, lat in frame.to_lonlat(points)])
    assert np.abs(back - np.array(points)).max() < 1e-6


@settings(max_examples=40, deadline=None)
@given(frames, st.floats(1, 2000))
def test_the_y_axis_points_to_its_azimuth(frame, away):
    lon, lat = frame.to_lonlat([(0.0, away)])[0]
    azimuth, _, distance = GEOD.inv(frame.lon, frame.lat, lon, lat)
    assert (azimuth - frame.azimuth_deg + 180) % 360 - 180 == pytest.approx(0, abs=0.01)
    assert distance == pytest.approx(away, rel=1e-6)


def test_the_scale_error_is_that_of_the_closed_form():
    """k - 1 = x^2 / (2 R^2) to first order, R^2 = rho nu (Snyder, Map Projections, USGS PP 1395, 1987, 8-11; from memory)."""
    frame = LocalFrame(8.0, 50.0)
    a, e2 = 6378137.0, 0.00669437999014
    w2 = 1 - e2 * math.sin(math.radians(50)) ** 2
    radius2 = a * a * (1 - e2) / w2**2
    for x in (500.0, 2000.0, 10_000.0):
        assert scale_error(frame, np.array([[x, 0.0]])) == pytest.approx(x * x / (2 * radius2), rel=1e-4, abs=1e-11), (
            "the library differentiates numerically"
        )


def test_a_plane_far_from_its_origin_is_warned_of(tmp_path):
    import underturf as ut

    (tmp_path / "a.csv").write_text("id,lon,lat,code\na,8.2,50,HD\n", encoding="utf-8")
    said = ut.read_survey(tmp_path / "a.csv", frame={"lon": 8.0, "lat": 50.0}).report.notes
    assert any("WARNING, more than 1e-6" in note for note in said)
    said = ut.read_survey(tmp_path / "a.csv", frame={"lon": 8.19, "lat": 50.0}).report.notes
    assert not any("WARNING" in note for note in said)
    assert any("scale error 6.3e-09 at most" in note for note in said)
