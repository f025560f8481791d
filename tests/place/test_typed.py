"""Coordinates as people type them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trug.errors import InputError
from trug.place import parse_position

HELSINKI = (60 + 10 / 60 + 12 / 3600, 24 + 56 / 60 + 24 / 3600)  # 60.17, 24.94


@pytest.mark.parametrize(
    "text",
    [
        "60.17, 24.94",
        " 60.17 24.94 ",
        "60.17,24.94",
        "60,17 24,94",
        "60,17, 24,94",
        "60,17; 24,94",
        "60,17,24,94",
        "60·17 24·94",
        "geo:60.17,24.94",
        "60.17N 24.94E",
        "60.17° N, 24.94° E",
        "N60.17 E24.94",
        "24.94 E 60.17 N",
        "n 60.17, e 24.94",
        "60°10'12\"N 24°56'24\"E",
        "60° 10′ 12″ N, 24° 56′ 24″ E",
        "60°10'12''N 24°56'24''E",
        "60 10 12 24 56 24",
        "60 10 12 N 24 56 24 E",
        "N 60 10.2 E 24 56.4",
        "60°10,2'N 24°56,4'E",
        "60:10:12N 24:56:24E",
        "60d10m12s N 24d56m24s E",
        "lat 60.17 lon 24.94",
        "60.17 north 24.94 east",
    ],
)
def test_one_place_in_many_hands(text: str) -> None:
    assert parse_position(text) == pytest.approx(HELSINKI, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "lat", "lon"),
    [("-33.5, 151.25", -33.5, 151.25), ("33.5 S 70.25 W", -33.5, -70.25), ("S 0 30 W 0 15", -0.5, -0.25)]
    + [("-0 30, -0 15", -0.5, -0.25), ("−33,5 −70,25", -33.5, -70.25), ("61 25", 61.0, 25.0), ("90 180", 90.0, 180.0)],
)
def test_south_west_and_signs(text: str, lat: float, lon: float) -> None:
    assert parse_position(text) == pytest.approx((lat, lon))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("60,17", "may be one number or two"),
        ("60.17", "not two coordinates"),
        ("", "not two coordinates"),
        ("60 24 10", "not two coordinates"),
        ("91, 20", "not on the earth"),
        ("20, 181", "not on the earth"),
        ("60 60 24 10", "below 60"),
        ("60.5 10 N 24 56 E", "only the last"),
        ("60.17N 24.94N", "same direction twice"),
        ("-60.17N 24.94E", "both a sign and a letter"),
        ("60.17 N 24.94", "one letter for each"),
        ("60.17 O 24.94 N", "east in some tongues"),
        ("by the old oak", "not understood"),
        ("60.17, 24.94, 12", "too many separators"),
        ("60.17 24.94 !", "not understood"),
        ("1" * 300, "too long"),
    ],
)
def test_what_is_doubtful_is_refused_with_a_way_out(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        parse_position(text)


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_decimal_degrees_come_back(lat: float, lon: float) -> None:
    assert parse_position(f"{lat:.7f}, {lon:.7f}") == pytest.approx((lat, lon), abs=5e-8)
    assert parse_position(f"{lat:.7f} {lon:.7f}".replace(".", ",")) == pytest.approx((lat, lon), abs=5e-8)


@given(st.text(max_size=40))
def test_any_text_is_a_place_on_earth_or_refused(text: str) -> None:
    try:
        lat, lon = parse_position(text)
    except InputError:
        return
    assert abs(lat) <= 90
    assert abs(lon) <= 180
