"""Templates: how a page becomes HTML."""

from __future__ import annotations

import datetime
import functools
import secrets
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from trug import __version__
from trug.characters import load_vocabulary
from trug.determine.record import CAUTIONS, DANGER
from trug.drawings import drawing
from trug.web import language
from trug.web.endings import why_ended
from trug.web.palette import swatch
from trug.web.words import LEVEL_WORDS, STANDING_WORDS

__all__ = ["csrf_of", "environment", "go", "page", "say", "wants_swap"]

TEMPLATES = Path(__file__).parent / "templates"


@functools.cache
def environment() -> Environment:
    """Return the template environment; made once."""
    env = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        extensions=["jinja2.ext.i18n", "jinja2.ext.do"],
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.install_gettext_callables(language.gettext, language.ngettext, newstyle=False)  # type: ignore[attr-defined]
    env.globals.update(
        _=_said,
        version=__version__,
        cautions=CAUTIONS,
        danger=DANGER,
        draw=_draw,
        swatch=swatch,
        level_words=LEVEL_WORDS,
        standing_words=STANDING_WORDS,
        why_ended=lambda reason: why_ended(reason, load_vocabulary()),
        today=lambda: datetime.date.today().isoformat(),
        language=language.code,
    )
    env.filters.update(
        plain=lambda code: str(code).replace("-", " ").replace("_", " "), day=_day, first_up=_first_up, whole=_whole
    )
    return env


def page(request: Request, template: str, *, status: int = 200, **values: Any) -> HTMLResponse:
    """Return a page; every template is given the request, its CSRF token and what there is to say."""
    said = request.session.pop("said", [])
    html = (
        environment()
        .get_template(template)
        .render(request=request, csrf=csrf_of(request), said=said, path=request.url.path, **values)
    )
    return HTMLResponse(html, status_code=status)


def go(request: Request, to: str) -> Response:
    """Send the browser on after a change: the answer to every form (303, so that a reload repeats nothing)."""
    return RedirectResponse(to, status_code=303)


def say(request: Request, message: str) -> None:
    """Say something on the next page."""
    # The session is a cookie of four kilobytes; where many forms are answered before a page is shown, the last count.
    request.session["said"] = [*request.session.get("said", []), message][-3:]


def csrf_of(request: Request) -> str:
    """Return the token that every form of this browser must carry."""
    token = request.session.get("csrf")
    if not token:
        token = request.session["csrf"] = secrets.token_urlsafe(24)
    return str(token)


def wants_swap(request: Request) -> bool:
    """Whether the page's own script asks, which puts the answer into the page that is open."""
    return request.headers.get("x-trug-swap") == "1"


def _said(message: str, **values: Any) -> str:
    """Return a message in the language of the page; a percent sign in a message without values stays one."""
    told = language.gettext(message)
    return Markup(told) % values if values else told


def _whole(text: str) -> Markup:
    """Return a number that a narrow line must not break."""
    return Markup('<span class="nobr">{}</span>').format(text)


def _draw(character: str, state: str, size: int = 72, title: str | None = "") -> Markup:
    """Return the line drawing of a state as markup, nothing where there is none; hidden from readers by default."""
    found = drawing(character, state)
    return Markup("") if found is None else Markup(found.svg(size=size, title=title))


def _first_up(text: str) -> str:
    """Return a text with its first letter large, the rest as it is."""
    return text[:1].upper() + text[1:]


def _day(text: str) -> str:
    """Return an ISO date as people read it, such as 4 October 2026; other text unchanged."""
    from babel.dates import format_date

    try:
        return str(format_date(datetime.date.fromisoformat(text[:10]), format="d MMMM y", locale=language.code()))
    except ValueError:
        return text
