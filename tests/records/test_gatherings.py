"""Finds, fruitbodies and looks: what corrects what, what contradicts what, and what is refused."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import msgspec
import pytest
from kept_finds import DAY, LOOKS, VELVET, gather, look_closely, person
from sqlalchemy import select

from trug.characters import load_vocabulary
from trug.characters.model import Character
from trug.determine.find import Colour, Evidence, Measurement, Sample
from trug.determine.record import Determination
from trug.errors import ImplausibleError, InputError, UnknownWordError
from trug.records.bin import bring_back, put_in_bin
from trug.records.database import Database
from trug.records.documents import corrections, find_document
from trug.records.gatherings import (
    add_find,
    add_fruitbody,
    correct_find,
    correct_fruitbody,
    delete_look,
    make_look,
    make_print,
    refresh,
    state_name,
)
from trug.records.history import Unit
from trug.records.reasoning import Reasoner
from trug.records.tables import FindRow, FindWords, FruitbodyRow, LookRow, Person

VOCABULARY = load_vocabulary()


def standing(unit: Unit, reasoner: Reasoner, find_id: str) -> set[str]:
    """Return the looks that count: those that no other one corrects."""
    looks = find_document(unit.session, find_id, reasoner.here.vocabulary).looks
    return {k.id for k in looks} - {k.supersedes for k in looks}


def reasons(record: Determination, body: str) -> dict[str, tuple[str, ...]]:
    """Return the reasons against a release, each with its looks."""
    result = next(r for r in record.fruitbodies if r.fruitbody == body)
    return {code: looks for code, _, _, looks in result.release.reasons}


def held_back(unit: Unit, reasoner: Reasoner, find_id: str, body: str) -> dict[str, tuple[str, ...]]:
    return reasons(reasoner.of(unit.session, find_id, signed=VELVET)[1], body)


def test_a_new_look_of_the_same_observer_takes_the_place_of_the_old(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        ada = person(unit, "Ada")
        find, body = gather(unit, reasoner, ada)
        made = []
        for colour in ("white", "cream", "rust-brown"):
            look = make_look(
                unit,
                reasoner,
                find.id,
                character="spore_print",
                answer=colour,
                fruitbody_id=body.id,
                observer_id=ada.id,
            )
            made.append(look)

        assert [k.supersedes for k in made] == [None, made[0].id, made[1].id]
        assert standing(unit, reasoner, find.id) == {made[-1].id}
        assert "conflict" not in held_back(unit, reasoner, find.id, body.id)


def test_contradicting_observers_hold_release_back_until_one_is_corrected(
    database: Database, reasoner: Reasoner
) -> None:
    with database.writing() as unit:
        ada, bea = person(unit, "Ada"), person(unit, "Bea")
        find, body = gather(unit, reasoner, ada)
        look_closely(unit, reasoner, find, body, ada)
        assert held_back(unit, reasoner, find.id, body.id) == {}
        print_of_ada = next(k for k in unit.session.scalars(select(LookRow)) if k.character == "spore_print")
        print_of_bea = make_look(
            unit,
            reasoner,
            find.id,
            character="spore_print",
            answer="rust-brown",
            fruitbody_id=body.id,
            observer_id=bea.id,
        )

        assert print_of_bea.supersedes is None
        assert set(held_back(unit, reasoner, find.id, body.id)["conflict"]) == {print_of_ada.id, print_of_bea.id}

        # Ada's next look is still a look beside Bea's; only one that names Bea's corrects it.
        make_look(
            unit, reasoner, find.id, character="spore_print", answer="white", fruitbody_id=body.id, observer_id=ada.id
        )
        assert "conflict" in held_back(unit, reasoner, find.id, body.id)
        make_look(
            unit,
            reasoner,
            find.id,
            character="spore_print",
            answer="white",
            fruitbody_id=body.id,
            observer_id=bea.id,
            supersedes=print_of_bea.id,
        )
        assert held_back(unit, reasoner, find.id, body.id) == {}


def test_contradicting_observers_hold_release_back_until_one_look_is_deleted(
    database: Database, reasoner: Reasoner
) -> None:
    with database.writing() as unit:
        ada, bea = person(unit, "Ada"), person(unit, "Bea")
        find, body = gather(unit, reasoner, ada)
        look_closely(unit, reasoner, find, body, ada)
        wrong = make_look(
            unit, reasoner, find.id, character="volva", answer="sac", fruitbody_id=body.id, observer_id=bea.id
        )
        assert "conflict" in held_back(unit, reasoner, find.id, body.id)

        delete_look(unit, reasoner, wrong.id)
        assert held_back(unit, reasoner, find.id, body.id) == {}
        bring_back(unit, reasoner, "look", wrong.id)
        assert "conflict" in held_back(unit, reasoner, find.id, body.id)


def chain(
    unit: Unit, reasoner: Reasoner, colours: tuple[str, ...] = ("white", "cream", "yellow")
) -> tuple[Any, list[Any]]:
    """Return a find and looks of one observer, each correcting the one before."""
    ada = person(unit, "Ada")
    find, body = gather(unit, reasoner, ada)
    told: dict[str, Any] = {"character": "spore_print", "fruitbody_id": body.id, "observer_id": ada.id}
    return find, [make_look(unit, reasoner, find.id, answer=c, then_refresh=False, **told) for c in colours]


def test_deleting_the_latest_look_lets_the_one_before_stand_again(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        find, (_, second, third) = chain(unit, reasoner)
        delete_look(unit, reasoner, third.id)

        assert standing(unit, reasoner, find.id) == {second.id}


def test_deleting_a_look_in_the_middle_does_not_wake_the_one_that_it_corrected(
    database: Database, reasoner: Reasoner
) -> None:
    with database.writing() as unit:
        find, (first, second, third) = chain(unit, reasoner)
        delete_look(unit, reasoner, second.id)
        assert standing(unit, reasoner, find.id) == {third.id}

        delete_look(unit, reasoner, third.id)
        assert standing(unit, reasoner, find.id) == {first.id}


def test_a_look_made_after_a_deletion_corrects_the_look_that_stands(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        find, (first, second, third) = chain(unit, reasoner)
        delete_look(unit, reasoner, third.id)
        fresh = make_look(
            unit,
            reasoner,
            find.id,
            character="spore_print",
            answer="yellow",
            fruitbody_id=first.fruitbody_id,
            observer_id=first.observer_id,
        )

        assert fresh.supersedes == second.id
        assert standing(unit, reasoner, find.id) == {fresh.id}


@pytest.mark.parametrize("other", ["character", "fruitbody", "find"])
def test_a_look_cannot_correct_one_at_another_feature_fruitbody_or_find(
    database: Database, reasoner: Reasoner, other: str
) -> None:
    with database.writing() as unit:
        find, body = gather(unit, reasoner)
        beside = add_fruitbody(unit, reasoner, find.id)
        elsewhere, its_body = gather(unit, reasoner)
        damning = make_look(
            unit, reasoner, find.id, character="volva", answer="sac", fruitbody_id=body.id, then_refresh=False
        )
        at = {
            "character": (find.id, "ring", "absent", body.id),
            "fruitbody": (find.id, "volva", "absent", beside.id),
            "find": (elsewhere.id, "volva", "absent", its_body.id),
        }[other]

        with pytest.raises(InputError, match="same feature of the same fruitbody"):
            make_look(unit, reasoner, at[0], character=at[1], answer=at[2], fruitbody_id=at[3], supersedes=damning.id)
        assert standing(unit, reasoner, find.id) == {damning.id}


def test_a_correction_of_nothing_is_refused(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        find, body = gather(unit, reasoner)
        with pytest.raises(UnknownWordError, match="no such look"):
            make_look(
                unit, reasoner, find.id, character="volva", answer="sac", fruitbody_id=body.id, supersedes="elsewhere"
            )


def test_looks_that_correct_each_other_in_a_circle_all_stand() -> None:
    """Such looks come only from files of others; that both vanish would hide what one of them saw."""

    def row(name: str, corrects: str | None, **more: Any) -> LookRow:
        return LookRow(id=name, supersedes=corrects, character="ring", fruitbody_id="b", **more)

    assert corrections([row("1", "2"), row("2", "1")]) == {}
    assert corrections([row("1", "1")]) == {}
    assert corrections([row("1", "2"), row("2", "3"), row("3", "2")]) == {"1": "2"}
    assert corrections([row("1", "2", deleted_at="x"), row("2", "1", deleted_at="x"), row("3", "1")]) == {}
    assert corrections([row("1", None), row("2", "1"), row("3", "2")]) == {"2": "1", "3": "2"}


def test_what_belongs_to_the_find_bears_on_every_fruitbody_and_the_rest_on_one(
    database: Database, reasoner: Reasoner
) -> None:
    with database.writing() as unit:
        find, body = gather(unit, reasoner)
        add_fruitbody(unit, reasoner, find.id)
        whole = make_look(unit, reasoner, find.id, character="substrate", answer="fallen-wood", fruitbody_id=body.id)
        assert whole.fruitbody_id is None
        one = make_look(unit, reasoner, find.id, character="volva", answer="sac", fruitbody_id=body.id)
        with pytest.raises(InputError, match="never pooled"):
            make_look(unit, reasoner, find.id, character="volva", answer="sac")
        with pytest.raises(InputError, match="unknown character"):
            make_look(unit, reasoner, find.id, character="region", answer="europe-north", fruitbody_id=body.id)

        results = reasoner.of(unit.session, find.id)[1].fruitbodies
        assert [{c.look for c in r.contributions} for r in results] == [{whole.id, one.id}, {whole.id}]


def answers(character: Character) -> Iterator[Evidence]:
    """Yield evidence of every form that a character can be told in."""
    yield Evidence(not_seen="it was dark")
    if character.measured:
        assert character.span is not None
        low, high = character.span
        middle = round((low * high) ** 0.5, 3)
        yield Evidence(measurement=Measurement(middle))
        yield Evidence(measurement=Measurement(high, middle / 7))
        yield Evidence(sample=Sample(30, middle, middle / 9))
        yield Evidence(sample=Sample(2, middle, middle / 9, p5=low, p95=high))
        return
    for state in character.codes:
        yield Evidence(states=(state,))
    yield Evidence(states=character.codes)
    yield Evidence(distribution={s: 1 / (n + 3) for n, s in enumerate(character.codes)})
    if character.kind == "colour":
        yield Evidence(colour=Colour((52.25, 60.17, -24.94), accuracy="B"))
        yield Evidence(colour=Colour((52.25, 60.17, 24.94), (4.0, 0.1, 0.2, 0.1, 4.0, 0.3, 0.2, 0.3, 4.0), "A"))


def test_every_answer_of_the_vocabulary_comes_back_as_it_was_given(database: Database, reasoner: Reasoner) -> None:
    given: dict[str, tuple[str, Evidence]] = {}
    with database.writing() as unit:
        find, body = gather(unit, reasoner)
        for character in VOCABULARY.characters.values():
            if character.role == "prior":
                continue
            for evidence in answers(character):
                row = make_look(
                    unit,
                    reasoner,
                    find.id,
                    character=character.code,
                    answer=evidence,
                    fruitbody_id=body.id,
                    then_refresh=False,
                )
                given[row.id] = (character.code, evidence)

    forms = {form for _, evidence in given.values() for form in evidence.forms()}
    assert forms == set(Evidence.__struct_fields__)
    with database.reading() as session:
        rows = {k.id: (k.character, msgspec.convert(k.evidence, Evidence)) for k in session.scalars(select(LookRow))}
        document = find_document(session, find.id, VOCABULARY)
    assert rows == given
    seen = {k.id: (k.character, k.evidence) for k in document.looks if k.id in given}
    # Bark and buds become a tree in the document.
    assert seen == {i: told for i, told in given.items() if VOCABULARY.characters[told[0]].role != "tree"}


@pytest.mark.parametrize(
    ("character", "answer"),
    [
        ("spore_print", "purple-with-stars"),
        ("spore_print", []),
        ("spore_print", {}),
        ("spore_print", None),
        ("spore_print", {"states": [["white"]]}),
        ("spore_print", {"states": ["white"], "not_seen": "dark"}),
        ("spore_print", {"distribution": {"white": -1.0}}),
        ("spore_print", {"distribution": {"white": "much"}}),
        ("spore_print", {"measurement": {"value": 4.0}}),
        ("spore_print", {"not_seen": 5}),
        ("cap_width", "huge"),
        ("cap_width", 90_000),
        ("cap_width", float("nan")),
        ("cap_width", {"measurement": 5}),
        ("cap_width", {"sample": {"n": 3, "mean": 40.0}}),
        ("cap_width", {"sample": {"n": 0, "mean": 40.0, "sd": 1.0}}),
        ("cap_width", "white"),
        ("cap_colour", {"colour": {"lab": [1.0, 2.0]}}),
        ("ring", {"colour": {"lab": [50.0, 0.0, 0.0]}}),
        ("ring", Evidence()),
        ("ring", Evidence(states=("no-such-ring",))),
        ("no_such_character", "white"),
    ],
)
def test_an_answer_outside_the_vocabulary_is_refused_with_a_sentence(
    database: Database, reasoner: Reasoner, character: str, answer: Any
) -> None:
    with database.writing() as unit:
        find, body = gather(unit, reasoner)
        with pytest.raises(InputError):
            make_look(unit, reasoner, find.id, character=character, answer=answer, fruitbody_id=body.id)
        assert unit.session.scalars(select(LookRow)).all() == []


def test_who_and_how_must_be_known(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        find, body = gather(unit, reasoner)
        told: dict[str, Any] = {"character": "ring", "answer": "absent", "fruitbody_id": body.id}
        for more, why in (
            ({"sure": "certainly"}, "how sure"),
            ({"method": "guess"}, "method"),
            ({"observer_id": "nobody"}, "no such person"),
            ({"fruitbody_id": "none"}, "no such fruitbody"),
        ):
            with pytest.raises(InputError, match=why):
                make_look(unit, reasoner, find.id, **{**told, **more})
        other, _ = gather(unit, reasoner)
        with pytest.raises(InputError, match="belongs to another find"):
            make_look(unit, reasoner, other.id, **told)


def test_a_thin_print_is_an_unsure_look_and_an_empty_one_is_none(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        find, body = gather(unit, reasoner)
        sure = []
        for deposit, colour in (("thick", "white"), ("thin", "white"), ("none", "white"), ("thick", None)):
            made = make_print(unit, reasoner, body.id, colour=colour, deposit=deposit)
            looks = unit.session.scalars(select(LookRow).where(LookRow.find_id == find.id))
            sure.append([k.sure for k in looks if made.id in k.sources])

        assert sure == [["sure"], ["unsure"], [], []]


@pytest.mark.parametrize("date", ["2999-01-01", "1066-10-14", "2026-13-01", "2026-02-30", "yesterday", "", "2026"])
def test_a_date_that_cannot_be_is_refused(database: Database, reasoner: Reasoner, date: str) -> None:
    with database.writing() as unit:
        with pytest.raises(InputError):
            gather(unit, reasoner, date=date)
        find, _ = gather(unit, reasoner)
        with pytest.raises(InputError):
            correct_find(unit, reasoner, find.id, date=date)


def test_words_and_references_of_a_find_must_be_known(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        find, body = gather(unit, reasoner)
        for more in ({"region": "atlantis"}, {"place_id": "x"}, {"finder_id": "x"}, {"class_id": "x"}):
            with pytest.raises(UnknownWordError):
                add_find(unit, reasoner, date=DAY, **more)
            with pytest.raises(UnknownWordError):
                correct_find(unit, reasoner, find.id, **more)
        for more in ({"stage": "ripe"}, {"condition": ["wet"]}, {"stage": {"ripe": 1.0}}):
            with pytest.raises(UnknownWordError):
                correct_fruitbody(unit, reasoner, body.id, **more)
        for weights in ({"prime": float("nan")}, {"prime": -1.0}, {"prime": 0.0}, {"prime": "much"}):
            with pytest.raises(InputError, match="weights"):
                correct_fruitbody(unit, reasoner, body.id, stage=weights)
        for count in (0, 27):
            with pytest.raises(ImplausibleError):
                add_find(unit, reasoner, date=DAY, fruitbodies=count)


def test_numbers_count_up_within_the_year_past_numbers_of_any_other_form(
    database: Database, reasoner: Reasoner
) -> None:
    with database.writing() as unit:
        assert [gather(unit, reasoner, date=d)[0].number for d in ("2025-01-02", "2025-11-01", "2024-01-01")] == [
            "2025-0001",
            "2025-0002",
            "2024-0001",
        ]
        for odd in ("2025-zzzz", "2025-00x9", "2025-9", "2025-99999999999999", "2025-____"):
            unit.make(FindRow(date="2025-01-01", number=odd))
        assert gather(unit, reasoner, date="2025-02-01")[0].number == "2025-0003"
        unit.make(FindRow(date="2025-01-01", number="2025-9999"))
        assert [gather(unit, reasoner, date="2025-02-01")[0].number for _ in "ab"] == ["2025-10000", "2025-10001"]


def test_labels_of_fruitbodies_are_never_used_twice(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        find, body = gather(unit, reasoner, fruitbodies=26)
        put_in_bin(unit, reasoner, "fruitbody", body.id)
        added = add_fruitbody(unit, reasoner, find.id)

        labels = unit.session.scalars(select(FruitbodyRow.label)).all()
        assert added.label == "aa"
        assert len(set(labels)) == len(labels) == 27


def test_a_find_without_fruitbodies_or_month_is_kept_and_nothing_is_reasoned(
    database: Database, reasoner: Reasoner
) -> None:
    with database.writing() as unit:
        find, body = gather(unit, reasoner)
        make_look(unit, reasoner, find.id, character="volva", answer="sac", fruitbody_id=body.id)
        make_look(unit, reasoner, find.id, character="substrate", answer="woodland-soil")
        unit.edit(find, date="2025")
        assert refresh(unit, reasoner, find.id) is None
        assert (find.name, find.open_severe) == ("", None)
        with pytest.raises(InputError, match="month of this find is not known"):
            reasoner.of(unit.session, find.id)
        unit.edit(find, date="2025-10")
        assert refresh(unit, reasoner, find.id) is not None
        put_in_bin(unit, reasoner, "fruitbody", body.id)
        assert reasoner.of(unit.session, find.id)[1].fruitbodies == ()
        assert (find.standing, find.open_severe) == ("unnamed", None)


def test_the_words_of_a_find_follow_what_is_known_of_it(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        ada = person(unit, "Ada Moss")
        find, _ = gather(unit, reasoner, ada, notes="by the Mill")
        words = unit.session.get(FindWords, find.id)
        assert words is not None
        assert {"ada", "moss", "mill", DAY} <= set(words.words.split())
        state_name(unit, reasoner, find.id, "Velvet  Foot", stated_by="Bea")
        correct_find(unit, reasoner, find.id, notes="", date="2025-01-05")
        unit.session.expire_all()
        words = unit.session.get(FindWords, find.id)
        assert words is not None
        assert (words.date, "mill" in words.words, "velvet" in words.words) == ("2025-01-05", False, True)
        assert unit.session.get(FindRow, find.id).standing == "stated"  # type: ignore[union-attr]


def test_a_name_that_is_stated_releases_nothing(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        ada = person(unit, "Ada")
        find, body = gather(unit, reasoner, ada)
        look_closely(unit, reasoner, find, body, ada)
        state_name(unit, reasoner, find.id, "Flammulina velutipes", stated_by="Ada")

        record = reasoner.of(unit.session, find.id)[1]
        assert list(reasons(record, body.id)) == ["unsigned"]
        assert find.standing == "proposed"


def test_a_look_names_the_condition_of_colour_vision_of_its_observer(database: Database, reasoner: Reasoner) -> None:
    """The limits of the person who looked travel with the look: colours she cannot judge rule nothing out."""
    with database.writing() as unit:
        ada = unit.make(Person(name="Ada", colour_vision=False))
        find, body = gather(unit, reasoner, ada)
        look_closely(unit, reasoner, find, body, ada)

        barred = reasoner.of(unit.session, find.id)[1].fruitbodies[0].not_used
        characters = {LOOK.character for LOOK in LOOKS if VOCABULARY.characters[LOOK.character].kind == "colour"}
        assert characters | {"spore_print"} <= {b[1] for b in barred}
