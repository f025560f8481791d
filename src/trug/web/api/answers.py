"""How the API reads a body and how it answers: JSON, with a tag by which a client need not fetch a thing twice."""

from __future__ import annotations

import hashlib
from typing import Annotated, Any

import msgspec
from fastapi import Depends, HTTPException, Request
from fastapi.responses import Response

from trug import __version__
from trug.errors import InputError
from trug.reading import MAX_BYTES
from trug.web.language import gettext as _

__all__ = ["JSON", "JsonBody", "answer", "book_tag", "unchanged"]

JSON = "application/json"


async def _json_body(request: Request) -> bytes:
    """Return the body of a request that says it is JSON.

    Another web site cannot send this type without asking first, and this server grants nobody that leave.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != JSON:
        raise HTTPException(415, _("send the body as application/json"))
    if int(request.headers.get("content-length") or 0) > MAX_BYTES:
        raise HTTPException(413, _("the document is too large (8 MB at most)"))
    body = await request.body()
    if len(body) > MAX_BYTES:
        raise HTTPException(413, _("the document is too large (8 MB at most)"))
    if not body.lstrip().startswith(b"{"):
        raise InputError(_("the body must be one JSON object, in braces"))
    return body


JsonBody = Annotated[bytes, Depends(_json_body)]


def answer(
    request: Request, value: Any, *, tag: str = "", status: int = 200, headers: dict[str, str] | None = None
) -> Response:
    """Return a value as JSON; nothing but its tag where the client has it already.

    Parameters
    ----------
    tag : str
        The tag where it was known before the value; made of the answer's bytes otherwise.
    """
    body = msgspec.json.encode(value, order="deterministic")
    if request.method != "GET":
        return Response(body, status, headers, media_type=JSON)
    known = tag or _tag(body)
    return unchanged(request, known) or Response(body, 200, {**_kept(known), **(headers or {})}, media_type=JSON)


def unchanged(request: Request, tag: str) -> Response | None:
    """Return the answer to a client that has a thing already (RFC 9110, 13.1.2), None where it has not."""
    told = request.headers.get("if-none-match", "")
    known = {part.strip().removeprefix("W/") for part in told.split(",")}
    return Response(status_code=304, headers=_kept(tag)) if tag in known or told.strip() == "*" else None


def book_tag(request: Request, digest: str) -> str:
    """Return the tag of what follows from the book and the request's address alone."""
    return _tag(f"{digest} {__version__} {request.url.path}?{request.url.query}".encode())


def _tag(data: bytes) -> str:
    return f'"{hashlib.blake2b(data, digest_size=16).hexdigest()}"'


def _kept(tag: str) -> dict[str, str]:
    return {"ETag": tag, "Cache-Control": "private, no-cache"}
