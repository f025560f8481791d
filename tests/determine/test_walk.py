"""People who make the proposed looks and stop when they may."""

from __future__ import annotations

import numpy as np
import pytest

from trug.determine import walk as walking
from trug.determine.measure import eaten_mask
from trug.determine.simulate import Observing, simulate
from trug.determine.table import Table
from trug.determine.walk import may_ever_release, walk
from trug.treatments import Book

ACTING = Observing(unseen=0.0, wrong=0.05)


def drawn(table: Table, book: Book, codes: list[str], each: int, seed: int) -> list[tuple[int, np.ndarray, int, bool]]:
    """Return finds of some taxa as taxon, codes, stage, dug."""
    taxa = np.repeat([table.taxon_index[c] for c in codes], each)
    eaten = eaten_mask(list(book.treatments.values()))
    batch = simulate(table, taxa, ACTING, np.random.default_rng(seed), eaten).batch
    return [(int(taxa[i]), batch.codes[i], int(batch.stage[i]), bool(batch.dug[i])) for i in range(len(taxa))]


def test_a_find_passed_over_would_not_have_been_released(
    table: Table, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Walks that are not begun because nothing could be released end without a release when they are."""
    treatments = list(book.treatments.values())
    finds = drawn(table, book, ["galerina-marginata", "amanita-phalloides", "paxillus-involutus"], 4, 1)
    passed = [f for f in finds if not may_ever_release(table, treatments, f[1], f[3])]
    assert len(passed) >= 6
    monkeypatch.setattr(walking, "may_ever_release", lambda *_: True)
    for _, codes, stage, dug in passed:
        done = walk(table, treatments, codes, stage, dug, stop_at_release=True)
        assert done.looks > 0
        assert done.released == -1


def test_a_clean_find_of_an_easy_eaten_fungus_gets_clear(table: Table, book: Book) -> None:
    """The ledger clears at some look, the severe ones no later than all, and not before any look."""
    treatments = list(book.treatments.values())
    severe = np.array([h.level in ("kills", "organ") for h in table.harmful])
    reached = 0
    for taxon, codes, stage, dug in drawn(table, book, ["hericium-erinaceus", "craterellus-cornucopioides"], 3, 2):
        done = walk(table, treatments, codes, stage, dug, stop_at_release=False)
        assert done.ruled.shape == (len(table.harmful),)
        if done.severe_at is not None:
            reached += 1
            assert 0 < done.severe_at[0] <= done.looks
            assert 0 < done.severe_at[1] <= done.minutes
            if done.all_at is not None:
                assert done.severe_at <= done.all_at
        assert not done.ruled[severe].all() or done.severe_at is not None, table.taxa[taxon]
    assert reached


def test_the_true_taxon_s_own_entry_need_not_be_ruled_out(table: Table, book: Book) -> None:
    """A conditional eater never rules itself out, and is clear all the same."""
    treatments = list(book.treatments.values())
    code = "sarcodon-imbricatus"
    own = next(k for k, h in enumerate(table.harmful) if table.taxa[h.taxon] == code)
    walks = [
        walk(table, treatments, codes, stage, dug, stop_at_release=False, own=own)
        for _, codes, stage, dug in drawn(table, book, [code], 3, 3)
    ]
    assert any(w.all_at is not None and not w.ruled[own] for w in walks)
