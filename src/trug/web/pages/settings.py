"""What was chosen at the set-up, to change later."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response

from trug.errors import InputError
from trug.web.language import gettext as _
from trug.web.pages.places_map import is_owner
from trug.web.rendering import go, page, say
from trug.web.security import Posted, posted
from trug.web.site import put_setting, setting, site_of

__all__ = ["router"]

router = APIRouter()


@router.get("/settings", include_in_schema=False)
def settings(request: Request) -> Response:
    """Show what can be changed."""
    site = site_of(request)
    with site.database.reading() as session:
        return page(
            request,
            "settings.html",
            region=setting(session, "region"),
            regions=site.here.vocabulary.characters["region"].states,
            owner=is_owner(request, session),
            folder=str(site.database.photos.folder.parent),
        )


@router.post("/settings", include_in_schema=False)
def change(request: Request, form: Posted = Depends(posted)) -> Response:
    """Change the region that new finds and places begin with; those that are recorded keep theirs."""
    site = site_of(request)
    region = form.get("region")
    if region not in site.here.vocabulary.characters["region"].codes:
        raise InputError(_("choose the region where you forage most"))
    with site.database.writing() as unit:
        if not is_owner(request, unit.session):
            raise InputError(_("only the owner of the records changes the settings"))
        put_setting(unit.session, "region", region)
    say(request, _("The region is changed. Finds and places that are recorded keep theirs."))
    return go(request, "/settings")
