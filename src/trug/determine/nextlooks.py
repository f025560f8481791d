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
#: Share of all strangers below which those that resemble one row are left out: ten thousand add less than 1e-14.
FAINT = 1e-18
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
    after = entropy + openness
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
        closes = ruled[:, own].T & was_open
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
    share = (standing.posterior @ table.recorded)[at] + 0.5 * standing.unlisted
    weight = standing.row_posterior / max(float(standing.row_posterior.sum()), 1e-300)
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
                likely = weight @ table.truth[:, other.first : other.last]
                chances[applies] = float(sum(likely[other.states.index(s)] for s in states))
        share[k] *= chances[applies]
    return np.asarray(share)


def _names_after(standing: Standing, columns: Columns) -> tuple[Floats, Floats]:
    """Return for each column its probability, and the entropy of the name then, a stranger being one name.

    With the joint probability J of a taxon and an answer, the entropy is ``log p - (sum of J log J) / p``. Where a
    treatment does not change with the stage, J is weight times chance, and the sum comes down to matrix products.
    """
    table = standing.table
    steady, cells = table.steady, table.staged_cells
    weight = np.where(standing.row_posterior > NEGLIGIBLE, standing.row_posterior, 0.0)
    taxon = np.add.reduceat(weight, table.row_start)
    seen, seen_of_log = _weighted(np.array([taxon, _x_log_x(taxon)]), steady.seen)
    joint = (weight[cells.rows] * cells.seen).sum(axis=0)
    size = len(table.silent)
    listed = seen + np.bincount(cells.column, joint, size)
    listed_log = seen_of_log + _weighted(taxon[None], steady.seen_log_seen)[0]
    listed_log += np.bincount(cells.column, _x_log_x(joint), size)
    strange = _strangers_after(standing)[columns.at]
    p = listed[columns.at] + strange
    entropy = np.log(p) - (listed_log[columns.at] + _x_log_x(strange)) / p
    # A silent answer leaves the names as they are.
    entropy[table.silent[columns.at]] = _entropy_now(standing)
    ends = np.append(columns.starts[1:], len(columns.at))
    known = {table.characters[o.character].group for o in standing.observations.used}
    alike: dict[str, list[int]] = {}
    for k, i in enumerate(columns.characters):
        if table.characters[i].group in known:
            alike.setdefault(table.characters[i].group, []).append(k)
    for group, places in alike.items():
        after = _entropies_in_known_group(standing, group, [columns.characters[k] for k in places])
        for k, one in zip(places, after, strict=True):
            entropy[columns.starts[k] : ends[k]] = one
    total = np.add.reduceat(p, columns.starts)
    return p / total[columns.owner], entropy


def _x_log_x(x: Floats) -> Floats:
    """Return x log x, zero for zero."""
    return np.asarray(x * np.log(np.where(x > 0.0, x, 1.0)))


def _weighted(weights: Floats, values: Floats) -> Floats:
    """Return weights (k, T) times values (T, S), without the rows of no weight where that saves work."""
    some = np.flatnonzero(weights.any(axis=0))
    return weights[:, some] @ values[some] if 2 * len(some) < len(values) else weights @ values


def _strangers_after(standing: Standing) -> Floats:
    """Return the probability (S,) of a stranger together with each answer."""
    table = standing.table
    steady, cells = table.steady, table.staged_cells
    with np.errstate(divide="ignore"):
        logs = standing.strange_rows + np.log(table.stranger)[table.row_taxon]
    share = np.exp(logs - logs.max())
    share *= standing.unlisted / share.sum()
    share[share < FAINT * standing.unlisted] = 0.0
    taxon = np.add.reduceat(share, table.row_start)[None]
    seen = _weighted(taxon, steady.seen)[0]
    seen += np.bincount(cells.column, (share[cells.rows] * cells.seen).sum(axis=0), len(seen))
    blend = table.blend[table.column_character]
    return np.asarray((1.0 - blend) * seen + blend * _weighted(taxon, steady.kin)[0])


def _entropies_in_known_group(standing: Standing, group: str, characters: list[int]) -> list[Floats]:
    """Return the entropy of the name (states,) after a look at each character of a dependence group that has looks."""
    table = standing.table
    members = [k for k, o in enumerate(standing.observations.used) if table.characters[o.character].group == group]
    rho = table.rho.get(group, 0.0)
    after = group_factor(len(members) + 1, rho)
    shift = after - group_factor(len(members), rho)
    with np.errstate(divide="ignore"):
        priors = (standing.prior + np.log1p(-standing.unlisted_prior), np.log(table.stranger * standing.unlisted_prior))
    left = []
    for rows, vectors, prior in (
        (standing.rows, standing.vectors, priors[0]),
        (standing.strange_rows, standing.strange_vectors, priors[1]),
    ):
        weight = rows + prior[table.row_taxon]
        near = weight > weight.max() - FAR
        left.append(np.where(near, weight + shift * vectors[members].sum(axis=0), -np.inf))
    top = max(rows.max() for rows in left)
    listed, strange = np.exp(left[0] - top), np.exp(left[1] - top)
    return [_tempered_entropy(table, i, after, listed, strange) for i in characters]


def _tempered_entropy(table: Table, character: int, factor: float, listed: Floats, strange: Floats) -> Floats:
    """Return the entropy of the name (states,) after a tempered look at one character.

    ``listed`` and ``strange`` (R,) are the masses of the rows and of the strangers that resemble them before the look.
    """
    c, staged = table.characters[character], table.staged[character]
    block = slice(c.first, c.last)
    logs = factor * table.first_loglik[:, block].astype(np.float64)
    chance = np.exp(logs)
    chance[staged.taxa] = 0.0
    taxon = np.add.reduceat(listed, table.row_start)
    joint = (listed[staged.rows][:, None, :] @ np.exp(factor * staged.logs))[:, 0]
    names = taxon @ chance + joint.sum(axis=0)
    names_log = _x_log_x(taxon) @ chance + taxon @ (chance * logs) + _x_log_x(joint).sum(axis=0)
    stranger = strange @ np.exp(factor * table.stranger_loglik(0)[:, block])
    total = names + stranger
    return np.asarray(np.log(total) - (names_log + _x_log_x(stranger)) / total)


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
    insisted = _insisted(table)
    missing = sum((needed for code, needed in insisted.items() if code not in contest.made), np.zeros(len(firm)))
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
    """Return the openness of all harmful taxa together (columns,) and each verdict (H, columns) after each answer."""
    table = contest.standing.table
    weight, insist = _weights(table)
    groups, firm, missing = _state_now(contest)
    fewer, unblocked = _brought(contest, columns)
    still = np.maximum(missing - fewer, 0.0)
    against = np.take(table.contradicts, columns.at, axis=1)
    in_new_group = _in_new_group(contest, columns, against)
    is_firm = np.array([table.characters[i].firm for i in columns.characters])[columns.owner]
    firm_then = firm[:, None] | (against & is_firm)
    margins = margins_after(contest, columns, below_zero=False).T
    limit = table.model.margin_limit
    one_short = groups == CONTRADICTIONS - 1
    ruled = (groups >= CONTRADICTIONS)[:, None] | (one_short[:, None] & in_new_group)
    ruled &= firm_then
    ruled &= margins > limit
    ruled &= np.repeat(((still <= 0.0) & unblocked).T, np.bincount(columns.owner), axis=1)
    few = groups < CONTRADICTIONS
    lacking = (
        (weight @ np.maximum(CONTRADICTIONS - groups, 0.0) - (weight * few) @ in_new_group) / CONTRADICTIONS
        + (weight.sum() - weight @ firm_then)
        + weight @ _short_of(margins, limit)
        + (np.minimum(still / insist, 1.0) @ weight)[columns.owner]
    ) / 4.0
    # What is ruled out lacks nothing, so that ``OPEN_LEAST`` is all there is to take away.
    return OPEN_LEAST * (weight.sum() - weight @ ruled) + (1.0 - OPEN_LEAST) * lacking, ruled


def _short_of(margins: Floats, limit: float) -> Floats:
    """Return by what share of the limit margins fall short of it."""
    out = margins * (-1.0 / limit)
    out += 1.0
    return np.asarray(np.clip(out, 0.0, 1.0, out=out))


def _brought(contest: Contest, columns: Columns) -> tuple[Floats, NDArray[np.bool_]]:
    """Return how many insisted looks each character brings along, and whether no egg blocks then (characters, H)."""
    table = contest.standing.table
    insisted = _insisted(table)
    fewer = np.zeros((len(columns.characters), len(table.harmful)))
    unblocked = np.repeat(~_blocked(contest)[None], len(columns.characters), axis=0)
    for k, i in enumerate(columns.characters):
        c = table.characters[i]
        for code in {c.code, *(n for _, n, _ in c.needs)} - contest.made:
            if code in insisted:
                fewer[k] += insisted[code]
        if c.code == SECTION:
            unblocked[k] = True
    return fewer, unblocked


def _in_new_group(contest: Contest, columns: Columns, against: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which contradictions (H, columns) are the first of their dependence group."""
    table = contest.standing.table
    hit: dict[str, NDArray[np.bool_]] = {}
    for group, row in zip(contest.groups, contest.against, strict=True):
        hit[group] = hit[group] | row if group in hit else row
    out = against.copy()
    ends = np.append(columns.starts[1:], len(columns.at))
    for k, i in enumerate(columns.characters):
        group = table.characters[i].group
        if group in hit:
            out[hit[group], columns.starts[k] : ends[k]] = False
    return out
