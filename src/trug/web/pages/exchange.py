"""Files in and out: finds for others, finds from others, waypoints, and the backup."""

from __future__ import annotations

import datetime
import shutil
import tempfile
from pathlib import Path

from fastapi import APIRouter, Depends, HTTPException, Request
from fastapi.responses import FileResponse, Response
from starlette.background import BackgroundTask

from trug.errors import InputError
from trug.place import Policy
from trug.records.backup import back_up
from trug.records.files import read_file_into, write_finds
from trug.web.language import gettext as _
from trug.web.pages.places_map import is_owner
from trug.web.rendering import go, page, say
from trug.web.security import Posted, posted
from trug.web.site import person_of, site_of

__all__ = ["router"]

router = APIRouter()

#: Endings of the files that go out, with what they are.
OUT = {".zip": "application/zip", ".csv": "text/csv; charset=utf-8", ".geojson": "application/geo+json"}
IN = (".zip", ".csv", ".gpx")


@router.get("/exchange")
def exchange(request: Request) -> Response:
    """Show what can go out and come in."""
    return page(request, "exchange.html", problems=request.session.pop("problems", []))


@router.get("/exchange/finds{ending}")
def generalised(request: Request, ending: str) -> Response:
    """Send all finds with their places generalised."""
    return _finds(request, ending, Policy.GENERALISED)


@router.post("/exchange/exact")
def exact(request: Request, form: Posted = Depends(posted)) -> Response:
    """Send all finds with exact places, by explicit wish only."""
    with site_of(request).database.reading() as session:
        if not is_owner(request, session):
            raise InputError(_("only the owner of the records gives away exact places"))
    if form.get("exact") != "yes":
        raise InputError(_("tick that you wish to give away exact places, or take the generalised file"))
    return _finds(request, form.get("ending"), Policy.EXACT)


@router.post("/exchange/backup")
def backup(request: Request, form: Posted = Depends(posted)) -> Response:
    """Send a backup: everything, photos too, in one file."""
    del form
    folder = Path(tempfile.mkdtemp(prefix="trug-"))
    name = f"trug-{datetime.date.today().isoformat()}.backup.zip"
    back_up(site_of(request).database, folder / name)
    return _file(folder, name, "application/zip")


@router.post("/exchange/import")
def take_over(request: Request, form: Posted = Depends(posted)) -> Response:
    """Take over finds or waypoints from a file; it is there whole or not at all."""
    site = site_of(request)
    files = form.files("file")
    if not files:
        raise InputError(_("choose a file first"))
    name, data = files[0]
    ending = Path(name).suffix.lower()
    if ending not in IN:
        raise InputError(_("only .zip (Darwin Core Archive), .csv and .gpx files are taken over"))
    with site.database.reading() as session:
        person = person_of(request, session)
    with tempfile.TemporaryDirectory(prefix="trug-") as folder:
        path = Path(folder) / f"file{ending}"
        path.write_bytes(data)
        try:
            done = read_file_into(site.database, site.reasoner, path, person_id=person.id if person else None)
        except InputError as error:
            raise InputError(f"{name}: {error.message}") from None
    say(request, f"{name}: {done.sentence}.")
    # The session is a cookie of four kilobytes: the first problems, and how many more there are.
    request.session["problems"] = [p[:200] for p in done.problems[:8]]
    if len(done.problems) > 8:
        request.session["problems"] += [_("and %(count)s more") % {"count": len(done.problems) - 8}]
    return go(request, "/exchange")


def _finds(request: Request, ending: str, policy: Policy) -> Response:
    if ending not in OUT:
        raise HTTPException(404, "there is no such file")
    site = site_of(request)
    folder = Path(tempfile.mkdtemp(prefix="trug-"))
    name = f"finds{'-exact' if policy is Policy.EXACT else ''}{ending}"
    write_finds(site.database, site.here, folder / name, policy, datetime.date.today())
    return _file(folder, name, OUT[ending])


def _file(folder: Path, name: str, media_type: str) -> Response:
    return FileResponse(
        folder / name,
        media_type=media_type,
        filename=name,
        headers={"Cache-Control": "no-store"},
        background=BackgroundTask(shutil.rmtree, folder, ignore_errors=True),
    )
