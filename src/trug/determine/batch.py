"""Names for many fruitbodies at once, through the same table.

Finds come as codes: an array (N, C) that holds for each character the column seen, or -1.
All looks are sure, by one observer, one look per character; looks that exclude each other are
not sought out here.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trug.characters.model import STAGES
from trug.determine.find import Fruitbody
from trug.determine.observations import GROWING, stage_weights
from trug.determine.standing import log_prior
from trug.determine.table import Table

__all__ = [
    "Batch",
    "Names",
    "chunked",
    "collapse",
    "log_posterior",
    "names",
    "stage_logs",
    "tempering",
    "usable",
    "weighted",
]

Singles = NDArray[np.float32]
Bools = NDArray[np.bool_]
Codes = NDArray[np.int16]

#: Finds handled at once, small enough to stay in cache.
CHUNK = 1024


@dataclass(frozen=True, eq=False)
class Batch:
    """Many fruitbodies.

    Attributes
    ----------
    codes : array (N, C) of int16
        The column seen of each character; -1 where not seen.
    stage : array (N,) of int8
        Index of the stage the observer gave, -1 where none.
    dug : array (N,) of bool
        Whether the base was dug out whole.
    """

    codes: Codes
    stage: NDArray[np.int8]
    dug: Bools

    def __len__(self) -> int:
        return len(self.codes)

    def part(self, at: slice | NDArray[np.int64]) -> Batch:
        """Return some of the fruitbodies."""
        return Batch(self.codes[at], self.stage[at], self.dug[at])


def chunked(n: int, size: int, threads: int, work: Callable[[slice], Any]) -> list[Any]:
    """Return what ``work`` returns for slices of at most ``size`` of ``n`` things, in order."""
    pieces = [slice(i, min(i + size, n)) for i in range(0, n, size)]
    if threads <= 1:
        return [work(p) for p in pieces]
    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(work, pieces))


def stage_logs(table: Table) -> Singles:
    """Return log weights (stages + 1, R) of each row for each stage given; the last is "not known"."""
    given = [*STAGES, None]
    weights = np.array([stage_weights(Fruitbody("", stage), table)[0] for stage in given])
    return np.asarray(np.log(weights @ table.row_stages.T), dtype=np.float32)


def tempering(table: Table, seen: Bools) -> Singles:
    """Return the tempering (N, C) of every look."""
    out = np.ones(seen.shape, dtype=np.float32)
    for members, rho in _shared_groups(table):
        count = seen[:, members].sum(axis=1)
        out[:, members] = (1.0 / (1.0 + np.maximum(count - 1, 0) * rho))[:, None].astype(np.float32)
    return out


def _shared_groups(table: Table) -> list[tuple[list[int], float]]:
    rho = table.rho
    return [(m, rho[g]) for g, m in table.group_members.items() if len(m) > 1 and rho.get(g, 0.0) > 0.0]


def usable(table: Table, batch: Batch) -> Codes:
    """Codes without what a stage or an undug base voids."""
    codes = batch.codes.copy()
    growing = np.isin(batch.stage, [STAGES.index(stage) for stage in GROWING])
    for i, c in enumerate(table.characters):
        if c.grows:
            codes[growing, i] = -1
        for state, _, _ in c.needs:
            codes[(codes[:, i] == c.first + c.states.index(state)) & ~batch.dug, i] = -1
    return codes


def weighted(table: Table, codes: Codes, factors: Singles) -> Singles:
    """Return the tempered one-hot matrix (N, S)."""
    out = np.zeros((len(codes), table.truth.shape[1]), dtype=np.float32)
    n, c = np.nonzero(codes >= 0)
    out[n, codes[n, c]] = factors[n, c]
    return out


def log_posterior(table: Table, codes: Codes, *, prior: NDArray[np.float64] | None = None, threads: int = 1) -> Singles:
    """Return log posterior (N, T) over the listed taxa alone, stage not known.

    Parameters
    ----------
    prior : array (T,), optional
        Log prior; flat over candidates where None.
    """
    prior = log_prior(table, None, None) if prior is None else prior
    weights = np.ascontiguousarray(table.loglik(0).T)
    start = stage_logs(table)[-1]
    plain = len(table.row_taxon) == len(table.taxa)
    groups = _shared_groups(table)
    out = np.empty((len(codes), len(table.taxa)), dtype=np.float32)
    base = (prior + (start if plain else 0.0)).astype(np.float32)

    def work(at: slice) -> None:
        piece = codes[at]
        factors = tempering(table, piece >= 0) if groups else None
        hot = np.zeros((len(piece), table.truth.shape[1]), dtype=np.float32)
        n, c = np.nonzero(piece >= 0)
        hot[n, piece[n, c]] = 1.0 if factors is None else factors[n, c]
        scores = hot @ weights
        if plain:
            scores += base
        else:
            scores = collapse(scores + start, table) + base
        scores -= scores.max(axis=1, keepdims=True)
        np.subtract(scores, np.log(np.exp(scores).sum(axis=1, keepdims=True)), out=out[at])

    chunked(len(codes), CHUNK, threads, work)
    return out


def collapse(rows: Singles, table: Table) -> Singles:
    """Return log-sum-exp (N, T) over the rows of each taxon."""
    top = rows.max(axis=1, keepdims=True)
    with np.errstate(divide="ignore"):
        return np.asarray(top + np.log(_sum_rows(np.exp(rows - top), table)))


def _sum_rows(values: Singles, table: Table) -> Singles:
    """Return sums (N, T) over the rows of each taxon."""
    out = values[:, table.row_start]
    counts = np.bincount(table.row_taxon, minlength=len(table.taxa))
    for k in range(1, int(counts.max())):
        more = np.flatnonzero(counts > k)
        out[:, more] += values[:, table.row_start[more] + k]
    return out


@dataclass(frozen=True, eq=False)
class Names:
    """Names for many fruitbodies: posterior (N, T), unlisted (N,), surprise (N,) of the leading name, rows (N, R)."""

    posterior: Singles
    unlisted: Singles
    leading: NDArray[np.int64]
    surprise: Singles

    def held_back(self, table: Table) -> Bools:
        """Whether each is held back as a stranger or a poor fit."""
        return np.asarray((self.unlisted >= table.model.unlisted_limit) | (self.surprise > table.model.fit_limit))


def names(
    table: Table,
    batch: Batch,
    *,
    prior: NDArray[np.float64] | None = None,
    unlisted: float | None = None,
    threads: int = 1,
) -> Names:
    """Return ranked names, the stranger's share and the fit of the leading name."""
    prior = log_prior(table, None, None) if prior is None else prior
    u0 = table.model.unlisted_prior if unlisted is None else unlisted
    parts = chunked(len(batch), CHUNK, threads, partial(_name_chunk, table, batch, prior, u0))
    return Names(*(np.concatenate([p[i] for p in parts]) for i in range(4)))


def _name_chunk(table: Table, batch: Batch, prior: NDArray[np.float64], u0: float, at: slice) -> tuple[Any, ...]:
    piece = batch.part(at)
    codes = usable(table, piece)
    seen = codes >= 0
    factors = tempering(table, seen)
    hot = weighted(table, codes, factors)
    start = stage_logs(table)[piece.stage]
    rows = hot @ table.loglik(0).T + start
    with np.errstate(divide="ignore"):
        listed = collapse(rows, table) + (prior + np.log1p(-u0)).astype(np.float32)
        strange = hot @ table.stranger_loglik(0).T + start
        strange = collapse(strange, table) + (np.log(table.stranger) + np.log(u0)).astype(np.float32)
    top = np.maximum(listed.max(axis=1), strange.max(axis=1))[:, None]
    e_listed, e_strange = np.exp(listed - top), np.exp(strange - top).sum(axis=1)
    total = e_listed.sum(axis=1) + e_strange
    posterior = e_listed / total[:, None]
    leading = posterior.argmax(axis=1)
    own = np.where(table.row_taxon[None, :] == leading[:, None], rows, -np.inf)
    row = own.argmax(axis=1)
    spoken = seen & ~table.silent[np.maximum(codes, 0)]
    factors = np.where(spoken, tempering(table, spoken), 0.0)
    mean, variance = table.fit_moments
    logs = np.where(spoken, table.loglik(0)[row[:, None], np.maximum(codes, 0)], 0.0)
    surprise = (factors * (mean[row] - logs)).sum(axis=1)
    spread = np.sqrt((factors**2 * variance[row]).sum(axis=1))
    with np.errstate(invalid="ignore", divide="ignore"):
        z = np.where(spread > 0, surprise / spread, 0.0).astype(np.float32)
    return posterior, (e_strange / total).astype(np.float32), leading, z
