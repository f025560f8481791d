"""The list of finds, and the page on which one is begun."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from itertools import groupby
from typing import Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.characters.model import STAGES
from trug.errors import InputError
from trug.records.gatherings import add_find
from trug.records.listing import list_finds
from trug.records.places import all_places
from trug.records.tables import Class, FindRow, Person
from trug.web.acting import acting, to_find
from trug.web.find_view import day_told, names_of_people
from trug.web.language import gettext as _
from trug.web.look_form import typed_in
from trug.web.place_field import place_from
from trug.web.rendering import go, page, say, wants_swap
from trug.web.security import Posted, posted
from trug.web.site import person_of, setting, site_of
from trug.web.words import STANDING_WORDS

__all__ = ["router"]

router = APIRouter()


@router.get("/")
@router.get("/finds")
def finds(
    request: Request,
    q: str = "",
    day: str = "",
    place: str = "",
    person: str = "",
    standing: str = "",
    after: str = "",
) -> Response:
    """Show finds, the latest day first; words and filters narrow them."""
    group = request.query_params.get("class", "")
    narrowed = {"q": q, "day": day, "place": place, "person": person, "class": group, "standing": standing}
    with site_of(request).database.reading() as session:
        found = list_finds(
            session,
            words=q[:200],
            day=day or None,
            place_id=place or None,
            person_id=person or None,
            class_id=group or None,
            standing=standing or None,
            after=after or None,
        )
        return page(
            request,
            "finds.html",
            days=[(day, list(lines)) for day, lines in groupby(found.finds, key=lambda line: day_told(line.date))],
            after=found.after,
            later=bool(after),
            narrowed=narrowed,
            further={k: v for k, v in narrowed.items() if v},
            standings=STANDING_WORDS,
            place_names={p.id: p.name for p in all_places(session)},
            **_choices(session),
        )


@router.get("/finds/new")
def new(request: Request, place: str = "", day: str = "") -> Response:
    """Show the form of a new find."""
    site = site_of(request)
    with site.database.reading() as session:
        person = person_of(request, session)
        typed = {
            "date": day or datetime.date.today().isoformat(),
            "place": place,
            "region": "" if place else setting(session, "region") or "",
            "fruitbodies": "1",
            "finder": person.id if person else "",
            "class": request.query_params.get("class", ""),
        }
        return _form(request, session, typed)


@router.post("/finds/new")
def add(request: Request, form: Posted = Depends(posted)) -> Response:
    """Record a new find, and go to it."""
    site = site_of(request)
    try:
        with site.database.writing(acting(request)) as unit:
            place_id = place_from(unit, form)
            row = add_find(
                unit,
                site.reasoner,
                date=form.get("date"),
                fruitbodies=_count(form.get("fruitbodies", "1")),
                stage=form.get("stage") or None,
                place_id=place_id,
                region=form.get("region") or None,
                finder_id=unit.get(Person, finder).id if (finder := form.get("finder")) else unit.person_id,
                class_id=unit.get(Class, group).id if (group := form.get("class")) else None,
            )
    except InputError as error:
        if wants_swap(request):
            raise
        with site.database.reading() as session:
            return _form(request, session, {k: form.get(k) for k in form.form}, error.message)
    say(
        request, _("Find %(number)s is recorded. Now look at it: the first question is below.") % {"number": row.number}
    )
    return go(request, to_find(row.id))


def _form(request: Request, session: Session, typed: Mapping[str, str], problem: str = "") -> Response:
    region = site_of(request).here.vocabulary.characters["region"]
    status = 422 if problem else 200
    return page(
        request,
        "finds_new.html",
        status=status,
        typed=typed_in(typed),
        problem=problem,
        regions=region.states,
        stages=STAGES,
        **_choices(session),
    )


def _choices(session: Session) -> dict[str, Any]:
    """Return the places, people and classes that can be chosen, and whether there is any find yet."""
    classes = session.execute(
        select(Class.id, Class.name, Class.held_on)
        .where(Class.deleted_at.is_(None))
        .order_by(Class.held_on.desc(), Class.name)
    )
    some = session.scalar(select(FindRow.id).where(FindRow.deleted_at.is_(None)).limit(1))
    return {
        "places": all_places(session),
        "people": names_of_people(session),
        "classes": {k: f"{name}, {held_on}" for k, name, held_on in classes},
        "begun": some is not None,
    }


def _count(text: str) -> int:
    if not text.isascii() or not text.isdecimal() or len(text) > 4:
        raise InputError(_("say how many fruitbodies there are, as a number such as 3"))
    return int(text)
