"""One find: the ledger of a fruitbody and the looks outstanding on top, names below; its whole ledger; its history."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlalchemy.orm import Session

from trug.characters.model import STAGES
from trug.determine.find import METHODS
from trug.determine.record import FruitbodyResult
from trug.records.documents import day_known, fruitbodies_of
from trug.records.tables import Class, FindRow, FruitbodyRow, Person, PlaceRow
from trug.web import find_view, ledger_view, telling
from trug.web.edits import edits_of
from trug.web.look_form import asked, shelves, typed_in
from trug.web.pages.find_edits import router as edits
from trug.web.pages.prints import router as prints
from trug.web.rendering import page
from trug.web.site import Site, person_of, site_of
from trug.web.words import OPEN_WORDS, SURE_WORDS

__all__ = ["router"]

router = APIRouter()
router.include_router(edits)
router.include_router(prints)

#: Open taxa that the page of a find shows; the whole ledger has a page of its own.
MOST_OPEN = 12
#: Of these, the ones that are seen at once.
FIRST_OPEN = 4
#: Looks that speak against a ruled-out taxon, as far as the page of a find shows them.
MOST_AGAINST = 3


@router.get("/finds/{find_id}")
def find(request: Request, find_id: str, body: str = "") -> Response:
    """Show one find and, of its fruitbodies, one."""
    site = site_of(request)
    with site.database.reading() as session:
        row = find_view.find_or_404(session, find_id)
        bodies = fruitbodies_of(session, find_id)
        chosen = find_view.chosen_body(bodies, body)
        person = person_of(request, session)
        values = _head(session, site, row, bodies, chosen) | _below(session, site, row, bodies)
        values |= {"undated": not day_known(row.date), "reasoned": chosen is not None and day_known(row.date)}
        if chosen is not None:
            values |= (
                _reasoned(session, site, row, chosen, person)
                if values["reasoned"]
                else _looks(session, site, row, chosen, None)
            )
        return page(request, "find.html", **_words(site), **values)


@router.get("/finds/{find_id}/ledger/{body}")
def ledger(request: Request, find_id: str, body: str) -> Response:
    """Show the whole ledger of a fruitbody: what is open and why, what is ruled out and by what."""
    site = site_of(request)
    with site.database.reading() as session:
        row = find_view.find_or_404(session, find_id)
        bodies = fruitbodies_of(session, find_id)
        chosen = find_view.chosen_body(bodies, body)
        assert chosen is not None
        _, result = site.reasoner.of_fruitbody(session, find_id, chosen.id)
        values = _head(session, site, row, bodies, chosen)
        view = ledger_view.ledger_view(result, site.here, values["covered"])
        return page(request, "find_ledger.html", view=view, **_words(site), **values)


@router.get("/finds/{find_id}/history")
def history(request: Request, find_id: str) -> Response:
    """Show every change of a find: who, when, from what to what."""
    site = site_of(request)
    with site.database.reading() as session:
        row = find_view.find_or_404(session, find_id)
        return page(request, "find_history.html", row=row, edits=edits_of(session, site.here, find_id))


def _head(
    session: Session, site: Site, row: FindRow, bodies: Sequence[FruitbodyRow], chosen: FruitbodyRow | None
) -> dict[str, Any]:
    """Return what stands on top of a find's page: its name and the strip of its fruitbodies."""
    place = session.get(PlaceRow, row.place_id) if row.place_id else None
    region = row.region or (place.region if place else None)
    return {
        "row": row,
        "english": [site.reasoner.english_of(name) for name in row.name.split(" + ")],
        "place": place,
        "region": region,
        "finder": session.get(Person, row.finder_id) if row.finder_id else None,
        "group": session.get(Class, row.class_id) if row.class_id else None,
        "bodies": bodies,
        "chosen": chosen,
        "covered": region is not None and site.here.table.covered.get(region, 0.0) > 0.0,
    }


def _reasoned(
    session: Session, site: Site, row: FindRow, chosen: FruitbodyRow, person: Person | None
) -> dict[str, Any]:
    """Return what is reasoned of the chosen fruitbody, and the looks made on it."""
    document, result = site.reasoner.of_fruitbody(session, row.id, chosen.id)
    view = ledger_view.ledger_view(result, site.here, site.reasoner.covers(document))
    vocabulary = site.here.vocabulary
    looks = _looks(session, site, row, chosen, result)
    return looks | {
        "view": view,
        "result": result,
        "says": find_view.says_of(result, vocabulary),
        "fit_limit": site.here.table.model.fit_limit,
        "ask": asked(result.next_looks[0].character, result, site.here) if result.next_looks else None,
        "others": [vocabulary.characters[n.character] for n in result.next_looks[1:]],
        "shelves": shelves(result, {line.code for part in looks["parts"] for line in part.looks}, vocabulary),
        "me": person.id if person else "",
        "typed": typed_in({}),
    }


def _looks(
    session: Session, site: Site, row: FindRow, chosen: FruitbodyRow, result: FruitbodyResult | None
) -> dict[str, tuple[find_view.PartOfLooks, ...]]:
    """Return the looks made at the chosen fruitbody, whether anything can be reasoned from them or not."""
    return {"parts": find_view.looks_by_part(session, row.id, chosen, result, site.here.vocabulary)}


def _below(session: Session, site: Site, row: FindRow, bodies: Sequence[FruitbodyRow]) -> dict[str, Any]:
    """Return what stands below the ledger: stated names, photos, spore prints, and the words for their forms."""
    return {
        "stated": find_view.stated_names(session, row.id),
        "photos": find_view.photos_by_stage(session, row.id, bodies),
        "prints": find_view.prints_of(session, row.id),
        "people": find_view.names_of_people(session),
        "conditions": site.here.vocabulary.conditions.values(),
        "stages": STAGES,
        "methods": METHODS,
    }


def _words(site: Site) -> dict[str, Any]:
    """Return the words and functions that the templates of a find speak with."""
    return {
        "book": site.here.book,
        "characters": site.here.vocabulary.characters,
        "open_words": OPEN_WORDS,
        "sure_words": SURE_WORDS,
        "telling": telling,
        "chance": find_view.chance_words,
        "FITTING": ledger_view.FITTING,
        "MOST_OPEN": MOST_OPEN,
        "FIRST_OPEN": FIRST_OPEN,
        "MOST_AGAINST": MOST_AGAINST,
    }
