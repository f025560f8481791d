"""Operations on records: finds, their determinations and looks, people and places."""

from __future__ import annotations

import re

import msgspec
from fastapi import HTTPException, Request
from fastapi.responses import Response
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.determine.find import Find, Look
from trug.determine.record import Determination
from trug.errors import InputError, UnknownWordError
from trug.place import DEFAULT_GRID_DEG
from trug.reading import decode
from trug.records.documents import find_document, fruitbodies_of
from trug.records.exchange.dates import is_iso_date
from trug.records.gatherings import checked_day, delete_look, make_look
from trug.records.listing import FindPage, list_finds
from trug.records.tables import FindRow, LookRow, Person, PlaceRow
from trug.web.api.answers import JsonBody, answer
from trug.web.api.book import NOTES, notes_header, read_sent, signed_code
from trug.web.api.keeping import keep_find, known_person, writer
from trug.web.api.operations import Example, Operation, Operations, Parameter
from trug.web.api.outward import (
    determination_outward,
    find_outward,
    finds_outward,
    look_outward,
    place_outward,
    text_outward,
)
from trug.web.api.shapes import FindSent, LookSent, PersonLine, PlaceLine
from trug.web.language import gettext as _
from trug.web.site import Site, site_of
from trug.web.words import STANDING_WORDS

__all__ = ["OPERATIONS"]

OPERATIONS = Operations()

_AFTER = re.compile(r"\d{4}[^_]{0,28}_[0-9A-Za-z-]{1,64}")
_ID = Parameter("find_id", "The id of a find.", "path", True)


@OPERATIONS.add(
    Operation(
        "GET",
        "/api/finds",
        "listFinds",
        "List or search the finds",
        "The latest first, fifty at a time; 'after' of one answer leads to the next.",
        (FindPage,),
        Example("/api/finds?q=marginata", '{"finds": [], "after": null}'),
        parameters=(
            Parameter("q", "Words that must all occur in names, number, place, finder, date or notes."),
            Parameter("day", "Finds of one day only.", schema={"type": "string", "format": "date"}),
            Parameter(
                "standing", "Finds whose name stands so.", schema={"type": "string", "enum": list(STANDING_WORDS)}
            ),
            Parameter("place", "Finds of one place, by its id."),
            Parameter("person", "Finds of one finder, by id."),
            Parameter(
                "after",
                "What an earlier answer gave as 'after'.",
                schema={"type": "string", "pattern": f"^{_AFTER.pattern}$"},
            ),
        ),
        refusals=(422,),
    )
)
def finds(
    request: Request,
    q: str = "",
    day: str | None = None,
    standing: str | None = None,
    place: str | None = None,
    person: str | None = None,
    after: str | None = None,
) -> Response:
    """Answer with a page of finds."""
    if standing is not None and standing not in STANDING_WORDS:
        raise UnknownWordError(_("standing is one of %(words)s") % {"words": ", ".join(STANDING_WORDS)})
    if after is not None and not _AFTER.fullmatch(after):
        raise InputError(_("'after' must be what an earlier answer gave; leave it out for the first page"))
    with site_of(request).database.reading() as session:
        page = list_finds(
            session,
            words=q,
            day=None if day is None else checked_day(day),
            standing=standing,
            place_id=place,
            person_id=person,
            after=after,
        )
    return answer(request, finds_outward(page))


@OPERATIONS.add(
    Operation(
        "GET",
        "/api/finds/{find_id}",
        "readFind",
        "Read one find",
        "The find document, its place generalised to a grid and coordinates in its texts withheld.",
        (Find,),
        Example("/api/finds/FIND", '{"id": "FIND", "date": "2026-11-20", "place": {"lat": 55.7, "lon": 12.6}}'),
        parameters=(_ID,),
        refusals=(404,),
    )
)
def find(request: Request, find_id: str) -> Response:
    """Answer with one find."""
    site = site_of(request)
    with site.database.reading() as session:
        return answer(request, _outward(site, session, _find(session, find_id)))


@OPERATIONS.add(
    Operation(
        "GET",
        "/api/finds/{find_id}/determination",
        "determineFind",
        "Read the determination of a find as its looks stand now",
        "Reasoned anew, and not signed by asking for it.",
        (Determination,),
        Example("/api/finds/FIND/determination", '{"format": "trug.determination/1", "find": "FIND"}'),
        parameters=(_ID, Parameter("signed", "A name that a person signs; the release verdict is about it.")),
        refusals=(404, 422),
    )
)
def determination(request: Request, find_id: str, signed: str = "") -> Response:
    """Answer with the determination."""
    site = site_of(request)
    with site.database.reading() as session:
        _find(session, find_id)
        record = site.reasoner.of(session, find_id, signed=signed_code(site, signed))[1]
    return answer(request, determination_outward(record))


@OPERATIONS.add(
    Operation(
        "POST",
        "/api/finds",
        "keepFind",
        "Record a find",
        "Takes a find document with fruitbodies and looks and keeps all of it, or nothing where something is wrong. "
        "An id that is a UUID is kept, so that sending twice keeps once. Observers are people of this database; "
        f"photos are added on the find's page. What was left out stands in the header {NOTES}.",
        (Find,),
        Example(
            "/api/finds",
            '{"id": "FIND", "date": "2026-11-20", "notes": "on a stump"}',
            '{"date": "2026-11-20", "region": "europe-north", "fruitbodies": '
            '[{"stage": "prime", "seen": {"spore_print": "rust-brown"}}], "notes": "on a stump"}',
        ),
        takes=FindSent,
        status=201,
        refusals=(409,),
    )
)
def add(request: Request, body: JsonBody) -> Response:
    """Keep a find."""
    site = site_of(request)
    read = read_sent(site, body)
    with site.database.writing(writer(request)) as unit:
        row, notes = keep_find(unit, site.reasoner, read.find)
        kept = _outward(site, unit.session, row)
    headers = {"Location": f"/api/finds/{kept.id}", **notes_header([*read.warnings, *notes])}
    return answer(request, kept, status=201, headers=headers)


@OPERATIONS.add(
    Operation(
        "POST",
        "/api/finds/{find_id}/looks",
        "makeLook",
        "Record a look",
        "It supersedes the same observer's earlier look at that feature of that fruitbody, and voids signatures "
        "that rested on the looks before.",
        (Look,),
        Example(
            "/api/finds/FIND/looks",
            '{"id": "LOOK", "character": "ring", "evidence": {"states": ["narrow"]}}',
            '{"character": "ring", "evidence": "narrow", "fruitbody": "a", "sure": "fairly"}',
        ),
        takes=LookSent,
        parameters=(_ID,),
        status=201,
        refusals=(404,),
    )
)
def look(request: Request, find_id: str, body: JsonBody) -> Response:
    """Record a look."""
    site = site_of(request)
    sent = _look_sent(body)
    with site.database.writing(writer(request)) as unit:
        _find(unit.session, find_id)
        fruitbody = _fruitbody(unit.session, find_id, sent.fruitbody)
        _check_correction(unit.session, find_id, fruitbody, sent)
        row = make_look(
            unit,
            site.reasoner,
            find_id,
            character=site.here.vocabulary.aliases.get(sent.character, sent.character),
            answer=sent.evidence,
            fruitbody_id=fruitbody,
            sure=sent.sure,
            method=sent.method,
            observer_id=known_person(unit.session, sent.observer),
            sources=sent.sources,
            time=sent.time,
            supersedes=sent.supersedes,
        )
        made = look_outward(row)
    return answer(request, made, status=201)


@OPERATIONS.add(
    Operation(
        "DELETE",
        "/api/looks/{look_id}",
        "deleteLook",
        "Put a look into the bin",
        "It can be brought back for thirty days; the look that it had corrected stands again.",
        (),
        Example("/api/looks/LOOK", ""),
        parameters=(Parameter("look_id", "The id of a look.", "path", True),),
        status=204,
        refusals=(404, 422),
    )
)
def unlook(request: Request, look_id: str) -> Response:
    """Delete a look."""
    site = site_of(request)
    with site.database.writing(writer(request)) as unit:
        row = unit.session.get(LookRow, look_id)
        if row is None or row.deleted_at is not None:
            raise HTTPException(404, _("there is no such look; it may have been deleted (see the bin)"))
        delete_look(unit, site.reasoner, look_id)
    return Response(status_code=204)


@OPERATIONS.add(
    Operation(
        "GET",
        "/api/people",
        "listPeople",
        "List the people",
        "Everyone who finds, looks, teaches or signs; what is private of them is not given.",
        (list[PersonLine],),
        Example("/api/people", '[{"name": "Ada Moss", "practice": "practised"}]'),
    )
)
def people(request: Request) -> Response:
    """Answer with everyone."""
    with site_of(request).database.reading() as session:
        rows = session.scalars(select(Person).where(Person.deleted_at.is_(None)).order_by(Person.name, Person.id)).all()
    return answer(request, [PersonLine(p.id, text_outward(p.name), p.practice, text_outward(p.role)) for p in rows])


@OPERATIONS.add(
    Operation(
        "GET",
        "/api/places",
        "listPlaces",
        "List the places",
        "Each generalised to its own grid.",
        (list[PlaceLine],),
        Example("/api/places", '[{"name": "River park", "position": {"lat": 55.7, "lon": 12.6, "grid_deg": 0.1}}]'),
    )
)
def places(request: Request) -> Response:
    """Answer with every place."""
    with site_of(request).database.reading() as session:
        query = select(PlaceRow).where(PlaceRow.deleted_at.is_(None)).order_by(PlaceRow.name, PlaceRow.id)
        found = [place_outward(row) for row in session.scalars(query)]
    return answer(request, found)


def _find(session: Session, find_id: str) -> FindRow:
    row = session.get(FindRow, find_id)
    if row is None or row.deleted_at is not None:
        raise HTTPException(404, _("there is no such find; it may have been deleted (see the bin)"))
    return row


def _outward(site: Site, session: Session, row: FindRow) -> Find:
    place = session.get(PlaceRow, row.place_id) if row.place_id else None
    grid = place.grid_deg if place is not None else DEFAULT_GRID_DEG
    return find_outward(find_document(session, row.id, site.here.vocabulary), grid, row.locality)


def _look_sent(body: bytes) -> LookSent:
    decode(body, "")
    try:
        sent = msgspec.json.decode(body, type=LookSent)
    except msgspec.ValidationError as error:
        raise InputError(f"{str(error)[:200]}; see /api for what a look holds") from None
    except (msgspec.DecodeError, RecursionError) as error:
        raise InputError(f"not valid JSON: {str(error)[:100]}") from None
    if sent.time is not None and not is_iso_date(sent.time):
        raise InputError(_("the time must be written like 2026-10-04T09:30"))
    return sent


def _fruitbody(session: Session, find_id: str, told: str | None) -> str | None:
    """Return the id of a fruitbody that is named by id or letter."""
    if told is None:
        return None
    bodies = fruitbodies_of(session, find_id)
    found = next((b.id for b in bodies if told in (b.id, b.label)), None)
    if found is None:
        which = ", ".join(b.label for b in bodies)
        raise UnknownWordError(_("this find has no such fruitbody; it has %(which)s") % {"which": which})
    return found


def _check_correction(session: Session, find_id: str, fruitbody: str | None, sent: LookSent) -> None:
    """Make sure that a look corrects another one of the same feature of the same fruitbody."""
    if sent.supersedes is None:
        return
    row = session.get(LookRow, sent.supersedes)
    if row is None or row.deleted_at is not None or row.find_id != find_id:
        raise UnknownWordError(_("'supersedes' names no look of this find"))
    if row.character != sent.character or row.fruitbody_id not in (None, fruitbody):
        raise InputError(_("a look corrects one of the same character and fruitbody only"))
