"""Comparisons and confusions as the documents that the command line and the API give.

Fields stand in alphabetical order, so that a document reads the same however it was written.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from trug.determine.compare import Difference
from trug.determine.confusions import Confusion
from trug.treatments.model import Treatment
from trug.treatments.words import says

__all__ = [
    "CLEARLY",
    "PARTLY",
    "ComparedCharacter",
    "ConfusedTaxon",
    "SeparatingLook",
    "comparison_document",
    "confusions_document",
    "strength",
]

#: Likeness [0..1] below which a character separates clearly, and below which it does so partly.
CLEARLY, PARTLY = 0.35, 0.7


class ComparedCharacter(msgspec.Struct, frozen=True):
    """One character of several taxa; ``overlap`` is the least likeness between two of them [0..1]."""

    character: str
    firm: bool
    overlap: float
    says: dict[str, str]


class SeparatingLook(msgspec.Struct, frozen=True, rename={"in_field": "field"}):
    """A look that separates two taxa; ``field`` where it needs no microscope or reagent."""

    character: str
    in_field: bool
    firm: bool
    likeness: float


class ConfusedTaxon(msgspec.Struct, frozen=True):
    """A taxon that another is taken for; ``near`` is the evidence that the eye has against it [nat]."""

    field_separable: bool
    near: float
    separating: tuple[SeparatingLook, ...]
    taxon: str


def strength(overlap: float) -> str:
    """Return ``clearly``, ``partly`` or ``hardly`` for how well a character separates."""
    return "clearly" if overlap < CLEARLY else "partly" if overlap < PARTLY else "hardly"


def comparison_document(differences: Sequence[Difference], treatments: Sequence[Treatment]) -> list[ComparedCharacter]:
    """Return a comparison, the most separating character first."""
    return [
        ComparedCharacter(
            d.character, d.firm, round(d.overlap, 4), {t.code: says(t.records.get(d.character)) for t in treatments}
        )
        for d in differences
    ]


def confusions_document(confusions: Sequence[Confusion]) -> list[ConfusedTaxon]:
    """Return what a taxon is confused with, the nearest first."""
    return [
        ConfusedTaxon(
            c.field_separable,
            round(c.near, 3),
            tuple(SeparatingLook(s.character, s.field, s.firm, round(s.likeness, 4)) for s in c.separating),
            c.taxon,
        )
        for c in confusions
    ]
