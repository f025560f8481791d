"""What is odd about a book that reads without error."""

from __future__ import annotations

from trug.characters import Vocabulary
from trug.treatments.model import BUILT_IN_SOURCES, SEVERE, Book, Record

__all__ = ["DECISIVE", "findings", "unsourced"]

#: Characters whose value decides about what kills or does lasting damage.
DECISIVE = (
    "spore_print",
    "spore_length",
    "spore_width",
    "volva",
    "ring",
    "latex",
    "flesh_colour",
    "flesh_change",
)


def findings(book: Book, vocabulary: Vocabulary) -> list[str]:
    """Return notes: sources never used, harmful taxa that nothing can rule out, prints nobody recorded."""
    notes = []
    used = {k for t in book.treatments.values() for r in t.records.values() for k in (r.source, *r.also)}
    used |= {x.source for t in book.treatments.values() for x in t.traditions}
    used |= {x.source for t in book.treatments.values() for x in t.cautions}
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
        if t.harm.level in SEVERE:
            if book.source_kind(t.harm.source) != "published":
                notes.append(f"{t.code}: the source of its harm is not published ({t.harm.source})")
            if t.harm.latency_h is None:
                notes.append(f"{t.code}: no source told how long it takes to the first signs")
            notes += [
                f"{t.code}: {c} decides and has no published source"
                for c, r in t.records.items()
                if c in DECISIVE and not book.counts("kills", r.source) and _speaks(r, vocabulary)
            ]
        if t.use is not None and t.harm.level != "conditional":
            notes.append(f"{t.code} is harmful ({t.harm.level}) and coded as used")
    return notes


def _speaks(record: Record, vocabulary: Vocabulary) -> bool:
    """Whether a record says more than that something which may have fallen or washed off is missing."""
    states = {s for words in record.words.values() for s, w in words.items() if w != "never"}
    return record.size is not None or not states <= vocabulary.characters[record.character].silent


def unsourced(book: Book) -> list[str]:
    """Return exclusions of what kills or does lasting damage that no published account supports, and bare citations."""
    problems = []
    for t in book.treatments.values():
        if t.harm is None or t.harm.level not in SEVERE:
            continue
        where = f"fungi/{t.code.replace('-', '/', 1)}.toml"
        for c, r in t.records.items():
            excludes = r.complete or any("never" in w.values() for w in r.words.values())
            if excludes and not book.counts("kills", r.source):
                problems.append(f"{where}: {c}: never and complete need a published source at level {t.harm.level}")
            if excludes and book.source_kind(r.source) == "published" and not (r.at and r.printed):
                problems.append(f"{where}: {c}: 'at' or 'printed' is missing at level {t.harm.level}")
        if not t.harm.at or not t.harm.printed:
            problems.append(f"{where}: harm: 'at' or 'printed' is missing at level {t.harm.level}")
    return problems
