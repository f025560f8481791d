"""Coordinates hidden in notes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trug.place import has_coordinates, without_coordinates


@pytest.mark.parametrize(
    "text",
    [
        "60.16952, 24.93545",
        "60.17,24.94",
        "60,17 24,94",
        "60,16952; 24,93545",
        "60·16952 24·93545",
        "POINT(24.93545 60.16952)",
        "?q=60.17%2C24.94",
        "-33.86 / -70.25",
        "60.17, 24.9",
        "N60.17 E24.94",
        "60.17n",
        "lat: 60.17",
        "lon=24.94",
        "60.17°",
        "60°10'",
        "60° 10′ 11.6″ N",
        "60 deg 10 min",
        "60 10 11 N",
        "60:10.2 N",
        "60 10.193, 24 56.304",
        "60 10 11, 24 56 18",
        "601011N 0245618E",
        "385123 6671234",
        "35V LG 85123 71234",
        "SU 12345 67890",
        "9GG65X2G+XX",
        "only 24.93545 here",
        "٦٠.١٦٩٥٢",
    ],
)
def test_forms_of_coordinates_are_found_and_taken_out(text: str) -> None:
    note = f"By the oak {text} under leaves."

    assert has_coordinates(note)
    clean = without_coordinates(note)
    assert clean.startswith("By the oak ")
    assert "[place withheld]" in clean
    assert not has_coordinates(clean)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "spores 8.2-10.5 × 5.1-6.2 µm, Q 1.62",
        "8.25–10.50 x 5.25 µm",
        "found 04.10.2026 at 12:10, again 11.10.2026",
        "2026-10-04T10:12:13.123Z",
        "doi:10.1111/nph.12345",
        "12.25 °C at noon",
        "a slope of 45° facing north",
        "1,234 steps from the gate",
        "weighed 12.345 g",
        "60.2, 24.9",
        "300.125 points",
        "version 1.2.3",
        "https://example.org/photos/0190f0a0-1234-7abc-8def-000000000001.jpg",
    ],
)
def test_other_figures_stay(text: str) -> None:
    assert without_coordinates(text) == text


@given(st.text())
def test_taking_out_twice_is_taking_out_once(text: str) -> None:
    once = without_coordinates(text)
    assert without_coordinates(once) == once
    assert not has_coordinates(once)


def test_a_coarser_grid_finds_coarser_coordinates() -> None:
    assert not has_coordinates("60.1 N, 24.9 E", 0.1)
    assert without_coordinates("60.1 N, 24.9 E", 1.0) == "[place withheld], [place withheld]"
