"""Published accounts of fungi, coded by people who had not read the book's treatments, set against the book.

Each block of tests/published/accounts.toml is one collection or species account, read as a find of one fruitbody.
"""

from __future__ import annotations

import datetime
import json
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from trug.characters import Vocabulary
from trug.determine.determination import determine
from trug.determine.find import Find
from trug.determine.table import Table
from trug.records.find_files import read_find_text
from trug.treatments import Book
from trug.treatments.notation import MONTHS

__all__ = ["ACCOUNTS", "Outcome", "as_find", "read_accounts", "summary", "try_account"]

ACCOUNTS = Path(__file__).parent.parent / "tests" / "published" / "accounts.toml"


@dataclass(frozen=True)
class Outcome:
    """What the book makes of an account: the true taxon's place, the leading name, and what went wrong.

    ``place`` counts from 1. ``against`` are looks that speak against a harmful truth. ``ruled_out`` says that a
    harmful truth was ruled out, ``released`` that the leading name would be released although it is not the true one.
    """

    id: str
    taxon: str
    harm: str
    leading: str
    proposed: str
    place: int
    ruled_out: bool
    released: bool
    held: bool
    excluded: tuple[str, ...]
    against: tuple[str, ...]

    @property
    def agrees(self) -> bool:
        """Whether the leading name is the account's."""
        return self.place == 1


def read_accounts(file: Path = ACCOUNTS) -> list[dict[str, Any]]:
    """Return the blocks of the file."""
    accounts: list[dict[str, Any]] = tomllib.loads(file.read_text("utf-8"))["account"]
    return accounts


def as_find(account: dict[str, Any], vocabulary: Vocabulary) -> Find:
    """Return an account as a find of one fruitbody."""
    month = MONTHS.index(account["month"]) + 1 if account.get("month") else 9
    document: dict[str, Any] = {
        "id": account["id"],
        "date": f"2025-{month:02d}-15",
        "fruitbodies": [{"id": "a", "stage": account.get("stage", "prime"), "seen": account["looks"]}],
    }
    if "region" in account:
        document["region"] = account["region"]
    return read_find_text(json.dumps(document), vocabulary, datetime.date(2026, 11, 25)).find


def try_account(account: dict[str, Any], book: Book, vocabulary: Vocabulary, table: Table) -> Outcome:
    """Determine an account with the book."""
    find = as_find(account, vocabulary)
    every = len(book.treatments)
    found = determine(find, table, book, vocabulary, program="accounts", names=every).fruitbodies[0]
    ranked = [n.taxon for n in found.names]
    signed = determine(find, table, book, vocabulary, program="accounts", signed=ranked[0]).fruitbodies[0]
    taxon = account["taxon"]
    harm = book.treatments[taxon].harm
    return Outcome(
        account["id"],
        taxon,
        harm.level if harm else "",
        ranked[0],
        found.proposed,
        ranked.index(taxon) + 1 if taxon in ranked else every,
        any(line.taxon == taxon and line.ruled_out for line in found.ledger),
        signed.release.allowed and ranked[0] != taxon,
        found.unlisted >= table.model.unlisted_limit or found.poor_fit,
        found.excluded if ranked[0] == taxon else (),
        tuple(x.character for line in found.ledger if line.taxon == taxon for x in line.against),
    )


def summary(outcomes: Iterable[Outcome]) -> dict[str, Any]:
    """Return counts and every disagreement by name."""
    found = list(outcomes)
    harmful = [o for o in found if o.harm]
    return {
        "n": len(found),
        "harmful": len(harmful),
        "first": sum(o.agrees for o in found),
        "five": sum(o.place <= 5 for o in found),
        "held": sum(o.held for o in found),
        "spoken_against": sum(bool(o.against) for o in harmful),
        "ruled_out": sum(o.ruled_out for o in harmful),
        "released": sum(o.released for o in found),
        "disagreements": [
            f"{o.id}: {o.taxon} read as {o.leading} (the true name stands at {o.place})" for o in found if not o.agrees
        ],
        "wrong": [f"{o.id}: {o.taxon} was ruled out" for o in harmful if o.ruled_out]
        + [f"{o.id}: {o.taxon} would be released as {o.leading}" for o in found if o.released],
        "denied": [f"{o.id}: {o.taxon} excludes {', '.join(o.excluded)}" for o in found if o.excluded],
    }
