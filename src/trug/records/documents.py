"""A find of the database as a find document, and back."""

from __future__ import annotations

import datetime
import sys
from collections.abc import Iterable, Sequence
from typing import Any

import msgspec
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.characters import Vocabulary
from trug.determine.find import Evidence, Find, Fruitbody, Look, Observer, Photo, Place
from trug.errors import UnknownWordError
from trug.records.find_files import with_tree
from trug.records.tables import FindRow, FruitbodyRow, LookRow, Person, PhotoRow, PlaceRow

__all__ = ["corrections", "day_known", "find_document", "fruitbodies_of", "looks_of", "position_of"]


def fruitbodies_of(session: Session, find_id: str) -> Sequence[FruitbodyRow]:
    """Return the fruitbodies of a find, in the order of their labels."""
    query = select(FruitbodyRow).where(FruitbodyRow.find_id == find_id, FruitbodyRow.deleted_at.is_(None))
    return sorted(session.scalars(query), key=lambda b: (len(b.label), b.label))


def looks_of(session: Session, find_id: str) -> Sequence[LookRow]:
    """Return the looks of a find that were not deleted, in the order in which they were made."""
    query = select(LookRow).where(LookRow.find_id == find_id, LookRow.deleted_at.is_(None))
    return session.scalars(query.order_by(LookRow.created_at, LookRow.id)).all()


def corrections(looks: Iterable[LookRow]) -> dict[str, str]:
    """Return which look each look corrects, by their ids; deleted looks must be among those given.

    Where the corrected look was deleted, the one that it had corrected itself is meant. Only a look at the same
    feature of the same fruitbody can be corrected, and looks that correct each other in a circle all stand.
    """
    rows = {k.id: k for k in looks}
    found: dict[str, str] = {}
    for look in rows.values():
        passed, other = {look.id}, rows.get(look.supersedes or "")
        while other is not None and other.deleted_at is not None and other.id not in passed:
            passed.add(other.id)
            other = rows.get(other.supersedes or "")
        alike = other is not None and (other.character, other.fruitbody_id) == (look.character, look.fruitbody_id)
        if look.deleted_at is None and other is not None and other.id not in passed and alike:
            found[look.id] = other.id
    return {look: other for look, other in found.items() if not _in_circle(look, found)}


def _in_circle(look: str, found: dict[str, str]) -> bool:
    passed: set[str] = set()
    at = found.get(look)
    while at is not None and at != look and at not in passed:
        passed.add(at)
        at = found.get(at)
    return at == look


def day_known(date: str) -> bool:
    """Whether a date tells at least the month; finds from elsewhere may tell only the year, or nothing."""
    try:
        datetime.date.fromisoformat(_day(date))
    except ValueError:
        return False
    return True


def _day(date: str) -> str:
    """Return the day of a date, the first of the month where only that is told."""
    return f"{date}-01" if len(date) == len("2026-10") else date[:10]


def position_of(session: Session, find: FindRow) -> Place | None:
    """Return where a find lies, exactly: its own position, or that of its place; None where neither is known."""
    place = session.get(PlaceRow, find.place_id) if find.place_id else None
    own = find.lat is not None and find.lon is not None
    source = find if own else place
    if source is None or source.lat is None or source.lon is None:
        return None
    altitude = find.altitude_m if find.altitude_m is not None else place.altitude_m if place else None
    return Place(source.lat, source.lon, source.uncertainty_m, altitude_m=altitude, name=place.name if place else None)


def find_document(session: Session, find_id: str, vocabulary: Vocabulary, *, determiner: str | None = None) -> Find:
    """Return a find as the document ``trug.find/1``, with its exact position.

    Parameters
    ----------
    determiner : str, optional
        The person who answers for the name; the finder where it is None.

    Raises
    ------
    UnknownWordError
        There is no such find.
    """
    row = session.get(FindRow, find_id)
    if row is None:
        raise UnknownWordError("there is no such find; it may have been deleted (see the bin)")
    bodies = fruitbodies_of(session, find_id)
    known = {b.id for b in bodies}
    looks = [k for k in looks_of(session, find_id) if k.fruitbody_id is None or k.fruitbody_id in known]
    corrected: dict[str, str] = {}
    if any(k.supersedes for k in looks):
        corrected = corrections(session.scalars(select(LookRow).where(LookRow.find_id == find_id)))
    answers_for = determiner or row.finder_id
    people = {k.observer_id for k in looks if k.observer_id} | ({answers_for} if answers_for else set())
    observers = session.scalars(select(Person).where(Person.id.in_(people)).order_by(Person.id)).all()
    photos = session.scalars(
        select(PhotoRow).where(PhotoRow.find_id == find_id, PhotoRow.deleted_at.is_(None)).order_by(PhotoRow.id)
    )
    place = session.get(PlaceRow, row.place_id) if row.place_id else None
    extra: dict[str, Any] = dict(row.extra or {})
    extra["labels"] = {b.id: b.label for b in bodies}
    if blind := [k.id for k in looks if k.blind]:
        extra["blind"] = blind
    find = Find(
        id=row.id,
        date=_day(row.date),
        region=row.region or (place.region if place else None),
        place=position_of(session, row),
        fruitbodies=tuple(Fruitbody(b.id, _stage(b.stage), tuple(b.condition or ())) for b in bodies),
        looks=tuple(_look(k, corrected.get(k.id)) for k in looks),
        photos=tuple(Photo(p.sha256, _word(p.role)) for p in photos),
        observers=tuple(_observer(p) for p in observers),
        determiner=answers_for,
        notes=row.notes or None,
        extra=extra,
    )
    return with_tree(find, vocabulary)[0]


def _stage(stage: Any) -> str | dict[str, float] | None:
    return stage or None


def _look(row: LookRow, corrects: str | None) -> Look:
    return Look(
        id=row.id,
        character=row.character,
        evidence=msgspec.convert(row.evidence, Evidence),
        fruitbody=row.fruitbody_id,
        sure=_word(row.sure),  # type: ignore[arg-type]  # checked when it was written
        method=_word(row.method),  # type: ignore[arg-type]
        observer=row.observer_id,
        device=row.device,
        time=row.time,
        sources=tuple(row.sources or ()),
        supersedes=corrects,
    )


def _word(text: str) -> str:
    """Return a word as the very object that a default is: defaults are left out of a document by what they are.

    Without this, one find would have two digests, before and after it was read from the database.
    """
    return sys.intern(text)


def _observer(person: Person) -> Observer:
    return Observer(
        id=person.id,
        practice=_word(person.practice),  # type: ignore[arg-type]
        colour_vision=person.colour_vision,
        smell=person.smell,
        may_taste=person.may_taste,
        tools=None if person.tools is None else tuple(person.tools),
    )
