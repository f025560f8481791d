"""Published cases of poisoning by mistaken identity, re-enacted.

SOURCE: the report named in each case of ``cases.toml`` (all 48 are listed in ``CASES.md``); read 2026-11-25.
Where a report does not tell a look, the case holds what is typical of the culprit, and its ``basis`` says so.
What is checked is the rule of release, not the name: a find that has poisoned people must not pass.
"""

from __future__ import annotations

import datetime
import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from trug.characters import Vocabulary
from trug.determine.determination import FruitbodyResult, determine
from trug.determine.find import Find
from trug.determine.table import Table
from trug.records.find_files import read_find_text
from trug.treatments import Book
from trug.treatments.notation import MONTHS

CASES: list[dict[str, Any]] = tomllib.loads((Path(__file__).parent / "cases.toml").read_text("utf-8"))["cases"]
KNOWINGLY = [case for case in CASES if case.get("eaten_knowingly")]
TODAY = datetime.date(2026, 11, 25)
BASES = {"case text", "victim's belief", "published account of culprit", "typical of the culprit"}
#: What people thought they ate, where the report names the genus alone; such a find is judged without a signed name.
NOT_IN_THE_BOOK = {"psilocybe"}

every_case = pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])


def months_of(case: dict[str, Any]) -> list[int]:
    """The month of a case; one of each season where the report does not tell it."""
    return [MONTHS.index(case["month"]) + 1] if "month" in case else [1, 4, 7, 10]


def culprit_of(case: dict[str, Any]) -> str | None:
    """The listed culprit, or the listed taxon of like build; None where the book holds neither."""
    return case.get("culprit") or case.get("nearest_culprit")


def re_enact(case: dict[str, Any], month: int, vocabulary: Vocabulary) -> Find:
    """One fruitbody with all looks of a case, read as any find document is."""
    seen = {look["character"]: look.get("states", look.get("value")) for look in case["looks"]}
    document = {
        "id": case["id"],
        "date": f"2025-{month:02d}-15",
        "fruitbodies": [{"id": "a", "stage": case["stage"], "seen": seen}],
    }
    if "region" in case:
        document["region"] = case["region"]
    return read_find_text(json.dumps(document), vocabulary, TODAY).find


def judge(
    case: dict[str, Any], signed: str | None, vocabulary: Vocabulary, book: Book, table: Table
) -> list[FruitbodyResult]:
    """The result for each month that a case may have happened in."""
    finds = [re_enact(case, month, vocabulary) for month in months_of(case)]
    return [determine(f, table, book, vocabulary, program="test", signed=signed).fruitbodies[0] for f in finds]


def test_the_cases_are_complete(book: Book) -> None:
    """At least twenty cases name a listed culprit; each has its own id, a source, looks and the basis of each look."""
    assert len({case["id"] for case in CASES}) == len(CASES)
    assert sum(case.get("culprit") in book.treatments for case in CASES) >= 20
    for case in CASES:
        assert case["source"]
        assert case["facts"]
        assert {look["basis"] for look in case["looks"]} <= BASES
        assert len({look["character"] for look in case["looks"]}) == len(case["looks"]) >= 8
        assert case["eaten_as"] in book.treatments or case["eaten_as"] in NOT_IN_THE_BOOK
        culprit = culprit_of(case)
        assert culprit in book.treatments or (culprit is None and case["other"])


@every_case
def test_what_poisoned_people_is_not_released_and_its_culprit_stays_open(
    case: dict[str, Any], vocabulary: Vocabulary, book: Book, table: Table
) -> None:
    """Signed as what it was taken for, the find is refused, and its culprit is among the reasons."""
    signed = None if case["eaten_as"] in NOT_IN_THE_BOOK else case["eaten_as"]
    culprit = culprit_of(case)
    for result in judge(case, signed, vocabulary, book, table):
        assert not result.release.allowed
        assert not result.release.kitchen
        if culprit is not None:
            ledger = {line.taxon: line for line in result.ledger}
            assert not ledger[culprit].ruled_out, ledger[culprit].against
            assert ("open", culprit) in {(code, taxon) for code, _, taxon, _ in result.release.reasons}


@every_case
def test_signing_the_best_name_does_not_release_it_either(
    case: dict[str, Any], vocabulary: Vocabulary, book: Book, table: Table
) -> None:
    """A person who signs the name that the looks fit best is refused too."""
    for month in months_of(case):
        find = re_enact(case, month, vocabulary)
        best = determine(find, table, book, vocabulary, program="test").fruitbodies[0].names[0].taxon
        result = determine(find, table, book, vocabulary, program="test", signed=best).fruitbodies[0]
        assert not result.release.allowed


@pytest.mark.parametrize("case", KNOWINGLY, ids=[case["id"] for case in KNOWINGLY])
def test_what_was_eaten_for_its_own_sake_is_not_released_under_its_own_name(
    case: dict[str, Any], vocabulary: Vocabulary, book: Book, table: Table
) -> None:
    """Nobody was mistaken about the name: signed with that name, the find is refused."""
    for result in judge(case, case["culprit"], vocabulary, book, table):
        assert not result.release.allowed
