"""Measure a book on finds drawn from it, taxon by taxon: internal consistency, not accuracy in the field."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trug.determine.batch import names
from trug.determine.batch_ledger import rules_out
from trug.determine.simulate import Observing, simulate
from trug.determine.table import Table
from trug.treatments.model import Treatment

__all__ = ["Measured", "classes", "eaten_mask", "harm_class", "measure_named", "measure_ruled_wrongly"]

#: Finds handled at once.
PIECE = 20_000

Counts = NDArray[np.int64]


@dataclass(frozen=True)
class Measured:
    """Counts by taxon (T,) of finds drawn, named rightly first, among the first five, and held back.

    ``confused`` counts (true taxon, leading taxon) where the two differ. ``clear`` (T,) are the finds for
    which every harmful taxon of level kills or organ, other than the true one, was ruled out.
    """

    finds: Counts
    first: Counts
    five: Counts
    held: Counts
    clear: Counts
    confused: Counter[tuple[int, int]]

    def share(self, of: Counts, taxa: Sequence[int]) -> float:
        """Return a share [0..1] over some taxa."""
        n = int(self.finds[list(taxa)].sum())
        return float(of[list(taxa)].sum() / n) if n else float("nan")


def eaten_mask(treatments: Sequence[Treatment]) -> NDArray[np.bool_]:
    """Return which treatments are coded as food (T,)."""
    return np.array([t.use is not None and t.use.kind == "food" for t in treatments])


def harm_class(treatment: Treatment) -> str:
    """Return the harm level, "genus" where its group tells the harm, or "eaten" or "neither" for what has none."""
    if treatment.harm is not None:
        return treatment.harm.level
    if treatment.rank == "genus":
        return "genus"
    return "eaten" if treatment.use is not None and treatment.use.kind == "food" else "neither"


def classes(treatments: Sequence[Treatment]) -> tuple[dict[str, list[int]], dict[str, list[int]]]:
    """Return the positions of treatments by group of the book and by harm class."""
    groups: dict[str, list[int]] = {}
    harms: dict[str, list[int]] = {}
    for i, t in enumerate(treatments):
        groups.setdefault(t.group, []).append(i)
        harms.setdefault(harm_class(t), []).append(i)
    return dict(sorted(groups.items())), harms


def measure_named(
    table: Table,
    treatments: Sequence[Treatment],
    taxa: Counts,
    observing: Observing,
    rng: np.random.Generator,
    *,
    ledger: bool = False,
    threads: int = 1,
) -> Measured:
    """Draw one find for each entry of ``taxa`` and count what became of the names.

    Parameters
    ----------
    ledger : bool
        Whether to keep the ledger too; without it ``clear`` is zero.
    """
    size = len(table.taxa)
    eaten = eaten_mask(treatments)
    counts = {key: np.zeros(size, dtype=np.int64) for key in ("finds", "first", "five", "held", "clear")}
    confused: Counter[tuple[int, int]] = Counter()
    for start in range(0, len(taxa), PIECE):
        piece = taxa[start : start + PIECE]
        finds = simulate(table, piece, observing, rng, eaten)
        found = names(table, finds.batch, threads=threads)
        order = np.argsort(-found.posterior, axis=1)[:, :5]
        hits = {
            "finds": np.ones(len(piece), dtype=bool),
            "first": order[:, 0] == piece,
            "five": (order == piece[:, None]).any(axis=1),
            "held": found.held_back(table),
        }
        if ledger:
            asked = table.severe & (table.harm_taxon != piece[:, None])
            hits["clear"] = rules_out(table, finds.batch, asked, found.unlisted, threads=threads)
        for key, hit in hits.items():
            counts[key] += np.bincount(piece[hit], minlength=size)
        wrong = order[:, 0] != piece
        confused.update(zip(piece[wrong].tolist(), order[wrong, 0].tolist(), strict=True))
    return Measured(**counts, confused=confused)


def measure_ruled_wrongly(
    table: Table,
    treatments: Sequence[Treatment],
    taxa: Counts,
    observing: Observing,
    rng: np.random.Generator,
    *,
    threads: int = 1,
) -> Counts:
    """Return how often each taxon (T,) was ruled out on its own finds; ``taxa`` are harmful ones."""
    size = len(table.taxa)
    entry = {int(t): k for k, t in enumerate(table.harm_taxon)}
    eaten = eaten_mask(treatments)
    wrong = np.zeros(size, dtype=np.int64)
    for start in range(0, len(taxa), PIECE):
        piece = taxa[start : start + PIECE]
        finds = simulate(table, piece, observing, rng, eaten)
        asked = np.zeros((len(piece), len(table.harmful)), dtype=bool)
        asked[np.arange(len(piece)), [entry[int(t)] for t in piece]] = True
        out = rules_out(table, finds.batch, asked, threads=threads)
        if out.any():
            some = np.flatnonzero(out)
            out[some] = names(table, finds.batch.part(some), threads=threads).unlisted < table.model.unlisted_limit
        wrong += np.bincount(piece[out], minlength=size)
    return wrong
