"""Counts of what becomes of finds drawn from a book."""

from __future__ import annotations

import numpy as np
import pytest
from builders import FEATURES, World, never_y, says, treatment

from trug.determine.batch import names
from trug.determine.batch_ledger import rule_out, rules_out
from trug.determine.measure import classes, eaten_mask, harm_class, measure_named, measure_ruled_wrongly
from trug.determine.model import ErrorModel
from trug.determine.simulate import Observing, simulate
from trug.determine.table import Table
from trug.treatments import Book

PERFECT = Observing(unseen=0.0, wrong=0.0)
CARELESS = Observing(unseen=0.1, wrong=0.3)


def some(table: Table, n: int) -> np.ndarray:
    return np.resize(np.arange(len(table.taxa)), n)


def test_counts_add_up(table: Table, book: Book) -> None:
    """Every find is counted once; a first name is among the first five; confusions are the rest."""
    treatments = list(book.treatments.values())
    taxa = some(table, 600)
    found = measure_named(table, treatments, taxa, Observing(), np.random.default_rng(1), ledger=True)
    assert np.array_equal(found.finds, np.bincount(taxa, minlength=len(table.taxa)))
    for counts in (found.first, found.five, found.held, found.clear):
        assert ((counts >= 0) & (counts <= found.finds)).all()
    assert (found.first <= found.five).all()
    assert sum(found.confused.values()) == int((found.finds - found.first).sum())
    assert found.share(found.first, range(len(table.taxa))) == pytest.approx(found.first.sum() / 600)


def test_the_same_seed_gives_the_same_counts(table: Table, book: Book) -> None:
    """Counts depend on the generator only."""
    treatments, taxa = list(book.treatments.values()), some(table, 300)
    one, two = (measure_named(table, treatments, taxa, Observing(), np.random.default_rng(3)) for _ in range(2))
    assert np.array_equal(one.first, two.first)
    assert one.confused == two.confused


def test_rules_out_is_the_ledger_of_the_batch(table: Table, book: Book) -> None:
    """Margins left out where all else fails do not change a verdict."""
    treatments = list(book.treatments.values())
    taxa = some(table, 700)
    finds = simulate(table, taxa, Observing(unseen=0.05), np.random.default_rng(5), eaten_mask(treatments))
    unlisted = names(table, finds.batch).unlisted
    ruled = rule_out(table, finds.batch, unlisted).ruled
    severe = np.array([h.level in ("kills", "organ") for h in table.harmful])
    for asked in (severe, severe & (table.harm_taxon != taxa[:, None]), np.ones(len(table.harmful), dtype=bool)):
        expected = (ruled | ~np.broadcast_to(asked, ruled.shape)).all(axis=1)
        assert np.array_equal(rules_out(table, finds.batch, asked, unlisted), expected)
    assert (ruled | ~severe).all(axis=1).any()


def test_wrong_exclusions_are_those_of_the_ledger() -> None:
    """On a small book with a careless observer, the count is that of the verdicts on the true taxon."""
    more = [treatment("malus-secundus", [never_y(c) for c in FEATURES], harm="organ")]
    world = World(more=more, model=ErrorModel(unlisted_prior=0.001))
    treatments = list(world.book.treatments.values())
    harmful = np.resize(np.sort(world.table.harm_taxon), 4000)
    counts = measure_ruled_wrongly(world.table, treatments, harmful, CARELESS, np.random.default_rng(7))
    finds = simulate(world.table, harmful, CARELESS, np.random.default_rng(7), eaten_mask(treatments))
    ruled = rule_out(world.table, finds.batch, names(world.table, finds.batch).unlisted).ruled
    own = ruled[np.arange(len(harmful)), [list(world.table.harm_taxon).index(t) for t in harmful]]
    assert np.array_equal(counts, np.bincount(harmful[own], minlength=len(world.table.taxa)))
    assert counts.sum() > 0


def test_a_perfect_observer_never_rules_out_the_truth(table: Table, book: Book) -> None:
    """Without a wrong look nothing contradicts the true account."""
    harmful = np.resize(np.sort(table.harm_taxon), 1000)
    treatments = list(book.treatments.values())
    assert measure_ruled_wrongly(table, treatments, harmful, PERFECT, np.random.default_rng(9)).sum() == 0


def test_classes_hold_every_treatment_once(book: Book) -> None:
    """By group and by harm class."""
    treatments = list(book.treatments.values())
    for parts in classes(treatments):
        assert sorted(t for taxa in parts.values() for t in taxa) == list(range(len(treatments)))


def test_harm_classes() -> None:
    """The level where there is harm, else whether it is eaten."""
    assert harm_class(treatment("a-b", [says("a", {"x": "always"})], harm="gut")) == "gut"
    assert harm_class(treatment("a-b", [says("a", {"x": "always"})])) == "eaten"
    assert harm_class(treatment("a-b", [says("a", {"x": "always"})], use=None)) == "neither"
