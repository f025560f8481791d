"""A worse book fails: names by group and by harm class against the last full measurement, on fewer finds.

``benchmarks/measured.json`` is written by ``make figures`` from a run of ``make accuracy``. A change that costs
more than chance explains must be measured anew, and the new figures stand in the change where all can see them.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.stats import binom

from trug.determine.measure import Measured, classes, measure_named, measure_ruled_wrongly
from trug.determine.simulate import Observing
from trug.determine.table import Table
from trug.treatments import Book

MEASURED: dict[str, Any] = json.loads((Path(__file__).parents[1] / "benchmarks/measured.json").read_text("utf-8"))
#: Finds of each taxon, and the chance at which a worse count is no longer taken for chance.
EACH, CHANCE = 60, 1e-4
#: What a class may lose without a word [share].
SLACK = 0.01


@pytest.fixture(scope="module")
def found(table: Table, book: Book) -> Measured:
    taxa = np.resize(np.arange(len(table.taxa)), EACH * len(table.taxa))
    return measure_named(table, list(book.treatments.values()), taxa, Observing(), np.random.default_rng(11), threads=2)


def worse(hits: int, n: int, share: float) -> bool:
    """Whether so few hits are too few for a share that was measured."""
    return bool(binom.cdf(hits, n, max(share - SLACK, 0.0)) < CHANCE)


@pytest.mark.parametrize("by", ["group", "harm"])
def test_no_class_is_named_worse_than_it_was(found: Measured, book: Book, by: str) -> None:
    parts = dict(zip(("group", "harm"), classes(list(book.treatments.values())), strict=True))[by]
    before = {row["name"]: row for row in MEASURED["classes"][by]}
    assert set(parts) == set(before), "run 'make accuracy' and 'make figures'"
    lost = [
        f"{name}: {found.share(found.first, taxa):.1%} named rightly, {before[name]['first']:.1%} before"
        for name, taxa in parts.items()
        if worse(int(found.first[taxa].sum()), int(found.finds[taxa].sum()), before[name]["first"])
    ]
    assert lost == []


@pytest.mark.parametrize("by", ["group", "harm"])
def test_no_class_is_held_back_more_than_it_was(found: Measured, book: Book, by: str) -> None:
    parts = dict(zip(("group", "harm"), classes(list(book.treatments.values())), strict=True))[by]
    before = {row["name"]: row for row in MEASURED["classes"][by]}
    lost = [
        f"{name}: {found.share(found.held, taxa):.1%} held back, {before[name]['held']:.1%} before"
        for name, taxa in parts.items()
        if worse(int((found.finds - found.held)[taxa].sum()), int(found.finds[taxa].sum()), 1.0 - before[name]["held"])
    ]
    assert lost == []


@pytest.mark.parametrize(("wrong", "most"), [(0.02, 0), (0.08, 2)])
def test_wrong_exclusions_stay_rare(table: Table, book: Book, wrong: float, most: int) -> None:
    """Of 50,000 harmful finds: none with a practised observer, hardly any with a student."""
    harmful = np.resize(np.sort(table.harm_taxon), 50_000)
    counts = measure_ruled_wrongly(
        table, list(book.treatments.values()), harmful, Observing(wrong=wrong), np.random.default_rng(13), threads=2
    )
    assert {table.taxa[t]: int(c) for t, c in enumerate(counts) if c} == {} or counts.sum() <= most


def test_the_watch_can_fail() -> None:
    """A class that falls by three points on a few hundred finds is noticed, one that wavers is not."""
    assert worse(540, 600, 0.96)
    assert not worse(570, 600, 0.96)
