"""Positions, datum names, altitude bands and distances."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from trug.determine.find import Place
from trug.errors import ImplausibleError, InputError
from trug.place import Position, altitude_band, distance_m, is_wgs84, position_of

LATS = st.floats(-90, 90)
LONS = st.floats(-180, 180)


@pytest.mark.parametrize(
    ("lat", "lon", "uncertainty"),
    [(90.1, 0, None), (-91, 0, None), (0, 180.5, None), (math.nan, 0, None), (0, math.inf, None)]
    + [(0, 0, 0), (0, 0, -5), (0, 0, math.nan), (0, 0, math.inf)],
)
def test_what_is_not_on_the_earth_is_refused(lat: float, lon: float, uncertainty: float | None) -> None:
    with pytest.raises(ImplausibleError):
        Position(lat, lon, uncertainty)


@pytest.mark.parametrize("name", ["WGS84", "wgs 84", "WGS-84", "EPSG:4326", "urn:ogc:def:crs:EPSG::4326", "WGS_1984"])
def test_names_of_wgs84_are_taken_and_kept_as_one(name: str) -> None:
    assert is_wgs84(name)
    assert Position(60.0, 25.0, datum=name).datum == "WGS84"


@pytest.mark.parametrize("name", ["NAD27", "ED50", "OSGB36", "ETRS89", "NAD83", "", "EPSG:3067", "WGS72"])
def test_another_datum_is_refused_and_not_shifted(name: str) -> None:
    with pytest.raises(InputError, match="give the position in WGS84"):
        Position(60.0, 25.0, datum=name)


def test_the_place_of_a_find_becomes_a_position() -> None:
    assert position_of(Place(60.5, 25.25, 12.0)) == Position(60.5, 25.25, 12.0)
    assert position_of(Place(60.5, 25.25, 0.0)).uncertainty_m is None


@given(st.floats(-500, 8900), st.floats(0, 300))
def test_a_band_holds_its_altitudes_and_is_its_own_band(low: float, span: float) -> None:
    assume(low + span <= 8900)
    band = altitude_band(low, low + span)

    assert band.low_m <= low
    assert low + span <= band.high_m
    assert band.low_m % 100 == band.high_m % 100 == 0
    assert altitude_band(band.low_m, band.high_m) == band


@pytest.mark.parametrize(("low", "high"), [(-501.0, None), (9000.0, None), (300.0, 200.0), (math.nan, None)])
def test_impossible_altitudes_are_refused(low: float, high: float | None) -> None:
    with pytest.raises(ImplausibleError):
        altitude_band(low, high)


@given(LATS, LONS, LATS, LONS)
def test_distances_agree_with_geographiclib(lat_1: float, lon_1: float, lat_2: float, lon_2: float) -> None:
    # C. F. F. Karney (2013), Algorithms for geodesics, doi:10.1007/s00190-012-0578-z, as in the package geographiclib
    geodesic = pytest.importorskip("geographiclib.geodesic").Geodesic.WGS84
    karney = geodesic.Inverse(lat_1, lon_1, lat_2, lon_2)["s12"]
    far_side = geodesic.Inverse(lat_1, lon_1, -lat_2, lon_2 + 180 if lon_2 < 0 else lon_2 - 180)["s12"] < 120_000

    ours = distance_m(lat_1, lon_1, lat_2, lon_2)

    assert ours == pytest.approx(karney, rel=0.006 if far_side else 0, abs=1e-3)


def test_distance_of_flinders_peak_and_buninyong() -> None:
    # Geocentric Datum of Australia Technical Manual, worked example of Vincenty's inverse formula (GRS 80, which
    # differs from WGS 84 by 0.1 mm in the minor axis): 54972.271 m
    flinders = (-(37 + 57 / 60 + 3.72030 / 3600), 144 + 25 / 60 + 29.52440 / 3600)
    buninyong = (-(37 + 39 / 60 + 10.15610 / 3600), 143 + 55 / 60 + 35.38390 / 3600)

    assert distance_m(*flinders, *buninyong) == pytest.approx(54972.271, abs=0.5e-3)


@given(LATS, LONS, LATS, LONS)
def test_the_way_back_is_as_long(lat_1: float, lon_1: float, lat_2: float, lon_2: float) -> None:
    there, back = distance_m(lat_1, lon_1, lat_2, lon_2), distance_m(lat_2, lon_2, lat_1, lon_1)

    assert there == pytest.approx(back, abs=1e-3)
    assert there >= 0


def test_the_date_line_is_no_distance() -> None:
    assert distance_m(10.0, 180.0, 10.0, -180.0) == 0
    assert distance_m(0.0, 179.95, 0.0, -179.95) == pytest.approx(distance_m(0.0, 0.0, 0.0, 0.1), abs=1e-6)
