"""Every string of a page goes through gettext: shown by pages in an invented language that marks what it translated."""

from __future__ import annotations

import re
from collections.abc import Iterator
from gettext import NullTranslations
from html.parser import HTMLParser

import pytest

from trug.web import language
from trug.web.catalogue import POT, catalogue

PAGES = [
    "/begin",
    "/finds",
    "/finds/new",
    "/people/new",
    "/places",
    "/places/new",
    "/classes/new",
    "/exchange",
    "/bin",
    "/ill",
    "/ill/numbers",
    "/kitchen",
    "/characters",
    "/characters/gill_attachment",
    "/characters/koh_cap",
    "/characters/spore_print",
    "/nowhere",
]
#: What stands on pages in every language: names of the program, of a person, of files, laws and commands.
SAME = re.compile(
    r"trug records restore FILE|trug|Ada Moss|finds\.(zip|csv|geojson)|OpenStreetMap|Directive \(EU\)[^¦]*|GSHHG|CIELAB"
    r"|Outlines: GSHHG, Wessel and Smith 1996\.|[A-Z][a-z]+ \d{4}"
)


class Invented(NullTranslations):
    """A language that puts brackets around everything that it was asked to translate."""

    def gettext(self, message: str) -> str:
        return f"⟦{message}⟧"

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return f"⟦{msgid1 if n == 1 else msgid2}⟧"


class Shown(HTMLParser):
    """What a page shows or says, text and attributes."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.quiet = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.quiet += tag in ("script", "style")
        self.texts += [v for k, v in attrs if k in ("title", "aria-label", "placeholder", "alt") and v]

    def handle_endtag(self, tag: str) -> None:
        self.quiet -= tag in ("script", "style")

    def handle_data(self, data: str) -> None:
        if not self.quiet and data.strip():
            self.texts.append(data)


@pytest.fixture
def invented(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    translations = Invented()

    def speak(code: str) -> NullTranslations:
        language._now.set(translations)
        return translations

    monkeypatch.setattr(language, "speak", speak)
    yield
    language._now.set(None)


def untranslated(html: str) -> list[str]:
    """Return what a page shows outside the brackets."""
    shown = Shown()
    shown.feed(html)
    text, before = " ¦ ".join(shown.texts), ""
    while text != before:
        before, text = text, re.sub(r"⟦[^⟦⟧]*⟧", " ", text)
    return [piece.strip() for piece in text.split("¦") if re.search(r"[A-Za-z]{3,}", SAME.sub("", piece))]


@pytest.mark.parametrize("path", PAGES)
def test_nothing_on_a_page_escapes_translation(client, invented, path):
    assert untranslated(client.get(path).text) == []


def test_the_check_sees_a_string_that_escapes():
    assert untranslated("<p>⟦fine⟧</p><p>forgotten</p>") == ["forgotten"]


def test_a_page_says_its_language_and_dates_follow_it(client, monkeypatch):
    assert '<html lang="en">' in client.get("/ill").text
    language.speak("de")
    try:
        from trug.web.rendering import environment

        assert environment().from_string("{{ '2026-10-04' | day }}").render() == "4 Oktober 2026"
    finally:
        language.speak("en")


def test_the_catalogue_for_translators_is_current():
    assert POT.read_bytes() == catalogue(), "run 'make messages'"


def test_the_catalogue_holds_vocabulary_and_pages():
    text = POT.read_text("utf-8")

    for message in ("If someone is ill", "How do the gills meet the stipe?", "cook through", "Never taste an unknown"):
        assert message in text
