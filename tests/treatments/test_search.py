from __future__ import annotations

import random
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trug.treatments import Book
from trug.treatments.search import LONGEST, NEAREST, NameIndex, plain_name


@pytest.fixture(scope="module")
def index(book: Book) -> NameIndex:
    return NameIndex(book)


@pytest.mark.parametrize(
    ("typed", "taxon", "how"),
    [
        ("Galerina marginata", "galerina-marginata", "exact"),
        ("galerina-marginata", "galerina-marginata", "exact"),
        ("GALERINA  MARGINATA", "galerina-marginata", "exact"),
        ("funeral bell", "galerina-marginata", "exact"),
        ("Pholiota autumnalis", "galerina-marginata", "exact"),
        ("G. marginata", "galerina-marginata", "exact"),
        ("galer", "galerina-hypnorum", "beginning"),
        ("blewit", "lepista-nuda", "word"),
        ("marg gal", "galerina-marginata", "word"),
        ("velvt shnak", "flammulina-velutipes", "near"),
        ("gallerina marginatta", "galerina-marginata", "near"),
        ("chantrelle", "cantharellus-cibarius", "near"),
    ],
)
def test_a_name_is_found_however_it_is_typed(index: NameIndex, typed: str, taxon: str, how: str) -> None:
    found = index.search(typed)
    assert (found[0].taxon, found[0].how) == (taxon, how)


def test_exact_names_come_before_beginnings_and_these_before_words(index: NameIndex) -> None:
    ranks = [("exact", "beginning", "word").index(f.how) for f in index.search("death cap")]
    assert ranks == sorted(ranks)
    assert len(set(ranks)) > 1


def test_the_present_name_of_a_genus_comes_before_an_older_one(index: NameIndex, book: Book) -> None:
    older = [f.name in book.treatments[f.taxon].synonyms for f in index.search("boletus") if f.how == "beginning"]
    assert older == sorted(older)
    assert any(older)


def test_a_name_of_the_book_finds_its_taxon(index: NameIndex, book: Book) -> None:
    for name, code in [(name, t.code) for t in book.treatments.values() for name in t.names()][::7]:
        assert code in [f.taxon for f in index.search(name) if f.how == "exact"], name


def test_one_slip_of_the_finger_is_forgiven(index: NameIndex, book: Book) -> None:
    told = random.Random(5)
    names = [(name, t.code) for t in book.treatments.values() for name in t.names() if len(name) > 6]
    lost = []
    for name, code in told.sample(names, 150):
        i = told.randrange(1, len(name) - 2)
        slip = told.choice([name[:i] + name[i + 1 :], name[:i] + name[i + 1] + name[i] + name[i + 2 :]])
        if code not in [f.taxon for f in index.search(slip)]:
            lost.append(slip)
    assert not lost


@given(typed=st.text(max_size=80))
def test_whatever_holds_a_letter_of_names_finds_something_once_each(index: NameIndex, typed: str) -> None:
    found = index.search(typed)
    assert bool(found) == any("a" <= c <= "z" for c in plain_name(typed))
    assert len({f.taxon for f in found}) == len(found)
    assert all(0 <= f.likeness <= 1 for f in found)
    if found and found[0].how == "near":
        assert len(found) <= NEAREST


@given(typed=st.text(max_size=200))
def test_a_plain_name_is_its_own_plain_name(typed: str) -> None:
    plain = plain_name(typed)
    assert len(plain) <= LONGEST
    assert plain_name(plain) == plain


def test_a_name_that_several_taxa_have_belongs_to_none(index: NameIndex) -> None:
    assert index.taxon_called("funeral bell") == "galerina-marginata"
    assert index.taxon_called("no such fungus") is None
    assert index.taxon_called("") is None


def test_a_search_takes_less_than_twenty_milliseconds(index: NameIndex) -> None:
    took = []
    for typed in ("velvt shnak", "gallerina marginatta", "xyzzy", "a", "amanita", "zzzzqqq") * 5:
        start = time.perf_counter()
        index.search(typed)
        took.append(time.perf_counter() - start)
    assert sorted(took)[len(took) // 2] < 0.02
