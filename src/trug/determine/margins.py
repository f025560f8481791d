"""Every margin as it would stand after one more look, under every strike there would be then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trug.determine.ledger import Contest, Strike
from trug.determine.standing import by_taxon, group_factor
from trug.determine.table import CharacterColumns, Table

__all__ = ["Columns", "margins_after"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Columns:
    """Columns of the candidate characters, end to end."""

    characters: tuple[int, ...]
    at: NDArray[np.int64]
    owner: NDArray[np.int64]
    starts: NDArray[np.int64]

    @staticmethod
    def of(table: Table, characters: list[int]) -> Columns:
        """Return the columns of some characters."""
        sizes = [len(table.characters[i].states) for i in characters]
        at = [np.arange(table.characters[i].first, table.characters[i].last) for i in characters]
        none = np.zeros(0, dtype=np.int64)
        return Columns(
            tuple(characters),
            np.concatenate(at) if at else none,
            np.repeat(np.arange(len(characters)), sizes),
            np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(np.int64) if sizes else none,
        )


def margins_after(contest: Contest, columns: Columns) -> Floats:
    """Return the least margin (columns, H) after each answer, under every strike there would be then."""
    table = contest.standing.table
    reach = -float(table.loglik(0)[:, columns.at].min())
    limit = table.model.margin_limit
    least_now = contest.margins.min(axis=0)
    care = np.flatnonzero(least_now - reach <= limit)
    out = np.broadcast_to(np.maximum(least_now - reach, limit + 1.0), (len(columns.at), len(table.harmful))).copy()
    if not len(care):
        return out
    chosen = np.union1d(_alive(contest, reach), table.harm_taxon[care])
    field = _Field(chosen, table.candidate[chosen], np.searchsorted(chosen, table.harm_taxon[care]), care)
    # The look's own group or part struck out leaves what stands now, where it has no other look.
    least = np.broadcast_to(contest.margins[0, care][:, None], (len(care), len(columns.at))).astype(np.float32)
    now = contest.margins[:, care].astype(np.float32)
    known = np.array([table.characters[i].group in contest.groups for i in columns.characters])[columns.owner]
    part = np.array([table.characters[i].part for i in columns.characters])[columns.owner]
    fresh = Columns.of(table, [i for i in columns.characters if table.characters[i].group not in contest.groups])
    if fresh.characters:
        new = least[:, ~known]
        different = _different(contest)
        for z, logs in zip(different, _fresh_loglik(contest, fresh, field, different), strict=True):
            margin = field.margin(contest.taxa[z, chosen].astype(np.float32)[:, None] + logs)
            if contest.strikes[z].kind == "part":
                margin[:, part[~known] == contest.strikes[z].name] = now[z][:, None]
            np.minimum(new, margin, out=new)
        for z, strike in enumerate(contest.strikes):
            if strike.kind == "part":
                own = part[~known] == strike.name
                new[:, own] = np.minimum(new[:, own], now[z][:, None])
        least[:, ~known] = new
    struck = {s.name for s in contest.strikes if s.kind == "part"}
    alike: dict[tuple[str, str], list[int]] = {}
    for i in columns.characters:
        if table.characters[i].group in contest.groups:
            alike.setdefault((table.characters[i].group, table.characters[i].part), []).append(i)
    for (_, where), characters in alike.items():
        cols = np.flatnonzero(np.isin(np.array(columns.characters)[columns.owner], characters))
        after = _margins_in_known_group(contest, Columns.of(table, characters), field)
        # A part that has no look yet, struck out, leaves what stands now.
        least[:, cols] = after if where in struck else np.minimum(least[:, cols], after)
    out[:, care] = least.T
    return out


@dataclass(frozen=True, eq=False)
class _Field:
    """The taxa that can matter after one more look, and the harmful ones whose verdict can change."""

    chosen: NDArray[np.int64]
    candidate: NDArray[np.bool_]
    own: NDArray[np.int64]
    care: NDArray[np.int64]

    def margin(self, after: NDArray[np.float32]) -> NDArray[np.float32]:
        """Return best other minus own (..., care, columns) for log-likelihoods (..., chosen, columns)."""
        rivals = after if self.candidate.all() else np.where(self.candidate[:, None], after, np.float32(-np.inf))
        top = rivals.max(axis=-2, keepdims=True)
        mine = after[..., self.own, :]
        out = top - mine
        leads = (mine >= top) & self.candidate[self.own][:, None]
        led = leads.any(axis=-2)
        if led.any():
            # Where the harmful taxon itself leads, the runner-up is its best rival.
            flat = np.moveaxis(rivals, -2, 0)[:, led]
            flat[flat.argmax(axis=0), np.arange(flat.shape[1])] = -np.inf
            runner = np.zeros(led.shape, dtype=np.float32)
            runner[led] = flat.max(axis=0)
            np.copyto(out, runner[..., None, :] - mine, where=leads)
        return np.asarray(out)


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


def _fresh_loglik(contest: Contest, columns: Columns, field: _Field, strikes: list[int]) -> NDArray[np.float32]:
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
    chance = staged.chance[mine]
    if (factor == 1.0).all():
        return place[mine], np.log(np.einsum("zmk,mks->zms", weight, chance))
    return place[mine], np.log(np.einsum("zmk,zmks->zms", weight, chance ** factor[:, None, None, None]))


def _margins_in_known_group(contest: Contest, columns: Columns, field: _Field) -> NDArray[np.float32]:
    """Return the least margin (care, columns) after a look in a dependence group that already has looks.

    The characters of ``columns`` are of one group and one part.
    """
    table = contest.standing.table
    c = table.characters[columns.characters[0]]
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
    grown = after[:, None, None] * table.loglik(0)[np.ix_(table.row_start[field.chosen], columns.at)]
    for start, i in zip(columns.starts, columns.characters, strict=True):
        place, seen = _staged_loglik(table, field, i, shift, taxa, after)
        if len(place):
            grown[:, place, start : start + seen.shape[2]] = seen
    least = field.margin((taxa[:, field.chosen, None] + grown).astype(np.float32)).min(axis=0)
    now = contest.margins[spared][:, field.care].min(axis=0).astype(np.float32)
    return np.asarray(np.minimum(least, now[:, None]))


def _spares(strike: Strike, c: CharacterColumns) -> bool:
    """Whether a strike would take a look at a character with it, and so leaves the margin as it is."""
    return (strike.kind, strike.name) in (("group", c.group), ("part", c.part))
