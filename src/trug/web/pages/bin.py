"""The bin: what was deleted in the last thirty days, and the way back."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.characters import Vocabulary
from trug.records.bin import Deleted, bring_back, deleted_things
from trug.records.database import now_text
from trug.records.history import KEPT_DAYS, expired
from trug.records.tables import Event, FindRow, LookRow, Person
from trug.web.acting import acting
from trug.web.language import gettext as _
from trug.web.rendering import go, page, say
from trug.web.security import Posted, posted
from trug.web.site import site_of
from trug.web.telling import day_and_time, told
from trug.web.words import N_

__all__ = ["router"]

router = APIRouter()

#: What the kinds of things are called.
KIND_WORDS = {
    "find": N_("find"),
    "fruitbody": N_("fruitbody"),
    "look": N_("look"),
    "photo": N_("photo"),
    "spore_print": N_("spore print"),
    "stated_name": N_("stated name"),
    "signature": N_("signature"),
    "expert_packet": N_("packet for an expert"),
    "expert_reply": N_("reply of an expert"),
    "place": N_("place"),
    "person": N_("person"),
    "class": N_("class"),
    "class_member": N_("member of a class"),
    "confirmation": N_("confirmed name"),
    "batch": N_("batch"),
    "batch_part": N_("part of a batch"),
}


@dataclass(frozen=True, slots=True)
class Line:
    """A thing in the bin; ``find`` is the one it belongs to, where that one is not deleted itself."""

    thing: Deleted
    kind: str
    called: str
    who: str
    when: str
    days_left: int
    find: FindRow | None


@router.get("/bin")
def bin_(request: Request) -> Response:
    """Show what was deleted and can still be brought back."""
    site = site_of(request)
    with site.database.reading() as session:
        now = now_text()
        kept = [d for d in deleted_things(session) if d.deleted_at >= expired(now)]
        return page(request, "bin.html", lines=_lines(session, kept, now, site.here.vocabulary), kept_days=KEPT_DAYS)


@router.post("/bin/{what}/{row_id}")
def back(request: Request, what: str, row_id: str, form: Posted = Depends(posted)) -> Response:
    """Bring a thing back."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        bring_back(unit, site.reasoner, what, row_id)
    say(request, _("Brought back: %(kind)s.") % {"kind": _(KIND_WORDS.get(what, what))})
    return go(request, "/bin")


def _lines(session: Session, things: list[Deleted], now: str, vocabulary: Vocabulary) -> list[Line]:
    people = dict(session.execute(select(Person.id, Person.name)).all())
    query = select(Event.entity_id, Event.person_id).where(
        Event.entity_id.in_([d.id for d in things]), Event.field == "deleted_at"
    )
    # The last deletion of each thing stays in the mapping.
    by = dict(session.execute(query.order_by(Event.clock)).all())
    today = datetime.datetime.fromisoformat(now)
    lines = []
    for thing in things:
        gone = (today - datetime.datetime.fromisoformat(thing.deleted_at)).days
        find = session.get(FindRow, thing.find_id) if thing.find_id and thing.what != "find" else None
        lines.append(
            Line(
                thing=thing,
                kind=_(KIND_WORDS.get(thing.what, thing.what)),
                called=_called(session, thing, vocabulary),
                who=people.get(by.get(thing.id) or "", ""),
                when=day_and_time(thing.deleted_at),
                days_left=KEPT_DAYS - gone,
                find=find if find is not None and find.deleted_at is None else None,
            )
        )
    return lines


def _called(session: Session, thing: Deleted, vocabulary: Vocabulary) -> str:
    """Return by what people know a thing again; a look by its character and answer."""
    row = session.get(LookRow, thing.id) if thing.what == "look" else None
    if row is None:
        return thing.called
    character = vocabulary.characters.get(row.character)
    return f"{_(character.label) if character else row.character}: {told(row.evidence, character)}"
