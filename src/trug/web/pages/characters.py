"""The vocabulary: what there is to look at, how to look, and what it may look like."""

from __future__ import annotations

import functools
from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import RedirectResponse, Response
from markupsafe import Markup

from trug.characters import Character, Vocabulary
from trug.drawings import drawing, drawn_states
from trug.drawings.contact_sheet import contact_sheet
from trug.reading import nearest
from trug.web.accounts import face
from trug.web.language import gettext as _
from trug.web.language import ngettext
from trug.web.rendering import page
from trug.web.site import site_of
from trug.web.telling import PART_WORDS, minutes_words

__all__ = ["StateLine", "router"]

router = APIRouter()

#: The browser may keep drawings; their address carries the version of the program.
KEEP = "public, max-age=31536000, immutable"
SVG = "image/svg+xml"


@dataclass(frozen=True, slots=True)
class StateLine:
    """One state: its face, what it is mistaken for, whether it says nothing, and what it speaks only together with."""

    code: str
    word: str
    definition: str
    face: Markup
    near: tuple[str, ...]
    silent: bool
    needs: tuple[tuple[str, str, str], ...]


@router.get("/characters")
def characters(request: Request) -> Response:
    """List everything there is to look at, part by part."""
    vocabulary = site_of(request).here.vocabulary
    parts: dict[str, list[tuple[Character, list[Markup]]]] = {}
    for c in vocabulary.characters.values():
        faces = [f for s in c.codes[:6] if (f := face(c, s, 36))] if not c.measured else []
        parts.setdefault(c.part, []).append((c, faces))
    return page(request, "characters.html", tr=_, parts=parts, part_words=PART_WORDS, count=len(vocabulary.characters))


@router.get("/characters/{code}/drawings.svg")
def drawings(code: str) -> Response:
    """Give every drawing of a character as a symbol that a page places."""
    if not drawn_states(code):
        raise HTTPException(404, _("there are no drawings of that"))
    return Response(_symbols(code), media_type=SVG, headers={"Cache-Control": KEEP})


@router.get("/characters/{code}/sheet.svg")
def sheet(code: str) -> Response:
    """Give every drawing of a character on one sheet, with its words, to print."""
    if not drawn_states(code):
        raise HTTPException(404, _("there are no drawings of that"))
    return Response(_sheet(code), media_type=SVG, headers={"Cache-Control": KEEP})


@router.get("/characters/{code}")
def character(request: Request, code: str) -> Response:
    """Show one character: the question, how to look, and its states."""
    vocabulary = site_of(request).here.vocabulary
    c = vocabulary.characters.get(code)
    if c is None:
        plain = code.replace("-", "_").replace(" ", "_").lower()
        told = str(vocabulary.aliases.get(code, plain))
        if told in vocabulary.characters:
            return RedirectResponse(f"/characters/{told}", status_code=302)
        raise HTTPException(404, _("there is no such character") + nearest(code, vocabulary.characters))
    return page(
        request,
        "characters_one.html",
        tr=_,
        c=c,
        part=PART_WORDS[c.part],
        states=[] if c.measured else _states(c, vocabulary),
        wrong=_wrong(c),
        minutes=minutes_words(c.minutes),
        wait=minutes_words(c.wait_minutes) if c.wait_minutes else "",
        applies=_condition(c, vocabulary),
        has_sheet=bool(drawn_states(code)),
        unit={"um": "µm", "ratio": ""}.get(c.unit, c.unit),
        relatives=[x for x in vocabulary.characters.values() if c.group and x.group == c.group and x.code != c.code],
    )


def _states(c: Character, vocabulary: Vocabulary) -> list[StateLine]:
    out = []
    for s in c.states:
        near = [(w, b if a == s.code else a) for a, b, w in c.near if s.code in (a, b)]
        needs = tuple(
            (
                n.character,
                _(vocabulary.characters[n.character].label),
                ", ".join(_(vocabulary.characters[n.character].state(x).label) for x in n.states),
            )
            for n in c.needs
            if n.state == s.code
        )
        mistaken = tuple(_(c.state(other).label) for _weight, other in sorted(near, reverse=True))
        out.append(
            StateLine(s.code, _(s.label), _(s.definition), face(c, s.code, 72), mistaken, s.code in c.silent, needs)
        )
    return out


def _condition(c: Character, vocabulary: Vocabulary) -> str:
    """Return what must be so for the question to make sense, in words; nothing where it always does."""
    if c.applies is None:
        return ""
    other = vocabulary.characters[c.applies.character]
    states = ", ".join(_(other.state(s).label) for s in c.applies.states)
    return f"{_(other.label)}: {states}"


def _wrong(c: Character) -> str:
    """Return the error rate in words; the rate itself is an assumption of the book [0..1]."""
    n = round(100 * c.error)
    return ngettext("about %(n)s look in 100 is wrong", "about %(n)s looks in 100 are wrong", n) % {"n": n}


@functools.cache
def _symbols(code: str) -> str:
    found = [d for s in drawn_states(code) if (d := drawing(code, s)) is not None]
    symbols = (
        f'<symbol id="{d.state}" viewBox="0 0 96 96" fill="none" stroke="currentColor" stroke-width="1.6" '
        f'stroke-linecap="round" stroke-linejoin="round">{d.body}</symbol>'
        for d in found
    )
    return f'<svg xmlns="http://www.w3.org/2000/svg">{"".join(symbols)}</svg>'


@functools.cache
def _sheet(code: str) -> str:
    return contact_sheet(code)
