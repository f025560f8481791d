"""Spreadsheets, maps and waypoints."""

from __future__ import annotations

import csv
import datetime
import json
from pathlib import Path

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from invented_finds import OCCURRENCES, TREE, as_read, read, released

from trug.errors import InputError, UnreadableError
from trug.place import Position
from trug.records.exchange import Occurrence, Waypoint, feature_of, read_waypoints, write_csv, write_geojson
from trug.records.exchange.neutral import neutral, restored

FINDS = st.lists(OCCURRENCES, max_size=4, unique_by=lambda o: o.occurrence_id)
SLOW = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
#: What a spreadsheet runs: OWASP, CSV Injection (cells that begin with = + - @, tab or carriage return).
DANGEROUS = ("=", "+", "-", "@", "\t", "\r")


@given(FINDS)
@SLOW
def test_a_table_is_read_by_python_and_holds_no_formula(tmp_path: Path, finds: list[Occurrence]) -> None:
    leaving = released(*finds)
    assert write_csv(tmp_path / "a.csv", leaving) == len(finds)
    with (tmp_path / "a.csv").open(encoding="utf-8", newline="") as file:
        header, *rows = list(csv.reader(file, strict=True))

    assert len(rows) == len(finds)
    assert {len(row) for row in rows} <= {len(header)}
    for row in rows:
        for cell in row:
            assert not cell.startswith(DANGEROUS) or float(cell) <= 0 or cell[0] == "+"


@given(FINDS)
@SLOW
def test_a_table_comes_back_whole_but_for_its_side_tables(tmp_path: Path, finds: list[Occurrence]) -> None:
    alone = [msgspec.structs.replace(find, media=(), measurements=(), identifications=()) for find in finds]
    leaving = released(*alone)
    write_csv(tmp_path / "a.csv", leaving)
    assert read(tmp_path / "a.csv") == ([as_read(find) for find in leaving], [])


@given(st.text())
def test_neutral_cells_are_harmless_and_can_be_restored(cell: str) -> None:
    safe = neutral(cell)
    assert restored(safe) == cell
    assert not safe.startswith(DANGEROUS) or safe.lstrip("+-").replace(".", "").replace(",", "").isdigit()


@pytest.mark.parametrize(
    "cell", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "'=1", "-", "=HYPERLINK(1)"]
)
def test_formulas_get_an_apostrophe(cell: str) -> None:
    assert neutral(cell) == "'" + cell


@pytest.mark.parametrize("cell", ["-3.25", "60.2", "+5", "oak", "", "it's", "'quoted'", "2026-10-04"])
def test_numbers_and_words_stay(cell: str) -> None:
    assert neutral(cell) == cell


@given(FINDS)
@SLOW
def test_a_map_keeps_the_rules_of_geojson(tmp_path: Path, finds: list[Occurrence]) -> None:
    # RFC 7946: sections 3.1.1 (longitude, then latitude), 3.2 and 3.3 (members), 4 (no crs, WGS 84), 7.1 (no members
    # of a Feature in a FeatureCollection and the like)
    leaving = released(*finds)
    write_geojson(tmp_path / "a.json", leaving)
    text = (tmp_path / "a.json").read_bytes()
    collection = json.loads(text.decode("utf-8"), parse_constant=pytest.fail)

    assert set(collection) == {"type", "features"}
    assert collection["type"] == "FeatureCollection"
    for feature, find in zip(collection["features"], leaving, strict=True):
        assert set(feature) == {"type", "geometry", "properties", "id"}
        assert feature["type"] == "Feature"
        assert isinstance(feature["properties"], dict)
        assert set(feature["geometry"]) == {"type", "coordinates"}
        assert feature["geometry"]["type"] == "Point"
        lon, lat = feature["geometry"]["coordinates"]
        assert (lat, lon) == (find.position.lat, find.position.lon)  # type: ignore[union-attr]
        assert -180 <= lon <= 180
        assert -90 <= lat <= 90


def test_a_find_without_a_place_has_no_geometry() -> None:
    # RFC 7946, section 3.2: an unlocated Feature has a null geometry
    feature = feature_of(Occurrence(occurrence_id="a", scientific_name="Boletus"))
    assert feature["geometry"] is None
    assert feature["properties"] == {"occurrenceID": "a", "scientificName": "Boletus"}
    assert feature_of(released(TREE)[0])["geometry"]["coordinates"] == [24.9, 60.2]


def test_an_empty_map_is_a_map(tmp_path: Path) -> None:
    write_geojson(tmp_path / "a.json", [])
    assert json.loads((tmp_path / "a.json").read_text()) == {"type": "FeatureCollection", "features": []}


GPX = """<?xml version="1.0"?>{before}
<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">{points}</gpx>"""
POINT = (
    '<wpt lat="60.16952" lon="24.93545"><ele>137.5</ele><time>2026-10-04T07:30:00Z</time>'
    "<name> stump </name><cmt>birch</cmt><desc>birch</desc></wpt>"
)


def gpx(path: Path, points: str, before: str = "") -> Path:
    path.write_text(GPX.format(points=points, before=before), "utf-8")
    return path


def test_waypoints_are_read_in_their_order(tmp_path: Path) -> None:
    first, second = read_waypoints(gpx(tmp_path / "a.gpx", POINT + '<wpt lat="-1" lon="180"/>'))
    time = datetime.datetime(2026, 10, 4, 7, 30, tzinfo=datetime.UTC)

    assert first == Waypoint("stump", Position(60.16952, 24.93545), time, 137.5, "birch")
    assert first.time is not None
    assert first.time.utcoffset() == datetime.timedelta(0)
    assert second == Waypoint("", Position(-1.0, 180.0))


@pytest.mark.parametrize(
    "before",
    [
        '<!DOCTYPE g [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>',
        '<!DOCTYPE g [<!ENTITY x SYSTEM "file:///etc/hostname">]>',
    ],
)
def test_entities_in_waypoints_are_refused(tmp_path: Path, before: str) -> None:
    with pytest.raises(UnreadableError, match="entities"):
        read_waypoints(gpx(tmp_path / "a.gpx", POINT, before))


@pytest.mark.parametrize(
    ("points", "told"),
    [
        ("", "no waypoints"),
        ('<trk><trkseg><trkpt lat="1" lon="1"/></trkseg></trk>', "no waypoints"),
        ('<wpt lat="91" lon="0"/>', "waypoint 1: latitude"),
        ('<wpt lat="x" lon="0"/>', "no GPX file"),
        ('<wpt lon="0"/>', "no GPX file"),
        ("<wpt", "not valid XML"),
    ],
)
def test_what_holds_no_waypoints_is_refused_with_a_sentence(tmp_path: Path, points: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        read_waypoints(gpx(tmp_path / "a.gpx", points))


def test_a_missing_file_and_another_format_are_refused(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError, match="cannot be read"):
        read_waypoints(tmp_path / "none.gpx")
    (tmp_path / "a.gpx").write_text("<html/>")
    with pytest.raises(InputError):
        read_waypoints(tmp_path / "a.gpx")
