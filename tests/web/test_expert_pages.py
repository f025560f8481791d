from __future__ import annotations

import datetime
import hashlib
import io
import json
import re
import shutil
import subprocess
import tomllib
import zipfile
from dataclasses import asdict, replace

import piexif
import pytest
from cluster_find import LAT, LON, PLACE, VELVET, Cluster, make_cluster, sign_cluster
from fastapi.testclient import TestClient
from PIL import Image

from trug.determine.find import Evidence, Look, Measurement, Sample
from trug.records.database import Database
from trug.records.find_files import read_find_text
from trug.records.gatherings import correct_find, make_print, state_name
from trug.records.photos.outward import carried
from trug.records.pictures import add_photo
from trug.records.reasoning import Reasoner
from trug.records.replies import Reply, read_reply, seal_of
from trug.records.tables import ExpertPacket, ExpertReply, FindRow, StatedName
from trug.web.packet_page import spore_notation

#: A place in the sea, in the photo's own tags.
GPS = {
    piexif.GPSIFD.GPSLatitudeRef: b"N",
    piexif.GPSIFD.GPSLatitude: ((55, 1), (40, 1), (3508, 100)),
    piexif.GPSIFD.GPSLongitudeRef: b"E",
    piexif.GPSIFD.GPSLongitude: ((12, 1), (34, 1), (595, 100)),
}
#: Nothing of this may stand in a packet, whatever its question; exact figures down to the grid's next decimal.
PLACES = (PLACE, "sluice", "55.67", "12.56", "137", str(LAT), str(LON), "GPS", "Exif")
PEOPLE = ("Ada Moss", "Ada", "Bo Fern")
NAMES = ("Flammulina", "velvet shank", "Galerina", "Kuehneromyces", "Enoki-like")


@pytest.fixture
def cluster(database: Database, reasoner: Reasoner) -> Cluster:
    made = make_cluster(database, reasoner)
    out = io.BytesIO()
    Image.new("RGB", (64, 48), (140, 90, 40)).save(
        out, "JPEG", exif=piexif.dump({"0th": {piexif.ImageIFD.Artist: b"Ada Moss"}, "GPS": GPS})
    )
    with database.writing(made.ada) as unit:
        state_name(unit, reasoner, made.find, "Galerina marginata", stated_by="Ada Moss", remarks="Enoki-like")
        make_print(unit, reasoner, made.a, colour="white", kept_at=f"in Ada's drawer at {PLACE}")
        caption = f"Ada: Flammulina at {PLACE}, {LAT}, {LON}"
        add_photo(database, unit, made.find, out.getvalue(), fruitbody_id=made.a, role="underside", caption=caption)
        view = io.BytesIO()
        Image.new("RGB", (32, 32), (10, 120, 40)).save(view, "PNG")
        add_photo(database, unit, made.find, view.getvalue(), role="place", caption="the way there")
    sign_cluster(database, reasoner, made)
    return made


def ask(client: TestClient, cluster: Cluster, csrf: str, **fields: str) -> str:
    """Make a packet and return its id."""
    data = {"csrf": csrf, "question": "What is it?", "recipient": "Dr. Cap", "names": "hidden", **fields}
    answer = client.post(f"/finds/{cluster.find}/expert", data=data)
    assert answer.status_code == 200, answer.text
    return re.search(rf"/finds/{cluster.find}/expert/([0-9a-f-]+)\.zip", answer.text)[1]


def files_of(client: TestClient, cluster: Cluster, packet: str) -> dict[str, bytes]:
    answer = client.get(f"/finds/{cluster.find}/expert/{packet}.zip")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def test_a_packet_holds_page_find_photos_and_reply_form(client, cluster, token, site):
    files = files_of(client, cluster, ask(client, cluster, token(client)))
    assert set(files) == {"packet.html", "find.json", "reply.toml", "photos/01-a-underside.jpg"}
    page = files["packet.html"].decode()
    assert 'src="photos/01-a-underside.jpg"' in page
    assert "What is it?" in page
    assert "9.4 µm × 3.5 µm; Q = 2.7" in page
    assert not re.search(r"""(?:src|href)=["'](?!photos/)""", page), "it opens without a network"
    photo = files["photos/01-a-underside.jpg"]
    assert carried(photo) == ()
    find = json.loads(files["find.json"])
    assert find["format"] == "trug.find/1"
    assert find["photos"] == [{"sha256": hashlib.sha256(photo).hexdigest(), "role": "underside"}]
    assert {o["id"] for o in find["observers"]} == {"A"}
    read = read_find_text(files["find.json"].decode(), site.here.vocabulary, datetime.date(2026, 12, 1))
    assert read.warnings == ()
    assert len(read.find.looks) > 40


@pytest.mark.parametrize("names", ["hidden", "shown"])
def test_no_place_and_no_person_leaves(client, cluster, token, names):
    question = f"Ada Moss found it at {PLACE}, {LAT}, {LON}: what is it?"
    files = files_of(client, cluster, ask(client, cluster, token(client), names=names, question=question))
    for name, data in files.items():
        text = data.decode("latin-1" if name.endswith(".jpg") else "utf-8")
        ids = re.compile(r"[0-9a-f]{8}-[0-9a-f-]{27}|[0-9a-f]{64}")
        for secret in (*PLACES, *PEOPLE):
            if not (name.endswith(".jpg") and len(secret) < 5):
                assert not re.search(rf"\b{re.escape(secret)}", ids.sub("", text)), (name, secret)
    assert b'"device"' not in files["find.json"]
    place = json.loads(files["find.json"])["place"]
    assert (place["lat"], place["lon"], place["altitude_m"]) == (55.7, 12.6, 150.0)
    assert "[place withheld]" in files["packet.html"].decode()
    assert "observer A found it" in files["packet.html"].decode()


def test_hidden_names_stand_nowhere(client, cluster, token):
    files = files_of(client, cluster, ask(client, cluster, token(client)))
    for name in ("packet.html", "find.json", "reply.toml"):
        for secret in (*NAMES, VELVET):
            assert secret.lower() not in files[name].decode().lower(), (name, secret)


def test_shown_names_say_where_they_come_from(client, cluster, token):
    page = files_of(client, cluster, ask(client, cluster, token(client), names="shown"))["packet.html"].decode()
    assert re.search(r"Flammulina velutipes[^<]*</i>: by the looks", page)
    assert re.search(r"Flammulina velutipes</i>: signed by observer A", page)
    assert re.search(r"Galerina marginata</i>: stated", page)


def test_a_question_that_names_the_fungus_is_refused_while_names_are_hidden(client, cluster, token):
    data = {"csrf": token(client), "question": "Is it Galerina marginata?", "names": "hidden"}
    answer = client.post(f"/finds/{cluster.find}/expert", data=data)
    assert answer.status_code == 422
    assert "the question names" in answer.text
    assert "Is it Galerina marginata?</textarea>" in answer.text
    assert client.post(f"/finds/{cluster.find}/expert", data=data | {"names": "shown"}).status_code == 200


def test_a_packet_is_given_out_as_it_was_made_or_not_at_all(client, cluster, token, database, reasoner):
    packet = ask(client, cluster, token(client))
    url = f"/finds/{cluster.find}/expert/{packet}.zip"
    with database.reading() as session:
        row = session.get(ExpertPacket, packet)
    assert hashlib.sha256(client.get(url).content).hexdigest() == row.sha256
    with database.writing(cluster.ada) as unit:
        correct_find(unit, reasoner, cluster.find, date="2025-12-05")
    again = client.get(url)
    assert again.status_code == 409
    assert "Make a new packet" in again.text


def reply_to(packet: str, **changes: str) -> Reply:
    return replace(Reply(packet, "Dr. Cap", "Flammulina velutipes", remarks="rubbery, <b>no</b> ring"), **changes)


def upload(client, cluster, csrf, packet, reply) -> str:
    return client.post(
        f"/finds/{cluster.find}/expert/{packet}/reply",
        data={"csrf": csrf, "do": "upload"},
        files={"file": ("reply.json", json.dumps(asdict(reply)).encode())},
    )


def secret_of(database: Database, packet: str) -> str:
    with database.reading() as session:
        return session.get(ExpertPacket, packet).seal


@pytest.mark.parametrize(
    ("kind", "told"), [("sealed", "Sealed:"), ("broken", "Seal broken"), ("unsealed", "Without a seal")]
)
def test_a_reply_is_kept_and_its_seal_is_told(client, cluster, token, database, reasoner, kind, told):
    csrf = token(client)
    packet = ask(client, cluster, csrf)
    reply = reply_to(packet)
    if kind != "unsealed":
        reply = replace(reply, seal=seal_of(reply, secret_of(database, packet)))
    if kind == "broken":
        reply = replace(reply, name="Galerina marginata")
    answer = upload(client, cluster, csrf, packet, reply)
    assert answer.status_code == 200
    assert told in answer.text
    assert "&lt;b&gt;no&lt;/b&gt; ring" in answer.text
    with database.reading() as session:
        row = session.query(ExpertReply).one()
        assert row.sealed is (kind == "sealed")
        stated = session.get(StatedName, row.document["stated_name"])
        assert (stated.name, stated.stated_by) == (reply.name, "Dr. Cap")


def test_a_reply_releases_nothing_and_ends_no_signature(client, cluster, token, database):
    csrf = token(client)
    before = client.get(f"/finds/{cluster.find}/kitchen").text
    packet = ask(client, cluster, csrf)
    upload(client, cluster, csrf, packet, reply_to(packet))
    assert "Meets the release rule" in before
    with database.reading() as session:
        assert session.get(FindRow, cluster.find).standing == "signed"
    assert client.get(f"/finds/{cluster.find}/kitchen").text.count("Refused") == before.count("Refused")


def test_a_reply_to_another_packet_is_refused(client, cluster, token, database):
    csrf = token(client)
    first, second = ask(client, cluster, csrf), ask(client, cluster, csrf, question="And now?")
    assert first != second
    answer = upload(client, cluster, csrf, second, reply_to(first))
    assert answer.status_code == 422
    assert "answers another packet" in answer.text
    upload(client, cluster, csrf, first, reply_to(first))
    assert "here already" in upload(client, cluster, csrf, first, reply_to(first)).text
    with database.reading() as session:
        assert session.query(ExpertReply).count() == 1


def test_a_reply_by_letter_is_typed_in_and_can_be_deleted(client, cluster, token, database):
    csrf = token(client)
    packet = ask(client, cluster, csrf)
    to = f"/finds/{cluster.find}/expert/{packet}/reply"
    assert 'value="Dr. Cap"' in client.get(to).text
    data = {"csrf": csrf, "do": "type", "expert": "Dr. Cap", "name": "", "rests_on": "specimen", "remarks": "by phone"}
    bad = client.post(to, data=data)
    assert bad.status_code == 422
    assert "by phone</textarea>" in bad.text
    good = client.post(to, data=data | {"name": "Flammulina cf. velutipes", "certainty": "likely"})
    assert "the specimen in hand" in good.text
    assert "Without a seal" in good.text
    with database.reading() as session:
        reply = session.query(ExpertReply).one().id
    gone = client.post(f"/finds/{cluster.find}/expert/replies/{reply}/delete", data={"csrf": csrf})
    assert "cf. velutipes" not in gone.text
    with database.reading() as session:
        assert [s.name for s in session.query(StatedName) if s.deleted_at is None] == ["Galerina marginata"]


def test_a_wrong_file_is_refused_with_what_to_do(client, cluster, token):
    csrf = token(client)
    packet = ask(client, cluster, csrf)
    to = f"/finds/{cluster.find}/expert/{packet}/reply"
    for files in ({"file": ("x.jpg", b"\xff\xd8\xff\x00")}, {"file": ("x.toml", b"")}):
        answer = client.post(to, data={"csrf": csrf, "do": "upload"}, files=files)
        assert answer.status_code == 422
    assert "Choose the file" in answer.text


def test_the_blank_form_of_a_packet_answers_it(client, cluster, token):
    csrf = token(client)
    packet = ask(client, cluster, csrf, question='What is it?\n"""\nexpert = "Eve"')
    form = files_of(client, cluster, packet)["reply.toml"].decode()
    assert tomllib.loads(form)["expert"] == ""
    filled = re.sub(r'^(expert|name) = ""', r'\1 = "Cap"', form, flags=re.MULTILINE)
    answer = client.post(
        f"/finds/{cluster.find}/expert/{packet}/reply",
        data={"csrf": csrf, "do": "upload"},
        files={"file": ("reply.toml", filled.encode())},
    )
    assert "Without a seal" in answer.text


@pytest.mark.skipif(shutil.which("node") is None, reason="needs a JavaScript engine")
def test_the_form_in_the_page_writes_the_seal_that_is_checked_here(client, cluster, token, database):
    packet = ask(client, cluster, token(client))
    page = files_of(client, cluster, packet)["packet.html"].decode()
    script = re.search(r"<script>(.*)</script>", page, re.DOTALL)[1]
    told = {
        "expert": " Dr. Cáp\t",
        "name": "Flammulina aff. velutipes 🍄",
        "fruitbodies": "a",
        "certainty": "likely",
        "rests_on": "packet",
        "written_on": "2026-10-04",
        "remarks": 'eins\r\nzwei "drei" \\ \u2028 e\u0301\n' + "lang " * 400,
    }
    code = f"{script}\nprocess.stdout.write(sealed({json.dumps(told)}));"
    out = subprocess.run(["node", "-e", code], capture_output=True, check=True, timeout=60).stdout
    reply = read_reply(out)
    assert reply.seal == seal_of(reply, secret_of(database, packet))
    assert (reply.expert, reply.name, reply.packet) == ("Dr. Cáp", told["name"], packet)
    assert reply.remarks.startswith('eins\nzwei "drei" \\ \u2028 \u00e9\nlang')


def test_spore_sizes_are_written_as_the_trade_does():
    looks = (
        Look("1", "spore_length", Evidence(sample=Sample(30, 9.4, 0.5, 8.6, 10.2)), "a"),
        Look("2", "spore_width", Evidence(sample=Sample(30, 3.5, 0.2)), "a"),
        Look("3", "spore_q", Evidence(measurement=Measurement(2.7)), "a"),
        Look("4", "spore_length", Evidence(measurement=Measurement(7.0)), "b"),
    )
    assert spore_notation(looks, "a") == "8.6–10.2 (mean 9.4) µm × 3.5 ± 0.2 µm; Q = 2.7; n = 30"
    assert spore_notation(looks, "b") == "7 µm"
    assert spore_notation(looks, "c") == ""


@pytest.mark.parametrize("path", ["/finds/none/expert", "/finds/none/expert/none.zip", "/finds/none/expert/none/reply"])
def test_what_is_missing_answers_404(client, path):
    assert client.get(path).status_code == 404
