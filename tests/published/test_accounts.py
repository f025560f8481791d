"""Published collections and accounts, coded by people who had not read the treatments.

SOURCE: the work named in each block of ``accounts.toml``; the looks are what it says of its own fungus.
"""

from __future__ import annotations

from typing import Any

import pytest

from accounts import Outcome, read_accounts, summary, try_account
from trug.characters import Vocabulary
from trug.determine.table import Table
from trug.treatments import Book

ACCOUNTS = read_accounts()


@pytest.fixture(scope="session")
def outcomes(book: Book, vocabulary: Vocabulary, table: Table) -> list[Outcome]:
    return [try_account(account, book, vocabulary, table) for account in ACCOUNTS]


def test_the_accounts_are_enough_and_complete(book: Book) -> None:
    """At least forty, fifteen of them harmful; each with its source, its place in it and ten looks."""
    assert len({a["id"] for a in ACCOUNTS}) == len(ACCOUNTS) >= 40
    assert sum(book.treatments[a["taxon"]].harm is not None for a in ACCOUNTS) >= 15
    for account in ACCOUNTS:
        assert account["source"]
        assert account["link"]
        assert account["at"]
        assert len(account["looks"]) >= 10


def test_no_harmful_fungus_is_ruled_out_on_its_own_account(outcomes: list[Outcome]) -> None:
    """What a stranger wrote of a harmful fungus never clears it."""
    assert [o.id for o in outcomes if o.harm and o.ruled_out] == []


def test_no_look_speaks_against_a_harmful_fungus_on_its_own_account(outcomes: list[Outcome]) -> None:
    """No exclusion of a harmful fungus is sharper than what strangers wrote of it."""
    assert {o.id: o.against for o in outcomes if o.against} == {}


def test_no_account_is_released_under_another_name(outcomes: list[Outcome]) -> None:
    """No description leads to the basket under a wrong name."""
    assert [o.id for o in outcomes if o.released] == []


def test_most_accounts_get_their_name(outcomes: list[Outcome]) -> None:
    """Independent accounts are named as their authors named them in most cases, and nearly all within five names."""
    found = summary(outcomes)
    assert found["first"] >= 0.8 * found["n"]
    assert found["five"] >= 0.95 * found["n"]
    assert len(found["disagreements"]) == found["n"] - found["first"]


def test_a_wrong_account_is_told(book: Book, vocabulary: Vocabulary, table: Table) -> None:
    """An account under another fungus' name is a disagreement."""
    account: dict[str, Any] = {**ACCOUNTS[0], "taxon": "calvatia-gigantea"}
    found = try_account(account, book, vocabulary, table)
    assert not found.agrees
    assert "calvatia-gigantea" in summary([found])["disagreements"][0]
