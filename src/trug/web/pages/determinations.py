"""The determinations that were kept of a find, shown just as they were made."""

from __future__ import annotations

import zlib

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.records.signing import determination_stored, signatures_of
from trug.records.tables import DeterminationRow, FindRow, FruitbodyRow
from trug.web import telling
from trug.web.find_view import find_or_404, people_by_id
from trug.web.language import gettext as _
from trug.web.ledger_view import ledger_view
from trug.web.rendering import page
from trug.web.site import site_of
from trug.web.verdicts import refusals

__all__ = ["router"]

router = APIRouter()


@router.get("/finds/{find_id}/determinations")
def determinations_page(request: Request, find_id: str) -> Response:
    """Every determination that was stored for a find, the latest first."""
    with site_of(request).database.reading() as session:
        find = find_or_404(session, find_id)
        query = select(DeterminationRow).where(DeterminationRow.find_id == find_id)
        rows = session.scalars(query.order_by(DeterminationRow.made_at.desc(), DeterminationRow.id)).all()
        return page(
            request,
            "sign_determinations.html",
            find=find,
            rows=rows,
            later={r.supersedes: r.id for r in rows if r.supersedes},
            people=people_by_id(session),
            signatures=signatures_of(session, find_id, voided=True),
        )


def _determination_or_404(session: Session, digest: str) -> DeterminationRow:
    row = session.get(DeterminationRow, digest)
    if row is None:
        raise HTTPException(404, _("There is no such determination."))
    return row


@router.get("/determinations/{digest}.json")
def determination_file(request: Request, digest: str) -> Response:
    """Give the record just as it was made: its SHA-256 is its id, and it holds no place."""
    with site_of(request).database.reading() as session:
        data = zlib.decompress(_determination_or_404(session, digest).record)
    named = f'attachment; filename="determination-{digest[:12]}.json"'
    return Response(data, media_type="application/json", headers={"Content-Disposition": named})


@router.get("/determinations/{digest}")
def determination_page(request: Request, digest: str) -> Response:
    """Show a stored determination; nothing in it is worked out anew."""
    site = site_of(request)
    with site.database.reading() as session:
        row = _determination_or_404(session, digest)
        record = determination_stored(row)
        bodies = session.scalars(select(FruitbodyRow).where(FruitbodyRow.find_id == row.find_id))
        later = select(DeterminationRow.id).where(DeterminationRow.supersedes == digest)
        return page(
            request,
            "sign_determination.html",
            row=row,
            find=session.get(FindRow, row.find_id),
            record=record,
            labels={b.id: b.label for b in bodies},
            views=[ledger_view(r, site.here, record.covered) for r in record.fruitbodies],
            refusals={r.fruitbody: refusals(r, site.here) for r in record.fruitbodies},
            later=session.scalars(later.limit(1)).first(),
            people=people_by_id(session),
            characters=site.here.vocabulary.characters,
            other_book=row.book_sha256 != site.here.book.digest,
            telling=telling,
        )
