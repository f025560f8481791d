"""Lists of finds: page after page each find once, and words that are found as they are written."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from kept_finds import gather, person
from sqlalchemy import delete, insert
from sqlalchemy.orm import Session

from trug.errors import InputError
from trug.records.bin import bring_back, put_in_bin
from trug.records.database import Database
from trug.records.gatherings import correct_find
from trug.records.identifiers import new_id
from trug.records.listing import MOST_WORDS, list_finds
from trug.records.reasoning import Reasoner
from trug.records.tables import FindRow, FindWords, PlaceRow

#: Few days, so that many finds share one; dates of others are of any form, also with the sign that parts a page's end.
DATES = st.sampled_from(["2026-10-04", "2026-10-05", "2026-10", "2026", "", "2026-10-04T10:00Z", "2026_10"])
LETTERS = "aBä%_\\/'\" "


def put(session: Session, date: str, words: str = "", **more: str) -> str:
    """Write a find past everything that an import or a person would add."""
    row_id = new_id()
    filled = {"created_at": "x", "number": "", "fungarium": "", "voucher_at": "", "notes": "", "locality": ""}
    filled |= {"origin": "", "extra": {}, "name": "", "standing": "unnamed", **more}  # type: ignore[dict-item]
    session.execute(insert(FindRow), [{"id": row_id, "date": date, **filled}])
    if filled.get("deleted_at") is None:
        session.execute(insert(FindWords), [{"find_id": row_id, "date": date, "words": words.lower()}])
    return row_id


@pytest.fixture(scope="module")
def shared(empty_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Database]:
    folder = tmp_path_factory.mktemp("listing") / "data"
    shutil.copytree(empty_folder, folder)
    database = Database.open(folder)
    yield database
    database.close()


def pages(session: Session, count: int, **asked: str) -> list[list[str]]:
    found, after = [], None
    while True:
        page = list_finds(session, count=count, after=after, **asked)  # type: ignore[arg-type]
        found.append([line.id for line in page.finds])
        after = page.after
        if after is None:
            return found
        assert len(found) < 100


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(DATES, st.booleans()), max_size=14), st.integers(1, 5), st.booleans())
def test_pages_list_every_find_once_and_the_latest_first(
    shared: Database, finds: list[tuple[str, bool]], count: int, search: bool
) -> None:
    with shared.writing() as unit:
        session = unit.session
        session.execute(delete(FindWords))
        session.execute(delete(FindRow))
        kept = []
        for date, deleted in finds:
            row_id = put(session, date, "everywhere", **({"deleted_at": "2026-10-05"} if deleted else {}))
            kept += [] if deleted else [(date, row_id)]
        found = pages(session, count, **({"words": "every where"} if search else {}))

        assert [i for page in found for i in page] == [i for _, i in sorted(kept, reverse=True)]
        assert all(len(page) == count for page in found[:-1])


def test_a_find_made_while_one_turns_pages_neither_hides_nor_doubles_another(database: Database) -> None:
    with database.writing() as unit:
        old = [put(unit.session, "2026-10-04") for _ in range(6)]
        first = list_finds(unit.session, count=3)
        put(unit.session, "2026-10-09")
        put(unit.session, "2026-10-04")
        second = list_finds(unit.session, count=3, after=first.after)

        assert [line.id for line in (*first.finds, *second.finds)] == old[::-1]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.text(LETTERS, max_size=6), max_size=6), st.text(LETTERS, min_size=1, max_size=4))
def test_a_search_finds_just_the_finds_that_hold_every_word_as_written(
    shared: Database, written: list[str], asked: str
) -> None:
    with shared.writing() as unit:
        session = unit.session
        session.execute(delete(FindWords))
        session.execute(delete(FindRow))
        told = {put(session, "2026-10-04", words): words.lower() for words in written}
        found = {line.id for line in list_finds(session, words=asked).finds}

        assert found == {i for i, words in told.items() if all(word in words for word in asked.lower().split())}


def test_signs_that_mean_something_to_a_database_mean_themselves(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        for notes in ("40 % sand", "box_7", "boxA7", "40 x sand", r"a\b"):
            gather(unit, reasoner, notes=notes)
        for asked, notes in (
            ("40 %", ["40 % sand"]),
            ("box_7", ["box_7"]),
            ("\\", [r"a\b"]),
            ("BOX", ["boxA7", "box_7"]),
        ):
            ids = {line.id for line in list_finds(unit.session, words=asked).finds}
            assert sorted(unit.get(FindRow, i).notes for i in ids) == sorted(notes)


def test_filters_narrow_a_list_and_a_search(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        ada, bea = person(unit, "Ada Moss"), person(unit, "Bea Fern")
        mill = unit.make(PlaceRow(name="mill"))
        hers, _ = gather(unit, reasoner, ada, place_id=mill.id)
        gather(unit, reasoner, ada, date="2025-12-07")
        gather(unit, reasoner, bea, place_id=mill.id)
        asked = {"person_id": ada.id, "place_id": mill.id, "day": hers.date, "standing": "unnamed"}
        for words in ("", "moss"):
            line = list_finds(unit.session, words=words, **asked).finds
            assert [(k.id, k.place, k.finder) for k in line] == [(hers.id, "mill", "Ada Moss")]
        assert list_finds(unit.session, standing="signed").finds == ()


def test_what_lies_in_the_bin_is_in_no_list(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        find, _ = gather(unit, reasoner, notes="willow")
        put_in_bin(unit, reasoner, "find", find.id)
        assert list_finds(unit.session).finds == list_finds(unit.session, words="willow").finds == ()
        bring_back(unit, reasoner, "find", find.id)
        assert [k.id for k in list_finds(unit.session, words="willow").finds] == [find.id]


def test_a_search_follows_a_corrected_date(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        first, _ = gather(unit, reasoner, date="2025-01-01", notes="willow")
        second, _ = gather(unit, reasoner, date="2025-01-02", notes="willow")
        correct_find(unit, reasoner, first.id, date="2025-01-03")

        assert [k.id for k in list_finds(unit.session, words="willow").finds] == [first.id, second.id]
        assert [k.id for k in list_finds(unit.session).finds] == [first.id, second.id]


def test_a_search_of_endless_words_is_refused(database: Database) -> None:
    with database.reading() as session:
        assert list_finds(session, words="a " * (MOST_WORDS // 2)).finds == ()
        with pytest.raises(InputError, match="a few words"):
            list_finds(session, words="a" * (MOST_WORDS + 1))
