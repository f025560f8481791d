"""Estimate how a species that is not in the book differs from its relatives that are; write strangers.toml.

Each taxon in turn is left out, and finds of it are explained by the others:

* blend: for each character, the share of states that come from the background and not from the relative
  (expectation maximisation over the mixture), times ``SPREAD``, which was chosen so that most left-out
  finds are held back for the same share of listed ones;
* weight: for each taxon, how a stranger that resembles it is weighted, so that listed finds of every
  name are held back about equally often (half the correction, in logs).

Run with ``make strangers`` after treatments were added; about a minute.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from trug.characters import load_vocabulary
from trug.determine import batch as batches
from trug.determine.compile import compile_table
from trug.determine.simulate import Observing, simulate
from trug.determine.standing import log_prior
from trug.determine.table import Table, observe_through
from trug.treatments import load_book

SEED = 4711
FINDS = 500
FINDS_BLEND = 62
ROUNDS = 10
SPREAD = 1.3
CORRECTION = 0.5
START = 0.4
TARGET = Path(__file__).parent.parent / "src/trug/treatments/strangers.toml"

Array = np.ndarray[Any, Any]


def kin_without(table: Table, groups: list[str], left_out: int) -> Array:
    """Return the background of each taxon's relatives when one taxon is not in the book."""
    mean = table.over_stages(table.observed(0))
    known = table.recorded[:, table.column_character] & (np.arange(len(groups)) != left_out)[:, None]
    ground = np.where(known, mean, 0.0).sum(axis=0) / np.maximum(known.sum(axis=0), 1)
    out = np.empty_like(mean)
    for group in set(groups):
        at = np.array([g == group for g in groups])
        own = (np.where(known, mean, 0.0)[at].sum(axis=0) + ground) / (known[at].sum(axis=0) + 1.0)
        out[at] = (1.0 - table.model.kin_share) * ground + table.model.kin_share * own
    return out


def estimate_blend(table: Table, groups: list[str], hot: Array, start: Array, taxon: Array) -> Array:
    """Return the background's share of each character (C,)."""
    first = np.array([c.first for c in table.characters])
    recorded = table.recorded[table.row_taxon][:, table.column_character]
    seen = table.observed(0)
    grounds = [kin_without(table, groups, t)[table.row_taxon] for t in range(len(groups))]
    blend = np.full(len(table.characters), START)
    for _ in range(ROUNDS):
        share = blend[table.column_character]
        hits, looks = np.zeros(len(blend)), np.zeros(len(blend))
        for t in range(len(groups)):
            at = np.flatnonzero(taxon == t)
            mixed = (1.0 - share) * seen + share * grounds[t]
            logs = np.where(table.silent, 0.0, np.log(mixed))
            fit = hot[at] @ logs.T + start[at]
            fit[:, table.row_taxon == t] = -np.inf
            weight = np.exp(fit - fit.max(axis=1, keepdims=True))
            weight /= weight.sum(axis=1, keepdims=True)
            mass = np.where(table.silent | ~recorded, 0.0, weight.T @ (hot[at] > 0))
            hits += np.add.reduceat((mass * share * grounds[t] / mixed).sum(axis=0), first)
            looks += np.add.reduceat(mass.sum(axis=0), first)
        blend = np.clip((hits + 4.0 * START) / (looks + 4.0), 0.02, 0.95)
        blend = np.where(looks > 50, blend, START)
    return np.clip(blend * SPREAD, 0.02, 0.97)


def estimate_weight(table: Table, hot: Array, start: Array, blend: Array) -> Array:
    """Return the weight of a stranger that resembles each taxon (T,)."""
    groups_kin = table.kin
    share = blend[table.column_character]
    ground = observe_through(table, groups_kin, 0)[table.row_taxon]
    mixed = (1.0 - share) * table.observed(0) + share * ground
    logs = np.where(table.silent, 0.0, np.log(mixed)).astype(np.float32)
    listed = batches.collapse((hot @ table.loglik(0).T + start).astype(np.float32), table) + log_prior(
        table, None, None
    )
    strange = batches.collapse((hot @ logs.T + start).astype(np.float32), table)
    ratio = np.logaddexp.reduce(strange, axis=1) - np.logaddexp.reduce(listed, axis=1)
    leading = listed.argmax(axis=1)
    overall = np.quantile(ratio, 0.955)
    each = np.array(
        [
            np.quantile(ratio[leading == t], 0.955) if (leading == t).sum() >= 20 else overall
            for t in range(len(table.taxa))
        ]
    )
    return np.asarray(np.exp(-CORRECTION * (each - np.median(each))))


def main() -> None:
    """Estimate and write."""
    book = load_book()
    table = compile_table(book, load_vocabulary())
    groups = [t.group for t in book.treatments.values()]
    rng = np.random.default_rng(SEED)
    finds = simulate(table, np.repeat(np.arange(len(groups)), FINDS), Observing(), rng)
    codes = batches.usable(table, finds.batch)
    hot = batches.weighted(table, codes, batches.tempering(table, codes >= 0)).astype(np.float64)
    start = batches.stage_logs(table)[finds.batch.stage].astype(np.float64)
    some = np.arange(len(codes)) % FINDS < FINDS_BLEND
    blend = estimate_blend(table, groups, hot[some], start[some], finds.taxon[some])
    weight = estimate_weight(table, hot, start, blend)
    lines = [
        "# How strangers differ from their relatives in the book; made by `make strangers`, see docs/explanation.",
        "",
        "[blend]",
    ]
    lines += [f"{c.code} = {b:.3f}" for c, b in zip(table.characters, blend, strict=True)]
    lines += ["", "[weight]"]
    lines += [f"{code} = {w:.3f}" for code, w in zip(table.taxa, weight, strict=True)]
    TARGET.write_text("\n".join(lines) + "\n")
    print(
        f"blend {blend.mean():.2f} on average ({blend.min():.2f} to {blend.max():.2f}); "
        f"weights {weight.min():.2f} to {weight.max():.2f}"
    )


if __name__ == "__main__":
    main()
