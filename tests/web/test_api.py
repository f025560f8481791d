from __future__ import annotations

import io
import json
import re
import uuid
from pathlib import Path
from typing import Any

import jsonschema
import msgspec
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import delete

from trug.characters import Character, Vocabulary
from trug.cli import show
from trug.cli.determine import determine
from trug.determine.find import Find, Look
from trug.determine.record import Determination
from trug.place import cell_of
from trug.reading import MAX_BYTES
from trug.records.database import Database
from trug.records.documents import fruitbodies_of
from trug.records.gatherings import add_find, make_look
from trug.records.reasoning import Reasoner
from trug.records.tables import FindRow, LookRow, Person, PlaceRow, Setting
from trug.treatments import Book
from trug.treatments.document import TreatmentDocument
from trug.web.api.describe import describe, document
from trug.web.api.routes import OPERATIONS
from trug.web.site import setting

JSON = {"content-type": "application/json"}
FIND: dict[str, Any] = {
    "date": "2026-10-04",
    "region": "europe-north",
    "fruitbodies": [{"stage": "prime", "seen": {"spore_print": "rust-brown", "cap_width": "35 mm"}}],
    "seen": {"substrate": "stump"},
    "notes": "on a stump",
}


def got(client: TestClient, address: str, status: int = 200) -> Any:
    answer = client.get(address)
    assert answer.status_code == status, (address, answer.text)
    assert answer.headers["content-type"] == "application/json"
    return answer.json()


def kept(client: TestClient, find: dict[str, Any] = FIND) -> dict[str, Any]:
    answer = client.post("/api/finds", json=find)
    assert answer.status_code == 201, answer.text
    assert answer.headers["location"] == f"/api/finds/{answer.json()['id']}"
    found: dict[str, Any] = answer.json()
    return found


def refused(answer: Any, status: int) -> str:
    assert answer.status_code == status, answer.text
    assert list(answer.json()) == ["error"]
    return str(answer.json()["error"])


@pytest.mark.parametrize(
    ("address", "written"),
    [
        ("/api/treatments/galerina-marginata", lambda: show.treatment("galerina-marginata", json=True)),
        ("/api/treatments/inonotus-obliquus", lambda: show.treatment("chaga", json=True)),
        (
            "/api/compare?with=velvet shank&with=funeral bell",
            lambda: show.compare(["velvet shank", "funeral bell"], json=True),
        ),
        ("/api/compare?with=galerina-marginata", lambda: show.compare(["funeral bell"], json=True)),
        ("/api/characters", lambda: show.characters(None, json=True)),
        ("/api/characters/spore_print", lambda: show.characters("spore_print", json=True)),
    ],
)
def test_the_objects_are_those_of_the_command_line(
    client: TestClient, capsys: pytest.CaptureFixture[str], address: str, written: Any
) -> None:
    written()
    assert got(client, address) == json.loads(capsys.readouterr().out)


def test_a_determination_is_that_of_the_command_line(client: TestClient, trug_determine: Any) -> None:
    text = json.dumps(FIND | {"id": "walk-7"})
    answer = client.post("/api/determine", content=text, headers=JSON)
    assert answer.status_code == 200
    assert answer.json() == trug_determine(text)


@pytest.fixture
def trug_determine(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    """What ``trug determine - --json`` writes of a find."""

    def run(text: str) -> Any:
        monkeypatch.setattr("sys.stdin", io.StringIO(text))
        determine([Path("-")], json=True, ask=False, sign=None, region=None, save=None, full=False)
        return json.loads(capsys.readouterr().out)

    return run


def test_a_search_finds_as_the_page_does(client: TestClient) -> None:
    found = got(client, "/api/treatments?q=gallerina marginatta")
    assert found["near"]
    assert found["treatments"][0]["code"] == "galerina-marginata"
    assert found["treatments"][0]["kitchen"] == "nobody"
    assert not got(client, "/api/treatments?q=funeral bell")["near"]


def test_without_a_search_all_treatments_are_listed(client: TestClient, book: Book) -> None:
    assert [t["code"] for t in got(client, "/api/treatments")["treatments"]] == list(book.treatments)


def test_answers_are_of_the_types_that_the_document_names(client: TestClient) -> None:
    find_id = kept(client)["id"]
    for address, kind in (
        ("/api/treatments/galerina-marginata", TreatmentDocument),
        ("/api/characters/volva", Character),
        (f"/api/finds/{find_id}", Find),
        (f"/api/finds/{find_id}/determination", Determination),
    ):
        msgspec.json.decode(client.get(address).content, type=kind)


def test_a_find_is_kept_whole_and_comes_back(client: TestClient, database: Database) -> None:
    sent = kept(client)
    assert sent == got(client, f"/api/finds/{sent['id']}")
    assert {k["character"] for k in sent["looks"]} == {"spore_print", "cap_width", "substrate"}
    assert sent["notes"] == "on a stump"
    (line,) = got(client, "/api/finds")["finds"]
    assert (line["id"], line["date"], line["finder"]) == (sent["id"], "2026-10-04", "Ada Moss")
    assert line["open_severe"] > 0
    with database.reading() as session:
        row = session.get(FindRow, sent["id"])
        assert row is not None
        assert row.finder_id == setting(session, "owner")


def test_a_find_with_an_id_is_kept_once(client: TestClient) -> None:
    own = str(uuid.uuid4())
    assert kept(client, {**FIND, "id": own})["id"] == own
    assert "there already" in refused(client.post("/api/finds", json={**FIND, "id": own}), 409)
    assert len(got(client, "/api/finds")["finds"]) == 1


def test_what_a_document_holds_beyond_its_format_does_not_trouble_it(client: TestClient) -> None:
    odd = {"zzz": 10**400, "yyy": {"deep": [1e308, None, "\u2028"]}, "extra": {"n": 2**63}}
    sent = kept(client, FIND | odd)
    assert got(client, f"/api/finds/{sent['id']}")["extra"].keys() <= {"labels", "blind"}


def test_a_correction_within_a_find_is_kept_as_one(client: TestClient) -> None:
    looks = [
        {"id": "second", "character": "ring", "fruitbody": "a", "evidence": "narrow", "supersedes": "first"},
        {"id": "first", "character": "ring", "fruitbody": "a", "evidence": "absent"},
    ]
    sent = kept(client, {"date": "2026-10-04", "fruitbodies": [{"id": "a"}], "looks": looks})
    by_state = {k["evidence"]["states"][0]: k for k in sent["looks"]}
    assert by_state["narrow"]["supersedes"] == by_state["absent"]["id"]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"date": "2026-13-01"}, "is no date"),
        ({"date": "2190-01-01"}, "lies in the future"),
        ({"fruitbodies": []}, "describe at least one fruitbody"),
        ({"fruitbodies": [{} for _ in range(27)]}, "1 to 26 fruitbodies"),
        ({"region": "europe-nrth"}, "did you mean 'europe-north'"),
        ({"seen": {"sbstrate": "stump"}}, "did you mean 'substrate'"),
        ({"place": {"lat": 95.0, "lon": 12.0}}, "lat"),
        ({"place": {"lat": 55.0, "lon": 12.0, "datum": "ED50"}}, "ED50"),
        ({"determiner": "somebody"}, "GET /api/people lists them"),
        ({"looks": [{"character": "ring", "fruitbody": "a", "evidence": "narrow"}] * 501}, ""),
        ({"zzz": "\u0007"}, "control character"),
    ],
)
def test_a_find_that_cannot_be_used_is_refused_and_nothing_is_kept(
    client: TestClient, change: dict[str, Any], message: str
) -> None:
    assert message in refused(client.post("/api/finds", json=FIND | change), 422)
    assert got(client, "/api/finds")["finds"] == []


def test_an_observer_must_be_a_person_of_the_records(client: TestClient) -> None:
    (owner,) = got(client, "/api/people")
    look = {"character": "substrate", "evidence": "stump", "observer": owner["id"]}
    sent = kept(client, {"date": "2026-10-04", "fruitbodies": [{}], "looks": [look]})
    assert sent["looks"][0]["observer"] == owner["id"]
    look["observer"] = "you"
    answer = client.post("/api/finds", json={"date": "2026-10-04", "fruitbodies": [{}], "looks": [look]})
    assert "there is no person 'you' here" in refused(answer, 422)


def test_what_is_odd_but_not_wrong_is_said_in_a_header(client: TestClient) -> None:
    answer = client.post("/api/determine", json={**FIND, "zzz": "ä\r\nx: y"})
    assert answer.status_code == 200
    assert answer.headers["trug-notes"] == "unknown key 'zzz' is kept but not used"
    photos = [{"sha256": "0" * 64}]
    assert "photos are not kept" in client.post("/api/finds", json={**FIND, "photos": photos}).headers["trug-notes"]


def test_a_look_is_recorded_and_changes_the_determination(client: TestClient) -> None:
    find_id = kept(client)["id"]
    before = got(client, f"/api/finds/{find_id}/determination")
    answer = client.post(
        f"/api/finds/{find_id}/looks",
        json={"character": "ring", "evidence": "narrow", "fruitbody": "a", "sure": "fairly"},
    )
    assert answer.status_code == 201
    look = msgspec.json.decode(answer.content, type=Look)
    assert (look.character, look.evidence.states, look.sure, look.method) == ("ring", ("narrow",), "fairly", "eye")
    after = got(client, f"/api/finds/{find_id}/determination")
    assert after["fruitbodies"][0]["looks"] == before["fruitbodies"][0]["looks"] + 1
    assert client.delete(f"/api/looks/{look.id}").status_code == 204
    assert got(client, f"/api/finds/{find_id}/determination") == before
    assert "no such look" in refused(client.delete(f"/api/looks/{look.id}"), 404)


@pytest.mark.parametrize(
    ("look", "message"),
    [
        ({"character": "rng", "evidence": "narrow", "fruitbody": "a"}, "did you mean 'ring'"),
        ({"character": "ring", "evidence": "narow", "fruitbody": "a"}, "did you mean 'narrow'"),
        ({"character": "ring", "evidence": "narrow"}, "choose which"),
        ({"character": "ring", "evidence": "narrow", "fruitbody": "c"}, "it has a"),
        ({"character": "ring", "fruitbody": "a"}, "evidence"),
        ({"character": "ring", "evidence": None, "fruitbody": "a"}, "evidence"),
        ({"character": "ring", "evidence": "narrow", "fruitbody": "a", "colour": "red"}, "colour"),
        ({"character": "ring", "evidence": "narrow", "fruitbody": "a", "sure": "very"}, "sure"),
        ({"character": "ring", "evidence": "narrow", "fruitbody": "a", "time": "noon"}, "2026-10-04T09:30"),
        ({"character": "ring", "evidence": "narrow", "fruitbody": "a", "observer": "x"}, "no person"),
        ({"character": "ring", "evidence": "narrow", "fruitbody": "a", "supersedes": "x"}, "no look of this find"),
        ({"character": "cap_width", "evidence": 1e300, "fruitbody": "a"}, "not plausible"),
        ({"character": "region", "evidence": "europe-north"}, "region"),
        ({"character": "ring", "evidence": {"states": ["narrow", 3]}, "fruitbody": "a"}, ""),
        ({"character": "ring", "evidence": {"distribution": {"narrow": 1e400}}, "fruitbody": "a"}, ""),
    ],
)
def test_a_look_that_cannot_be_used_is_refused(client: TestClient, look: dict[str, Any], message: str) -> None:
    find_id = kept(client)["id"]
    answer = client.post(f"/api/finds/{find_id}/looks", content=json.dumps(look), headers=JSON)
    assert message in refused(answer, 422)
    assert got(client, f"/api/finds/{find_id}")["looks"] == got(client, f"/api/finds/{find_id}")["looks"]


def test_a_look_corrects_one_of_its_own_feature_only(client: TestClient) -> None:
    find = kept(client)
    ids = {k["character"]: k["id"] for k in find["looks"]}
    look = {"character": "ring", "evidence": "narrow", "fruitbody": "a", "supersedes": ids["spore_print"]}
    answer = client.post(f"/api/finds/{find['id']}/looks", json=look)
    assert "same character and fruitbody only" in refused(answer, 422)


def test_finds_are_listed_page_by_page_and_found_by_words(
    client: TestClient, database: Database, reasoner: Reasoner
) -> None:
    with database.writing() as unit:
        for n in range(53):
            add_find(unit, reasoner, date="2026-10-04", notes=f"basket{n:02d}")
    first = got(client, "/api/finds")
    second = got(client, f"/api/finds?after={first['after']}")
    assert (len(first["finds"]), len(second["finds"]), second["after"]) == (50, 3, None)
    assert len({f["id"] for f in first["finds"] + second["finds"]}) == 53
    assert len(got(client, "/api/finds?q=basket07")["finds"]) == 1
    assert got(client, "/api/finds?day=2026-10-05")["finds"] == []
    assert "is no date" in got(client, "/api/finds?day=monday", 422)["error"]
    assert "standing is one of" in got(client, "/api/finds?standing=fine", 422)["error"]


@pytest.mark.parametrize(
    "address",
    ["/api/treatments/zz", "/api/characters/zz", "/api/finds/zz", "/api/finds/zz/determination", "/api/nowhere"],
)
def test_what_is_not_there_is_refused_in_the_one_shape(client: TestClient, address: str) -> None:
    refused(client.get(address), 404)


def test_a_deleted_find_is_not_given(client: TestClient, database: Database) -> None:
    find_id = kept(client)["id"]
    with database.writing() as unit:
        unit.delete(unit.get(FindRow, find_id))
    refused(client.get(f"/api/finds/{find_id}"), 404)
    refused(client.get(f"/api/finds/{find_id}/determination"), 404)
    look = {"character": "ring", "evidence": "narrow", "fruitbody": "a"}
    refused(client.post(f"/api/finds/{find_id}/looks", json=look), 404)


@pytest.mark.parametrize("address", ["/api/determine", "/api/finds", "/api/finds/x/looks"])
@pytest.mark.parametrize(
    "kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", "application/jsonx", ""]
)
def test_a_body_of_another_kind_is_refused(client: TestClient, address: str, kind: str) -> None:
    answer = client.post(address, content=json.dumps(FIND), headers={"content-type": kind})
    assert refused(answer, 415) == "send the body as application/json"


def test_a_body_that_is_too_large_is_refused(client: TestClient) -> None:
    body = b'{"notes": "' + b"x" * MAX_BYTES + b'"}'
    assert "8 MB" in refused(client.post("/api/determine", content=body, headers=JSON), 413)


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"[]",
        b"null",
        b'date = "2026-10-04"',
        b"{",
        b'{"date": "2026-10-04"',
        b"\xff\xfe{}",
        b'{"a": "\\ud800"}',
        b'{"a":' * 3000 + b"1" + b"}" * 3000,
        b'{"date": 1e999, "fruitbodies": [{}]}',
        b'{"a": "\\u0000"}',
    ],
)
@pytest.mark.parametrize("address", ["/api/determine", "/api/finds", "looks"])
def test_a_body_that_is_no_document_is_refused(client: TestClient, address: str, body: bytes) -> None:
    if address == "looks":
        address = f"/api/finds/{kept(client)['id']}/looks"
    refused(client.post(address, content=body, headers=JSON), 422)


@pytest.mark.parametrize(
    "headers", [{"origin": "https://elsewhere.example"}, {"sec-fetch-site": "cross-site"}, {"origin": "null"}]
)
def test_another_web_site_writes_nothing(client: TestClient, headers: dict[str, str]) -> None:
    assert client.post("/api/finds", json=FIND, headers=headers).status_code == 403
    assert client.delete("/api/looks/x", headers=headers).status_code == 403
    assert got(client, "/api/finds")["finds"] == []


def test_no_answer_lets_another_site_read_or_ask(client: TestClient) -> None:
    answer = client.get("/api/people", headers={"origin": "https://elsewhere.example"})
    assert not [name for name in answer.headers if name.startswith("access-control")]
    asked = client.options("/api/finds", headers={"access-control-request-method": "POST"})
    assert not [name for name in asked.headers if name.startswith("access-control")]


def test_nobody_writes_before_the_set_up(client: TestClient, database: Database) -> None:
    with database.writing() as unit:
        unit.session.execute(delete(Setting).where(Setting.key == "owner"))
    assert "open /begin" in refused(client.post("/api/finds", json=FIND), 422)


@pytest.mark.parametrize(
    "address",
    [
        "/api/treatments?q=bell",
        "/api/treatments/galerina-marginata",
        "/api/compare?with=galerina-marginata&with=boletus-edulis",
        "/api/characters",
        "/api/characters/ring",
        "/api/finds",
        "/api/people",
        "/api/places",
    ],
)
def test_a_thing_is_not_sent_twice(client: TestClient, address: str) -> None:
    tag = client.get(address).headers["etag"]
    again = client.get(address, headers={"if-none-match": f'"other", W/{tag}'})
    assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
    assert client.get(address, headers={"if-none-match": '"other"'}).status_code == 200


def test_a_tag_changes_with_what_it_stands_for(client: TestClient) -> None:
    find_id = kept(client)["id"]
    tags = {client.get(f"/api/finds/{find_id}").headers["etag"]}
    client.post(f"/api/finds/{find_id}/looks", json={"character": "ring", "evidence": "narrow", "fruitbody": "a"})
    tags.add(client.get(f"/api/finds/{find_id}").headers["etag"])
    tags.add(client.get("/api/treatments?q=bell").headers["etag"])
    tags.add(client.get("/api/treatments?q=cap").headers["etag"])
    assert len(tags) == 4


def test_what_is_private_of_people_and_places_is_not_given(client: TestClient, database: Database) -> None:
    with database.writing() as unit:
        unit.make(Person(name="Bo Fern", contact="bo@mail.example", notes="owes me a basket"))
        unit.make(PlaceRow(name="Mill wood", lat=55.67641, lon=12.56832, permission="ask at the farm", notes="spring"))
    people, places = client.get("/api/people").text, client.get("/api/places").text
    assert "Bo Fern" in people
    assert "Mill wood" in places
    for secret in ("mail.example", "basket", "ask at the farm", "spring"):
        assert secret not in people + places


COORDINATES = st.tuples(
    st.floats(11, 80).map(lambda x: round(x, 5)), st.floats(11, 179).map(lambda x: round(x, 5))
).filter(lambda p: all(len(repr(x).split(".")[1]) == 5 for x in p))
FORMS = ["{lat}, {lon}", "{lat} {lon}", "N{lat} E{lon}", "lat {lat} lon {lon}", "({lat}/{lon})", "at {lat}N {lon}E"]


def test_no_answer_tells_a_place_more_finely_than_its_grid(
    client: TestClient, database: Database, reasoner: Reasoner
) -> None:
    with database.reading() as session:
        owner = str(setting(session, "owner"))

    @settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
    @given(where=COORDINATES, form=st.sampled_from(FORMS), grid=st.sampled_from([0.1, 0.5, 1.0]), own=st.booleans())
    def holds(where: tuple[float, float], form: str, grid: float, own: bool) -> None:
        lat, lon = where
        told = form.format(lat=lat, lon=lon)
        with database.writing(owner) as unit:
            place = unit.make(
                PlaceRow(name=f"Wood {told}", lat=lat, lon=lon, altitude_m=237.5, grid_deg=grid, wood=told)
            )
            fields = {"lat": lat, "lon": lon, "uncertainty_m": 7.0} if own else {}
            find = add_find(
                unit,
                reasoner,
                date="2026-10-04",
                place_id=place.id,
                notes=f"walked to {told}",
                locality=told,
                extra={"decimalLatitude": lat, "where": [lat, lon], "labels": {}},
                **fields,
            )
            body = fruitbodies_of(unit.session, find.id)[0]
            look = make_look(
                unit,
                reasoner,
                find.id,
                character="smell",
                answer=f"not seen: left it at {told}",
                fruitbody_id=body.id,
                sources=(told,),
            )
        answers = {
            address: client.get(address)
            for address in (
                f"/api/finds/{find.id}",
                f"/api/finds/{find.id}/determination",
                f"/api/finds?place={place.id}",
                "/api/places",
                "/api/people",
            )
        }
        answers["look"] = client.post(
            f"/api/finds/{find.id}/looks",
            json={"character": "taste", "evidence": f"not seen: {told}", "fruitbody": "a", "sources": [told]},
        )
        for address, answer in answers.items():
            assert answer.status_code < 300, (address, answer.text)
            for number in where:
                assert str(number)[:-1] not in answer.text, address
        found = got(client, f"/api/finds/{find.id}")
        cell = cell_of(lat, lon, grid)
        assert (found["place"]["lat"], found["place"]["lon"]) == (cell.lat, cell.lon)
        assert found["place"]["altitude_m"] == 250.0
        assert look.id in {k["id"] for k in found["looks"]}

    holds()


def test_a_place_sent_with_a_find_is_kept_exactly_and_given_roughly(client: TestClient, database: Database) -> None:
    place = {"lat": 55.67641, "lon": 12.56832, "uncertainty_m": 7, "altitude_m": 37, "name": "Mill wood"}
    sent = kept(client, {**FIND, "place": place})
    assert sent["place"] == {
        "lat": 55.7, "lon": 12.6, "uncertainty_m": sent["place"]["uncertainty_m"], "altitude_m": 50.0,
        "name": "Mill wood",
    }  # fmt: skip
    assert sent["place"]["uncertainty_m"] > 5000
    with database.reading() as session:
        row = session.get(FindRow, sent["id"])
        assert row is not None
        assert (row.lat, row.lon, row.uncertainty_m, row.altitude_m) == (55.67641, 12.56832, 7.0, 37.0)


def test_a_find_that_lies_nowhere_on_earth_is_given_without_its_place(client: TestClient, database: Database) -> None:
    find_id = kept(client)["id"]
    with database.writing() as unit:
        unit.edit(unit.get(FindRow, find_id), lat=123.0, lon=12.0)
    assert "place" not in got(client, f"/api/finds/{find_id}")


def test_the_document_is_openapi_and_names_every_operation(client: TestClient) -> None:
    made = document(OPERATIONS)
    assert made["openapi"].startswith("3.1")
    named = {(method.upper(), path) for path, methods in made["paths"].items() for method in methods}
    app = client.app
    assert isinstance(app, FastAPI)
    assert named == {(o.method, o.path) for o in OPERATIONS}
    for method, path in named:
        address = re.sub(r"\{\w+\}", "x", path)
        answer = client.request(method, address, **({"content": b"{}", "headers": JSON} if method == "POST" else {}))
        assert str(answer.status_code) in made["paths"][path][method.lower()]["responses"], (method, path)


def test_every_schema_of_the_document_is_a_schema() -> None:
    made = document(OPERATIONS)
    for name, schema in made["components"]["schemas"].items():
        jsonschema.Draft202012Validator.check_schema(schema)
        assert name


def test_every_reference_of_the_document_leads_somewhere() -> None:
    made = document(OPERATIONS)
    for name in re.findall(r'"#/components/schemas/([^"]+)"', json.dumps(made)):
        assert name in made["components"]["schemas"]


def test_an_app_gives_the_document(client: TestClient) -> None:
    app = client.app
    assert isinstance(app, FastAPI)
    describe(app, OPERATIONS)
    assert got(client, "/api/openapi.json") == json.loads(json.dumps(document(OPERATIONS)))


def test_every_example_holds(client: TestClient) -> None:
    find = kept(client, FIND | {"place": {"lat": 55.67641, "lon": 12.56832}})
    look = find["looks"][0]["id"]
    for o in OPERATIONS:
        address = o.example.address.replace("FIND", find["id"]).replace("LOOK", look)
        assert re.fullmatch(re.sub(r"\{\w+\}", "[^/]+", o.path), address.partition("?")[0])
        answer = client.request(
            o.method, address, **({"content": o.example.body, "headers": JSON} if o.example.body else {})
        )
        assert answer.status_code == o.status, (o.name, answer.text)
        if o.example.answer:
            assert has_keys(answer.json(), json.loads(o.example.answer)), o.name


def has_keys(answer: Any, example: Any) -> bool:
    """Whether an answer has every key that an example shows."""
    if isinstance(example, dict):
        return isinstance(answer, dict) and all(k in answer and has_keys(answer[k], v) for k, v in example.items())
    if isinstance(example, list):
        return isinstance(answer, list) and all(has_keys(a, e) for a, e in zip(answer, example, strict=False))
    return not isinstance(answer, (dict, list))


def test_the_page_tells_of_every_operation(client: TestClient) -> None:
    page = client.get("/api").text
    for o in OPERATIONS:
        assert o.path in page
        assert o.summary in page
    assert "script" not in re.findall(r"<(\w+)[^>]*(?:src|href)=\"https?:", page)


def test_looks_of_a_tree_come_back_as_the_look_they_are(client: TestClient, vocabulary: Vocabulary) -> None:
    find_id = kept(client, {"date": "2026-10-04", "fruitbodies": [{"seen": {"ring": "narrow"}}]})["id"]
    answer = client.post(f"/api/finds/{find_id}/looks", json={"character": "tree_buds", "evidence": "opposite"})
    assert answer.json()["character"] == "tree_buds"
    assert vocabulary.characters["tree_buds"].role == "tree"
    assert {k["character"] for k in got(client, f"/api/finds/{find_id}")["looks"]} == {"ring", "tree"}


def test_the_finder_of_a_look_is_the_person_who_sends_it(client: TestClient, database: Database) -> None:
    find_id = kept(client)["id"]
    look = client.post(
        f"/api/finds/{find_id}/looks", json={"character": "ring", "evidence": "narrow", "fruitbody": "a"}
    ).json()
    with database.reading() as session:
        row = session.get(LookRow, look["id"])
        assert row is not None
        assert row.observer_id == setting(session, "owner")
