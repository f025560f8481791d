"""People: added, corrected and deleted; what their practice and their senses decide is worked out anew."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from trug.characters import Vocabulary
from trug.errors import InputError, UnknownWordError
from trug.reading import nearest, shown
from trug.records.gatherings import refresh
from trug.records.history import Unit
from trug.records.reasoning import Reasoner
from trug.records.tables import Confirmation, FindRow, LookRow, Person, SignatureRow

__all__ = [
    "PRACTICES",
    "Profile",
    "all_people",
    "confirmations_of",
    "delete_person",
    "save_person",
    "tools_of",
]

PRACTICES = ("practised", "student", "beginner")
#: What of a person bears on the reasoning about finds.
_WEIGHS = ("practice", "colour_vision", "smell")


@dataclass(frozen=True, slots=True)
class Profile:
    """What is written down of a person; ``tools`` is None where nothing is told of them.

    ``adult`` is asked with ``may_taste`` only, and is not kept.
    """

    name: str
    practice: str = "practised"
    role: str = ""
    colour_vision: bool = True
    smell: bool = True
    may_taste: bool = False
    adult: bool = False
    tools: Sequence[str] | None = None
    contact: str = ""
    notes: str = ""


def tools_of(vocabulary: Vocabulary) -> tuple[str, ...]:
    """Return every tool that a look can need."""
    return tuple(sorted({tool for c in vocabulary.characters.values() for tool in c.tools}, key=str.lower))


def all_people(session: Session) -> list[Person]:
    """Return everybody who was not deleted, by name."""
    query = select(Person).where(Person.deleted_at.is_(None))
    return sorted(session.scalars(query), key=lambda p: (p.name.lower(), p.id))


def confirmations_of(session: Session, person_id: str) -> list[Confirmation]:
    """Return the confirmations of a person that stand, by taxon."""
    query = select(Confirmation).where(Confirmation.person_id == person_id, Confirmation.deleted_at.is_(None))
    return list(session.scalars(query.order_by(Confirmation.taxon, Confirmation.created_at)))


def save_person(unit: Unit, reasoner: Reasoner, person_id: str | None, profile: Profile) -> Person:
    """Add a person, or correct one; a change of practice or senses goes through all their finds.

    Raises
    ------
    InputError
        The name is missing or taken, a word is unknown, or a person who may not taste would.
    """
    fields = _checked(unit.session, reasoner.here.vocabulary, person_id, profile)
    if person_id is None:
        return unit.make(Person(**fields))
    person = unit.get(Person, person_id)
    weighs = any(getattr(person, field) != fields[field] for field in _WEIGHS)
    renamed = person.name != fields["name"]
    unit.edit(person, **fields)
    if weighs or renamed:
        for find_id in _finds_of(unit.session, person.id, finder_only=not weighs):
            refresh(unit, reasoner, find_id)
    return person


def delete_person(unit: Unit, person_id: str, owner_id: str | None) -> Person:
    """Put a person into the bin; what they did stays theirs. The owner cannot be deleted."""
    person = unit.get(Person, person_id)
    if person.id == owner_id:
        raise InputError("the records belong to this person; hand them over to another one first")
    unit.delete(person)
    return person


def _checked(session: Session, vocabulary: Vocabulary, person_id: str | None, told: Profile) -> dict[str, object]:
    """Return the columns of a profile."""
    name = " ".join(told.name.split())
    if not name:
        raise InputError("the name is missing; it is what signatures and labels show")
    if any(p.name.lower() == name.lower() and p.id != person_id for p in all_people(session)):
        raise InputError(f"there is somebody called {name} already; add what tells them apart, such as a second name")
    if told.practice not in PRACTICES:
        raise UnknownWordError(f"unknown practice {shown(told.practice)} (all: {', '.join(PRACTICES)})")
    if told.may_taste and told.practice == "student":
        raise InputError("a student does not taste; take the tick away, or change the practice")
    if told.may_taste and not told.adult:
        raise InputError("only adults who want to may taste; tick that this person is one")
    known = tools_of(vocabulary)
    for tool in told.tools or ():
        if tool not in known:
            raise UnknownWordError(f"unknown tool {shown(tool)}{nearest(tool, known)}")
    return {
        "name": name,
        "practice": told.practice,
        "role": told.role.strip(),
        "colour_vision": told.colour_vision,
        "smell": told.smell,
        "may_taste": told.may_taste,
        "tools": None if told.tools is None else sorted(set(told.tools)),
        "contact": told.contact.strip(),
        "notes": told.notes.strip(),
    }


def _finds_of(session: Session, person_id: str, *, finder_only: bool) -> set[str]:
    """Return the finds that a person found; without ``finder_only`` also those they looked at or signed."""
    query = select(FindRow.id).where(FindRow.deleted_at.is_(None))
    if finder_only:
        return set(session.scalars(query.where(FindRow.finder_id == person_id)))
    looked = select(LookRow.find_id).where(LookRow.observer_id == person_id)
    signed = select(SignatureRow.find_id).where(SignatureRow.person_id == person_id)
    mine = or_(FindRow.finder_id == person_id, FindRow.id.in_(looked), FindRow.id.in_(signed))
    return set(session.scalars(query.where(mine)))
