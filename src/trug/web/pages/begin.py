"""The first start: who you are, where you forage, and whom to call."""

from __future__ import annotations

import datetime
from typing import Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response

from trug.errors import InputError
from trug.records.people import PRACTICES, Profile, save_person
from trug.web.emergency import numbers_typed, store_numbers
from trug.web.language import gettext as _
from trug.web.pages.people import PRACTICE_WORDS
from trug.web.rendering import go, page, say
from trug.web.security import Posted, posted
from trug.web.site import Site, person_of, put_setting, setting, site_of

router = APIRouter()

BLANK = {"name": "", "region": "", "practice": "", "colour_vision": "on", "smell": "on"}


@router.get("/begin", include_in_schema=False)
def begin(request: Request) -> Response:
    """Ask for what is needed once; who has answered already goes on to the finds."""
    site = site_of(request)
    with site.database.reading() as session:
        if person_of(request, session) is not None:
            return go(request, "/")
    return _asked(request, site, dict(BLANK), "")


@router.post("/begin", include_in_schema=False)
def begun(request: Request, form: Posted = Depends(posted)) -> Response:
    """Make the owner, the region and the numbers, all or nothing."""
    site = site_of(request)
    try:
        _begin(site, form)
    except InputError as error:
        return _asked(request, site, {key: form.get(key) for key in [*BLANK, *form.form]}, error.message)
    say(request, _("You can begin. Write down your first find."))
    return go(request, "/")


def _begin(site: Site, form: Posted) -> None:
    region = form.get("region")
    if region not in site.here.vocabulary.characters["region"].codes:
        raise InputError(_("choose the region where you forage most"))
    if form.get("practice") not in PRACTICES:
        raise InputError(_("choose how practised you are"))
    profile = Profile(
        form.get("name"),
        form.get("practice"),
        colour_vision=bool(form.get("colour_vision")),
        smell=bool(form.get("smell")),
    )
    numbers = numbers_typed(form, datetime.date.today())
    with site.database.writing() as unit:
        if setting(unit.session, "owner"):
            raise InputError(_("these records have an owner already; add people under People"))
        owner = save_person(unit, site.reasoner, None, profile)
        put_setting(unit.session, "owner", owner.id)
        put_setting(unit.session, "region", region)
        store_numbers(unit.session, numbers)


def _asked(request: Request, site: Site, typed: dict[str, Any], problem: str) -> Response:
    return page(
        request,
        "begin.html",
        status=422 if problem else 200,
        problem=problem,
        typed=typed,
        regions=site.here.vocabulary.characters["region"].states,
        practices=PRACTICE_WORDS,
    )
