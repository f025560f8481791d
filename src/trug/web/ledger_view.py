"""The ledger of one fruitbody as its page shows it: what is open first, the worst of it on top."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from trug.characters import Character
from trug.determine.ledger import SECTION
from trug.determine.record import FruitbodyResult, GroupLineRecord, LedgerLine, RankedName
from trug.loaded import Loaded
from trug.treatments.model import HARM_LEVELS, SEVERE

__all__ = ["FITTING", "LedgerView", "Missing", "Tally", "ledger_view"]

#: Probability from which an open harmful taxon is said to fit what was seen.
FITTING = 0.02
#: Probability from which a harmful name that leads is said aloud.
WORTH_NAMING = 0.2


@dataclass(frozen=True, slots=True)
class Tally:
    """How many of the listed taxa of one harm level are open."""

    level: str
    open: int
    listed: int


@dataclass(frozen=True, slots=True)
class Missing:
    """A look that the trade insists on and nobody made, with the number of open taxa that wait for it."""

    character: Character
    severe: int
    all: int


@dataclass(frozen=True, slots=True)
class LedgerView:
    """A fruitbody's ledger in the order in which it is read.

    ``leading`` is the name that fits best where that one is harmful; ``covered`` whether the find comes from a region
    of the book; ``stranger`` whether it may well be a fungus that the book does not hold.
    """

    result: FruitbodyResult
    covered: bool
    tallies: tuple[Tally, ...]
    opened: tuple[LedgerLine, ...]
    ruled: tuple[LedgerLine, ...]
    missing: tuple[Missing, ...]
    groups: tuple[GroupLineRecord, ...]
    leading: RankedName | None
    stranger: bool

    @property
    def best(self) -> bool:
        """Whether the ledger reached its best state: no listed harmful taxon left open."""
        return not self.opened and self.covered

    @property
    def open_severe(self) -> int:
        """How many that kill or do lasting damage are open."""
        return sum(e.level in SEVERE for e in self.opened)


def ledger_view(result: FruitbodyResult, here: Loaded, covered: bool) -> LedgerView:
    """Return the ledger of a fruitbody for its page."""
    rank = {level: n for n, level in enumerate(HARM_LEVELS)}
    opened = [e for e in result.ledger if not e.ruled_out]
    # What kills or does lasting damage comes first; of it what fits; then what the looks have pushed away least.
    opened.sort(key=lambda e: (e.level not in SEVERE, e.probability < FITTING, rank[e.level], e.margin))
    listed = Counter(e.level for e in result.ledger)
    still = Counter(e.level for e in opened)
    top = result.names[0] if result.names else None
    leads = top is not None and bool(top.harm) and top.probability >= WORTH_NAMING and result.looks > 0
    return LedgerView(
        result=result,
        covered=covered,
        tallies=tuple(Tally(level, still[level], listed[level]) for level in HARM_LEVELS if listed[level]),
        opened=tuple(opened),
        ruled=tuple(e for e in result.ledger if e.ruled_out),
        missing=_missing(opened, here),
        groups=tuple(g for g in result.groups if g.open),
        leading=top if leads else None,
        stranger=result.looks > 0 and result.unlisted >= here.table.model.unlisted_limit,
    )


def _missing(opened: list[LedgerLine], here: Loaded) -> tuple[Missing, ...]:
    """Return the looks that the trade insists on and nobody made, those that most severe taxa wait for first."""
    every = Counter(code for e in opened for code in _still(e))
    severe = Counter(code for e in opened if e.level in SEVERE for code in _still(e))
    ordered = sorted(every, key=lambda code: (-severe[code], -every[code], code))
    known = here.vocabulary.characters
    return tuple(Missing(known[code], severe[code], every[code]) for code in ordered if code in known)


def _still(line: LedgerLine) -> tuple[str, ...]:
    """Return the looks that an open taxon waits for; an egg or button waits to be cut lengthwise."""
    return (*line.still_to_look, SECTION) if "unopened" in line.open_for else line.still_to_look
