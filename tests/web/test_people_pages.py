"""Set-up, people, classes, and whom to call."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import select

from trug.records.database import Database
from trug.records.gatherings import add_find, make_look
from trug.records.reasoning import Reasoner
from trug.records.signing import may_sign_alone, sign
from trug.records.tables import Class, ClassMember, Confirmation, FindRow, FruitbodyRow, Person
from trug.web.app import create_app
from trug.web.site import Site, setting

Token = Callable[[TestClient], str]
TODAY = datetime.date.today()
ANSWERS = {"name": "Wil Sedge", "practice": "beginner", "smell": "on", "region": "america-west"}
POISON = {
    "poison_name": "Invented poison centre",
    "poison_number": "+00 800 555",
    "poison_source": "its own page",
    "poison_checked": TODAY.isoformat(),
}


@pytest.fixture
def fresh(tmp_path: Path, reasoner: Reasoner) -> Iterator[TestClient]:
    """A browser at an app that nobody has set up."""
    database = Database.open(tmp_path / "fresh")
    app = create_app(database)
    app.state.site.reasoner = reasoner
    with TestClient(app, base_url="http://127.0.0.1") as client:
        yield client
    database.close()


def person_named(site: Site, name: str) -> Person:
    with site.database.reading() as session:
        return session.scalars(select(Person).where(Person.name == name)).one()


def add_person(client: TestClient, token: Token, **fields: str) -> Any:
    told = {"practice": "practised", "colour_vision": "on", "smell": "on", "csrf": token(client)} | fields
    return client.post("/people/new", data=told)


def test_before_the_set_up_every_page_leads_to_it(fresh: TestClient) -> None:
    for path in ("/people", "/places", "/classes"):
        assert fresh.get(path, follow_redirects=False).headers["location"] == "/begin"


def test_the_set_up_makes_owner_region_and_numbers(fresh: TestClient, token: Token) -> None:
    answer = fresh.post("/begin", data=ANSWERS | POISON | {"csrf": token(fresh)}, follow_redirects=False)
    assert answer.headers["location"] == "/"
    site: Site = fresh.app.state.site  # type: ignore[attr-defined]
    with site.database.reading() as session:
        owner = session.get(Person, setting(session, "owner"))
        assert owner is not None
        assert (owner.name, owner.practice, owner.colour_vision, owner.smell) == ("Wil Sedge", "beginner", False, True)
        assert setting(session, "region") == "america-west"
    assert "tel:+00800555" in fresh.get("/ill").text


def test_the_numbers_may_wait(fresh: TestClient, token: Token) -> None:
    answer = fresh.post("/begin", data=ANSWERS | {"csrf": token(fresh)}, follow_redirects=False)
    assert answer.headers["location"] == "/"
    assert fresh.get("/people").status_code == 200


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"name": " "}, "name is missing"),
        ({"region": "moon"}, "region"),
        ({"poison_number": "555"}, "where the number"),
    ],
)
def test_a_wrong_answer_makes_nothing_and_keeps_what_was_typed(
    fresh: TestClient, token: Token, wrong: dict[str, str], told: str
) -> None:
    answer = fresh.post("/begin", data=ANSWERS | wrong | {"csrf": token(fresh)})
    assert answer.status_code == 422
    assert told in answer.text
    assert 'value="beginner" checked' in answer.text
    site: Site = fresh.app.state.site  # type: ignore[attr-defined]
    with site.database.reading() as session:
        assert session.scalars(select(Person)).all() == []


def test_a_second_set_up_is_refused(client: TestClient, token: Token, site: Site) -> None:
    assert client.get("/begin", follow_redirects=False).headers["location"] == "/"
    answer = client.post("/begin", data=ANSWERS | {"csrf": token(client)})
    assert answer.status_code == 422
    with site.database.reading() as session:
        assert [p.name for p in session.scalars(select(Person))] == ["Ada Moss"]


def test_whom_to_call_answers_before_the_set_up_with_both_laws(fresh: TestClient) -> None:
    answer = fresh.get("/ill", follow_redirects=False)
    assert answer.status_code == 200
    for told in ("tel:112", "tel:911", "Directive (EU) 2018/1972", "47 U.S.C. 251(e)(3)", "local emergency number"):
        assert told in answer.text


def test_the_emergency_number_of_the_region_stands_first(client: TestClient) -> None:
    text = client.get("/ill").text
    assert "tel:112" in text
    assert "tel:911" not in text
    assert text.index("tel:112") < text.index("Do not make anyone vomit")
    for told in ("Do not wait for signs", "That is not recovery", "In paper", "vomit", "How much each person ate"):
        assert told in text


def test_no_number_of_a_poison_centre_is_known_by_itself(client: TestClient) -> None:
    text = client.get("/ill").text
    assert text.count("tel:") == 1
    assert "No poison centre's number is written down" in text


def test_a_stale_number_gives_way(client: TestClient, token: Token, site: Site) -> None:
    client.post("/ill/numbers", data=POISON | {"csrf": token(client)})
    assert "tel:+00800555" in client.get("/ill").text
    old = (TODAY - datetime.timedelta(days=367)).isoformat()
    client.post("/ill/numbers", data=POISON | {"poison_checked": old, "csrf": token(client)})
    text = client.get("/ill").text
    assert "800" not in text
    assert "more than twelve months ago" in text
    assert "tel:112" in text


def test_a_number_without_its_source_is_not_kept(client: TestClient, token: Token) -> None:
    answer = client.post("/ill/numbers", data=POISON | {"poison_source": "", "csrf": token(client)})
    assert answer.status_code == 422
    assert "where the number stands written" in answer.text
    assert "tel:+00800555" not in client.get("/ill").text


def test_what_is_open_in_the_latest_finds_is_told(client: TestClient, site: Site) -> None:
    with site.database.writing(person_named(site, "Ada Moss").id) as unit:
        find = add_find(unit, site.reasoner, date="2026-10-04", stage="prime")
        body = unit.session.scalars(select(FruitbodyRow).where(FruitbodyRow.find_id == find.id)).one()
        make_look(unit, site.reasoner, find.id, character="spore_print", answer="rust-brown", fruitbody_id=body.id)
    assert "still open:" in client.get("/ill").text
    told = client.get(f"/ill/finds/{find.id}").text
    assert "Galerina marginata" in told
    assert "6 to 24 hours" in told
    assert client.get("/ill/finds/none").status_code == 404


def test_a_student_never_tastes(client: TestClient, token: Token, site: Site) -> None:
    answer = add_person(client, token, name="Cleo Birch", practice="student", may_taste="on", adult="on")
    assert answer.status_code == 422
    assert "a student does not taste" in answer.text
    with site.database.reading() as session:
        assert len(session.scalars(select(Person)).all()) == 1


def test_only_adults_who_want_to_may_taste(client: TestClient, token: Token, site: Site) -> None:
    assert "only adults" in add_person(client, token, name="Bo Fern", may_taste="on").text
    add_person(client, token, name="Bo Fern", may_taste="on", adult="on")
    assert person_named(site, "Bo Fern").may_taste is True
    assert add_person(client, token, name="bo fern").status_code == 422  # one name, one person


def test_tools_are_told_only_where_the_tick_says_so(client: TestClient, token: Token, site: Site) -> None:
    add_person(client, token, name="Bo Fern", tools="lens")
    assert person_named(site, "Bo Fern").tools is None
    add_person(client, token, name="Cleo Birch", tools="lens", tools_told="on")
    assert person_named(site, "Cleo Birch").tools == ["lens"]


def test_the_browser_works_as_the_person_chosen(client: TestClient, token: Token, site: Site) -> None:
    add_person(client, token, name="Bo Fern")
    bo = person_named(site, "Bo Fern")
    client.post(f"/people/{bo.id}/now", data={"csrf": token(client)})
    assert "You are Bo Fern in this browser" in client.get("/people").text
    assert client.post(f"/people/{bo.id}/owner", data={"csrf": token(client)}).status_code == 422
    assert client.post(f"/people/{bo.id}/now", data={}).status_code == 403  # no token


def test_the_owner_hands_the_records_over_and_is_not_deleted(client: TestClient, token: Token, site: Site) -> None:
    add_person(client, token, name="Bo Fern")
    ada, bo = person_named(site, "Ada Moss"), person_named(site, "Bo Fern")
    assert client.post(f"/people/{ada.id}/delete", data={"csrf": token(client)}).status_code == 422
    client.post(f"/people/{bo.id}/owner", data={"csrf": token(client)})
    assert client.post(f"/people/{ada.id}/delete", data={"csrf": token(client)}).status_code == 200
    assert client.get(f"/people/{ada.id}").status_code == 404


def test_a_taxon_is_confirmed_by_another_practised_person_in_hand(client: TestClient, token: Token, site: Site) -> None:
    add_person(client, token, name="Bo Fern")
    add_person(client, token, name="Cleo Birch", practice="student")
    ada, bo, cleo = (person_named(site, name).id for name in ("Ada Moss", "Bo Fern", "Cleo Birch"))

    def confirm(**fields: str) -> Any:
        told = {"taxon": "velvet shank", "by": bo, "in_hand": "on", "csrf": token(client)} | fields
        return client.post(f"/people/{ada}/confirm", data=told)

    for wrong, why in (
        ({"by": ada}, "nobody can confirm themselves"),
        ({"by": cleo}, "only a practised person"),
        ({"in_hand": ""}, "specimen was in hand"),
        ({"taxon": "velvet shnak"}, "velvet shank"),
    ):
        answer = confirm(**wrong)
        assert answer.status_code == 422
        assert why in answer.text
    with site.database.reading() as session:
        assert not may_sign_alone(session, ada, "flammulina-velutipes")
    assert confirm().status_code == 200
    with site.database.reading() as session:
        assert may_sign_alone(session, ada, "flammulina-velutipes")
        row = session.scalars(select(Confirmation)).one()
    assert "confirmed by Bo Fern" in client.get(f"/people/{ada}").text
    assert confirm().status_code == 422  # written down already
    client.post(f"/people/{ada}/confirmations/{row.id}/withdraw", data={"csrf": token(client)})
    with site.database.reading() as session:
        assert not may_sign_alone(session, ada, "flammulina-velutipes")


def test_a_change_of_practice_goes_through_the_finds_signed(client: TestClient, token: Token, site: Site) -> None:
    add_person(client, token, name="Bo Fern")
    ada, bo = person_named(site, "Ada Moss").id, person_named(site, "Bo Fern").id
    with site.database.writing(ada) as unit:
        find = add_find(unit, site.reasoner, date="2026-10-04", stage="prime")
        body = unit.session.scalars(select(FruitbodyRow).where(FruitbodyRow.find_id == find.id)).one().id
        make_look(unit, site.reasoner, find.id, character="spore_print", answer="white", fruitbody_id=body)
        told: dict[str, Any] = {"taxon": "flammulina-velutipes", "fruitbodies": [body], "in_hand": True}
        sign(unit, site.reasoner, find.id, person_id=ada, **told)
        sign(unit, site.reasoner, find.id, person_id=bo, **told)
    with site.database.reading() as session:
        assert session.get_one(FindRow, find.id).standing == "signed"
    profile = {"name": "Bo Fern", "practice": "student", "smell": "on", "csrf": token(client)}
    assert client.post(f"/people/{bo}/edit", data=profile).status_code == 200
    with site.database.reading() as session:
        assert session.get_one(FindRow, find.id).standing == "waits"


def test_a_class_holds_its_people_and_its_finds(client: TestClient, token: Token, site: Site) -> None:
    add_person(client, token, name="Cleo Birch", practice="student")
    ada, cleo = person_named(site, "Ada Moss").id, person_named(site, "Cleo Birch").id
    told = {"name": "Autumn walk", "held_on": "2026-10-04", "teacher_id": ada, "csrf": token(client)}
    client.post("/classes/new", data=told)
    with site.database.reading() as session:
        group = session.scalars(select(Class)).one()
    client.post(f"/classes/{group.id}/members", data={"person": cleo, "role": "student", "csrf": token(client)})
    with site.database.writing(cleo) as unit:
        add_find(unit, site.reasoner, date="2026-10-04", class_id=group.id)
    text = client.get(f"/classes/{group.id}").text
    for shown in ("Ada Moss", "Cleo Birch", "2026-0001", "4 October 2026"):
        assert shown in text
    assert "2 people" in client.get("/classes").text
    with site.database.reading() as session:
        members = {m.person_id: m.id for m in session.scalars(select(ClassMember))}
    gone = client.post(f"/classes/{group.id}/members/{members[ada]}/remove", data={"csrf": token(client)})
    assert gone.status_code == 422  # the teacher stays
    client.post(f"/classes/{group.id}/members/{members[cleo]}/remove", data={"csrf": token(client)})
    assert "1 person" in client.get("/classes").text


def test_a_class_without_a_day_is_refused(client: TestClient, token: Token) -> None:
    answer = client.post("/classes/new", data={"name": "Walk", "held_on": "soon", "csrf": token(client)})
    assert answer.status_code == 422
    assert 'value="Walk"' in answer.text


@pytest.mark.parametrize("path", ["/people/none", "/people/none/edit", "/classes/none", "/classes/none/edit"])
def test_a_missing_thing_answers_404(client: TestClient, path: str) -> None:
    assert client.get(path).status_code == 404


def test_the_region_is_changed_later_by_the_owner_alone(client, token, database):
    answer = client.post("/settings", data={"csrf": token(client), "region": "america-west"})
    assert "The region is changed" in answer.text
    assert '<option value="america-west" selected>' in client.get("/settings").text

    assert client.post("/settings", data={"csrf": token(client), "region": "atlantis"}).status_code == 422
    with database.writing() as unit:
        other = unit.make(Person(name="Bo Fern"))
    client.post(f"/people/{other.id}/now", data={"csrf": token(client)})
    refused = client.post("/settings", data={"csrf": token(client), "region": "europe-north"})

    assert refused.status_code == 422
    assert "only the owner" in refused.text
    assert "Only the owner" in client.get("/settings").text
