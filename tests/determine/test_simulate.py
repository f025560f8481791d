"""Finds drawn from the book."""

from __future__ import annotations

import numpy as np
import pytest
from builders import random_table

from trug.characters.model import STAGES
from trug.determine.simulate import (
    STAGE_SHARES,
    Observing,
    Simulated,
    draw,
    draw_wrong,
    edible_neighbours,
    row_of,
    simulate,
)
from trug.determine.table import Table

PERFECT = Observing(unseen=0.0, wrong=0.0)


def drawn(table: Table, n: int, observing: Observing, seed: int = 1, eaten: np.ndarray | None = None) -> Simulated:
    """Return n finds with the taxa of a table in turn."""
    taxa = np.resize(np.arange(len(table.taxa)), n)
    return simulate(table, taxa, observing, np.random.default_rng(seed), eaten)


def test_the_same_seed_gives_the_same_finds(table: Table) -> None:
    """Finds depend on the generator only."""
    one, two = (drawn(table, 300, Observing(), seed) for seed in (1, 1))
    other = drawn(table, 300, Observing(), 2)
    assert np.array_equal(one.batch.codes, two.batch.codes)
    assert np.array_equal(one.batch.stage, two.batch.stage)
    assert np.array_equal(one.batch.dug, two.batch.dug)
    assert not np.array_equal(one.batch.codes, other.batch.codes)


def test_only_recorded_characters_are_drawn(table: Table) -> None:
    """A perfect observer sees a state of every recorded character, in its own columns, and nothing else."""
    finds = drawn(table, 500, PERFECT)
    assert np.array_equal(finds.batch.codes >= 0, table.recorded[finds.taxon])
    for i, c in enumerate(table.characters):
        seen = finds.batch.codes[:, i]
        seen = seen[seen >= 0]
        assert ((seen >= c.first) & (seen < c.last)).all()


def test_the_row_belongs_to_taxon_and_stage(table: Table) -> None:
    """Each find is drawn from the row of its taxon at its stage."""
    finds = drawn(table, 500, PERFECT)
    assert np.array_equal(table.row_taxon[finds.row], finds.taxon)
    assert table.row_stages[finds.row, finds.batch.stage].all()
    assert np.array_equal(row_of(table, finds.taxon, finds.batch.stage.astype(np.int64)), finds.row)


def test_stages_come_in_their_shares() -> None:
    """Stages are met as often as documented, eggs never."""
    finds = drawn(random_table(1), 40_000, PERFECT)
    shares = np.bincount(finds.batch.stage, minlength=len(STAGES)) / 40_000
    assert shares == pytest.approx(STAGE_SHARES, abs=0.01)
    assert shares[0] == 0.0


def test_states_come_as_often_as_the_treatment_says() -> None:
    """Drawn states have the frequencies of the row."""
    table = random_table(2)
    codes = draw(table, np.zeros(40_000, dtype=np.int64), np.random.default_rng(3))
    for i, c in enumerate(table.characters):
        shares = np.bincount(codes[:, i] - c.first, minlength=3) / 40_000
        assert shares == pytest.approx(table.truth[0, c.first : c.last], abs=0.012)


def test_errors_follow_the_confusion_table(table: Table) -> None:
    """A wrong state is another state of the same character, as likely as the confusion says."""
    i = table.index["spore_print"]
    c = table.characters[i]
    codes = np.full((40_000, len(table.characters)), -1, dtype=np.int64)
    codes[:, i] = c.first
    wrong = draw_wrong(table, codes, np.random.default_rng(4))
    shares = np.bincount(wrong[:, i] - c.first, minlength=len(c.states)) / 40_000
    assert shares == pytest.approx(table.confusion[c.first, c.first : c.last], abs=0.012)
    assert shares[0] == 0.0
    assert (np.delete(wrong, i, axis=1) == -1).all()


@pytest.mark.parametrize("unseen", [0.0, 0.3, 1.0])
def test_the_unseen_share_is_left_out(unseen: float) -> None:
    """Looks and diggings are missing in the share asked for."""
    finds = drawn(random_table(3), 20_000, Observing(unseen=unseen, wrong=0.0))
    assert (finds.batch.codes < 0).mean() == pytest.approx(unseen, abs=0.01)
    assert (~finds.batch.dug).mean() == pytest.approx(unseen, abs=0.01)


def test_the_wrong_share_names_another_state() -> None:
    """With the same generator, the share of looks that differ from the truth is the one asked for."""
    table = random_table(4)
    right, wrong = (drawn(table, 20_000, Observing(unseen=0.0, wrong=w)) for w in (0.0, 0.2))
    assert (right.batch.codes != wrong.batch.codes).mean() == pytest.approx(0.2, abs=0.01)


def test_a_swapped_part_comes_from_another_taxon_as_a_whole() -> None:
    """Swapping changes looks of one part only, and leaves unswapped finds alone."""
    table = random_table(5, taxa=12, features=9, shared=False)
    part = np.array([c.part for c in table.characters])
    plain, swapped = (drawn(table, 3_000, Observing(0.0, 0.0, swapped=s)).batch.codes for s in (0.0, 1.0))
    changed = plain != swapped
    assert changed.any(axis=1).mean() > 0.5
    assert all(len(set(part[row])) <= 1 for row in changed)


def test_a_hoping_observer_sees_the_eaten_neighbour_more_often() -> None:
    """Hope pulls looks towards the eaten taxon that resembles the find, and changes nothing where none is eaten."""
    table = random_table(6, taxa=8)
    eaten = np.arange(8) < 2
    neighbour = edible_neighbours(table, eaten)
    plain, hoping = (drawn(table, 8_000, Observing(0.0, 0.0, hoping=h), eaten=eaten) for h in (0.0, 1.0))
    nobody = drawn(table, 8_000, Observing(0.0, 0.0, hoping=1.0), eaten=np.zeros(8, dtype=bool))
    assert np.array_equal(nobody.batch.codes, plain.batch.codes)

    def likeness(finds: Simulated) -> float:
        rows = table.row_start[neighbour[finds.taxon]]
        codes = finds.batch.codes.astype(int)
        return float(np.log(table.truth[rows[:, None], codes]).mean())

    assert likeness(hoping) > likeness(plain) + 0.05


def test_the_eaten_neighbour_is_eaten_and_another(table: Table) -> None:
    """A taxon's neighbour is an eaten taxon other than itself, and the nearest by likeness."""
    eaten = np.zeros(len(table.taxa), dtype=bool)
    for code in ("macrolepiota-procera", "kuehneromyces-mutabilis", "cantharellus-cibarius"):
        eaten[table.taxon_index[code]] = True
    neighbour = edible_neighbours(table, eaten)
    assert eaten[neighbour].all()
    assert (neighbour != np.arange(len(neighbour)))[eaten].all()
    assert table.taxa[neighbour[table.taxon_index["galerina-marginata"]]] == "kuehneromyces-mutabilis"
    assert table.taxa[neighbour[table.taxon_index["hygrophoropsis-aurantiaca"]]] == "cantharellus-cibarius"
