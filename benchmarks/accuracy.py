"""Measure the determination on simulated finds and write build/accuracy.json.

The finds are drawn from the book itself: this is internal consistency, not accuracy in the field.
Run with ``make accuracy``; about twenty minutes on two cores. ``--quick`` takes a tenth of the finds and
writes build/accuracy-quick.json instead, so that a quick run is never taken for the figures.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from rich.console import Console
from rich.progress import Progress
from rich.table import Table as Grid
from scipy.stats import beta

from trug.characters import load_vocabulary
from trug.determine.batch import Batch, names, rule_out
from trug.determine.compile import compile_table
from trug.determine.simulate import Observing, simulate
from trug.determine.table import Table
from trug.determine.walk import walk
from trug.treatments import load_book
from trug.treatments.model import Book

SEED = 20261125
THREADS = 2
BUILD = Path(__file__).parent.parent / "build"
SEVERE = ("kills", "organ")
HOPING = Observing(unseen=0.3, wrong=0.05, hoping=0.3)
ACTING = Observing(unseen=0.0, wrong=0.05)

NDArray = np.ndarray[Any, Any]


class Setting:
    """The compiled book with the masks that every measurement needs."""

    def __init__(self, book: Book | None = None) -> None:
        self.vocabulary = load_vocabulary()
        self.book = book or load_book()
        self.table = compile_table(self.book, self.vocabulary)
        self.treatments = list(self.book.treatments.values())
        self.eaten = np.array([t.use is not None and t.use.kind == "food" for t in self.treatments])
        self.named = np.array([t.rank != "group" for t in self.treatments])
        self.harmful = np.array([t.harm is not None for t in self.treatments]) & self.named
        self.harmless = self.named & ~self.harmful
        self.severe = np.array([h.level in SEVERE for h in self.table.harmful])
        self.entry = {int(t): k for k, t in enumerate(self.table.harm_taxon)}

    def without(self, code: str) -> Table:
        """Return the table of the book without one taxon."""
        rest = {c: x for c, x in self.book.treatments.items() if c != code}
        return compile_table(replace(self.book, treatments=rest), self.vocabulary)


def balanced(mask: NDArray, n: int) -> NDArray:
    """Return n taxa, balanced over a mask."""
    return np.resize(np.flatnonzero(mask), n)


def interval(hits: int, n: int, level: float = 0.95) -> tuple[float, float]:
    """Return the exact (Clopper-Pearson) two-sided interval of a share."""
    tail = (1.0 - level) / 2.0
    low = 0.0 if hits == 0 else float(beta.ppf(tail, hits, n - hits + 1))
    high = 1.0 if hits == n else float(beta.ppf(1.0 - tail, hits + 1, n - hits))
    return low, high


def upper(hits: int, n: int) -> float:
    """Return the exact one-sided 95 % upper bound of a share."""
    return 1.0 if hits == n else float(beta.ppf(0.95, hits + 1, n - hits))


def record(name: str, value: float, unit: str, bar: str, holds: bool | None, n: int, **more: Any) -> dict[str, Any]:
    """Return one line of the report; ``holds`` is None where no bar is set."""
    return {"name": name, "value": value, "unit": unit, "bar": bar, "holds": holds, "peer": None, "n": n, **more}


def measure_names(
    s: Setting, n: int, rng: np.random.Generator, observing: Observing, label: str
) -> list[dict[str, Any]]:
    """First name and first five; listed finds held back. Without a label the bars apply."""
    taxa = balanced(s.named, n)
    finds = simulate(s.table, taxa, observing, rng, s.eaten)
    found = names(s.table, finds.batch, threads=THREADS)
    order = np.argsort(-found.posterior, axis=1)[:, :5]
    first, five = int((order[:, 0] == taxa).sum()), int((order == taxa[:, None]).any(axis=1).sum())
    held = int(found.held_back(s.table).sum())
    wrong = Counter(
        (s.table.taxa[t], s.table.taxa[g]) for t, g in zip(taxa, order[:, 0], strict=True) if t != g
    ).most_common(10)
    mistakes = [f"{a} taken for {b}: {c}" for (a, b), c in wrong]
    lines = (
        ("first name right", first, ">= 0.90", first / n >= 0.90, mistakes),
        ("first five hold the name", five, ">= 0.98", five / n >= 0.98, []),
        ("listed finds held back", held, "<= 0.05", held / n <= 0.05, []),
    )
    return [
        record(
            name + label,
            hits / n,
            "share",
            "reported" if label else bar,
            None if label else holds,
            n,
            interval=interval(hits, n),
            detail=detail,
        )
        for name, hits, bar, holds, detail in lines
    ]


def measure_wrong_exclusion(
    s: Setting, n: int, observing: Observing, label: str, bar: float | None, rng: np.random.Generator
) -> dict[str, Any]:
    """How often a harmful truth is ruled out itself."""
    taxa = balanced(s.harmful, n)
    own = np.array([s.entry[int(t)] for t in taxa])
    wrong: Counter[str] = Counter()
    severe = 0
    for start in range(0, n, 50_000):
        piece = taxa[start : start + 50_000]
        finds = simulate(s.table, piece, observing, rng, s.eaten)
        unlisted = names(s.table, finds.batch, threads=THREADS).unlisted
        out = rule_out(s.table, finds.batch, unlisted, threads=THREADS).ruled
        hit = out[np.arange(len(piece)), own[start : start + 50_000]]
        wrong.update(s.table.taxa[t] for t in piece[hit])
        severe += int(s.severe[own[start : start + 50_000][hit]].sum())
    total = sum(wrong.values())
    bound = upper(total, n) * 1e4
    each = n / int(s.harmful.sum())
    return record(
        f"harmful truth ruled out wrongly, {label}",
        bound,
        "per 10,000, upper 95 % bound",
        f"<= {bar:g}" if bar is not None else "reported",
        bound <= bar if bar is not None else None,
        n,
        wrong=total,
        rate=total / n * 1e4,
        severe=severe,
        detail=[f"{t}: {c} of {each:.0f}" for t, c in wrong.most_common(5)],
    )


def measure_everything_seen(s: Setting, n: int, rng: np.random.Generator) -> list[dict[str, Any]]:
    """Clearance of harmless finds when every recorded character is seen, without a mistake and with 5 %."""
    out = []
    for wrong in (0.0, 0.05):
        taxa = balanced(s.harmless, n)
        finds = simulate(s.table, taxa, Observing(unseen=0.0, wrong=wrong), rng, s.eaten)
        unlisted = names(s.table, finds.batch, threads=THREADS).unlisted
        ruled = rule_out(s.table, finds.batch, unlisted, threads=THREADS).ruled
        clear = int(ruled[:, s.severe].all(axis=1).sum())
        pairs = float(ruled[:, s.severe].mean())
        out.append(
            record(
                f"harmless find, every look made, {100 * wrong:g} % wrong: all kills and organ ruled out",
                clear / n,
                "share",
                "reported",
                None,
                n,
                interval=interval(clear, n),
                pairs=pairs,
            )
        )
    return out


_here: Setting | None = None


_tables: dict[str, Table] = {}

#: A chunk of walks: true taxa, observer, seed, whether to stop at a release, the taxon left out of the book.
Job = tuple[list[int], Observing, int, bool, str]


def _walk_chunk(job: Job) -> list[tuple[int, int, int, float, float, bool, bool, bool]]:
    """Walk a chunk of finds in a worker process."""
    global _here
    taxa, observing, seed, stop, left_out = job
    _here = _here or Setting()
    s, rng = _here, np.random.default_rng(seed)
    table, treatments = s.table, s.treatments
    if left_out:
        if left_out not in _tables:
            _tables.clear()
            _tables[left_out] = s.without(left_out)
        table = _tables[left_out]
        treatments = [s.book.treatments[c] for c in table.taxa]
    finds = simulate(s.table, np.array(taxa), observing, rng, s.eaten)
    severe = np.array([h.level in SEVERE for h in table.harmful])
    out = []
    for i, t in enumerate(taxa):
        w = walk(
            table,
            treatments,
            finds.batch.codes[i],
            int(finds.batch.stage[i]),
            bool(finds.batch.dug[i]),
            stop_at_release=stop,
        )
        own = s.entry.get(t) if not left_out else None
        out.append(
            (
                t,
                w.released,
                w.looks,
                w.minutes,
                w.wait_minutes,
                bool(w.ruled[severe].all()),
                bool(w.ruled.all()),
                own is not None and bool(w.ruled[own]),
            )
        )
    return out


def walks(taxa: NDArray, observing: Observing, stop: bool, seed: int, title: str) -> list[Any]:
    """Walk many finds in worker processes."""
    chunks = [taxa[i : i + 50].tolist() for i in range(0, len(taxa), 50)]
    return run_walks([(c, observing, seed + k, stop, "") for k, c in enumerate(chunks)], title)


def run_walks(jobs: list[Job], title: str) -> list[Any]:
    """Run chunks of walks with a progress bar."""
    out: list[Any] = []
    with ProcessPoolExecutor(THREADS) as pool, Progress(console=Console(stderr=True)) as bar:
        task = bar.add_task(title, total=len(jobs))
        for part in pool.map(_walk_chunk, jobs):
            out += part
            bar.advance(task)
    return out


def measure_people(s: Setting, n: int, title: str, observing: Observing) -> list[dict[str, Any]]:
    """Harmful truth, looks in the proposed order, stopping at the first release."""
    taxa = balanced(s.harmful, n)
    rows = walks(taxa, observing, True, SEED, title)
    bad = [(t, g) for t, g, *_ in rows if g >= 0 and s.eaten[g] and g != t]
    excluded = sum(1 for r in rows if r[7])
    bar = 1 if not observing.hoping else None
    name = "harmful truth released under an eaten name, looks as proposed" + (
        ", hoping observer" if observing.hoping else ""
    )
    return [
        record(
            name,
            float(len(bad)),
            "finds",
            f"<= {bar} of {n}" if bar else "reported",
            len(bad) <= bar if bar else None,
            n,
            excluded=excluded,
            upper=upper(len(bad), n) * 1e4,
            detail=[f"{s.table.taxa[t]} released as {s.table.taxa[g]}" for t, g in bad[:10]],
        )
    ]


def measure_clearance(s: Setting, n: int, observing: Observing, label: str, bar: float | None) -> list[dict[str, Any]]:
    """Harmless truth, proposed looks followed to the end."""
    taxa = balanced(s.harmless, n)
    rows = walks(taxa, observing, False, SEED + 7, f"harmless finds {label}")
    severe, everything = sum(r[5] for r in rows), sum(r[6] for r in rows)
    per: dict[str, list[bool]] = {}
    for r in rows:
        per.setdefault(s.table.taxa[r[0]], []).append(r[5])
    shares = sorted((float(np.mean(v)), k) for k, v in per.items())
    looks, minutes = [r[2] for r in rows], [r[3] for r in rows]
    value = severe / n
    return [
        record(
            f"harmless find{label}: every kills and organ taxon ruled out at the end",
            value,
            "share",
            f">= {bar}" if bar else "reported",
            value >= bar if bar else None,
            n,
            interval=interval(severe, n),
            detail=[f"{k}: {v:.0%}" for v, k in shares],
        ),
        record(
            f"harmless find{label}: every harmful taxon ruled out at the end",
            everything / n,
            "share",
            "reported",
            None,
            n,
            interval=interval(everything, n),
        ),
        record(
            f"harmless find{label}: looks until nothing is worth looking at",
            float(np.median(looks)),
            "looks (median)",
            "reported",
            None,
            n,
            minutes=float(np.median(minutes)),
        ),
    ]


def measure_left_out(
    s: Setting, per_taxon: int, rng: np.random.Generator, observing: Observing, label: str
) -> list[dict[str, Any]]:
    """Leave each taxon out of the book in turn, and determine its finds without it."""
    held, allowed = {}, {}
    with Progress(console=Console(stderr=True)) as bar:
        task = bar.add_task("species left out", total=int(s.named.sum()))
        for t in np.flatnonzero(s.named):
            finds = simulate(s.table, np.full(per_taxon, t), observing, rng, s.eaten)
            without = s.without(s.table.taxa[t])
            batch = Batch(finds.batch.codes, finds.batch.stage, finds.batch.dug)
            found = names(without, batch, threads=THREADS)
            held[s.table.taxa[t]] = float(found.held_back(without).mean())
            if s.harmful[t]:
                allowed[s.table.taxa[t]] = float(_would_release(s, without, batch, found).mean())
            bar.advance(task)
    shares = np.array(list(held.values()))
    least = sorted((v, k) for k, v in held.items())[:10]
    holds = bool(shares.mean() >= 0.80)
    return [
        risk_record(
            "harmful species left out of the book: basket wrongly allowed" + label, allowed, per_taxon, rng, bool(label)
        ),
        record(
            "species left out of the book: finds held back" + label,
            float(shares.mean()),
            "share, mean over taxa",
            "reported" if label else ">= 0.80",
            None if label else holds,
            len(shares) * per_taxon,
            detail=[f"{k}: {v:.0%}" for v, k in least],
        ),
    ]


def risk_record(
    name: str, allowed: dict[str, float], per_taxon: int, rng: np.random.Generator, only_reported: bool = False
) -> dict[str, Any]:
    """Return the mean risk over taxa with its bootstrap bound and the worst ten."""
    risk = np.array(list(allowed.values()))
    boot = risk[rng.integers(len(risk), size=(10_000, len(risk)))].mean(axis=1)
    bound = float(np.quantile(boot, 0.95))
    worst = sorted(((v, k) for k, v in allowed.items()), reverse=True)[:10]
    holds = bool(risk.mean() <= 0.01 and bound <= 0.02)
    return record(
        name,
        float(risk.mean()),
        "share, mean over taxa",
        "reported" if only_reported else "<= 0.01, upper bound <= 0.02",
        None if only_reported else holds,
        len(risk) * per_taxon,
        upper=bound,
        detail=[f"{k}: {v:.2%}" for v, k in worst],
    )


def measure_left_out_people(s: Setting, per_taxon: int, rng: np.random.Generator) -> list[dict[str, Any]]:
    """Leave each harmful taxon out of the book; looks in the proposed order, stopping at the first release."""
    codes = [s.table.taxa[t] for t in np.flatnonzero(s.harmful)]
    jobs = [([s.table.taxon_index[c]] * per_taxon, ACTING, SEED + 99 + k, True, c) for k, c in enumerate(codes)]
    rows = run_walks(jobs, "harmful species left out, acting")
    allowed: dict[str, list[bool]] = {c: [] for c in codes}
    for t, released, *_ in rows:
        allowed[s.table.taxa[t]].append(released >= 0)
    shares = {c: float(np.mean(v)) for c, v in allowed.items()}
    name = "harmful species left out of the book, looks as proposed: basket wrongly allowed"
    return [risk_record(name, shares, per_taxon, rng)]


def _would_release(s: Setting, table: Any, batch: Batch, found: Any) -> NDArray:
    """Whether the release function would allow the leading name, for a batch."""
    ruled = rule_out(table, batch, found.unlisted, threads=THREADS).ruled
    treatments = [s.book.treatments[c] for c in table.taxa]
    usable = np.array([x.use is not None and (x.harm is None or x.harm.level == "conditional") for x in treatments])
    own = table.harm_taxon[None, :] == found.leading[:, None]
    return np.asarray((ruled | own).all(axis=1) & usable[found.leading] & ~found.held_back(table))


def show(records: list[dict[str, Any]]) -> None:
    """Print the table."""
    grid = Grid(title="Simulated finds: internal consistency, not accuracy in the field")
    for title in ("measure", "value", "bar", "holds", "n"):
        grid.add_column(title, overflow="fold")
    for r in records:
        holds = "" if r["holds"] is None else "yes" if r["holds"] else "NO"
        grid.add_row(r["name"], f"{r['value']:.4g} {r['unit']}", r["bar"], holds, f"{r['n']:,}")
    console = Console(width=150)
    console.print(grid)
    for r in records:
        if r.get("detail"):
            console.print(f"{r['name']}: {'; '.join(r['detail'][:10])}", markup=False)


def main() -> None:
    """Run every measurement."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a tenth of the finds")
    quick = parser.parse_args().quick
    scale = 10 if quick else 1
    started = time.time()
    s, rng = Setting(), np.random.default_rng(SEED)
    hoping = ", observer who sees what he hopes"
    records = measure_names(s, 100_000 // scale, rng, Observing(), "")
    records += measure_names(s, 50_000 // scale, rng, HOPING, hoping)
    for observing, label, bar, n in (
        (Observing(), "30 % unseen, 5 % wrong", 2.0, 500_000),
        (Observing(swapped=0.2), "one organ from another taxon in a fifth", 2.0, 500_000),
        (HOPING, "observer who sees what he hopes", None, 200_000),
    ):
        records.append(measure_wrong_exclusion(s, n // scale, observing, label, bar, rng))
        print(f"{time.time() - started:.0f} s", file=sys.stderr)
    records += measure_everything_seen(s, 20_000 // scale, rng)
    records += measure_left_out(s, 2000 // scale, rng, Observing(), "")
    records += measure_left_out(s, 300 // scale, rng, HOPING, hoping)
    print(f"{time.time() - started:.0f} s", file=sys.stderr)
    records += measure_left_out_people(s, 40 // scale, rng)
    records += measure_people(s, 20_000 // scale, "harmful finds", ACTING)
    records += measure_people(s, 2_000 // scale, "harmful finds, hoping", replace(HOPING, unseen=0.0))
    records += measure_clearance(s, 3_000 // scale, ACTING, "", 0.70)
    records += measure_clearance(s, 500 // scale, replace(HOPING, unseen=0.0), ", hoping observer", None)
    show(records)
    BUILD.mkdir(exist_ok=True)
    clean = json.loads(json.dumps(records, default=lambda x: x.item() if hasattr(x, "item") else list(x)))
    for r in clean:
        if isinstance(r["value"], float) and math.isnan(r["value"]):
            r["value"] = None
    target = BUILD / ("accuracy-quick.json" if quick else "accuracy.json")
    target.write_text(json.dumps(clean, indent=1) + "\n")
    print(f"{target.name} written after {time.time() - started:.0f} s")


if __name__ == "__main__":
    main()
