"""People: who finds, looks, signs, teaches and learns; what each may do, and what others confirmed them to know."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import Response
from sqlalchemy.orm import Session

from trug.errors import InputError
from trug.records.listing import list_finds
from trug.records.people import (
    Profile,
    all_people,
    confirmations_of,
    delete_person,
    save_person,
    tools_of,
)
from trug.records.signing import confirm_taxon, withdraw_confirmation
from trug.records.tables import Confirmation, Person
from trug.treatments.names import treatment_named
from trug.web.acting import acting
from trug.web.language import gettext as _
from trug.web.rendering import go, page, say, wants_swap
from trug.web.security import Posted, posted
from trug.web.site import Site, person_of, put_setting, setting, site_of
from trug.web.words import N_

router = APIRouter()

#: What each practice means.
PRACTICE_WORDS = {
    "practised": N_("practised: names fungi with care and has taught or been taught for years"),
    "student": N_(
        "student: is learning from somebody; never tastes, and never releases a group that beginners leave alone"
    ),
    "beginner": N_("beginner: looks carefully, knows few fungi yet"),
}
SHORT_PRACTICE = {"practised": N_("practised"), "student": N_("student"), "beginner": N_("beginner")}


@router.get("/people", include_in_schema=False)
def people(request: Request) -> Response:
    """List everybody."""
    site = site_of(request)
    with site.database.reading() as session:
        return page(
            request,
            "people.html",
            people=all_people(session),
            me=person_of(request, session),
            owner=setting(session, "owner"),
            practices=SHORT_PRACTICE,
        )


@router.get("/people/new", include_in_schema=False)
def new_person(request: Request) -> Response:
    """Ask for somebody new."""
    blank = {"practice": "", "colour_vision": "on", "smell": "on"}
    return _form(request, None, blank, (), "")


@router.post("/people/new", include_in_schema=False)
def add_person(request: Request, form: Posted = Depends(posted)) -> Response:
    """Add somebody."""
    return _save(request, None, form)


@router.get("/people/{person_id}", include_in_schema=False)
def person(request: Request, person_id: str) -> Response:
    """Show one person."""
    return _shown(request, person_id, {}, "")


@router.get("/people/{person_id}/edit", include_in_schema=False)
def edit_person(request: Request, person_id: str) -> Response:
    """Show what is written down of a person, to be corrected."""
    site = site_of(request)
    with site.database.reading() as session:
        row = _person(session, person_id)
        typed = {key: getattr(row, key) for key in ("name", "practice", "role", "contact", "notes")}
        typed |= {key: "on" for key in ("colour_vision", "smell", "may_taste") if getattr(row, key)}
        typed |= {"adult": "on"} if row.may_taste else {}
        typed |= {"tools_told": "on"} if row.tools is not None else {}
        return _form(request, row.id, typed, tuple(row.tools or ()), "")


@router.post("/people/{person_id}/edit", include_in_schema=False)
def correct_person(request: Request, person_id: str, form: Posted = Depends(posted)) -> Response:
    """Correct a person."""
    return _save(request, person_id, form)


@router.post("/people/{person_id}/now", include_in_schema=False)
def be_person(request: Request, person_id: str, form: Posted = Depends(posted)) -> Response:
    """Let this browser work as a person from now on."""
    with site_of(request).database.reading() as session:
        row = _person(session, person_id)
    request.session["person"] = row.id
    say(request, _("You are now {name}. What you write down is theirs.").format(name=row.name))
    return go(request, f"/people/{row.id}")


@router.post("/people/{person_id}/owner", include_in_schema=False)
def hand_over(request: Request, person_id: str, form: Posted = Depends(posted)) -> Response:
    """Make another person the owner of the records; only the owner can."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        if unit.person_id != setting(unit.session, "owner"):
            raise InputError(_("only the owner can hand the records over"))
        row = unit.get(Person, person_id)
        put_setting(unit.session, "owner", row.id)
    say(request, _("The records now belong to {name}.").format(name=row.name))
    return go(request, f"/people/{row.id}")


@router.post("/people/{person_id}/confirm", include_in_schema=False)
def confirm(request: Request, person_id: str, form: Posted = Depends(posted)) -> Response:
    """Write down that another person has confirmed this one to know a taxon, specimen in hand."""
    try:
        name = _confirm(request, site_of(request), person_id, form)
    except InputError as error:
        if wants_swap(request):
            raise
        typed = {key: form.get(key) for key in ("taxon", "by", "note", "in_hand")}
        return _shown(request, person_id, typed, error.message)
    say(request, _("{name} is written down as confirmed in hand.").format(name=name))
    return go(request, f"/people/{person_id}")


def _confirm(request: Request, site: Site, person_id: str, form: Posted) -> str:
    """Write a confirmation down, and return the name of its taxon."""
    treatment = treatment_named(site.here.book, form.get("taxon"))
    if not form.get("by"):
        raise InputError(_("choose who confirmed it"))
    if not form.get("in_hand"):
        raise InputError(_("tick that the specimen was in hand; a photo or a talk confirms nothing"))
    with site.database.writing(acting(request)) as unit:
        same = [c for c in confirmations_of(unit.session, person_id) if c.taxon == treatment.code]
        if any(c.confirmed_by_id == form.get("by") for c in same):
            raise InputError(_("this is written down already; withdraw it first to write it anew"))
        confirm_taxon(unit, site.reasoner, person_id, treatment.code, form.get("by"), form.get("note"))
    return treatment.name


@router.post("/people/{person_id}/confirmations/{confirmation_id}/withdraw", include_in_schema=False)
def unconfirm(request: Request, person_id: str, confirmation_id: str, form: Posted = Depends(posted)) -> Response:
    """Take a confirmation back."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        if unit.get(Confirmation, confirmation_id).person_id != person_id:
            raise InputError(_("this confirmation is another person's; open their page"))
        withdraw_confirmation(unit, site.reasoner, confirmation_id)
    say(request, _("The confirmation is withdrawn. Finds that rested on it wait for a second signer again."))
    return go(request, f"/people/{person_id}")


@router.post("/people/{person_id}/delete", include_in_schema=False)
def remove_person(request: Request, person_id: str, form: Posted = Depends(posted)) -> Response:
    """Put a person into the bin."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        row = delete_person(unit, person_id, setting(unit.session, "owner"))
    if request.session.get("person") == row.id:
        request.session.pop("person")
    say(request, _("{name} lies in the bin for thirty days.").format(name=row.name))
    return go(request, "/people")


def _person(session: Session, person_id: str) -> Person:
    row = session.get(Person, person_id)
    if row is None or row.deleted_at is not None:
        raise HTTPException(404, _("there is no such person; they may have been deleted (see the bin)"))
    return row


def _shown(request: Request, person_id: str, typed: Mapping[str, Any], problem: str) -> Response:
    site = site_of(request)
    with site.database.reading() as session:
        row = _person(session, person_id)
        return page(
            request,
            "person.html",
            status=422 if problem else 200,
            person=row,
            me=person_of(request, session),
            owner=setting(session, "owner"),
            practice=PRACTICE_WORDS[row.practice],
            confirmed=_confirmed(site, session, row.id),
            who_can=[p for p in all_people(session) if p.practice == "practised" and p.id != row.id],
            finds=list_finds(session, person_id=row.id, count=12),
            typed=typed,
            problem=problem,
        )


def _confirmed(site: Site, session: Session, person_id: str) -> list[dict[str, Any]]:
    """Return the confirmations of a person with their taxa and who gave them."""
    out = []
    for row in confirmations_of(session, person_id):
        by = session.get(Person, row.confirmed_by_id)
        treatment = site.here.book.treatments.get(row.taxon)
        out.append({"row": row, "taxon": treatment, "by": by.name if by else ""})
    return out


def _save(request: Request, person_id: str | None, form: Posted) -> Response:
    site = site_of(request)
    tools = tuple(form.all("tools")) if form.get("tools_told") else None
    ticked: dict[str, Any] = {key: bool(form.get(key)) for key in ("colour_vision", "smell", "may_taste", "adult")}
    written: dict[str, Any] = {key: form.get(key) for key in ("name", "practice", "role", "contact", "notes")}
    try:
        with site.database.writing(acting(request)) as unit:
            row = save_person(unit, site.reasoner, person_id, Profile(**written, **ticked, tools=tools))
    except InputError as error:
        typed = written | {key: "on" for key, on in ticked.items() if on} | ({"tools_told": "on"} if tools else {})
        return _form(request, person_id, typed, tuple(form.all("tools")), error.message)
    say(request, _("{name} is written down.").format(name=row.name))
    return go(request, f"/people/{row.id}")


def _form(
    request: Request, person_id: str | None, typed: Mapping[str, Any], tools: tuple[str, ...], problem: str
) -> Response:
    return page(
        request,
        "people_form.html",
        status=422 if problem else 200,
        person_id=person_id,
        typed=typed,
        chosen=tools,
        problem=problem,
        practices=PRACTICE_WORDS,
        tools=tools_of(site_of(request).here.vocabulary),
    )
