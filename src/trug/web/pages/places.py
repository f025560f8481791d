"""Places: where things grow, whose leave it needs, and a map of them that needs no network."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby
from typing import Any

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import Response
from sqlalchemy.orm import Session

from trug.errors import InputError
from trug.place import DEFAULT_GRID_DEG, GRIDS_DEG, Position, parse_position
from trug.records.listing import list_finds
from trug.records.places import (
    PlaceAccount,
    all_places,
    delete_place,
    find_counts,
    place_cell,
    save_place,
)
from trug.records.tables import PlaceRow
from trug.web.acting import acting
from trug.web.language import gettext as _
from trug.web.pages import places_map
from trug.web.pages.places_map import is_owner
from trug.web.rendering import go, page, say
from trug.web.security import Posted, posted
from trug.web.site import Site, setting, site_of

router = APIRouter()
router.include_router(places_map.router)  # before /places/{place_id}, which would take its address

TEXTS = ("name", "region", "wood", "permission", "hazards", "notes")
#: Fields of the form that are not kept as they were typed.
READ = ("position", "uncertainty_m", "altitude_m", "grid_deg", "forget")
#: Finds that the page of a place lists.
LISTED = 200


@router.get("/places", include_in_schema=False)
def places(request: Request) -> Response:
    """List the places with their finds."""
    site = site_of(request)
    with site.database.reading() as session:
        rows = all_places(session)
        counts = find_counts(session)
        return page(request, "places.html", places=rows, counts=counts, regions=_regions(site))


@router.get("/places/new", include_in_schema=False)
def new_place(request: Request) -> Response:
    """Ask for a new place in the usual region."""
    site = site_of(request)
    with site.database.reading() as session:
        typed = {"region": setting(session, "region") or "", "grid_deg": str(DEFAULT_GRID_DEG)}
    return _form(request, None, typed, "")


@router.post("/places/new", include_in_schema=False)
def add_place(request: Request, form: Posted = Depends(posted)) -> Response:
    """Add a place."""
    return _save(request, None, form)


@router.get("/places/{place_id}", include_in_schema=False)
def place(request: Request, place_id: str) -> Response:
    """Show one place: its finds by year; its exact position to the owner only."""
    site = site_of(request)
    with site.database.reading() as session:
        row = _place(session, place_id)
        found = list_finds(session, place_id=row.id, count=LISTED)
        years = [(year, list(finds)) for year, finds in groupby(found.finds, key=lambda f: f.date[:4])]
        return page(
            request,
            "place.html",
            place=row,
            cell=place_cell(row),
            years=years,
            more=found.after is not None,
            count=find_counts(session).get(row.id, 0),
            region=_regions(site).get(row.region or "", ""),
            owner=is_owner(request, session),
        )


@router.get("/places/{place_id}/edit", include_in_schema=False)
def edit_place(request: Request, place_id: str) -> Response:
    """Show what is written down of a place, to be corrected; its position is never written into the form."""
    with site_of(request).database.reading() as session:
        row = _place(session, place_id)
        typed = {key: getattr(row, key) or "" for key in TEXTS}
        typed["altitude_m"] = "" if row.altitude_m is None else f"{row.altitude_m:g}"
        typed["grid_deg"] = str(row.grid_deg)
        return _form(request, row, typed, "")


@router.post("/places/{place_id}/edit", include_in_schema=False)
def correct_place(request: Request, place_id: str, form: Posted = Depends(posted)) -> Response:
    """Correct a place."""
    return _save(request, place_id, form)


@router.post("/places/{place_id}/delete", include_in_schema=False)
def remove_place(request: Request, place_id: str, form: Posted = Depends(posted)) -> Response:
    """Put a place into the bin."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        row = delete_place(unit, place_id)
    say(request, _("{name} lies in the bin for thirty days.").format(name=row.name))
    return go(request, "/places")


def _regions(site: Site) -> dict[str, str]:
    return {s.code: s.definition for s in site.here.vocabulary.characters["region"].states}


def _place(session: Session, place_id: str) -> PlaceRow:
    row = session.get(PlaceRow, place_id)
    if row is None or row.deleted_at is not None:
        raise HTTPException(404, _("there is no such place; it may have been deleted (see the bin)"))
    return row


def _save(request: Request, place_id: str | None, form: Posted) -> Response:
    site = site_of(request)
    with site.database.reading() as session:
        known = _place(session, place_id) if place_id else None
    try:
        account = _account(form, known)
        with site.database.writing(acting(request)) as unit:
            row = save_place(unit, site.reasoner, place_id, account)
    except InputError as error:
        return _form(request, known, {key: form.get(key) for key in (*TEXTS, *READ)}, error.message)
    say(request, _("{name} is written down.").format(name=row.name))
    return go(request, f"/places/{row.id}")


def _account(form: Posted, known: PlaceRow | None) -> PlaceAccount:
    """Return what a form says of a place; a position left empty stays as it was."""
    grid = _number(form, "grid_deg", _("the grid"))
    return PlaceAccount(
        **{key: form.get(key) for key in TEXTS},
        position=_position(form, known),
        altitude_m=_number(form, "altitude_m", _("the altitude")),
        grid_deg=DEFAULT_GRID_DEG if grid is None else grid,
    )


def _position(form: Posted, known: PlaceRow | None) -> Position | None:
    """Return the position: as typed, else where the photo was taken, else as it was."""
    uncertainty = _number(form, "uncertainty_m", _("how far it may be off"))
    if form.get("position"):
        return Position(*parse_position(form.get("position")), uncertainty)
    if photos := form.files("photo"):
        from trug.records.photos import inspect

        taken = inspect(photos[0][1]).position
        if taken is None:
            raise InputError(_("the photo does not say where it was taken; type the position instead"))
        return Position(taken.latitude, taken.longitude, taken.uncertainty_m or uncertainty, taken.datum)
    if known is None or known.lat is None or known.lon is None or form.get("forget"):
        return None
    return Position(known.lat, known.lon, known.uncertainty_m if uncertainty is None else uncertainty)


def _number(form: Posted, name: str, what: str) -> float | None:
    """Return a number as people type it, None where the field is empty."""
    text = form.get(name).replace(",", ".")
    if not text:
        return None
    try:
        return float(text)
    except ValueError:
        raise InputError(_("{what} is not a number").format(what=what)) from None


def _form(request: Request, known: PlaceRow | None, typed: Mapping[str, Any], problem: str) -> Response:
    return page(
        request,
        "places_form.html",
        status=422 if problem else 200,
        place_id=known.id if known else None,
        has_position=known is not None and known.lat is not None,
        typed=typed,
        problem=problem,
        regions=_regions(site_of(request)),
        grids=GRIDS_DEG,
    )
