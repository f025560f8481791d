"""Finds as lists: the latest, those of a day, a place, a person or a class, and those that some words find."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, and_, func, or_, select
from sqlalchemy.orm import Session

from trug.errors import InputError
from trug.records.tables import FindRow, FindWords, Person, PhotoRow, PlaceRow

__all__ = ["PAGE", "FindLine", "FindPage", "list_finds"]

#: Finds on one page.
PAGE = 50
#: A search is never longer [characters].
MOST_WORDS = 1000


@dataclass(frozen=True, slots=True)
class FindLine:
    """One find in a list."""

    id: str
    date: str
    number: str
    name: str
    standing: str
    open_severe: int | None
    place: str
    finder: str
    photo: str | None


@dataclass(frozen=True, slots=True)
class FindPage:
    """Some finds, latest first; ``after`` leads to the next page, None on the last one."""

    finds: tuple[FindLine, ...]
    after: str | None


def list_finds(
    session: Session,
    *,
    words: str = "",
    day: str | None = None,
    place_id: str | None = None,
    person_id: str | None = None,
    class_id: str | None = None,
    standing: str | None = None,
    after: str | None = None,
    count: int = PAGE,
) -> FindPage:
    """Return finds that were not deleted, the latest first.

    Parameters
    ----------
    words : str
        Every one of them must occur in the find's names, number, place, finder, date or notes.
    after : str, optional
        What an earlier page gave as its ``after``.

    Raises
    ------
    InputError
        More is searched for than ``MOST_WORDS`` characters.
    """
    if len(words) > MOST_WORDS:
        raise InputError("that is a lot to search for; a few words are enough")
    wanted = [
        column == value
        for column, value in (
            (FindRow.date, day),
            (FindRow.place_id, place_id),
            (FindRow.finder_id, person_id),
            (FindRow.class_id, class_id),
            (FindRow.standing, standing),
        )
        if value
    ]
    query = (
        select(
            FindRow.id,
            FindRow.date,
            FindRow.number,
            FindRow.name,
            FindRow.standing,
            FindRow.open_severe,
            func.coalesce(PlaceRow.name, FindRow.locality),
            Person.name,
        )
        .outerjoin(PlaceRow, PlaceRow.id == FindRow.place_id)
        .outerjoin(Person, Person.id == FindRow.finder_id)
    )
    if words.strip():
        query = query.where(FindRow.id.in_(_with_words(session, words, wanted, after, count + 1)))
    else:
        query = query.where(FindRow.deleted_at.is_(None), *wanted, *_beyond(FindRow.date, FindRow.id, after))
    rows = session.execute(query.order_by(FindRow.date.desc(), FindRow.id.desc()).limit(count + 1)).all()
    ids = [r[0] for r in rows[:count]]
    shown = select(PhotoRow.find_id, func.min(PhotoRow.sha256)).where(
        PhotoRow.find_id.in_(ids), PhotoRow.deleted_at.is_(None), PhotoRow.role == "habit"
    )
    photos = {r[0]: r[1] for r in session.execute(shown.group_by(PhotoRow.find_id))} if ids else {}
    lines = tuple(
        FindLine(r[0], r[1], r[2], r[3], r[4], r[5], r[6] or "", r[7] or "", photos.get(r[0])) for r in rows[:count]
    )
    more = len(rows) > count
    return FindPage(lines, f"{lines[-1].date}_{lines[-1].id}" if more else None)


def _with_words(
    session: Session, words: str, wanted: list[ColumnElement[bool]], after: str | None, count: int
) -> list[str]:
    """Return the latest finds in whose words all these occur; reads the index of words alone, and stops early."""
    query = select(FindWords.find_id).where(*_beyond(FindWords.date, FindWords.find_id, after))
    for word in words.lower().split():
        query = query.where(FindWords.words.contains(word, autoescape=True))
    if wanted:
        query = query.where(FindWords.find_id.in_(select(FindRow.id).where(*wanted)))
    return list(session.scalars(query.order_by(FindWords.date.desc(), FindWords.find_id.desc()).limit(count)))


def _beyond(date: Any, row_id: Any, after: str | None) -> list[ColumnElement[bool]]:
    """Return what holds of the finds on the pages that follow."""
    if not after:
        return []
    until, _, last = after.rpartition("_")
    return [or_(date < until, and_(date == until, row_id < last))]
