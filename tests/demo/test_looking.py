"""What an invented observer sees follows the treatment, the place and the observer's own limits."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trug.characters import load_vocabulary
from trug.demo.looking import ERRORS, Observing, look_at, where_it_grew
from trug.demo.scenario import Care
from trug.treatments import load_book

BOOK, VOCABULARY = load_book(), load_vocabulary()
EVERY_TOOL = frozenset(t for c in VOCABULARY.characters.values() for t in c.tools)
PRACTISED = Observing("practised", EVERY_TOOL)
TAXA = st.sampled_from(sorted(BOOK.treatments))
STAGES = st.sampled_from(["egg", "button", "young", "prime", "past"])
SEEDS = st.integers(0, 10_000)


@given(TAXA, STAGES, SEEDS)
@settings(max_examples=60, deadline=None)
def test_a_practised_observer_names_nothing_that_the_treatment_excludes(taxon: str, stage: str, seed: int) -> None:
    treatment = BOOK.treatments[taxon]
    seen = look_at(treatment, stage, "microscope", (PRACTISED, PRACTISED), VOCABULARY, random.Random(seed))
    for code, look in seen.items():
        if isinstance(look.answer, str) and code != "base_dug":
            assert not treatment.records[code].excludes(look.answer)


@given(TAXA, SEEDS)
@settings(max_examples=40, deadline=None)
def test_every_answer_is_one_of_the_vocabulary(taxon: str, seed: int) -> None:
    beginner = Observing("beginner", EVERY_TOOL)
    seen = look_at(BOOK.treatments[taxon], "prime", "table", (beginner, beginner), VOCABULARY, random.Random(seed))
    for code, look in seen.items():
        character = VOCABULARY.characters[code]
        if character.span is not None:
            assert isinstance(look.answer, float)
            assert character.span[0] <= look.answer <= character.span[1]
        else:
            assert look.answer in character.codes


@given(TAXA, SEEDS)
@settings(max_examples=30, deadline=None)
def test_nobody_tastes_and_nobody_uses_a_tool_they_lack(taxon: str, seed: int) -> None:
    bare = Observing("practised", frozenset({"knife"}), colour_vision=False, smell=False)
    seen = look_at(BOOK.treatments[taxon], "prime", "microscope", (bare, bare), VOCABULARY, random.Random(seed))
    for code in seen:
        character = VOCABULARY.characters[code]
        assert code != "taste"
        assert set(character.tools) <= {"knife"}
        assert character.part != "smell"
        assert character.kind != "colour"


@pytest.mark.parametrize(("near", "far"), [("glance", "field"), ("field", "microscope")])
def test_who_looks_more_closely_sees_more(near: Care, far: Care) -> None:
    treatment = BOOK.treatments["amanita-phalloides"]
    counts = [
        len(look_at(treatment, "prime", care, (PRACTISED, PRACTISED), VOCABULARY, random.Random(3)))
        for care in (near, far)
    ]
    assert counts[0] < counts[1]


def test_an_overruled_look_is_seen_whatever_the_treatment_says() -> None:
    treatment = BOOK.treatments["amanita-phalloides"]
    for seed in range(20):
        seen = look_at(
            treatment, "prime", "field", (PRACTISED, PRACTISED), VOCABULARY, random.Random(seed), {"ring": "cobweb"}
        )
        assert seen["ring"].answer == "cobweb"


def test_beginners_err_more_often_than_students_and_the_practised_not_at_all() -> None:
    wrong = {practice: rates[0] for practice, rates in ERRORS.items()}
    assert wrong["practised"] == 0 < wrong["student"] < wrong["beginner"]


@given(TAXA, SEEDS)
@settings(max_examples=40, deadline=None)
def test_what_grows_at_a_place_is_what_the_place_has(taxon: str, seed: int) -> None:
    grew = where_it_grew(
        BOOK.treatments[taxon], ["oak", "spruce"], ["litter", "stump"], VOCABULARY, random.Random(seed)
    )
    assert grew.get("tree") in (None, "oak", "spruce")
    assert grew.get("substrate") in (None, "litter", "stump")
    if "tree" in grew:
        assert grew["wood_kind"] == ("conifer" if grew["tree"] == "spruce" else "broadleaved")
