"""One look: asked on a page of its own, saved, corrected, deleted."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from sqlalchemy.orm import Session

from trug.determine.find import METHODS
from trug.determine.record import FruitbodyResult
from trug.errors import InputError
from trug.records.bin import put_in_bin
from trug.records.documents import fruitbodies_of
from trug.records.gatherings import make_look
from trug.records.history import Unit
from trug.records.tables import FindRow, FruitbodyRow, LookRow, Person
from trug.web import find_view, telling
from trug.web.acting import acting, to_find
from trug.web.language import gettext as _
from trug.web.look_form import Typed, answer_from, asked, is_whole, may_taste, typed_in
from trug.web.rendering import go, page, say, wants_swap
from trug.web.security import Posted, posted
from trug.web.site import Site, person_of, site_of
from trug.web.words import SURE_WORDS

__all__ = ["router"]

router = APIRouter()


@router.get("/finds/{find_id}/look/{character}")
def question(request: Request, find_id: str, character: str, body: str = "", correct: str = "") -> Response:
    """Ask for one look; with ``correct`` the look that is corrected is filled in."""
    with site_of(request).database.reading() as session:
        return _page(request, session, find_id, character, body, correct)


@router.post("/finds/{find_id}/looks")
def save(request: Request, find_id: str, form: Posted = Depends(posted)) -> Response:
    """Save a look, and go back to the find with everything updated."""
    site = site_of(request)
    code, body = form.get("character"), form.get("body")
    with site.database.reading() as session:
        person = person_of(request, session)
        character = find_view.look_character(site.here.vocabulary, code)
        if character.gate and not form.get("supersedes"):
            result = _result(session, site, find_id, body)
            if not may_taste(character.code, result, site.here):
                raise InputError(_("nothing is tasted while the reasoning does not propose it; look at the rest first"))
    try:
        with site.database.writing(person.id if person else None) as unit:
            before = _state(unit, find_id, body)
            row = make_look(
                unit,
                site.reasoner,
                find_id,
                character=character.code,
                answer=answer_from(form, character),
                fruitbody_id=None if is_whole(character) else body or None,
                sure=form.get("sure", "sure") or "sure",
                method=form.get("way") or None,
                observer_id=unit.get(Person, form.get("observer")).id if form.get("observer") else None,
                sources=form.all("sources"),
                supersedes=_corrected(unit, find_id, character.code, form.get("supersedes")),
            )
            message = _changed(before, _state(unit, find_id, body))
    except InputError as error:
        if wants_swap(request):
            raise
        with site.database.reading() as session:
            return _page(request, session, find_id, code, body, form.get("supersedes"), error.message, form)
    told = telling.told(row.evidence, character)
    say(request, _("Saved: %(look)s: %(told)s.") % {"look": _(character.label), "told": told} + message)
    return go(request, to_find(find_id, body))


@router.post("/finds/{find_id}/looks/{look_id}/delete")
def delete(request: Request, find_id: str, look_id: str, form: Posted = Depends(posted)) -> Response:
    """Put a look into the bin, and go back to the find."""
    site = site_of(request)
    body = form.get("body")
    with site.database.writing(acting(request)) as unit:
        row = unit.get(LookRow, look_id)
        if row.find_id != find_id:
            raise InputError(_("that look belongs to another find; open its own page"))
        before = _state(unit, find_id, body)
        put_in_bin(unit, site.reasoner, "look", look_id)
        message = _changed(before, _state(unit, find_id, body))
    say(request, _("The look is deleted; for 30 days it can be brought back from the bin.") + message)
    return go(request, to_find(find_id, body))


def _page(
    request: Request,
    session: Session,
    find_id: str,
    code: str,
    body: str,
    correct: str,
    problem: str = "",
    form: Posted | None = None,
) -> Response:
    site = site_of(request)
    row = find_view.find_or_404(session, find_id)
    character = find_view.look_character(site.here.vocabulary, code)
    bodies = fruitbodies_of(session, find_id)
    chosen = find_view.chosen_body(bodies, body)
    result = _result(session, site, find_id, chosen.id if chosen else "")
    look = session.get(LookRow, correct) if correct else None
    if look is not None and (look.find_id, look.character, look.deleted_at) != (find_id, character.code, None):
        look = None
    person = person_of(request, session)
    return page(
        request,
        "look.html",
        status=422 if problem else 200,
        problem=problem,
        row=row,
        bodies=bodies,
        chosen=chosen,
        whole=is_whole(character),
        ask=asked(character.code, result, site.here),
        allowed=look is not None or may_taste(character.code, result, site.here),
        look=look,
        typed=_typed(look, form),
        me=person.id if person else "",
        people=find_view.names_of_people(session),
        photos=find_view.photos_by_stage(session, find_id, bodies),
        methods=METHODS,
        sure_words=SURE_WORDS,
        telling=telling,
    )


def _typed(look: LookRow | None, form: Posted | None) -> Typed:
    """Return what fills the form in: what was typed, or the look that is corrected."""
    if form is not None:
        told = {k: form.get(k) for k in form.form}
        return typed_in(told | {"answer": form.all("answer"), "sources": form.all("sources")})
    if look is None:
        return typed_in({})
    evidence = look.evidence
    sizes = {**(evidence.get("measurement") or {}), **(evidence.get("sample") or {})}
    told = {k: v for k, v in sizes.items() if v is not None} | {
        "answer": evidence.get("states") or [],
        "not_seen": evidence.get("not_seen") or "",
        "sure": look.sure,
        "way": look.method,
        "observer": look.observer_id or "",
        "sources": look.sources or [],
        "supersedes": look.id,
    }
    return typed_in(told)


def _result(session: Session, site: Site, find_id: str, body: str) -> FruitbodyResult | None:
    """Return what is reasoned of a fruitbody; None where the find has no such one."""
    known = [b.id for b in fruitbodies_of(session, find_id)]
    return site.reasoner.of_fruitbody(session, find_id, body)[1] if body in known else None


def _corrected(unit: Unit, find_id: str, code: str, look_id: str) -> str | None:
    """Return the look that is corrected; None where it is a new one."""
    if not look_id:
        return None
    look = unit.get(LookRow, look_id)
    if look.find_id != find_id or look.character != code:
        raise InputError(_("a look is corrected by a look at the same character of the same find"))
    return look.id


def _state(unit: Unit, find_id: str, body: str) -> tuple[int | None, int | None, str]:
    """Return how much is open for a fruitbody, and how the name of the find stands."""
    row = unit.session.get(FruitbodyRow, body) if body else None
    return (row.open_severe if row else None), (row.open_all if row else None), unit.get(FindRow, find_id).standing


def _changed(before: tuple[int | None, int | None, str], after: tuple[int | None, int | None, str]) -> str:
    """Return what a change did, as the sentences that follow the first one."""
    out = ""
    if after[0] is not None and before[0] is not None and before[0] != after[0]:
        out += " " + _("Not ruled out of those that kill or do lasting damage: %(after)s, before %(before)s.") % {
            "after": after[0],
            "before": before[0],
        }
    if before[2] in ("signed", "waits") and after[2] not in ("signed", "waits"):
        out += " " + _("The signature no longer stands, since the looks have changed.")
    return out
