"""What a changed treatment does to the measured figures, on the same finds before and after."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trug.determine.confusions import Confusions
from trug.determine.measure import measure_named, measure_ruled_wrongly
from trug.determine.simulate import Observing
from trug.determine.table import Table
from trug.treatments.model import Book, Record, Treatment
from trug.treatments.words import says

__all__ = ["Change", "Figures", "changes", "figures", "touched"]

#: Finds drawn of each taxon that is looked at, and of all harmful taxa together.
EACH, HARMFUL, WHOLE = 400, 100_000, 15_000
#: The observer of the figures, and the one whose wrong exclusions are counted.
OBSERVER, STUDENT = Observing(), Observing(wrong=0.08)
EVERYTHING = Observing(unseen=0.0)


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that two books say differently of a taxon; a dash where one of them does not have it."""

    taxon: str
    what: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Figures:
    """Shares [0..1] over the taxa looked at: named rightly first, held back, severe ones ruled out when all is seen.

    ``wrong`` counts finds in which a harmful truth was ruled out, of ``harmful`` finds; None where none is harmful.
    ``separating`` are looks that separate each taxon from one of its confusions, on average.
    """

    first: float
    held: float
    clear: float
    wrong: int | None
    harmful: int
    separating: float


def changes(before: Book, after: Book) -> list[Change]:
    """Return everything that differs between the treatments of two books."""
    out = []
    for code in sorted({*before.treatments, *after.treatments}):
        old, new = before.treatments.get(code), after.treatments.get(code)
        if old == new:
            continue
        if old is None or new is None:
            out.append(Change(code, "treatment", _there(old), _there(new)))
            continue
        for character in dict.fromkeys((*old.records, *new.records)):
            a, b = old.records.get(character), new.records.get(character)
            if a != b:
                out.append(Change(code, character, _cell(a), _cell(b)))
        for field in ("name", "authority", "family", "english", "synonyms", "rank", "group", "insist", "notes"):
            one, other = getattr(old, field), getattr(new, field)
            if one != other:
                out.append(Change(code, field, _plain(one), _plain(other)))
        for field in ("harm", "use", "prior", "traditions", "cautions"):
            one, other = getattr(old, field), getattr(new, field)
            if one != other:
                out.append(Change(code, field, "as before", "changed"))
    return out


def _there(t: Treatment | None) -> str:
    return "—" if t is None else f"{len(t.records)} characters"


def _cell(record: Record | None) -> str:
    return says(record) + (f" [{record.source}]" if record else "")


def _plain(value: object) -> str:
    return (", ".join(value) if isinstance(value, tuple) else str(value)) or "—"


def touched(codes: Sequence[str], tables: Sequence[Table]) -> list[str]:
    """Return the changed taxa with everything that either book confuses them with."""
    out = dict.fromkeys(codes)
    for table in tables:
        near = Confusions(table)
        for code in codes:
            if code in table.taxon_index:
                out.update(dict.fromkeys(c.taxon for c in near.of(code)))
    return list(out)


def figures(
    table: Table,
    treatments: Sequence[Treatment],
    codes: Sequence[str] | None,
    rng: np.random.Generator,
    *,
    threads: int = 1,
) -> Figures:
    """Return the figures over some taxa, or over the whole book where None; begin both books with the same seed."""
    named, seen_all, wrongly = rng.spawn(3)
    at = np.arange(len(table.taxa)) if codes is None else np.array([table.taxon_index[c] for c in codes])
    taxa = np.resize(at, WHOLE if codes is None else EACH * len(at))
    found = measure_named(table, treatments, taxa, OBSERVER, named, threads=threads)
    seen = measure_named(table, treatments, taxa, EVERYTHING, seen_all, ledger=True, threads=threads)
    harmful = at[np.isin(at, table.harm_taxon)]
    wrong = None
    n = HARMFUL if len(harmful) else 0
    if n:
        drawn = np.resize(harmful, n)
        wrong = int(measure_ruled_wrongly(table, treatments, drawn, STUDENT, wrongly, threads=threads).sum())
    near = Confusions(table)
    every = range(len(table.taxa))
    return Figures(
        found.share(found.first, every),
        found.share(found.held, every),
        seen.share(seen.clear, every),
        wrong,
        n,
        float(np.mean([near.separating_count(int(t)) for t in at])),
    )
