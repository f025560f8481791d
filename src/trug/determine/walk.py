"""Simulated people who act: they make the proposed looks in order and stop when they may.

An observer goes down the list of proposed looks, a few at a time, and asks for a new list then.
After every look the release function is asked about the leading name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trug.characters.model import STAGES
from trug.determine.find import Fruitbody
from trug.determine.ledger import CONTRADICTIONS, Contest, hold_contest, keep_ledger
from trug.determine.nextlooks import next_looks, standing_rule
from trug.determine.observations import Observation, Observations, stage_weights
from trug.determine.release import release
from trug.determine.standing import Standing, stand
from trug.determine.table import Table
from trug.treatments.model import Treatment

__all__ = ["Walk", "may_ever_release", "walk"]

#: Looks made from one list before a new one is asked for.
PER_LIST = 5
#: Procedures that a simulated observer may be asked for, and the answer when it was done.
DUG = ("base_dug", "whole", "broken")


@dataclass(frozen=True, slots=True)
class Walk:
    """What came of it: the name released (taxon index, -1 for none), looks and minutes, who is still open.

    ``severe_at`` and ``all_at`` are the looks and minutes after which everything that kills or does lasting
    damage, and everything harmful, was ruled out but for the true taxon's own entry; None where it never was.
    """

    released: int
    looks: int
    minutes: float
    wait_minutes: float
    ruled: NDArray[np.bool_]
    leading: int
    held: bool
    severe_at: tuple[int, float] | None = None
    all_at: tuple[int, float] | None = None


def walk(
    table: Table,
    treatments: Sequence[Treatment],
    codes: NDArray[np.int16],
    stage: int,
    dug: bool,
    *,
    stop_at_release: bool,
    most: int = 60,
    own: int = -1,
) -> Walk:
    """Return what comes of following the proposals on one fruitbody.

    Parameters
    ----------
    codes : array (C,)
        The column that this observer would name for each character; -1 where she could not tell.
    stage : int
        Index of the stage.
    dug : bool
        Whether the base comes out whole when she digs.
    stop_at_release : bool
        Stop at the first moment that the release function allows the leading name; else go on to the end.
    most : int
        Looks at the most.
    own : int
        Entry of the true taxon in the ledger, which need not be ruled out; -1 for none.
    """
    if stop_at_release and not may_ever_release(table, treatments, codes, dug):
        return Walk(-1, 0, 0.0, 0.0, np.zeros(len(table.harmful), dtype=bool), -1, False)
    milestones = _Milestones(table, own)
    weights, known = stage_weights(Fruitbody("x", STAGES[stage]), table)
    used: list[Observation] = []
    procedures: dict[str, str] = {}
    asked: set[str] = set()
    minutes = wait = 0.0
    standing = _standing(table, used, procedures, weights, known)
    contest = hold_contest(standing)
    while len(asked) < most:
        ahead = next_looks(contest, skip=frozenset(asked), count=PER_LIST)
        if not ahead:
            break
        for look in ahead:
            asked.add(look.character)
            minutes += look.minutes
            wait = max(wait, look.wait_minutes)
            _answer(table, look.character, codes, dug, used, procedures)
            standing = _standing(table, used, procedures, weights, known)
            name = _may_release(standing, treatments) if stop_at_release else -1
            if name >= 0:
                return _result(hold_contest(standing), name, len(asked), minutes, wait, milestones)
            if not stop_at_release:
                milestones.note(standing, len(asked), minutes)
        contest = hold_contest(standing)
    name = -1 if stop_at_release else _may_release(contest.standing, treatments)
    return _result(contest, name, len(asked), minutes, wait, milestones)


def may_ever_release(table: Table, treatments: Sequence[Treatment], codes: NDArray[np.int16], dug: bool) -> bool:
    """Whether any choice of these looks could lead to a release.

    Contradictions only grow with looks. Where all looks together leave two harmful taxa without the
    contradictions that an exclusion needs, every name leaves one of them open, and nothing can be released.
    """
    seen = [
        i
        for i, c in enumerate(table.characters)
        if codes[i] >= 0 and (dug or not any(codes[i] == c.first + c.states.index(s) for s, _, _ in c.needs))
    ]
    groups: dict[str, NDArray[np.bool_]] = {}
    firm = np.zeros(len(table.harmful), dtype=bool)
    for i in seen:
        c = table.characters[i]
        against = table.contradicts[:, codes[i]]
        groups[c.group] = groups[c.group] | against if c.group in groups else against
        firm |= against & c.firm
    count = np.array(list(groups.values())).sum(axis=0) if groups else np.zeros(len(table.harmful))
    lacking = np.flatnonzero((count < CONTRADICTIONS) | ~firm)
    if len(lacking) != 1:
        return not len(lacking)
    signed = treatments[table.harmful[lacking[0]].taxon]
    return signed.use is not None and signed.harm is not None and signed.harm.level == "conditional"


class _Milestones:
    """When the ledger first had nothing severe, and nothing at all, left open."""

    def __init__(self, table: Table, own: int) -> None:
        mine = np.arange(len(table.harmful)) == own
        self.asked = {"severe": np.flatnonzero(table.severe & ~mine), "all": np.flatnonzero(~mine)}
        self.reached: dict[str, tuple[int, float]] = {}

    def note(self, standing: Standing, looks: int, minutes: float) -> None:
        """Take the state after a look into account."""
        waiting = [kind for kind in self.asked if kind not in self.reached]
        if not waiting or not standing.unlisted < standing.table.model.unlisted_limit:
            return
        used = standing.observations.used
        against = np.array([standing.table.contradicts[:, o.column] for o in used])
        enough = against.sum(axis=0) >= CONTRADICTIONS
        waiting = [kind for kind in waiting if enough[self.asked[kind]].all()]
        if not waiting:
            return
        ruled = standing_rule(hold_contest(standing))
        for kind in waiting:
            if ruled[self.asked[kind]].all():
                self.reached[kind] = (looks, minutes)


def _standing(
    table: Table,
    used: list[Observation],
    procedures: dict[str, str],
    weights: NDArray[np.float64],
    known: str | None,
) -> Standing:
    seen = Observations("x", tuple(used), (), (), weights, known, dict(procedures), determiner="x")
    return stand(table, seen)


def _answer(
    table: Table,
    code: str,
    codes: NDArray[np.int16],
    dug: bool,
    used: list[Observation],
    procedures: dict[str, str],
) -> None:
    if code == DUG[0]:
        procedures[code] = DUG[1] if dug else DUG[2]
        return
    i = table.index[code]
    c = table.characters[i]
    column = int(codes[i])
    for state, procedure, allowed in c.needs:
        procedures.setdefault(procedure, DUG[1] if dug else DUG[2])
        if column == c.first + c.states.index(state) and procedures[procedure] not in allowed:
            return
    if column < 0:
        return
    one_hot = np.zeros(len(c.states))
    one_hot[column - c.first] = 1.0
    used.append(Observation(code, i, column, one_hot, 0, True, "x", (), (c.states[column - c.first],)))


def _may_release(standing: Standing, treatments: Sequence[Treatment]) -> int:
    """Return the leading taxon if the release function allows it under that name, else -1."""
    table = standing.table
    signed = treatments[standing.leading]
    if signed.use is None or not standing.unlisted < table.model.unlisted_limit:
        return -1
    own = table.harm_taxon == standing.leading
    against = np.array([table.contradicts[:, o.column] for o in standing.observations.used])
    if not ((against.sum(axis=0) >= CONTRADICTIONS) | own).all():
        return -1
    contest = hold_contest(standing)
    if not (standing_rule(contest) | own).all():
        return -1
    verdict = release(standing, keep_ledger(standing, contest), signed, student=False, covered=True)
    return standing.leading if verdict.allowed else -1


def _result(contest: Contest, name: int, looks: int, minutes: float, wait: float, milestones: _Milestones) -> Walk:
    standing = contest.standing
    poor = standing.fit is not None and standing.fit.poor
    held = standing.unlisted >= standing.table.model.unlisted_limit or poor
    reached = milestones.reached
    return Walk(
        name,
        looks,
        minutes,
        wait,
        standing_rule(contest),
        standing.leading,
        held,
        reached.get("severe"),
        reached.get("all"),
    )
