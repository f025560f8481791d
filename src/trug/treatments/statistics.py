"""Counts of what the book holds."""

from __future__ import annotations

from collections import Counter
from statistics import median
from typing import Any

from trug.characters import Vocabulary
from trug.treatments.model import HARM_LEVELS, SEVERE, Book

__all__ = ["statistics"]


def statistics(book: Book, vocabulary: Vocabulary) -> dict[str, Any]:
    """Return counts of taxa, characters, harm, and shares [0..1] of values by kind of source."""
    taxa = [t for t in book.treatments.values() if t.rank != "group"]
    harm = Counter(t.harm.level for t in book.treatments.values() if t.harm)
    kinds: Counter[str] = Counter()
    excluded: Counter[str] = Counter()
    severe: Counter[str] = Counter()
    for t in book.treatments.values():
        for record in t.records.values():
            kind = book.source_kind(record.source)
            kinds[kind] += 1
            if record.complete or any("never" in w.values() for w in record.words.values()):
                excluded[kind] += 1
                if t.harm and t.harm.level in SEVERE:
                    severe[kind] += 1
    return {
        "taxa": len(taxa),
        "groups": len(book.treatments) - len(taxa),
        "harmful": sum(harm.values()),
        "harm_levels": {level: harm[level] for level in HARM_LEVELS},
        "eaten": sum(1 for t in taxa if t.use and t.use.kind == "food"),
        "medicinal": sum(1 for t in taxa if t.use and t.use.kind == "medicine"),
        "characters": len(vocabulary.characters),
        "looks": len(vocabulary.looks()),
        "median_characters": median(len(t.records) for t in taxa),
        "least_characters": min(len(t.records) for t in taxa),
        "sources": sum(1 for s in book.sources.values() if s.kind == "published"),
        "values": sum(kinds.values()),
        "values_by_source": _shares(kinds),
        "exclusions": sum(excluded.values()),
        "exclusions_by_source": _shares(excluded),
        "exclusions_kills_organ_by_source": _shares(severe),
        "book": book.digest,
        "date": book.date,
    }


def _shares(counts: Counter[str]) -> dict[str, float]:
    total = sum(counts.values()) or 1
    return {kind: round(n / total, 4) for kind, n in sorted(counts.items())}
