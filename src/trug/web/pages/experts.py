"""Ask an expert: a packet that gives nothing away, and the replies to it."""

from __future__ import annotations

import hashlib

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import Response
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.errors import InputError
from trug.records.packets import make_packet, packet_zip
from trug.records.replies import (
    checked,
    delete_reply,
    read_reply,
    store_reply,
)
from trug.records.tables import ExpertPacket, ExpertReply
from trug.web.acting import present_id
from trug.web.find_view import find_or_404
from trug.web.language import gettext as _
from trug.web.packet_page import CERTAINTY_WORDS, RESTS_WORDS, packet_html
from trug.web.rendering import go, page, say, wants_swap
from trug.web.security import Posted, posted
from trug.web.site import site_of
from trug.web.words import N_

__all__ = ["packet_html", "router"]

router = APIRouter()

SEAL_WORDS = {
    "sealed": N_("Sealed: written with the form of this very packet, and not changed since."),
    "broken": N_("Seal broken: it was changed after it was sealed, or sealed with another packet. Ask the expert."),
    "unsealed": N_("Without a seal: that it answers this packet unchanged rests on the word of whoever brought it."),
}


@router.get("/finds/{find_id}/expert")
def expert_page(request: Request, find_id: str) -> Response:
    """Packets of a find and what came back."""
    return _expert_page(request, find_id)


def _expert_page(request: Request, find_id: str, *, problem: str = "", typed: Posted | None = None) -> Response:
    with site_of(request).database.reading() as session:
        find = find_or_404(session, find_id)
        query = select(ExpertPacket).where(ExpertPacket.find_id == find_id, ExpertPacket.deleted_at.is_(None))
        packets = session.scalars(query.order_by(ExpertPacket.created_at.desc())).all()
        return page(
            request,
            "expert.html",
            status=422 if problem else 200,
            find=find,
            packets=packets,
            replies={p.id: _replies(session, p.id) for p in packets},
            problem=problem,
            question=typed.get("question") if typed else _("What is it, and what does that rest on?"),
            recipient=typed.get("recipient") if typed else "",
            names_hidden=typed.get("names") != "shown" if typed else True,
            seal_words=SEAL_WORDS,
            certainty_words=CERTAINTY_WORDS,
            rests_words=RESTS_WORDS,
        )


def _replies(session: Session, packet_id: str) -> list[ExpertReply]:
    query = select(ExpertReply).where(ExpertReply.packet_id == packet_id, ExpertReply.deleted_at.is_(None))
    return list(session.scalars(query.order_by(ExpertReply.created_at)))


@router.post("/finds/{find_id}/expert")
def expert_make(request: Request, find_id: str, form: Posted = Depends(posted)) -> Response:
    """Make a packet."""
    site = site_of(request)
    try:
        with site.database.writing(present_id(request)) as unit:
            row = make_packet(
                unit,
                site.database,
                site.reasoner,
                find_id,
                lambda content, secret: packet_html(content, secret, site.here.vocabulary),
                question=form.get("question"),
                recipient=form.get("recipient"),
                names_hidden=form.get("names") != "shown",
            )
    except InputError as error:
        if wants_swap(request):
            raise
        return _expert_page(request, find_id, problem=error.message, typed=form)
    say(request, _("The packet is ready: download it and send it."))
    return go(request, f"/finds/{find_id}/expert#packet-{row.id}")


def _packet_or_404(session: Session, find_id: str, packet_id: str) -> ExpertPacket:
    row = session.get(ExpertPacket, packet_id)
    if row is None or row.deleted_at is not None or row.find_id != find_id:
        raise HTTPException(404, _("There is no such packet."))
    return row


@router.get("/finds/{find_id}/expert/{packet_id}.zip")
def expert_file(request: Request, find_id: str, packet_id: str) -> Response:
    """Give the packet out, as long as it is what it was when it was made."""
    site = site_of(request)
    with site.database.reading() as session:
        find = find_or_404(session, find_id)
        row = _packet_or_404(session, find_id, packet_id)
        render = lambda content, secret: packet_html(content, secret, site.here.vocabulary)  # noqa: E731
        data = packet_zip(session, site.database, site.reasoner, row, render)
        if hashlib.sha256(data).hexdigest() != row.sha256:
            raise HTTPException(
                409, _("The find or the program was changed after this packet was made. Make a new packet.")
            )
        name = "-".join(p for p in ("packet", find.number, row.id[-6:]) if p)
    safe = "".join(c for c in name if c.isascii() and (c.isalnum() or c == "-"))
    named = f'attachment; filename="{safe}.zip"'
    return Response(data, media_type="application/zip", headers={"Content-Disposition": named})


@router.post("/finds/{find_id}/expert/{packet_id}/delete")
def packet_delete(request: Request, find_id: str, packet_id: str, form: Posted = Depends(posted)) -> Response:
    """Put a packet that has no reply into the bin."""
    del form
    site = site_of(request)
    with site.database.writing(present_id(request)) as unit:
        row = _packet_or_404(unit.session, find_id, packet_id)
        if _replies(unit.session, packet_id):
            raise InputError(_("This packet was answered; delete its replies first."))
        unit.delete(row)
    return go(request, f"/finds/{find_id}/expert")


@router.get("/finds/{find_id}/expert/{packet_id}/reply")
def reply_page(request: Request, find_id: str, packet_id: str) -> Response:
    """Upload a reply, or type in what came by letter or phone."""
    return _reply_page(request, find_id, packet_id)


def _reply_page(
    request: Request, find_id: str, packet_id: str, *, problem: str = "", typed: Posted | None = None
) -> Response:
    site = site_of(request)
    with site.database.reading() as session:
        find = find_or_404(session, find_id)
        row = _packet_or_404(session, find_id, packet_id)
        return page(
            request,
            "expert_reply.html",
            status=422 if problem else 200,
            find=find,
            row=row,
            problem=problem,
            typed={k: typed.get(k) if typed else "" for k in (*_TYPED, "expert")}
            | ({} if typed else {"expert": row.recipient, "fruitbodies": "all", "rests_on": "packet"}),
            certainty_words=CERTAINTY_WORDS,
            rests_words=RESTS_WORDS,
        )


_TYPED = ("name", "fruitbodies", "certainty", "rests_on", "written_on", "remarks")


@router.post("/finds/{find_id}/expert/{packet_id}/reply")
def reply_keep(request: Request, find_id: str, packet_id: str, form: Posted = Depends(posted)) -> Response:
    """Keep a reply: the file that was uploaded, else what was typed."""
    site = site_of(request)
    try:
        files = form.files("file")
        if form.get("do") == "upload" and not files:
            raise InputError(_("Choose the file reply.toml or reply.json that came back."))
        if files:
            reply = read_reply(files[0][1])
        else:
            reply = checked(packet=packet_id, **{key: form.get(key) for key in ("expert", *_TYPED)})
        with site.database.writing(present_id(request)) as unit:
            _packet_or_404(unit.session, find_id, packet_id)
            row = store_reply(unit, site.reasoner, packet_id, reply)
    except InputError as error:
        if wants_swap(request):
            raise
        return _reply_page(request, find_id, packet_id, problem=error.message, typed=form)
    say(request, _("The reply is kept. It is an opinion: nothing is released by it."))
    return go(request, f"/finds/{find_id}/expert#reply-{row.id}")


@router.post("/finds/{find_id}/expert/replies/{reply_id}/delete")
def reply_delete(request: Request, find_id: str, reply_id: str, form: Posted = Depends(posted)) -> Response:
    """Put a reply into the bin."""
    del form
    site = site_of(request)
    with site.database.writing(present_id(request)) as unit:
        if unit.get(ExpertReply, reply_id).find_id != find_id:
            raise HTTPException(404, _("There is no such reply."))
        delete_reply(unit, site.reasoner, reply_id)
    return go(request, f"/finds/{find_id}/expert")
