"""Treatments and characters as the documents that the command line and the API give.

Fields stand in alphabetical order, so that a document reads the same however it was written.
"""

from __future__ import annotations

import msgspec

from trug.characters import Vocabulary
from trug.treatments.model import Book, Caution, Tradition, Treatment
from trug.treatments.words import says

__all__ = [
    "CharacterLine",
    "HarmDocument",
    "RecordDocument",
    "TreatmentDocument",
    "UseDocument",
    "character_lines",
    "treatment_document",
]


class HarmDocument(msgspec.Struct, frozen=True):
    """What a taxon does to people; ``latency_h`` from the meal to the first signs [h]."""

    latency_h: tuple[float, float] | None
    level: str
    syndrome: str


class UseDocument(msgspec.Struct, frozen=True, rename={"kind": "as"}):
    """How a taxon is eaten or used, in codes of the kitchen vocabulary."""

    kind: str
    conditions: tuple[str, ...]
    cook_because: tuple[str, ...]
    keeps: tuple[str, ...]
    stages: tuple[str, ...]
    trim: tuple[str, ...]


class RecordDocument(msgspec.Struct, frozen=True):
    """What a treatment says of one character, and the source that it follows."""

    at: str
    complete: bool
    printed: str
    says: str
    source: str


class TreatmentDocument(msgspec.Struct, frozen=True):
    """The coded account of one taxon with the source of every value."""

    authority: str
    cautions: tuple[Caution, ...]
    characters: dict[str, RecordDocument]
    code: str
    danger: str
    english: tuple[str, ...]
    family: str
    groups: tuple[str, ...]
    harm: HarmDocument | None
    insist: tuple[str, ...]
    name: str
    rank: str
    synonyms: tuple[str, ...]
    traditions: tuple[Tradition, ...]
    use: UseDocument | None


class CharacterLine(msgspec.Struct, frozen=True):
    """A character in the list of all."""

    firm: bool
    kind: str
    label: str
    part: str
    states: tuple[str, ...]


def treatment_document(book: Book, treatment: Treatment) -> TreatmentDocument:
    """Return a treatment as a document."""
    harm, use = treatment.harm, treatment.use
    return TreatmentDocument(
        authority=treatment.authority,
        cautions=treatment.cautions,
        characters={
            code: RecordDocument(r.at, r.complete, r.printed, says(r), r.source)
            for code, r in treatment.records.items()
        },
        code=treatment.code,
        danger=book.danger(treatment),
        english=treatment.english,
        family=treatment.family,
        groups=tuple(g.code for g in book.groups_of(treatment)),
        harm=HarmDocument(harm.latency_h, harm.level, harm.syndrome) if harm else None,
        insist=treatment.insist,
        name=treatment.name,
        rank=treatment.rank,
        synonyms=treatment.synonyms,
        traditions=treatment.traditions,
        use=UseDocument(use.kind, use.conditions, use.cook_because, use.keeps, use.stages, use.trim) if use else None,
    )


def character_lines(vocabulary: Vocabulary) -> dict[str, CharacterLine]:
    """Return every character by its code, in short."""
    return {c.code: CharacterLine(c.firm, c.kind, c.label, c.part, c.codes) for c in vocabulary.characters.values()}
