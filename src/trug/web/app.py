"""The app: pages, API, static files and what guards them."""

from __future__ import annotations

import contextlib
import importlib
import secrets
from collections.abc import AsyncIterator
from pathlib import Path

import anyio.to_thread
from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import RedirectResponse, Response
from starlette.exceptions import HTTPException
from starlette.middleware.sessions import SessionMiddleware
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Receive, Scope, Send

from trug import __version__
from trug.errors import InputError, TrugError
from trug.loaded import loaded
from trug.records.database import Database
from trug.records.reasoning import Reasoner
from trug.web import language
from trug.web.api.describe import describe
from trug.web.api.routes import OPERATIONS
from trug.web.language import gettext as _
from trug.web.rendering import page, wants_swap
from trug.web.security import Guard
from trug.web.site import Site, person_of, put_setting, setting

__all__ = ["LOCAL_HOSTS", "PAGES", "create_app"]

LOCAL_HOSTS = frozenset({"127.0.0.1", "localhost", "[::1]"})
STATIC = Path(__file__).parent / "static"
#: Modules of ``trug.web.pages`` and ``trug.web.api``, each with a ``router``.
PAGES = (
    "pages.begin",
    "pages.finds",
    "pages.find",
    "pages.looks",
    "pages.photos",
    "pages.signing",
    "pages.blind",
    "pages.experts",
    "pages.labels",
    "pages.kitchen",
    "pages.treatments",
    "pages.compare",
    "pages.characters",
    "pages.places",
    "pages.people",
    "pages.classes",
    "pages.ill",
    "pages.bin",
    "pages.exchange",
    "pages.settings",
    "api.routes",
)
#: Requests that are worked on at once.
THREADS = 3
#: Pages that answer before somebody has said who they are.
OPEN_TO_ALL = ("/begin", "/static/", "/ill", "/book", "/compare", "/characters", "/api", "/license", "/favicon.ico")


def create_app(database: Database, hosts: frozenset[str] = LOCAL_HOSTS) -> FastAPI:
    """Return the app for an open database.

    Parameters
    ----------
    hosts : frozenset of str
        The names under which it answers; others are refused.
    """
    app = FastAPI(
        title="trug",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        lifespan=_few_at_once,
    )
    app.state.site = Site(database, Reasoner(loaded()))
    app.add_exception_handler(TrugError, _mistaken)
    app.add_exception_handler(HTTPException, _refused)
    app.add_exception_handler(RequestValidationError, _misaddressed)
    app.add_exception_handler(Exception, _broken)
    for name in PAGES:
        app.include_router(importlib.import_module(f"trug.web.{name}").router)
    describe(app, OPERATIONS)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.add_middleware(Prepared, site=app.state.site)
    app.add_middleware(SessionMiddleware, secret_key=_secret(database), same_site="strict", session_cookie="trug")
    app.add_middleware(Guard, hosts=hosts)
    return app


@contextlib.asynccontextmanager
async def _few_at_once(_app: FastAPI) -> AsyncIterator[None]:
    """Work on a few requests at once: more threads would only take turns, each with a connection of its own."""
    anyio.to_thread.current_default_thread_limiter().total_tokens = THREADS
    yield


def _secret(database: Database) -> str:
    """Return the key that cookies are signed with; it is made once for each database."""
    with database.writing() as unit:
        known = setting(unit.session, "secret")
        if known is None:
            known = secrets.token_hex(32)
            put_setting(unit.session, "secret", known)
    return str(known)


class Prepared:
    """Choose the language of a request, and lead to the set-up where nobody has said yet who they are."""

    def __init__(self, app: ASGIApp, site: Site) -> None:
        self.app = app
        self.site = site

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Prepare a request and let it through."""
        if scope["type"] == "http":
            language.speak(scope["session"].get("language", "en"))
            path = str(scope["path"])
            if scope["method"] == "GET" and not path.startswith(OPEN_TO_ALL) and not self._begun(Request(scope)):
                await RedirectResponse("/begin", status_code=303)(scope, receive, send)
                return
        await self.app(scope, receive, send)

    def _begun(self, request: Request) -> bool:
        if not self.site.cache.get("begun"):
            with self.site.database.reading() as session:
                self.site.cache["begun"] = person_of(request, session) is not None
        return bool(self.site.cache["begun"])


def _is_api(request: Request) -> bool:
    return request.url.path.startswith("/api")


async def _mistaken(request: Request, error: Exception) -> Response:
    """Answer a mistake of the user: the message says what to mend, and nothing was changed."""
    assert isinstance(error, TrugError)
    message = error.message if isinstance(error, InputError) else str(error)
    return _answer(request, 422, message)


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    missing = error.status_code == 404 and error.detail == "Not Found"
    answer = _answer(request, error.status_code, _("there is no such page") if missing else str(error.detail))
    answer.headers.update(error.headers or {})
    return answer


async def _misaddressed(request: Request, error: Exception) -> Response:
    """Answer an address whose parts cannot be read, such as a letter where a number belongs."""
    assert isinstance(error, RequestValidationError)
    where = ", ".join(str(problem["loc"][-1]) for problem in error.errors())
    return _answer(request, 422, _("a part of this address cannot be read: %(where)s") % {"where": where})


async def _broken(request: Request, error: Exception) -> Response:
    """Answer a fault of the program without its trace; the server's log has that."""
    del error
    message = _("the program made a mistake; nothing of yours was lost, and the server's log says more")
    return _answer(request, 500, message)


def _answer(request: Request, status: int, message: str) -> Response:
    if _is_api(request):
        from fastapi.responses import JSONResponse

        return JSONResponse({"error": message}, status_code=status)
    if wants_swap(request):
        from fastapi.responses import PlainTextResponse

        return PlainTextResponse(message, status_code=status)
    return page(request, "mistake.html", status=status, message=message)
