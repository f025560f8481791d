"""Keep a find document that was sent: the find, its fruitbodies and its looks, all or nothing."""

from __future__ import annotations

import re
from typing import Any

import msgspec
from fastapi import HTTPException, Request
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from trug.determine.find import Find
from trug.errors import ImplausibleError, InputError, UnknownWordError
from trug.place import position_of
from trug.reading import shown
from trug.records.documents import fruitbodies_of
from trug.records.gatherings import add_find, make_look, refresh
from trug.records.history import Unit
from trug.records.reasoning import Reasoner
from trug.records.tables import FindRow, FruitbodyRow, Person, PlaceRow
from trug.web.language import gettext as _
from trug.web.site import person_of, site_of

__all__ = ["MOST_LOOKS", "keep_find", "known_person", "writer"]

#: Looks of one find.
MOST_LOOKS = 500
_UUID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def writer(request: Request) -> str:
    """Return who changes something; InputError before anybody has said who they are."""
    with site_of(request).database.reading() as session:
        person = person_of(request, session)
        if person is None:
            raise InputError(_("nobody has said yet who they are; open /begin in a browser first"))
        return person.id


def known_person(session: Session, person_id: str | None) -> str | None:
    """Return the id of a person of this database, None where none is named; UnknownWordError for anybody else."""
    if person_id is None:
        return None
    person = session.get(Person, person_id)
    if person is None or person.deleted_at is not None:
        raise UnknownWordError(
            _("there is no person %(who)s here; GET /api/people lists them") % {"who": shown(person_id)}
        )
    return person.id


def keep_find(unit: Unit, reasoner: Reasoner, find: Find) -> tuple[FindRow, tuple[str, ...]]:
    """Record a find; return it and what was left out.

    Raises
    ------
    InputError
        Position, observer or a look cannot be used, or there are too many looks.
    HTTPException
        409 where a find with its id is there.
    """
    if len(find.looks) > MOST_LOOKS:
        raise ImplausibleError(_("a find holds %(n)s looks at most") % {"n": MOST_LOOKS})
    own: dict[str, Any] = {"id": find.id} if _UUID.fullmatch(find.id) else {}
    if own and unit.session.get(FindRow, find.id) is not None:
        raise HTTPException(409, _("a find with this id is there already; read it with GET /api/finds/ID"))
    row = add_find(
        unit,
        reasoner,
        date=find.date,
        fruitbodies=len(find.fruitbodies),
        region=find.region,
        notes=find.notes or "",
        extra=_extra(find),
        finder_id=known_person(unit.session, find.determiner) or unit.person_id,
        **own,
        **_where(unit.session, find),
    )
    bodies = _keep_fruitbodies(unit, find, row)
    _keep_looks(unit, reasoner, find, row, bodies)
    refresh(unit, reasoner, row.id)
    return row, (_("photos are not kept from a document; add them on the page of the find"),) if find.photos else ()


def _keep_fruitbodies(unit: Unit, find: Find, row: FindRow) -> dict[str, FruitbodyRow]:
    """Set stage and condition of the fruitbodies, which were made in order; return them by the id that was sent."""
    out = {}
    for sent, body in zip(find.fruitbodies, fruitbodies_of(unit.session, row.id), strict=True):
        unit.edit(body, stage=sent.stage, condition=list(sent.condition))
        out[sent.id] = body
    return out


def _keep_looks(unit: Unit, reasoner: Reasoner, find: Find, row: FindRow, bodies: dict[str, FruitbodyRow]) -> None:
    kept: dict[str, str] = {}
    waiting = list(find.looks)
    while waiting:
        # A look comes after the one that it corrects; a document cannot correct in a circle.
        sent = next(k for k in waiting if k.supersedes is None or k.supersedes in kept)
        waiting.remove(sent)
        kept[sent.id] = make_look(
            unit,
            reasoner,
            row.id,
            character=sent.character,
            answer=msgspec.json.decode(msgspec.json.encode(sent.evidence)),
            fruitbody_id=bodies[sent.fruitbody].id if sent.fruitbody is not None else None,
            sure=sent.sure,
            method=sent.method,
            observer_id=known_person(unit.session, sent.observer),
            sources=sent.sources,
            time=sent.time,
            supersedes=kept[sent.supersedes] if sent.supersedes is not None else None,
            then_refresh=False,
        ).id


def _where(session: Session, find: Find) -> dict[str, Any]:
    """Return the fields of a find's place; a place of that name which is known is the place."""
    place = find.place
    if place is None:
        return {}
    position = position_of(place)
    known = None
    if place.name:
        query = select(PlaceRow).where(PlaceRow.deleted_at.is_(None), func.lower(PlaceRow.name) == place.name.lower())
        known = session.scalars(query.order_by(PlaceRow.id).limit(1)).first()
    return {
        "lat": position.lat,
        "lon": position.lon,
        "uncertainty_m": position.uncertainty_m,
        "altitude_m": place.altitude_m,
        "place_id": known.id if known is not None else None,
        "locality": "" if known is not None else place.name or "",
    }


def _extra(find: Find) -> dict[str, Any]:
    """Return what a document holds beyond its format, without what a find document says of itself."""
    return {key: value for key, value in find.extra.items() if key not in ("labels", "blind")}
