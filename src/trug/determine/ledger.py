"""The ledger: for every harmful taxon, what speaks against it, and whether that is enough.

Kept for each fruitbody and apart from the posterior. Prior, place, date and rarity play no part.
A taxon is ruled out only when every condition of ``Entry`` holds; the margin is the smallest that
remains after striking out in turn each dependence group, each part, each photo or print, and each
observer other than the determiner.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from trug.determine.observations import Observation
from trug.determine.standing import Standing, by_taxon, columns_of, denied, temper
from trug.determine.table import GroupEntry, HarmEntry, Table

__all__ = [
    "Against",
    "Contest",
    "Entry",
    "GroupLine",
    "Ledger",
    "Strike",
    "best_other",
    "contradiction_vector",
    "hold_contest",
    "keep_ledger",
    "strikes_of",
]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: The look that must be made on an egg or button before it speaks against what kills.
SECTION = "egg_section"
#: Mass on egg and button from which a fruitbody counts as one.
UNOPENED = 0.5
#: Contradictions from different dependence groups that an exclusion needs.
CONTRADICTIONS = 2


@dataclass(frozen=True, slots=True)
class Strike:
    """Evidence struck out for a trial: its kind, its name, and the looks that stay."""

    kind: str
    name: str
    stays: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Against:
    """One look that contradicts a harmful taxon."""

    look: str
    character: str
    words: tuple[str, ...]
    firm: bool


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the ledger.

    ``open_for`` lists the conditions that are not met, empty when ruled out:
    ``contradictions`` (fewer than two from different dependence groups), ``firm`` (none of them firm),
    ``margin``, ``unlisted``, ``insist`` (looks the trade insists on), ``unopened`` (egg or button not cut).
    ``margin`` is the smallest log Bayes factor after every strike [nat]; ``weakest`` names that strike.
    ``withstands`` is the number of further errors the exclusion stands against.
    """

    taxon: int
    harm: HarmEntry
    against: tuple[Against, ...]
    margin: float
    weakest: str
    insist_missing: tuple[str, ...]
    open_for: tuple[str, ...]
    withstands: int

    @property
    def ruled_out(self) -> bool:
        """Whether every condition holds."""
        return not self.open_for


@dataclass(frozen=True, slots=True)
class GroupLine:
    """A whole group that the trade warns of, and what keeps it open: members still open, or no firm look outside it."""

    group: GroupEntry
    members_open: tuple[int, ...]
    outside: tuple[str, ...]

    @property
    def open(self) -> bool:
        """Whether the find may still belong to the group."""
        return bool(self.members_open) or not self.outside


@dataclass(frozen=True, slots=True)
class Ledger:
    """All entries of one fruitbody, worst harm first; ``looks`` counts those that could speak."""

    fruitbody: str
    entries: tuple[Entry, ...]
    groups: tuple[GroupLine, ...]
    looks: int
    observers: tuple[str, ...]

    @property
    def left_open(self) -> tuple[Entry, ...]:
        """Entries not ruled out."""
        return tuple(e for e in self.entries if not e.ruled_out)

    @property
    def withstands(self) -> int:
        """The least number of further errors that any exclusion stands against; 0 while one is open."""
        return min((e.withstands for e in self.entries), default=0) if not self.left_open else 0


def contradiction_vector(o: Observation, table: Table) -> Bools:
    """Return for each harmful taxon (H,) whether a look contradicts it.

    Soft evidence contradicts only where the mass on states that the taxon allows is at most ``soft_limit``.
    """
    if o.column >= 0:
        return np.asarray(table.contradicts[:, o.column])
    return denied(o, table.contradicts[:, columns_of(o, table)], table)


def strikes_of(used: Sequence[Observation], table: Table, determiner: str | None) -> list[Strike]:
    """Return every set of looks that is struck out in turn; the first strikes out nothing.

    The determiner answers for the name and is not struck out; with no determiner named, a lone
    observer is taken for one, and of several each is struck out.
    """
    everything = tuple(range(len(used)))
    people = {o.observer for o in used}
    answers = determiner if determiner is not None else (next(iter(people)) if len(people) == 1 else "")
    strikes = [Strike("nothing", "", everything)]

    def strike(kind: str, name: str, out: Callable[[Observation], bool]) -> None:
        strikes.append(Strike(kind, name, tuple(i for i in everything if not out(used[i]))))

    for group in sorted({table.characters[o.character].group for o in used}):
        strike("group", group, lambda o, g=group: table.characters[o.character].group == g)  # type: ignore[misc]
    for part in sorted({table.characters[o.character].part for o in used}):
        strike("part", part, lambda o, p=part: table.characters[o.character].part == p)  # type: ignore[misc]
    for source in sorted({s for o in used for s in o.sources}):
        strike("source", source, lambda o, s=source: s in o.sources)  # type: ignore[misc]
    for person in sorted(p for p in people if p is not None and p != answers):
        strike("observer", person, lambda o, p=person: o.observer == p)  # type: ignore[misc]
    return strikes


def best_other(taxa: Floats, table: Table) -> Floats:
    """Return the log-likelihood of the best other taxon for each ledger entry.

    ``taxa`` has shape (..., T); the result has shape (..., H). Taxa that are no candidates never count
    as the better explanation.
    """
    scores = np.where(table.candidate, taxa, -np.inf)
    first = scores.argmax(axis=-1)
    top = np.take_along_axis(scores, first[..., None], axis=-1)[..., 0]
    rest = scores.copy()
    np.put_along_axis(rest, first[..., None], -np.inf, axis=-1)
    runner = rest.max(axis=-1)
    own = first[..., None] == table.harm_taxon
    return np.where(own, runner[..., None], top[..., None])


@dataclass(frozen=True, eq=False)
class Contest:
    """Every harmful taxon against its best rival, under every strike.

    Attributes
    ----------
    rows : array (Z, R)
        Log-likelihood of each row under each strike; the first strike is none at all.
    taxa : array (Z, T)
        The same, over the rows of a taxon.
    margins : array (Z, H)
        Log Bayes factor of the best other taxon over the harmful one.
    against : array (looks, H)
        Which look contradicts which harmful taxon.
    """

    standing: Standing
    used: tuple[Observation, ...]
    vectors: Floats
    groups: tuple[str, ...]
    strikes: tuple[Strike, ...]
    rows: Floats
    taxa: Floats
    margins: Floats
    against: Bools

    @cached_property
    def done(self) -> frozenset[str]:
        """Characters looked at so that it counts, and procedures told."""
        characters = self.standing.table.characters
        return frozenset(characters[o.character].code for o in self.used) | frozenset(
            self.standing.observations.procedures
        )

    @cached_property
    def made(self) -> frozenset[str]:
        """``done``, and what a look has shown not to exist on this fruitbody.

        Pores make gill attachment needless, no stipe a look at its base; but nothing is needless on an
        egg, button or closed ball that was not cut.
        """
        if unopened(self.standing) and SECTION not in self.done:
            return self.done
        table = self.standing.table
        said: dict[str, set[str]] = {}
        for o in self.used:
            said.setdefault(table.characters[o.character].code, set()).update(o.words)
        needless = [
            code
            for code, (character, states) in table.applies.items()
            if character in said and not said[character] & set(states)
        ]
        return self.done | frozenset(needless)


def hold_contest(standing: Standing) -> Contest:
    """Return the contest of one fruitbody over the looks that count."""
    table = standing.table
    observations = standing.observations
    at = [i for i, o in enumerate(observations.used) if o.counts]
    used = tuple(observations.used[i] for i in at)
    vecs = standing.vectors[at] if at else np.zeros((0, len(table.row_taxon)))
    groups = tuple(table.characters[o.character].group for o in used)
    strikes = strikes_of(used, table, observations.determiner)
    weights = np.array([temper(groups, s.stays, table.rho) for s in strikes]).reshape(len(strikes), len(used))
    rows = weights @ vecs + standing.stage_rows
    taxa = by_taxon(rows, table)
    other = best_other(taxa, table)
    against = np.array([contradiction_vector(o, table) for o in used]).reshape(len(used), len(table.harmful))
    return Contest(standing, used, vecs, groups, tuple(strikes), rows, taxa, other - taxa[:, table.harm_taxon], against)


def keep_ledger(standing: Standing, contest: Contest | None = None) -> Ledger:
    """Return the ledger of one fruitbody."""
    contest = contest or hold_contest(standing)
    table, margins = standing.table, contest.margins
    withstands = _withstands(contest.vectors, contest.groups, standing.stage_rows, contest.against, table)
    worst = margins.argmin(axis=0)
    entries = [
        _entry(h, contest, float(margins[worst[h], h]), contest.strikes[worst[h]], int(withstands[h]))
        for h in range(len(table.harmful))
    ]
    people = sorted({o.observer or "" for o in contest.used})
    groups = tuple(_group_line(g, entries, contest) for g in table.warned)
    return Ledger(standing.observations.fruitbody, tuple(entries), groups, len(contest.used), tuple(people))


def _group_line(group: GroupEntry, entries: Sequence[Entry], contest: Contest) -> GroupLine:
    """Return a group's line; a firm look stands outside only if every state it names does."""
    table = contest.standing.table
    outside = []
    for o in contest.used:
        c = table.characters[o.character]
        allowed = group.definition.get(c.code)
        if c.firm and not o.soft and allowed is not None and not set(o.words) & set(allowed):
            outside.append(o.look)
    still = tuple(e.taxon for e in entries if e.taxon in group.members and not e.ruled_out)
    return GroupLine(group, still, tuple(outside))


def _entry(h: int, contest: Contest, margin: float, strike: Strike, withstands: int) -> Entry:
    standing = contest.standing
    table = standing.table
    harm = table.harmful[h]
    hits = [
        (o, table.characters[o.character]) for o, hit in zip(contest.used, contest.against[:, h], strict=True) if hit
    ]
    speaks = tuple(Against(o.look, c.code, o.words, c.firm) for o, c in hits)
    missing = tuple(c for c in harm.insist if c not in contest.made)
    reasons = []
    if len({c.group for _, c in hits}) < CONTRADICTIONS:
        reasons.append("contradictions")
    if not any(c.firm for _, c in hits):
        reasons.append("firm")
    if not margin > table.model.margin_limit:
        reasons.append("margin")
    if not standing.unlisted < table.model.unlisted_limit:
        reasons.append("unlisted")
    if missing:
        reasons.append("insist")
    if harm.level == "kills" and unopened(standing) and SECTION not in contest.done:
        reasons.append("unopened")
    return Entry(
        taxon=harm.taxon,
        harm=harm,
        against=speaks,
        margin=margin,
        weakest=f"{strike.kind} {strike.name}".strip(),
        insist_missing=missing,
        open_for=tuple(reasons),
        withstands=withstands if not reasons else 0,
    )


def unopened(standing: Standing) -> bool:
    """Whether the fruitbody is an egg, a button, or a closed ball."""
    observations = standing.observations
    if observations.stage_known in ("egg", "button") or float(observations.stage[:2].sum()) >= UNOPENED:
        return True
    return bool({"egg", "ball"} & set(observations.states_of("fruitbody_form", standing.table)))


def _withstands(
    vecs: Floats, groups: Sequence[str], stage_rows: Floats, against: Bools, table: Table
) -> NDArray[np.int64]:
    """Return a lower bound (H,) on the number of errors each exclusion stands against.

    For a rival row and the harmful taxon's best row, the evidence of the loudest groups is taken away
    until the margin falls; the best rival's count is kept, and one contradiction must always remain.
    """
    names = sorted(set(groups))
    weight = temper(groups, range(len(groups)), table.rho)
    member = np.array([[g == name for g in groups] for name in names], dtype=float).reshape(len(names), len(groups))
    sums = (member * weight) @ vecs
    candidates = np.flatnonzero(table.candidate[table.row_taxon])
    total = sums.sum(axis=0) + stage_rows
    # The rivals that matter are the best few rows; any rival gives a valid lower bound.
    rivals = candidates[np.argsort(total[candidates])[::-1][:12]]
    own = np.flatnonzero(np.isfinite(stage_rows) & np.isin(table.row_taxon, table.harm_taxon))
    taxon = table.row_taxon[own]
    starts = np.flatnonzero(np.r_[True, taxon[1:] != taxon[:-1]]) if len(own) else np.zeros(0, dtype=np.int64)
    sizes = np.diff(np.r_[starts, len(own)])
    spread = np.repeat(np.log(np.maximum(sizes, 1)), sizes)
    best = np.zeros(len(table.row_start), dtype=np.int64)
    for r in rivals:
        gains = np.sort(np.maximum(sums[:, [r]] - sums[:, own], 0.0), axis=0)[::-1]
        lasting = (total[r] - total[own])[None, :] - np.cumsum(gains, axis=0)
        holds = lasting - spread > table.model.margin_limit
        lasts = np.logical_and.reduceat(holds, starts, axis=1).sum(axis=0) if len(own) else 0
        lasts = np.where(taxon[starts] == table.row_taxon[r], 0, lasts)
        best[taxon[starts]] = np.maximum(best[taxon[starts]], lasts)
    hit = (member @ against) > 0
    return np.asarray(np.clip(np.minimum(best[table.harm_taxon], hit.sum(axis=0) - 1), 0, None), dtype=np.int64)
