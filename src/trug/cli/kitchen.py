"""What kitchen and stillroom must know of a fungus, in plain lines."""

from __future__ import annotations

from trug.treatments.loader import load_kitchen
from trug.treatments.model import Book, Treatment

__all__ = ["kitchen_lines"]

DEFER = "Traditional uses are reported, not advised; ask a clinician."


def kitchen_lines(t: Treatment, book: Book) -> list[str]:
    """Return how a fungus is used, what it must not meet, and what tradition says, one line each."""
    kitchen = load_kitchen()
    lines = []
    if t.harm and t.harm.thought_good:
        lines.append("Not for anyone: people who thought it good have died of it or were left ill.")
    if t.use:
        use = t.use
        kind = "Coded as eaten" if use.kind == "food" else "Coded as used in the stillroom"
        lines.append(f"{kind}, only under a signed name; picked as {', '.join(use.stages)}.")
        for title, section, codes in (
            ("Kitchen", "conditions", use.conditions),
            ("Cut away", "trim", use.trim),
            ("Why cooked", "reasons", use.cook_because),
            ("Keeps", "keeps", use.keeps),
        ):
            if codes:
                lines.append(f"{title}: {'; '.join(kitchen.say(section, codes))}.")
    for caution in t.cautions:
        lines.append(f"Caution: {kitchen.words['cautions'][caution.code]} ({_told(caution.source, caution.at, book)}).")
    for tradition in t.traditions:
        form, purpose = kitchen.words["forms"][tradition.form], kitchen.words["purposes"][tradition.purpose]
        lines.append(f"Tradition: {form} for {purpose} ({_told(tradition.source, tradition.at, book)}).")
    if t.traditions:
        lines.append(DEFER)
    return lines


def _told(key: str, at: str, book: Book) -> str:
    source = book.sources[key]
    name = source.cite()
    if source.kind == "published":
        who = source.authors.split(",")[0] or source.container or source.title
        name = f"{who} {source.year or ''}".strip()
    return ", ".join(x for x in (name, at) if x)
