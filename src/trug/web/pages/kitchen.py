"""The way to kitchen and stillroom: refused with every reason, or a batch with its conditions."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.errors import InputError
from trug.records.documents import fruitbodies_of
from trug.records.kitchen import Admission, admission, take_to_kitchen
from trug.records.signing import cover_of, signatures_of
from trug.records.tables import Batch, BatchPart, FindRow, FruitbodyRow, Person, SignatureRow
from trug.treatments.loader import load_kitchen
from trug.treatments.model import Book, Treatment
from trug.web.acting import present_id
from trug.web.find_view import find_or_404
from trug.web.language import gettext as _
from trug.web.rendering import go, page, say, wants_swap
from trug.web.security import Posted, posted
from trug.web.site import Site, site_of
from trug.web.verdicts import Refusal, condition_words, ledger_told, refusals
from trug.web.words import N_

router = APIRouter()

KIND_WORDS = {"larder": N_("larder: preserved as food"), "stillroom": N_("stillroom: prepared as medicine")}


@dataclass(frozen=True, slots=True)
class Account:
    """What the book tells kitchen and stillroom of a fungus, in words."""

    conditions: tuple[str, ...]
    trim: tuple[str, ...]
    why_cooked: tuple[str, ...]
    keeps: tuple[str, ...]
    cautions: tuple[tuple[str, str], ...]
    traditions: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class Tray:
    """A fruitbody before the kitchen door; ``batch`` where it went through already."""

    row: FruitbodyRow
    ledger: str
    admission: Admission
    name: str
    reasons: tuple[Refusal, ...]
    conditions: tuple[str, ...]
    account: Account | None
    batch: Batch | None


@dataclass(frozen=True, slots=True)
class BatchLine:
    """A batch with its find, fruitbodies and signatures."""

    row: Batch
    treatment: Treatment | None
    find: FindRow | None
    labels: tuple[str, ...]
    signatures: tuple[tuple[SignatureRow, str], ...]
    conditions: tuple[str, ...]
    account: Account | None


def account_of(treatment: Treatment, book: Book) -> Account:
    """Return what the book tells kitchen and stillroom of a fungus."""
    kitchen = load_kitchen()
    use = treatment.use

    def say_all(section: str, codes: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(_(words) for words in kitchen.say(section, codes))

    return Account(
        conditions=say_all("conditions", use.conditions) if use else (),
        trim=say_all("trim", use.trim) if use else (),
        why_cooked=say_all("reasons", use.cook_because) if use else (),
        keeps=say_all("keeps", use.keeps) if use else (),
        cautions=tuple((_(kitchen.words["cautions"][c.code]), _source(c.source, book)) for c in treatment.cautions),
        traditions=tuple(
            (_(kitchen.words["forms"][t.form]), _(kitchen.words["purposes"][t.purpose]), _source(t.source, book))
            for t in treatment.traditions
        ),
    )


def _source(key: str, book: Book) -> str:
    """Return the work behind a statement, in short; the page of the fungus cites it in full."""
    source = book.sources.get(key)
    if source is None or source.kind != "published":
        return key.replace("-", " ")
    named = "" if source.authors.startswith("unsigned") else source.authors.split(",")[0]
    who = named or source.container or source.title
    return f"{who} {source.year or ''}".strip()


@router.get("/finds/{find_id}/kitchen")
def kitchen_door(request: Request, find_id: str) -> Response:
    """Say for each fruitbody whether it may pass, and every reason why not."""
    return _door(request, find_id)


def _door(request: Request, find_id: str, *, problem: str = "", typed: Posted | None = None) -> Response:
    site = site_of(request)
    with site.database.reading() as session:
        find = find_or_404(session, find_id)
        trays = [_tray(session, site, b) for b in fruitbodies_of(session, find_id)]
        return page(
            request,
            "kitchen_door.html",
            status=422 if problem else 200,
            find=find,
            trays=trays,
            ready=[t for t in trays if t.admission.allowed and t.batch is None],
            kinds=KIND_WORDS,
            problem=problem,
            ticked=typed.all("fruitbody") if typed else [],
            kind=typed.get("kind") if typed else "larder",
            notes=typed.get("notes") if typed else "",
        )


def _tray(session: Session, site: Site, body: FruitbodyRow) -> Tray:
    admitted = admission(session, site.reasoner, body)
    reasons, ledger = _reasons(session, site, body, admitted)
    treatment = site.here.book.treatments.get(admitted.taxon)
    query = select(Batch).join(BatchPart, BatchPart.batch_id == Batch.id)
    batch = session.scalars(
        query.where(BatchPart.fruitbody_id == body.id, BatchPart.deleted_at.is_(None), Batch.deleted_at.is_(None))
    ).first()
    return Tray(
        row=body,
        ledger=ledger,
        admission=admitted,
        name=treatment.name if treatment else "",
        reasons=reasons,
        conditions=tuple(condition_words(admitted.conditions)),
        account=account_of(treatment, site.here.book) if treatment and admitted.allowed else None,
        batch=batch,
    )


def _reasons(session: Session, site: Site, body: FruitbodyRow, admitted: Admission) -> tuple[tuple[Refusal, ...], str]:
    """Return every reason of a refusal in words, and how much of the ledger is open."""
    cover = cover_of(session, body.find_id, body.id)
    out: dict[str, Refusal] = {}
    signed = [(cover.taxon, cover.answers.person_id)] if cover else [(None, None)]
    ledger = ""
    for taxon, person in signed:
        _find, record = site.reasoner.of(session, body.find_id, signed=taxon, determiner=person)
        result = next(r for r in record.fruitbodies if r.fruitbody == body.id)
        ledger = ledger_told(body.open_severe, body.open_all, result, covered=record.covered)
        found = refusals(result, site.here)
        out |= {r.words: r for r in found if cover is not None or r.code != "unsigned"}
    if admitted.allowed:
        return (), ledger
    first: list[Refusal] = []
    if cover is None:
        several = len({s.taxon for s in signatures_of(session, body.find_id) if body.id in s.fruitbodies}) > 1
        words = _("It is signed under two names: one of them must be withdrawn.")
        unsigned = _("No person has signed a name for it with the specimen in hand.")
        first.append(Refusal("unsigned", words if several else unsigned))
    elif not cover.complete:
        first.append(Refusal("waits", _("%(name)s waits for a second signer.") % {"name": cover.name}))
    if not first and not out:
        first.append(Refusal("then", _("It did not meet the release rule when it was signed; sign it anew.")))
    return (*first, *out.values()), ledger


@router.post("/finds/{find_id}/kitchen")
def kitchen_take(request: Request, find_id: str, form: Posted = Depends(posted)) -> Response:
    """Make a batch of the fruitbodies that were ticked."""
    site = site_of(request)
    try:
        with site.database.writing(present_id(request)) as unit:
            mine = {b.id for b in fruitbodies_of(unit.session, find_id)}
            chosen = form.all("fruitbody")
            if any(b not in mine for b in chosen):
                raise InputError(_("That fruitbody belongs to another find."))
            batch = take_to_kitchen(
                unit, site.reasoner, chosen, kind=form.get("kind", "larder"), notes=form.get("notes")
            )
    except InputError as error:
        if wants_swap(request):
            raise
        return _door(request, find_id, problem=error.message, typed=form)
    say(request, _("A batch was made: write its conditions on the jar."))
    return go(request, f"/kitchen#batch-{batch.id}")


@router.get("/kitchen")
def kitchen_list(request: Request) -> Response:
    """Every batch, those whose name no longer stands first."""
    site = site_of(request)
    with site.database.reading() as session:
        query = select(Batch).where(Batch.deleted_at.is_(None)).order_by(Batch.made_on.desc(), Batch.id.desc())
        lines = [_line(session, site, b) for b in session.scalars(query)]
        return page(
            request,
            "kitchen.html",
            flagged=[x for x in lines if x.row.flagged_at],
            standing=[x for x in lines if not x.row.flagged_at],
            kinds=KIND_WORDS,
        )


def _line(session: Session, site: Site, batch: Batch) -> BatchLine:
    parts = session.scalars(
        select(BatchPart).where(BatchPart.batch_id == batch.id, BatchPart.deleted_at.is_(None)).order_by(BatchPart.id)
    ).all()
    bodies = [b for p in parts if (b := session.get(FruitbodyRow, p.fruitbody_id)) is not None]
    signatures: dict[str, tuple[SignatureRow, str]] = {}
    for p in parts:
        signature = session.get(SignatureRow, p.signature_id)
        if signature is not None:
            person = session.get(Person, signature.person_id)
            signatures[signature.id] = (signature, person.name if person else "")
    treatment = site.here.book.treatments.get(batch.taxon)
    return BatchLine(
        row=batch,
        treatment=treatment,
        find=session.get(FindRow, bodies[0].find_id) if bodies else None,
        labels=tuple(b.label for b in bodies),
        signatures=tuple(signatures.values()),
        conditions=tuple(condition_words(list(batch.conditions))),
        account=account_of(treatment, site.here.book) if treatment else None,
    )
