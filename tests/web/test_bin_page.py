"""The bin: what was deleted is listed and comes back whole."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from trug.records.documents import fruitbodies_of
from trug.records.gatherings import add_find, make_look
from trug.records.history import KEPT_DAYS
from trug.records.tables import FindRow, Person
from trug.web.site import Site

Token = Callable[[TestClient], str]


@pytest.fixture
def find(site: Site) -> str:
    with site.database.writing(owner(site)) as unit:
        row = add_find(unit, site.reasoner, date="2025-10-04", region="europe-north")
        body = fruitbodies_of(unit.session, row.id)[0].id
        make_look(unit, site.reasoner, row.id, character="ring", answer="skirt", fruitbody_id=body)
        return row.id


def owner(site: Site) -> str:
    with site.database.reading() as session:
        return str(session.query(Person.id).filter(Person.name == "Ada Moss").scalar())


def test_a_deleted_find_comes_back_with_its_looks(client: TestClient, find: str, token: Token) -> None:
    before = client.get(f"/finds/{find}").text.split('<main id="main"')[1]
    client.post(f"/finds/{find}/delete", data={"csrf": token(client)})
    assert "Ada Moss" in client.get("/bin").text

    client.post(f"/bin/find/{find}", data={"csrf": token(client)})

    assert "The bin is empty" in client.get("/bin").text
    after = client.get(f"/finds/{find}").text.split('<main id="main"')[1]
    assert after == before


def test_a_deleted_look_is_known_by_its_answer_and_leads_to_its_find(
    client: TestClient, site: Site, find: str, token: Token
) -> None:
    with site.database.reading() as session:
        row = session.get(FindRow, find)
        assert row is not None
    page = client.get(f"/finds/{find}").text
    path = next(part.split('"')[0] for part in page.split('action="') if f"/finds/{find}/looks/" in part.split('"')[0])
    client.post(path, data={"csrf": token(client)})

    told = client.get("/bin").text
    assert "ring on the stipe: skirt" in told
    assert f'href="/finds/{find}"' in told


def test_what_was_deleted_too_long_ago_is_not_offered(client: TestClient, site: Site, find: str) -> None:
    long_ago = datetime.datetime.now(datetime.UTC) - datetime.timedelta(days=KEPT_DAYS + 1)
    with site.database.writing(owner(site)) as unit:
        unit.edit(
            unit.get(FindRow, find), deleted_at=long_ago.isoformat(timespec="milliseconds").replace("+00:00", "Z")
        )

    assert find not in client.get("/bin").text


def test_an_unknown_kind_of_thing_is_refused(client: TestClient, find: str, token: Token) -> None:
    assert client.post(f"/bin/setting/{find}", data={"csrf": token(client)}).status_code == 422
