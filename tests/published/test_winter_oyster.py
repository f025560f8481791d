"""What pickers of the winter oyster go by, as check values.

SOURCE: common practice, unless a fact names a key of ``sources.toml`` that supports it in the treatment
``pleurotus/ostreatus.toml`` (seen 2026-11-25). None of this says that a find may be eaten.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from trug.characters import Vocabulary
from trug.determine.determination import FruitbodyResult, determine
from trug.determine.find import Evidence, Find, Fruitbody, Look, Measurement
from trug.determine.standing import log_prior
from trug.determine.table import Table
from trug.treatments import Book

OYSTER = "pleurotus-ostreatus"
SUMMER_OYSTER = "pleurotus-pulmonarius"
ANGEL_WINGS = "pleurocybella-porrigens"
JACK_O_LANTERNS = ("omphalotus-illudens", "omphalotus-olearius")
NAMED = ("always", "usually", "sometimes", "rarely")

#: Common practice: fact, character, stage ("" where age changes nothing), states, published key or None.
FACTS = (
    ("a print of white to pale lilac-grey", "spore_print", "", ("white", "pale-lilac"), "gibson-eflora"),
    ("white flesh", "flesh_colour", "", ("white",), "phillips-2006"),
    ("flesh that does not change when cut", "flesh_change", "", ("none",), None),
    ("even-edged gills", "gill_edge", "", ("even",), None),
    ("gills that run down", "gill_attachment", "", ("decurrent", "short-decurrent"), "phillips-2006"),
    ("a stub of a stipe at the side", "stipe_position", "", ("lateral", "off-centre"), "phillips-2006"),
    ("white gills at first", "hymenophore_colour", "young", ("white",), "phillips-2006"),
    ("gills that yellow with age", "hymenophore_colour", "past", ("cream", "pale-yellow"), "phillips-2006"),
    ("a fan- to kidney-shaped cap", "cap_shape", "", ("fan",), "phillips-2006"),
    ("greyest when young", "cap_colour", "young", ("blue-grey", "grey", "grey-brown"), "phillips-2006"),
    ("beige later", "cap_colour", "past", ("tan", "buff"), "gibson-eflora"),
    ("dead wood", "substrate", "", ("dead-standing", "fallen-wood", "stump"), None),
    ("hardwood, seldom conifer", "wood_kind", "", ("broadleaved", "conifer"), None),
    ("a smell of the sea or of anise", "smell", "", ("sea", "anise"), None),
)

#: The looks above on one grown fruitbody.
LOOKS: dict[str, Any] = {
    "fruitbody_form": "shelf",
    "hymenophore": "gills",
    "cap_shape": "fan",
    "cap_width": 90.0,
    "cap_colour": ("grey-brown", "tan"),
    "hymenophore_colour": ("white", "cream"),
    "gill_attachment": "decurrent",
    "gill_edge": "even",
    "stipe_position": "lateral",
    "stipe_length": 15.0,
    "flesh_colour": "white",
    "flesh_change": "none",
    "smell": ("sea", "anise"),
    "taste": "mild",
    "substrate": ("dead-standing", "fallen-wood"),
    "wood_kind": "broadleaved",
    "spore_print": ("white", "pale-lilac"),
}
#: What else can be seen without a microscope on a stout, firm oyster.
OTHER_MACROSCOPIC_LOOKS: dict[str, Any] = {
    "growth_manner": "tiered",
    "consistency": "firm",
    "cap_surface": "smooth",
    "cap_edge": "inrolled",
    "cap_moisture": "dry",
    "gill_spacing": "close",
    "gill_forks": "simple",
    "stipe_width": 15.0,
    "stipe_colour": "white",
    "stipe_base": "joined",
    "stipe_inside": "solid",
    "base_mycelium": "white",
    "flesh_texture": "firm",
    "flesh_depth": 12.0,
    "latex": "none",
    "glow": "none",
    "ring": "absent",
    "volva": "absent",
    "base_dug": "whole",
}
#: Each alone is enough that it is no winter oyster (common practice).
NOT_AN_OYSTER = {
    "bitter flesh": {"taste": "bitter"},
    "orange gills": {"hymenophore_colour": "orange"},
    "clay-brown print": {"spore_print": "clay-brown"},
    "snuff-brown print": {"spore_print": "dull-brown"},
    "rust-brown print": {"spore_print": "rust-brown"},
}
wrong_looks = pytest.mark.parametrize("wrong", NOT_AN_OYSTER.values(), ids=NOT_AN_OYSTER.keys())


def evidence_of(seen: Any) -> Evidence:
    """The evidence of a state, several states or a measurement."""
    if isinstance(seen, float):
        return Evidence(measurement=Measurement(seen))
    return Evidence(states=(seen,) if isinstance(seen, str) else seen)


def judge(
    looks: dict[str, Any],
    book: Book,
    table: Table,
    vocabulary: Vocabulary,
    *,
    stage: str = "prime",
    date: str = "2025-12-06",
) -> FruitbodyResult:
    """The result for one fruitbody from Central Europe, signed as the oyster."""
    made = tuple(Look(id=c, character=c, evidence=evidence_of(seen), fruitbody="a") for c, seen in looks.items())
    find = Find(
        id="winter-oyster", date=date, fruitbodies=(Fruitbody("a", stage),), region="europe-central", looks=made
    )
    return determine(find, table, book, vocabulary, program="test", signed=OYSTER).fruitbodies[0]


def open_taxa(result: FruitbodyResult) -> set[str]:
    """The harmful taxa that are not ruled out."""
    return {line.taxon for line in result.ledger if not line.ruled_out}


def plain_oyster_names(book: Book) -> set[str]:
    """Every way to name an oyster without a qualifier."""
    names = {t.name for t in book.treatments.values() if t.code.startswith("pleurotus-")}
    return names | {f"{name} (aggregate)" for name in names}


def everything_that_fits(table: Table) -> dict[str, Any]:
    """The most likely state of every character that the treatment records, microscope included; base dug, cut."""
    taxon = table.taxon_index[OYSTER]
    looks: dict[str, Any] = {"base_dug": "whole", "egg_section": "cap-shut"}
    for i, c in enumerate(table.characters):
        if table.recorded[taxon, i]:
            best = int(table.truth[table.row_start[taxon] + 1, c.first : c.last].argmax())
            looks[c.code] = math.sqrt(c.edges[best] * c.edges[best + 1]) if c.edges else c.states[best]
    return looks


@pytest.mark.parametrize(("fact", "character", "stage", "states", "key"), FACTS, ids=[f[0] for f in FACTS])
def test_treatment_holds_what_the_trade_goes_by(
    book: Book, fact: str, character: str, stage: str, states: tuple[str, ...], key: str | None
) -> None:
    """Every state of the fact is named and not excluded; the published key is the one given in ``FACTS``.

    phillips-2006: white flesh, gills and stipe, shape of the cap, grey of the young, gills that yellow.
    gibson-eflora: print, width of the cap, later colours. The others are common practice alone.
    """
    record = book.treatments[OYSTER].records[character]
    words = record.words[stage]

    assert {words.get(state) for state in states} <= set(NAMED), fact
    if key is not None:
        assert key in (record.source, *record.also)
        assert book.source_kind(key) == "published"


def test_conifer_wood_and_bitterness_are_the_exception(book: Book) -> None:
    """Conifer wood is rare, bitter is not named at all, hardwood and mild are usual (common practice)."""
    records = book.treatments[OYSTER].records

    assert records["wood_kind"].words[""] == {"broadleaved": "usually", "conifer": "rarely"}
    assert records["taste"].words[""]["mild"] == "usually"
    assert records["taste"].words[""].get("bitter", "never") == "never"


def test_cap_width_covers_that_of_the_trade(book: Book) -> None:
    """The range reaches over 25 to 150 mm and more (common practice; gibson-eflora: (4)6-15(25) cm)."""
    record = book.treatments[OYSTER].records["cap_width"]

    assert record.source == "gibson-eflora"
    assert record.size is not None
    assert record.size.low <= 150.0
    assert record.size.low_extreme <= 40.0
    assert record.size.high_extreme > 150.0


def test_it_fruits_in_the_cold_months_and_the_paler_species_in_summer(book: Book, table: Table) -> None:
    """October to April against summer: the season favours each in its own half of the year (common practice)."""
    winter, summer = book.treatments[OYSTER].prior.months, book.treatments[SUMMER_OYSTER].prior.months
    oyster, pale = table.taxon_index[OYSTER], table.taxon_index[SUMMER_OYSTER]
    january, july = (log_prior(table, month, "europe-central") for month in (1, 7))

    assert {11, 12, 1, 2, 3} <= winter
    assert not {12, 1, 2, 3} & summer
    assert {6, 7, 8} <= summer
    assert not {6, 7, 8} & winter
    assert january[oyster] > january[pale]
    assert july[pale] > july[oyster]


@pytest.mark.parametrize(
    ("looks", "stage"),
    [
        ({}, "prime"),
        ({"spore_print": "white"}, "prime"),
        ({"spore_print": "pale-lilac"}, "prime"),
        ({"smell": "sea"}, "prime"),
        ({"smell": "anise"}, "prime"),
        ({"cap_width": 25.0}, "prime"),
        ({"cap_width": 150.0}, "prime"),
        ({"cap_width": 220.0}, "prime"),
        ({"wood_kind": "conifer"}, "prime"),
        ({"cap_colour": ("blue-grey", "grey"), "hymenophore_colour": "white"}, "young"),
        ({"cap_colour": ("tan", "buff"), "hymenophore_colour": ("cream", "pale-yellow")}, "past"),
    ],
)
def test_the_looks_of_the_trade_lead_to_the_oyster(
    book: Book, table: Table, vocabulary: Vocabulary, looks: dict[str, Any], stage: str
) -> None:
    """A find with these looks is named an oyster first, at every age and size that the trade tells of."""
    result = judge({**LOOKS, **looks}, book, table, vocabulary, stage=stage)

    assert result.names[0].taxon == OYSTER
    assert result.proposed.startswith("Pleurotus")
    assert not result.poor_fit


@pytest.mark.parametrize("cap", [("white", "cream"), ("cream", "buff")])
def test_a_pale_summer_find_leads_to_the_paler_species(
    book: Book, table: Table, vocabulary: Vocabulary, cap: tuple[str, ...]
) -> None:
    """The same looks with a pale cap in July lead to the summer species (common practice)."""
    result = judge({**LOOKS, "cap_colour": cap}, book, table, vocabulary, date="2025-07-06")

    assert result.names[0].taxon == SUMMER_OYSTER


@wrong_looks
def test_what_no_oyster_has_takes_the_plain_name_away(
    book: Book, table: Table, vocabulary: Vocabulary, wrong: dict[str, Any]
) -> None:
    """With one look that no oyster has, all others fitting, the find is not plainly an oyster."""
    result = judge({**LOOKS, **wrong}, book, table, vocabulary)

    assert result.proposed not in plain_oyster_names(book)


@wrong_looks
def test_what_no_oyster_has_is_never_released_as_one(
    book: Book, table: Table, vocabulary: Vocabulary, wrong: dict[str, Any]
) -> None:
    """With one look that no oyster has, the find is refused under the name of the oyster."""
    result = judge({**LOOKS, **wrong}, book, table, vocabulary)

    assert not result.release.allowed


@wrong_looks
def test_what_no_oyster_has_is_not_released_however_much_else_fits(
    book: Book, table: Table, vocabulary: Vocabulary, wrong: dict[str, Any]
) -> None:
    """Dozens of fitting looks, the microscope's among them, do not outweigh one that no oyster has."""
    result = judge({**everything_that_fits(table), **wrong}, book, table, vocabulary)

    assert not result.release.allowed
    assert result.proposed not in plain_oyster_names(book)


def test_a_white_print_alone_leaves_the_jack_o_lanterns_and_angel_wings_open(
    book: Book, table: Table, vocabulary: Vocabulary
) -> None:
    """A white print does not tell white-spored species apart."""
    result = judge({"spore_print": "white"}, book, table, vocabulary)

    assert {*JACK_O_LANTERNS, ANGEL_WINGS} <= open_taxa(result)
    assert not result.release.allowed


@pytest.mark.parametrize("cap", [("grey-brown", "tan"), ("white", "cream")], ids=["grey cap", "white cap"])
@pytest.mark.parametrize("wood", ["broadleaved", "conifer"])
def test_all_macroscopic_looks_leave_angel_wings_open(
    book: Book, table: Table, vocabulary: Vocabulary, cap: tuple[str, ...], wood: str
) -> None:
    """A white print with every other look of an oyster but no microscope leaves angel wings open."""
    looks = {**LOOKS, **OTHER_MACROSCOPIC_LOOKS, "cap_colour": cap, "wood_kind": wood, "spore_print": "white"}
    result = judge(looks, book, table, vocabulary)

    assert result.names[0].taxon.startswith("pleurotus-")
    assert ANGEL_WINGS in open_taxa(result)
    assert ("open", ANGEL_WINGS) in {(code, taxon) for code, _, taxon, _ in result.release.reasons}
