"""Classes and walks with people: when, where, who teaches, who comes.

A class names people and finds, and holds nothing of theirs itself; so it can be handed on later without them.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from trug.errors import InputError, UnknownWordError
from trug.reading import shown
from trug.records.history import Unit
from trug.records.tables import Class, ClassMember, FindRow, Person, PlaceRow

__all__ = [
    "ROLES",
    "ClassLine",
    "Member",
    "Plan",
    "add_member",
    "all_classes",
    "delete_class",
    "members_of",
    "remove_member",
    "save_class",
]

ROLES = ("teacher", "assistant", "student", "guest")


@dataclass(frozen=True, slots=True)
class Plan:
    """What is written down of a class; ``held_on`` is an ISO 8601 date."""

    name: str
    held_on: str
    place_id: str | None = None
    teacher_id: str | None = None
    notes: str = ""


@dataclass(frozen=True, slots=True)
class ClassLine:
    """One class in a list, with how many people belong to it and how many finds were made in it."""

    id: str
    name: str
    held_on: str
    place: str
    teacher: str
    members: int
    finds: int


@dataclass(frozen=True, slots=True)
class Member:
    """Someone in a class."""

    id: str
    person_id: str
    name: str
    practice: str
    role: str


def all_classes(session: Session) -> list[ClassLine]:
    """Return the classes that were not deleted, the latest first."""
    members = _counts(session, ClassMember)
    finds = _counts(session, FindRow)
    query = (
        select(Class.id, Class.name, Class.held_on, PlaceRow.name, Person.name)
        .outerjoin(PlaceRow, PlaceRow.id == Class.place_id)
        .outerjoin(Person, Person.id == Class.teacher_id)
        .where(Class.deleted_at.is_(None))
        .order_by(Class.held_on.desc(), Class.id.desc())
    )
    return [
        ClassLine(r[0], r[1], r[2], r[3] or "", r[4] or "", members.get(r[0], 0), finds.get(r[0], 0))
        for r in session.execute(query)
    ]


def _counts(session: Session, kind: type[ClassMember] | type[FindRow]) -> dict[str, int]:
    query = select(kind.class_id, func.count()).where(kind.deleted_at.is_(None), kind.class_id.is_not(None))
    return {str(row): int(count) for row, count in session.execute(query.group_by(kind.class_id))}


def members_of(session: Session, class_id: str) -> list[Member]:
    """Return who belongs to a class: teachers first, then by name."""
    query = (
        select(ClassMember.id, ClassMember.person_id, Person.name, Person.practice, ClassMember.role)
        .join(Person, Person.id == ClassMember.person_id)
        .where(ClassMember.class_id == class_id, ClassMember.deleted_at.is_(None))
    )
    found = [Member(*row) for row in session.execute(query)]
    return sorted(found, key=lambda m: (ROLES.index(m.role), m.name.lower(), m.id))


def save_class(unit: Unit, class_id: str | None, plan: Plan) -> Class:
    """Add a class, or correct one; whoever teaches it is a member as teacher.

    Raises
    ------
    InputError
        The name is missing, the date is none, or place or teacher are unknown.
    """
    name = " ".join(plan.name.split())
    if not name:
        raise InputError("the name is missing; call the class what you would call it in your diary")
    try:
        day = datetime.date.fromisoformat(plan.held_on).isoformat()
    except ValueError:
        raise InputError("the date is not understood; write it like 2026-11-25") from None
    if plan.place_id:
        unit.get(PlaceRow, plan.place_id)
    if plan.teacher_id:
        unit.get(Person, plan.teacher_id)
    fields = {
        "name": name,
        "held_on": day,
        "place_id": plan.place_id or None,
        "teacher_id": plan.teacher_id or None,
        "notes": plan.notes.strip(),
    }
    if class_id is None:
        row = unit.make(Class(**fields))
    else:
        row = unit.get(Class, class_id)
        unit.edit(row, **fields)
    if row.teacher_id:
        add_member(unit, row.id, row.teacher_id, "teacher")
    return row


def add_member(unit: Unit, class_id: str, person_id: str, role: str) -> ClassMember:
    """Add someone to a class; who belongs to it already takes the new role."""
    unit.get(Class, class_id)
    unit.get(Person, person_id)
    if role not in ROLES:
        raise UnknownWordError(f"unknown role {shown(role)} (all: {', '.join(ROLES)})")
    query = select(ClassMember).where(
        ClassMember.class_id == class_id, ClassMember.person_id == person_id, ClassMember.deleted_at.is_(None)
    )
    known = unit.session.scalars(query).first()
    if known is None:
        return unit.make(ClassMember(class_id=class_id, person_id=person_id, role=role))
    unit.edit(known, role=role)
    return known


def remove_member(unit: Unit, class_id: str, member_id: str) -> ClassMember:
    """Take someone out of a class; who teaches it stays as long as they teach it."""
    row = unit.get(ClassMember, member_id)
    group = unit.get(Class, class_id)
    if row.class_id != class_id:
        raise InputError("this person belongs to another class; open its own page")
    if row.person_id == group.teacher_id:
        raise InputError("this person teaches the class; choose another teacher first")
    unit.delete(row)
    return row


def delete_class(unit: Unit, class_id: str) -> Class:
    """Put a class into the bin; its finds stay."""
    row = unit.get(Class, class_id)
    unit.delete(row)
    return row
