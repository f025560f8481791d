"""The page of one find: ledger and outstanding looks on top, names below; corrections and history."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from importlib import resources

import pytest
from fastapi.testclient import TestClient
from markupsafe import escape

from trug.records.documents import fruitbodies_of
from trug.records.gatherings import add_find, make_look, refresh, state_name
from trug.records.signing import sign
from trug.records.tables import FindRow, FruitbodyRow, LookRow, Person, PlaceRow, SporePrint
from trug.web.site import Site

Token = Callable[[TestClient], str]
Find = tuple[str, list[str]]

#: A place whose digits would be seen at once if a page showed where it lies.
LAT, LON = 55.67641, 12.56832


@pytest.fixture
def find(site: Site) -> Find:
    """A find of two fruitbodies in northern Europe without a look."""
    with site.database.writing(owner(site)) as unit:
        place = unit.make(PlaceRow(name="River park", lat=LAT, lon=LON, region="europe-north"))
        row = add_find(unit, site.reasoner, date="2025-12-06", fruitbodies=2, stage="prime", place_id=place.id)
        return row.id, [b.id for b in fruitbodies_of(unit.session, row.id)]


@pytest.fixture
def looked_at(site: Site, find: Find) -> Find:
    """The same, its first fruitbody looked at so closely that every listed harmful taxon is ruled out."""
    told = tomllib.loads((resources.files("trug.cli") / "cluster.toml").read_text())
    with site.database.writing(owner(site)) as unit:
        for body, seen in ((None, told["seen"]), (find[1][0], told["fruitbodies"][0]["seen"])):
            for code, answer in seen.items():
                make_look(
                    unit, site.reasoner, find[0], character=code, answer=answer, fruitbody_id=body, then_refresh=False
                )
        refresh(unit, site.reasoner, find[0])
    return find


def owner(site: Site) -> str:
    with site.database.reading() as session:
        return str(session.query(Person.id).filter(Person.name == "Ada Moss").scalar())


def look(site: Site, find: Find, character: str, answer: object, body: int = 0, **fields: object) -> str:
    with site.database.writing(owner(site)) as unit:
        fields = {"fruitbody_id": find[1][body], **fields}
        return make_look(unit, site.reasoner, find[0], character=character, answer=answer, **fields).id


def headings(page: str) -> list[str]:
    return [re.sub("<.*?>", "", h).strip() for h in re.findall(r"<h[12][^>]*>(.*?)</h[12]>", page, re.DOTALL)]


def test_ledger_and_next_look_stand_above_the_names(client: TestClient, find: Find) -> None:
    told = headings(client.get(f"/finds/{find[0]}").text)

    assert told.index("Ledger of fruitbody a") < told.index("Look next") < told.index("Names")


def test_each_fruitbody_says_its_own_ledger_and_leads_to_it(client: TestClient, looked_at: Find) -> None:
    page = client.get(f"/finds/{looked_at[0]}").text
    strip = page[page.index('class="strip"') : page.index("</nav>", page.index('class="strip"'))]

    for body in looked_at[1]:
        assert f"/finds/{looked_at[0]}?body={body}" in strip
    assert "no listed harmful taxon left open" in strip
    assert "36 that kill or do lasting damage are not ruled out" in strip


def test_the_best_state_is_said_with_its_danger_and_with_no_promise(client: TestClient, looked_at: Find) -> None:
    page = client.get(f"/finds/{looked_at[0]}").text

    best = page[page.index('class="best"') : page.index("</div>", page.index('class="best"'))]
    assert re.search(r"No listed harmful taxon left open \(\d+ looks, withstands \d+ errors?\)", best)
    assert "The greatest danger that remains" in best


@pytest.mark.parametrize("body", [0, 1])
def test_no_page_of_a_find_promises_safety(client: TestClient, looked_at: Find, body: int) -> None:
    for path in (
        f"/finds/{looked_at[0]}?body={looked_at[1][body]}",
        f"/finds/{looked_at[0]}/ledger/{looked_at[1][body]}",
    ):
        words = re.sub("<[^>]*>", " ", client.get(path).text).lower()
        assert not re.search(r"\b(safe|edible|harmless|good to eat)\b", words)
        assert not re.search(r"\ball clear\b|\bis clear\b|: clear\b", words)


def test_what_was_not_looked_at_singly_stays_open(client: TestClient, looked_at: Find) -> None:
    page = client.get(f"/finds/{looked_at[0]}?body={looked_at[1][1]}").text

    assert 'class="best"' not in page
    assert "The worst still open" in page


def test_outside_the_regions_of_the_book_the_best_state_is_never_said(
    client: TestClient, site: Site, looked_at: Find
) -> None:
    with site.database.writing(owner(site)) as unit:
        unit.edit(unit.get(FindRow, looked_at[0]), region="elsewhere")
        refresh(unit, site.reasoner, looked_at[0])

    page = client.get(f"/finds/{looked_at[0]}").text
    assert 'class="best"' not in page
    assert "its ledger proves nothing and nothing is released" in page
    assert "no listed harmful taxon left open" not in page.lower()


def test_the_page_shows_a_few_open_taxa_once_something_was_seen(client: TestClient, looked_at: Find) -> None:
    page = client.get(f"/finds/{looked_at[0]}?body={looked_at[1][1]}").text

    assert page.count('class="openline"') == 12


def test_before_any_look_the_page_counts_what_is_open_and_the_ledger_names_every_one(
    client: TestClient, site: Site, find: Find
) -> None:
    harmful = {t.code for t in site.here.book.treatments.values() if t.harm is not None}

    page = client.get(f"/finds/{find[0]}").text
    whole = client.get(f"/finds/{find[0]}/ledger/{find[1][0]}").text

    assert page.count('class="openline"') == 0
    assert f"/finds/{find[0]}/ledger/{find[1][0]}" in page
    assert {code for code in harmful if f'href="/book/{code}"' in whole} == harmful


def test_what_kills_stands_before_what_only_makes_ill(client: TestClient, find: Find) -> None:
    whole = client.get(f"/finds/{find[0]}/ledger/{find[1][0]}").text
    levels = re.findall(r'class="openline"><span class="level level-(\w+)"', re.sub(r">\s+<", "><", whole))

    assert levels == sorted(levels, key=["kills", "organ", "gut", "conditional"].index)


def test_a_ruled_out_taxon_names_look_account_and_source(client: TestClient, site: Site, looked_at: Find) -> None:
    with site.database.reading() as session:
        _, result = site.reasoner.of_fruitbody(session, looked_at[0], looked_at[1][0])
    whole = client.get(f"/finds/{looked_at[0]}/ledger/{looked_at[1][0]}").text

    ruled = next(e for e in result.ledger if e.ruled_out and e.taxon == "galerina-marginata")
    line = whole[whole.index('href="/book/galerina-marginata"') :]
    line = line[: line.index("ruledline")]
    for against in ruled.against:
        source = site.here.book.sources[against.source]
        assert site.here.vocabulary.characters[against.character].label in line
        assert against.treatment_says in line
        assert str(escape(source.authors or source.container or source.title or "memory")) in line


def test_looks_that_contradict_each_other_are_said_and_marked(client: TestClient, site: Site, find: Find) -> None:
    with site.database.writing(owner(site)) as unit:
        second = unit.make(Person(name="Bo Fern")).id
    look(site, find, "cap_colour", "red")
    look(site, find, "cap_colour", "white", observer_id=second, blind=True)

    page = client.get(f"/finds/{find[0]}").text
    assert "Looks contradict each other" in page
    assert page.count("contradicts another look</span>") == 2
    assert page.count("made blind</span>") == 1


def test_a_look_that_cannot_be_used_is_said_with_its_reason(client: TestClient, site: Site, find: Find) -> None:
    look(site, find, "volva", "absent")
    look(site, find, "ring", "skirt", sure="unsure")

    page = client.get(f"/finds/{find[0]}").text
    assert "counts only together with how the base was taken: whole" in page
    assert "marked unsure; it shifts the name but rules nothing out" in page


def test_where_it_grew_is_told_by_name_alone(client: TestClient, looked_at: Find) -> None:
    for path in ("", f"/ledger/{looked_at[1][0]}", "/history", "/correct", "/prints", "/photos"):
        page = client.get(f"/finds/{looked_at[0]}{path}").text
        assert "55.6" not in page
        assert "12.56" not in page
    assert "River park" in client.get(f"/finds/{looked_at[0]}").text


def test_names_come_in_words_with_numbers_and_never_as_pictures(client: TestClient, looked_at: Find) -> None:
    page = client.get(f"/finds/{looked_at[0]}").text
    names = page[page.index('id="names"') : page.index('id="photos"')]

    assert "Flammulina velutipes" in names
    assert "very likely" in names
    assert "none in this book" in names
    assert "<img" not in names


def test_every_path_that_leads_on_is_linked(client: TestClient, find: Find) -> None:
    page = client.get(f"/finds/{find[0]}").text

    for path in ("sign", "blind", "expert", "label", "kitchen", "correct", "history", "photos", "prints"):
        assert f'href="/finds/{find[0]}/{path}' in page


@pytest.mark.parametrize("path", ["/finds/none", "/finds/none/history", "/finds/none/correct", "/finds/none/ledger/a"])
def test_a_find_that_is_not_there_is_answered_with_404(client: TestClient, path: str) -> None:
    assert client.get(path).status_code == 404


def test_a_fruitbody_of_another_find_is_neither_shown_nor_changed(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    with site.database.writing(owner(site)) as unit:
        other = add_find(unit, site.reasoner, date="2025-12-06").id

    assert client.get(f"/finds/{other}?body={find[1][0]}").status_code == 404
    data = {"csrf": token(client), "stage": "past"}
    assert client.post(f"/finds/{other}/fruitbodies/{find[1][0]}", data=data).status_code == 422
    with site.database.reading() as session:
        body = session.get(FruitbodyRow, find[1][0])
        assert body is not None
        assert body.stage == "prime"


def test_stage_and_condition_of_a_fruitbody_are_corrected(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    data = {"csrf": token(client), "stage": "past", "condition": ["frosted", "maggoty"], "notes": "soft"}
    client.post(f"/finds/{find[0]}/fruitbodies/{find[1][0]}", data=data)

    with site.database.reading() as session:
        body = session.get(FruitbodyRow, find[1][0])
        assert body is not None
        assert (body.stage, body.condition, body.notes) == ("past", ["frosted", "maggoty"], "soft")


def test_notes_on_a_fruitbody_end_no_signature(client: TestClient, site: Site, looked_at: Find, token: Token) -> None:
    body = looked_at[1][0]
    signed = {"taxon": "flammulina-velutipes", "fruitbodies": [body], "person_id": owner(site), "in_hand": True}
    with site.database.writing(owner(site)) as unit:
        sign(unit, site.reasoner, looked_at[0], **signed)
    path = f"/finds/{looked_at[0]}/fruitbodies/{body}"

    client.post(path, data={"csrf": token(client), "stage": "prime", "notes": "kept"})
    assert "waits for a second signer" in client.get(f"/finds/{looked_at[0]}").text

    client.post(path, data={"csrf": token(client), "stage": "past", "notes": "kept"})
    assert "in doubt" in client.get(f"/finds/{looked_at[0]}").text


def test_the_last_fruitbody_cannot_be_deleted(client: TestClient, site: Site, find: Find, token: Token) -> None:
    form = {"csrf": token(client)}
    first = client.post(f"/finds/{find[0]}/fruitbodies/{find[1][0]}/delete", data=form)
    second = client.post(f"/finds/{find[0]}/fruitbodies/{find[1][1]}/delete", data=form)

    assert (first.status_code, second.status_code) == (200, 422)
    with site.database.reading() as session:
        assert [b.label for b in fruitbodies_of(session, find[0])] == ["b"]


def test_an_added_fruitbody_is_shown_with_a_ledger_of_its_own(client: TestClient, find: Find, token: Token) -> None:
    answer = client.post(f"/finds/{find[0]}/fruitbodies", data={"csrf": token(client)})

    assert "Ledger of fruitbody c" in answer.text


def test_a_corrected_find_tells_its_history_from_what_to_what(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    data = {"csrf": token(client), "date": "2025-12-05", "region": "europe-north", "notes": "on willow", "number": "7"}
    client.post(f"/finds/{find[0]}/correct", data=data)

    page = re.sub(r"\s+", " ", client.get(f"/finds/{find[0]}/history").text)
    assert "changed date of the find: from <b>2025-12-06</b> to <b>2025-12-05</b>" in page
    assert "changed notes of the find: from <b>nothing</b> to <b>on willow</b>" in page
    assert "changed place of the find: from <b>River park</b> to <b>nothing</b>" in page
    assert page.index("changed date") < page.index("recorded the find")
    assert "Ada Moss" in page


def test_a_wrong_correction_changes_nothing_and_keeps_what_was_typed(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    data = {"csrf": token(client), "date": "2099-01-01", "notes": "on willow"}
    answer = client.post(f"/finds/{find[0]}/correct", data=data)

    assert answer.status_code == 422
    assert "on willow" in answer.text
    with site.database.reading() as session:
        row = session.get(FindRow, find[0])
        assert row is not None
        assert (row.date, row.notes) == ("2025-12-06", "")


def test_a_stated_name_is_listed_and_rules_nothing_out(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    data = {"csrf": token(client), "name": "velvet shank", "stated_by": "Bo Fern", "body": find[1][0]}
    page = client.post(f"/finds/{find[0]}/names", data=data).text

    assert "Stated by people" in page
    assert "stated, not signed" in page
    assert "36 that kill or do lasting damage are not ruled out" in page


def test_a_name_of_another_find_is_not_deleted_from_here(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    with site.database.writing(owner(site)) as unit:
        other = add_find(unit, site.reasoner, date="2025-12-06").id
        name = state_name(unit, site.reasoner, other, "cep").id

    form = {"csrf": token(client)}
    assert client.post(f"/finds/{find[0]}/names/{name}/delete", data=form).status_code == 422
    assert client.post(f"/finds/{other}/names/{name}/delete", data=form).status_code == 200


def test_a_deleted_find_is_gone_from_list_and_page(client: TestClient, find: Find, token: Token) -> None:
    client.post(f"/finds/{find[0]}/delete", data={"csrf": token(client)})

    assert find[0] not in client.get("/").text
    assert client.get(f"/finds/{find[0]}").status_code == 404


def test_what_people_wrote_cannot_become_markup(client: TestClient, find: Find, token: Token) -> None:
    data = {"csrf": token(client), "name": "<b>bold</b>", "remarks": "<script>1</script>"}
    client.post(f"/finds/{find[0]}/names", data=data)

    page = client.get(f"/finds/{find[0]}").text
    assert "<script>1" not in page
    assert "&lt;b&gt;bold" in page


def test_a_print_that_is_laid_is_no_look_and_becomes_one_when_it_is_read(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    form = {"csrf": token(client), "body": find[1][0], "paper": "both", "started": "2025-12-06T18:00"}
    client.post(f"/finds/{find[0]}/prints", data=form)
    with site.database.reading() as session:
        print_id = session.query(SporePrint.id).scalar()
        assert session.query(LookRow).count() == 0

    client.post(f"/finds/{find[0]}/prints/{print_id}", data={**form, "colour": "white", "deposit": "thin"})
    with site.database.reading() as session:
        made = session.query(LookRow).one()
        assert (made.character, made.evidence, made.sure) == ("spore_print", {"states": ["white"]}, "unsure")
        assert made.sources == [print_id]

    client.post(f"/finds/{find[0]}/prints/{print_id}/delete", data={"csrf": token(client)})
    with site.database.reading() as session:
        assert session.query(LookRow).filter(LookRow.deleted_at.is_(None)).count() == 0


def test_nothing_that_fell_has_no_colour(client: TestClient, site: Site, find: Find, token: Token) -> None:
    form = {"csrf": token(client), "body": find[1][0], "deposit": "none", "colour": "white"}

    assert client.post(f"/finds/{find[0]}/prints", data=form).status_code == 422
    with site.database.reading() as session:
        assert session.query(SporePrint).count() == 0


@pytest.mark.parametrize("date", ["2019", "2019-10/2019-11", ""])
def test_a_find_whose_month_is_not_known_is_shown_and_says_that_nothing_is_ruled_out(
    client: TestClient, site: Site, find: Find, date: str
) -> None:
    with site.database.writing(owner(site)) as unit:
        unit.edit(unit.get(FindRow, find[0]), date=date)
        refresh(unit, site.reasoner, find[0])

    answer = client.get(f"/finds/{find[0]}")
    assert answer.status_code == 200
    assert "nothing is ruled out" in answer.text
    assert f"/finds/{find[0]}/correct" in answer.text
    assert client.get(f"/ill/finds/{find[0]}").status_code == 200
    assert date in client.get("/").text


def test_a_date_without_a_day_stays_when_something_else_is_corrected(
    client: TestClient, site: Site, find: Find, token: Token
) -> None:
    with site.database.writing(owner(site)) as unit:
        unit.edit(unit.get(FindRow, find[0]), date="2019")

    answer = client.post(f"/finds/{find[0]}/correct", data={"csrf": token(client), "date": "", "notes": "by the weir"})

    assert answer.status_code == 200
    with site.database.reading() as session:
        row = session.get(FindRow, find[0])
        assert row is not None
        assert (row.date, row.notes) == ("2019", "by the weir")
