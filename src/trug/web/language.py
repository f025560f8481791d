"""Every string that a page shows goes through gettext; English ships."""

from __future__ import annotations

import contextvars
from gettext import NullTranslations
from pathlib import Path

from babel.support import Translations

__all__ = ["LOCALES", "code", "gettext", "languages", "ngettext", "speak", "spoken"]

LOCALES = Path(__file__).parent / "locales"
DOMAIN = "trug"

_ENGLISH = NullTranslations()
_now: contextvars.ContextVar[NullTranslations | None] = contextvars.ContextVar("translations", default=None)
_code: contextvars.ContextVar[str] = contextvars.ContextVar("language", default="en")


def languages() -> tuple[str, ...]:
    """Return the languages that pages can be shown in; English first."""
    found = sorted(p.parent.parent.name for p in LOCALES.glob("*/LC_MESSAGES/trug.mo"))
    return ("en", *(code for code in found if code != "en"))


def speak(language: str) -> NullTranslations:
    """Choose the language of the pages from here on in this request, and return its translations."""
    translations = Translations.load(LOCALES, [language], DOMAIN) if language != "en" else _ENGLISH
    _now.set(translations)
    _code.set(language)
    return translations


def spoken() -> NullTranslations:
    """Return the translations of this request."""
    return _now.get() or _ENGLISH


def code() -> str:
    """Return the language of this request, such as ``en``."""
    return _code.get()


def gettext(message: str) -> str:
    """Return a message in the language of this request."""
    return spoken().gettext(message)


def ngettext(one: str, many: str, n: int) -> str:
    """Return a message for n things in the language of this request."""
    return spoken().ngettext(one, many, n)
