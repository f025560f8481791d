"""Classes and walks with people."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import Response
from sqlalchemy.orm import Session

from trug.errors import InputError
from trug.records.classes import (
    Plan,
    add_member,
    all_classes,
    delete_class,
    members_of,
    remove_member,
    save_class,
)
from trug.records.listing import list_finds
from trug.records.people import all_people
from trug.records.places import all_places
from trug.records.tables import Class, Person, PlaceRow
from trug.web.acting import acting
from trug.web.language import gettext as _
from trug.web.pages.people import SHORT_PRACTICE
from trug.web.rendering import go, page, say
from trug.web.security import Posted, posted
from trug.web.site import person_of, site_of
from trug.web.words import N_

router = APIRouter()

#: What somebody is in a class.
ROLE_WORDS = {
    "teacher": N_("teacher"),
    "assistant": N_("assistant"),
    "student": N_("student"),
    "guest": N_("guest"),
}


@router.get("/classes", include_in_schema=False)
def classes(request: Request) -> Response:
    """List the classes, the latest first."""
    with site_of(request).database.reading() as session:
        return page(request, "classes.html", classes=all_classes(session))


@router.get("/classes/new", include_in_schema=False)
def new_class(request: Request) -> Response:
    """Ask for a new class: today, taught by whoever asks."""
    site = site_of(request)
    with site.database.reading() as session:
        me = person_of(request, session)
        typed = {"held_on": datetime.date.today().isoformat(), "teacher_id": me.id if me else ""}
        return _form(request, session, None, typed, "")


@router.post("/classes/new", include_in_schema=False)
def add_class(request: Request, form: Posted = Depends(posted)) -> Response:
    """Add a class."""
    return _save(request, None, form)


@router.get("/classes/{class_id}", include_in_schema=False)
def one_class(request: Request, class_id: str) -> Response:
    """Show one class: its people and its finds."""
    site = site_of(request)
    with site.database.reading() as session:
        row = _class(session, class_id)
        members = members_of(session, row.id)
        belong = {m.person_id for m in members}
        return page(
            request,
            "class.html",
            group=row,
            place=session.get(PlaceRow, row.place_id) if row.place_id else None,
            teacher=session.get(Person, row.teacher_id) if row.teacher_id else None,
            members=members,
            others=[p for p in all_people(session) if p.id not in belong],
            finds=list_finds(session, class_id=row.id, count=50),
            roles=ROLE_WORDS,
            practices=SHORT_PRACTICE,
        )


@router.get("/classes/{class_id}/edit", include_in_schema=False)
def edit_class(request: Request, class_id: str) -> Response:
    """Show what is written down of a class, to be corrected."""
    with site_of(request).database.reading() as session:
        row = _class(session, class_id)
        typed = {key: getattr(row, key) or "" for key in ("name", "held_on", "place_id", "teacher_id", "notes")}
        return _form(request, session, row.id, typed, "")


@router.post("/classes/{class_id}/edit", include_in_schema=False)
def correct_class(request: Request, class_id: str, form: Posted = Depends(posted)) -> Response:
    """Correct a class."""
    return _save(request, class_id, form)


@router.post("/classes/{class_id}/members", include_in_schema=False)
def join(request: Request, class_id: str, form: Posted = Depends(posted)) -> Response:
    """Add people to a class, or give one another role."""
    site = site_of(request)
    chosen = [p for p in form.all("person") if p]
    if not chosen:
        raise InputError(_("choose who comes; people who are not listed are added under People"))
    with site.database.writing(acting(request)) as unit:
        for person_id in chosen:
            add_member(unit, class_id, person_id, form.get("role"))
    return go(request, f"/classes/{class_id}")


@router.post("/classes/{class_id}/members/{member_id}/remove", include_in_schema=False)
def leave(request: Request, class_id: str, member_id: str, form: Posted = Depends(posted)) -> Response:
    """Take somebody out of a class."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        remove_member(unit, class_id, member_id)
    return go(request, f"/classes/{class_id}")


@router.post("/classes/{class_id}/delete", include_in_schema=False)
def remove_class(request: Request, class_id: str, form: Posted = Depends(posted)) -> Response:
    """Put a class into the bin."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        row = delete_class(unit, class_id)
    say(request, _("{name} lies in the bin for thirty days. Its finds stay.").format(name=row.name))
    return go(request, "/classes")


def _class(session: Session, class_id: str) -> Class:
    row = session.get(Class, class_id)
    if row is None or row.deleted_at is not None:
        raise HTTPException(404, _("there is no such class; it may have been deleted (see the bin)"))
    return row


def _save(request: Request, class_id: str | None, form: Posted) -> Response:
    site = site_of(request)
    typed = {key: form.get(key) for key in ("name", "held_on", "place_id", "teacher_id", "notes")}
    try:
        with site.database.writing(acting(request)) as unit:
            row = save_class(unit, class_id, Plan(**typed))
    except InputError as error:
        with site.database.reading() as session:
            return _form(request, session, class_id, typed, error.message)
    return go(request, f"/classes/{row.id}")


def _form(request: Request, session: Session, class_id: str | None, typed: Mapping[str, Any], problem: str) -> Response:
    return page(
        request,
        "classes_form.html",
        status=422 if problem else 200,
        class_id=class_id,
        typed=typed,
        problem=problem,
        places=all_places(session),
        people=all_people(session),
    )
