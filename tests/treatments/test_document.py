from __future__ import annotations

import msgspec
import pytest

from trug.characters import Vocabulary
from trug.determine.comparison import ComparedCharacter, ConfusedTaxon, SeparatingLook, strength
from trug.treatments import Book
from trug.treatments.document import (
    CharacterLine,
    HarmDocument,
    RecordDocument,
    TreatmentDocument,
    UseDocument,
    character_lines,
    treatment_document,
)

DOCUMENTS = [
    CharacterLine,
    ComparedCharacter,
    ConfusedTaxon,
    HarmDocument,
    RecordDocument,
    SeparatingLook,
    TreatmentDocument,
    UseDocument,
]


@pytest.mark.parametrize("kind", DOCUMENTS)
def test_fields_are_written_in_alphabetical_order(kind: type[msgspec.Struct]) -> None:
    names = list(kind.__struct_encode_fields__)
    assert names == sorted(names)


def test_every_treatment_comes_back_from_its_document(book: Book) -> None:
    for t in book.treatments.values():
        made = treatment_document(book, t)
        assert msgspec.json.decode(msgspec.json.encode(made), type=TreatmentDocument) == made
        assert set(made.characters) == set(t.records)
        assert (made.harm is None) == (t.harm is None)
        assert (made.use is None) == (t.use is None)


def test_the_list_of_characters_holds_every_one_with_its_states(vocabulary: Vocabulary) -> None:
    lines = character_lines(vocabulary)
    assert {code: line.states for code, line in lines.items()} == {
        code: c.codes for code, c in vocabulary.characters.items()
    }


@pytest.mark.parametrize(
    ("overlap", "word"),
    [(0.0, "clearly"), (0.34, "clearly"), (0.35, "partly"), (0.69, "partly"), (0.7, "hardly"), (1.0, "hardly")],
)
def test_strength_goes_by_likeness(overlap: float, word: str) -> None:
    assert strength(overlap) == word
