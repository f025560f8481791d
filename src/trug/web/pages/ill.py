"""If someone is ill: whom to call, what to do, what to tell; it answers without any set-up."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import Response
from sqlalchemy.orm import Session

from trug.determine.record import LedgerLine
from trug.errors import InputError, TrugError
from trug.incident import GENERAL
from trug.records.documents import fruitbodies_of
from trug.records.listing import FindLine, list_finds
from trug.records.signing import signatures_of
from trug.records.tables import FindRow
from trug.web.emergency import KINDS, numbers_stored, numbers_typed, store_numbers, to_call
from trug.web.language import gettext as _
from trug.web.rendering import go, page, say
from trug.web.security import Posted, posted
from trug.web.site import Site, setting, site_of

router = APIRouter()

#: How many of the latest finds are listed, and for how many of them the open fungi are named at once.
LISTED, NAMED = 10, 3
SEVERE = ("kills", "organ")


@dataclass(frozen=True, slots=True)
class Told:
    """What there is to tell of a fruitbody: its label, names by the looks, names signed, harmful fungi still open."""

    label: str
    looks: int
    names: tuple[str, ...]
    signed: tuple[str, ...]
    open: tuple[LedgerLine, ...]


@router.get("/ill", include_in_schema=False)
def ill(request: Request) -> Response:
    """Say whom to call first, then all the rest."""
    site = site_of(request)
    with site.database.reading() as session:
        finds = list_finds(session, count=LISTED).finds
        return page(
            request,
            "ill.html",
            call=to_call(session, datetime.date.today()),
            general=GENERAL,
            region=_region(site, session),
            finds=[(find, _of_find(site, session, find) if n < NAMED else ()) for n, find in enumerate(finds)],
        )


@router.get("/ill/finds/{find_id}", include_in_schema=False)
def tell(request: Request, find_id: str) -> Response:
    """Everything there is to tell of one find."""
    site = site_of(request)
    with site.database.reading() as session:
        find = session.get(FindRow, find_id)
        if find is None or find.deleted_at is not None:
            raise HTTPException(404, _("there is no such find; it may have been deleted (see the bin)"))
        try:
            told, reasoned = _told(site, session, find_id), True
        except TrugError:
            told, reasoned = (), False
        call = to_call(session, datetime.date.today())
        return page(request, "ill_find.html", find=find, told=told, reasoned=reasoned, call=call)


@router.get("/ill/numbers", include_in_schema=False)
def numbers(request: Request) -> Response:
    """Ask for the numbers, with what is kept."""
    with site_of(request).database.reading() as session:
        kept = numbers_stored(session)
    typed = {f"{kind}_{field}": getattr(n, field) for kind, n in kept.items() for field in n.__dataclass_fields__}
    return page(request, "ill_numbers.html", typed=typed, problem="", kinds=KINDS)


@router.post("/ill/numbers", include_in_schema=False)
def keep_numbers(request: Request, form: Posted = Depends(posted)) -> Response:
    """Keep the numbers."""
    try:
        found = numbers_typed(form, datetime.date.today())
    except InputError as error:
        typed = {key: form.get(key) for key in form.form}
        return page(request, "ill_numbers.html", status=422, typed=typed, problem=error.message, kinds=KINDS)
    with site_of(request).database.writing() as unit:
        store_numbers(unit.session, found)
    say(request, _("The numbers are kept. Check them again within twelve months."))
    return go(request, "/ill")


def _region(site: Site, session: Session) -> str:
    """Return the region in words; nothing where none was chosen."""
    code = setting(session, "region")
    states = site.here.vocabulary.characters["region"].states
    return next((_(s.definition) for s in states if s.code == code), "")


def _of_find(site: Site, session: Session, find: FindLine) -> tuple[Told, ...]:
    """Return what there is to tell of a find; nothing where it cannot be reasoned about, for this page must answer."""
    try:
        return _told(site, session, find.id)
    except TrugError:
        return ()


def _told(site: Site, session: Session, find_id: str) -> tuple[Told, ...]:
    """Return what there is to tell of each fruitbody of a find; the worst open fungi first, the likeliest of them."""
    bodies = fruitbodies_of(session, find_id)
    if not bodies:
        return ()
    _find, record = site.reasoner.of(session, find_id)
    results = {r.fruitbody: r for r in record.fruitbodies}
    signed = signatures_of(session, find_id)
    out = []
    for body in bodies:
        result = results[body.id]
        left = [line for line in result.ledger if not line.ruled_out and line.level in SEVERE]
        left.sort(key=lambda line: (SEVERE.index(line.level), -line.probability, line.name))
        names = tuple(dict.fromkeys(n.name for n in result.names[:3])) if result.looks else ()
        mine = tuple(dict.fromkeys(s.name for s in signed if body.id in s.fruitbodies))
        out.append(Told(body.label, result.looks, names, mine, tuple(left)))
    return tuple(out)
