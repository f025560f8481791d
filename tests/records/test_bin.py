"""What was deleted comes back whole for thirty days, and is then erased; what a batch rests on never is."""

from __future__ import annotations

import datetime
from types import SimpleNamespace
from typing import Any

import pytest
from kept_finds import VELVET, gather, photo, present, sound
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from trug.errors import InputError, UnknownWordError
from trug.records.bin import bring_back, deleted_things, erase_expired, put_in_bin
from trug.records.database import Database, now_text
from trug.records.gatherings import delete_look, make_look, make_print, state_name
from trug.records.history import KEPT_DAYS, expired, row_kinds
from trug.records.kitchen import take_to_kitchen
from trug.records.pictures import add_photo
from trug.records.reasoning import Reasoner
from trug.records.signing import sign, signatures_of, withdraw_confirmation
from trug.records.tables import (
    Batch,
    BatchPart,
    Confirmation,
    DeterminationRow,
    Event,
    FindRow,
    FruitbodyRow,
    LookRow,
    Person,
    PhotoRow,
    PlaceRow,
    SignatureRow,
    SporePrint,
)


def later(days: float) -> str:
    then = datetime.datetime.now(datetime.UTC) + datetime.timedelta(days=days)
    return then.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def all_ids(session: Session) -> set[str]:
    kinds = [*row_kinds().values(), DeterminationRow]
    return {i for kind in kinds for i in session.scalars(select(kind.id))}


def named(session: Session) -> set[str]:
    return set(session.scalars(select(Event.entity_id)))


def test_a_find_comes_back_whole(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    database = signed.database
    with database.writing() as unit:
        add_photo(database, unit, signed.find, photo(1))
        state_name(unit, reasoner, signed.find, "Velvet foot")
        before = present(unit.session)
        put_in_bin(unit, reasoner, "find", signed.find)
        assert {(d.what, d.id) for d in deleted_things(unit.session)} == {("find", signed.find)}
        with pytest.raises(UnknownWordError):
            unit.get(FindRow, signed.find)
        bring_back(unit, reasoner, "find", signed.find)

        after = present(unit.session)
        assert deleted_things(unit.session) == []
        # Only the signature does not stand again: that needs a person with the specimen in hand.
        assert {i for i in before if before[i] != after[i]} == {signed.signature}


@pytest.mark.parametrize("what", sorted(set(row_kinds()) - {"signature", "person"}))
def test_every_kind_of_thing_goes_and_comes_back(signed: SimpleNamespace, reasoner: Reasoner, what: str) -> None:
    database = signed.database
    with database.writing() as unit:
        add_photo(database, unit, signed.find, photo(1))
        state_name(unit, reasoner, signed.find, "Velvet foot")
        make_print(unit, reasoner, signed.body, colour=None)
        unit.make(PlaceRow(name="mill"))
        row = unit.session.scalars(select(row_kinds()[what])).first()
        if row is None:
            with pytest.raises(UnknownWordError):
                put_in_bin(unit, reasoner, what, "none")
            return
        before = present(unit.session)[row.id]
        put_in_bin(unit, reasoner, what, row.id)
        assert [d.id for d in deleted_things(unit.session)] == [row.id]
        bring_back(unit, reasoner, what, row.id)
        assert present(unit.session)[row.id] == before


def test_no_other_kind_is_known_and_the_owner_stays(database: Database, reasoner: Reasoner) -> None:
    from trug.records.tables import Setting

    with database.writing() as unit:
        owner = unit.make(Person(name="Ada"))
        unit.session.add(Setting(key="owner", value=owner.id))
        unit.session.flush()
        with pytest.raises(UnknownWordError, match="kind"):
            put_in_bin(unit, reasoner, "settings", "owner")
        with pytest.raises(InputError, match="yourself"):
            put_in_bin(unit, reasoner, "person", owner.id)


def test_thirty_days_are_thirty_days() -> None:
    assert KEPT_DAYS == 30
    assert expired("2026-03-31T12:00:00.000Z") == "2026-03-01T12:00:00.000Z"
    assert expired(now_text()) < now_text()


def test_a_find_is_erased_after_thirty_days_with_photos_and_history_and_not_before(
    signed: SimpleNamespace, reasoner: Reasoner
) -> None:
    database = signed.database
    with database.writing() as unit:
        kept, kept_body = gather(unit, reasoner)
        make_look(unit, reasoner, kept.id, character="ring", answer="absent", fruitbody_id=kept_body.id)
        before = all_ids(unit.session)
        for n in (1, 2):
            add_photo(database, unit, signed.find, photo(n))
        add_photo(database, unit, kept.id, photo(2))
        make_print(unit, reasoner, signed.body, colour="white")
        put_in_bin(unit, reasoner, "find", signed.find)
        shared = unit.session.scalars(select(PhotoRow.sha256).where(PhotoRow.find_id == kept.id)).one()

    assert erase_expired(database, later(29.9)) == 0
    assert len(list(database.photos)) == 2
    assert erase_expired(database, later(30.1)) == 1
    with database.reading() as session:
        left = all_ids(session)
        assert signed.find not in left
        assert {
            f
            for kind in row_kinds().values()
            if hasattr(kind, "find_id")
            for f in session.scalars(select(kind.find_id))
        } == {kept.id}
        assert named(session) <= left
        assert {kept.id, kept_body.id, signed.ada, signed.bea} <= left & before
    assert list(database.photos) == [shared]
    assert sound(database) == []
    assert erase_expired(database, later(30.1)) == 0


def test_what_a_batch_rests_on_is_never_erased(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    database = signed.database
    with database.writing(signed.ada) as unit:
        add_photo(database, unit, signed.find, photo(1))
        printed = make_print(unit, reasoner, signed.body, colour="white")
        for old in signatures_of(unit.session, signed.find):
            assert old.voided_at is None
        sign(unit, reasoner, signed.find, taxon=VELVET, fruitbodies=[signed.body], person_id=signed.ada, in_hand=True)
        batch = take_to_kitchen(unit, reasoner, [signed.body])
        # Everything is deleted, piece by piece and as a whole.
        ring = unit.session.scalars(select(LookRow).where(LookRow.character == "ring")).one()
        delete_look(unit, reasoner, ring.id)
        put_in_bin(unit, reasoner, "spore_print", printed.id)
        put_in_bin(unit, reasoner, "photo", unit.session.scalars(select(PhotoRow.id)).one())
        withdraw_confirmation(unit, reasoner, unit.session.scalars(select(Confirmation.id)).one())
        put_in_bin(unit, reasoner, "fruitbody", signed.body)
        put_in_bin(unit, reasoner, "find", signed.find)
        put_in_bin(unit, reasoner, "batch", batch.id)
        for who in (signed.ada, signed.bea):
            put_in_bin(unit, reasoner, "person", who)
        before, events = all_ids(unit.session), named(unit.session)

    # The student took no part in it; nothing names him.
    with database.writing() as unit:
        put_in_bin(unit, reasoner, "person", signed.stu)
    assert erase_expired(database, later(400)) == 1
    with database.reading() as session:
        assert all_ids(session) == before - {signed.stu}
        assert named(session) == events - {signed.stu}
    assert len(list(database.photos)) == 1


def test_single_things_are_erased_unless_something_names_them(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        ada, bea, cleo = (unit.make(Person(name=name)) for name in ("Ada", "Bea", "Cleo"))
        mill, moor = unit.make(PlaceRow(name="mill")), unit.make(PlaceRow(name="moor"))
        find, body = gather(unit, reasoner, place_id=mill.id)
        free = make_look(
            unit, reasoner, find.id, character="ring", answer="absent", fruitbody_id=body.id, observer_id=ada.id
        )
        alone = add_photo(database, unit, find.id, photo(1))
        of_print = add_photo(database, unit, find.id, photo(2))
        unit.make(SporePrint(find_id=find.id, fruitbody_id=body.id, photo_id=of_print.id))
    with database.writing(cleo.id) as unit:
        unit.edit(unit.get(FindRow, find.id), notes="wet")
    with database.writing() as unit:
        for kind, row in (
            ("place", mill),
            ("place", moor),
            ("person", ada),
            ("person", bea),
            ("person", cleo),
            ("look", free),
            ("photo", alone),
            ("photo", of_print),
        ):
            put_in_bin(unit, reasoner, kind, row.id)
    # Once the look is gone, nothing names its observer.
    assert erase_expired(database, later(31)) == 5
    with database.reading() as session:
        left = all_ids(session)
    assert {r.id for r in (mill, moor, ada, bea, cleo, free, alone, of_print)} & left == {mill.id, cleo.id, of_print.id}
    assert sorted(database.photos) == [of_print.sha256]


def test_a_look_that_a_later_one_corrects_stays_so_that_older_ones_do_not_wake(
    database: Database, reasoner: Reasoner
) -> None:
    with database.writing() as unit:
        find, body = gather(unit, reasoner)
        first, second, third = (
            make_look(unit, reasoner, find.id, character="ring", answer=a, fruitbody_id=body.id)
            for a in ("absent", "narrow", "skirt")
        )
        delete_look(unit, reasoner, second.id)
    erase_expired(database, later(40))
    with database.reading() as session:
        document = reasoner.of(session, find.id)[0]
        assert {k.id: k.supersedes for k in document.looks} == {first.id: None, third.id: first.id}


def test_photos_of_an_undone_unit_are_swept_up_and_those_that_are_named_are_not(
    database: Database, reasoner: Reasoner
) -> None:
    with database.writing() as unit:
        find, _ = gather(unit, reasoner)
        kept = add_photo(database, unit, find.id, photo(1)).sha256
    with pytest.raises(InputError), database.writing() as unit:
        unit.get(FindRow, add_photo(database, unit, find.id, photo(2)).id)
    assert len(list(database.photos)) == 2

    assert erase_expired(database) == 0
    assert list(database.photos) == [kept]


def test_the_photo_of_a_find_in_the_bin_is_kept_as_long_as_the_find(database: Database, reasoner: Reasoner) -> None:
    with database.writing() as unit:
        find, _ = gather(unit, reasoner)
        row = add_photo(database, unit, find.id, photo(1))
        put_in_bin(unit, reasoner, "photo", row.id)
        put_in_bin(unit, reasoner, "find", find.id)
    erase_expired(database, later(29))
    assert database.photos.open(row.sha256) == photo(1)


def test_a_batch_part_that_lies_in_the_bin_keeps_its_find_too(signed: SimpleNamespace, reasoner: Reasoner) -> None:
    with signed.database.writing() as unit:
        batch = take_to_kitchen(unit, reasoner, [signed.body])
        part = unit.session.scalars(select(BatchPart)).one()
        put_in_bin(unit, reasoner, "batch_part", part.id)
        put_in_bin(unit, reasoner, "find", signed.find)
        assert unit.get(Batch, batch.id).flagged_at is not None
    erase_expired(signed.database, later(99))
    with signed.database.reading() as session:
        assert session.get(FindRow, signed.find) is not None
        assert session.get(FruitbodyRow, signed.body) is not None
        assert session.get(SignatureRow, signed.signature) is not None


def test_an_odd_time_of_deletion_stops_nothing(database: Database, reasoner: Reasoner) -> None:
    """Rows of an import bear the time of another clock; they are only ever compared as text."""
    with database.writing() as unit:
        find, _ = gather(unit, reasoner)
        values: dict[str, Any] = {"deleted_at": "2001-01-01"}
        unit.session.execute(update(FindRow).where(FindRow.id == find.id).values(values))
    assert erase_expired(database) == 1
