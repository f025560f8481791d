"""Which pairs the characters can tell apart."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from builders import World, feature, hardly_y, never_y, random_table, says, treatment

from trug.determine.separation import Pair, separate
from trug.determine.table import Table


@pytest.fixture(scope="module")
def shipped(table: Table) -> tuple[Pair, ...]:
    return separate(table)


def plain(seed: int) -> Table:
    """Return a table with one row for each taxon, so that means over stages are the rows themselves."""
    return random_table(seed, taxa=5, features=6, states=3, staged=False, rho=0.4)


@pytest.mark.parametrize("seed", range(10))
def test_the_margin_is_the_expected_one_after_the_worst_strike(seed: int) -> None:
    """Margins equal sums over all states of tempered log ratios, less the loudest group or part."""
    table = plain(seed)
    p = table.observed(0)
    for pair in separate(table):
        t, h = table.taxon_index[pair.taxon], table.taxon_index[pair.harmful]
        gains = []
        for c in table.characters:
            k = sum(o.group == c.group for o in table.characters)
            at = [s for s in range(c.first, c.last) if not table.silent[s]]
            gain = sum(p[t, s] * np.log(p[t, s] / p[h, s]) for s in at)
            gains.append(gain / (1.0 + (k - 1) * table.rho[c.group]))
        left = [sum(gains)]
        for kind in ("group", "part"):
            for name in {getattr(c, kind) for c in table.characters}:
                left.append(sum(g for g, c in zip(gains, table.characters, strict=True) if getattr(c, kind) != name))
        assert pair.margin == pytest.approx(min(left))


@pytest.mark.parametrize("seed", range(10))
def test_contradictions_come_together_as_an_enumeration_says(seed: int) -> None:
    """With one character to a group, the chance of two contradictions, one firm, is that of all combinations."""
    table = random_table(seed, taxa=4, features=5, states=3, staged=False, shared=False)
    for pair in separate(table):
        t = table.taxon_index[pair.taxon]
        k = next(i for i, h in enumerate(table.harmful) if table.taxa[h.taxon] == pair.harmful)
        expected = 0.0
        for states in itertools.product(range(3), repeat=5):
            columns = [c.first + s for c, s in zip(table.characters, states, strict=True)]
            hits = [c for c, column in zip(table.characters, columns, strict=True) if table.contradicts[k, column]]
            if len({c.group for c in hits}) >= 2 and any(c.firm for c in hits):
                expected += float(np.prod(table.truth[t, columns]))
        assert pair.contradictions == pytest.approx(expected)


def test_two_contradictions_in_one_group_never_suffice() -> None:
    """Where all contradictions lie in one dependence group, they cannot come together as the rule asks."""
    same = {c: feature(c, firm=True, group="shared") for c in "ab"}
    bad = [never_y("a"), never_y("b"), *(hardly_y(c) for c in "cde")]
    pair = next(p for p in separate(World(bad, characters=same).table) if p.taxon == "bonus-primus")
    assert pair.contradictions == 0.0
    assert not pair.separable(0.0)


def test_a_pair_is_separable_with_margin_and_contradictions() -> None:
    """Both the margin and the contradictions must be expected to hold."""
    pair = next(p for p in separate(World().table) if p.taxon == "bonus-primus")
    assert pair.contradictions > 0.9
    assert pair.separable(pair.margin - 0.01)
    assert not pair.separable(pair.margin)


def test_a_character_that_the_true_taxon_does_not_record_does_not_help() -> None:
    """Only what the true taxon records can be expected to be seen."""
    quiet = treatment("bonus-tertius", [says(c, {"y": "always"}) for c in "cde"])
    pairs = {p.taxon: p for p in separate(World(more=[quiet]).table)}
    assert pairs["bonus-tertius"].contradictions == 0.0
    assert pairs["bonus-tertius"].margin < pairs["bonus-primus"].margin


def test_the_least_separable_come_first(shipped: tuple[Pair, ...]) -> None:
    """Pairs without contradictions lead, then those with the smallest margin."""
    keys = [(min(p.contradictions, 0.5), p.margin) for p in shipped]
    assert keys == sorted(keys)
    assert all(0.0 <= p.contradictions <= 1.0 + 1e-9 for p in shipped)


def test_harmful_taxa_are_set_against_others_unless_asked(table: Table, shipped: tuple[Pair, ...]) -> None:
    """By default the true taxa are those without harm; a mask chooses others."""
    harmful = {table.taxa[t] for t in table.harm_taxon}
    assert not {p.taxon for p in shipped} & harmful
    mask = np.zeros(len(table.taxa), dtype=bool)
    mask[table.taxon_index["amanita-phalloides"]] = True
    chosen = separate(table, mask)
    assert {p.taxon for p in chosen} == {"amanita-phalloides"}
    assert len(chosen) == len(table.harmful) - 1


def test_a_lookalike_is_harder_than_a_stranger(shipped: tuple[Pair, ...]) -> None:
    """The sheathed woodtuft is nearer to the funeral bell than the giant puffball is."""
    margins = {p.taxon: p.margin for p in shipped if p.harmful == "galerina-marginata"}
    assert margins["kuehneromyces-mutabilis"] < margins["calvatia-gigantea"]
