"""Tags of CIPA DC-008-2019 (EXIF 2.32), written by piexif and by Pillow, read by us."""

from __future__ import annotations

import datetime
from fractions import Fraction

import piexif
import pytest
from hypothesis import given
from hypothesis import strategies as st
from photo_builders import GPS, KINDS, exif_bytes, photo

from trug.records.photos.exif import camera_of, orientation_of, position_of, taken_of
from trug.records.photos.images import inspect


def test_our_tag_numbers_are_those_of_another_program() -> None:
    from trug.records.photos import exif as ours

    assert ours.DATE_TIME_ORIGINAL == piexif.ExifIFD.DateTimeOriginal == 36867
    assert ours.OFFSET_TIME_ORIGINAL == piexif.ExifIFD.OffsetTimeOriginal == 36881
    assert piexif.ImageIFD.Orientation == ours.ORIENTATION == 274
    assert piexif.ImageIFD.Make == ours.MAKE
    assert piexif.ImageIFD.Model == ours.MODEL
    names = {
        "GPSLatitudeRef": ours.LATITUDE_REF,
        "GPSLatitude": ours.LATITUDE,
        "GPSLongitudeRef": ours.LONGITUDE_REF,
        "GPSLongitude": ours.LONGITUDE,
        "GPSAltitudeRef": ours.ALTITUDE_REF,
        "GPSAltitude": ours.ALTITUDE,
        "GPSStatus": ours.STATUS,
        "GPSMapDatum": ours.MAP_DATUM,
        "GPSHPositioningError": ours.POSITIONING_ERROR,
    }
    assert {name: getattr(piexif.GPSIFD, name) for name in names} == names


@pytest.mark.parametrize("kind", KINDS)
def test_date_place_and_camera_are_read_from_every_kind(kind: str) -> None:
    gps = GPS | {
        piexif.GPSIFD.GPSAltitudeRef: 1,
        piexif.GPSIFD.GPSAltitude: (35, 2),
        piexif.GPSIFD.GPSHPositioningError: (48, 10),
        piexif.GPSIFD.GPSMapDatum: b"WGS-84",
    }
    told = {36867: b"2026:10:04 15:21:09", 36881: b"+02:00"}
    seen = inspect(photo(kind, exif=exif_bytes(gps=gps, exif=told, zeroth={271: b"Trugcam", 272: b"Trugcam 3"})))

    assert seen.taken == datetime.datetime(
        2026, 10, 4, 15, 21, 9, tzinfo=datetime.timezone(datetime.timedelta(hours=2))
    )
    assert seen.camera == "Trugcam 3"
    assert seen.position is not None
    assert seen.position.latitude == pytest.approx(-(12 + 34 / 60 + 56.78 / 3600), abs=1e-9)
    assert seen.position.longitude == pytest.approx(-(23 + 45 / 60 + 6.78 / 3600), abs=1e-9)
    assert seen.position.altitude_m == -17.5
    assert seen.position.uncertainty_m == 4.8
    assert seen.position.datum == "WGS84"


@pytest.mark.parametrize("kind", KINDS)
def test_a_photo_without_tags_has_neither_date_nor_place(kind: str) -> None:
    seen = inspect(photo(kind))
    assert (seen.taken, seen.position, seen.camera, seen.orientation) == (None, None, "", 1)


def test_a_time_without_a_zone_stays_without_one() -> None:
    taken = taken_of({36867: "2026:10:04 15:21:09"})
    assert taken == datetime.datetime(2026, 10, 4, 15, 21, 9)
    assert taken is not None
    assert taken.tzinfo is None


@pytest.mark.parametrize(
    "text", ["0000:00:00 00:00:00", "    :  :     :  :  ", "2026:13:01 00:00:00", "yesterday", "", None, 7]
)
def test_what_is_no_date_gives_none(text: object) -> None:
    assert taken_of({36867: text}) is None


def test_the_date_of_the_file_is_not_taken_for_that_of_the_photo() -> None:
    seen = inspect(photo("JPEG", exif=exif_bytes(zeroth={piexif.ImageIFD.DateTime: b"2026:10:04 15:21:09"})))
    assert seen.taken is None


SOMEWHERE = {1: "N", 2: (55.0, 30.0, 0.0), 3: "E", 4: (12.0, 0.0, 0.0)}


@pytest.mark.parametrize(
    "change",
    [
        {1: None},
        {1: "Q"},
        {3: ""},
        {2: (91.0, 0.0, 0.0)},
        {4: (181.0, 0.0, 0.0)},
        {2: (55.0, 61.0, 0.0)},
        {2: (55.0, 30.0)},
        {2: (float("nan"), 0.0, 0.0)},
        {2: (-55.0, 0.0, 0.0)},
        {2: "55"},
        {9: "V"},
        {2: (0.0, 0.0, 0.0), 4: (0.0, 0.0, 0.0)},
    ],
)
def test_a_place_that_cannot_be_right_is_no_place(change: dict[int, object]) -> None:
    assert position_of(SOMEWHERE) is not None
    assert position_of(SOMEWHERE | change) is None


def test_another_datum_is_named_and_not_passed_off_as_wgs84() -> None:
    found = position_of(SOMEWHERE | {18: "TOKYO"})
    assert found is not None
    assert found.datum == "TOKYO"


@given(
    st.fractions(-90, 90, max_denominator=10**6),
    st.fractions(-180, 180, max_denominator=10**6),
)
def test_every_place_comes_back_from_degrees_minutes_and_seconds(latitude: Fraction, longitude: Fraction) -> None:
    def parts(angle: Fraction) -> tuple[tuple[int, int], ...]:
        degrees, rest = divmod(abs(angle), 1)
        minutes, rest = divmod(rest * 60, 1)
        return (int(degrees), 1), (int(minutes), 1), (round(rest * 60 * 100_000), 100_000)

    gps = {1: b"N" if latitude >= 0 else b"S", 2: parts(latitude), 3: b"E" if longitude >= 0 else b"W"}
    written = piexif.load(exif_bytes(gps=gps | {4: parts(longitude)}))["GPS"]
    read = {tag: tuple(n / d for n, d in v) if isinstance(v, tuple) else v for tag, v in written.items()}
    found = position_of(read)
    if max(abs(latitude), abs(longitude)) < Fraction(1, 10**8):
        return
    assert found is not None
    assert found.latitude == pytest.approx(float(latitude), abs=2e-9)
    assert found.longitude == pytest.approx(float(longitude), abs=2e-9)


def test_a_camera_is_one_clean_short_line() -> None:
    assert camera_of({271: "Maker\x00junk", 272: "M 5"}) == "Maker M 5"
    assert camera_of({272: "a\nb\x1b[31m"}) == "a b [31m"
    assert len(camera_of({272: "x" * 500})) == 80


@pytest.mark.parametrize(("value", "meant"), [(1, 1), (8, 8), (0, 1), (9, 1), ("6", 1), (None, 1)])
def test_an_orientation_outside_one_to_eight_means_upright(value: object, meant: int) -> None:
    assert orientation_of({274: value}) == meant
