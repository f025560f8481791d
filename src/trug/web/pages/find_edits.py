"""What is changed of a find beside its looks: the find itself, its fruitbodies, the names that people state."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.errors import InputError
from trug.records.bin import put_in_bin
from trug.records.documents import fruitbodies_of
from trug.records.gatherings import add_fruitbody, correct_find, correct_fruitbody, state_name
from trug.records.history import Unit
from trug.records.places import all_places
from trug.records.tables import Class, FindRow, FruitbodyRow, Person, StatedName
from trug.web.acting import acting, to_find
from trug.web.find_view import day_told, find_or_404, names_of_people
from trug.web.language import gettext as _
from trug.web.look_form import typed_in
from trug.web.place_field import place_from
from trug.web.rendering import go, page, say, wants_swap
from trug.web.security import Posted, posted
from trug.web.site import site_of

__all__ = ["router"]

router = APIRouter()

#: What a person can correct of a find as a whole, beside its place.
TEXTS = ("number", "fungarium", "voucher_at", "notes")


@router.get("/finds/{find_id}/correct")
def correct(request: Request, find_id: str) -> Response:
    """Show the form in which a find is corrected."""
    with site_of(request).database.reading() as session:
        row = find_or_404(session, find_id)
        typed = {
            "date": day_told(row.date),
            "place": row.place_id or "",
            "region": row.region or "",
            "finder": row.finder_id or "",
            "class": row.class_id or "",
            "altitude_m": "" if row.altitude_m is None else f"{row.altitude_m:g}",
            **{name: getattr(row, name) for name in TEXTS},
        }
        return _form(request, session, row, typed)


@router.post("/finds/{find_id}/correct")
def save(request: Request, find_id: str, form: Posted = Depends(posted)) -> Response:
    """Correct a find."""
    site = site_of(request)
    person = acting(request)
    try:
        with site.database.writing(person) as unit:
            row = unit.get(FindRow, find_id)
            before = row.standing
            correct_find(unit, site.reasoner, find_id, **_told(unit, row, form))
            ended = before in ("signed", "waits") and row.standing == "doubted"
    except InputError as error:
        if wants_swap(request):
            raise
        with site.database.reading() as session:
            typed = {k: form.get(k) for k in form.form}
            return _form(request, session, find_or_404(session, find_id), typed, error.message)
    say(request, _("The find is corrected.") + (" " + _("Its signatures no longer stand.") if ended else ""))
    return go(request, to_find(find_id))


def _told(unit: Unit, row: FindRow, form: Posted) -> dict[str, Any]:
    """Return what a form tells of a find."""
    date = form.get("date")
    altitude = form.get("altitude_m").replace(",", ".")
    try:
        altitude_m = float(altitude) if altitude else None
    except ValueError:
        raise InputError(_("the altitude is a number of metres, such as 340")) from None
    if altitude_m is not None and not -450 <= altitude_m <= 9000:
        raise InputError(_("the altitude lies between -450 and 9000 metres above the sea"))
    return {
        "place_id": place_from(unit, form),
        "region": form.get("region") or None,
        "finder_id": unit.get(Person, form.get("finder")).id if form.get("finder") else None,
        "class_id": unit.get(Class, form.get("class")).id if form.get("class") else None,
        "altitude_m": altitude_m,
        # A date that another database told with its time of day, or without a day, stays unless a day is given.
        **({"date": date} if date and date != day_told(row.date) else {}),
        **{name: form.get(name) for name in TEXTS},
    }


def _form(request: Request, session: Session, row: FindRow, typed: Mapping[str, str], problem: str = "") -> Response:
    classes = session.execute(select(Class.id, Class.name).where(Class.deleted_at.is_(None)).order_by(Class.name))
    return page(
        request,
        "find_correct.html",
        status=422 if problem else 200,
        problem=problem,
        row=row,
        undated=len(day_told(row.date)) != len("2026-10-04"),
        typed=typed_in(typed),
        places=all_places(session),
        people=names_of_people(session),
        classes=dict(classes.all()),
        regions=site_of(request).here.vocabulary.characters["region"].states,
    )


@router.post("/finds/{find_id}/delete")
def delete(request: Request, find_id: str, form: Posted = Depends(posted)) -> Response:
    """Put a find into the bin."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        number = unit.get(FindRow, find_id).number
        put_in_bin(unit, site.reasoner, "find", find_id)
    say(request, _("Find %(number)s lies in the bin; for 30 days it can be brought back.") % {"number": number})
    return go(request, "/")


@router.post("/finds/{find_id}/fruitbodies")
def add_body(request: Request, find_id: str, form: Posted = Depends(posted)) -> Response:
    """Add a fruitbody to a find, and show it."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        row = add_fruitbody(unit, site.reasoner, find_id, stage=form.get("stage") or None)
    say(request, _("Fruitbody %(label)s is added; it has a ledger of its own.") % {"label": row.label})
    return go(request, to_find(find_id, row.id))


@router.post("/finds/{find_id}/fruitbodies/{body_id}")
def correct_body(request: Request, find_id: str, body_id: str, form: Posted = Depends(posted)) -> Response:
    """Correct stage, condition and notes of a fruitbody."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        row = _body(unit, find_id, body_id)
        told: dict[str, Any] = {"condition": form.all("condition"), "notes": form.get("notes")}
        if form.get("stage") != "mixed":
            told["stage"] = form.get("stage") or None
        correct_fruitbody(unit, site.reasoner, body_id, **{k: v for k, v in told.items() if v != getattr(row, k)})
    say(request, _("Fruitbody %(label)s is corrected.") % {"label": row.label})
    return go(request, to_find(find_id, body_id))


@router.post("/finds/{find_id}/fruitbodies/{body_id}/delete")
def delete_body(request: Request, find_id: str, body_id: str, form: Posted = Depends(posted)) -> Response:
    """Put a fruitbody into the bin, unless it is the last one."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        row = _body(unit, find_id, body_id)
        if len(fruitbodies_of(unit.session, find_id)) < 2:
            raise InputError(_("this is the only fruitbody of the find; delete the find instead"))
        put_in_bin(unit, site.reasoner, "fruitbody", body_id)
    say(request, _("Fruitbody %(label)s lies in the bin; for 30 days it can be brought back.") % {"label": row.label})
    return go(request, to_find(find_id))


@router.post("/finds/{find_id}/names")
def state(request: Request, find_id: str, form: Posted = Depends(posted)) -> Response:
    """Write down a name that someone gives the find."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        row = state_name(
            unit,
            site.reasoner,
            find_id,
            form.get("name")[:200],
            stated_by=form.get("stated_by")[:200],
            remarks=form.get("remarks")[:2000],
        )
    say(request, _("%(name)s is written down as stated. It rules nothing out.") % {"name": row.name})
    return go(request, to_find(find_id, form.get("body")))


@router.post("/finds/{find_id}/names/{name_id}/delete")
def delete_name(request: Request, find_id: str, name_id: str, form: Posted = Depends(posted)) -> Response:
    """Put a stated name into the bin."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        if unit.get(StatedName, name_id).find_id != find_id:
            raise InputError(_("that name belongs to another find; open its own page"))
        put_in_bin(unit, site.reasoner, "stated_name", name_id)
    say(request, _("The stated name lies in the bin; for 30 days it can be brought back."))
    return go(request, to_find(find_id))


def _body(unit: Unit, find_id: str, body_id: str) -> FruitbodyRow:
    """Return a fruitbody of a find; InputError where it belongs to another."""
    row = unit.get(FruitbodyRow, body_id)
    if row.find_id != find_id:
        raise InputError(_("that fruitbody belongs to another find; open its own page"))
    return row
