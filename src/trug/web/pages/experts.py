"""Ask an expert: a packet that gives nothing away, and the replies to it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import Any

import msgspec
from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import Response
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.characters import Vocabulary
from trug.determine.find import Find, Look
from trug.errors import InputError
from trug.records.packets import Content, make_packet, packet_zip
from trug.records.replies import (
    CERTAINTIES,
    FORMAT,
    RESTS_ON,
    checked,
    delete_reply,
    read_reply,
    store_reply,
)
from trug.records.tables import ExpertPacket, ExpertReply
from trug.web.find_view import find_or_404
from trug.web.language import gettext as _
from trug.web.pages.signing import present_id
from trug.web.rendering import environment, go, page, say, wants_swap
from trug.web.security import Posted, posted
from trug.web.site import site_of
from trug.web.telling import DEPOSIT_WORDS, METHOD_WORDS, PAPER_WORDS, PART_WORDS, ROLE_WORDS, stage_words, told
from trug.web.words import N_, SURE_WORDS

router = APIRouter()

CERTAINTY_WORDS = {"certain": N_("certain"), "likely": N_("likely"), "possible": N_("possible")}
RESTS_WORDS = {"packet": N_("the packet alone"), "specimen": N_("the specimen in hand")}
SEAL_WORDS = {
    "sealed": N_("Sealed: written with the form of this very packet, and not changed since."),
    "broken": N_("Seal broken: it was changed after it was sealed, or sealed with another packet. Ask the expert."),
    "unsealed": N_("Without a seal: that it answers this packet unchanged rests on the word of whoever brought it."),
}
#: Spore looks that stand together in the trade's notation.
_SPORE_SIZES = (("spore_length", "", ""), ("spore_width", " × ", ""), ("spore_q", "; ", "Q = "))


@dataclass(frozen=True, slots=True)
class LookTold:
    """A look as the packet tells it."""

    label: str
    character: str
    states: tuple[str, ...]
    words: str
    sure: str
    method: str
    observer: str
    blind: bool


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
        with site.database.writing(present_id(request, site)) as unit:
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
    with site.database.writing(present_id(request, site)) as unit:
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
        with site.database.writing(present_id(request, site)) as unit:
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
    with site.database.writing(present_id(request, site)) as unit:
        if unit.get(ExpertReply, reply_id).find_id != find_id:
            raise HTTPException(404, _("There is no such reply."))
        delete_reply(unit, site.reasoner, reply_id)
    return go(request, f"/finds/{find_id}/expert")


def packet_html(content: Content, secret: str, vocabulary: Vocabulary) -> str:
    """Return the page of a packet: one file that opens anywhere, without a network."""
    find = content.find
    looks = {body: _looks(find, body, content, vocabulary) for body in (None, *(b.id for b in find.fruitbodies))}
    return (
        environment()
        .get_template("expert_packet.html")
        .render(
            content=content,
            secret=secret,
            format=FORMAT,
            looks=looks,
            spores={b.id: spore_notation(find.looks, b.id) for b in find.fruitbodies},
            stages={b.id: stage_words(b.stage) for b in find.fruitbodies},
            conditions={b.id: [_(vocabulary.conditions[c].label) for c in b.condition] for b in find.fruitbodies},
            print_colours={c.code: _(c.label) for c in vocabulary.characters["spore_print"].states},
            part_words=PART_WORDS,
            method_words=METHOD_WORDS,
            sure_words=SURE_WORDS,
            role_words=ROLE_WORDS,
            paper_words=PAPER_WORDS,
            deposit_words=DEPOSIT_WORDS,
            certainties={c: CERTAINTY_WORDS[c] for c in CERTAINTIES},
            rests={c: RESTS_WORDS[c] for c in RESTS_ON},
            practices={o.id: o.practice for o in find.observers},
            region=_region(find, vocabulary),
        )
    )


def _region(find: Find, vocabulary: Vocabulary) -> str:
    known = vocabulary.characters["region"]
    return _(known.state(find.region).label) if find.region in known.codes else ""


def _looks(find: Find, body: str | None, content: Content, vocabulary: Vocabulary) -> dict[str, list[LookTold]]:
    """Return the looks of a fruitbody, or of the find as a whole, by part, those that were corrected left out."""
    replaced = {k.supersedes for k in find.looks if k.supersedes}
    blind = set(content.find.extra.get("blind", ()))
    order = {code: n for n, code in enumerate(vocabulary.characters)}
    mine = [k for k in find.looks if k.fruitbody == body and k.id not in replaced and k.character in order]
    parts: dict[str, list[LookTold]] = {}
    for look in sorted(mine, key=lambda k: order[k.character]):
        character = vocabulary.characters[look.character]
        evidence: dict[str, Any] = msgspec.to_builtins(look.evidence)
        line = LookTold(
            _(character.label),
            look.character,
            look.evidence.states or (),
            _("could not be seen") if look.evidence.not_seen else told(evidence, character),
            look.sure,
            look.method,
            look.observer or "",
            look.id in blind,
        )
        parts.setdefault(character.part, []).append(line)
    return parts


def spore_notation(looks: tuple[Look, ...], body: str) -> str:
    """Return spore sizes as the trade writes them: length × width µm; Q; how many were measured.

    Of a sample the 5th and 95th percentile where they were told, else mean ± deviation. Empty without any.
    """
    replaced = {k.supersedes for k in looks if k.supersedes}
    mine = {k.character: k.evidence for k in looks if k.fruitbody == body and k.id not in replaced}
    text, most = "", 0
    for code, between, before in _SPORE_SIZES:
        evidence = mine.get(code)
        if evidence is None or (evidence.sample is None and evidence.measurement is None):
            continue
        figure = ""
        if (s := evidence.sample) is not None:
            ends = s.p5 is not None and s.p95 is not None
            figure = f"{s.p5:g}–{s.p95:g} (mean {s.mean:g})" if ends else f"{s.mean:g} ± {s.sd:g}"
            most = max(most, s.n)
        elif (size := evidence.measurement) is not None:
            figure = f"{size.value:g}" + (f" ± {size.deviation:g}" if size.deviation else "")
        unit = "" if code == "spore_q" else " µm"
        text += (between if text else "") + before + figure + unit
    return text + (f"; n = {most}" if most else "")
