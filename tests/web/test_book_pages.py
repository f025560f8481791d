from __future__ import annotations

import html
import re
from xml.etree import ElementTree

import pytest
from fastapi.testclient import TestClient

from trug.characters import Vocabulary
from trug.drawings import DRAWN, drawn_states
from trug.records.database import Database
from trug.records.gatherings import add_find, state_name
from trug.records.reasoning import Reasoner
from trug.treatments import Book, format_size
from trug.web.accounts import Notes, hours, kitchen_standing
from trug.web.site import Site, setting

TAG = re.compile(r"<[^>]+>")


def text_of(page: str) -> str:
    """What a page says, without its marks."""
    return " ".join(html.unescape(TAG.sub(" ", page[page.index("<main") : page.index("</main>")])).split())


def said(client: TestClient, address: str, status: int = 200) -> str:
    answer = client.get(address)
    assert answer.status_code == status, address
    return text_of(answer.text)


def links(client: TestClient, address: str) -> list[str]:
    return re.findall(r'href="(/book/[a-z-]+)"', client.get(address).text)


def test_the_book_lists_every_treatment_with_harm_in_words(client: TestClient, book: Book) -> None:
    assert set(links(client, "/book")) == {f"/book/{code}" for code in book.treatments}
    page = said(client, "/book")
    assert "Galerina marginata funeral bell kills not for anyone" in page
    assert "Boletus edulis cep eaten, with conditions" in page


@pytest.mark.parametrize("typed", ["velvet shank", "Flammulina velutipes", "flammulina-velutipes", "velvt shnak"])
def test_a_search_finds_by_any_name(client: TestClient, typed: str) -> None:
    assert links(client, f"/book?q={typed}")[0] == "/book/flammulina-velutipes"


def test_a_misspelt_name_says_so_and_gives_the_nearest(client: TestClient) -> None:
    page = said(client, "/book?q=gallerina marginatta")
    assert "No name is written “gallerina marginatta”" in page
    assert "Galerina marginata" in page


@pytest.mark.parametrize("typed", ["xyzzy", "q", "<script>alert(1)</script>", "ю", "...", "💥", "%s %(x)s", "a" * 300])
def test_no_search_gives_an_empty_page(client: TestClient, typed: str) -> None:
    answer = client.get("/book", params={"q": typed})
    assert answer.status_code == 200
    assert re.search(r'href="/book/[a-z-]+"', answer.text)
    assert "<script>alert" not in answer.text


def test_an_older_name_says_by_which_it_was_found(client: TestClient) -> None:
    assert "also called Pholiota autumnalis" in said(client, "/book?q=Pholiota autumnalis")


def test_filters_narrow_the_list(client: TestClient, book: Book) -> None:
    assert set(links(client, "/book?level=kills")) == {
        f"/book/{t.code}" for t in book.treatments.values() if book.danger(t) == "kills"
    }
    assert set(links(client, "/book?kitchen=stillroom")) == {
        f"/book/{t.code}" for t in book.treatments.values() if kitchen_standing(t, book.danger(t)) == "stillroom"
    }
    assert set(links(client, "/book?group=boletes")) == {
        f"/book/{t.code}" for t in book.treatments.values() if t.group == "boletes"
    }
    assert "more have the name but not what you asked for" in said(client, "/book?q=amanita&level=gut")
    assert "Nothing in the book is all of this" in said(client, "/book?group=boletes&kitchen=stillroom")


def test_nothing_is_called_harmless_or_safe(client: TestClient, book: Book) -> None:
    for code in list(book.treatments)[::20]:
        page = said(client, f"/book/{code}").lower()
        for word in ("safe to", "is safe", "harmless", "edible: yes"):
            assert word not in page, (code, word)
        assert "leave to eat" in page or book.danger(book.treatments[code])


def test_what_harms_beyond_conditions_is_for_nobody(book: Book) -> None:
    for t in book.treatments.values():
        if book.danger(t) in ("kills", "organ", "gut") or (t.harm and t.harm.thought_good):
            assert kitchen_standing(t, book.danger(t)) == "nobody"
        elif t.use is None:
            assert kitchen_standing(t, book.danger(t)) == "uncoded"


def test_harm_stands_first_on_a_treatment(client: TestClient) -> None:
    page = said(client, "/book/galerina-marginata")
    harm = page.index("kills Not for anyone.")
    assert harm < page.index("Scientific name")
    assert page.index("amatoxin") < page.index("First signs after the meal 6 to 24 hours") < page.index("Names ")
    assert "Never ruled out without: spore print" in page
    assert "Any small brown mushroom with a brown print : a group that beginners leave alone" in page


def test_what_people_thought_good_says_that_it_is_for_nobody(client: TestClient, book: Book) -> None:
    for t in book.treatments.values():
        if t.harm and t.harm.thought_good:
            assert "people who thought it good have died of it or were left ill" in said(client, f"/book/{t.code}")


@pytest.mark.parametrize("code", ["galerina-marginata", "inonotus-obliquus", "boletus-edulis", "morchella-esculenta"])
def test_every_value_stands_on_the_page_with_its_source(
    client: TestClient, book: Book, vocabulary: Vocabulary, code: str
) -> None:
    t = book.treatments[code]
    raw = client.get(f"/book/{code}").text
    page = text_of(raw)
    for character, record in t.records.items():
        assert f'href="/characters/{character}"' in raw
        if record.size is not None:
            assert format_size(record.size) in page
        for words in record.words.values():
            for state in words if not record.complete else [s for s, w in words.items() if w != "never"]:
                assert vocabulary.characters[character].state(state).label in page
    cited = {r.source for r in t.records.values() if book.source_kind(r.source) == "published"}
    for key in cited:
        assert " ".join(book.sources[key].cite().lstrip(". ").split()) in page
    if any(book.source_kind(r.source) == "memory" for r in t.records.values()):
        assert "from memory" in page


def test_the_numbers_of_notes_lead_to_notes_that_are_there(client: TestClient, book: Book) -> None:
    for code in list(book.treatments)[::20]:
        raw = client.get(f"/book/{code}").text
        assert set(re.findall(r'href="#(note-\d+)"', raw)) == set(re.findall(r'id="(note-\d+)"', raw))


def test_a_work_that_the_remarks_name_is_a_numbered_note(book: Book) -> None:
    notes = Notes(book)
    assert notes.in_text("so told (lee-2020), 5 % of it (not-a-work) <b>") == (
        'so told <a href="#note-1">[1]</a>, 5 % of it (not-a-work) &lt;b&gt;'
    )
    assert notes.works()[0][1] == book.sources["lee-2020"].cite()


def test_traditions_are_reported_not_advised(client: TestClient) -> None:
    page = said(client, "/book/inonotus-obliquus")
    assert "infusion for stomach and gut" in page
    assert "These are reports of what people did, not advice. Ask a clinician." in page
    assert "weak kidneys" in page


def test_treatments_have_pages(client: TestClient, book: Book) -> None:
    for code in list(book.treatments)[::3]:
        assert book.treatments[code].name in client.get(f"/book/{code}").text


@pytest.mark.parametrize("old", ["pholiota-autumnalis", "Pholiota autumnalis", "funeral-bell", "GALERINA-MARGINATA"])
def test_older_names_lead_to_the_present_one(client: TestClient, old: str) -> None:
    answer = client.get(f"/book/{old}", follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (302, "/book/galerina-marginata")


def test_a_missing_treatment_gives_the_nearest(client: TestClient) -> None:
    page = said(client, "/book/gallerina-marginatta", 404)
    assert "The book has no treatment called “gallerina marginatta”" in page
    assert "Galerina marginata" in page


def test_own_finds_of_a_taxon_are_shown(client: TestClient, database: Database, reasoner: Reasoner) -> None:
    with database.reading() as session:
        owner = str(setting(session, "owner"))
    with database.writing(owner) as unit:
        find = add_find(unit, reasoner, date="2026-10-04")
        state_name(unit, reasoner, find.id, "Galerina marginata")
    assert f'href="/finds/{find.id}"' in client.get("/book/galerina-marginata").text
    assert "In your finds" not in said(client, "/book/boletus-edulis")


@pytest.mark.parametrize(
    ("span", "words"),
    [
        ((6.0, 24.0), "6 to 24 hours"),
        ((0.25, 0.5), "15 to 30 minutes"),
        ((0.33, 4.0), "20 minutes to 4 hours"),
        ((24.0, 504.0), "1 to 21 days"),
        ((12.0, 12.0), "12 hours"),
        ((2.0, 3.0), "2 to 3 hours"),
    ],
)
def test_latency_is_told_in_the_unit_that_is_plainest(span: tuple[float, float], words: str) -> None:
    assert hours(span) == words


def test_two_taxa_stand_side_by_side_what_separates_first(client: TestClient) -> None:
    page = said(client, "/compare?with=velvet shank&with=funeral bell")
    assert page.index("kills") < page.index("Separates clearly") < page.index("Separates partly")
    assert page.index("Spore print firm") < page.index("Ring on the stipe")
    assert "Firm looks that separate them in the field spore print" in page
    assert "not separable in the field" not in page


def test_what_the_field_cannot_separate_is_said_before_anything_else(client: TestClient, site: Site) -> None:
    assert not site.confusions.pair("galerina-marginata", "kuehneromyces-mutabilis").field_separable
    page = said(client, "/compare?with=galerina-marginata&with=kuehneromyces-mutabilis")
    assert page.index("not separable in the field by two firm looks") < page.index("Separates")


def test_one_taxon_stands_beside_its_confusions(client: TestClient, site: Site) -> None:
    found = links(client, "/compare?with=galerina-marginata")
    assert {f"/book/{c.taxon}" for c in site.confusions.of("galerina-marginata")} <= set(found)
    assert "Not separable in the field by two firm looks" in said(client, "/compare?with=galerina-marginata")


def test_a_taxon_is_added_and_taken_out_by_address(client: TestClient) -> None:
    raw = client.get("/compare?with=boletus-edulis&with=amanita-phalloides").text
    assert 'href="/compare?with=amanita-phalloides"' in raw
    assert '<input type="hidden" name="with" value="boletus-edulis">' in raw


def test_a_name_of_several_taxa_asks_which(client: TestClient) -> None:
    answer = client.get("/compare?with=boletus-edulis&with=amanita")
    assert "No single treatment is called “amanita”" in text_of(answer.text)
    assert 'href="/compare?with=boletus-edulis&amp;with=amanita-caesarea"' in answer.text


def test_a_comparison_holds_no_more_than_fit(client: TestClient, book: Book) -> None:
    many = "&".join(f"with={code}" for code in list(book.treatments)[:7])
    assert "5 fit side by side" in said(client, f"/compare?{many}")


def test_a_comparison_of_nothing_asks_for_a_name(client: TestClient) -> None:
    assert "Name one fungus" in said(client, "/compare")
    assert "No treatment is called “...”" in said(client, "/compare?with=...", 404)


def test_characters_lists_every_one(client: TestClient, vocabulary: Vocabulary) -> None:
    raw = client.get("/characters").text
    assert all(f'href="/characters/{code}"' in raw for code in vocabulary.characters)


def test_every_character_shows_question_way_and_states(client: TestClient, vocabulary: Vocabulary) -> None:
    for code, c in vocabulary.characters.items():
        page = said(client, f"/characters/{code}")
        for text in (c.question, c.how, c.caution, *(s.definition for s in c.states if not c.measured)):
            assert " ".join(text.split()) in page, (code, text)


def test_a_firm_character_says_so_and_how_often_it_is_wrong(client: TestClient) -> None:
    page = said(client, "/characters/spore_print")
    assert "yes: weather, age and an unpractised eye seldom change it" in page
    assert "about 3 looks in 100 are wrong" in page
    assert "6 hours of waiting" in page
    assert "white and dark paper" in page


def test_a_character_by_another_spelling_leads_on_and_a_missing_one_does_not(client: TestClient) -> None:
    answer = client.get("/characters/Spore-Print", follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (302, "/characters/spore_print")
    assert "did you mean 'spore_print'" in said(client, "/characters/spore_prnt", 404)


def test_drawings_of_a_character_lie_in_one_file_by_state(client: TestClient) -> None:
    for code in sorted(DRAWN & {"volva", "ring", "gill_attachment"}):
        answer = client.get(f"/characters/{code}/drawings.svg")
        assert answer.headers["content-type"] == "image/svg+xml"
        root = ElementTree.fromstring(answer.text)
        assert [s.get("id") for s in root] == list(drawn_states(code))
        assert ElementTree.fromstring(client.get(f"/characters/{code}/sheet.svg").text).tag.endswith("svg")
    assert client.get("/characters/smell/drawings.svg").status_code == 404


def test_a_treatment_uses_only_drawings_that_are_there(client: TestClient) -> None:
    used = re.findall(
        r'href="/characters/(\w+)/drawings\.svg\?[^#"]*#([\w-]+)"', client.get("/book/amanita-phalloides").text
    )
    assert used
    assert all(state in drawn_states(code) for code, state in used)


def test_pages_of_the_book_need_no_set_up(client: TestClient, database: Database) -> None:
    with database.writing() as unit:
        from sqlalchemy import delete

        from trug.records.tables import Setting

        unit.session.execute(delete(Setting).where(Setting.key == "owner"))
    for address in ("/book", "/book/boletus-edulis", "/compare?with=boletus-edulis", "/characters", "/api"):
        assert client.get(address, follow_redirects=False).status_code == 200
