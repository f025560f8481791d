"""Looks: asked, answered, corrected, deleted."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st
from starlette.datastructures import FormData

from trug.characters import load_vocabulary
from trug.errors import InputError
from trug.records.documents import fruitbodies_of
from trug.records.find_files import parse_answer
from trug.records.gatherings import add_find, make_look
from trug.records.tables import LookRow, Person
from trug.web.look_form import answer_from
from trug.web.security import Posted
from trug.web.site import Site

Token = Callable[[TestClient], str]
Find = tuple[str, str]

VOCABULARY = load_vocabulary()


@pytest.fixture
def find(site: Site) -> Find:
    with site.database.writing(owner(site)) as unit:
        row = add_find(unit, site.reasoner, date="2025-10-04", region="europe-north")
        return row.id, fruitbodies_of(unit.session, row.id)[0].id


def owner(site: Site) -> str:
    with site.database.reading() as session:
        return str(session.query(Person.id).filter(Person.name == "Ada Moss").scalar())


def looks(site: Site) -> list[LookRow]:
    with site.database.reading() as session:
        return session.query(LookRow).filter(LookRow.deleted_at.is_(None)).order_by(LookRow.created_at).all()


def save(client: TestClient, token: Token, find: Find, character: str, **fields: Any) -> Any:
    headers = fields.pop("headers", {})
    data = {"csrf": token(client), "character": character, "body": find[1], **fields}
    return client.post(f"/finds/{find[0]}/looks", data=data, headers=headers)


def test_a_saved_look_comes_back_with_the_find_updated(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    before = re.search(r"Look next: ([^<]+)", client.get(f"/finds/{find[0]}").text)
    assert before
    asked = next(c for c in VOCABULARY.looks() if c.label == before[1].strip())

    answer = save(client, token, find, asked.code, answer=asked.codes[0])

    assert answer.url.path == f"/finds/{find[0]}"
    assert "Saved: " in answer.text
    after = re.search(r"Look next: ([^<]+)", answer.text)
    assert after
    assert after[1] != before[1]
    assert looks(site)[0].observer_id == owner(site)


def test_several_states_say_one_of_these(client: TestClient, site: Site, find: Find, token: Token) -> None:
    page = save(client, token, find, "cap_colour", answer=["tan", "buff"], sure="fairly").text

    assert looks(site)[0].evidence == {"states": ["tan", "buff"]}
    assert looks(site)[0].sure == "fairly"
    assert "tan or buff" in page


def test_a_look_that_could_not_be_made_keeps_its_reason(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    page = save(client, token, find, "smell", could_not="yes", not_seen="too cold").text

    assert looks(site)[0].evidence == {"not_seen": "too cold"}
    assert "could not be seen: too cold" in page


def test_sizes_and_samples_of_spores_are_saved_with_their_spread(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    save(client, token, find, "cap_width", value="48,5", deviation="2")
    save(client, token, find, "spore_length", n="30", mean="9.4", sd="0.5", p5="8.6", p95="10.2")

    assert [k.evidence for k in looks(site)] == [
        {"measurement": {"value": 48.5, "deviation": 2.0}},
        {"sample": {"n": 30, "mean": 9.4, "sd": 0.5, "p5": 8.6, "p95": 10.2}},
    ]


@pytest.mark.parametrize(
    ("character", "fields", "told"),
    [
        ("ring", {}, "choose what you see"),
        ("ring", {"answer": "skirts"}, "no state"),
        ("ring", {"answer": "skirt", "could_not": "yes"}, "take one of them back"),
        ("cap_width", {"value": "4000"}, "not plausible"),
        ("cap_width", {"value": "wide"}, "no number"),
        ("cap_width", {"value": "nan"}, "size is a number"),
        ("spore_length", {"mean": "9", "sd": "1"}, "how many were measured"),
    ],
)
def test_a_wrong_answer_is_told_and_nothing_is_saved(
    client: TestClient, site: Site, find: Find, token: Token, character: str, fields: dict[str, str], told: str
) -> None:
    page = save(client, token, find, character, **fields)
    swapped = save(client, token, find, character, **fields, headers={"X-Trug-Swap": "1"})

    assert (page.status_code, swapped.status_code) == (422, 422)
    assert told in page.text
    assert told in swapped.text
    assert "<html" in page.text
    assert "<" not in swapped.text.replace("<b>", "")
    assert looks(site) == []


def test_what_was_chosen_stays_chosen_when_the_answer_is_refused(client: TestClient, find: Find, token: Token) -> None:
    page = save(client, token, find, "ring", answer="skirt", could_not="yes", sure="fairly").text

    assert re.search(r'value="skirt" checked', page)
    assert re.search(r'value="fairly" checked', page)


def test_every_question_has_a_page_that_shows_every_answer(client: TestClient, find: Find) -> None:
    for character in VOCABULARY.characters.values():
        if character.role == "prior" or character.gate:
            continue
        page = client.get(f"/finds/{find[0]}/look/{character.code}?body={find[1]}")
        assert page.status_code == 200
        asked = re.findall(r'type="checkbox" name="answer" value="([^"]+)"', page.text)
        assert asked == ([] if character.measured else list(character.codes))


@pytest.mark.parametrize("code", ["season", "region", "nothing"])
def test_what_is_no_look_has_no_page(client: TestClient, find: Find, code: str) -> None:
    assert client.get(f"/finds/{find[0]}/look/{code}").status_code == 404


def test_nothing_is_tasted_while_something_that_kills_is_open(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    assert "/look/taste" not in client.get(f"/finds/{find[0]}").text
    page = client.get(f"/finds/{find[0]}/look/taste?body={find[1]}").text
    assert 'name="answer"' not in page
    assert save(client, token, find, "taste", answer="mild").status_code == 422
    assert looks(site) == []


def test_a_correction_takes_the_place_of_the_look_even_of_another_observer(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    with site.database.writing(owner(site)) as unit:
        second = unit.make(Person(name="Bo Fern")).id
        first = make_look(
            unit, site.reasoner, find[0], character="ring", answer="skirt", fruitbody_id=find[1], observer_id=second
        ).id

    page = client.get(f"/finds/{find[0]}/look/ring?body={find[1]}&correct={first}").text
    assert re.search(r'value="skirt" checked', page)
    told = save(client, token, find, "ring", answer="absent", supersedes=first).text

    assert looks(site)[-1].supersedes == first
    assert "Before: skirt" in told
    assert "contradicts another look</span>" not in told


def test_a_look_at_another_feature_is_not_corrected_and_opens_no_way_to_taste(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    save(client, token, find, "ring", answer="skirt")
    first = looks(site)[0].id

    assert save(client, token, find, "taste", answer="mild", supersedes=first).status_code == 422
    assert 'name="answer"' not in client.get(f"/finds/{find[0]}/look/taste?body={find[1]}&correct={first}").text
    assert [k.character for k in looks(site)] == ["ring"]


def test_a_deleted_look_is_gone_and_the_one_it_corrected_stands_again(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    save(client, token, find, "ring", answer="skirt")
    save(client, token, find, "ring", answer="absent")
    last = looks(site)[-1]

    page = client.post(f"/finds/{find[0]}/looks/{last.id}/delete", data={"csrf": token(client), "body": find[1]}).text

    assert "<b>Ring on the stipe</b>: skirt" in re.sub(r"\s+", " ", page)


def test_a_look_of_another_find_is_not_deleted_from_here(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    save(client, token, find, "ring", answer="skirt")
    with site.database.writing(owner(site)) as unit:
        other = add_find(unit, site.reasoner, date="2025-10-04").id

    answer = client.post(f"/finds/{other}/looks/{looks(site)[0].id}/delete", data={"csrf": token(client)})

    assert answer.status_code == 422
    assert len(looks(site)) == 1


def test_a_look_at_the_whole_find_belongs_to_no_fruitbody(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    save(client, token, find, "substrate", answer="fallen-wood")

    assert looks(site)[0].fruitbody_id is None


def test_no_field_of_a_form_hides_what_the_page_asks_of_the_form(client: TestClient, find: Find) -> None:
    # HTML, "The form element": a control's name shadows the property of that name, and the swap reads these.
    for path in (f"/finds/{find[0]}", f"/finds/{find[0]}/look/spore_length?body={find[1]}", "/finds/new"):
        named = set(re.findall(r'<(?:input|select|textarea|button)[^>]* name="([^"]+)"', client.get(path).text))
        assert not named & {"method", "action", "dataset", "submit", "prepend", "querySelector", "setAttribute"}


@given(st.sampled_from([c for c in VOCABULARY.looks() if not c.measured]), st.data())
def test_every_set_of_states_that_a_form_offers_is_evidence(character: Any, data: st.DataObject) -> None:
    chosen = data.draw(st.lists(st.sampled_from(character.codes), min_size=1, unique=True))
    form = Posted(FormData([("answer", s) for s in chosen]))

    assert parse_answer(answer_from(form, character), character).states == tuple(chosen)


@given(st.sampled_from([c for c in VOCABULARY.looks() if c.measured]), st.text(max_size=8))
def test_a_size_is_a_plausible_number_or_refused(character: Any, text: str) -> None:
    form = Posted(FormData([("value", text)]))
    try:
        evidence = parse_answer(answer_from(form, character), character)
    except InputError:
        return

    assert evidence.measurement is not None
    assert character.span[0] <= evidence.measurement.value <= character.span[1]
