"""Who is at work on a page, and where a form leads back to."""

from __future__ import annotations

from urllib.parse import urlencode

from fastapi import Request

from trug.errors import InputError
from trug.web.language import gettext as _
from trug.web.site import person_of, site_of

__all__ = ["acting", "present_id", "to_find"]


def acting(request: Request) -> str | None:
    """Return the id of the person who is using the app."""
    with site_of(request).database.reading() as session:
        person = person_of(request, session)
        return person.id if person else None


def present_id(request: Request) -> str:
    """Return the id of the person who is using the app; InputError where nobody has said who they are."""
    person_id = acting(request)
    if person_id is None:
        raise InputError(_("Say first who you are, under People."))
    return person_id


def to_find(find_id: str, body: str = "") -> str:
    """Return the path of a find's page, with a fruitbody chosen."""
    return f"/finds/{find_id}?{urlencode({'body': body})}" if body else f"/finds/{find_id}"
