"""Words for looks, times and ledgers."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trug.characters import load_vocabulary
from trug.records.find_files import parse_answer
from trug.web.telling import ledger_sentence, local_input, share_words, told, utc_text

VOCABULARY = load_vocabulary()


@given(st.datetimes(datetime.datetime(1990, 1, 1), datetime.datetime(2060, 1, 1)))
def test_a_time_survives_the_way_through_a_form_to_the_minute(moment: datetime.datetime) -> None:
    text = moment.replace(second=0, microsecond=0, tzinfo=datetime.UTC).isoformat(timespec="milliseconds")

    assert utc_text(local_input(text)) == text.replace("+00:00", "Z")


@given(st.text(max_size=30))
def test_what_is_no_time_is_no_time(text: str) -> None:
    found = utc_text(text)

    assert found is None or found.endswith("Z")


@pytest.mark.parametrize(
    ("severe", "all_", "covered", "said"),
    [
        (None, None, True, "not looked at yet: nothing is ruled out"),
        (1, 9, True, "1 that kills or does lasting damage is not ruled out"),
        (2, 9, True, "2 that kill or do lasting damage are not ruled out"),
        (0, 1, True, "none listed that kills or does lasting damage is left open; 1 milder one is not ruled out"),
        (0, 0, True, "no listed harmful taxon left open"),
        (0, 0, False, "nothing listed is left open, but the book does not cover this region: that says little"),
    ],
)
def test_a_ledger_is_said_in_one_sentence(severe: int | None, all_: int | None, covered: bool, said: str) -> None:
    assert ledger_sentence(severe, all_, covered=covered) == said


@given(st.sampled_from([c for c in VOCABULARY.looks() if not c.measured]), st.data())
def test_a_look_is_told_by_the_labels_of_its_states(character: object, data: st.DataObject) -> None:
    states = data.draw(st.lists(st.sampled_from(character.states), min_size=1, max_size=3, unique=True))  # type: ignore[attr-defined]

    assert told({"states": [s.code for s in states]}, character) == " or ".join(s.label for s in states)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("code", "evidence", "said"),
    [
        ("cap_width", {"measurement": {"value": 48.0}}, "48 mm"),
        ("cap_width", {"measurement": {"value": 48.0, "deviation": 2.0}}, "48 ± 2 mm"),
        ("spore_q", {"measurement": {"value": 2.7}}, "2.7"),
        (
            "spore_length",
            {"sample": {"n": 30, "mean": 9.4, "sd": 0.5, "p5": 8.6, "p95": 10.2}},
            "9.4 ± 0.5 µm (8.6–10.2), 30 measured",
        ),
        ("ring", {"not_seen": "too dark"}, "could not be seen: too dark"),
    ],
)
def test_sizes_are_told_with_unit_and_spread(code: str, evidence: dict[str, object], said: str) -> None:
    character = VOCABULARY.characters[code]
    parse_answer(dict(evidence), character)  # what is told is evidence that the record takes

    assert told(evidence, character) == said


def test_no_probability_reads_as_certain_or_as_nothing() -> None:
    assert [share_words(p) for p in (1.0, 0.9995, 0.5, 0.0001, 0.0)] == [
        "> 99.9 %",
        "> 99.9 %",
        "50.0 %",
        "< 0.1 %",
        "< 0.1 %",
    ]
