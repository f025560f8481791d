"""A second observer looks without having seen the first answers; afterwards both are laid side by side.

Nothing that a page of the questions shows comes from the find but its number, its date, the fruitbody's letter and
which looks are asked for: no answer, no name, no photo, no ledger. Who was asked to the end is written down, since
whoever has seen the comparison cannot look blind any more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import msgspec
from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import Response
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.characters import Character
from trug.determine.find import SURE, Find
from trug.errors import InputError
from trug.records.documents import find_document, fruitbodies_of, looks_of
from trug.records.gatherings import make_look
from trug.records.signing import signatures_of
from trug.records.tables import FindRow, FruitbodyRow, LookRow, Person
from trug.treatments.model import SEVERE
from trug.web.find_view import find_or_404
from trug.web.language import gettext as _
from trug.web.rendering import go, page, wants_swap
from trug.web.security import Posted, posted
from trug.web.site import Site, put_setting, setting, site_of
from trug.web.telling import told
from trug.web.words import SURE_WORDS

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Asked:
    """One look to be made blind; ``body`` is None for what belongs to the find as a whole."""

    character: Character
    body: FruitbodyRow | None

    @property
    def key(self) -> str:
        """What it is remembered by."""
        return f"{self.body.label if self.body else ''}.{self.character.code}"


@dataclass(frozen=True, slots=True)
class Beside:
    """The first answers and the blind one to one question.

    ``verdict`` is ``agreed``, ``part``, ``differs``, ``corrected`` since, or nothing where there is no first answer.
    """

    asked: Asked
    first: tuple[tuple[str, str], ...]
    second: str
    verdict: str


def _key(find_id: str) -> str:
    return f"blind:{find_id}"


def finished(session: Session, find_id: str) -> list[str]:
    """Return who was asked about a find to the end."""
    return list(setting(session, _key(find_id)) or [])


def may_look_blind(session: Session, find_id: str) -> list[Person]:
    """Return who may look blind: whoever made no open look at the find, did not sign it, and was not asked before."""
    known = {k.observer_id for k in looks_of(session, find_id) if not k.blind}
    known |= {s.person_id for s in signatures_of(session, find_id, voided=True)} | set(finished(session, find_id))
    people = session.scalars(select(Person).where(Person.deleted_at.is_(None)).order_by(Person.name))
    return [p for p in people if p.id not in known]


def questions(session: Session, site: Site, find_id: str) -> list[Asked]:
    """Return the looks that are asked for: firm ones that were made, and those that the ledger insists on.

    They come in the order of the vocabulary and do not change with the blind answers, so that neither tells anything.
    """
    vocabulary = site.here.vocabulary
    find = find_document(session, find_id, vocabulary)
    blind = set(find.extra.get("blind", ()))
    first = msgspec.structs.replace(find, looks=tuple(k for k in find.looks if k.id not in blind))
    record = site.reasoner.determine(first)
    asked: list[Asked] = []
    whole: dict[str, None] = {}
    for body, result in zip(fruitbodies_of(session, find_id), record.fruitbodies, strict=True):
        codes = _firm_codes(first, body.id, vocabulary.characters)
        codes |= {c for e in result.ledger if not e.ruled_out and e.level in SEVERE for c in e.still_to_look}
        for code, character in vocabulary.characters.items():
            if code not in codes or character.role not in ("look", "procedure"):
                continue
            if character.of_find:
                whole[code] = None
            else:
                asked.append(Asked(character, body))
    return [Asked(c, None) for code, c in vocabulary.characters.items() if code in whole] + asked


def _firm_codes(find: Find, body_id: str, characters: dict[str, Character]) -> set[str]:
    made = {k.character for k in find.looks if k.fruitbody in (None, body_id) and k.evidence.not_seen is None}
    return {code for code in made if code in characters and characters[code].firm}


def _answers(session: Session, find_id: str, person_id: str) -> dict[str, LookRow]:
    """Return the blind looks of a person, by the key of their question."""
    labels = {b.id: b.label for b in fruitbodies_of(session, find_id)}
    mine = [k for k in looks_of(session, find_id) if k.blind and k.observer_id == person_id]
    return {f"{labels.get(k.fruitbody_id or '', '')}.{k.character}": k for k in mine}


def _left(request: Request, session: Session, site: Site, find_id: str, person_id: str) -> tuple[list[Asked], int]:
    """Return the questions that are neither answered nor passed over, and how many there are in all."""
    every = questions(session, site, find_id)
    passed = set(_state(request, find_id, person_id))
    answered = set(_answers(session, find_id, person_id))
    return [q for q in every if q.key not in passed | answered], len(every)


def _state(request: Request, find_id: str, person_id: str) -> list[str]:
    """Return the questions that were passed over in this browser."""
    kept: Any = request.session.get("blind") or {}
    if isinstance(kept, dict) and kept.get("find") == find_id and kept.get("person") == person_id:
        return list(kept.get("passed", []))
    return []


@router.get("/finds/{find_id}/blind")
def blind_start(request: Request, find_id: str) -> Response:
    """Choose who looks."""
    site = site_of(request)
    with site.database.reading() as session:
        find = find_or_404(session, find_id)
        done = finished(session, find_id)
        begun = {k.observer_id for k in looks_of(session, find_id) if k.blind and k.observer_id} - set(done)
        people = may_look_blind(session, find_id)
        stopped = begun - {p.id for p in people}
        return page(
            request,
            "blind.html",
            find=find,
            people=people,
            begun=begun,
            stopped=session.scalars(select(Person).where(Person.id.in_(stopped)).order_by(Person.name)).all(),
            done=session.scalars(select(Person).where(Person.id.in_(done)).order_by(Person.name)).all(),
            count=len(questions(session, site, find_id)),
            signed=bool(signatures_of(session, find_id)),
        )


@router.post("/finds/{find_id}/blind")
def blind_begin(request: Request, find_id: str, form: Posted = Depends(posted)) -> Response:
    """Begin or go on with the person chosen."""
    with site_of(request).database.reading() as session:
        find_or_404(session, find_id)
        person_id = form.get("person")
        if person_id not in {p.id for p in may_look_blind(session, find_id)}:
            raise InputError(_("Choose a person who has not seen the first answers."))
    if not isinstance(request.session.get("blind"), dict) or request.session["blind"].get("person") != person_id:
        request.session["blind"] = {"find": find_id, "person": person_id, "passed": []}
    return go(request, f"/finds/{find_id}/blind/{person_id}")


def _observer_or_404(session: Session, person_id: str) -> Person:
    person = session.get(Person, person_id)
    if person is None or person.deleted_at is not None:
        raise HTTPException(404, _("There is no such person."))
    return person


@router.get("/finds/{find_id}/blind/{person_id}")
def blind_question(request: Request, find_id: str, person_id: str) -> Response:
    """Ask the next question."""
    return _question_page(request, find_id, person_id)


def _question_page(request: Request, find_id: str, person_id: str, *, problem: str = "") -> Response:
    site = site_of(request)
    # What was said for other pages could tell a name: it waits for no one here.
    request.session.pop("said", None)
    with site.database.reading() as session:
        find = find_or_404(session, find_id)
        person = _observer_or_404(session, person_id)
        if person_id in finished(session, find_id):
            return go(request, f"/finds/{find_id}/blind/{person_id}/beside")
        if person_id not in {p.id for p in may_look_blind(session, find_id)}:
            return go(request, f"/finds/{find_id}/blind")
        left, count = _left(request, session, site, find_id, person_id)
        return page(
            request,
            "blind_question.html",
            status=422 if problem else 200,
            find_id=find.id,
            number=find.number,
            date=find.date,
            person=person,
            asked=left[0] if left else None,
            n=count - len(left) + 1,
            count=count,
            problem=problem,
            sure_words=SURE_WORDS,
        )


@router.post("/finds/{find_id}/blind/{person_id}")
def blind_answer(request: Request, find_id: str, person_id: str, form: Posted = Depends(posted)) -> Response:
    """Write a blind look down, pass a question over, or end."""
    site = site_of(request)
    to = f"/finds/{find_id}/blind/{person_id}"
    with site.database.reading() as session:
        _observer_or_404(session, person_id)
        may = person_id in {p.id for p in may_look_blind(session, find_id)}
        every = {q.key: q for q in questions(session, site, find_id)}
        answered = set(_answers(session, find_id, person_id))
    if form.get("do") == "end" and (may or answered):
        _finish(site, request, find_id, person_id)
        return go(request, f"{to}/beside")
    asked = every.get(form.get("asked"))
    if not may or asked is None or asked.key in answered:
        return go(request, to)
    if form.get("do") == "pass":
        request.session["blind"] = {
            "find": find_id,
            "person": person_id,
            "passed": [*_state(request, find_id, person_id), asked.key],
        }
        return go(request, to)
    try:
        _write(site, find_id, person_id, asked, form)
    except InputError as error:
        if wants_swap(request):
            raise
        return _question_page(request, find_id, person_id, problem=error.message)
    return go(request, to)


def _write(site: Site, find_id: str, person_id: str, asked: Asked, form: Posted) -> None:
    answer: Any = form.get("answer") if asked.character.measured else form.all("answer")
    if not answer:
        raise InputError(_("Choose what you see, or pass the question over."))
    sure = form.get("sure", "sure")
    with site.database.writing(person_id) as unit:
        make_look(
            unit,
            site.reasoner,
            find_id,
            character=asked.character.code,
            answer=answer,
            fruitbody_id=asked.body.id if asked.body else None,
            sure=sure if sure in SURE else "sure",
            observer_id=person_id,
            blind=True,
        )


def _finish(site: Site, request: Request, find_id: str, person_id: str) -> None:
    with site.database.writing(person_id) as unit:
        unit.get(FindRow, find_id)
        done = finished(unit.session, find_id)
        if person_id not in done:
            put_setting(unit.session, _key(find_id), [*done, person_id])
    request.session.pop("blind", None)


@router.get("/finds/{find_id}/blind/{person_id}/beside")
def blind_beside(request: Request, find_id: str, person_id: str) -> Response:
    """Lay the answers side by side, once the person has been asked to the end."""
    site = site_of(request)
    with site.database.reading() as session:
        find = find_or_404(session, find_id)
        person = _observer_or_404(session, person_id)
        if person_id not in finished(session, find_id):
            return go(request, f"/finds/{find_id}/blind/{person_id}")
        lines = _beside(session, site, find_id, person_id)
        return page(
            request,
            "blind_beside.html",
            find=find,
            person=person,
            lines=[x for x in lines if x.second],
            unanswered=sum(not x.second for x in lines),
            differing=sum(x.verdict == "differs" for x in lines),
        )


def _beside(session: Session, site: Site, find_id: str, person_id: str) -> list[Beside]:
    every = looks_of(session, find_id)
    replaced = {k.supersedes for k in every if k.supersedes}
    live = [k for k in every if k.id not in replaced]
    _find, record = site.reasoner.of(session, find_id)
    conflicts = {frozenset(pair) for result in record.fruitbodies for pair in result.conflicts}
    people = {p.id: p.name for p in session.scalars(select(Person))}
    answers = _answers(session, find_id, person_id)
    asked = questions(session, site, find_id)
    known = {q.key for q in asked}
    bodies = {b.label: b for b in fruitbodies_of(session, find_id)}
    for key, look in answers.items():
        character = site.here.vocabulary.characters.get(look.character)
        if key not in known and character is not None:
            asked.append(Asked(character, bodies.get(key.partition(".")[0])))
    out = []
    for q in asked:
        mine = answers.get(q.key)
        body_id = q.body.id if q.body else None
        same = (k for k in live if k.character == q.character.code and k.fruitbody_id == body_id)
        first = [k for k in same if not k.blind and k.observer_id != person_id]
        out.append(
            Beside(
                q,
                tuple((people.get(k.observer_id or "", ""), told(k.evidence, q.character)) for k in first),
                told(mine.evidence, q.character) if mine else "",
                "" if mine is None else "corrected" if mine.id in replaced else _verdict(mine, first, conflicts),
            )
        )
    return out


def _verdict(mine: LookRow, first: Sequence[LookRow], conflicts: set[frozenset[str]]) -> str:
    """Return whether a blind look and the first ones agree; nothing where there is no first answer."""
    seen = [k for k in first if not k.evidence.get("not_seen")]
    if not seen:
        return ""
    if any(frozenset((mine.id, k.id)) in conflicts or _apart(mine, k) for k in seen):
        return "differs"
    same = all(mine.evidence == k.evidence or "states" not in mine.evidence for k in seen)
    return "agreed" if same else "part"


def _apart(a: LookRow, b: LookRow) -> bool:
    """Whether two looks name states of which none is the same (procedures are not in the determination's conflicts)."""
    x, y = a.evidence.get("states"), b.evidence.get("states")
    return bool(x and y and not set(x) & set(y))
