"""Time the engine beside its peers and write build/bench.json.

Every line gives a ratio or a limit measured in the same run. Run with ``make bench``.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

os.environ["OPENBLAS_NUM_THREADS"] = "1"
os.environ["OMP_NUM_THREADS"] = "1"

import numpy as np
from rich.console import Console
from rich.table import Table as Grid
from sklearn.naive_bayes import CategoricalNB

from synthetic import synthetic_table
from trug.characters import load_vocabulary
from trug.determine.batch import Batch, log_posterior, names
from trug.determine.batch_ledger import rule_out
from trug.determine.compile import compile_table
from trug.determine.ledger import hold_contest
from trug.determine.nextlooks import next_looks
from trug.determine.observations import Observation, Observations
from trug.determine.simulate import Observing, simulate
from trug.determine.standing import stand
from trug.determine.table import Table
from trug.treatments import load_book

BUILD = Path(__file__).parent.parent / "build"
FINDS = 100_000
REPEATS = 5
LOOKS_MADE = 10
#: Next looks that a page shows.
SHOWN = 6


def seconds(work: Callable[[], Any], repeats: int = REPEATS) -> float:
    """Return the median time of a call after one warm-up [s]."""
    work()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def record(
    name: str, value: float, unit: str, bar: str, holds: bool | None, n: int, peer: str | None
) -> dict[str, Any]:
    """Return one line of the report."""
    return {"name": name, "value": value, "unit": unit, "bar": bar, "holds": holds, "peer": peer, "n": n}


def peer_of(table: Table) -> CategoricalNB:
    """Return scikit-learn's classifier with the same probabilities as a table without stages or groups."""
    classes = len(table.taxa)
    model = CategoricalNB()
    model.classes_ = np.arange(classes)
    model.class_count_ = np.ones(classes)
    model.n_features_in_ = len(table.characters)
    model.n_categories_ = np.array([len(c.states) for c in table.characters])
    logs = table.loglik(0).astype(np.float64)
    model.feature_log_prob_ = [logs[:, c.first : c.last] for c in table.characters]
    model.class_log_prior_ = np.full(classes, -np.log(classes))
    return model


def bench_posterior(rng: np.random.Generator) -> list[dict[str, Any]]:
    """Batch posterior of 173 taxa x 20 characters beside CategoricalNB on the same finds."""
    table = synthetic_table(173, 20, 6, 100, 6, rng)
    first = np.array([c.first for c in table.characters])
    states = rng.integers(6, size=(FINDS, 20))
    codes = (states + first).astype(np.int16)
    model = peer_of(table)
    theirs = seconds(lambda: model.predict_log_proba(states), 3)
    ours = seconds(lambda: log_posterior(table, codes))
    both = seconds(lambda: log_posterior(table, codes, threads=2))
    apart = float(np.abs(model.predict_log_proba(states[:2000]) - log_posterior(table, codes[:2000])).max())
    batch = Batch(codes, np.full(FINDS, -1, dtype=np.int8), np.ones(FINDS, dtype=bool))
    with ProcessPoolExecutor(2, initializer=_give, initargs=(table, batch)) as pool:
        halves = [slice(0, FINDS // 2), slice(FINDS // 2, FINDS)]
        ledger = seconds(lambda: list(pool.map(_rule_half, halves)), 5)
    single = seconds(lambda: rule_out(table, batch), 3)
    peer = f"scikit-learn CategoricalNB {FINDS / theirs:,.0f} finds/s, one thread"
    return [
        record("batch posterior, one thread each", theirs / ours, "times as fast", ">= 6", theirs / ours >= 6, FINDS,
               peer),
        record("batch posterior, one thread", FINDS / ours, "finds/s", "reported", None, FINDS, peer),
        record("batch posterior, two threads", FINDS / both, "finds/s", "reported", None, FINDS, peer),
        record("batch posterior, largest difference to float64", apart, "nat", "<= 1e-3", apart <= 1e-3, 2000, peer),
        record(
            "ledger of 100 harmful taxa, two processes", FINDS / ledger, "finds/s", ">= 200,000", FINDS / ledger >= 2e5,
            FINDS, f"one thread {FINDS / single:,.0f} finds/s",
        ),
    ]  # fmt: skip


_given: list[Any] = []


def _give(table: Table, batch: Batch) -> None:
    """Hand a worker its table and finds once."""
    _given[:] = [table, batch]


def _rule_half(at: slice) -> Any:
    """Return the verdicts, packed to bits, of one half of the finds."""
    table, batch = _given
    return np.packbits(rule_out(table, batch.part(at)).ruled)


def contest_after(table: Table, looks: int, rng: np.random.Generator, taxon: int) -> Any:
    """Return the contest after some looks at a find of one taxon."""
    finds = simulate(table, np.array([taxon]), Observing(unseen=0.0), rng)
    seen = [i for i in range(len(table.characters)) if finds.batch.codes[0, i] >= 0]
    used = []
    for i in rng.permutation(seen)[:looks]:
        c, column = table.characters[i], int(finds.batch.codes[0, i])
        one_hot = np.zeros(len(c.states))
        one_hot[column - c.first] = 1.0
        used.append(Observation(c.code, int(i), column, one_hot, 0, True, "x", (), (c.states[column - c.first],)))
    weights = np.array(table.model.stage_prior)
    return hold_contest(stand(table, Observations("x", tuple(used), (), (), weights, None, determiner="x")))


def bench_next_looks(rng: np.random.Generator) -> list[dict[str, Any]]:
    """Next looks for one find after ten looks, on a large invented book and on the shipped one."""
    large = synthetic_table(5000, 120, 5, 200, 12, rng)
    shipped = compile_table(load_book(), load_vocabulary())
    out = []
    for table, label, bar in (
        (large, "5,000 taxa x 120 characters, 200 harmful", 100.0),
        (shipped, "the shipped book", 10.0),
    ):
        times = []
        for t in rng.integers(len(table.taxa), size=7):
            contest = contest_after(table, LOOKS_MADE, rng, int(t))
            times.append(1000.0 * seconds(lambda c=contest: next_looks(c, count=SHOWN), 5))  # type: ignore[misc]
        value = statistics.median(times)
        out.append(
            record(
                f"next looks, {label}",
                value,
                "ms (median of finds)",
                f"< {bar:g}",
                value < bar,
                len(times),
                f"slowest {max(times):.1f} ms",
            )
        )
    return out


def bench_shipped(rng: np.random.Generator) -> list[dict[str, Any]]:
    """Throughput on the shipped book, with stages, groups and measured characters."""
    table = compile_table(load_book(), load_vocabulary())
    n = 20_000
    finds = simulate(table, rng.integers(len(table.taxa), size=n), Observing(), rng)
    named = seconds(lambda: names(table, finds.batch, threads=2), 3)
    ruled = seconds(lambda: rule_out(table, finds.batch, threads=2), 3)
    rows, columns = table.truth.shape
    shape = f"{len(table.taxa)} taxa in {rows} rows, {columns} columns, {len(table.harmful)} harmful"
    return [
        record(
            "names, stranger and fit on the shipped book, two threads", n / named, "finds/s", "reported", None, n, shape
        ),
        record("ledger on the shipped book, two threads", n / ruled, "finds/s", "reported", None, n, shape),
    ]


def bench_start() -> list[dict[str, Any]]:
    """Start of the command as a whole process."""
    plain = dict(os.environ)
    plain.pop("PYTHONDONTWRITEBYTECODE", None)

    def run(*command: str) -> float:
        return seconds(lambda: subprocess.run(command, check=True, capture_output=True, env=plain), 7)

    trug = Path(sys.executable).parent / "trug"
    version = run(str(trug), "--version") if trug.exists() else run(sys.executable, "-m", "trug", "--version")
    empty = run(sys.executable, "-c", "pass")
    whole = run(sys.executable, "-m", "trug", "example")
    return [
        record("trug --version", version, "s", "< 0.3", version < 0.3, 7, f"an empty Python {empty:.3f} s"),
        record(
            "trug example, three fruitbodies, from start to end",
            whole,
            "s",
            "reported",
            None,
            7,
            f"an empty Python {empty:.3f} s",
        ),
    ]


def main() -> None:
    """Run every bench."""
    rng = np.random.default_rng(20261125)
    records = bench_posterior(rng) + bench_next_looks(rng) + bench_shipped(rng) + bench_start()
    grid = Grid(title="Speed")
    for title in ("measure", "value", "bar", "holds", "n", "beside"):
        grid.add_column(title, overflow="fold")
    for r in records:
        holds = "" if r["holds"] is None else "yes" if r["holds"] else "NO"
        value = f"{r['value']:,.0f}" if r["value"] >= 1000 else f"{r['value']:.3g}"
        grid.add_row(r["name"], f"{value} {r['unit']}", r["bar"], holds, f"{r['n']:,}", r["peer"] or "")
    Console(width=160).print(grid)
    BUILD.mkdir(exist_ok=True)
    clean = json.loads(json.dumps(records, default=lambda x: x.item()))
    (BUILD / "bench.json").write_text(json.dumps(clean, indent=1) + "\n")


if __name__ == "__main__":
    main()
