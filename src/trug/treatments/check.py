"""What is odd about a book that reads without error."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from trug.characters import Vocabulary
from trug.treatments.model import BUILT_IN_SOURCES, Book

__all__ = ["findings", "inseparable"]

#: Likeness in every shared character above which nothing separates two treatments.
ALIKE = 0.6


def findings(book: Book, vocabulary: Vocabulary) -> list[str]:
    """Return notes: sources never used, harmful taxa that nothing can rule out, prints nobody recorded."""
    notes = []
    used = {k for t in book.treatments.values() for r in t.records.values() for k in (r.source, *r.also)}
    used |= {t.harm.source for t in book.treatments.values() if t.harm}
    used |= {t.use.source for t in book.treatments.values() if t.use}
    used |= {t.prior.source for t in book.treatments.values()}
    for key in sorted(set(book.sources) - used - set(BUILT_IN_SOURCES)):
        notes.append(f"source {key} is not used")
    for t in book.treatments.values():
        if t.harm is None:
            continue
        firm = [
            c
            for c, r in t.records.items()
            if vocabulary.characters[c].firm
            and book.counts(t.harm.level, r.source)
            and (r.size is not None or any(r.excludes(s) for s in vocabulary.characters[c].codes))
        ]
        if len(firm) < 2:
            notes.append(f"{t.code} ({t.harm.level}) has {len(firm)} firm characters that could speak against it")
        if t.harm.level in ("kills", "organ") and book.source_kind(t.harm.source) != "published":
            notes.append(f"{t.code}: the source of its harm is not published ({t.harm.source})")
        if t.use is not None and t.harm.level != "conditional":
            notes.append(f"{t.code} is harmful ({t.harm.level}) and coded as used")
    return notes


def inseparable(
    book: Book,
    truth: NDArray[np.float64],
    recorded: NDArray[np.bool_],
    row_taxon: NDArray[np.int64],
    starts: Sequence[int],
) -> list[tuple[str, str]]:
    """Return pairs of treatments whose states overlap in every character that both record.

    Parameters
    ----------
    truth, recorded, row_taxon
        As in the compiled table.
    starts : sequence of int
        First column of each character.
    """
    codes = list(book.treatments)
    counts = np.bincount(row_taxon, minlength=len(codes))
    first = np.searchsorted(row_taxon, np.arange(len(codes)))
    root = np.sqrt(np.add.reduceat(truth, first, axis=0) / counts[:, None])
    pairs = []
    for a in range(len(codes)):
        alike = np.add.reduceat(root[a] * root[a + 1 :], list(starts), axis=1)
        both = recorded[a] & recorded[a + 1 :]
        least = np.where(both, alike, 1.0).min(axis=1) if len(alike) else np.zeros(0)
        pairs += [(codes[a], codes[a + 1 + int(b)]) for b in np.flatnonzero(least > ALIKE)]
    return pairs
