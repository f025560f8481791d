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
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from rich.console import Console
from rich.progress import Progress
from rich.table import Table as Grid
from scipy.stats import beta

from accounts import read_accounts, summary, try_account
from trug.characters import load_vocabulary
from trug.determine.batch import Batch, Names, names
from trug.determine.batch_ledger import rule_out, rules_out
from trug.determine.compile import compile_table
from trug.determine.measure import (
    Measured,
    classes,
    eaten_mask,
    harm_class,
    measure_named,
    measure_ruled_wrongly,
)
from trug.determine.simulate import Observing, simulate
from trug.determine.table import Table
from trug.determine.walk import walk
from trug.treatments import load_book
from trug.treatments.model import Book

SEED = 20261125
THREADS = 2
BUILD = Path(__file__).parent.parent / "build"
HOPING = Observing(unseen=0.3, wrong=0.05, hoping=0.3)
ACTING = Observing(unseen=0.0, wrong=0.05)
#: Simulated observers by practice, and the bar on the rate of wrong exclusion [per 10,000, upper 95 % bound].
OBSERVERS = (
    ("practised", Observing(wrong=0.02), 1.0),
    ("student", Observing(wrong=0.08), 2.0),
    ("careless", Observing(wrong=0.15), 10.0),
)

NDArray = np.ndarray[Any, Any]


class Setting:
    """The compiled book with the masks that every measurement needs."""

    def __init__(self, book: Book | None = None) -> None:
        self.vocabulary = load_vocabulary()
        self.book = book or load_book()
        self.table = compile_table(self.book, self.vocabulary)
        self.treatments = list(self.book.treatments.values())
        self.eaten = eaten_mask(self.treatments)
        self.named = np.array([t.rank != "group" for t in self.treatments])
        self.harmful = np.array([t.harm is not None for t in self.treatments]) & self.named
        #: Harmful ones and genera whose harm their group tells.
        self.dangerous = np.array([bool(self.book.danger(t)) for t in self.treatments]) & self.named
        self.harmless = self.named & ~self.dangerous
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
) -> tuple[list[dict[str, Any]], Measured]:
    """First name and first five; listed finds held back. Without a label the bars apply."""
    found = measure_named(s.table, s.treatments, balanced(s.named, n), observing, rng, threads=THREADS)
    lines = (
        ("first name right", found.first, ">= 0.90", 0.90, True),
        ("first five hold the name", found.five, ">= 0.98", 0.98, True),
        ("listed finds held back", found.held, "<= 0.05", 0.05, False),
    )
    records = []
    for name, counts, bar, limit, at_least in lines:
        hits = int(counts.sum())
        holds = hits / n >= limit if at_least else hits / n <= limit
        records.append(
            record(
                name + label,
                hits / n,
                "share",
                "reported" if label else bar,
                None if label else holds,
                n,
                interval=interval(hits, n),
                detail=confusions(s, found, 10) if name == "first name right" else [],
            )
        )
    return records, found


def confusions(s: Setting, found: Measured, most: int) -> list[str]:
    """Return the names most often given instead of the true one."""
    taxa = s.table.taxa
    return [f"{taxa[a]} taken for {taxa[b]}: {c}" for (a, b), c in found.confused.most_common(most)]


def by_class(s: Setting, found: Measured) -> dict[str, list[dict[str, Any]]]:
    """Return the shares of right names and of finds held back by group of the book and by harm class."""
    out = {}
    for title, parts in zip(("group", "harm"), classes(s.treatments), strict=True):
        rows = []
        for name, taxa in parts.items():
            worst = Counter({k: c for k, c in found.confused.items() if k[0] in set(taxa)}).most_common(3)
            rows.append(
                {
                    "name": name,
                    "taxa": len(taxa),
                    "finds": int(found.finds[taxa].sum()),
                    "first": found.share(found.first, taxa),
                    "held": found.share(found.held, taxa),
                    "worst": [f"{s.table.names[a]} taken for {s.table.names[b]}" for (a, b), _ in worst],
                }
            )
        out[title] = rows
    return out


def measure_wrong_exclusion(
    s: Setting, n: int, observing: Observing, label: str, bar: float | None, rng: np.random.Generator
) -> dict[str, Any]:
    """How often a harmful truth is ruled out itself."""
    counts = measure_ruled_wrongly(s.table, s.treatments, balanced(s.harmful, n), observing, rng, threads=THREADS)
    severe = int(counts[s.table.harm_taxon[s.table.severe]].sum())
    wrong = Counter({s.table.taxa[t]: int(c) for t, c in enumerate(counts) if c})
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
        clear = int(ruled[:, s.table.severe].all(axis=1).sum())
        pairs = float(ruled[:, s.table.severe].mean())
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


@dataclass(frozen=True)
class Walked:
    """What came of one walk: true taxon, taxon released (-1 for none), work, and what was ruled out at the end."""

    taxon: int
    released: int
    looks: int
    minutes: float
    severe: bool
    everything: bool
    itself: bool
    severe_at: tuple[int, float] | None
    all_at: tuple[int, float] | None


#: A chunk of walks: true taxa, observer, seed, whether to stop at a release, the taxon left out of the book.
Job = tuple[list[int], Observing, int, bool, str]


def _walk_chunk(job: Job) -> list[Walked]:
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
    out = []
    for i, t in enumerate(taxa):
        own = s.entry.get(t, -1) if not left_out else -1
        w = walk(
            table,
            treatments,
            finds.batch.codes[i],
            int(finds.batch.stage[i]),
            bool(finds.batch.dug[i]),
            stop_at_release=stop,
            own=own,
        )
        itself = own >= 0 and bool(w.ruled[own])
        ends = bool(w.ruled[table.severe].all()), bool(w.ruled.all())
        out.append(Walked(t, w.released, w.looks, w.minutes, *ends, itself, w.severe_at, w.all_at))
    return out


def walks(taxa: NDArray, observing: Observing, stop: bool, seed: int, title: str) -> list[Walked]:
    """Walk many finds in worker processes."""
    chunks = [taxa[i : i + 50].tolist() for i in range(0, len(taxa), 50)]
    return run_walks([(c, observing, seed + k, stop, "") for k, c in enumerate(chunks)], title)


def run_walks(jobs: list[Job], title: str) -> list[Walked]:
    """Run chunks of walks with a progress bar."""
    out: list[Walked] = []
    with ProcessPoolExecutor(THREADS) as pool, Progress(console=Console(stderr=True)) as bar:
        task = bar.add_task(title, total=len(jobs))
        for part in pool.map(_walk_chunk, jobs):
            out += part
            bar.advance(task)
    return out


def measure_people(s: Setting, n: int, title: str, observing: Observing) -> list[dict[str, Any]]:
    """Harmful truth, looks in the proposed order, stopping at the first release."""
    taxa = balanced(s.dangerous, n)
    rows = walks(taxa, observing, True, SEED, title)
    bad = [(r.taxon, r.released) for r in rows if r.released >= 0 and s.eaten[r.released] and r.released != r.taxon]
    excluded = sum(1 for r in rows if r.itself)
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
    rows = walks(balanced(s.harmless, n), observing, False, SEED + 7, f"harmless finds {label}")
    severe, everything = sum(r.severe for r in rows), sum(r.everything for r in rows)
    per: dict[str, list[bool]] = {}
    for r in rows:
        per.setdefault(s.table.taxa[r.taxon], []).append(r.severe)
    shares = sorted((float(np.mean(v)), k) for k, v in per.items())
    looks, minutes = [r.looks for r in rows], [r.minutes for r in rows]
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


def measure_eaten(s: Setting, per_taxon: int) -> list[dict[str, Any]]:
    """Looks and minutes until nothing severe, and nothing at all, is left open, for each eaten taxon."""
    taxa = np.repeat(np.flatnonzero(s.eaten & s.named), per_taxon)
    rows: dict[int, list[Walked]] = {}
    for r in walks(taxa, ACTING, False, SEED + 31, "eaten species, looks as proposed"):
        rows.setdefault(r.taxon, []).append(r)
    out = []
    for t, walked in rows.items():
        line: dict[str, Any] = {
            "taxon": s.table.taxa[t],
            "name": s.table.names[t],
            "harm": harm_class(s.treatments[t]),
            "finds": len(walked),
        }
        for key, at in (("severe", [w.severe_at for w in walked]), ("all", [w.all_at for w in walked])):
            reached = [a for a in at if a is not None]
            line[key] = {
                "share": len(reached) / len(walked),
                "looks": float(np.median([a[0] for a in reached])) if reached else None,
                "minutes": float(np.median([a[1] for a in reached])) if reached else None,
            }
        out.append(line)
    return sorted(out, key=lambda line: (-line["severe"]["share"], line["severe"]["looks"] or 0.0))


def account_records(found: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the lines on independent published accounts."""
    n = found["n"]
    shares = (("named as their authors did", "first"), ("among the first five", "five"), ("held back", "held"))
    lines = [
        record(
            f"published accounts coded independently: {title}",
            found[key] / n,
            "share",
            "reported",
            None,
            n,
            interval=interval(found[key], n),
            detail=found["disagreements"] if key == "first" else [],
        )
        for title, key in shares
    ]
    for title, key, of in (
        ("harmful fungus ruled out", "ruled_out", found["harmful"]),
        ("released under another name", "released", n),
    ):
        name = f"published accounts coded independently: {title}"
        lines.append(record(name, float(found[key]), "accounts", "<= 0", found[key] == 0, of, detail=found["wrong"]))
    return lines


def measure_left_out(
    s: Setting, rng: np.random.Generator, parts: Sequence[tuple[int, Observing, str]]
) -> list[dict[str, Any]]:
    """Leave each taxon out of the book in turn, and determine its finds without it.

    ``parts`` are finds per taxon, observer and label; without a label the bars apply.
    """
    held: list[dict[str, float]] = [{} for _ in parts]
    allowed: list[dict[str, float]] = [{} for _ in parts]
    with Progress(console=Console(stderr=True)) as bar:
        task = bar.add_task("species left out", total=int(s.named.sum()))
        for t in np.flatnonzero(s.named):
            code = s.table.taxa[t]
            without = s.without(code)
            for k, (per_taxon, observing, _) in enumerate(parts):
                finds = simulate(s.table, np.full(per_taxon, t), observing, rng, s.eaten)
                batch = Batch(finds.batch.codes, finds.batch.stage, finds.batch.dug)
                found = names(without, batch, threads=THREADS)
                held[k][code] = float(found.held_back(without).mean())
                if s.dangerous[t]:
                    allowed[k][code] = float(_would_release(s, without, batch, found).mean())
            bar.advance(task)
    records = []
    for k, (per_taxon, _, label) in enumerate(parts):
        shares = np.array(list(held[k].values()))
        least = sorted((v, c) for c, v in held[k].items())[:10]
        name = "harmful species left out of the book: basket wrongly allowed" + label
        records.append(risk_record(name, allowed[k], per_taxon, rng, bool(label)))
        records.append(
            record(
                "species left out of the book: finds held back" + label,
                float(shares.mean()),
                "share, mean over taxa",
                "reported" if label else ">= 0.80",
                None if label else bool(shares.mean() >= 0.80),
                len(shares) * per_taxon,
                detail=[f"{c}: {v:.0%}" for v, c in least],
            )
        )
    return records


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
    codes = [s.table.taxa[t] for t in np.flatnonzero(s.dangerous)]
    jobs = [([s.table.taxon_index[c]] * per_taxon, ACTING, SEED + 99 + k, True, c) for k, c in enumerate(codes)]
    rows = run_walks(jobs, "harmful species left out, acting")
    allowed: dict[str, list[bool]] = {c: [] for c in codes}
    for r in rows:
        allowed[s.table.taxa[r.taxon]].append(r.released >= 0)
    shares = {c: float(np.mean(v)) for c, v in allowed.items()}
    name = "harmful species left out of the book, looks as proposed: basket wrongly allowed"
    return [risk_record(name, shares, per_taxon, rng)]


def _would_release(s: Setting, table: Table, batch: Batch, found: Names) -> NDArray:
    """Whether the release function would allow the leading name, for a batch."""
    treatments = [s.book.treatments[c] for c in table.taxa]
    usable = np.array([x.use is not None and (x.harm is None or x.harm.level == "conditional") for x in treatments])
    others = table.harm_taxon[None, :] != found.leading[:, None]
    ruled = rules_out(table, batch, others, found.unlisted, threads=THREADS)
    return np.asarray(ruled & usable[found.leading] & ~found.held_back(table))


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


def show_book(book: dict[str, Any]) -> None:
    """Print names by group and by harm class, the worst confusions, and the looks until a ledger is clear."""
    console = Console(width=150)
    for title, rows in book["classes"].items():
        grid = Grid(title=f"names by {title}")
        for head in (title, "fungi", "first name right", "held back", "most often taken"):
            grid.add_column(head, overflow="fold")
        for r in rows:
            grid.add_row(r["name"], str(r["taxa"]), f"{r['first']:.1%}", f"{r['held']:.1%}", "; ".join(r["worst"]))
        console.print(grid)
    console.print("Worst confusions: " + "; ".join(book["confusions"]), markup=False)
    grid = Grid(title="eaten fungi: finds that get clear of what kills or maims, and the median looks and minutes")
    for head in ("fungus", "clear", "looks", "minutes", "clear of all harm"):
        grid.add_column(head)
    for r in book["eaten"]:
        c = r["severe"]
        cells = ("—" if c[k] is None else f"{c[k]:.0f}" for k in ("looks", "minutes"))
        grid.add_row(r["name"], f"{c['share']:.0%}", *cells, f"{r['all']['share']:.0%}")
    console.print(grid)
    a = book["accounts"]
    console.print(f"Published accounts: n = {a['n']}, {a['harmful']} of harmful fungi; named alike {a['first']}.")
    for line in (*a["wrong"], *a["disagreements"], *a["denied"]):
        console.print(f"  {line}", markup=False)


def told(started: float) -> None:
    """Say how long it has taken so far."""
    print(f"{time.time() - started:.0f} s", file=sys.stderr)


def write(file: Path, found: Any) -> None:
    """Write JSON, numbers of arrays made plain and undefined ones null."""
    plain = json.loads(json.dumps(found, default=lambda x: x.item() if hasattr(x, "item") else list(x)))
    file.write_text(json.dumps(_defined(plain), indent=1, ensure_ascii=False) + "\n")


def _defined(x: Any) -> Any:
    if isinstance(x, dict):
        return {k: _defined(v) for k, v in x.items()}
    if isinstance(x, list):
        return [_defined(v) for v in x]
    return None if isinstance(x, float) and math.isnan(x) else x


def main() -> None:
    """Run every measurement."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a tenth of the finds")
    quick = parser.parse_args().quick
    scale = 10 if quick else 1
    started = time.time()
    s, rng = Setting(), np.random.default_rng(SEED)
    hoping = ", observer who sees what he hopes"
    records, found = measure_names(s, 100_000 // scale, rng, Observing(), "")
    book: dict[str, Any] = {
        "book": s.book.digest,
        "classes": by_class(s, found),
        "confusions": confusions(s, found, 30),
    }
    records += measure_names(s, 50_000 // scale, rng, HOPING, hoping)[0]
    for observing, label, bar, n in (
        (Observing(), "30 % unseen, 5 % wrong", 2.0, 500_000),
        (Observing(swapped=0.2), "one organ from another taxon in a fifth", 2.0, 500_000),
        (HOPING, "observer who sees what he hopes", None, 200_000),
    ):
        records.append(measure_wrong_exclusion(s, n // scale, observing, label, bar, rng))
    book["observers"] = []
    for name, observing, bar in OBSERVERS:
        label = f"{name} observer, {100 * observing.wrong:g} % wrong"
        records.append(measure_wrong_exclusion(s, 500_000 // scale, observing, label, bar, rng))
        book["observers"].append({"observer": name, "wrong_looks": observing.wrong, "bar_value": bar, **records[-1]})
    told(started)
    records += measure_everything_seen(s, 20_000 // scale, rng)
    records += measure_left_out(s, rng, ((2000 // scale, Observing(), ""), (300 // scale, HOPING, hoping)))
    told(started)
    records += measure_left_out_people(s, 40 // scale, rng)
    told(started)
    records += measure_people(s, 20_000 // scale, "harmful finds", ACTING)
    records += measure_people(s, 2_000 // scale, "harmful finds, hoping", replace(HOPING, unseen=0.0))
    told(started)
    records += measure_clearance(s, 3_000 // scale, ACTING, "", 0.70)
    records += measure_clearance(s, 500 // scale, replace(HOPING, unseen=0.0), ", hoping observer", None)
    told(started)
    book["eaten"] = measure_eaten(s, 30 // scale)
    outcomes = [try_account(a, s.book, s.vocabulary, s.table) for a in read_accounts()]
    book["accounts"] = summary(outcomes)
    records += account_records(book["accounts"])
    show(records)
    show_book(book)
    BUILD.mkdir(exist_ok=True)
    suffix = "-quick" if quick else ""
    write(BUILD / f"book{suffix}.json", book)
    target = BUILD / f"accuracy{suffix}.json"
    write(target, records)
    print(f"{target.name} written after {time.time() - started:.0f} s")


if __name__ == "__main__":
    main()
