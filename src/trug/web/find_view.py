"""What the page of one find shows beside the ledger: fruitbodies, looks, names, photos, spore prints."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import HTTPException
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.characters import Character, Vocabulary
from trug.characters.model import STAGES
from trug.determine.record import Contribution, FruitbodyResult
from trug.records.documents import looks_of
from trug.records.tables import FindRow, FruitbodyRow, LookRow, Person, PhotoRow, SporePrint, StatedName
from trug.web.language import gettext as _
from trug.web.telling import day_and_time, told, why_not_used
from trug.web.words import N_

__all__ = [
    "LookLine",
    "PartOfLooks",
    "Says",
    "chance_words",
    "chosen_body",
    "day_told",
    "find_or_404",
    "look_character",
    "looks_by_part",
    "names_of_people",
    "people_by_id",
    "photos_by_stage",
    "prints_of",
    "says_of",
    "stated_names",
]

#: Words for a probability, from the highest down.
CHANCE_WORDS = (
    (0.95, N_("very likely")),
    (0.8, N_("likely")),
    (0.5, N_("more likely than not")),
    (0.2, N_("possible")),
    (0.05, N_("less likely")),
    (0.0, N_("hardly")),
)


@dataclass(frozen=True, slots=True)
class LookLine:
    """A look as a line of the page; ``earlier`` are the answers that it corrected, latest first."""

    id: str
    character: Character | None
    code: str
    told: str
    sure: str
    method: str
    who: str
    when: str
    whole: bool
    blind: bool
    conflict: bool
    not_used: str
    earlier: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PartOfLooks:
    """The looks at one part of the fruitbody."""

    part: str
    looks: tuple[LookLine, ...]


@dataclass(frozen=True, slots=True)
class Says:
    """What one look says of the leading name: in words, with the numbers [nat] beside."""

    character: Character | None
    line: Contribution
    words: str


def find_or_404(session: Session, find_id: str) -> FindRow:
    """Return a find that was not deleted; where there is none, the answer is 404."""
    row = session.get(FindRow, find_id)
    if row is None or row.deleted_at is not None:
        raise HTTPException(404, _("There is no such find. If it was deleted, it lies in the bin for 30 days."))
    return row


def chosen_body(bodies: Sequence[FruitbodyRow], body_id: str | None) -> FruitbodyRow | None:
    """Return the fruitbody that was asked for, the first where none was; 404 where the find has no such one."""
    if not body_id:
        return bodies[0] if bodies else None
    for body in bodies:
        if body.id == body_id:
            return body
    raise HTTPException(404, _("This find has no such fruitbody. If it was deleted, it lies in the bin for 30 days."))


def look_character(vocabulary: Vocabulary, code: str) -> Character:
    """Return a character that can be looked at; 404 where there is none."""
    found = vocabulary.characters.get(vocabulary.aliases.get(code, code))
    if found is None or found.role == "prior":
        raise HTTPException(404, _("There is no such character to look at."))
    return found


def names_of_people(session: Session) -> dict[str, str]:
    """Return the names of everyone who has not been deleted, by id, in the order of the alphabet."""
    rows = session.execute(select(Person.id, Person.name).where(Person.deleted_at.is_(None)).order_by(Person.name))
    return dict(rows.all())


def people_by_id(session: Session) -> dict[str, Person]:
    """Return everyone by id, those deleted too: old signatures are theirs."""
    return {p.id: p for p in session.scalars(select(Person))}


def day_told(date: str) -> str:
    """Return the day of a date; what came from elsewhere and tells none, such as ``2019``, as it is."""
    try:
        return datetime.date.fromisoformat(date[:10]).isoformat()
    except ValueError:
        return date


def looks_by_part(
    session: Session, find_id: str, body: FruitbodyRow | None, result: FruitbodyResult | None, vocabulary: Vocabulary
) -> tuple[PartOfLooks, ...]:
    """Return the looks at one fruitbody and at the find as a whole, part by part, corrected ones with the later."""
    every = looks_of(session, find_id)
    by_id = {k.id: k for k in every}
    corrected = {k.supersedes for k in every if k.supersedes}
    people = {person.id: person.name for person in session.scalars(select(Person))}
    barred = {look: reason for look, _code, reason in result.not_used} if result else {}
    conflicts = {look for pair in result.conflicts for look in pair} if result else set()
    parts: dict[str, list[LookLine]] = {}
    order = {code: n for n, code in enumerate(vocabulary.characters)}
    mine = [k for k in every if k.id not in corrected and k.fruitbody_id in (None, body.id if body else None)]
    for row in sorted(mine, key=lambda k: order.get(k.character, len(order))):
        character = vocabulary.characters.get(row.character)
        line = _look_line(row, character, by_id, people, vocabulary, barred.get(row.id, ""), row.id in conflicts)
        parts.setdefault(character.part if character else "whole", []).append(line)
    return tuple(PartOfLooks(part, tuple(lines)) for part, lines in parts.items())


def _look_line(
    row: LookRow,
    character: Character | None,
    by_id: dict[str, LookRow],
    people: dict[str, str],
    vocabulary: Vocabulary,
    reason: str,
    conflict: bool,
) -> LookLine:
    earlier: list[str] = []
    before = by_id.get(row.supersedes or "")
    while before is not None and len(earlier) < 5:
        earlier.append(told(before.evidence, character))
        before = by_id.get(before.supersedes or "")
    return LookLine(
        id=row.id,
        character=character,
        code=row.character,
        told=told(row.evidence, character),
        sure=row.sure,
        method=row.method,
        who=people.get(row.observer_id or "", ""),
        when=day_and_time(row.time),
        whole=row.fruitbody_id is None,
        blind=row.blind,
        conflict=conflict,
        not_used="" if row.evidence.get("not_seen") or not reason else why_not_used(reason, character, vocabulary),
        earlier=tuple(earlier),
    )


def chance_words(probability: float) -> str:
    """Return a probability [0..1] of a name in words."""
    return next(_(words) for least, words in CHANCE_WORDS if probability >= least)


def says_of(result: FruitbodyResult, vocabulary: Vocabulary) -> tuple[Says, ...]:
    """Return what each look says for or against the leading name, the loudest first."""
    return tuple(Says(vocabulary.characters.get(c.character), c, _speaks(c.over_average)) for c in result.contributions)


def _speaks(nats: float) -> str:
    size = abs(nats)
    if size < 0.2:
        return _("says little")
    if nats > 0:
        return _("strongly for it") if size >= 2.0 else _("for it") if size >= 0.7 else _("a little for it")
    return _("strongly against it") if size >= 2.0 else _("against it") if size >= 0.7 else _("a little against it")


def photos_by_stage(session: Session, find_id: str, bodies: Sequence[FruitbodyRow]) -> list[tuple[str, list[PhotoRow]]]:
    """Return the photos of a find by the stage of the fruitbody they show; those of the whole find come last."""
    query = select(PhotoRow).where(PhotoRow.find_id == find_id, PhotoRow.deleted_at.is_(None))
    stages: dict[str | None, Any] = {b.id: b.stage for b in bodies}
    order = (*STAGES, "")
    groups: dict[str, list[PhotoRow]] = {stage: [] for stage in order}
    for photo in session.scalars(query.order_by(PhotoRow.created_at, PhotoRow.id)):
        stage = stages.get(photo.fruitbody_id)
        groups[stage if isinstance(stage, str) and stage in groups else ""].append(photo)
    return [(stage, photos) for stage, photos in groups.items() if photos]


def prints_of(session: Session, find_id: str) -> list[SporePrint]:
    """Return the spore prints of a find, oldest first."""
    query = select(SporePrint).where(SporePrint.find_id == find_id, SporePrint.deleted_at.is_(None))
    return list(session.scalars(query.order_by(SporePrint.created_at, SporePrint.id)))


def stated_names(session: Session, find_id: str) -> list[StatedName]:
    """Return the names that people or other databases give a find, the latest first."""
    query = select(StatedName).where(StatedName.find_id == find_id, StatedName.deleted_at.is_(None))
    return list(session.scalars(query.order_by(StatedName.created_at.desc(), StatedName.id.desc())))
