"""Sign a name with the specimen in hand; what a signature rests on; its end."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import Response
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.determine.record import Determination
from trug.errors import InputError, UnknownWordError
from trug.records.documents import fruitbodies_of, looks_of
from trug.records.signing import (
    answers_for,
    cover_of,
    may_sign_alone,
    sign,
    signatures_of,
    withdraw,
)
from trug.records.tables import (
    Batch,
    BatchPart,
    DeterminationRow,
    FindRow,
    FruitbodyRow,
    SignatureRow,
)
from trug.treatments.model import Treatment
from trug.treatments.names import treatment_named
from trug.web.acting import present_id
from trug.web.find_view import chance_words, find_or_404, people_by_id
from trug.web.language import gettext as _
from trug.web.pages import determinations
from trug.web.rendering import go, page, say, wants_swap
from trug.web.security import Posted, posted
from trug.web.site import Site, person_of, site_of
from trug.web.verdicts import Refusal, condition_words, ledger_told, refusals

router = APIRouter()
router.include_router(determinations.router)


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A name that the looks suggest, how likely for which fruitbodies."""

    taxon: str
    name: str
    english: str
    told: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class BodyToSign:
    """A fruitbody with what a signature would rest on; ``standing`` are those that stand for it already.

    ``single`` where it was looked at by itself: what was seen of the find as a whole is not enough to sign for it.
    """

    row: FruitbodyRow
    ledger: str
    looks: int
    single: bool
    allowed: bool
    refusals: tuple[Refusal, ...]
    kitchen: tuple[str, ...]
    standing: tuple[SignatureRow, ...]
    mine: bool


def suggestions(record: Determination, labels: dict[str, str], single: set[str]) -> list[Suggestion]:
    """Return the names that the looks suggest, the likeliest first, with the fruitbodies that they are likely for.

    Fruitbodies that nobody looked at singly suggest none.
    """
    found: dict[str, list[tuple[float, str, str, str]]] = {}
    for result in record.fruitbodies:
        for n in result.names if result.fruitbody in single else ():
            if n.probability >= 0.01:
                found.setdefault(n.taxon, []).append((n.probability, labels[result.fruitbody], n.name, n.english))
    ranked = sorted(found.items(), key=lambda item: -max(p for p, *_rest in item[1]))
    return [
        Suggestion(taxon, told[0][2], told[0][3], tuple((label, chance_words(p)) for p, label, *_rest in told))
        for taxon, told in ranked[:8]
    ]


@router.get("/finds/{find_id}/sign")
def sign_page(request: Request, find_id: str, name: str = "") -> Response:
    """Choose the name, then the fruitbodies."""
    return _sign_page(request, find_id, name)


@router.post("/finds/{find_id}/sign")
def sign_name(request: Request, find_id: str, form: Posted = Depends(posted)) -> Response:
    """Sign."""
    site = site_of(request)
    person_id = present_id(request)
    try:
        with site.database.writing(person_id) as unit:
            single = _looked_at_singly(unit.session, find_id)
            if any(b not in single for b in form.all("fruitbody")):
                raise InputError(_("A fruitbody was not looked at singly; make a look at it first."))
            row = sign(
                unit,
                site.reasoner,
                find_id,
                taxon=form.get("taxon"),
                fruitbodies=form.all("fruitbody"),
                person_id=person_id,
                in_hand=form.get("in_hand") == "yes",
                note=form.get("note"),
            )
    except InputError as error:
        if wants_swap(request):
            raise
        return _sign_page(request, find_id, form.get("taxon"), problem=error.message, typed=form)
    say(request, _("Signed: %(name)s.") % {"name": row.name})
    return go(request, f"/signatures/{row.id}")


def _sign_page(
    request: Request, find_id: str, name: str, *, problem: str = "", typed: Posted | None = None
) -> Response:
    site = site_of(request)
    with site.database.reading() as session:
        find = find_or_404(session, find_id)
        person = person_of(request, session)
        bodies = fruitbodies_of(session, find_id)
        labels = {b.id: b.label for b in bodies}
        _found, record = site.reasoner.of(session, find_id)
        treatment, missed = _chosen(site, name)
        signatures = signatures_of(session, find_id)
        single = _looked_at_singly(session, find_id)
        may = (treatment.code, person.id) if treatment and person else None
        return page(
            request,
            "sign.html",
            status=422 if problem else 200,
            find=find,
            person=person,
            people=people_by_id(session),
            labels=labels,
            suggestions=suggestions(record, labels, single),
            names=_all_names(site),
            typed_name=name if treatment is None else "",
            missed=missed,
            treatment=treatment,
            level=site.here.book.danger(treatment) if treatment else "",
            bodies=_bodies_to_sign(session, site, find_id, *may) if may else [],
            alone=may is not None and may_sign_alone(session, may[1], may[0]),
            signatures=signatures,
            ended=[s for s in signatures_of(session, find_id, voided=True) if s.voided_at],
            problem=problem,
            ticked=typed.all("fruitbody") if typed else [bodies[0].id] if len(bodies) == 1 else [],
            note=typed.get("note") if typed else "",
        )


def _looked_at_singly(session: Session, find_id: str) -> set[str]:
    """Return the fruitbodies at which somebody looked by themselves."""
    return {k.fruitbody_id for k in looks_of(session, find_id) if k.fruitbody_id and not k.evidence.get("not_seen")}


def _chosen(site: Site, name: str) -> tuple[Treatment | None, list[Treatment]]:
    """Return the treatment that a text names, or those that it may mean."""
    if not name:
        return None, []
    book = site.here.book
    try:
        return treatment_named(book, name), []
    except UnknownWordError:
        return None, _near(site, name)


def _near(site: Site, name: str) -> list[Treatment]:
    """Return the treatments whose names begin like a text, hold it, or are written nearly so."""
    import difflib

    wanted = " ".join(name.lower().split())
    names: dict[str, list[Treatment]] = {}
    for t in site.here.book.treatments.values():
        for n in t.names():
            names.setdefault(n.lower(), []).append(t)
    holding = [n for n in names if wanted in n]
    close = difflib.get_close_matches(wanted[:100], list(names), n=6, cutoff=0.5)
    found = {t.code: t for n in (*holding, *close) for t in names[n]}
    return list(found.values())[:8]


def _all_names(site: Site) -> list[str]:
    if "all_names" not in site.cache:
        book = site.here.book
        site.cache["all_names"] = sorted({n for t in book.treatments.values() for n in (t.name, *t.english)})
    names: list[str] = site.cache["all_names"]
    return names


def _bodies_to_sign(session: Session, site: Site, find_id: str, taxon: str, person_id: str) -> list[BodyToSign]:
    """Return each fruitbody of a find with what a person's signature under a name would rest on."""
    signatures = signatures_of(session, find_id)
    single = _looked_at_singly(session, find_id)
    out = []
    for row in fruitbodies_of(session, find_id):
        answers = answers_for(session, find_id, taxon, [row.id], person_id)
        _found, record = site.reasoner.of(session, find_id, signed=taxon, determiner=answers)
        result = next(r for r in record.fruitbodies if r.fruitbody == row.id)
        standing = tuple(s for s in signatures if row.id in s.fruitbodies)
        body = BodyToSign(
            row=row,
            ledger=ledger_told(row.open_severe, row.open_all, result, covered=record.covered),
            looks=result.looks,
            single=row.id in single,
            allowed=result.release.allowed,
            refusals=refusals(result, site.here),
            kitchen=tuple(condition_words(result.release.kitchen)),
            standing=standing,
            mine=any(s.person_id == person_id and s.taxon == taxon for s in standing),
        )
        out.append(body)
    return out


def _signature_or_404(session: Session, signature_id: str) -> SignatureRow:
    row = session.get(SignatureRow, signature_id)
    if row is None or row.deleted_at is not None:
        raise HTTPException(404, _("There is no such signature."))
    return row


@router.get("/signatures/{signature_id}")
def signature_page(request: Request, signature_id: str) -> Response:
    """What a signature rests on, and what is still needed."""
    return _signature_page(request, signature_id)


def _signature_page(request: Request, signature_id: str, *, problem: str = "", status: int = 200) -> Response:
    site = site_of(request)
    with site.database.reading() as session:
        row = _signature_or_404(session, signature_id)
        find = session.get(FindRow, row.find_id)
        person = person_of(request, session)
        labels = {b.id: b.label for b in fruitbodies_of(session, row.find_id)}
        covers = {b: cover_of(session, row.find_id, b) for b in row.fruitbodies if b in labels}
        query = select(Batch).join(BatchPart, BatchPart.batch_id == Batch.id).distinct()
        batches = session.scalars(query.where(BatchPart.signature_id == row.id, Batch.deleted_at.is_(None))).all()
        others = [s for s in signatures_of(session, row.find_id) if s.id != row.id and s.taxon == row.taxon]
        signed_by = {s.person_id for s in (row, *others)}
        return page(
            request,
            "signature.html",
            status=status,
            row=row,
            find=find,
            person=person,
            people=people_by_id(session),
            labels=labels,
            determination=session.get(DeterminationRow, row.determination_id),
            covers=covers,
            waits=any(c is not None and not c.complete for c in covers.values()),
            others=others,
            may_second=person is not None and person.id not in signed_by,
            batches=batches,
            problem=problem,
        )


@router.get("/signatures/{signature_id}/withdraw")
def withdraw_page(request: Request, signature_id: str) -> Response:
    """Say why, and what follows."""
    return _withdraw_page(request, signature_id)


def _withdraw_page(request: Request, signature_id: str, *, problem: str = "") -> Response:
    with site_of(request).database.reading() as session:
        row = _signature_or_404(session, signature_id)
        query = select(Batch).join(BatchPart, BatchPart.batch_id == Batch.id).distinct()
        batches = session.scalars(query.where(BatchPart.signature_id == row.id, Batch.deleted_at.is_(None))).all()
        return page(
            request,
            "signature_withdraw.html",
            status=422 if problem else 200,
            row=row,
            people=people_by_id(session),
            batches=batches,
            problem=problem,
        )


@router.post("/signatures/{signature_id}/withdraw")
def withdraw_signature(request: Request, signature_id: str, form: Posted = Depends(posted)) -> Response:
    """Withdraw a signature with its reason."""
    site = site_of(request)
    try:
        if not form.get("why"):
            raise InputError(_("Say why you withdraw it: the next reader needs the reason."))
        with site.database.writing(present_id(request)) as unit:
            withdraw(unit, site.reasoner, signature_id, form.get("why"))
    except InputError as error:
        if wants_swap(request):
            raise
        return _withdraw_page(request, signature_id, problem=error.message)
    say(request, _("The signature was withdrawn; the find is in doubt, and what was made of it is flagged."))
    return go(request, f"/signatures/{signature_id}")
