"""What was deleted: shown for thirty days, brought back whole, then erased for good."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from trug.errors import InputError, UnknownWordError
from trug.records.database import Database, now_text
from trug.records.gatherings import refresh
from trug.records.history import Unit, expired, row_kinds
from trug.records.reasoning import Reasoner
from trug.records.signing import refresh_signed, void_signatures
from trug.records.tables import (
    Base,
    Batch,
    BatchPart,
    Class,
    ClassMember,
    Confirmation,
    DeterminationRow,
    Event,
    ExpertPacket,
    ExpertReply,
    FindRow,
    FindWords,
    FruitbodyRow,
    LookRow,
    Person,
    PhotoRow,
    PlaceRow,
    SignatureRow,
    SporePrint,
    StatedName,
)

__all__ = ["Deleted", "bring_back", "deleted_things", "erase_expired", "put_in_bin"]

#: What hangs on a find, leaves first.
PARTS_OF_FIND: tuple[type[Any], ...] = (
    ExpertReply,
    ExpertPacket,
    SignatureRow,
    DeterminationRow,
    StatedName,
    SporePrint,
    LookRow,
    PhotoRow,
    FruitbodyRow,
    FindWords,
)


@dataclass(frozen=True, slots=True)
class Deleted:
    """A thing in the bin; ``what`` is its kind, ``called`` what people know it by."""

    what: str
    id: str
    called: str
    deleted_at: str
    find_id: str | None


def deleted_things(session: Session) -> list[Deleted]:
    """Return what can still be brought back, the latest deletion first."""
    found = []
    for what, kind in row_kinds().items():
        for row in session.scalars(select(kind).where(kind.deleted_at.is_not(None))):
            find_id = row.id if kind is FindRow else getattr(row, "find_id", None)
            found.append(Deleted(what, row.id, _called(session, row), row.deleted_at, find_id))
    return sorted(found, key=lambda d: d.deleted_at, reverse=True)


def _called(session: Session, row: Any) -> str:
    """Return by what people would know a row again."""
    if isinstance(row, FindRow):
        return f"{row.number} {row.name}".strip()
    told = [str(getattr(row, name)) for name in ("name", "label", "character", "role", "taxon") if hasattr(row, name)]
    find = session.get(FindRow, row.find_id) if hasattr(row, "find_id") else None
    return " ".join(filter(None, [told[0] if told else "", f"({find.number})" if find else ""]))


def put_in_bin(unit: Unit, reasoner: Reasoner, what: str, row_id: str) -> None:
    """Delete a thing; it can be brought back for thirty days."""
    row = unit.get(_kind(what), row_id)
    if isinstance(row, SignatureRow):
        raise InputError("a signature is not deleted; withdraw it and say why, so that its batches are flagged")
    if isinstance(row, Person) and _owner(unit.session) == row.id:
        raise InputError("you cannot delete yourself; choose another person first")
    unit.delete(row)
    _after(unit, reasoner, row, "it was deleted")


def bring_back(unit: Unit, reasoner: Reasoner, what: str, row_id: str) -> None:
    """Take a thing out of the bin, as it was."""
    row = unit.get(_kind(what), row_id, deleted=True)
    if isinstance(row, Batch):
        _refuse_twice_taken(unit.session, row)
    unit.bring_back(row)
    _after(unit, reasoner, row, "a part of it was brought back")


def _refuse_twice_taken(session: Session, batch: Batch) -> None:
    mine = select(BatchPart.fruitbody_id).where(BatchPart.batch_id == batch.id, BatchPart.deleted_at.is_(None))
    query = select(Batch.name).join(BatchPart, BatchPart.batch_id == Batch.id)
    query = query.where(Batch.id != batch.id, Batch.deleted_at.is_(None), BatchPart.deleted_at.is_(None))
    other = session.scalar(query.where(BatchPart.fruitbody_id.in_(mine)).limit(1))
    if other is not None:
        raise InputError(f"its fruitbodies are in another batch by now ({other}); delete that one first")


def _kind(what: str) -> type[Any]:
    kind = row_kinds().get(what)
    if kind is None:
        raise UnknownWordError(f"there is no kind of thing called {what!r}")
    return kind


def _owner(session: Session) -> Any:
    from trug.records.tables import Setting

    return session.scalar(select(Setting.value).where(Setting.key == "owner"))


def _after(unit: Unit, reasoner: Reasoner, row: Any, why: str) -> None:
    """Let go of the signatures that rested on it, and work out anew what follows."""
    if isinstance(row, Confirmation):
        refresh_signed(unit, reasoner, row.person_id, row.taxon)
    find_id = row.id if isinstance(row, FindRow) else getattr(row, "find_id", None)
    if find_id is None:
        return
    if isinstance(row, FruitbodyRow):
        void_signatures(unit, find_id, row.id, why)
    elif isinstance(row, (LookRow, SporePrint)):
        void_signatures(unit, find_id, row.fruitbody_id, why)
    elif isinstance(row, FindRow) and row.deleted_at is not None:
        void_signatures(unit, find_id, None, why)
    refresh(unit, reasoner, find_id)


def erase_expired(database: Database, now: str | None = None) -> int:
    """Erase for good what was deleted more than thirty days ago, with its history and photos; return how many things.

    What others still refer to stays hidden instead: a person whose looks stand or who changed something, a place
    where finds lie, a look that a later one corrects, and everything that a batch rests on.
    """
    before = expired(now or now_text())
    count = 0
    with database.writing() as unit:
        session = unit.session
        old_finds = list(session.scalars(select(FindRow.id).where(FindRow.deleted_at < before)))
        for find_id in old_finds:
            if not _in_batch(session, find_id):
                count += _erase_find(session, find_id)
        for kind in (SporePrint, LookRow, PhotoRow, StatedName, ClassMember, Confirmation, Class, PlaceRow, Person):
            old = list(session.scalars(select(kind.id).where(kind.deleted_at < before)))
            free = [i for i in old if not _referred_to(session, kind, i)]
            _erase(session, kind, free)
            count += len(free)
        session.flush()
        kept = set(session.scalars(select(PhotoRow.sha256)))
    for sha256 in [s for s in database.photos if s not in kept]:
        _drop_unless_named(database, sha256)
    return count


def _drop_unless_named(database: Database, sha256: str) -> None:
    """Drop a photo's bytes while nobody can write a row that names them."""
    with database.writing() as unit:
        named = unit.session.scalar(select(PhotoRow.id).where(PhotoRow.sha256 == sha256).limit(1))
        if named is None:
            database.photos.drop(sha256)


def _in_batch(session: Session, find_id: str) -> bool:
    """Whether a batch was made of the find: its chain back to the find is never erased."""
    query = select(BatchPart.id).join(FruitbodyRow, FruitbodyRow.id == BatchPart.fruitbody_id)
    query = query.join(Batch, Batch.id == BatchPart.batch_id)
    return session.scalar(query.where(FruitbodyRow.find_id == find_id).limit(1)) is not None


def _erase_find(session: Session, find_id: str) -> int:
    for kind in PARTS_OF_FIND:
        if kind is FindWords:
            session.execute(delete(FindWords).where(FindWords.find_id == find_id))
            continue
        _erase(session, kind, session.scalars(select(kind.id).where(kind.find_id == find_id)))
    _erase(session, FindRow, [find_id])
    return 1


def _erase(session: Session, kind: type[Any], ids: Iterable[str]) -> None:
    for row_id in list(ids):
        session.execute(delete(Event).where(Event.entity_id == row_id))
        session.execute(delete(kind).where(kind.id == row_id))


def _batch_rests_on(session: Session, kind: type[Any], row_id: str) -> bool:
    """Whether a batch was made of the find that a row belongs to, or under a signature that a confirmation allowed."""
    row = session.get(kind, row_id)
    if isinstance(row, Confirmation):
        query = select(SignatureRow.find_id).where(SignatureRow.person_id == row.person_id)
        finds = session.scalars(query.where(SignatureRow.taxon == row.taxon).distinct())
        return any(_in_batch(session, find_id) for find_id in finds)
    find_id = getattr(row, "find_id", None)
    return find_id is not None and _in_batch(session, find_id)


def _referred_to(session: Session, kind: type[Any], row_id: str) -> bool:
    """Whether anything else rests on a row: another one names it, a batch was made of it, it changed something."""
    if _batch_rests_on(session, kind, row_id):
        return True
    if kind is LookRow and session.scalar(select(LookRow.id).where(LookRow.supersedes == row_id).limit(1)):
        return True
    if kind is Person:
        acted = select(Event.id).where(Event.person_id == row_id, Event.entity_id != row_id)
        if session.scalar(acted.limit(1)) is not None:
            return True
    for table in Base.metadata.sorted_tables:
        for column in table.columns:
            names_it = any(key.column.table is kind.__table__ for key in column.foreign_keys)
            if names_it and session.execute(select(column).where(column == row_id).limit(1)).first() is not None:
                return True
    return False
