"""What keeps other web sites, other hosts and oversized requests out of a server on a person's own computer."""

from __future__ import annotations

import hmac
from collections.abc import AsyncIterator
from dataclasses import dataclass
from urllib.parse import urlsplit

from fastapi import HTTPException, Request
from starlette.datastructures import FormData, Headers, UploadFile
from starlette.responses import JSONResponse, PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["MOST_BODY", "Guard", "Posted", "policy_with_images_of", "posted"]

#: Largest request [bytes]: a handful of photos.
MOST_BODY = 64 * 1024 * 1024
#: Files and fields that one form may carry.
MOST_FILES, MOST_FIELDS = 20, 500
#: Methods that change nothing.
QUIET = frozenset({"GET", "HEAD", "OPTIONS"})

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
        "font-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; manifest-src 'self'"
    ),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(self), microphone=(), payment=(), usb=()",
}


def policy_with_images_of(host: str) -> str:
    """Return the content policy of a page that may also show images of another host, over TLS."""
    return HEADERS["Content-Security-Policy"].replace("img-src 'self'", f"img-src 'self' https://{host}")


class Guard:
    """Refuse foreign hosts (DNS rebinding), foreign origins and bodies that are too large; add the headers."""

    def __init__(self, app: ASGIApp, hosts: frozenset[str]) -> None:
        self.app = app
        self.hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it with the reason why not."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refusal = self.refusal(str(scope["method"]), headers)
        if refusal is not None:
            status, reason = refusal
            machine = str(scope["path"]).startswith("/api")
            answer = JSONResponse({"error": reason}, status) if machine else PlainTextResponse(reason + "\n", status)
            await answer(scope, receive, _with_headers(send))
            return
        await self.app(scope, _limited(receive), _with_headers(send))

    def refusal(self, method: str, headers: Headers) -> tuple[int, str] | None:
        """Return status and reason where a request is refused."""
        host = _name(headers.get("host", ""))
        if host not in self.hosts:
            return 400, "this server answers under its own name only"
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > MOST_BODY:
            return 413, f"a request may hold {MOST_BODY // 1024 // 1024} MB; send fewer photos at once"
        if method in QUIET:
            return None
        origin = headers.get("origin")
        if origin is not None and urlsplit(origin).netloc != headers.get("host"):
            return 403, "this request comes from another web site"
        if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return 403, "this request comes from another web site"
        return None


def _name(host: str) -> str:
    """Return a host name without its port."""
    return host.rsplit(":", 1)[0] if not host.endswith("]") else host


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            have = {name.lower() for name, _ in message["headers"]}
            message["headers"] = [
                *message["headers"],
                *((k.lower().encode(), v.encode()) for k, v in HEADERS.items() if k.lower().encode() not in have),
            ]
        await send(message)

    return sending


def _limited(receive: Receive) -> Receive:
    """Stop a body that is longer than it said, or said nothing of its length."""
    seen = 0

    async def receiving() -> Message:
        nonlocal seen
        message = await receive()
        if message["type"] == "http.request":
            seen += len(message.get("body", b""))
            if seen > MOST_BODY:
                raise HTTPException(413, "the request is too large; send fewer photos at once")
        return message

    return receiving


@dataclass(frozen=True, slots=True)
class Posted:
    """A form that a page of ours sent."""

    form: FormData

    def get(self, name: str, default: str = "") -> str:
        """Return a field as text without blanks around it."""
        value = self.form.get(name)
        return value.strip() if isinstance(value, str) else default

    def all(self, name: str) -> list[str]:
        """Return every value of a field."""
        return [v for v in self.form.getlist(name) if isinstance(v, str)]

    def files(self, name: str) -> list[tuple[str, bytes]]:
        """Return the files of a field that hold something: the name they were given, and their bytes."""
        files = [v for v in self.form.getlist(name) if isinstance(v, UploadFile)]
        return [(f.filename or "", data) for f in files if (data := f.file.read())]


async def posted(request: Request) -> AsyncIterator[Posted]:
    """Give the form of a request after its token was checked; every page that changes something depends on it."""
    form = await request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS)
    told, mine = form.get("csrf"), request.session.get("csrf")
    try:
        if not isinstance(told, str) or not mine or not hmac.compare_digest(told.encode(), str(mine).encode()):
            raise HTTPException(
                403, "this form is too old or comes from elsewhere; load the page anew and send it again"
            )
        yield Posted(form)
    finally:
        await form.close()
