"""Names that are typed, records in words, counts, and what is odd about a book."""

from __future__ import annotations

import dataclasses

import pytest

from trug.characters import Vocabulary
from trug.determine.compile import compile_table
from trug.determine.confusions import Confusions
from trug.determine.table import Table
from trug.errors import UnknownWordError
from trug.treatments import Book, Harm, Record, SizeRange, Source, Use
from trug.treatments.check import findings
from trug.treatments.names import treatment_named
from trug.treatments.statistics import statistics
from trug.treatments.words import says


@pytest.mark.parametrize(
    "typed",
    [
        "Galerina marginata",
        "galerina marginata",
        "  GALERINA   marginata ",
        "galerina-marginata",
        "funeral bell",
        "Funeral Bel",
        "Galerina autumnalis",
    ],
)
def test_a_treatment_is_found_by_any_of_its_names(book: Book, typed: str) -> None:
    assert treatment_named(book, typed).code == "galerina-marginata"


def test_every_name_that_one_treatment_alone_has_finds_it(book: Book) -> None:
    holders: dict[str, set[str]] = {}
    for t in book.treatments.values():
        for name in t.names():
            holders.setdefault(name.lower(), set()).add(t.code)
    for name, codes in holders.items():
        if len(codes) == 1:
            assert {treatment_named(book, name).code} == codes, name
        else:
            with pytest.raises(UnknownWordError, match="fits several"):
                treatment_named(book, name)


def test_a_misspelt_name_proposes_the_nearest(book: Book) -> None:
    with pytest.raises(UnknownWordError, match="did you mean 'galerina marginata'"):
        treatment_named(book, "Galerina marginatta")
    with pytest.raises(UnknownWordError, match="'death cap'"):
        treatment_named(book, "deth cap")


def test_a_beginning_of_several_names_lists_them(book: Book) -> None:
    with pytest.raises(UnknownWordError, match=r"fits several treatments: Amanita bisporigera, Amanita caesarea"):
        treatment_named(book, "amanita")


@pytest.mark.parametrize("typed", ["", "   "])
def test_no_name_is_told(book: Book, typed: str) -> None:
    with pytest.raises(UnknownWordError, match="a name is missing"):
        treatment_named(book, typed)


def record(words: dict[str, dict[str, str]], *, complete: bool = False, size: SizeRange | None = None) -> Record:
    return Record("spore_print", words, size, complete, "from-memory")


@pytest.mark.parametrize(
    ("given", "text"),
    [
        (None, "—"),
        (record({}, size=SizeRange(15, 40, 8, 60)), "(8–)15–40(–60)"),
        (record({"": {"rust-brown": "always"}}), "rust brown"),
        (record({"": {"rust-brown": "always"}}, complete=True), "rust brown — nothing else"),
        (record({"": {"tan": "usually", "buff": "sometimes", "red": "rarely"}}), "tan, also buff (red)"),
        (record({"": {"buff": "sometimes"}}), "buff"),
        (record({"": {"tan": "usually", "white": "never"}}), "tan — never white"),
        (record({"young": {"tan": "usually"}, "past": {"buff": "usually"}}), "young: tan; past: buff"),
        (record({"young": {"tan": "usually", "red": "never"}, "past": {"red": "usually"}}), "young: tan; past: red"),
    ],
)
def test_a_record_reads_as_plain_words(given: Record | None, text: str) -> None:
    assert says(given) == text


def test_only_what_is_excluded_at_every_stage_is_excluded() -> None:
    by_stage = record({"young": {"tan": "always", "red": "never", "buff": "never"}, "past": {"buff": "never"}})
    assert by_stage.excludes("buff")
    assert not by_stage.excludes("red")
    assert not by_stage.excludes("white")
    assert record({"": {"tan": "always"}}, complete=True).excludes("white")
    assert not record({}, size=SizeRange(1, 2, 1, 2)).excludes("white")


def test_counts_add_up(book: Book, vocabulary: Vocabulary) -> None:
    found = statistics(book, vocabulary)
    assert found["taxa"] + found["groups"] == len(book.treatments)
    assert found["harmful"] == sum(found["harm_levels"].values()) == sum(1 for t in book.treatments.values() if t.harm)
    assert found["values"] == sum(len(t.records) for t in book.treatments.values())
    assert found["least_characters"] <= found["median_characters"] <= found["looks"] <= found["characters"]
    for key in ("values_by_source", "exclusions_by_source", "exclusions_kills_organ_by_source"):
        assert sum(found[key].values()) == pytest.approx(1, abs=1e-3)
    assert found["book"] == book.digest


def test_the_shipped_book_has_no_findings_about_harm(book: Book, vocabulary: Vocabulary) -> None:
    notes = findings(book, vocabulary)
    assert not [n for n in notes if "is not published" in n or "coded as used" in n or n.startswith("source ")]


def changed(book: Book, code: str, **more: object) -> Book:
    treatments = {**book.treatments, code: dataclasses.replace(book.treatments[code], **more)}
    return dataclasses.replace(book, treatments=treatments)


def test_what_is_odd_about_a_book_is_noted(book: Book, vocabulary: Vocabulary) -> None:
    sources = {**book.sources, "unread-1900": Source("unread-1900", "published")}
    assert "source unread-1900 is not used" in findings(dataclasses.replace(book, sources=sources), vocabulary)
    code = "galerina-marginata"
    memory = Harm("kills", "amatoxin", None, "from-memory")
    assert f"{code}: the source of its harm is not published (from-memory)" in findings(
        changed(book, code, harm=memory), vocabulary
    )
    used = changed(book, code, use=Use("food", (), (), "from-memory"))
    assert f"{code} is harmful (kills) and coded as used" in findings(used, vocabulary)
    bare = changed(book, code, records={})
    assert f"{code} (kills) has 0 firm characters that could speak against it" in findings(bare, vocabulary)


def test_a_treatment_and_its_copy_are_inseparable(book: Book, vocabulary: Vocabulary) -> None:
    code = "galerina-marginata"
    copy = dataclasses.replace(book.treatments[code], code="galerina-twin")
    few = {c: book.treatments[c] for c in ("amanita-phalloides", code, "pleurotus-ostreatus")}
    twin = dataclasses.replace(book, treatments={**few, "galerina-twin": copy})
    twin = dataclasses.replace(twin, treatments=dict(sorted(twin.treatments.items())))
    assert Confusions(compile_table(twin, vocabulary)).inseparable() == [(code, "galerina-twin")]


def test_death_cap_and_funeral_bell_are_separated(table: Table) -> None:
    found = Confusions(table).inseparable()
    assert all(a < b for a, b in found)
    assert ("amanita-phalloides", "galerina-marginata") not in found
