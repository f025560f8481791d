"""Who is at work on a page, and where a form leads back to."""

from __future__ import annotations

from urllib.parse import urlencode

from fastapi import Request

from trug.web.site import person_of, site_of

__all__ = ["acting", "to_find"]


def acting(request: Request) -> str | None:
    """Return the id of the person who is using the app."""
    with site_of(request).database.reading() as session:
        person = person_of(request, session)
        return person.id if person else None


def to_find(find_id: str, body: str = "") -> str:
    """Return the path of a find's page, with a fruitbody chosen."""
    return f"/finds/{find_id}?{urlencode({'body': body})}" if body else f"/finds/{find_id}"
