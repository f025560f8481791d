"""Sizes and months as the trade writes them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trug.treatments import SizeRange, format_size, parse_size
from trug.treatments.notation import MONTHS, parse_months

figures = st.lists(st.integers(1, 999_999).map(lambda n: n / 100), min_size=4, max_size=4).map(sorted)


@given(figures)
def test_a_size_that_is_written_and_read_again_is_the_same(four: list[float]) -> None:
    low_extreme, low, high, high_extreme = four
    size = SizeRange(low, high, low_extreme, high_extreme)
    assert parse_size(format_size(size)) == size


@given(figures)
def test_writing_settles_after_one_round(four: list[float]) -> None:
    text = f"({four[0]}-) {four[1]} - {four[2]} (-{four[3]})"
    once = format_size(parse_size(text))
    assert format_size(parse_size(once)) == once


@pytest.mark.parametrize(
    ("text", "low_extreme", "low", "high", "high_extreme"),
    [
        ("(20–)50–150(–250)", 20, 50, 150, 250),
        ("(20-)50-150(-250)", 20, 50, 150, 250),
        ("50–150", 50, 50, 150, 150),
        ("50", 50, 50, 50, 50),
        ("(40–)50", 40, 50, 50, 50),
        ("50(–60)", 50, 50, 50, 60),
        ("(1,3–)1,4–1,8(–2)", 1.3, 1.4, 1.8, 2),
        ("  8.5 – 11  (– 15) ", 8.5, 8.5, 11, 15),
    ],
)
def test_a_size_is_read_in_every_way_it_is_written(
    text: str, low_extreme: float, low: float, high: float, high_extreme: float
) -> None:
    assert parse_size(text) == SizeRange(low, high, low_extreme, high_extreme)


@pytest.mark.parametrize("text", ["", "wide", "50 mm", "50–", "–50", "50–60–70", "(50)", "1e3", "5 0", "50–60)"])
def test_what_is_no_size_is_refused_with_the_form_to_use(text: str) -> None:
    with pytest.raises(ValueError, match="write it like"):
        parse_size(text)


@pytest.mark.parametrize("text", ["60–50", "0–5", "(60–)50–70", "50–70(–60)", "0"])
def test_figures_that_do_not_ascend_from_above_zero_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="positive and ascend"):
        parse_size(text)


def test_equal_extremes_are_not_written() -> None:
    assert format_size(SizeRange(5, 7, 5, 7)) == "5–7"
    assert format_size(SizeRange(5, 5, 5, 5)) == "5"
    assert format_size(SizeRange(5, 7, 4.5, 9)) == "(4.5–)5–7(–9)"


@pytest.mark.parametrize(
    ("text", "months"),
    [
        ("", set()),
        ("jan", {1}),
        ("oct-apr", {10, 11, 12, 1, 2, 3, 4}),
        ("dec-jan", {12, 1}),
        ("apr-jun, sep", {4, 5, 6, 9}),
        ("Aug–Dec", {8, 9, 10, 11, 12}),
        ("feb-jan", set(range(1, 13))),
        ("may-may", {5}),
    ],
)
def test_months_may_wrap_the_year(text: str, months: set[int]) -> None:
    assert parse_months(text) == months


@pytest.mark.parametrize("text", ["sept", "jan-feb-mar", "13", "spring", "jan-"])
def test_what_is_no_month_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is no month"):
        parse_months(text)


@given(st.integers(0, 11), st.integers(0, 11))
def test_a_span_of_months_and_the_span_between_share_no_month(first: int, last: int) -> None:
    span = parse_months(f"{MONTHS[first]}-{MONTHS[last]}")
    assert {first + 1, last + 1} <= span
    if len(span) < 12:
        rest = parse_months(f"{MONTHS[(last + 1) % 12]}-{MONTHS[first - 1]}")
        assert not span & rest
        assert span | rest == set(range(1, 13))
