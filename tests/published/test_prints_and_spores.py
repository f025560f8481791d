"""Spore prints, spore sizes and Q beside published figures.

Sizes in micrometres as printed; where a source gives one range it is the ordinary one, brackets are extremes.
Published figures differ from collection to collection, so ranges have to overlap, and no published figure may
speak against a harmful taxon.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from trug.characters import load_vocabulary
from trug.determine.table import Table
from trug.treatments import Book, load_book
from trug.treatments.model import SizeRange

PHILLIPS = "Phillips (2006), Mushrooms, species accounts; seen 2026-11-25"
KNUDSEN = "5-7 x 4-6 um with reference to Knudsen & Vesterholt, Funga Nordica; seen 2026-11-25"
ALBANESE = "A. Albanese, collection from Lazio (2022), N = 30; seen 2026-11-25"
GBI = "Fungi of Great Britain and Ireland, account of Gyromitra esculenta; seen 2026-11-25"
FOF = "Faces of Fungi FoF 04210, HKAS 87684, China; seen 2026-11-25"
PEGLER = "Pegler, Roberts & Spooner (1997), British Chanterelles and Tooth Fungi; seen 2026-11-25"
HERICIUM_2 = "second published account of Hericium erinaceus; seen 2026-11-25"
HERICIUM_3 = "account of Hericium erinaceus from Taiwan; seen 2026-11-25"
BESSETTE = "Bessette, Bessette & Fischer (1997), Mushrooms of Northeastern North America; seen 2026-11-25"
BRITISH_COLUMBIA = "study of Boletus edulis from British Columbia; seen 2026-11-25"
PRINT_ACCOUNTS = "species accounts, colour of the print; seen 2026-11-25"
#: C. Bas (1969), Morphology and subdivision of Amanita, Persoonia 5:285-579: words for the quotient of spores,
#: as cited in accounts seen 2026-11-25.
BAS = (
    (1.00, 1.05, "globose"),
    (1.05, 1.15, "subglobose"),
    (1.15, 1.30, "broadly ellipsoid"),
    (1.30, 1.60, "ellipsoid"),
    (1.60, 2.00, "oblong"),
    (2.00, 3.00, "cylindrical"),
    (3.00, math.inf, "bacilliform"),
)
#: Which of these classes a word of the vocabulary covers; the other words of the vocabulary are no classes of Bas.
CLASSES_OF = {
    "globose": ("globose", "subglobose"),
    "broad": ("subglobose", "broadly ellipsoid"),
    "ellipsoid": ("ellipsoid", "oblong"),
    "cylinder": ("cylindrical", "bacilliform"),
}
#: Slack on Q: authors round, and measure with or without the apiculus.
Q_TOLERANCE = 1.10
NOT_AFTER_BAS = {"verpa-bohemica": "an account of ascospores that says ellipsoid of spores three times as long as wide"}

#: taxon, length from, to, width from, to, source.
SIZES = (
    ("omphalotus-illudens", 5.0, 7.0, 4.0, 6.0, KNUDSEN),
    ("galerina-marginata", 7.5, 8.6, 4.9, 5.5, ALBANESE),
    ("amanita-phalloides", 8.0, 10.5, 7.0, 8.0, PHILLIPS),
    ("gyromitra-esculenta", 18.0, 23.0, 10.0, 12.5, GBI),
    ("gyromitra-esculenta", 15.0, 20.0, 6.0, 10.0, FOF),
    ("cortinarius-rubellus", 9.0, 12.0, 6.5, 8.5, PHILLIPS),
    ("cortinarius-orellanus", 9.0, 12.0, 5.0, 7.0, PHILLIPS),
    ("hericium-erinaceus", 5.0, 6.0, 4.0, 5.0, PEGLER),
    ("hericium-erinaceus", 5.0, 6.5, 4.0, 5.5, HERICIUM_2),
    ("hericium-erinaceus", 5.0, 7.0, 5.0, 6.0, HERICIUM_3),
    ("boletus-edulis", 13.0, 19.0, 4.0, 6.5, BESSETTE),
    ("boletus-edulis", 14.0, 18.0, 5.0, 6.0, BRITISH_COLUMBIA),
)
#: Printed extremes beyond the ranges above: taxon, character, value, source.
EXTREMES = (
    ("galerina-marginata", "spore_length", 7.0, ALBANESE),
    ("galerina-marginata", "spore_length", 8.8, ALBANESE),
    ("galerina-marginata", "spore_width", 4.6, ALBANESE),
    ("galerina-marginata", "spore_width", 5.8, ALBANESE),
    ("galerina-marginata", "spore_q", 1.3, ALBANESE),
    ("galerina-marginata", "spore_q", 1.8, ALBANESE),
    ("gyromitra-esculenta", "spore_length", 25.0, GBI),
)
#: taxon, Q, where from. Qm of N = 30 spores as printed; the others computed as middle length by middle width.
QUOTIENTS = (
    ("galerina-marginata", 1.5, ALBANESE),
    ("amanita-phalloides", 1.23, PHILLIPS),
    ("cortinarius-rubellus", 1.40, PHILLIPS),
    ("cortinarius-orellanus", 1.75, PHILLIPS),
    ("hericium-erinaceus", 1.2, PEGLER),
    ("boletus-edulis", 3.0, BESSETTE),
)
#: taxon, states of the print that the source's words mean, the words.
PRINTS = (
    ("omphalotus-illudens", ("white", "cream"), "white-cream"),
    ("galerina-marginata", ("rust-brown",), "rusty brown"),
    ("amanita-phalloides", ("white",), "white"),
    ("amanita-virosa", ("white",), "white"),
    ("cortinarius-rubellus", ("rust-brown",), "rust"),
    ("cortinarius-orellanus", ("rust-brown",), "rust"),
    ("chlorophyllum-molybdites", ("green",), "green"),
    ("hericium-erinaceus", ("white",), "white"),
    ("boletus-edulis", ("olive-brown",), "olive-brown"),
    ("tylopilus-felleus", ("salmon-pink",), "pink to vinaceous"),
)
#: Prints that a published account gives to some specimens: they must not speak against the taxon.
ODD_PRINTS = (
    ("chlorophyllum-molybdites", "white", "young caps may print white or not at all"),
    ("chlorophyllum-molybdites", "clay-brown", "a stored print turns ochre-brown"),
)
AMYLOID = (("amanita-phalloides", PHILLIPS), ("amanita-virosa", PHILLIPS), ("hericium-erinaceus", PEGLER))

#: Ranges to confirm: known from memory, no text seen; taxon, length, width, states of the print.
TO_CONFIRM = (
    ("flammulina-velutipes", (7.0, 10.0), (3.0, 4.0), ("white",)),
    ("amanita-virosa", (8.0, 10.0), None, ("white",)),
    ("hypholoma-fasciculare", (6.0, 8.0), (4.0, 5.0), ("purple-brown",)),
    ("cantharellus-cibarius", (7.0, 10.0), (4.5, 6.0), ("cream", "yellow")),
    ("chlorophyllum-molybdites", (9.0, 12.0), (6.0, 8.0), ("green",)),
    ("macrolepiota-procera", (13.0, 18.0), (9.0, 12.0), ("white", "cream")),
    ("laetiporus-sulphureus", (5.0, 7.0), (3.5, 5.0), ("white",)),
    ("coprinopsis-atramentaria", (8.0, 11.0), (5.0, 6.0), ("black",)),
    ("tylopilus-felleus", (11.0, 15.0), (4.0, 5.0), ("salmon-pink",)),
)
#: Left out, and why: a shorter length of Omphalotus illudens known from memory conflicts with the accounts seen.
LEFT_OUT = {("omphalotus-illudens", "spore_length"): (3.5, 5.0)}


def common_words(book: Book, taxon: str, character: str, words: tuple[str, ...]) -> set[str]:
    """The states that a treatment gives with one of some words of frequency, at any stage."""
    record = book.treatments[taxon].records[character]
    return {state for stage in record.words.values() for state, word in stage.items() if word in words}


ORDINARY = ("always", "usually")
BOOK = load_book()
SHAPED = [
    code
    for code, t in sorted(BOOK.treatments.items())
    if {"spore_q", "spore_shape"} <= t.records.keys() and code not in NOT_AFTER_BAS
]
#: Those whose ordinary words are all classes of Bas: no almonds, spindles, beans or corners.
WHOLLY_AFTER_BAS = [code for code in SHAPED if common_words(BOOK, code, "spore_shape", ORDINARY) <= set(CLASSES_OF)]


def size_of(book: Book, taxon: str, character: str) -> SizeRange:
    """The size that the book gives a taxon."""
    size = book.treatments[taxon].records[character].size
    assert size is not None
    return size


def shares(size: SizeRange, low: float, high: float) -> bool:
    """Whether the ordinary range of a size shares a point with a range."""
    return size.low <= high and low <= size.high


def speaks_against(table: Table, taxon: str, character: str, seen: str | float) -> bool:
    """Whether a look contradicts a harmful taxon in the compiled table."""
    column = table.characters[table.index[character]]
    if isinstance(seen, str):
        at = column.states.index(seen)
    else:
        at = int(np.searchsorted(np.array(column.edges), seen, side="right") - 1)
    rows = [i for i, h in enumerate(table.harmful) if table.taxa[h.taxon] == taxon]
    return bool(table.contradicts[rows, column.first + at].any())


def bas_span(word: str) -> tuple[float, float]:
    """The Q that a word of the vocabulary covers after Bas (1969)."""
    rows = [row for row in BAS if row[2] in CLASSES_OF[word]]
    return rows[0][0], rows[-1][1]


@pytest.mark.parametrize(("taxon", "low", "high", "narrow", "wide", "source"), SIZES)
def test_spore_size_overlaps_the_published_one(
    book: Book, table: Table, taxon: str, low: float, high: float, narrow: float, wide: float, source: str
) -> None:
    """Ordinary ranges overlap, the middle lies within the extremes, and no published end contradicts the taxon."""
    for character, a, b in (("spore_length", low, high), ("spore_width", narrow, wide)):
        size = size_of(book, taxon, character)
        assert shares(size, a, b), source
        assert size.low_extreme <= (a + b) / 2 <= size.high_extreme, source
        assert not speaks_against(table, taxon, character, a), source
        assert not speaks_against(table, taxon, character, b), source


@pytest.mark.parametrize(("taxon", "character", "value", "source"), EXTREMES)
def test_published_extreme_does_not_contradict_the_taxon(
    table: Table, taxon: str, character: str, value: float, source: str
) -> None:
    """A spore as extreme as one that was published speaks against nobody's name."""
    assert not speaks_against(table, taxon, character, value), source


@pytest.mark.parametrize(("taxon", "character", "value"), [("galerina-marginata", "spore_length", 25.0)])
def test_a_size_far_outside_does_contradict(table: Table, taxon: str, character: str, value: float) -> None:
    """The check above can fail: a spore three times too long contradicts."""
    assert speaks_against(table, taxon, character, value)


@pytest.mark.parametrize(("taxon", "q", "source"), QUOTIENTS)
def test_quotient_lies_within_the_recorded_one(book: Book, taxon: str, q: float, source: str) -> None:
    """A published or computed Q lies within the printed extremes, and its class of Bas fits a word for the shape."""
    size = size_of(book, taxon, "spore_q")
    words = common_words(book, taxon, "spore_shape", ("always", "usually", "sometimes", "rarely")) & set(CLASSES_OF)

    assert size.low_extreme <= q <= size.high_extreme, source
    assert any(low / Q_TOLERANCE <= q <= high * Q_TOLERANCE for low, high in map(bas_span, words)), source


@pytest.mark.parametrize(("taxon", "states", "printed"), PRINTS)
def test_print_is_the_published_one(
    book: Book, table: Table, taxon: str, states: tuple[str, ...], printed: str
) -> None:
    """The published print is the ordinary print in the book, and it does not speak against the taxon."""
    record = book.treatments[taxon].records["spore_print"]

    assert set(states) & common_words(book, taxon, "spore_print", ORDINARY), (printed, PRINT_ACCOUNTS)
    for state in states:
        assert not record.excludes(state), (printed, PRINT_ACCOUNTS)
        assert not speaks_against(table, taxon, "spore_print", state)


@pytest.mark.parametrize(("taxon", "state", "why"), ODD_PRINTS)
def test_an_odd_print_of_a_harmful_taxon_does_not_exclude_it(
    book: Book, table: Table, taxon: str, state: str, why: str
) -> None:
    """A print that a harmful taxon gives when young or stored never rules it out."""
    assert not book.treatments[taxon].records["spore_print"].excludes(state), why
    assert not speaks_against(table, taxon, "spore_print", state), why


@pytest.mark.parametrize(("taxon", "source"), AMYLOID)
def test_amyloid_spores_are_recorded(book: Book, taxon: str, source: str) -> None:
    """Spores published as amyloid are amyloid in the book, which never excludes it."""
    assert "amyloid" in common_words(book, taxon, "spore_iodine", ORDINARY), source
    assert not book.treatments[taxon].records["spore_iodine"].excludes("amyloid"), source


@pytest.mark.parametrize(("taxon", "length", "width", "prints"), TO_CONFIRM)
def test_range_to_confirm_is_not_far_off(
    book: Book, taxon: str, length: tuple[float, float], width: tuple[float, float] | None, prints: tuple[str, ...]
) -> None:
    """Figures known from memory alone share a point with the book, which does not exclude the print."""
    assert shares(size_of(book, taxon, "spore_length"), *length)
    assert width is None or shares(size_of(book, taxon, "spore_width"), *width)
    assert not any(book.treatments[taxon].records["spore_print"].excludes(state) for state in prints)


@pytest.mark.parametrize(("taxon", "character"), LEFT_OUT)
def test_what_is_left_out_still_does_not_contradict(table: Table, taxon: str, character: str) -> None:
    """A conflicting figure without a source is not asserted, and it does not rule a harmful taxon out either."""
    for value in LEFT_OUT[taxon, character]:
        assert not speaks_against(table, taxon, character, value)


@pytest.mark.parametrize("taxon", SHAPED)
def test_words_for_the_shape_fit_the_recorded_quotient(book: Book, taxon: str) -> None:
    """Each ordinary word that is a class of Bas (1969) shares a Q with the recorded extremes, a tenth of slack."""
    size = size_of(book, taxon, "spore_q")
    words = common_words(book, taxon, "spore_shape", ORDINARY)

    assert words
    for word in words & set(CLASSES_OF):
        low, high = bas_span(word)
        assert low / Q_TOLERANCE <= size.high_extreme
        assert size.low_extreme <= high * Q_TOLERANCE


@pytest.mark.parametrize("taxon", WHOLLY_AFTER_BAS)
def test_compiled_quotient_lies_in_the_classes_of_its_words(book: Book, table: Table, taxon: str) -> None:
    """The median Q that the compiled table gives lies in the span of its words for the shape, a tenth of slack."""
    column = table.characters[table.index["spore_q"]]
    share = np.cumsum(table.truth[table.row_start[table.taxon_index[taxon]], column.first : column.last])
    at = int(np.searchsorted(share, 0.5))
    median = math.sqrt(column.edges[at] * column.edges[at + 1])
    spans = [bas_span(word) for word in common_words(book, taxon, "spore_shape", ORDINARY)]

    assert min(low for low, _ in spans) / Q_TOLERANCE <= median <= max(high for _, high in spans) * Q_TOLERANCE


def test_the_words_for_shape_are_those_of_the_vocabulary() -> None:
    """The classes of Bas adjoin each other, and every word mapped to them is a state of the vocabulary."""
    assert [row[0] for row in BAS[1:]] == [row[1] for row in BAS[:-1]]
    assert set(CLASSES_OF) <= set(load_vocabulary().characters["spore_shape"].codes)
    assert {name for names in CLASSES_OF.values() for name in names} == {row[2] for row in BAS}
