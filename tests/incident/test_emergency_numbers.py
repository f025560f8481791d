"""Whom to call: sources, what may be typed, and when a number is too old."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trug.characters import Vocabulary
from trug.errors import InputError
from trug.incident import general_number, is_stale, known_number

TODAY = datetime.date(2026, 11, 25)


def test_every_region_of_the_book_has_a_number_with_its_source(vocabulary: Vocabulary) -> None:
    for region in vocabulary.characters["region"].codes:
        found = general_number(region)
        if region == "elsewhere":
            assert found is None
        else:
            assert found is not None
            assert found.source


# Directive (EU) 2018/1972, article 109(1); 47 U.S.C. 251(e)(3).
@pytest.mark.parametrize(("region", "number"), [("europe-north", "112"), ("america-west", "911")])
def test_general_numbers_are_those_of_the_law(region: str, number: str) -> None:
    found = general_number(region)
    assert found is not None
    assert found.number == number


def test_without_a_region_no_number_is_guessed() -> None:
    assert general_number(None) is None


@pytest.mark.parametrize(
    ("number", "source", "checked", "told"),
    [
        ("call me", "page", "2026-11-01", "digits"),
        ("12", "page", "2026-11-01", "digits"),
        ("1" * 16, "page", "2026-11-01", "digits"),
        ("0800 1234", " ", "2026-11-01", "where"),
        ("0800 1234", "page", "", "which day"),
        ("0800 1234", "page", "2026-11-26", "future"),
    ],
)
def test_what_is_wrong_with_a_number_is_said(number: str, source: str, checked: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        known_number("Centre", number, source, checked, TODAY)


def test_a_number_is_dialled_without_its_spaces() -> None:
    assert known_number("C", "+358 (0)9 1234-56", "page", "2026-11-01", TODAY).dialled == "+3580912345" + "6"
    assert known_number("C", "0800 147 111", "page", "2026-11-01", TODAY).dialled == "0800147111"


@pytest.mark.parametrize(
    ("checked", "stale"),
    [("2026-11-25", False), ("2025-11-25", False), ("2025-11-24", True), ("2024-12-31", True), ("2026-11-26", True)],
)
def test_a_number_is_stale_after_twelve_months(checked: str, stale: bool) -> None:
    known = known_number("C", "0800 1234", "page", checked, datetime.date(2027, 1, 1))
    assert is_stale(known, TODAY) is stale


@given(st.dates(datetime.date(2000, 1, 1), datetime.date(2060, 1, 1)), st.integers(0, 900))
def test_a_number_never_becomes_fresh_by_waiting(checked: datetime.date, days: int) -> None:
    known = known_number("C", "0800 1234", "page", checked.isoformat(), checked)
    later = checked + datetime.timedelta(days=days)
    if is_stale(known, later):
        assert is_stale(known, later + datetime.timedelta(days=1))
    assert is_stale(known, later) or days <= 366
    assert not is_stale(known, later) or days >= 365
