"""Files in and out, in the browser's way."""

from __future__ import annotations

import io
import json
import re
import zipfile

import pytest

from trug.records.gatherings import add_find
from trug.records.tables import FindRow, Person, PlaceRow

GPX = b"""<?xml version="1.0"?><gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="55.12345" lon="12.54321"><name>Invented oak</name></wpt></gpx>"""


@pytest.fixture
def find(site, database):
    with database.writing() as unit:
        place = unit.make(PlaceRow(name="Invented wood", lat=55.676412, lon=12.568321, region="europe-north"))
        return add_find(
            unit, site.reasoner, date="2026-10-04", place_id=place.id, notes="beside the path at 55.676412, 12.568321"
        )


@pytest.mark.parametrize("ending", [".zip", ".csv", ".geojson"])
def test_finds_go_out_generalised(client, find, ending):
    answer = client.get(f"/exchange/finds{ending}")

    assert answer.status_code == 200
    assert f"finds{ending}" in answer.headers["content-disposition"]
    text = _text(answer.content) if ending == ".zip" else answer.text
    assert find.id in text
    assert "55.676" not in text
    assert "12.568" not in text


def test_exact_places_go_out_only_by_wish(client, token, find):
    refused = client.post("/exchange/exact", data={"csrf": token(client), "ending": ".csv"})
    given = client.post("/exchange/exact", data={"csrf": token(client), "ending": ".csv", "exact": "yes"})

    assert refused.status_code == 422
    assert "55.676412" not in refused.text
    assert given.status_code == 200
    assert "55.676412" in given.text


def test_a_file_that_went_out_comes_in_elsewhere_and_only_once(client, token, database, find):
    archive = client.get("/exchange/finds.zip").content
    again = {"file": ("finds.zip", archive, "application/zip")}
    answer = client.post("/exchange/import", data={"csrf": token(client)}, files=again)

    assert "0 finds and 0 looks taken over, 1 were here already" in answer.text
    with database.reading() as session:
        assert session.query(FindRow).count() == 1


def test_waypoints_become_places(client, token, database):
    answer = client.post("/exchange/import", data={"csrf": token(client)}, files={"file": ("walk.gpx", GPX)})

    assert "1 places taken over" in answer.text
    with database.reading() as session:
        place = session.query(PlaceRow).one()
    assert (place.name, place.lat, place.lon, place.region) == ("Invented oak", 55.12345, 12.54321, "europe-north")


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("walk.gpx", b"no gpx", "walk.gpx: is no GPX file"),
        ("finds.zip", b"PK no zip", "finds.zip: "),
        ("finds.exe", b"x", "only .zip"),
        ("../../etc/passwd.zip", b"x", "passwd.zip: "),
    ],
)
def test_other_files_are_refused_with_a_sentence(client, token, database, name, data, says):
    answer = client.post("/exchange/import", data={"csrf": token(client)}, files={"file": (name, data)})

    assert answer.status_code == 422
    assert says in re.sub(r"\s+", " ", answer.text)
    with database.reading() as session:
        assert session.query(FindRow).count() == 0


def test_the_backup_holds_everything(client, token, find):
    answer = client.post("/exchange/backup", data={"csrf": token(client)})

    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        manifest = json.loads(archive.read("manifest.json"))
    assert manifest["finds"] == 1
    assert set(manifest["parts"]) == {"trug.sqlite3"}


def _text(data: bytes) -> str:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return "\n".join(archive.read(name).decode() for name in archive.namelist())


def test_nobody_but_the_owner_gives_away_exact_places(client, token, database, find):
    with database.writing() as unit:
        other = unit.make(Person(name="Bo Fern"))
    client.post(f"/people/{other.id}/now", data={"csrf": token(client)})
    answer = client.post("/exchange/exact", data={"csrf": token(client), "ending": ".csv", "exact": "yes"})

    assert answer.status_code == 422
    assert "55.676" not in answer.text
    assert "55.676" not in client.get(f"/finds/{find.id}/label?exact=yes").text
