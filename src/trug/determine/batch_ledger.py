"""The ledger of many fruitbodies at once, through the same table.

All looks are sure, by one observer, one look per character; looks that exclude each other are not sought
out here. The float32 arithmetic differs from the single path by less than the margin's tolerance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trug.determine.batch import Batch, chunked, stage_logs, usable
from trug.determine.ledger import CONTRADICTIONS
from trug.determine.table import Table

__all__ = ["Verdicts", "rule_out", "rules_out"]

Singles = NDArray[np.float32]
Bools = NDArray[np.bool_]
Positions = NDArray[np.int64]

#: Finds handled at once, small enough to stay in cache.
LEDGER_CHUNK = 512


@dataclass(frozen=True, eq=False)
class Verdicts:
    """What the ledger says of many fruitbodies. ``ruled`` (N, H); ``margin`` (N, H) [nat]."""

    ruled: Bools
    margin: Singles
    contradictions: NDArray[np.int8]


def rule_out(table: Table, batch: Batch, unlisted: Singles | None = None, *, threads: int = 1) -> Verdicts:
    """Return the ledger of many fruitbodies.

    Parameters
    ----------
    unlisted : array (N,), optional
        The stranger's share; taken as 0 where None, so that only the other conditions are tested.
    """
    plan = _Plan(table)
    shape = (len(batch), len(table.harmful))
    ruled, margin = np.empty(shape, dtype=bool), np.empty(shape, dtype=np.float32)
    counts = np.empty(shape, dtype=np.int8)
    limit = np.float32(table.model.margin_limit)

    def work(at: slice) -> None:
        margin[at], counts[at], ruled[at] = plan.run(batch.part(at))
        ruled[at] &= counts[at] >= CONTRADICTIONS
        ruled[at] &= margin[at] > limit
        if unlisted is not None:
            ruled[at] &= (unlisted[at] < table.model.unlisted_limit)[:, None]

    chunked(len(batch), LEDGER_CHUNK, threads, work)
    return Verdicts(ruled, margin, counts)


def rules_out(table: Table, batch: Batch, asked: Bools, unlisted: Singles | None = None, *, threads: int = 1) -> Bools:
    """Return for many fruitbodies (N,) whether every harmful taxon that is asked for is ruled out.

    The verdict is that of ``rule_out``; margins are only worked out where all else holds.

    Parameters
    ----------
    asked : array (H,) or (N, H) of bool
        The harmful taxa that must all be ruled out.
    unlisted : array (N,), optional
        As in ``rule_out``.
    """
    plan = _Plan(table)
    asked = np.broadcast_to(asked, (len(batch), len(table.harmful)))
    out = np.zeros(len(batch), dtype=bool)
    limit = np.float32(table.model.margin_limit)

    def work(at: slice) -> None:
        piece = batch.part(at)
        holds = (plan.but_for_margins(piece) | ~asked[at]).all(axis=1)
        if unlisted is not None:
            holds &= unlisted[at] < table.model.unlisted_limit
        rest = np.flatnonzero(holds)
        for start in range(0, len(rest), LEDGER_CHUNK):
            some = rest[start : start + LEDGER_CHUNK]
            out[at.start + some] = ((plan.margins(piece.part(some)) > limit) | ~asked[at][some]).all(axis=1)

    chunked(len(batch), 16 * LEDGER_CHUNK, threads, work)
    return out


class _Plan:
    """What the ledger of a batch needs, laid out once for a table.

    Rows are ordered by slot: the first row of every taxon, then the second row of those that have one, and
    so on, taxa with most rows first. Sums over the rows of a taxon are then sums of adjoining slices.
    """

    def __init__(self, table: Table) -> None:
        self.table = table
        counts = np.bincount(table.row_taxon, minlength=len(table.taxa))
        harmful = np.isin(np.arange(len(table.taxa)), table.harm_taxon)
        order = np.lexsort((np.arange(len(table.taxa)), ~harmful, -counts))
        slots = [table.row_start[order[counts[order] > k]] + k for k in range(int(counts.max()))]
        self.widths = [len(s) for s in slots]
        self.order = np.concatenate(slots)
        self.plain = len(slots) == 1
        place = np.argsort(order)
        self.harm = place[table.harm_taxon]
        self.harm_slice = slice(0, len(self.harm)) if np.array_equal(self.harm, np.arange(len(self.harm))) else None
        self.candidate = None if table.candidate.all() else np.sort(place[np.flatnonzero(table.candidate)])
        zero = np.zeros((1, len(self.order)), dtype=np.float32)
        self.logs = np.ascontiguousarray(np.vstack([table.loglik(0).T[:, self.order], zero]))
        self.against = np.vstack([table.contradicts.T, np.zeros((1, len(table.harmful)), dtype=bool)])
        self.start = np.ascontiguousarray(stage_logs(table)[:, self.order])
        self.groups = table.group_members
        self.part_of = {g: {table.characters[i].part for i in m} for g, m in self.groups.items()}
        self.section = table.index.get("egg_section")
        self.kills = np.array([h.level == "kills" for h in table.harmful], dtype=bool)
        index = {c.code: i for i, c in enumerate(table.characters)}
        self.insist = [[(c, index.get(c, -1)) for c in h.insist] for h in table.harmful]

    def run(self, batch: Batch) -> tuple[Singles, NDArray[np.int8], Bools]:
        """Return least margins (N, H), contradicting groups (N, H), and whether the rest of the rule holds."""
        at, seen = self._places(batch)
        counts, firm = self._contradictions(at, seen)
        return self._margins(batch, at, seen), counts, firm & self._complete(batch, at, seen)

    def but_for_margins(self, batch: Batch) -> Bools:
        """Return where all of the rule holds but for margins and the stranger (N, H)."""
        at, seen = self._places(batch)
        counts, firm = self._contradictions(at, seen)
        return (counts >= CONTRADICTIONS) & firm & self._complete(batch, at, seen)

    def margins(self, batch: Batch) -> Singles:
        """Return least margins (N, H)."""
        return self._margins(batch, *self._places(batch))

    def _places(self, batch: Batch) -> tuple[Positions, Bools]:
        codes = usable(self.table, batch)
        seen = codes >= 0
        return np.where(seen, codes, len(self.logs) - 1).astype(np.int64), seen

    def _contradictions(self, codes: Positions, seen: Bools) -> tuple[NDArray[np.int8], Bools]:
        """Return contradicting groups (N, H) and whether a firm look is among them."""
        shape = (len(codes), len(self.table.harmful))
        counts, firm = np.zeros(shape, dtype=np.int8), np.zeros(shape, dtype=bool)
        for members in self.groups.values():
            hit: Bools | None = None
            for i in members:
                if not seen[:, i].any():
                    continue
                more = self.against.take(codes[:, i], axis=0)
                if self.table.characters[i].firm:
                    firm |= more
                hit = more if hit is None else hit | more
            if hit is not None:
                counts += hit
        return counts, firm

    def _complete(self, batch: Batch, codes: Positions, seen: Bools) -> Bools:
        """Return where the insisted looks were made and no unopened egg or button stands in the way (N, H)."""
        out = np.ones((len(codes), len(self.table.harmful)), dtype=bool)
        shut = self._unopened(batch, codes)
        if self.section is not None:
            shut = shut & ~seen[:, self.section]
        for k, looks in enumerate(self.insist):
            for code, i in looks:
                made = seen[:, i] if i >= 0 else batch.dug
                out[:, k] &= made | (self._needless(code, codes, seen) & ~shut)
        return np.asarray(out & ~(shut[:, None] & self.kills))

    def _unopened(self, batch: Batch, codes: Positions) -> Bools:
        """Eggs, buttons and closed balls (N,)."""
        shut = (batch.stage == 0) | (batch.stage == 1)
        form = self.table.index.get("fruitbody_form")
        if form is not None:
            c = self.table.characters[form]
            closed = [c.first + c.states.index(s) for s in ("egg", "ball") if s in c.states]
            shut = shut | np.isin(codes[:, form], closed)
        return np.asarray(shut)

    def _needless(self, code: str, codes: Positions, seen: Bools) -> Bools:
        """Where a look has shown that another does not exist on this fruitbody (N,)."""
        if code not in self.table.applies:
            return np.zeros(len(codes), dtype=bool)
        character, states = self.table.applies[code]
        i = self.table.index[character]
        c = self.table.characters[i]
        allowed = [c.first + c.states.index(s) for s in states]
        return np.asarray(seen[:, i] & ~np.isin(codes[:, i], allowed))

    def _margins(self, batch: Batch, codes: Positions, seen: Bools) -> Singles:
        """Return the least margin (N, H) over every strike of a group or a part."""
        present = {g: [i for i in members if seen[:, i].any()] for g, members in self.groups.items()}
        present = {g: members for g, members in present.items() if members}
        work = _Work(self, codes, seen)
        total = self.start.take(batch.stage, axis=0, mode="wrap")
        for group, members in present.items():
            total += work.of_group(group, members)
        least = _Least(self, len(codes))
        np.copyto(work.buffer, total)
        least.add(work.buffer)
        across = [g for g in present if len(self.part_of[g]) > 1]
        for group in across:
            mine = work.of_group(group, present[group])
            least.add(np.subtract(total, mine, out=mine))
        for part in dict.fromkeys(c.part for c in self.table.characters):
            inner = [g for g in present if self.part_of[g] == {part}]
            outer = [g for g in across if part in self.part_of[g]]
            lone = len(inner) + len(outer) == 1
            gone = work.gone
            begun = False
            for group in [*inner, *outer]:
                mine = work.of_group(group, present[group])
                if group in outer:
                    mine -= work.of_rest(group, present[group], part)
                if begun:
                    gone += mine
                else:
                    np.copyto(gone, mine)
                    begun = True
                if group in inner:
                    least.add(np.subtract(total, mine, out=mine))
            if begun and (outer or not lone):
                least.add(np.subtract(total, gone, out=gone))
        return least.value()


class _Work:
    """Tempered sums of one chunk of finds."""

    def __init__(self, plan: _Plan, codes: Positions, seen: Bools) -> None:
        self.plan, self.codes, self.seen = plan, codes, seen
        self.buffer = np.empty((len(codes), plan.logs.shape[1]), dtype=np.float32)
        self.second = np.empty_like(self.buffer)
        self.gone = np.empty_like(self.buffer)

    def of_group(self, group: str, members: list[int]) -> Singles:
        """Return the tempered sum (N, R) of a group; the array is overwritten by the next call."""
        return self._sum(group, members, self.buffer)

    def of_rest(self, group: str, members: list[int], part: str) -> Singles:
        """Return the sum of what remains of a group when a part is struck out, tempered anew."""
        table = self.plan.table
        rest = [i for i in members if table.characters[i].part != part]
        if not rest:
            self.second[:] = 0.0
            return self.second
        return self._sum(group, rest, self.second)

    def _sum(self, group: str, members: list[int], out: Singles) -> Singles:
        logs = self.plan.logs
        logs.take(self.codes[:, members[0]], axis=0, out=out, mode="clip")
        for i in members[1:]:
            out += logs.take(self.codes[:, i], axis=0)
        rho = self.plan.table.rho.get(group, 0.0)
        if len(members) > 1 and rho > 0.0:
            count = self.seen[:, members].sum(axis=1)
            out *= (1.0 / (1.0 + np.maximum(count - 1, 0) * rho)).astype(np.float32)[:, None]
        return out


class _Least:
    """The least margin so far, kept as the largest ratio of own to best likelihood where stages matter."""

    def __init__(self, plan: _Plan, n: int) -> None:
        self.plan = plan
        self.worst = np.full((n, len(plan.table.harmful)), -np.inf if plan.plain else 0.0, dtype=np.float32)
        self.own = np.empty_like(self.worst)
        self.best = np.empty((n, 1), dtype=np.float32)

    def add(self, rows: Singles) -> None:
        """Take one more strike into account; the array is used up."""
        plan = self.plan
        if not plan.plain:
            rows.max(axis=1, keepdims=True, out=self.best)
            np.subtract(rows, self.best, out=rows)
            np.exp(rows, out=rows)
            at = plan.widths[0]
            for width in plan.widths[1:]:
                rows[:, :width] += rows[:, at : at + width]
                at += width
            rows = rows[:, : plan.widths[0]]
        (rows if plan.candidate is None else rows[:, plan.candidate]).max(axis=1, keepdims=True, out=self.best)
        own = rows[:, plan.harm_slice] if plan.harm_slice is not None else rows.take(plan.harm, axis=1)
        if plan.plain:
            np.subtract(own, self.best, out=self.own)
        else:
            np.divide(own, np.maximum(self.best, np.float32(1e-38)), out=self.own)
        np.maximum(self.worst, self.own, out=self.worst)

    def value(self) -> Singles:
        """Return the least margins (N, H) [nat]."""
        if self.plan.plain:
            return -self.worst
        with np.errstate(divide="ignore"):
            return -np.log(self.worst)
