"""Signatures: who may sign, what voids them, and the determinations they rest on."""

from __future__ import annotations

import hashlib
import json
import zlib
from types import SimpleNamespace
from typing import Any

import pytest
from kept_finds import PARASOL, VELVET, gather, look_closely, person
from sqlalchemy import select

from trug.determine.record import canonical
from trug.errors import InputError, UnknownWordError
from trug.records.bin import bring_back, put_in_bin
from trug.records.database import Database
from trug.records.gatherings import (
    add_fruitbody,
    correct_find,
    correct_fruitbody,
    delete_look,
    make_look,
    make_print,
    refresh,
)
from trug.records.history import Unit, history_of
from trug.records.kitchen import admission, take_to_kitchen
from trug.records.places import PlaceAccount, save_place
from trug.records.reasoning import Reasoner
from trug.records.signing import (
    confirm_taxon,
    cover_of,
    determination_stored,
    may_sign_alone,
    sign,
    signatures_of,
    store_determination,
    withdraw,
    withdraw_confirmation,
)
from trug.records.tables import (
    Batch,
    Confirmation,
    DeterminationRow,
    FindRow,
    FruitbodyRow,
    LookRow,
    Person,
    PlaceRow,
    SignatureRow,
)


def put_name(
    unit: Unit, reasoner: Reasoner, here: Any, who: str, taxon: str = VELVET, bodies: tuple[str, ...] = ()
) -> SignatureRow:
    return sign(unit, reasoner, here.find, taxon=taxon, fruitbodies=bodies or (here.body,), person_id=who, in_hand=True)


def stands(unit: Unit, here: Any) -> bool:
    return unit.get(SignatureRow, here.signature).voided_at is None


def test_a_determination_is_stored_as_its_canonical_json_under_its_own_digest(
    signed: SimpleNamespace, reasoner: Reasoner
) -> None:
    with signed.database.reading() as session:
        row = session.scalars(select(DeterminationRow)).one()
        _, record = reasoner.of(session, signed.find, signed=VELVET, determiner=signed.ada)
        stored = zlib.decompress(row.record)

    assert stored == canonical(record)
    assert list(json.loads(stored)) == sorted(json.loads(stored))
    assert row.id == hashlib.sha256(stored).hexdigest()
    assert canonical(determination_stored(row)) == stored
    assert (row.find_sha256, row.book_sha256, row.book_date) == (
        record.find_sha256,
        record.book_sha256,
        record.book_date,
    )


def test_a_new_determination_supersedes_the_newest_and_changes_no_older_one(
    signed: SimpleNamespace, reasoner: Reasoner
) -> None:
    with signed.database.reading() as session:
        before = {d.id: d.record for d in session.scalars(select(DeterminationRow))}
    # Three in one unit have one time of making: the order must not rest on it.
    with signed.database.writing() as unit:
        made = list(before)
        for colour in ("cream", "white", "yellow"):
            make_look(
                unit,
                reasoner,
                signed.find,
                character="spore_print",
                answer=colour,
                fruitbody_id=signed.body,
                observer_id=signed.ada,
            )
            made.append(put_name(unit, reasoner, signed, signed.ada).determination_id)
    with signed.database.reading() as session:
        rows = {d.id: d for d in session.scalars(select(DeterminationRow))}

    assert [rows[i].supersedes for i in made] == [None, *made[:-1]]
    assert {i: rows[i].record for i in before} == before
    assert all(hashlib.sha256(zlib.decompress(d.record)).hexdigest() == i for i, d in rows.items())


def test_the_same_determination_is_stored_once(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    with signed.database.writing() as unit:
        row = unit.session.scalars(select(DeterminationRow)).one()
        again = store_determination(unit, determination_stored(row), signed.bea)

        assert again.id == row.id
        assert again.person_id == signed.ada
        assert again.supersedes is None


def test_a_name_is_signed_only_with_the_specimen_in_hand_for_what_was_looked_at(
    database: Database, reasoner: Reasoner
) -> None:
    with database.writing() as unit:
        ada = person(unit, "Ada")
        find, body = gather(unit, reasoner, ada)
        make_look(unit, reasoner, find.id, character="substrate", answer="litter", observer_id=ada.id)
        good: dict[str, Any] = {"taxon": VELVET, "fruitbodies": [body.id], "person_id": ada.id, "in_hand": True}
        for more, why in (
            ({"in_hand": False}, "in hand"),
            ({"taxon": "no-such-name"}, "choose a name that the book holds"),
            ({"fruitbodies": []}, "choose the fruitbodies"),
            ({"fruitbodies": ["another"]}, "choose the fruitbodies"),
            ({"person_id": "nobody"}, "no such person"),
            ({}, "not looked at singly"),
        ):
            with pytest.raises(InputError, match=why):
                sign(unit, reasoner, find.id, **{**good, **more})
        assert unit.session.scalars(select(SignatureRow)).all() == []
        assert unit.session.scalars(select(DeterminationRow)).all() == []


def test_nobody_signs_the_same_twice(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    with signed.database.writing() as unit, pytest.raises(InputError, match="signed this already"):
        put_name(unit, reasoner, signed, signed.ada)


#: Edits to the looks of the signed fruitbody, to what it is, or to what holds for the find as a whole.
EDITS_THAT_VOID = {
    "look": lambda u, r, h: make_look(
        u, r, h.find, character="ring", answer="absent", fruitbody_id=h.body, observer_id=h.ada
    ),
    "look of another": lambda u, r, h: make_look(
        u, r, h.find, character="ring", answer="absent", fruitbody_id=h.body, observer_id=h.bea
    ),
    "look at the find": lambda u, r, h: make_look(u, r, h.find, character="substrate", answer="stump"),
    "deleted look": lambda u, r, h: delete_look(u, r, look_at(u, "ring").id),
    "deleted look at the find": lambda u, r, h: put_in_bin(u, r, "look", look_at(u, "tree").id),
    "print": lambda u, r, h: make_print(u, r, h.body, colour="white"),
    "stage": lambda u, r, h: correct_fruitbody(u, r, h.body, stage="past"),
    "condition": lambda u, r, h: correct_fruitbody(u, r, h.body, condition=["frosted"]),
    "deleted fruitbody": lambda u, r, h: put_in_bin(u, r, "fruitbody", h.body),
    "date": lambda u, r, h: correct_find(u, r, h.find, date="2025-06-01"),
    "region": lambda u, r, h: correct_find(u, r, h.find, region="europe-central"),
    "altitude": lambda u, r, h: correct_find(u, r, h.find, altitude_m=1900.0),
    "deleted find": lambda u, r, h: put_in_bin(u, r, "find", h.find),
}
EDITS_THAT_DO_NOT = {
    "notes": lambda u, r, h: correct_find(u, r, h.find, notes="by the mill", voucher_at="box 3"),
    "notes of the fruitbody": lambda u, r, h: correct_fruitbody(u, r, h.body, notes="small"),
    "the same stage": lambda u, r, h: correct_fruitbody(u, r, h.body, stage="prime"),
    "another fruitbody": lambda u, r, h: add_fruitbody(u, r, h.find),
    "look at another fruitbody": lambda u, r, h: make_look(
        u, r, h.find, character="ring", answer="skirt", fruitbody_id=add_fruitbody(u, r, h.find).id
    ),
    "print of another fruitbody": lambda u, r, h: make_print(u, r, add_fruitbody(u, r, h.find).id, colour="rust-brown"),
}


def look_at(unit: Unit, character: str) -> LookRow:
    return unit.session.scalars(select(LookRow).where(LookRow.character == character)).one()


@pytest.mark.parametrize("edit", EDITS_THAT_VOID)
def test_an_edit_to_what_it_rests_on_voids_a_signature_and_flags_its_batch(
    signed: SimpleNamespace, reasoner: Reasoner, edit: str
) -> None:
    with signed.database.writing(signed.ada) as unit:
        batch = take_to_kitchen(unit, reasoner, [signed.body])
        assert batch.flagged_at is None
        EDITS_THAT_VOID[edit](unit, reasoner, signed)

        signature = unit.get(SignatureRow, signed.signature)
        assert signature.voided_at is not None
        assert signature.voided_why
        assert unit.get(Batch, batch.id).flagged_at is not None
        assert signature.name in unit.get(Batch, batch.id).flagged_why
        assert unit.get(FindRow, signed.find, deleted=True).standing == "doubted"
        voiding = [c for c in history_of(unit.session, [signed.signature]) if c.field == "voided_at"]
        assert [(c.before, c.person_id) for c in voiding] == [(None, signed.ada)]


@pytest.mark.parametrize("edit", EDITS_THAT_DO_NOT)
def test_an_edit_to_anything_else_leaves_the_signature(signed: SimpleNamespace, reasoner: Reasoner, edit: str) -> None:
    with signed.database.writing() as unit:
        EDITS_THAT_DO_NOT[edit](unit, reasoner, signed)

        assert stands(unit, signed)
        assert unit.get(FindRow, signed.find).standing == "signed"


def test_a_corrected_place_voids_what_rests_on_its_region(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    with signed.database.writing() as unit:
        place = unit.make(PlaceRow(name="mill", region="europe-north"))
        unit.edit(unit.get(FindRow, signed.find), place_id=place.id, region=None)
        refresh(unit, reasoner, signed.find)
        save_place(unit, reasoner, place.id, PlaceAccount("old mill", region="europe-north"))
        assert stands(unit, signed)
        save_place(unit, reasoner, place.id, PlaceAccount("old mill", region="america-west"))
        assert not stands(unit, signed)


def test_a_withdrawn_signature_flags_its_batches_once_and_stays_withdrawn(
    signed: SimpleNamespace, reasoner: Reasoner
) -> None:
    with signed.database.writing() as unit:
        batch = take_to_kitchen(unit, reasoner, [signed.body])
        withdraw(unit, reasoner, signed.signature, "smelt of meal later")

        assert "smelt of meal later" in unit.get(Batch, batch.id).flagged_why
        assert signatures_of(unit.session, signed.find) == []
        assert [s.id for s in signatures_of(unit.session, signed.find, voided=True)] == [signed.signature]
        with pytest.raises(InputError, match="before"):
            withdraw(unit, reasoner, signed.signature, "again")


def test_the_second_signer_who_withdraws_flags_the_batch_too(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        ada, bea = person(unit, "Ada"), person(unit, "Bea")
        find, body = gather(unit, reasoner, ada)
        look_closely(unit, reasoner, find, body, ada)
        look_closely(unit, reasoner, find, body, bea)
        here = SimpleNamespace(find=find.id, body=body.id)
        put_name(unit, reasoner, here, ada.id)
        second = put_name(unit, reasoner, here, bea.id)
        batch = take_to_kitchen(unit, reasoner, [body.id])
        withdraw(unit, reasoner, second.id, "doubt")

        assert unit.get(Batch, batch.id).flagged_at is not None


def test_another_name_signed_for_the_same_fruitbody_is_a_doubt(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    with signed.database.writing() as unit:
        batch = take_to_kitchen(unit, reasoner, [signed.body])
        put_name(unit, reasoner, signed, signed.bea, PARASOL)

        assert cover_of(unit.session, signed.find, signed.body) is None
        assert unit.get(FindRow, signed.find).standing == "doubted"
        assert unit.get(Batch, batch.id).flagged_at is not None


def test_without_a_confirmation_it_takes_a_second_practised_signer(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        ada, bea, stu = person(unit, "Ada"), person(unit, "Bea"), person(unit, "Stu", "student")
        find, body = gather(unit, reasoner, ada)
        for who in (ada, bea):
            look_closely(unit, reasoner, find, body, who)
        here = SimpleNamespace(find=find.id, body=body.id)
        roles = []
        for who, standing, complete in ((ada, "waits", False), (stu, "waits", False), (bea, "signed", True)):
            roles.append(put_name(unit, reasoner, here, who.id).role)
            cover = cover_of(unit.session, find.id, body.id)
            assert cover is not None
            assert (find.standing, cover.complete) == (standing, complete)

        assert roles == ["signer", "second signer", "second signer"]


def test_a_student_who_signs_first_leaves_the_answer_to_the_practised_one(
    database: Database, reasoner: Reasoner
) -> None:
    """What a student determined is never what releases; the first practised signer's own determination is."""
    with database.writing() as unit:
        ada, bea, stu = person(unit, "Ada"), person(unit, "Bea"), person(unit, "Stu", "student")
        find, body = gather(unit, reasoner, stu)
        look_closely(unit, reasoner, find, body, stu)
        here = SimpleNamespace(find=find.id, body=body.id)
        first = put_name(unit, reasoner, here, stu.id)
        second = put_name(unit, reasoner, here, ada.id)
        confirm_taxon(unit, reasoner, ada.id, VELVET, bea.id)

        cover = cover_of(unit.session, find.id, body.id)
        assert cover is not None
        assert (cover.answers.id, cover.complete) == (second.id, True)
        assert first.determination_id != second.determination_id
        assert second.released == []  # all looks are the student's, and one person's looks may all be one mistake
        assert not admission(unit.session, reasoner, body).allowed


def test_a_student_cannot_release_a_warned_group_even_when_confirmed(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        stu, bea = person(unit, "Stu", "student"), person(unit, "Bea")
        find, body = gather(unit, reasoner, stu)
        look_closely(unit, reasoner, find, body, stu)
        confirm_taxon(unit, reasoner, stu.id, "amanita-rubescens", bea.id)
        signature = put_name(unit, reasoner, SimpleNamespace(find=find.id, body=body.id), stu.id, "amanita-rubescens")
        _, record = reasoner.of(unit.session, find.id, signed="amanita-rubescens", determiner=stu.id)

        assert find.standing == "signed"
        assert signature.released == []
        assert "beginners" in {reason[0] for reason in record.fruitbodies[0].release.reasons}
        assert not admission(unit.session, reasoner, body).allowed


def test_only_another_practised_person_confirms(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        ada, bea, stu = person(unit, "Ada"), person(unit, "Bea"), person(unit, "Stu", "student")
        for by, why in ((ada.id, "confirm themselves"), (stu.id, "practised"), ("nobody", "no such person")):
            with pytest.raises(InputError, match=why):
                confirm_taxon(unit, reasoner, ada.id, VELVET, by)
        with pytest.raises(UnknownWordError):
            confirm_taxon(unit, reasoner, "nobody", VELVET, bea.id)
        assert not may_sign_alone(unit.session, ada.id, VELVET)
        # Even a row that came in by another way does not let a person confirm themselves.
        unit.make(Confirmation(person_id=ada.id, taxon=VELVET, confirmed_by_id=ada.id))
        assert not may_sign_alone(unit.session, ada.id, VELVET)
        confirm_taxon(unit, reasoner, ada.id, VELVET, bea.id)
        assert may_sign_alone(unit.session, ada.id, VELVET)
        assert not may_sign_alone(unit.session, ada.id, PARASOL)
        assert not may_sign_alone(unit.session, bea.id, VELVET)


def test_a_confirmation_taken_back_by_any_way_lets_the_find_wait_again(
    signed: SimpleNamespace, reasoner: Reasoner
) -> None:
    with signed.database.writing() as unit:
        confirmation = unit.session.scalars(select(Confirmation)).one()
        find = unit.get(FindRow, signed.find)
        for act, standing in (
            (lambda: withdraw_confirmation(unit, reasoner, confirmation.id), "waits"),
            (lambda: bring_back(unit, reasoner, "confirmation", confirmation.id), "signed"),
            (lambda: put_in_bin(unit, reasoner, "confirmation", confirmation.id), "waits"),
            (lambda: confirm_taxon(unit, reasoner, signed.ada, VELVET, signed.bea), "signed"),
        ):
            act()
            assert find.standing == standing
            assert admission(unit.session, reasoner, unit.get(FruitbodyRow, signed.body)).allowed is (
                standing == "signed"
            )


def test_a_person_who_is_no_longer_practised_counts_as_such_from_then_on(
    database: Database, reasoner: Reasoner
) -> None:
    with database.writing() as unit:
        ada, bea = person(unit, "Ada"), person(unit, "Bea")
        find, body = gather(unit, reasoner, ada)
        look_closely(unit, reasoner, find, body, ada)
        here = SimpleNamespace(find=find.id, body=body.id)
        put_name(unit, reasoner, here, ada.id)
        put_name(unit, reasoner, here, bea.id)
        unit.edit(unit.get(Person, bea.id), practice="beginner")
        refresh(unit, reasoner, find.id)

        assert find.standing == "waits"


def test_a_second_signer_stands_behind_the_determination_of_the_first(database: Database, reasoner: Reasoner) -> None:
    """Both held the specimen and sign one determination; what the second one looked at besides counts in it as well."""
    with database.writing() as unit:
        ada, bea = person(unit, "Ada"), person(unit, "Bea")
        find, body = gather(unit, reasoner, ada)
        look_closely(unit, reasoner, find, body, ada)
        here = SimpleNamespace(find=find.id, body=body.id)
        first = put_name(unit, reasoner, here, ada.id)
        assert first.released == [body.id]
        assert not admission(unit.session, reasoner, body).allowed
        second = put_name(unit, reasoner, here, bea.id)

        assert second.determination_id == first.determination_id
        assert find.standing == "signed"
        assert admission(unit.session, reasoner, body).allowed


def test_a_signature_is_withdrawn_and_not_deleted(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    """Deleted and brought back it would stand again though the looks were edited meanwhile."""
    with signed.database.writing() as unit:
        with pytest.raises(InputError, match="withdraw it"):
            put_in_bin(unit, reasoner, "signature", signed.signature)
        assert stands(unit, signed)


def test_what_the_bin_gives_back_does_not_bring_a_signature_back(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    with signed.database.writing() as unit:
        for what, row_id in (("look", look_at(unit, "ring").id), ("fruitbody", signed.body), ("find", signed.find)):
            put_in_bin(unit, reasoner, what, row_id)
            bring_back(unit, reasoner, what, row_id)

            assert not stands(unit, signed)
            assert cover_of(unit.session, signed.find, signed.body) is None


def test_one_fruitbody_that_is_edited_does_not_void_what_was_signed_for_the_others(
    signed: SimpleNamespace, reasoner: Reasoner
) -> None:
    with signed.database.writing() as unit:
        other = add_fruitbody(unit, reasoner, signed.find, stage="prime")
        make_look(unit, reasoner, signed.find, character="ring", answer="absent", fruitbody_id=other.id)
        second = put_name(unit, reasoner, signed, signed.ada, bodies=(other.id,))
        make_look(unit, reasoner, signed.find, character="ring", answer="skirt", fruitbody_id=other.id)

        assert second.voided_at is not None
        assert stands(unit, signed)
        assert cover_of(unit.session, signed.find, signed.body).released  # type: ignore[union-attr]
