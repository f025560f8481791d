"""What a changed treatment does to the figures."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import FEATURES, World, says, treatment

from trug.determine import bookdiff
from trug.determine.bookdiff import changes, figures, touched
from trug.determine.compile import compile_table
from trug.treatments.model import Book


def generator() -> np.random.Generator:
    return np.random.default_rng(1)


@pytest.fixture
def world() -> World:
    return World()


def changed(book: Book) -> Book:
    """Return the book with one character of the harmful taxon loosened and one taxon more."""
    bad = book.treatments["malus-primus"]
    records = {**bad.records, "a": says("a", {"x": "usually", "y": "sometimes"})}
    new = treatment("novus-primus", [says(c, {"x": "always"}) for c in FEATURES])
    return replace(
        book, treatments={**book.treatments, "malus-primus": replace(bad, records=records), "novus-primus": new}
    )


def test_the_same_book_has_no_changes(world: World) -> None:
    assert changes(world.book, world.book) == []


def test_changes_are_told_character_by_character(world: World) -> None:
    found = {(c.taxon, c.what): (c.before, c.after) for c in changes(world.book, changed(world.book))}
    assert found == {
        ("malus-primus", "a"): ("x — never y [study]", "x, also y [study]"),
        ("novus-primus", "treatment"): ("—", "5 characters"),
    }


def test_changed_fields_are_told(world: World) -> None:
    bad = world.book.treatments["malus-primus"]
    other = replace(bad, insist=("a", "b"), harm=None)
    book = replace(world.book, treatments={**world.book.treatments, "malus-primus": other})
    found = {c.what: (c.before, c.after) for c in changes(world.book, book)}
    assert found == {"insist": ("—", "a, b"), "harm": ("as before", "changed")}


def test_the_taxa_looked_at_are_the_changed_ones_and_their_confusions(world: World) -> None:
    found = touched(
        ["malus-primus", "novus-primus"], [world.table, compile_table(changed(world.book), world.vocabulary)]
    )
    assert found[:2] == ["malus-primus", "novus-primus"]
    assert len(found) == len(set(found))


def test_figures_are_the_same_twice_and_move_with_the_book(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fixed seed; a loosened exclusion clears less."""
    monkeypatch.setattr(bookdiff, "HARMFUL", 2000)
    monkeypatch.setattr(bookdiff, "WHOLE", 2000)
    after = changed(world.book)
    tables = world.table, compile_table(after, world.vocabulary)
    old, again = (figures(tables[0], list(world.book.treatments.values()), None, generator()) for _ in range(2))
    new = figures(tables[1], list(after.treatments.values()), None, generator())
    assert old == again
    assert old.harmful == 2000
    assert old.wrong is not None
    assert 0 <= new.clear < old.clear <= 1


def test_without_a_harmful_taxon_no_wrong_exclusion_is_told(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bookdiff, "EACH", 50)
    found = figures(world.table, list(world.book.treatments.values()), ["bonus-primus"], generator())
    assert (found.wrong, found.harmful) == (None, 0)
