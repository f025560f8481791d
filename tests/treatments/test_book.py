"""Facts of the shipped book."""

from __future__ import annotations

import datetime
import re

import pytest

from trug.characters import Vocabulary
from trug.determine.confusions import Confusions, depth
from trug.determine.table import Table
from trug.treatments import Book
from trug.treatments.check import DECISIVE, findings, unsourced
from trug.treatments.model import BUILT_IN_SOURCES, HARM_LEVELS, SEVERE

#: Common practice: what every course on harmful fungi of these regions names.
CLASSICS = {
    "amanita-phalloides": "kills",
    "amanita-virosa": "kills",
    "galerina-marginata": "kills",
    "cortinarius-orellanus": "kills",
    "cortinarius-rubellus": "kills",
    "lepiota-brunneoincarnata": "kills",
    "gyromitra-esculenta": "kills",
    "paxillus-involutus": "kills",
    "pholiotina-rugosa": "kills",
}


#: Common practice: fungi that killed or crippled people who thought them good.
THOUGHT_GOOD = (
    "pleurocybella-porrigens",
    "gyromitra-esculenta",
    "paxillus-involutus",
    "tricholoma-equestre",
)
#: Fungi of the stillroom, and one each that they are taken for.
STILLROOM = {
    "fomitopsis-betulina": "fomitopsis-pinicola",
    "inonotus-obliquus": "phellinus-igniarius",
    "fomes-fomentarius": "phellinus-igniarius",
    "ganoderma-lucidum": "fomitopsis-pinicola",
    "trametes-versicolor": "stereum-ostrea",
}


def test_there_are_at_least_220_taxa_of_both_continents(book: Book) -> None:
    taxa = [t for t in book.treatments.values() if t.rank != "group"]
    assert len(taxa) >= 220
    for continent in ("europe-", "america-"):
        assert sum(any(r.startswith(continent) for r in t.prior.regions) for t in taxa) >= 150


@pytest.mark.parametrize("code", THOUGHT_GOOD)
def test_what_killed_those_who_thought_it_good_is_not_for_anyone(book: Book, code: str) -> None:
    t = book.treatments[code]
    assert t.harm is not None
    assert t.harm.thought_good
    assert t.use is None


@pytest.mark.parametrize(("code", "other"), STILLROOM.items())
def test_the_stillroom_s_fungi_stand_with_what_they_are_taken_for(book: Book, code: str, other: str) -> None:
    use = book.treatments[code].use
    assert use is not None
    assert use.kind == "medicine"
    assert other in book.treatments


def test_eaten_fungi_say_what_the_kitchen_must_know(book: Book) -> None:
    """Stages, what is cut away, how it keeps; why it is cooked wherever it must be."""
    for t in book.treatments.values():
        if t.use is None or t.use.kind != "food":
            continue
        assert t.use.trim, t.code
        assert t.use.keeps, t.code
        must = any(c.startswith("cook-through") for c in t.use.conditions)
        assert must or t.use.conditions, t.code
        assert not must or t.use.cook_because, t.code


def test_raw_morels_and_inkcaps_with_alcohol_are_warned_of(book: Book) -> None:
    """Common practice."""
    for code in ("morchella-esculenta", "morchella-semilibera"):
        use = book.treatments[code].use
        assert use is not None
        assert "cook-through" in use.conditions
    ink = book.treatments["coprinopsis-atramentaria"]
    assert ink.harm is not None
    assert ink.harm.condition == "no-alcohol"
    assert {c.code for c in book.treatments["inonotus-obliquus"].cautions} & {"kidney-stones", "kidney-disease"}


def test_a_tradition_is_always_sourced(book: Book) -> None:
    told = [x for t in book.treatments.values() for x in t.traditions]
    assert len(told) >= 8
    for x in told:
        assert book.source_kind(x.source) == "published"
        assert x.at or x.printed


def test_nothing_excludes_what_kills_or_maims_without_a_published_account(book: Book) -> None:
    assert unsourced(book) == []


def test_most_decisive_values_are_published(book: Book, vocabulary: Vocabulary) -> None:
    """What rests on memory there is told by the check; it is little."""
    left = [note for note in findings(book, vocabulary) if "decides and has no published source" in note]
    severe = [t for t in book.treatments.values() if t.harm and t.harm.level in SEVERE]
    assert len(left) <= 0.1 * sum(len(set(DECISIVE) & set(t.records)) for t in severe)


def test_treatments_are_deep(table: Table) -> None:
    """Characters that help to separate a fungus from what it is taken for: 25 in the middle, 35 for the harmful."""
    found = depth(Confusions(table))
    assert found["median_separating"] >= 25
    assert found["median_separating_harmful_and_confused"] >= 35


def test_every_value_has_a_known_source(book: Book) -> None:
    for code, t in book.treatments.items():
        keys = {r.source for r in t.records.values()} | {k for r in t.records.values() for k in r.also}
        keys |= {t.prior.source} | ({t.harm.source} if t.harm else set()) | ({t.use.source} if t.use else set())
        assert keys <= set(book.sources), code
        assert "" not in keys, code


def test_a_published_value_tells_where_in_its_source_it_stands(book: Book) -> None:
    for code, t in book.treatments.items():
        for character, r in t.records.items():
            if book.source_kind(r.source) == "published":
                assert r.at or r.printed, (code, character)


def test_every_published_source_can_be_looked_up(book: Book) -> None:
    for key, s in book.sources.items():
        if key in BUILT_IN_SOURCES:
            assert s.kind == BUILT_IN_SOURCES[key]
            continue
        assert s.kind in ("published", "practice"), key
        assert s.title, key
        assert s.authors or s.container, key
        assert s.doi or s.isbn or s.url or s.container, key
        assert s.cite().strip(), key


def test_every_taxon_that_kills_or_damages_is_sourced_and_told(book: Book) -> None:
    severe = [t for t in book.treatments.values() if t.harm and t.harm.level in ("kills", "organ")]
    assert len(severe) >= 15
    for t in severe:
        assert t.harm is not None
        assert t.harm.syndrome, t.code
        assert t.harm.latency_h or t.harm.printed or t.notes, t.code
        assert book.source_kind(t.harm.source) == "published", t.code
        assert t.use is None, t.code


@pytest.mark.parametrize(("code", "level"), CLASSICS.items())
def test_the_species_that_every_course_warns_of_are_held_at_their_level(book: Book, code: str, level: str) -> None:
    harm = book.treatments[code].harm
    assert harm is not None
    assert harm.level == level


def test_harm_levels_are_known_and_conditional_harm_names_its_condition(book: Book) -> None:
    harms = {t.code: t.harm for t in book.treatments.values() if t.harm}
    assert {h.level for h in harms.values()} == set(HARM_LEVELS)
    for code, h in harms.items():
        assert (h.level == "conditional") == bool(h.condition), code


def test_what_is_used_is_harmless_or_harmful_on_conditions_only(book: Book) -> None:
    for t in book.treatments.values():
        if t.use is not None:
            assert t.harm is None or t.harm.level == "conditional", t.code
            assert t.use.stages, t.code
            assert t.use.kind in ("food", "medicine"), t.code


def test_treatments_are_whole_enough_to_reason_from(book: Book, vocabulary: Vocabulary) -> None:
    for t in book.treatments.values():
        assert len(t.records) >= 20, t.code
        assert {"fruitbody_form", "spore_print"} & set(t.records), t.code
        assert set(t.records) <= {c.code for c in vocabulary.looks()}, t.code
        assert t.prior.months, t.code
        assert t.prior.regions, t.code


def test_a_genus_stands_in_a_group_that_tells_its_harm(book: Book) -> None:
    """A name for a whole genus is shown with the worst level of its groups, and is never used."""
    genera = [t for t in book.treatments.values() if t.rank == "genus"]
    assert {t.code for t in genera} >= {"cortinarius-sp", "inocybe-sp"}
    for t in genera:
        assert book.danger(t) == "kills"
        assert book.groups_of(t)
        assert t.use is None
    assert book.danger(book.treatments["galerina-marginata"]) == "kills"
    assert book.danger(book.treatments["flammulina-velutipes"]) == ""


def test_codes_names_and_files_agree(book: Book) -> None:
    for code, t in book.treatments.items():
        assert re.fullmatch(r"[a-z]+-[a-z-]+", code)
        assert t.code == code
        assert t.name.lower().replace(" ", "-").startswith(code.split("-")[0])
    names = [t.name for t in book.treatments.values()]
    assert len(set(names)) == len(names)


def test_every_harmful_taxon_that_kills_insists_on_a_look(book: Book) -> None:
    for t in book.treatments.values():
        if t.harm and t.harm.level == "kills":
            assert t.insist, t.code


def test_the_whole_groups_of_the_trade_are_held(book: Book, vocabulary: Vocabulary) -> None:
    """The design names Amanita, small Lepiota, white Clitocybe, webcaps and small brown ones."""
    assert {g.code for g in book.groups} >= {"amanitas", "small-parasols", "white-funnels", "webcaps", "small-brown"}
    genera = {code.split("-")[0] for code in book.treatments}
    for g in book.groups:
        assert set(g.genera) <= genera, g.code
        assert g.level == "kills", g.code
        assert any(vocabulary.characters[c].firm for c in g.definition), g.code


def test_regions_are_those_of_the_vocabulary(book: Book, vocabulary: Vocabulary) -> None:
    assert set(book.regions) == set(vocabulary.characters["region"].codes)
    assert all(0 <= share <= 1 for share in book.regions.values())
    assert book.regions["elsewhere"] == 0


def test_the_book_has_a_date_and_a_digest(book: Book) -> None:
    assert datetime.date.fromisoformat(book.date)
    assert re.fullmatch(r"[0-9a-f]{64}", book.digest)


def test_an_exclusion_from_memory_never_counts_against_what_kills(book: Book) -> None:
    assert not book.counts("kills", "from-memory")
    assert not book.counts("kills", "common-practice")
    assert book.counts("kills", "by-definition")
    assert book.counts("gut", "from-memory")
