"""Frames place a site on Earth to a millimetre: against geodesics, all over the world, turned any way."""

from __future__ import annotations

import numpy as np
import pytest
from exported import apart_m, on_earth, yard
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod

import underturf as ut
from underturf.frames import LocalFrame

#: Within 500 m of the origin, and no nearer to a pole than 1 degree.
PLACES = st.lists(st.tuples(st.floats(-350, 350), st.floats(-350, 350)), min_size=1, max_size=8)
FRAMES = st.builds(LocalFrame, st.floats(-180, 180), st.floats(-89, 89), st.floats(-360, 360))


def as_dict(frame):
    return {"lon": frame.lon, "lat": frame.lat, "azimuth_deg": frame.azimuth_deg}


@settings(max_examples=60, deadline=None)
@given(FRAMES, PLACES)
def test_places_are_where_geodesics_lead(frame, places):
    """To 1 mm within 500 m: a transverse Mercator and a geodesic part by d³ / (3 R²), 1 µm, and rounding."""
    assert apart_m(frame.to_lonlat(places), on_earth(places, as_dict(frame))) < 1e-3


@settings(max_examples=60, deadline=None)
@given(FRAMES, PLACES)
def test_there_and_back_is_the_same_place(frame, places):
    back = frame.to_site(frame.to_lonlat(places))
    assert np.abs(back - np.array(places)).max() < 1e-5


def test_a_turn_the_wrong_way_is_seen():
    """Planted faults: the azimuth with the wrong sign, the axes mixed up, longitude and latitude swapped."""
    frame, places = LocalFrame(-58.4, -34.6, 25.0), np.array([[30.0, 10.0]])
    true = on_earth(places, as_dict(frame))
    for wrong in (
        LocalFrame(-58.4, -34.6, -25.0).to_lonlat(places),
        frame.to_lonlat(places[:, ::-1]),
        LocalFrame(-34.6, -58.4, 25.0).to_lonlat(places),
    ):
        assert apart_m(wrong, true) > 10.0


def test_distances_between_places_hold():
    """To 1 mm over 700 m."""
    frame = LocalFrame(151.2, -33.8, 77.0)
    places = np.random.default_rng(1).uniform(-350, 350, (40, 2))
    (a, b), (c, d) = frame.to_lonlat(places[:20]).T, frame.to_lonlat(places[20:]).T
    lengths = Geod(ellps="WGS84").inv(a, b, c, d)[2]
    assert np.abs(lengths - np.hypot(*(places[:20] - places[20:]).T)).max() < 1e-3


@settings(max_examples=30, deadline=None)
@given(FRAMES, PLACES)
def test_the_affine_map_leads_to_the_projection(frame, places):
    from pyproj import Transformer

    a, b, c, d, e, f = frame.affine()
    x, y = np.array(places).T
    lon, lat = Transformer.from_crs(frame.crs(), "EPSG:4326", always_xy=True).transform(
        a * x + b * y + c, d * x + e * y + f
    )
    assert apart_m(np.column_stack([lon, lat]), frame.to_lonlat(places)) < 1e-6


def test_a_site_on_the_180th_meridian_stays_in_one_piece():
    lon = LocalFrame(179.9999, -17.0).to_lonlat([[-100.0, 0.0], [100.0, 0.0]])[:, 0]
    assert lon[0] < 180.0 < lon[1]


def test_scale_error_is_that_of_a_sphere():
    """d² / (2 R²), with R between the radii of curvature: 1 % apart."""
    assert LocalFrame(10.0, 45.0).scale_error(500.0) == pytest.approx(500.0**2 / (2 * 6.378e6**2), rel=0.01)


def test_a_frame_is_that_of_the_document():
    assert LocalFrame.of(yard()) == LocalFrame(-58.4, -34.6, 25.0)
    assert LocalFrame.of(yard(framed=False)) is None
    first = {"format": "underturf-site/1", "units": "m", "frame": {"lon": 1.0, "lat": 2.0, "bearing_deg": 30.0}}
    assert LocalFrame.of(ut.Site.from_dict(first)).azimuth_deg == 330.0
