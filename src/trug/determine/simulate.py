"""Finds drawn from the book itself, with what observers miss and get wrong.

What these simulations measure is internal consistency, not accuracy in the field.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trug.characters.model import STAGES
from trug.determine.batch import Batch
from trug.determine.table import Table

__all__ = ["Observing", "Simulated", "draw", "edible_neighbours", "simulate"]

#: Stages that walkers meet, in the order of STAGES.
STAGE_SHARES = (0.0, 0.05, 0.25, 0.55, 0.15)


@dataclass(frozen=True, slots=True)
class Observing:
    """How a simulated observer works.

    ``unseen`` is the share of recorded characters not looked at, ``wrong`` the share of looks that name
    another state, ``swapped`` the share of finds in which all looks of one part come from another taxon
    (half of them from the nearest eaten neighbour). ``hoping`` is the share of looks that the observer
    is not sure of and pulls towards the eaten neighbour she believes in.
    """

    unseen: float = 0.3
    wrong: float = 0.05
    swapped: float = 0.0
    hoping: float = 0.0


@dataclass(frozen=True, eq=False)
class Simulated:
    """Finds with their truth: taxon (N,) and row (N,) of the table they were drawn from."""

    batch: Batch
    taxon: NDArray[np.int64]
    row: NDArray[np.int64]


def edible_neighbours(table: Table, eaten: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return for each taxon (T,) the eaten taxon most like it in what both record."""
    mean = table.over_stages(table.truth)
    overlap = np.sqrt(mean[:, None, :] * mean[None, eaten, :])
    starts = [c.first for c in table.characters]
    alike = np.add.reduceat(overlap, starts, axis=2)
    both = table.recorded[:, None, :] & table.recorded[None, eaten, :]
    score = (np.log(np.maximum(alike, 1e-6)) * both).sum(axis=2)
    choices = np.flatnonzero(eaten)
    score[choices[None, :] == np.arange(len(table.taxa))[:, None]] = -np.inf
    return np.asarray(choices[score.argmax(axis=1)])


def simulate(
    table: Table,
    taxa: NDArray[np.int64],
    observing: Observing,
    rng: np.random.Generator,
    eaten: NDArray[np.bool_] | None = None,
) -> Simulated:
    """Return one find for each entry of ``taxa``.

    Parameters
    ----------
    taxa : array (N,)
        The true taxon of each find.
    eaten : array (T,) of bool, optional
        Which taxa are eaten; needed for swapped parts and hoping observers.
    """
    n = len(taxa)
    stage = rng.choice(len(STAGES), size=n, p=np.array(STAGE_SHARES))
    row = row_of(table, taxa, stage)
    neighbour = edible_neighbours(table, eaten) if eaten is not None and eaten.any() else None
    codes = draw(table, row, rng)
    error = rng.random(codes.shape) < observing.wrong
    wrong = draw_wrong(table, codes, rng)
    codes = np.where(error & (codes >= 0), wrong, codes)
    if observing.swapped > 0.0:
        _swap(table, codes, taxa, stage, neighbour, observing.swapped, rng)
    if observing.hoping > 0.0 and neighbour is not None:
        _hope(table, codes, neighbour[taxa], stage, observing.hoping, rng)
    codes = np.where(rng.random(codes.shape) < observing.unseen, -1, codes)
    dug = rng.random(n) >= observing.unseen
    return Simulated(Batch(codes.astype(np.int16), stage.astype(np.int8), dug), taxa, row)


def row_of(table: Table, taxa: NDArray[np.int64], stage: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the row of the table for each taxon at its stage."""
    lookup = np.zeros((len(table.taxa), len(STAGES)), dtype=np.int64)
    for r, t in enumerate(table.row_taxon):
        lookup[t, table.row_stages[r]] = r
    return np.asarray(lookup[taxa, stage])


def draw(table: Table, row: NDArray[np.int64], rng: np.random.Generator) -> NDArray[np.int64]:
    """Return the true state (N, C) of every recorded character, -1 where none is recorded."""
    out = np.full((len(row), len(table.characters)), -1, dtype=np.int64)
    for i, c in enumerate(table.characters):
        chances = np.cumsum(table.truth[row, c.first : c.last], axis=1)
        u = rng.random(len(row))[:, None] * chances[:, -1:]
        state = (u > chances).sum(axis=1)
        out[:, i] = np.where(
            table.recorded[table.row_taxon[row], i], c.first + np.minimum(state, len(c.states) - 1), -1
        )
    return out


def draw_wrong(table: Table, codes: NDArray[np.int64], rng: np.random.Generator) -> NDArray[np.int64]:
    """Return for each state (N, C) the one that an erring observer names."""
    out = codes.copy()
    cumulative = np.cumsum(table.confusion, axis=1)
    for i in range(len(table.characters)):
        at = np.flatnonzero(codes[:, i] >= 0)
        if len(at):
            c = table.characters[i]
            rows = cumulative[codes[at, i], c.first : c.last]
            base = rows[:, :1] - table.confusion[codes[at, i], c.first : c.first + 1]
            u = rng.random(len(at))[:, None] * (rows[:, -1:] - base)
            out[at, i] = c.first + np.minimum((u > rows - base).sum(axis=1), len(c.states) - 1)
    return out


def _swap(
    table: Table,
    codes: NDArray[np.int64],
    taxa: NDArray[np.int64],
    stage: NDArray[np.int64],
    neighbour: NDArray[np.int64] | None,
    share: float,
    rng: np.random.Generator,
) -> None:
    n = len(codes)
    other = rng.integers(len(table.taxa), size=n)
    if neighbour is not None:
        other = np.where(rng.random(n) < 0.5, neighbour[taxa], other)
    foreign = draw(table, row_of(table, other, stage), rng)
    part_of = np.array([table.parts.index(c.part) for c in table.characters])
    part = rng.integers(len(table.parts), size=n)
    hit = (rng.random(n) < share)[:, None] & (part[:, None] == part_of[None, :])
    codes[hit] = foreign[hit]


def _hope(
    table: Table,
    codes: NDArray[np.int64],
    believed: NDArray[np.int64],
    stage: NDArray[np.int64],
    share: float,
    rng: np.random.Generator,
) -> None:
    """Pull a share of looks to the believed taxon's state, where an eye could take the one for the other."""
    foreign = draw(table, row_of(table, believed, stage), rng)
    both = (codes >= 0) & (foreign >= 0)
    n, c = np.nonzero(both & (rng.random(codes.shape) < share))
    likely = table.confusion[codes[n, c], foreign[n, c]] > 0.05
    codes[n[likely], c[likely]] = foreign[n[likely], c[likely]]
