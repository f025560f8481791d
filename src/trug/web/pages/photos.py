"""Photos of a find: added, described, deleted, and served to the owner's own screen."""

from __future__ import annotations

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import Response
from sqlalchemy import select

from trug.errors import InputError
from trug.records.bin import put_in_bin
from trug.records.documents import fruitbodies_of
from trug.records.history import Unit
from trug.records.photos import as_jpeg
from trug.records.pictures import ROLES, add_photo
from trug.records.tables import FruitbodyRow, PhotoRow
from trug.web import telling
from trug.web.acting import acting, to_find
from trug.web.find_view import chosen_body, find_or_404, photos_by_stage
from trug.web.language import gettext as _
from trug.web.language import ngettext
from trug.web.rendering import go, page, say
from trug.web.security import Posted, posted
from trug.web.site import site_of

__all__ = ["router"]

router = APIRouter()

#: What every browser shows as it is; HEIC is turned into JPEG for the screen.
SHOWN = frozenset({"image/jpeg", "image/png", "image/webp"})
#: Long sides of the small pictures that pages ask for [px].
THUMBS = (160, 320, 800)
HEADERS = {
    "Cache-Control": "private, max-age=31536000, immutable",
    "X-Content-Type-Options": "nosniff",
    "Content-Disposition": "inline",
    "Content-Security-Policy": "default-src 'none'; sandbox",
}


@router.get("/finds/{find_id}/photos")
def photos(request: Request, find_id: str, body: str = "") -> Response:
    """Show the photos of a find, with the forms that add and describe them."""
    with site_of(request).database.reading() as session:
        row = find_or_404(session, find_id)
        bodies = fruitbodies_of(session, find_id)
        return page(
            request,
            "photos.html",
            row=row,
            bodies=bodies,
            chosen=chosen_body(bodies, body),
            photos=photos_by_stage(session, find_id, bodies),
            roles=ROLES,
            telling=telling,
        )


@router.post("/finds/{find_id}/photos")
def add(request: Request, find_id: str, form: Posted = Depends(posted)) -> Response:
    """Keep photos; all of them, or none where one is no photo."""
    site = site_of(request)
    files = form.files("photos")
    if not files:
        raise InputError(_("choose one photo or more first"))
    body = form.get("body") or None
    with site.database.writing(acting(request)) as unit:
        for name, data in files:
            try:
                add_photo(
                    site.database,
                    unit,
                    find_id,
                    data,
                    fruitbody_id=body,
                    role=form.get("role", "habit") or "habit",
                    caption=form.get("caption")[:500],
                )
            except InputError as error:
                raise InputError(f"{name[:60]}: {error.message}") from None
    say(request, ngettext("%(n)s photo is kept.", "%(n)s photos are kept.", len(files)) % {"n": len(files)})
    return go(request, f"/finds/{find_id}/photos" if form.get("back") == "photos" else to_find(find_id, body or ""))


@router.post("/finds/{find_id}/photos/{photo_id}")
def describe(request: Request, find_id: str, photo_id: str, form: Posted = Depends(posted)) -> Response:
    """Correct what a photo shows, of which fruitbody, and its caption."""
    with site_of(request).database.writing(acting(request)) as unit:
        row = _photo(unit, find_id, photo_id)
        role, body = form.get("role"), form.get("body") or None
        if role not in ROLES:
            raise InputError(_("choose one of the things that a photo can show"))
        if body is not None and unit.get(FruitbodyRow, body).find_id != find_id:
            raise InputError(_("that fruitbody belongs to another find; open its own page"))
        unit.edit(row, role=role, fruitbody_id=body, caption=form.get("caption")[:500])
    say(request, _("The photo is described."))
    return go(request, f"/finds/{find_id}/photos")


@router.post("/finds/{find_id}/photos/{photo_id}/delete")
def delete(request: Request, find_id: str, photo_id: str, form: Posted = Depends(posted)) -> Response:
    """Put a photo into the bin."""
    site = site_of(request)
    with site.database.writing(acting(request)) as unit:
        _photo(unit, find_id, photo_id)
        put_in_bin(unit, site.reasoner, "photo", photo_id)
    say(request, _("The photo lies in the bin; for 30 days it can be brought back."))
    return go(request, f"/finds/{find_id}/photos")


@router.get("/photos/{sha256}")
def whole(request: Request, sha256: str) -> Response:
    """Send a photo at full size."""
    media_type = _media_type(request, sha256)
    if _has_it(request, sha256):
        return Response(status_code=304, headers=_tagged(sha256))
    data = site_of(request).database.photos.open(sha256)
    if media_type not in SHOWN:
        data, media_type = as_jpeg(data), "image/jpeg"
    return Response(data, media_type=media_type, headers=_tagged(sha256))


@router.get("/photos/{sha256}/thumb")
def thumb(request: Request, sha256: str, size: int = 320) -> Response:
    """Send a photo small and upright, without what the camera wrote into it."""
    _media_type(request, sha256)
    if size not in THUMBS:
        raise HTTPException(404, _("There is no small picture of that size."))
    tag = f"{sha256}-{size}"
    if _has_it(request, tag):
        return Response(status_code=304, headers=_tagged(tag))
    return Response(site_of(request).database.photos.thumb(sha256, size), media_type="image/jpeg", headers=_tagged(tag))


def _media_type(request: Request, sha256: str) -> str:
    """Return the media type of a photo that a find holds or held; 404 where none does."""
    with site_of(request).database.reading() as session:
        found = session.scalar(select(PhotoRow.media_type).where(PhotoRow.sha256 == sha256).limit(1))
    if found is None:
        raise HTTPException(404, _("There is no such photo."))
    return str(found)


def _has_it(request: Request, tag: str) -> bool:
    return f'"{tag}"' in request.headers.get("if-none-match", "")


def _tagged(tag: str) -> dict[str, str]:
    return {**HEADERS, "ETag": f'"{tag}"'}


def _photo(unit: Unit, find_id: str, photo_id: str) -> PhotoRow:
    """Return a photo of a find; InputError where it belongs to another."""
    row = unit.get(PhotoRow, photo_id)
    if row.find_id != find_id:
        raise InputError(_("that photo belongs to another find; open its own page"))
    return row
