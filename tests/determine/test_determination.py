"""The determination record: complete, repeatable, and careful with its words."""

from __future__ import annotations

import datetime
import json
import re
from dataclasses import replace

import msgspec
import numpy as np
import pytest
from builders import ALL_Y, World, feature, find_of, look, observation, observations

from trug.characters import Vocabulary
from trug.determine.determination import (
    CAUTIONS,
    DANGER,
    FORMAT,
    Determination,
    canonical,
    determine,
    digest_of,
    qualify,
    reasoned_from,
)
from trug.determine.find import Find, Fruitbody, Observer, Place
from trug.determine.standing import Fit, Standing, stand
from trug.determine.table import Table, from_bytes, to_bytes
from trug.records import read_find_text
from trug.treatments import Book

CLUSTER = """
id = "find-1"
date = "2026-10-04"
region = "europe-atlantic"
determiner = "ann"

[[observers]]
id = "ann"

[[fruitbodies]]
id = "one"
stage = "prime"
[fruitbodies.seen]
fruitbody_form = "cap-and-stipe"
hymenophore = "gills"
gill_attachment = "free"
spore_print = "white"
volva = "sac"
base_dug = "whole"
ring = "skirt"
cap_width = "90 mm"

[[fruitbodies]]
id = "two"
stage = "button"
"""


@pytest.fixture(scope="module")
def find(vocabulary: Vocabulary) -> Find:
    return read_find_text(CLUSTER, vocabulary, datetime.date(2026, 11, 1)).find


@pytest.fixture(scope="module")
def record(find: Find, table: Table, book: Book, vocabulary: Vocabulary) -> Determination:
    return determine(find, table, book, vocabulary, program="1.2.3", signed="amanita-phalloides")


def test_the_same_input_gives_the_same_bytes_and_id(
    record: Determination, find: Find, table: Table, book: Book, vocabulary: Vocabulary
) -> None:
    """A second run, and one through a table that was written and read, give the very same record."""
    again = determine(find, table, book, vocabulary, program="1.2.3", signed="amanita-phalloides")
    assert canonical(again) == canonical(record)
    assert digest_of(again) == digest_of(record)
    through = determine(
        find, from_bytes(to_bytes(table)), book, vocabulary, program="1.2.3", signed="amanita-phalloides"
    )
    assert canonical(through) == canonical(record)


def test_another_input_gives_another_id(
    record: Determination, find: Find, table: Table, book: Book, vocabulary: Vocabulary
) -> None:
    """One look, the program or the signed name changes the id."""
    fewer = msgspec.structs.replace(find, looks=find.looks[:-1])
    others = [
        determine(fewer, table, book, vocabulary, program="1.2.3", signed="amanita-phalloides"),
        determine(find, table, book, vocabulary, program="1.2.4", signed="amanita-phalloides"),
        determine(find, table, book, vocabulary, program="1.2.3"),
    ]
    assert len({digest_of(r) for r in (record, *others)}) == 4


def test_versions_and_hashes_are_there(record: Determination, find: Find, book: Book, table: Table) -> None:
    """The record names its format, find, book, program and every constant of the error model."""
    assert record.format == FORMAT == "trug.determination/1"
    assert (record.find, record.find_sha256) == (find.id, digest_of(reasoned_from(find)))
    assert (record.book_sha256, record.book_date, record.program) == (book.digest, book.date, "1.2.3")
    assert re.fullmatch(r"[0-9a-f]{64}", record.book_sha256)
    assert re.fullmatch(r"[0-9a-f]{64}", digest_of(record))
    assert record.error_model == msgspec.to_builtins(table.model)


def test_the_canonical_form_is_sorted_and_rounded() -> None:
    """Keys are sorted, floats have six places, minus zero is zero, and there is no space."""
    assert canonical({"b": 0.12345678, "a": [-0.0000001, 1.0]}) == b'{"a":[0.0,1.0],"b":0.123457}'


def test_a_record_survives_reading(record: Determination) -> None:
    """What was written reads back as the same record, to its six places."""
    again = msgspec.json.decode(canonical(record), type=Determination)
    assert canonical(again) == canonical(record)


FORBIDDEN = re.compile(r"\bsafe(ly|ty)?\b|\bedible\b|\bharmless\b", re.IGNORECASE)


def _texts(value: object) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        return [t for k, v in value.items() for t in (k, *_texts(v))]
    if isinstance(value, list):
        return [t for v in value for t in _texts(v)]
    return []


@pytest.mark.parametrize("signed", ["amanita-phalloides", "macrolepiota-procera", None])
def test_no_word_of_it_calls_anything_safe(
    find: Find, table: Table, book: Book, vocabulary: Vocabulary, signed: str | None
) -> None:
    """Neither keys nor texts of a record speak of safety or of what is good to eat."""
    record = determine(find, table, book, vocabulary, program="1", signed=signed, names=500, looks_ahead=500)
    texts = _texts(json.loads(canonical(record)))
    assert len(texts) > 500
    assert [t for t in texts if FORBIDDEN.search(t)] == []


def test_a_released_record_speaks_of_looks_and_errors_only() -> None:
    """The best that a record says is how many looks were made and how many errors they withstand."""
    world = World()
    record = determine(find_of(ALL_Y), world.table, world.book, world.vocabulary, program="1", signed="bonus-primus")
    body = record.fruitbodies[0]
    assert body.release.allowed
    assert re.fullmatch(r"no listed harmful taxon left open \(5 looks, withstands \d+ errors\)", body.summary)
    assert [t for t in _texts(json.loads(canonical(record))) if FORBIDDEN.search(t)] == []


def test_outside_the_covered_regions_the_best_state_is_not_reached() -> None:
    """Where the book does not cover the region, or none was given, the summary says so and nothing is released."""
    world = World()
    for region in ("elsewhere", None):
        find = find_of(ALL_Y, region=region)
        record = determine(find, world.table, world.book, world.vocabulary, program="1", signed="bonus-primus")
        body = record.fruitbodies[0]
        assert "no listed harmful taxon left open" not in body.summary
        assert "does not come from a region that this book covers" in body.summary
        assert not body.release.allowed
        assert not record.covered


def test_danger_and_cautions_are_always_said(record: Determination) -> None:
    """Every record carries the danger that remains and the trade's cautions."""
    assert record.danger == DANGER
    assert record.cautions == CAUTIONS
    told = " ".join(CAUTIONS).lower()
    for word in (
        "experienced person",
        "cook",
        "small portion",
        "three days",
        "four weeks",
        "proves nothing",
        "clinician",
    ):
        assert word in told
    assert "poison centre" in told


def test_every_fruitbody_has_its_own_ledger(record: Determination, table: Table) -> None:
    """Each fruitbody lists every harmful taxon; one that nobody looked at keeps all of them open and is not named."""
    one, two = record.fruitbodies
    assert len(one.ledger) == len(two.ledger) == len(table.harmful)
    assert (two.looks, two.proposed, two.contributions) == (0, "not named", ())
    assert not any(line.ruled_out for line in two.ledger)
    assert "unexamined" in [code for code, *_ in two.release.reasons]
    assert one.names[0].name.startswith("Amanita")


def test_what_speaks_against_a_taxon_is_told_with_its_source(record: Determination, book: Book) -> None:
    """Each contradiction names the look, what the treatment says, and a source of the book."""
    lines = [(line, a) for line in record.fruitbodies[0].ledger for a in line.against]
    assert lines
    for line, against in lines:
        written = book.treatments[line.taxon].records[against.character]
        assert (against.source, against.at) == (written.source, written.at)
        assert against.treatment_says
        assert against.seen


def test_names_come_most_likely_first_and_sum_with_the_stranger(
    find: Find, table: Table, book: Book, vocabulary: Vocabulary
) -> None:
    """All names and the stranger together have probability 1; a record keeps as many names as asked."""
    record = determine(find, table, book, vocabulary, program="1", names=len(table.taxa), looks_ahead=3)
    body = record.fruitbodies[0]
    chances = [n.probability for n in body.names]
    assert chances == sorted(chances, reverse=True)
    assert sum(chances) + body.unlisted == pytest.approx(1.0)
    assert len(body.next_looks) == 3
    assert len(determine(find, table, book, vocabulary, program="1", names=2).fruitbodies[0].names) == 2


def test_contributions_add_up_to_the_lead(record: Determination) -> None:
    """Every look that is used has one contribution, the heaviest first."""
    body = record.fruitbodies[0]
    weights = [abs(c.over_average) for c in body.contributions]
    assert weights == sorted(weights, reverse=True)
    assert {c.character for c in body.contributions} == {
        "fruitbody_form", "hymenophore", "gill_attachment", "spore_print", "volva", "ring", "cap_width",
    }  # fmt: skip


def test_contributions_are_ratios_of_tempered_likelihoods() -> None:
    """Over the runner-up, contributions sum to the difference of both taxa's log-likelihoods."""
    world = World()
    record = determine(find_of(ALL_Y), world.table, world.book, world.vocabulary, program="1")
    standing = world.stand(find_of(ALL_Y))
    order = np.argsort(-standing.posterior)
    expected = standing.taxa[order[0]] - standing.taxa[order[1]]
    assert sum(c.over_runner_up for c in record.fruitbodies[0].contributions) == pytest.approx(expected)


def test_looks_that_are_not_used_are_told_with_the_reason() -> None:
    """Voided, unsure and conflicting looks are listed with why."""
    world = World()
    looks = [look("a", "y", sure="unsure"), look("b", "y"), look("b", "x", id="look-b2"), look("e", "y")]
    find = find_of(looks, fruitbodies=(Fruitbody("f1", "prime", ("mouldy",)),))
    body = determine(find, world.table, world.book, world.vocabulary, program="1").fruitbodies[0]
    reasons = {look_id: reason for look_id, _, reason in body.not_used}
    assert set(reasons) == {"look-a", "look-b", "look-b2", "look-e"}
    assert "unsure" in reasons["look-a"]
    assert "contradicts" in reasons["look-b"]
    assert "mouldy" in reasons["look-e"]
    assert body.conflicts == (("look-b", "look-b2"),)


@pytest.mark.parametrize(("practice", "expected"), [("practised", True), ("student", False), ("beginner", False)])
def test_tasting_is_never_proposed_to_a_student(practice: str, expected: bool) -> None:
    """The gate of tasting asks for a practised observer who may taste."""
    world = World(characters={"e": feature("e", gate="taste")}, eaten="lactarius-primus")
    for may_taste in (True, False):
        who = Observer("me", practice=practice, may_taste=may_taste)  # type: ignore[arg-type]
        find = find_of(dict.fromkeys("abcd", "y"), observers=(who,))
        body = determine(find, world.table, world.book, world.vocabulary, program="1").fruitbodies[0]
        proposed = {n.character for n in body.next_looks}
        assert ("e" in proposed) is (expected and may_taste)


def standing_with(posterior: dict[str, float], unlisted: float, poor: bool = False) -> Standing:
    """Return a standing with a given outcome, to ask for its qualifier."""
    standing = CONGENERS.stand(find_of({"a": "y"}))
    table = standing.table
    p = np.array([posterior.get(t, 0.0) for t in table.taxa])
    return replace(
        standing, posterior=p, unlisted=unlisted, leading=int(p.argmax()), fit=Fit(0.0, (), excluded=(), poor=poor)
    )


CONGENERS = World()


@pytest.mark.parametrize(
    ("posterior", "unlisted", "poor", "expected"),
    [
        ({"bonus-primus": 0.97, "malus-primus": 0.02}, 0.01, False, "Bonus primus"),
        ({"bonus-primus": 0.80, "malus-primus": 0.19}, 0.01, False, "Bonus cf. primus"),
        ({"bonus-primus": 0.48, "bonus-secundus": 0.47, "malus-primus": 0.04}, 0.01, False, "Bonus sp."),
        ({"bonus-primus": 0.45, "malus-primus": 0.40, "bonus-secundus": 0.14}, 0.01, False, "not named"),
        ({"bonus-primus": 0.80, "malus-primus": 0.05}, 0.15, False, "Bonus aff. primus"),
        ({"bonus-primus": 0.97, "malus-primus": 0.02}, 0.01, True, "Bonus aff. primus"),
        ({"bonus-primus": 0.40, "malus-primus": 0.02}, 0.58, False, "not named"),
        ({"bonus-primus": 0.50, "malus-primus": 0.30}, 0.20, False, "not named"),
    ],
)
def test_qualifiers_follow_the_numbers(posterior: dict[str, float], unlisted: float, poor: bool, expected: str) -> None:
    """Plain, cf., sp., aff. or not named, by share, stranger and fit."""
    assert qualify(standing_with(posterior, unlisted, poor), CONGENERS.book) == expected


def test_an_account_that_excludes_a_look_gives_aff() -> None:
    """A leading name whose own account excludes what was seen is never given plainly."""
    standing = standing_with({"bonus-primus": 0.98}, 0.01)
    excluded = replace(standing, fit=Fit(0.0, (), excluded=("look-a",), poor=False))
    assert qualify(excluded, CONGENERS.book) == "Bonus aff. primus"


def test_an_aggregate_is_said_to_be_one() -> None:
    """A name that stands for several species says so."""
    world = World(good={"rank": "aggregate"})
    assert qualify(world.stand(find_of(ALL_Y)), world.book) == "Bonus primus (aggregate)"


def test_a_genus_is_named_as_one() -> None:
    """A name for a whole genus takes no epithet and no qualifier; a stranger leaves it only where it is clear."""
    genus = replace(CONGENERS.book.treatments["bonus-primus"], rank="genus")
    book = replace(CONGENERS.book, treatments={**CONGENERS.book.treatments, "bonus-primus": genus})
    for share, unlisted, expected in ((0.98, 0.01, "Bonus sp."), (0.6, 0.01, "Bonus sp."), (0.6, 0.2, "not named")):
        assert qualify(standing_with({"bonus-primus": share, "malus-primus": 0.98 - share}, unlisted), book) == expected


def test_without_looks_nothing_is_named(table: Table, book: Book) -> None:
    """Place and date alone never give a name."""
    assert qualify(stand(table, observations(table, [])), book) == "not named"
    one = stand(table, observations(table, [observation(table, table.index["hymenophore"], 0)]))
    assert qualify(one, book) == "not named"


def test_a_record_does_not_tell_where_the_find_lies_not_even_by_its_hash(
    find: Find, book: Book, table: Table, vocabulary: Vocabulary
) -> None:
    """Two exact points with the same looks give the same bytes, so that no point can be guessed back."""
    records = []
    for lat in (55.676412, 48.137154):
        there = msgspec.structs.replace(find, place=Place(lat, 12.0, altitude_m=40.0), notes=f"at {lat}")
        records.append(canonical(determine(there, table, book, vocabulary, program="0")))

    assert records[0] == records[1]
    assert b"55.67" not in records[0]
