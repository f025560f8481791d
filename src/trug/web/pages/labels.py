"""Voucher labels to print, one for each fruitbody, 105 x 74 mm, eight on a sheet of A4."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from markupsafe import Markup
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.characters import Vocabulary
from trug.place import DEFAULT_GRID_DEG, Policy, Released, altitude_band, release_position, without_coordinates
from trug.records.documents import fruitbodies_of, looks_of, position_of
from trug.records.gatherings import correct_find
from trug.records.signing import cover_of
from trug.records.tables import FindRow, FruitbodyRow, Person, PlaceRow, SporePrint, StatedName
from trug.treatments.model import Book
from trug.web.acting import present_id
from trug.web.find_view import find_or_404
from trug.web.language import gettext as _
from trug.web.pages.places_map import is_owner
from trug.web.rendering import go, page, say
from trug.web.security import Posted, posted
from trug.web.site import Site, site_of
from trug.web.telling import told

router = APIRouter()

#: More of a text than this does not fit on a label [characters].
MOST_NOTES, MOST_HABITAT, MOST_PLACE = 110, 130, 80


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on the label of one fruitbody; ``determined`` says by whom and when, or that nobody signed."""

    fruitbody: str
    name: str
    authority: str
    determined: str
    spore_print: str


@dataclass(frozen=True, slots=True)
class Shared:
    """What stands on every label of a find; ``cut`` where a text was too long for it."""

    place: str
    position: Released | None
    altitude: str
    habitat: str
    notes: str
    collector: str
    qr: Markup
    cut: bool


@router.get("/finds/{find_id}/label")
def label_page(request: Request, find_id: str, exact: str = "") -> Response:
    """Show the labels as they print; with ``exact=yes`` they bear the exact position."""
    site = site_of(request)
    with site.database.reading() as session:
        find = find_or_404(session, find_id)
        wished = exact == "yes" and is_owner(request, session)
        policy = Policy.EXACT if wished else Policy.GENERALISED
        bodies = fruitbodies_of(session, find_id)
        return page(
            request,
            "label.html",
            find=find,
            exact=policy is Policy.EXACT,
            shared=_shared(session, site, find, policy),
            labels=[_label(session, site, find, b) for b in bodies],
        )


@router.post("/finds/{find_id}/label")
def label_fields(request: Request, find_id: str, form: Posted = Depends(posted)) -> Response:
    """Keep the fungarium's number and where the dried voucher lies; no signature ends by it."""
    site = site_of(request)
    with site.database.writing(present_id(request)) as unit:
        correct_find(
            unit, site.reasoner, find_id, fungarium=form.get("fungarium")[:80], voucher_at=form.get("voucher_at")[:400]
        )
    say(request, _("Written on the labels."))
    return go(request, f"/finds/{find_id}/label")


def _label(session: Session, site: Site, find: FindRow, body: FruitbodyRow) -> Label:
    name, authority, determined = _named(session, site.here.book, find, body)
    return Label(body.label, name, authority, determined, _print_colour(session, body, site.here.vocabulary))


def _named(session: Session, book: Book, find: FindRow, body: FruitbodyRow) -> tuple[str, str, str]:
    """Return the name, its authority, and who determined it: signed, else stated, else proposed by the looks."""
    cover = cover_of(session, find.id, body.id)
    if cover is not None:
        treatment = book.treatments.get(cover.taxon)
        people = [session.get(Person, s.person_id) for s in cover.signatures]
        names = ", ".join(dict.fromkeys(p.name for p in people if p is not None))
        said = _("det. %(who)s, %(day)s") % {"who": names, "day": cover.signatures[-1].signed_at[:10]}
        if not cover.complete:
            said += f" ({_('waits for a second signer')})"
        return cover.name, treatment.authority if treatment else "", said
    if body.proposed and body.proposed != "not named":
        return body.proposed, _authority(book, body.proposed), _("by the looks, not signed")
    query = select(StatedName).where(StatedName.find_id == find.id, StatedName.deleted_at.is_(None))
    stated = session.scalars(query.order_by(StatedName.created_at.desc(), StatedName.id.desc()).limit(1)).first()
    if stated is not None:
        said = _("stated by %(who)s, not signed") % {"who": stated.stated_by or _("somebody")}
        full = f"{stated.qualifier} {stated.name}".strip()
        return full, _authority(book, stated.name), said
    return _("not named"), "", ""


def _authority(book: Book, name: str) -> str:
    """Return the authority of a name that stands without a qualifier."""
    plain = name.removesuffix(" (aggregate)")
    return next((t.authority for t in book.treatments.values() if t.name == plain), "")


def _print_colour(session: Session, body: FruitbodyRow, vocabulary: Vocabulary) -> str:
    query = select(SporePrint.colour).where(
        SporePrint.fruitbody_id == body.id, SporePrint.deleted_at.is_(None), SporePrint.colour.is_not(None)
    )
    character = vocabulary.characters["spore_print"]
    colours = {c: None for c in session.scalars(query) if c in character.codes}
    if colours:
        return ", ".join(_(character.state(c).label) for c in colours if c)
    every = looks_of(session, body.find_id)
    replaced = {k.supersedes for k in every if k.supersedes}
    mine = [k for k in every if k.fruitbody_id == body.id and k.character == "spore_print" and k.id not in replaced]
    return ", ".join(told(k.evidence, character) for k in mine if not k.evidence.get("not_seen"))


def _shared(session: Session, site: Site, find: FindRow, policy: Policy) -> Shared:
    place = session.get(PlaceRow, find.place_id) if find.place_id else None
    grid = place.grid_deg if place else DEFAULT_GRID_DEG
    at = position_of(session, find)
    collector = session.get(Person, find.finder_id) if find.finder_id else None
    exact = policy is Policy.EXACT

    def leaving(text: str) -> str:
        plain = " ".join(text.split())
        return plain if exact else without_coordinates(plain, grid)

    texts = [
        leaving(", ".join(t for t in (place.name if place else "", find.locality) if t)),
        leaving(_habitat(session, find, place, site.here.vocabulary)),
        leaving(find.notes),
    ]
    fitted = [_cut(t, most) for t, most in zip(texts, (MOST_PLACE, MOST_HABITAT, MOST_NOTES), strict=True)]
    return Shared(
        place=fitted[0],
        position=release_position(at, policy, grid),
        altitude=_altitude(find, place, exact),
        habitat=fitted[1],
        notes=fitted[2],
        collector=collector.name if collector else "",
        qr=_qr(find.id),
        cut=fitted != texts,
    )


def _altitude(find: FindRow, place: PlaceRow | None, exact: bool) -> str:
    height = find.altitude_m if find.altitude_m is not None else place.altitude_m if place else None
    if height is None:
        return ""
    if exact:
        return f"{height:.0f} m"
    band = altitude_band(height)
    return f"{band.low_m:.0f}–{band.high_m:.0f} m"


def _habitat(session: Session, find: FindRow, place: PlaceRow | None, vocabulary: Vocabulary) -> str:
    """Return what it grew on and how, in words, and the wood of the place."""
    every = looks_of(session, find.id)
    replaced = {k.supersedes for k in every if k.supersedes}
    order = {code: n for n, code in enumerate(vocabulary.characters)}
    mine = [
        k
        for k in every
        if k.fruitbody_id is None and k.id not in replaced and k.character in order and not k.evidence.get("not_seen")
    ]
    mine.sort(key=lambda k: order[k.character])
    shown = [k for k in mine if vocabulary.characters[k.character].of_find]
    words = [told(k.evidence, vocabulary.characters[k.character]) for k in shown]
    return "; ".join(dict.fromkeys((*words, *([place.wood] if place and place.wood else []))))


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _qr(text: str) -> Markup:
    """Return a QR code (ISO/IEC 18004) as SVG, black, for a white ground."""
    import segno

    code = segno.make(text, error="m", micro=False)
    return Markup(code.svg_inline(omitsize=True, border=0, dark="#000", svgclass="qr"))
