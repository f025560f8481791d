"""Every margin as it would stand after one more look, under every strike there would be then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from trug.determine.ledger import Contest, Strike
from trug.determine.standing import by_taxon, group_factor
from trug.determine.table import CharacterColumns, Table

__all__ = ["Columns", "margins_after"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Columns:
    """Columns of the candidate characters, end to end."""

    characters: tuple[int, ...]
    at: Ints
    owner: Ints
    starts: Ints

    @staticmethod
    def of(table: Table, characters: Sequence[int]) -> Columns:
        """Return the columns of some characters."""
        chosen = np.array(characters, dtype=np.int64)
        first = table.first_columns[chosen]
        sizes = table.first_columns[chosen + 1] - first
        starts = np.cumsum(sizes) - sizes
        owner = np.repeat(np.arange(len(chosen)), sizes)
        return Columns(tuple(characters), np.arange(len(owner)) + (first - starts)[owner], owner, starts)

    def some(self, table: Table, places: list[int]) -> tuple[Columns, Ints]:
        """Return the columns of the characters at some places, and where among all these they stand."""
        chosen = np.zeros(len(self.characters), dtype=bool)
        chosen[places] = True
        return Columns.of(table, [self.characters[k] for k in places]), np.flatnonzero(chosen[self.owner])


def margins_after(contest: Contest, columns: Columns, *, below_zero: bool = True) -> Floats:
    """Return the least margin (columns, H) after each answer, under every strike there would be then.

    Without ``below_zero`` a margin below zero may read anything up to zero, which saves the search for runners-up:
    only a harmful taxon that is itself the best of all has such a margin.
    """
    table = contest.standing.table
    reach = -float(table.least_loglik[columns.at].min())
    limit = table.model.margin_limit
    least_now = contest.margins.min(axis=0)
    care = np.flatnonzero(least_now - reach <= limit)
    out = np.repeat(np.maximum(least_now - reach, limit + 1.0)[:, None], len(columns.at), axis=1)
    if len(care):
        field = _Field.of(contest, care, reach, below_zero)
        out[care] = _least_margins(contest, columns, field)[field.line]
    return out.T


def _least_margins(contest: Contest, columns: Columns, field: _Field) -> Singles:
    """Return the least margin (harmful taxa of the field, columns) after each answer."""
    table = contest.standing.table
    least = np.empty((field.harmful, len(columns.at)), dtype=np.float32)
    now = contest.margins[0, field.entry].astype(np.float32)[:, None]
    fresh: list[int] = []
    alike: dict[tuple[str, str], list[int]] = {}
    for k, i in enumerate(columns.characters):
        c = table.characters[i]
        if c.group in contest.groups:
            alike.setdefault((c.group, c.part), []).append(k)
        else:
            fresh.append(k)
    if fresh:
        some, where = columns.some(table, fresh)
        after = _margins_in_new_groups(contest, some, field)
        # The look's own group struck out leaves what stands now.
        least[:, where] = np.minimum(after, now, out=after)
    struck = {s.name for s in contest.strikes if s.kind == "part"}
    for (_, part), places in alike.items():
        some, where = columns.some(table, places)
        after = _margins_in_known_group(contest, some, field)
        # A part that has no look yet, struck out, leaves what stands now.
        least[:, where] = after if part in struck else np.minimum(after, now, out=after)
    return least


@dataclass(frozen=True, eq=False)
class _Field:
    """The taxa that can matter after one more look.

    Attributes
    ----------
    taxa : array
        First the ``harmful`` ones whose verdict can change, and of these first the ``barred`` ones, which are no
        candidates and so nobody's rivals; then other rivals.
    entry : array (harmful,)
        A ledger entry of each harmful taxon.
    line : array
        For each ledger entry whose verdict can change, its place among the taxa.
    place : array (T,)
        Place of each taxon of the book among ``taxa``; -1 for the others.
    logs : array (taxa, S)
        Log-likelihood of a sure look at the first row of each taxon.
    runners_up : bool
        Whether a harmful taxon that leads is set against the runner-up; its margin reads zero otherwise.
    """

    table: Table
    taxa: Ints
    harmful: int
    barred: int
    entry: Ints
    line: Ints
    place: Ints
    logs: Singles
    runners_up: bool

    @staticmethod
    def of(contest: Contest, care: Ints, reach: float, runners_up: bool) -> _Field:
        """Return the field for the ledger entries ``care`` when a look shifts no score by more than ``reach``."""
        table = contest.standing.table
        own, entry = np.unique(table.harm_taxon[care], return_index=True)
        order = np.argsort(table.candidate[own], kind="stable")
        own, entry = own[order], care[entry[order]]
        others = _alive(contest, reach)
        others[own] = False
        taxa = np.concatenate([own, np.flatnonzero(others)])
        place = np.full(len(table.taxa), -1)
        place[taxa] = np.arange(len(taxa))
        barred = int((~table.candidate[own]).sum())
        line = place[table.harm_taxon[care]]
        return _Field(table, taxa, len(own), barred, entry, line, place, table.first_loglik[taxa], runners_up)

    def margins(self, after: Singles) -> Singles:
        """Turn log-likelihoods (taxa, columns) into best other minus own (harmful, columns), in place."""
        rivals = after[self.barred :]
        top = rivals.max(axis=0)
        runner = _second(rivals) if self.runners_up else top
        out = after[: self.harmful]
        np.subtract(top, out, out=out)
        if self.runners_up:
            # Where the harmful taxon itself leads, the runner-up is its best rival.
            line, column = np.nonzero(out[self.barred :] <= 0.0)
            out[line + self.barred, column] = (runner - top)[column]
        return out


def _second(rivals: Singles) -> Singles:
    """Return the second largest over the first axis; minus infinity where there is but one."""
    return np.asarray(np.partition(rivals, -2, axis=0)[-2]) if len(rivals) > 1 else np.full_like(rivals[0], -np.inf)


def _alive(contest: Contest, reach: float) -> NDArray[np.bool_]:
    """Whether one more look could make each taxon (T,) the best rival under some strike."""
    candidate = contest.standing.table.candidate
    scores = contest.taxa if candidate.all() else np.where(candidate, contest.taxa, -np.inf)
    # The second best stands in for the best where the harmful taxon itself leads.
    second = np.partition(scores, -2, axis=1)[:, -2] if scores.shape[1] > 1 else scores[:, 0]
    return np.asarray((scores >= (second - reach)[:, None]).any(axis=0) & candidate)


def _different(contest: Contest, without: Sequence[int] = ()) -> list[int]:
    """Return strikes that leave different looks; a group that is all of its part is struck out but once."""
    seen: dict[tuple[int, ...], int] = {}
    for z, strike in enumerate(contest.strikes):
        if z not in without:
            seen.setdefault(strike.stays, z)
    return list(seen.values())


@dataclass(frozen=True, eq=False)
class _Trials:
    """How the taxa of a field stand under each strike, before the look is added.

    Attributes
    ----------
    scores : array (taxa, strikes)
        Log-likelihood above that of the best candidate, so that single precision is exact where it matters.
    rows, taxa : array (strikes, R), array (strikes, T)
        Log-likelihoods of all rows and taxa.
    factor : array (strikes,)
        Tempering of the look.
    """

    field: _Field
    scores: Singles
    rows: Floats
    taxa: Floats
    factor: Singles

    @cached_property
    def stages(self) -> Singles:
        """Share (R, strikes) of each row in its taxon."""
        logs = (self.rows - self.taxa[:, self.field.table.row_taxon]).T.astype(np.float32, order="C")
        return np.asarray(np.exp(logs, out=logs))

    @cached_property
    def factors(self) -> Singles:
        """The different factors."""
        return np.unique(self.factor)

    @staticmethod
    def of(field: _Field, rows: Floats, taxa: Floats, factor: Floats) -> _Trials:
        """Return the trials for log-likelihoods (strikes, R) of rows and (strikes, T) of taxa."""
        best = taxa[:, field.table.candidate].max(axis=1, keepdims=True)
        scores = (taxa[:, field.taxa] - best).T.astype(np.float32, order="C")
        return _Trials(field, scores, rows, taxa, factor.astype(np.float32))

    def least_margins(self, columns: Columns, spared: NDArray[np.bool_] | None = None) -> Singles:
        """Return the least margin (harmful, columns) after each answer; ``spared`` (strikes, columns) do not count."""
        logs = np.take(self.field.logs, columns.at, axis=1)
        after = np.empty_like(logs)
        least = np.full((self.field.harmful, logs.shape[1]), np.inf, dtype=np.float32)
        cells, seen = self._staged(columns)
        # One strike at a time stays in the processor's cache, and all work in the same memory.
        for k, factor in enumerate(self.factor):
            if factor == 1.0:
                np.add(logs, self.scores[:, k, None], out=after)
            else:
                np.multiply(logs, factor, out=after)
                after += self.scores[:, k, None]
            after.ravel()[cells] = seen[k]
            margins = self.field.margins(after)
            if spared is not None and spared[k].any():
                margins[:, spared[k]] = np.inf
            np.minimum(least, margins, out=least)
        return least

    def _staged(self, columns: Columns) -> tuple[Ints, Singles]:
        """Return which cells of (taxa, columns) change with the stage, and what stands there then (strikes, cells).

        The weight of each stage is the one under that strike.
        """
        table, place = self.field.table, self.field.place
        parts = []
        for start, i in zip(columns.starts, columns.characters, strict=True):
            mine = np.flatnonzero(place[table.staged[i].taxa] >= 0)
            if len(mine):
                parts.append((int(start), table.staged[i], mine))
        sizes = [len(mine) * staged.logs.shape[2] for _, staged, mine in parts]
        cells = np.empty(sum(sizes), dtype=np.int64)
        seen = np.empty((len(self.factor), sum(sizes)), dtype=np.float32)
        first = 0
        for (start, staged, mine), size in zip(parts, sizes, strict=True):
            block = slice(first, first + size)
            at, logs = place[staged.taxa[mine]], staged.logs[mine]
            cells[block] = (at[:, None] * len(columns.at) + start + np.arange(logs.shape[2])).ravel()
            own = seen[:, block].reshape(len(seen), *logs[:, 0].shape)
            self._mix(self.stages[staged.rows[mine]], logs, own)
            np.log(own, out=own)
            own += self.scores[at].T[:, :, None]
            first += size
        return cells, seen

    def _mix(self, stages: Singles, logs: Singles, out: Singles) -> None:
        """Set ``out`` (strikes, taxa, states) to the chance over all stages, tempered.

        ``stages`` (taxa, slots, strikes) are the weights, ``logs`` (taxa, slots, states) those of a sure look.
        """
        for factor in self.factors:
            chance = np.exp(factor * logs)
            if len(self.factors) == 1:
                np.matmul(stages.transpose(0, 2, 1), chance, out=out.transpose(1, 0, 2))
            else:
                those = np.flatnonzero(self.factor == factor)
                out[those] = (stages[:, :, those].transpose(0, 2, 1) @ chance).transpose(1, 0, 2)


def _margins_in_new_groups(contest: Contest, columns: Columns, field: _Field) -> Singles:
    """Return the least margin (harmful, columns) after a look in a dependence group that has none yet."""
    different = _different(contest)
    trials = _Trials.of(field, contest.rows[different], contest.taxa[different], np.ones(len(different)))
    part = np.array([field.table.characters[i].part for i in columns.characters])[columns.owner]
    # A look at a part is struck out with it, which leaves what stands now.
    spared = np.array([[contest.strikes[z].kind == "part"] & (part == contest.strikes[z].name) for z in different])
    least = trials.least_margins(columns, spared)
    for z, strike in enumerate(contest.strikes):
        if strike.kind == "part":
            own = part == strike.name
            now = contest.margins[z, field.entry].astype(np.float32)[:, None]
            least[:, own] = np.minimum(least[:, own], now)
    return least


def _margins_in_known_group(contest: Contest, columns: Columns, field: _Field) -> Singles:
    """Return the least margin (harmful, columns) after a look in a dependence group that already has looks.

    The characters of ``columns`` are of one group and one part.
    """
    table = field.table
    c = table.characters[columns.characters[0]]
    rho = table.rho.get(c.group, 0.0)
    members = [k for k, g in enumerate(contest.groups) if g == c.group]
    spared = [z for z, strike in enumerate(contest.strikes) if _spares(strike, c)]
    touched = _different(contest, spared)
    shift = contest.rows[touched]
    stays = [tuple(m for m in members if m in contest.strikes[z].stays) for z in touched]
    after = np.array([group_factor(len(stay) + 1, rho) for stay in stays])
    for stay in set(stays) - {()}:
        those = [k for k, other in enumerate(stays) if other == stay]
        change = group_factor(len(stay) + 1, rho) - group_factor(len(stay), rho)
        shift[those] += change * contest.vectors[list(stay)].sum(axis=0)
    trials = _Trials.of(field, shift, by_taxon(shift, table), after)
    now = contest.margins[spared][:, field.entry].min(axis=0).astype(np.float32)
    least = trials.least_margins(columns)
    return np.asarray(np.minimum(least, now[:, None], out=least))


def _spares(strike: Strike, c: CharacterColumns) -> bool:
    """Whether a strike would take a look at a character with it, and so leaves the margin as it is."""
    return (strike.kind, strike.name) in (("group", c.group), ("part", c.part))
