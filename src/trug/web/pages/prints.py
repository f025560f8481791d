"""Spore prints of a find: laid, read, kept."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from sqlalchemy import select

from trug.errors import InputError
from trug.records.bin import put_in_bin
from trug.records.database import now_text
from trug.records.documents import fruitbodies_of
from trug.records.gatherings import make_print, read_print
from trug.records.history import Unit
from trug.records.tables import FruitbodyRow, LookRow, SporePrint
from trug.web import telling
from trug.web.acting import acting, to_find
from trug.web.find_view import chosen_body, find_or_404, prints_of
from trug.web.language import gettext as _
from trug.web.rendering import go, page, say
from trug.web.security import Posted, posted
from trug.web.site import Site, site_of

__all__ = ["router"]

router = APIRouter()


@router.get("/finds/{find_id}/prints")
def prints(request: Request, find_id: str, body: str = "") -> Response:
    """Show the spore prints of a find, and the form of a new one."""
    site = site_of(request)
    with site.database.reading() as session:
        row = find_or_404(session, find_id)
        bodies = fruitbodies_of(session, find_id)
        return page(
            request,
            "find_prints.html",
            row=row,
            bodies=bodies,
            chosen=chosen_body(bodies, body),
            prints=prints_of(session, find_id),
            character=site.here.vocabulary.characters["spore_print"],
            now=telling.local_input(now_text()),
            telling=telling,
        )


@router.post("/finds/{find_id}/prints")
def lay(request: Request, find_id: str, form: Posted = Depends(posted)) -> Response:
    """Record a spore print that was laid, or one that is read already."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        body = unit.get(FruitbodyRow, form.get("body"))
        if body.find_id != find_id:
            raise InputError(_("that fruitbody belongs to another find; open its own page"))
        told = _told(site, form)
        make_print(unit, site.reasoner, body.id, colour=told.pop("colour"), observer_id=unit.person_id, **told)
    if form.get("colour"):
        say(request, _("The spore print is read."))
    else:
        say(request, _("The spore print is laid. Cover it, and read it in four hours or tomorrow."))
    return go(request, to_find(find_id, body.id))


@router.post("/finds/{find_id}/prints/{print_id}")
def read(request: Request, find_id: str, print_id: str, form: Posted = Depends(posted)) -> Response:
    """Read a spore print that was laid, or correct what was read."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        row = _print(unit, find_id, print_id)
        told = _told(site, form)
        told["read_at"] = told["read_at"] and (row.read_at or told["read_at"])
        read_print(unit, site.reasoner, row.id, **told)
    say(request, _("The spore print is read.") if form.get("colour") else _("The spore print is corrected."))
    return go(request, to_find(find_id, row.fruitbody_id))


@router.post("/finds/{find_id}/prints/{print_id}/delete")
def delete(request: Request, find_id: str, print_id: str, form: Posted = Depends(posted)) -> Response:
    """Put a spore print into the bin, and the looks that were made from it."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        row = _print(unit, find_id, print_id)
        _drop_looks(unit, site, row)
        put_in_bin(unit, site.reasoner, "spore_print", print_id)
    say(request, _("The spore print and its look lie in the bin; for 30 days they can be brought back."))
    return go(request, to_find(find_id, row.fruitbody_id))


def _print(unit: Unit, find_id: str, print_id: str) -> SporePrint:
    """Return a spore print of a find; InputError where it belongs to another."""
    row = unit.get(SporePrint, print_id)
    if row.find_id != find_id:
        raise InputError(_("that spore print belongs to another find; open its own page"))
    return row


def _told(site: Site, form: Posted) -> dict[str, Any]:
    """Return what a form tells of a spore print."""
    colour = form.get("colour") or None
    if colour is not None and colour not in site.here.vocabulary.characters["spore_print"].codes:
        raise InputError(_("choose one of the print colours that are shown"))
    paper, deposit = form.get("paper", "both"), form.get("deposit", "thick")
    if paper not in telling.PAPER_WORDS or deposit not in telling.DEPOSIT_WORDS:
        raise InputError(_("choose one of the papers and deposits that are offered"))
    if colour and deposit == "none":
        raise InputError(_("nothing fell, so the print has no colour: that is no look; take the colour back"))
    return {
        "colour": colour,
        "paper": paper,
        "deposit": deposit,
        "started": telling.utc_text(form.get("started")),
        "read_at": now_text() if colour or deposit == "none" else None,
        "kept_at": form.get("kept_at")[:500],
        "notes": form.get("notes")[:2000],
    }


def _drop_looks(unit: Unit, site: Site, row: SporePrint) -> None:
    query = select(LookRow).where(LookRow.fruitbody_id == row.fruitbody_id, LookRow.deleted_at.is_(None))
    for look in unit.session.scalars(query.where(LookRow.character == "spore_print")).all():
        if row.id in (look.sources or ()):
            put_in_bin(unit, site.reasoner, "look", look.id)
