"""The determination record ``trug.determination/1``: everything that was reasoned, so that another can check it.

Its id is the SHA-256 of its canonical JSON. Old records are stored, never computed anew.
"""

from __future__ import annotations

import hashlib
from typing import Any

import msgspec

__all__ = [
    "CAUTIONS",
    "DANGER",
    "FORMAT",
    "AgainstLine",
    "Contribution",
    "Determination",
    "FruitbodyResult",
    "GroupLineRecord",
    "LedgerLine",
    "NextLine",
    "RankedName",
    "ReleaseLine",
    "canonical",
    "digest_of",
]

FORMAT = "trug.determination/1"

#: Said with every determination.
DANGER = (
    "The greatest danger that remains is a harmful species that is not in this book, "
    "or one look that was made wrongly. This is reasoning about what was seen, not leave to eat."
)
#: The trade's cautions, shown wherever something could lead to eating.
CAUTIONS = (
    "Have the name confirmed by an experienced person with the specimen in hand.",
    "Cook wild mushrooms through. The first time: one species, a small portion, no alcohol.",
    "Keep an uncooked specimen cold for three days and a dried piece for four weeks.",
    "That nobody fell ill proves nothing.",
    "Children, pregnancy, illness, medicines: ask a clinician first.",
    "Not from roadsides, sprayed, mined or industrial ground; with permission and within the local rules.",
    "If anyone feels ill, call the poison centre or the emergency number at once; do not wait for signs.",
)


class RankedName(msgspec.Struct, frozen=True):
    """One name with its probability [0..1]."""

    taxon: str
    name: str
    english: str
    probability: float
    harm: str


class Contribution(msgspec.Struct, frozen=True):
    """What one look did: tempered log-likelihood of the leading name over the runner-up and over the average [nat]."""

    look: str
    character: str
    label: str
    seen: str
    over_runner_up: float
    over_average: float
    words: str


class AgainstLine(msgspec.Struct, frozen=True):
    """A look that contradicts a harmful taxon, with what its treatment says and from which source."""

    look: str
    character: str
    seen: str
    treatment_says: str
    firm: bool
    source: str
    at: str


class LedgerLine(msgspec.Struct, frozen=True):
    """One harmful taxon: what speaks against it, whether that is enough, what is missing."""

    taxon: str
    name: str
    english: str
    rank: str
    level: str
    syndrome: str
    latency_h: tuple[float, float] | None
    ruled_out: bool
    against: tuple[AgainstLine, ...]
    margin: float
    weakest: str
    withstands: int
    open_for: tuple[str, ...]
    still_to_look: tuple[str, ...]
    probability: float


class GroupLineRecord(msgspec.Struct, frozen=True):
    """A whole group that the trade warns of."""

    group: str
    label: str
    level: str
    open: bool
    members_open: tuple[str, ...]
    outside: tuple[str, ...]


class NextLine(msgspec.Struct, frozen=True):
    """A look worth making next."""

    character: str
    label: str
    question: str
    how: str
    minutes: float
    wait_minutes: float
    tools: tuple[str, ...]
    destructive: bool
    caution: str
    per_minute: float
    settles: tuple[str, ...]


class ReleaseLine(msgspec.Struct, frozen=True):
    """The verdict of the release function with its reasons."""

    name: str
    allowed: bool
    reasons: tuple[tuple[str, str, str, tuple[str, ...]], ...]
    kitchen: tuple[str, ...]


class FruitbodyResult(msgspec.Struct, frozen=True):
    """Everything about one fruitbody."""

    fruitbody: str
    proposed: str
    names: tuple[RankedName, ...]
    unlisted: float
    surprise: float | None
    misfits: tuple[str, ...]
    excluded: tuple[str, ...]
    poor_fit: bool
    looks: int
    observers: tuple[str, ...]
    summary: str
    withstands: int
    ledger: tuple[LedgerLine, ...]
    groups: tuple[GroupLineRecord, ...]
    next_looks: tuple[NextLine, ...]
    contributions: tuple[Contribution, ...]
    not_used: tuple[tuple[str, str, str], ...]
    conflicts: tuple[tuple[str, str], ...]
    release: ReleaseLine


class Determination(msgspec.Struct, frozen=True):
    """The whole record."""

    format: str
    find: str
    find_sha256: str
    book_sha256: str
    book_date: str
    program: str
    error_model: dict[str, Any]
    region: str | None
    covered: bool
    coverage: str
    danger: str
    fruitbodies: tuple[FruitbodyResult, ...]
    cautions: tuple[str, ...]


def canonical(value: Any) -> bytes:
    """Return canonical JSON: sorted keys, no spaces, floats rounded to six places beforehand."""
    return msgspec.json.encode(_rounded(msgspec.to_builtins(value)), order="deterministic")


def digest_of(value: Any) -> str:
    """Return the SHA-256 of the canonical JSON; for a determination, its id."""
    return hashlib.sha256(canonical(value)).hexdigest()


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 6) + 0.0
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_rounded(v) for v in value]
    return value
