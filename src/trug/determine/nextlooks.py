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
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trug.determine.ledger import CONTRADICTIONS, SECTION, Contest, unopened
from trug.determine.margins import Columns, margins_after
from trug.determine.observations import GROWING
from trug.determine.standing import Standing, group_factor
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
#: Distance from the best beyond which one more look cannot bring a name back [nat].
FAR = 24.0
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
    columns, answerable = Columns.of(table, [chosen[k] for k in able]), answerable[able]
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
    taste = may_taste and taste_allowed(standing, _kills_open(contest))
    chosen = []
    for i, c in enumerate(table.characters):
        if i in seen or c.code in standing.observations.unseen or c.code in skip:
            continue
        if c.gate == "taste" and not taste:
            continue
        if tools is not None and not set(c.tools) <= tools:
            continue
        if c.grows and standing.observations.stage_known in GROWING:
            continue
        chosen.append(i)
    return chosen


def _kills_open(contest: Contest) -> bool:
    """Whether anything that kills is not ruled out."""
    harmful = contest.standing.table.harmful
    return any(not r and h.level == "kills" for r, h in zip(standing_rule(contest), harmful, strict=True))


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
    weight = standing.row_posterior
    likely = weight / max(float(weight.sum()), 1e-300) @ table.truth
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


def _names_after(standing: Standing, columns: Columns) -> tuple[Floats, Floats]:
    """Return for each column its probability, and the entropy of the name then, a stranger being one name."""
    table = standing.table
    weight = standing.row_posterior
    keep = np.flatnonzero(weight > NEGLIGIBLE)
    joint = weight[keep, None] * table.observed(0)[np.ix_(keep, columns.at)]
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
    group = np.array([table.characters[i].group for i in columns.characters])[columns.owner]
    for known in {table.characters[o.character].group for o in standing.observations.used}.intersection(group):
        mine = np.flatnonzero(group == known)
        entropy[mine] = _entropy_in_known_group(standing, known, columns.at[mine])
    total = np.add.reduceat(p, columns.starts)
    return p / total[columns.owner], entropy


def _entropy_in_known_group(standing: Standing, group: str, at: NDArray[np.int64]) -> Floats:
    """Return the entropy of the name (columns,) after a look in a dependence group that has looks."""
    table = standing.table
    members = [k for k, o in enumerate(standing.observations.used) if table.characters[o.character].group == group]
    rho = table.rho.get(group, 0.0)
    after = group_factor(len(members) + 1, rho)
    shift = after - group_factor(len(members), rho)
    with np.errstate(divide="ignore"):
        priors = (standing.prior + np.log1p(-standing.unlisted_prior), np.log(table.stranger * standing.unlisted_prior))
    parts = []
    for rows, vectors, logs, prior in (
        (standing.rows, standing.vectors, table.loglik(0), priors[0]),
        (standing.strange_rows, standing.strange_vectors, table.stranger_loglik(0), priors[1]),
    ):
        weight = rows + prior[table.row_taxon]
        keep = np.flatnonzero(weight > weight.max() - FAR)
        gone = (weight[keep] + shift * vectors[members][:, keep].sum(axis=0)).astype(np.float32)
        parts.append((keep, gone + np.float32(after) * logs[:, at][keep].T))
    (keep, listed), (_, stranger) = parts
    starts = np.flatnonzero(np.diff(table.row_taxon[keep], prepend=-1))
    top = np.maximum(listed.max(axis=1), stranger.max(axis=1))[:, None]
    mass = np.column_stack([np.add.reduceat(np.exp(listed - top), starts, axis=1), np.exp(stranger - top).sum(axis=1)])
    p = mass / mass.sum(axis=1, keepdims=True)
    return np.asarray(-(p * np.log(np.maximum(p, 1e-300))).sum(axis=1))


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
    limit = table.model.margin_limit
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


def _openness_after(contest: Contest, columns: Columns) -> tuple[Floats, NDArray[np.bool_]]:
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
        margins_after(contest, columns),
        blocked[owner],
    )
