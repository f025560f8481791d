"""What to look at next: the expected fall in doubt and in open harm, per minute of work, over every state.

For each look not yet made and each state it could show, the posterior (a stranger is one of its names),
every margin under every strike, and the count of contradictions are computed as they would stand then.

    doubt = entropy of the name [nat] + sum over harmful taxa of weight * openness

A harmful taxon that is ruled out has openness 0; an open one between ``OPEN_LEAST`` and 1, in
proportion to how much of the rule is still unmet, so that a look that opens the way has value too. That a
stranger is likely counts in the doubt about the name, not once more for every harmful taxon.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trug.determine.ledger import CONTRADICTIONS, SECTION, Contest, Strike, unopened
from trug.determine.standing import Standing, by_taxon, group_factor
from trug.determine.table import CharacterColumns, Table

__all__ = ["HARM_WEIGHT", "NextLook", "next_looks", "standing_rule", "taste_allowed"]

Floats = NDArray[np.float64]

#: How much an open harmful taxon of each level weighs against a nat of doubt about the name.
HARM_WEIGHT = {"kills": 1.0, "organ": 0.7, "gut": 0.4, "conditional": 0.2}
#: Openness of a taxon that meets all but the last of the rule.
OPEN_LEAST = 0.4
#: Share of waiting time that counts as work: the forager does other things meanwhile.
WAIT_SHARE = 0.01
#: Work that any look takes at the least [min].
LEAST_MINUTES = 0.5
#: Work of digging out the base [min].
DIG_MINUTES = 2.0
#: Taxa of less than this posterior are left out of the entropy.
NEGLIGIBLE = 1e-6
#: Fall in doubt below which a look is not worth proposing [nat].
WORTHLESS = 1e-4
#: Share of the posterior for which a look must have an answer to be thought of at all.
UNANSWERABLE = 0.001
#: Genera in which the trade tastes (and spits out).
TASTED = frozenset(
    [
        "lactarius",
        "lactifluus",
        "russula",
        "boletus",
        "tylopilus",
        "imleria",
        "leccinum",
        "suillus",
        "caloboletus",
        "xerocomellus",
    ]
)
#: Share of the posterior that one such genus group must hold.
TASTE_CERTAINTY = 0.95


@dataclass(frozen=True, slots=True)
class NextLook:
    """A look worth making. ``settles`` are harmful taxa that one of its answers would rule out."""

    character: str
    label: str
    value: float
    per_minute: float
    minutes: float
    wait_minutes: float
    tools: tuple[str, ...]
    destructive: bool
    settles: tuple[str, ...]
    chance: float


@dataclass(frozen=True, eq=False)
class _Columns:
    """Columns of the candidate characters, end to end."""

    characters: tuple[int, ...]
    at: NDArray[np.int64]
    owner: NDArray[np.int64]
    starts: NDArray[np.int64]

    @staticmethod
    def of(table: Table, characters: list[int]) -> _Columns:
        """Return the columns of some characters."""
        sizes = [len(table.characters[i].states) for i in characters]
        at = [np.arange(table.characters[i].first, table.characters[i].last) for i in characters]
        none = np.zeros(0, dtype=np.int64)
        return _Columns(
            tuple(characters),
            np.concatenate(at) if at else none,
            np.repeat(np.arange(len(characters)), sizes),
            np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(np.int64) if sizes else none,
        )


def next_looks(
    contest: Contest,
    *,
    tools: frozenset[str] | None = None,
    may_taste: bool = False,
    skip: frozenset[str] = frozenset(),
    count: int | None = None,
) -> tuple[NextLook, ...]:
    """Return looks worth making, best value per minute first.

    Parameters
    ----------
    tools : frozenset of str, optional
        What is at hand; None for everything.
    may_taste : bool
        Whether this observer may taste at all (never students, children, in pregnancy).
    skip : frozenset of str
        Characters that cannot be looked at.
    count : int, optional
        At most so many.
    """
    standing = contest.standing
    table = standing.table
    chosen = _candidates(contest, tools, may_taste, skip)
    answerable = _answerable(standing, chosen)
    able = np.flatnonzero(answerable > UNANSWERABLE)
    columns, answerable = _Columns.of(table, [chosen[k] for k in able]), answerable[able]
    if not columns.characters:
        return tuple(_procedures(contest, skip)[:count])
    p, entropy = _names_after(standing, columns)
    openness, ruled = _openness_after(contest, columns)
    openness_now, ruled_now = _now(contest)
    now = _entropy_now(standing) + openness_now.sum()
    after = entropy + openness.sum(axis=1)
    gain = now - np.add.reduceat(p * after, columns.starts)
    value = gain * answerable
    effort = np.array([_effort(table.characters[i], contest) for i in columns.characters])
    worth = np.flatnonzero(value > WORTHLESS)
    order = worth[np.lexsort((worth, -(value / effort)[worth]))]
    was_open = ~ruled_now
    ends = np.append(columns.starts[1:], len(columns.at))
    out = _procedures(contest, skip)
    for k in order[: max((count or len(order)) - len(out), 0)]:
        c = table.characters[columns.characters[k]]
        own = slice(columns.starts[k], ends[k])
        closes = ruled[own] & was_open
        likely = p[own] @ closes
        out.append(
            NextLook(
                c.code,
                c.label,
                float(value[k]),
                float(value[k] / effort[k]),
                _minutes(c, contest),
                c.wait_minutes,
                c.tools,
                c.destructive,
                tuple(table.taxa[table.harmful[h].taxon] for h in np.argsort(-likely)[:5] if likely[h] > 0.05),
                float(p[own] @ closes.any(axis=1)),
            )
        )
    return tuple(out[:count])


def _minutes(c: CharacterColumns, contest: Contest) -> float:
    """Work [min], with the digging that a look at the base brings along."""
    return c.minutes + (DIG_MINUTES if any(character not in contest.done for _, character, _ in c.needs) else 0.0)


def _effort(c: CharacterColumns, contest: Contest) -> float:
    return max(_minutes(c, contest), LEAST_MINUTES) + WAIT_SHARE * c.wait_minutes


def taste_allowed(standing: Standing, any_kills_open: bool) -> bool:
    """Whether firm looks have fixed a genus in which the trade tastes and nothing that kills is open."""
    table = standing.table
    share = sum(
        float(p) for p, code in zip(standing.posterior, table.taxa, strict=True) if code.split("-")[0] in TASTED
    )
    red = "red" in standing.observations.states_of("hymenophore_colour", table)
    firm = any(table.characters[o.character].firm and o.counts for o in standing.observations.used)
    return share >= TASTE_CERTAINTY and firm and not red and not any_kills_open


def _candidates(contest: Contest, tools: frozenset[str] | None, may_taste: bool, skip: frozenset[str]) -> list[int]:
    """Return the characters that this observer could look at."""
    standing = contest.standing
    table = standing.table
    seen = {o.character for o in standing.observations.used}
    kills_open = any(not r and h.level == "kills" for r, h in zip(standing_rule(contest), table.harmful, strict=True))
    taste = may_taste and taste_allowed(standing, kills_open)
    chosen = []
    for i, c in enumerate(table.characters):
        if i in seen or c.code in standing.observations.unseen or c.code in skip:
            continue
        if c.gate == "taste" and not taste:
            continue
        if tools is not None and not set(c.tools) <= tools:
            continue
        if c.grows and standing.observations.stage_known in ("egg", "button", "young"):
            continue
        chosen.append(i)
    return chosen


def _procedures(contest: Contest, skip: frozenset[str]) -> list[NextLook]:
    """A procedure that the trade insists on and that no look will bring along."""
    table = contest.standing.table
    missing: dict[str, list[int]] = {}
    for h, harm in enumerate(table.harmful):
        for code in harm.insist:
            if code not in table.index and code not in contest.made | skip | contest.standing.observations.unseen:
                missing.setdefault(code, []).append(h)
    out = []
    brought = {n for c in table.characters for _, n, _ in c.needs if c.code not in contest.done}
    for code, harms in missing.items():
        if code in brought:
            continue
        names = tuple(table.taxa[table.harmful[h].taxon] for h in harms[:5])
        value = sum(HARM_WEIGHT[table.harmful[h].level] * (1 - OPEN_LEAST) / 4 for h in harms)
        label = code.replace("_", " ")
        out.append(NextLook(code, label, value, value / DIG_MINUTES, DIG_MINUTES, 0.0, (), False, names, 0.0))
    return out


def _answerable(standing: Standing, at: list[int]) -> Floats:
    """Return for each candidate character the share of the posterior for which it has an answer at all."""
    table = standing.table
    share = standing.posterior @ table.recorded[:, at] + 0.5 * standing.unlisted
    weight = np.exp(standing.rows - standing.taxa[table.row_taxon]) * standing.posterior[table.row_taxon]
    weight /= max(float(weight.sum()), 1e-300)
    likely = weight @ table.truth
    chances: dict[tuple[str, tuple[str, ...]], float] = {}
    for k, i in enumerate(at):
        applies = table.characters[i].applies
        if applies is None:
            continue
        if applies not in chances:
            character, states = applies
            said = standing.observations.states_of(character, table)
            other = table.characters[table.index[character]]
            if said:
                chances[applies] = float(bool(set(said) & set(states)))
            else:
                chances[applies] = float(sum(likely[other.first + other.states.index(s)] for s in states))
        share[k] *= chances[applies]
    return np.asarray(share)


def _names_after(standing: Standing, columns: _Columns) -> tuple[Floats, Floats]:
    """Return for each column its probability, and the entropy of the name then, a stranger being one name."""
    table = standing.table
    weight = np.exp(standing.rows - standing.taxa[table.row_taxon]) * standing.posterior[table.row_taxon]
    keep = np.flatnonzero(weight > NEGLIGIBLE)
    joint = weight[keep, None] * table.observed(0)[keep][:, columns.at]
    starts = np.flatnonzero(np.diff(table.row_taxon[keep], prepend=-1))
    if len(starts) < len(keep):
        joint = np.add.reduceat(joint, starts, axis=0)
    with np.errstate(divide="ignore"):
        logs = standing.strange_rows + np.log(table.stranger)[table.row_taxon]
    share = np.exp(logs - logs.max())
    share *= standing.unlisted / share.sum()
    strange = (share @ table.stranger_observed(0))[columns.at]
    p = joint.sum(axis=0) + strange
    everything = np.vstack([joint, strange[None, :]]) / p
    entropy = -(everything * np.log(np.maximum(everything, 1e-300))).sum(axis=0)
    # A silent answer leaves the names as they are.
    entropy[table.silent[columns.at]] = _entropy_now(standing)
    total = np.add.reduceat(p, columns.starts)
    return p / total[columns.owner], entropy


def _entropy_now(standing: Standing) -> float:
    p = np.append(standing.posterior, standing.unlisted)
    p = p[p > NEGLIGIBLE]
    return float(-(p * np.log(p)).sum())


def _state_now(contest: Contest) -> tuple[Floats, NDArray[np.bool_], Floats]:
    """Contradicting groups (H,), whether one is firm (H,), insisted looks missing (H,)."""
    table = contest.standing.table
    names = sorted(set(contest.groups))
    hits = np.zeros((len(names), len(table.harmful)), dtype=bool)
    firm = np.zeros(len(table.harmful), dtype=bool)
    for o, group, row in zip(contest.used, contest.groups, contest.against, strict=True):
        hits[names.index(group)] |= row
        if table.characters[o.character].firm:
            firm |= row
    missing = np.array([len([c for c in h.insist if c not in contest.made]) for h in table.harmful], dtype=float)
    return hits.sum(axis=0).astype(float), firm, missing


def _blocked(contest: Contest) -> NDArray[np.bool_]:
    """Harmful taxa (H,) that an unopened egg or button keeps open."""
    table = contest.standing.table
    shut = unopened(contest.standing) and SECTION not in contest.done
    return np.array([shut and h.level == "kills" for h in table.harmful], dtype=bool)


@functools.lru_cache(maxsize=16)
def _weights(table: Table) -> tuple[Floats, Floats]:
    """Return the weight of each harmful taxon (H,) and how many looks the trade insists on (H,)."""
    insist = np.array([max(len(h.insist), 1) for h in table.harmful], dtype=float)
    return np.array([HARM_WEIGHT[h.level] for h in table.harmful]), insist


@functools.lru_cache(maxsize=16)
def _insisted(table: Table) -> dict[str, Floats]:
    """Return for each look that the trade insists on the harmful taxa (H,) for which it does."""
    return {
        code: np.array([float(code in h.insist) for h in table.harmful])
        for code in {c for h in table.harmful for c in h.insist}
    }


def _openness(
    table: Table,
    groups: Floats,
    firm: NDArray[np.bool_],
    missing: Floats,
    margins: Floats,
    blocked: NDArray[np.bool_],
) -> tuple[Floats, NDArray[np.bool_]]:
    """Return weighted openness and whether ruled out, for arrays that broadcast to (..., H)."""
    limit = table.model.margin + table.model.margin_tolerance
    weight, insist = _weights(table)
    lacking = (
        np.maximum(CONTRADICTIONS - groups, 0.0) / CONTRADICTIONS
        + ~firm
        + np.clip((limit - margins) / limit, 0.0, 1.0)
        + np.minimum(missing / insist, 1.0)
    ) / 4.0
    ruled = (groups >= CONTRADICTIONS) & firm & (margins > limit) & (missing <= 0) & ~blocked
    return np.where(ruled, 0.0, OPEN_LEAST + (1.0 - OPEN_LEAST) * lacking) * weight, ruled


def standing_rule(contest: Contest) -> NDArray[np.bool_]:
    """Return for each harmful taxon (H,) whether it is ruled out now; the verdict that the ledger explains."""
    return _now(contest)[1] & (contest.standing.unlisted < contest.standing.table.model.unlisted_limit)


def _now(contest: Contest) -> tuple[Floats, NDArray[np.bool_]]:
    groups, firm, missing = _state_now(contest)
    return _openness(contest.standing.table, groups, firm, missing, contest.margins.min(axis=0), _blocked(contest))


def _openness_after(contest: Contest, columns: _Columns) -> tuple[Floats, NDArray[np.bool_]]:
    """Return openness and verdict (columns, H) after each answer."""
    table = contest.standing.table
    groups, firm, missing = _state_now(contest)
    against = table.contradicts[:, columns.at].T
    known = set(contest.groups)
    hit_groups: dict[str, NDArray[np.bool_]] = {}
    for group, row in zip(contest.groups, contest.against, strict=True):
        hit_groups[group] = hit_groups.get(group, np.zeros(len(table.harmful), dtype=bool)) | row
    new_group = np.ones((len(columns.characters), len(table.harmful)), dtype=bool)
    is_firm = np.zeros(len(columns.characters), dtype=bool)
    fewer = np.zeros((len(columns.characters), len(table.harmful)))
    insisted = _insisted(table)
    for k, i in enumerate(columns.characters):
        c = table.characters[i]
        is_firm[k] = c.firm
        if c.group in known:
            new_group[k] = ~hit_groups[c.group]
        brings = {c.code, *(n for _, n, _ in c.needs)} - contest.made
        for code in brings:
            fewer[k] += insisted.get(code, 0.0)
    owner = columns.owner
    blocked = np.broadcast_to(_blocked(contest), (len(columns.characters), len(table.harmful))).copy()
    for k, i in enumerate(columns.characters):
        if table.characters[i].code == SECTION:
            blocked[k] = False
    return _openness(
        table,
        groups + (against & new_group[owner]),
        firm | (against & is_firm[owner, None]),
        missing - fewer[owner],
        _margins_after(contest, columns),
        blocked[owner],
    )


def _margins_after(contest: Contest, columns: _Columns) -> Floats:
    """Return the least margin (columns, H) after each answer, under every strike there would be then."""
    table = contest.standing.table
    reach = -float(table.loglik(0)[:, columns.at].min())
    limit = table.model.margin + table.model.margin_tolerance
    least_now = contest.margins.min(axis=0)
    care = np.flatnonzero(least_now - reach <= limit)
    out = np.broadcast_to(np.maximum(least_now - reach, limit + 1.0), (len(columns.at), len(table.harmful))).copy()
    if not len(care):
        return out
    chosen = np.union1d(_alive(contest, reach), table.harm_taxon[care])
    field = _Field(chosen, table.candidate[chosen], np.searchsorted(chosen, table.harm_taxon[care]), care)
    # The look's own group or part struck out leaves what stands now, where it has no other look.
    least = np.broadcast_to(contest.margins[0, care], (len(columns.at), len(care))).astype(np.float32)
    known = np.array([table.characters[i].group in contest.groups for i in columns.characters])[columns.owner]
    part = np.array([table.characters[i].part for i in columns.characters])[columns.owner]
    fresh = _Columns.of(table, [i for i in columns.characters if table.characters[i].group not in contest.groups])
    if fresh.characters:
        new = least[~known]
        different = _different(contest)
        for z, logs in zip(different, _fresh_loglik(contest, fresh, field, different), strict=True):
            margin = field.margin(contest.taxa[z, chosen].astype(np.float32)[:, None] + logs)
            if contest.strikes[z].kind == "part":
                margin[part[~known] == contest.strikes[z].name] = contest.margins[z, care]
            np.minimum(new, margin, out=new)
        for z, strike in enumerate(contest.strikes):
            if strike.kind == "part":
                own = part[~known] == strike.name
                new[own] = np.minimum(new[own], contest.margins[z, care].astype(np.float32))
        least = least.copy()
        least[~known] = new
    struck = {s.name for s in contest.strikes if s.kind == "part"}
    for k, i in enumerate(columns.characters):
        if table.characters[i].group in contest.groups:
            cols = np.flatnonzero(columns.owner == k)
            after = _margins_in_known_group(contest, i, field)
            # A part that has no look yet, struck out, leaves what stands now.
            least[cols] = after if table.characters[i].part in struck else np.minimum(least[cols], after)
    out[:, care] = least
    return out


@dataclass(frozen=True, eq=False)
class _Field:
    """The taxa that can matter after one more look, and the harmful ones whose verdict can change."""

    chosen: NDArray[np.int64]
    candidate: NDArray[np.bool_]
    own: NDArray[np.int64]
    care: NDArray[np.int64]

    def margin(self, after: NDArray[np.float32]) -> NDArray[np.float32]:
        """Return best other minus own (..., columns, care) for log-likelihoods (..., chosen, columns)."""
        rivals = after if self.candidate.all() else np.where(self.candidate[:, None], after, np.float32(-np.inf))
        top = rivals.max(axis=-2, keepdims=True)
        mine = after[..., self.own, :]
        best = np.broadcast_to(top, mine.shape)
        leads = mine >= top
        for k in np.flatnonzero(leads.any(axis=tuple(a for a in range(leads.ndim) if a != leads.ndim - 2))):
            # Where the harmful taxon itself leads, the runner-up is its best rival.
            row = self.own[k]
            above, below = rivals[..., :row, :], rivals[..., row + 1 :, :]
            runner = np.maximum(
                above.max(axis=-2, initial=-np.inf), below.max(axis=-2, initial=-np.inf), dtype=np.float32
            )
            if not best.flags.writeable:
                best = best.copy()
            best[..., k, :] = np.where(leads[..., k, :], runner, best[..., k, :])
        return np.asarray(np.swapaxes(best - mine, -1, -2))


def _alive(contest: Contest, reach: float) -> NDArray[np.int64]:
    """Taxa that one more look could make the best rival under some strike."""
    table = contest.standing.table
    scores = np.where(table.candidate, contest.taxa, -np.inf)
    # The second best stands in for the best where the harmful taxon itself leads.
    second = np.partition(scores, -2, axis=1)[:, -2] if scores.shape[1] > 1 else scores[:, 0]
    return np.flatnonzero((scores >= (second - reach)[:, None]).any(axis=0))


def _different(contest: Contest, without: Sequence[int] = ()) -> list[int]:
    """Return strikes that leave different looks; a group that is all of its part is struck out but once."""
    seen: dict[tuple[int, ...], int] = {}
    for z, strike in enumerate(contest.strikes):
        if z not in without:
            seen.setdefault(strike.stays, z)
    return list(seen.values())


def _fresh_loglik(contest: Contest, columns: _Columns, field: _Field, strikes: list[int]) -> NDArray[np.float32]:
    """Return log-likelihoods (strikes, chosen, columns) of one more look in a group that has none yet."""
    table = contest.standing.table
    base = table.loglik(0)[np.ix_(table.row_start[field.chosen], columns.at)]
    out = np.broadcast_to(base, (len(strikes), *base.shape)).copy()
    one = np.ones(len(strikes))
    rows, taxa = contest.rows[strikes], contest.taxa[strikes]
    for start, i in zip(columns.starts, columns.characters, strict=True):
        place, seen = _staged_loglik(table, field, i, rows, taxa, one)
        if len(place):
            out[:, place, start : start + seen.shape[2]] = seen
    return out


def _staged_loglik(
    table: Table, field: _Field, i: int, rows: Floats, taxa: Floats, factor: Floats
) -> tuple[NDArray[np.int64], Floats]:
    """Return where a treatment changes with the stage, and its log-likelihoods (Z, those, states).

    The weight of each stage is the one under that strike; ``factor`` (Z,) is the tempering of the look.
    """
    staged = table.staged[i]
    if not len(staged.taxa):
        return staged.taxa, np.zeros((len(rows), 0, 0))
    place = np.minimum(np.searchsorted(field.chosen, staged.taxa), len(field.chosen) - 1)
    mine = field.chosen[place] == staged.taxa
    c = table.characters[i]
    if not mine.any():
        return np.zeros(0, dtype=np.int64), np.zeros((len(rows), 0, len(c.states)))
    at, whose = staged.rows[mine], staged.taxa[mine]
    weight = np.exp(rows[:, at] - taxa[:, whose][:, :, None]) * staged.valid[mine]
    logs = table.loglik(0)[at, c.first : c.last].astype(np.float64)
    if (factor == factor[0]).all():
        return place[mine], np.log(np.einsum("zmk,mks->zms", weight, np.exp(factor[0] * logs)))
    return place[mine], np.log(np.einsum("zmk,zmks->zms", weight, np.exp(factor[:, None, None, None] * logs)))


def _margins_in_known_group(contest: Contest, i: int, field: _Field) -> NDArray[np.float32]:
    """Return the least margin (states, care) after a look in a dependence group that already has looks."""
    table = contest.standing.table
    c = table.characters[i]
    rho = table.rho.get(c.group, 0.0)
    members = [k for k, g in enumerate(contest.groups) if g == c.group]
    spared = [z for z, strike in enumerate(contest.strikes) if _spares(strike, c)]
    touched = _different(contest, spared)
    shift = contest.rows[touched]
    after = np.empty(len(touched))
    for k, z in enumerate(touched):
        stay = [m for m in members if m in contest.strikes[z].stays]
        after[k] = group_factor(len(stay) + 1, rho)
        if stay:
            shift[k] += (after[k] - group_factor(len(stay), rho)) * contest.vectors[stay].sum(axis=0)
    taxa = by_taxon(shift, table)
    logs = table.loglik(0)[table.row_start[field.chosen], c.first : c.last]
    grown = after[:, None, None] * logs
    place, seen = _staged_loglik(table, field, i, shift, taxa, after)
    if len(place):
        grown[:, place] = seen
    least = field.margin((taxa[:, field.chosen, None] + grown).astype(np.float32)).min(axis=0)
    now = contest.margins[spared][:, field.care].min(axis=0).astype(np.float32)
    return np.asarray(np.minimum(least, now))


def _spares(strike: Strike, c: CharacterColumns) -> bool:
    """Whether a strike would take a look at a character with it, and so leaves the margin as it is."""
    return (strike.kind, strike.name) in (("group", c.group), ("part", c.part))
