"""The list of finds, and beginning one."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from trug.records.gatherings import add_find
from trug.records.listing import PAGE
from trug.records.tables import FindRow, Person, PlaceRow
from trug.web.site import Site

Token = Callable[[TestClient], str]


def found(site: Site, days: list[str], **fields: object) -> list[str]:
    with site.database.writing(owner(site)) as unit:
        return [add_find(unit, site.reasoner, date=day, **fields).id for day in days]


def owner(site: Site) -> str:
    with site.database.reading() as session:
        return str(session.query(Person.id).filter(Person.name == "Ada Moss").scalar())


def test_an_empty_list_tells_how_to_begin(client: TestClient) -> None:
    page = client.get("/").text

    assert "Nothing is recorded yet" in page
    assert 'href="/finds/new"' in page


def test_the_latest_day_comes_first_and_days_are_headings(client: TestClient, site: Site) -> None:
    found(site, ["2025-10-03", "2025-10-04", "2025-10-03"])

    headings = re.findall(r"<h2>(.*?)<span", client.get("/").text)
    assert [h.strip() for h in headings] == ["Latest day, 4 October 2025", "3 October 2025"]


def test_finds_of_today_stand_under_today(client: TestClient, site: Site) -> None:
    found(site, [datetime.date.today().isoformat()])

    assert "<h2>Today, " in client.get("/").text


def test_every_find_is_on_exactly_one_page_of_the_list(client: TestClient, site: Site) -> None:
    made = found(site, ["2025-10-04"] * (PAGE + 3))

    page, seen, address = "", [], "/finds"
    for _ in range(2):
        page = client.get(address).text
        seen += re.findall(r'class="findline" href="/finds/([^"]+)"', page)
        further = re.search(r'rel="next" href="([^"]+)"', page)
        address = "/finds" + further[1].replace("&amp;", "&") if further else ""

    assert address == ""
    assert sorted(seen) == sorted(made)


def test_words_and_filters_narrow_the_list_and_show_all_leads_back(client: TestClient, site: Site) -> None:
    with site.database.writing(owner(site)) as unit:
        place = unit.make(PlaceRow(name="River park")).id
    (by_river,) = found(site, ["2025-10-04"], place_id=place)
    (elsewhere,) = found(site, ["2025-10-04"], notes="under hazel")

    for query, here, there in (
        ("q=river", by_river, elsewhere),
        ("q=HAZEL", elsewhere, by_river),
        (f"place={place}", by_river, elsewhere),
    ):
        page = client.get(f"/finds?{query}").text
        assert here in page
        assert there not in page
        assert "Show all" in page
    assert "No find fits" in client.get("/finds?standing=signed").text


def test_a_find_needs_only_its_date_and_leads_to_its_own_page(client: TestClient, site: Site, token: Token) -> None:
    answer = client.post("/finds/new", data={"csrf": token(client), "date": "2025-10-04"}, follow_redirects=False)

    assert answer.status_code == 303
    with site.database.reading() as session:
        row = session.query(FindRow).one()
    assert answer.headers["location"] == f"/finds/{row.id}"
    assert (row.date, row.finder_id) == ("2025-10-04", owner(site))


def test_the_region_of_the_set_up_is_chosen_beforehand(client: TestClient) -> None:
    assert '<option value="europe-north" selected>' in client.get("/finds/new").text


def test_a_new_place_is_made_once_and_found_again_by_its_name(client: TestClient, site: Site, token: Token) -> None:
    for name in ("Beech slope", " beech  SLOPE "):
        client.post("/finds/new", data={"csrf": token(client), "date": "2025-10-04", "place_new": name})

    with site.database.reading() as session:
        assert session.query(PlaceRow).count() == 1
        assert {row.place_id for row in session.query(FindRow)} == {session.query(PlaceRow.id).scalar()}


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("date", "2099-01-01", "lies in the past"),
        ("fruitbodies", "many", "as a number"),
        ("fruitbodies", "0", "1 to 26"),
    ],
)
def test_a_wrong_answer_is_told_and_what_was_typed_stays(
    client: TestClient, site: Site, token: Token, field: str, value: str, told: str
) -> None:
    typed = {"csrf": token(client), "date": "2025-10-04", "place_new": "Beech slope", field: value}

    answer = client.post("/finds/new", data=typed)

    assert answer.status_code == 422
    assert told in answer.text
    assert 'value="Beech slope"' in answer.text
    with site.database.reading() as session:
        assert session.query(FindRow).count() == session.query(PlaceRow).count() == 0


def test_nothing_is_recorded_without_the_token_of_this_browser(client: TestClient, site: Site) -> None:
    assert client.post("/finds/new", data={"date": "2025-10-04"}).status_code == 403

    with site.database.reading() as session:
        assert session.query(FindRow).count() == 0
