"""Nothing comes to kitchen or stillroom that the release rule does not allow under a signed name."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from kept_finds import LOOKS, PARASOL, VELVET, gather, look_closely, person
from sqlalchemy import select

from trug import __version__
from trug.determine.determination import determine
from trug.errors import InputError, UnknownWordError
from trug.records.bin import bring_back, put_in_bin
from trug.records.database import Database
from trug.records.documents import find_document
from trug.records.gatherings import add_fruitbody, correct_find, correct_fruitbody, delete_look, make_look
from trug.records.history import Unit
from trug.records.kitchen import admission, take_to_kitchen
from trug.records.reasoning import Reasoner
from trug.records.signing import may_sign_alone, sign, signatures_of, withdraw
from trug.records.tables import Batch, BatchPart, FruitbodyRow, LookRow, Person

CHANGED = [
    ("ring", "narrow"),
    ("spore_print", "rust-brown"),
    ("spore_print", "white"),
    ("stipe_surface", "fibrous"),
    ("cap_colour", "honey-brown"),
    ("volva", "sac"),
]


def test_a_released_fruitbody_becomes_a_batch_with_its_conditions(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    with signed.database.writing() as unit:
        given = admission(unit.session, reasoner, unit.get(FruitbodyRow, signed.body))
        batch = take_to_kitchen(unit, reasoner, [signed.body, signed.body], kind="stillroom", notes="first of the year")

        parts = unit.session.scalars(select(BatchPart).where(BatchPart.batch_id == batch.id)).all()
        assert [(p.fruitbody_id, p.signature_id) for p in parts] == [(signed.body, signed.signature)]
        assert given.conditions
        assert (batch.conditions, batch.taxon, batch.kind) == (list(given.conditions), VELVET, "stillroom")


def refused(unit: Unit, reasoner: Reasoner, *bodies: str, why: str, kind: str = "larder") -> None:
    with pytest.raises(InputError, match=why):
        take_to_kitchen(unit, reasoner, bodies, kind=kind)
    assert unit.session.scalars(select(Batch)).all() == []
    assert unit.session.scalars(select(BatchPart)).all() == []


def test_what_is_unsigned_waits_or_is_unknown_is_refused(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        ada = person(unit, "Ada")
        find, body = gather(unit, reasoner, ada)
        look_closely(unit, reasoner, find, body, ada)
        refused(unit, reasoner, body.id, why="no person has signed")
        sign(unit, reasoner, find.id, taxon=VELVET, fruitbodies=[body.id], person_id=ada.id, in_hand=True)
        refused(unit, reasoner, body.id, why="waits for a second signer")
        refused(unit, reasoner, why="choose the fruitbodies")
        refused(unit, reasoner, body.id, why="larder or the stillroom", kind="cellar")
        with pytest.raises(UnknownWordError):
            take_to_kitchen(unit, reasoner, ["no-such-fruitbody"])


def test_what_changed_after_the_signature_is_refused(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    with signed.database.writing() as unit:
        make_look(unit, reasoner, signed.find, character="ring", answer="narrow", fruitbody_id=signed.body)
        refused(unit, reasoner, signed.body, why="no person has signed")


def test_a_harmful_or_unfitting_or_spoiled_one_is_refused_though_it_is_signed(
    signed: SimpleNamespace, reasoner: Reasoner
) -> None:
    def sign_anew(taxon: str) -> None:
        for signature in signatures_of(unit.session, signed.find):
            withdraw(unit, reasoner, signature.id, "wrong")
        sign(unit, reasoner, signed.find, taxon=taxon, fruitbodies=[signed.body], person_id=signed.ada, in_hand=True)

    with signed.database.writing() as unit:
        sign_anew("galerina-marginata")
        refused(unit, reasoner, signed.body, why="is harmful")
        sign_anew(PARASOL)
        refused(unit, reasoner, signed.body, why="fit")
        correct_fruitbody(unit, reasoner, signed.body, condition=["mouldy"])
        sign_anew(VELVET)
        refused(unit, reasoner, signed.body, why="the fruitbody is mouldy")
        correct_fruitbody(unit, reasoner, signed.body, condition=[])
        correct_find(unit, reasoner, signed.find, region=None)
        sign_anew(VELVET)
        refused(unit, reasoner, signed.body, why="region")


def test_one_that_may_not_be_taken_holds_the_whole_batch_back(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    with signed.database.writing() as unit:
        beside = add_fruitbody(unit, reasoner, signed.find, stage="prime")
        refused(unit, reasoner, signed.body, beside.id, why="fruitbody b")


def test_a_fruitbody_is_taken_once(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    with signed.database.writing() as unit:
        first = take_to_kitchen(unit, reasoner, [signed.body])
        with pytest.raises(InputError, match="in a batch already"):
            take_to_kitchen(unit, reasoner, [signed.body])
        put_in_bin(unit, reasoner, "batch", first.id)
        second = take_to_kitchen(unit, reasoner, [signed.body])
        with pytest.raises(InputError, match="in another batch by now"):
            bring_back(unit, reasoner, "batch", first.id)
        put_in_bin(unit, reasoner, "batch", second.id)
        bring_back(unit, reasoner, "batch", first.id)

        assert unit.get(Batch, first.id).deleted_at is None


def test_a_find_in_the_bin_gives_nothing(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    with signed.database.writing() as unit:
        put_in_bin(unit, reasoner, "find", signed.find)
        refused(unit, reasoner, signed.body, why="no person has signed")


ACTS = st.lists(
    st.tuples(
        st.sampled_from(["look", "delete", "sign", "sign", "condition", "stage", "withdraw", "practice"]),
        st.integers(0, 99),
        st.sampled_from(["ada", "bea", "stu"]),
    ),
    max_size=5,
)


def act(unit: Unit, reasoner: Reasoner, here: Any, what: str, at: int, who: str) -> None:
    """Do one thing that could change whether the fruitbody may be taken."""
    person_id = getattr(here, who)
    if what == "look":
        character, answer = CHANGED[at % len(CHANGED)]
        sure = "sure" if at % 3 else "unsure"
        make_look(
            unit,
            reasoner,
            here.find,
            character=character,
            answer=answer,
            fruitbody_id=here.body,
            observer_id=person_id,
            sure=sure,
            then_refresh=False,
        )
    elif what == "delete":
        looks = unit.session.scalars(select(LookRow).where(LookRow.deleted_at.is_(None)).order_by(LookRow.id)).all()
        delete_look(unit, reasoner, looks[at % len(looks)].id)
    elif what == "sign":
        taxon = VELVET if at < 85 else PARASOL
        sign(unit, reasoner, here.find, taxon=taxon, fruitbodies=[here.body], person_id=person_id, in_hand=True)
    elif what == "condition":
        correct_fruitbody(unit, reasoner, here.body, condition=["frosted"] if at % 2 else ["mouldy"])
    elif what == "stage":
        correct_fruitbody(unit, reasoner, here.body, stage=("prime", "young", "past")[at % 3])
    elif what == "withdraw":
        for signature in signatures_of(unit.session, here.find)[:1]:
            withdraw(unit, reasoner, signature.id, "doubt")
    else:
        unit.edit(unit.get(Person, person_id), practice=("practised", "student")[at % 2])


def test_no_batch_is_ever_made_of_what_the_release_rule_does_not_allow(signed_folder: Path, reasoner: Reasoner) -> None:
    """Everything that the kitchen relied on is worked out here anew, from the document and past every memory."""
    taken: list[bool] = []

    @settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
    @given(ACTS)
    def law(acts: list[tuple[str, int, str]]) -> None:
        with tempfile.TemporaryDirectory() as home:
            shutil.copytree(signed_folder, Path(home) / "data")
            database = Database.open(Path(home) / "data")
            try:
                taken.append(check(database, acts))
            finally:
                database.close()

    def check(database: Database, acts: list[tuple[str, int, str]]) -> bool:
        with database.writing() as unit:
            session = unit.session
            people = {p.name.split()[0].lower(): p.id for p in session.scalars(select(Person))}
            body = session.scalars(select(FruitbodyRow)).one()
            here = SimpleNamespace(find=body.find_id, body=body.id, **people)
            for what, at, who in acts:
                try:
                    act(unit, reasoner, here, what, at, who)
                except InputError:
                    continue  # signed twice, or every look deleted
            try:
                batch = take_to_kitchen(unit, reasoner, [here.body])
            except InputError:
                return False
            live = signatures_of(session, here.find)
            assert live
            assert {s.taxon for s in live} == {batch.taxon}
            practised = {s.person_id for s in live if unit.get(Person, s.person_id).practice == "practised"}
            assert len(practised) > 1 or any(may_sign_alone(session, s.person_id, batch.taxon) for s in live)
            # The first practised signer answers: theirs is the determination that must release.
            answers = next((s for s in live if s.person_id in practised), live[0])
            find = find_document(session, here.find, reasoner.here.vocabulary, determiner=answers.person_id)
            loaded = reasoner.here
            record = determine(
                find, loaded.table, loaded.book, loaded.vocabulary, program=__version__, signed=batch.taxon
            )
            assert record.fruitbodies[0].release.allowed
            assert here.body in answers.released
            assert all(k.sure != "unsure" for k in find.looks if k.character == "ring")
            return True

    law()
    assert taken


def test_fewer_looks_never_open_what_more_looks_held_shut(database: Database, reasoner: Reasoner) -> None:
    """With nothing but the striking looks, no fruitbody is released under any name."""
    with database.writing() as unit:
        ada, bea = person(unit, "Ada"), person(unit, "Bea")
        find, body = gather(unit, reasoner, ada)
        kept = ("fruitbody_form", "hymenophore", "cap_colour", "stipe_surface")
        for who in (ada, bea):
            look_closely(
                unit, reasoner, find, body, who, without=tuple(k.character for k in LOOKS if k.character not in kept)
            )
        for who in (ada, bea):
            sign(unit, reasoner, find.id, taxon=VELVET, fruitbodies=[body.id], person_id=who.id, in_hand=True)
        refused(unit, reasoner, body.id, why="is not ruled out")
