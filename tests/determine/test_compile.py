"""From words of frequency and printed sizes to probabilities and flags."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from builders import FEATURES, World, book_of, feature, never_y, says, treatment, words_of
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import lognorm, norm

from trug.characters import Vocabulary
from trug.determine.compile import bin_edges, compile_table, size_distribution, word_distribution
from trug.determine.model import ErrorModel
from trug.determine.table import Table
from trug.treatments import Book
from trug.treatments.model import Record, SizeRange

MODEL = ErrorModel()
CODES = ("p", "q", "r", "s")
KINDS = st.sampled_from(["always", "usually", "sometimes", "rarely", "never"])
NAMED = st.dictionaries(st.sampled_from(CODES), KINDS, min_size=1).filter(lambda w: set(w.values()) != {"never"})
RANKED = ("never", "rarely", "sometimes", "usually", "always")


@given(NAMED, st.booleans())
def test_words_become_a_distribution(words: dict[str, str], complete: bool) -> None:
    """Probabilities are positive and sum to 1 whatever the words."""
    p = word_distribution(words, complete, CODES, MODEL)
    assert (p > 0.0).all()
    assert p.sum() == pytest.approx(1.0, abs=1e-12)


@given(NAMED)
def test_a_complete_record_excludes_what_it_does_not_list(words: dict[str, str]) -> None:
    """Every state left unsaid reads as ``never`` does."""
    p = word_distribution(words, True, CODES, MODEL)
    spelt_out = word_distribution({c: words.get(c, "never") for c in CODES}, False, CODES, MODEL)
    assert p == pytest.approx(spelt_out)
    assert all(p[i] == MODEL.never_mass for i, c in enumerate(CODES) if c not in words)


@given(NAMED, st.sampled_from(CODES))
def test_a_stronger_word_gives_more(words: dict[str, str], state: str) -> None:
    """With all else equal, a state is the likelier the stronger its word."""
    at = CODES.index(state)
    fixed = {"p": "usually", "q": "usually", **words}
    others = {c: w for c, w in fixed.items() if c != state}
    if set(others.values()) <= {"never"}:
        others[next(c for c in CODES if c != state)] = "usually"
    chances = [word_distribution({**others, state: w}, False, CODES, MODEL)[at] for w in RANKED]
    assert chances == sorted(chances)
    assert len(set(chances)) == len(RANKED)


def test_unsaid_states_share_their_mass_evenly() -> None:
    """What an open record does not mention shares ``unsaid_mass``; named states share the rest by weight."""
    p = word_distribution({"p": "usually", "q": "sometimes"}, False, CODES, MODEL)
    assert p[2] == p[3] == pytest.approx(MODEL.unsaid_mass / 2)
    assert p[0] / p[1] == pytest.approx(60.0 / 15.0)


@pytest.mark.parametrize("size", [SizeRange(40, 150, 30, 200), SizeRange(20, 50, 20, 50), SizeRange(7, 9, 6, 14)])
def test_a_size_is_a_log_normal(size: SizeRange) -> None:
    """Bins hold the mass of the log-normal that scipy computes, mixed with the unsaid share."""
    edges = np.array(bin_edges((1.0, 1000.0), 32))
    middle = math.sqrt(size.low * size.high)
    sigma = max(
        math.log(size.high / size.low) / (2 * norm.ppf(0.95)),
        math.log(middle / size.low_extreme) / 3.09,
        math.log(size.high_extreme / middle) / 3.09,
        MODEL.size_sigma,
    )
    below = lognorm(s=sigma, scale=middle).cdf(edges)
    below[0], below[-1] = 0.0, 1.0
    expected = (1 - MODEL.unsaid_mass) * np.diff(below) + MODEL.unsaid_mass / 32
    assert size_distribution(size, edges, MODEL.size_sigma, MODEL) == pytest.approx(expected, abs=1e-12)


def test_the_printed_range_holds_nine_tenths() -> None:
    """Without wider extremes, 90 % of the log-normal lies between the printed values."""
    edges = np.array([1.0, 40.0, 150.0, 1000.0])
    p = size_distribution(SizeRange(40, 150, 40, 150), edges, 0.0, MODEL)
    inside = (p[1] - MODEL.unsaid_mass / 3) / (1 - MODEL.unsaid_mass)
    assert inside == pytest.approx(0.90, abs=1e-9)


def flags(record: Record, level: str, **character: object) -> dict[str, bool]:
    """Return which states of one character contradict a harmful taxon."""
    code = record.character
    one = feature(code, **character)
    book = book_of(treatment("malus-primus", [record], harm=level))
    table = compile_table(book, words_of([one]))
    return dict(zip(one.codes, table.contradicts[0].tolist(), strict=True))


def test_only_what_is_never_or_left_out_of_a_complete_record_contradicts() -> None:
    """Silence contradicts nothing; an explicit never and a complete record do."""
    assert flags(says("a", {"x": "always"}), "kills") == {"x": False, "y": False, "z": False}
    assert flags(never_y("a"), "kills") == {"x": False, "y": True, "z": False}
    assert flags(says("a", {"x": "always"}, complete=True), "kills") == {"x": False, "y": True, "z": True}


def test_a_rare_state_does_not_contradict_a_complete_record() -> None:
    """What is named with any word but never is allowed."""
    assert flags(says("a", {"x": "always", "z": "rarely"}, complete=True), "organ")["z"] is False


def test_a_never_that_fails_at_one_stage_does_not_contradict() -> None:
    """A state must be excluded at every stage."""
    ages = Record(
        "a", {"young": {"x": "always", "y": "never"}, "past": {"x": "usually", "y": "rarely"}}, None, False, "study"
    )
    assert flags(ages, "gut")["y"] is False


@pytest.mark.parametrize(
    ("source", "level", "counts"),
    [
        ("from-memory", "kills", False),
        ("common-practice", "kills", False),
        ("study", "kills", True),
        ("by-definition", "kills", True),
        ("from-memory", "organ", True),
    ],
)
def test_for_what_kills_only_a_published_never_counts(source: str, level: str, counts: bool) -> None:
    """A never from memory does not speak against a taxon that kills."""
    assert flags(never_y("a", source=source), level)["y"] is counts


@pytest.mark.parametrize(("level", "counts"), [("kills", False), ("organ", True), ("gut", True)])
def test_weak_characters_do_not_speak_against_what_kills(level: str, counts: bool) -> None:
    """Smell, taste, size and cap colour never contradict what kills."""
    assert flags(never_y("a"), level, weak_for_kills=True)["y"] is counts


def test_a_character_that_excludes_nothing_contradicts_at_no_level() -> None:
    """Substrate contradicts no taxon of any level."""
    assert not any(flags(never_y("a"), level, never_excludes=True)["y"] for level in ("kills", "organ", "gut"))


def test_silent_states_never_contradict(table: Table) -> None:
    """What is merely missing speaks against nothing, in an invented record and in the whole shipped book."""
    assert flags(never_y("a"), "organ", silent=frozenset({"y"}))["y"] is False
    assert table.silent.any()
    assert not table.contradicts[:, table.silent].any()


@pytest.mark.parametrize(("part", "tolerance"), [("cap", 0.15), ("spores", 0.10)])
def test_measured_values_contradict_only_beyond_the_extremes(part: str, tolerance: float) -> None:
    """A bin contradicts only if all of it lies outside the printed extremes by 15 %, for spores by 10 %."""
    size = SizeRange(40, 150, 30, 200)
    bins = tuple(f"b{i}" for i in range(300))
    one = feature("a", bins, kind="measured", part=part, span=(1.0, 1000.0), unit="mm")
    table = compile_table(book_of(treatment("malus-primus", [says("a", size)], harm="kills")), words_of([one]))
    edges = bin_edges((1.0, 1000.0), 300)
    low, high = 30 * (1 - tolerance), 200 * (1 + tolerance)
    expected = [b < low or a > high for a, b in itertools.pairwise(edges)]
    assert table.contradicts[0].tolist() == expected
    assert 0 < sum(expected) < 300


def test_the_shipped_book_counts_nothing_from_memory_against_what_kills(
    table: Table, book: Book, vocabulary: Vocabulary
) -> None:
    """Each flag of a taxon that kills rests on a published or defining source and a character that may speak."""
    checked = 0
    for h, harm in enumerate(table.harmful):
        records = book.treatments[table.taxa[harm.taxon]].records
        for column in np.flatnonzero(table.contradicts[h]):
            c = table.characters[table.column_character[column]]
            if harm.level == "kills":
                assert book.source_kind(records[c.code].source) in ("published", "definition")
                assert not vocabulary.characters[c.code].weak_for_kills
            assert not vocabulary.characters[c.code].never_excludes
            checked += 1
    assert checked > 500


def test_every_block_of_the_shipped_table_is_a_distribution(table: Table) -> None:
    """Truth, what is observed, and what a stranger shows sum to 1 for every row and character."""
    starts = [c.first for c in table.characters]
    for level in range(3):
        strange = np.hstack([table.observed_states(level, i, strange=True) for i in range(len(table.characters))])
        for p in (table.truth, table.observed(level), strange):
            assert (p >= 0.0).all()
            assert np.add.reduceat(p, starts, axis=1) == pytest.approx(1.0, abs=1e-9)


def test_confusion_moves_mass_to_another_state_only(table: Table) -> None:
    """An error names a different state of the same character: rows sum to 1, the diagonal is empty."""
    assert np.diag(table.confusion) == pytest.approx(0.0)
    assert table.confusion.sum(axis=1) == pytest.approx(1.0, abs=1e-9)
    same = table.column_character[:, None] == table.column_character[None, :]
    assert not table.confusion[~same].any()


def test_what_is_not_recorded_reads_as_the_background() -> None:
    """A character that a treatment does not mention has the mean of the treatments that do."""
    silent_one = treatment("bonus-tertius", [says(c, {"y": "always"}) for c in FEATURES[1:]])
    table = World(more=[silent_one]).table
    row = table.row_start[table.taxon_index["bonus-tertius"]]
    others = [table.row_start[t] for t in range(3)]
    assert table.truth[row, :3] == pytest.approx(table.truth[others, :3].mean(axis=0))


def test_an_empty_book_is_refused(vocabulary: Vocabulary) -> None:
    """A table needs at least one treatment."""
    with pytest.raises(ValueError, match="at least one treatment"):
        compile_table(book_of(), vocabulary)
