"""The book: search it, read it, and read one treatment with the source of every value."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from markupsafe import Markup

from trug.drawings.season import season_ring
from trug.drawings.size_bar import silhouette
from trug.records.listing import FindLine, list_finds
from trug.treatments import Treatment
from trug.treatments.loader import load_kitchen
from trug.treatments.model import HARM_LEVELS
from trug.treatments.search import Found, NameIndex
from trug.web.accounts import (
    BEFORE,
    STAGE_WORDS,
    UNSOURCED_WORDS,
    Notes,
    accounts_by_part,
    hours,
    kitchen_standing,
)
from trug.web.language import gettext as _
from trug.web.rendering import page
from trug.web.site import Site, person_of, site_of
from trug.web.telling import PART_WORDS
from trug.web.words import N_

__all__ = ["KITCHEN_WORDS", "ConfusionLine", "Line", "confusion_lines", "line_of_taxon", "name_index", "router"]

router = APIRouter()

#: Whether a taxon may come to the kitchen or the stillroom; conditions always go with it.
KITCHEN_WORDS = {
    "eaten": N_("eaten, with conditions"),
    "stillroom": N_("used in the stillroom, with conditions"),
    "nobody": N_("not for anyone"),
    "uncoded": N_("not coded as eaten"),
}
#: Months, in order.
MONTH_WORDS = (
    N_("January"),
    N_("February"),
    N_("March"),
    N_("April"),
    N_("May"),
    N_("June"),
    N_("July"),
    N_("August"),
    N_("September"),
    N_("October"),
    N_("November"),
    N_("December"),
)
#: Own finds of a taxon that its page shows.
FINDS_SHOWN = 8
#: Separating looks that the list of confusions shows of each.
LOOKS_SHOWN = 8


@dataclass(frozen=True, slots=True)
class Line:
    """One taxon in a list; ``called`` is the name that was searched by where it is not among those shown."""

    taxon: Treatment
    level: str
    kitchen: str
    called: str = ""


@dataclass(frozen=True, slots=True)
class ConfusionLine:
    """A taxon that another is confused with; ``warn`` where two firm looks do not separate them in the field."""

    line: Line
    looks: tuple[tuple[str, str, bool, bool], ...]
    more: int
    warn: bool


@router.get("/book")
def book(request: Request, q: str = "", group: str = "", level: str = "", kitchen: str = "") -> Response:
    """Show what the book holds, or what is found by a name."""
    return _list_page(request, q, group, level, kitchen)


@router.get("/book/{code}")
def treatment(request: Request, code: str) -> Response:
    """Show one treatment; older names lead to it."""
    site = site_of(request)
    t = site.here.book.treatments.get(code)
    if t is None:
        known = name_index(site).taxon_called(code)
        if known is not None:
            return RedirectResponse(f"/book/{known}", status_code=302)
        return _list_page(request, code.replace("-", " "), "", "", "", missing=True)
    notes = Notes(site.here.book)
    kitchen = load_kitchen()
    return page(
        request,
        "treatment.html",
        tr=_,
        t=t,
        line=line_of_taxon(site, t),
        groups=site.here.book.groups_of(t),
        latency=hours(t.harm.latency_h) if t.harm and t.harm.latency_h else "",
        condition=kitchen.words["conditions"].get(t.harm.condition, t.harm.condition) if t.harm else "",
        harm_cited=notes.cite(t.harm.source, t.harm.at, t.harm.printed) if t.harm else None,
        use_cited=notes.cite(t.use.source) if t.use else None,
        kitchen=kitchen.words,
        traditions=[(x, notes.cite(x.source, x.at, x.printed)) for x in t.traditions],
        warnings=[(x, notes.cite(x.source, x.at, x.printed)) for x in t.cautions],
        characters=site.here.vocabulary.characters,
        season=_season(t),
        expected=_expected(site, t),
        prior_cited=notes.cite(t.prior.source),
        outline=_outline(t),
        remarks=notes.in_text(_(t.notes)),
        parts=accounts_by_part(t, site.here.vocabulary, notes),
        confusions=confusion_lines(site, t),
        finds=_own_finds(request, site, t),
        notes=notes,
        kitchen_words=KITCHEN_WORDS,
        part_words=PART_WORDS,
        stage_words=STAGE_WORDS,
        before=BEFORE,
        unsourced_words=UNSOURCED_WORDS,
    )


def name_index(site: Site) -> NameIndex:
    """Return the index of every name of the book; made when first asked for."""
    found = site.cache.get("names")
    if found is None:
        found = site.cache["names"] = NameIndex(site.here.book)
    assert isinstance(found, NameIndex)
    return found


def line_of_taxon(site: Site, t: Treatment, found: Found | None = None) -> Line:
    """Return a taxon as a line of a list."""
    level = site.here.book.danger(t)
    called = found.name if found is not None and found.name not in (t.name, *t.english[:1]) else ""
    return Line(t, level, kitchen_standing(t, level), called)


def _list_page(request: Request, q: str, group: str, level: str, kitchen: str, *, missing: bool = False) -> Response:
    site = site_of(request)
    treatments = site.here.book.treatments
    found = name_index(site).search(q)
    near = bool(found) and found[0].how == "near"
    if found:
        lines = [line_of_taxon(site, treatments[f.taxon], f) for f in found]
    else:
        lines = [line_of_taxon(site, t) for t in sorted(treatments.values(), key=lambda t: t.name)]
    fitting = [x for x in lines if _fits(x, group, level, kitchen)]
    sections: dict[str, list[Line]] = {}
    for line in fitting:
        sections.setdefault("" if found else line.taxon.group, []).append(line)
    return page(
        request,
        "book.html",
        tr=_,
        status=404 if missing else 200,
        q=q.strip(),
        missing=missing,
        unreadable=bool(q.strip()) and not found,
        near=near,
        filtered=bool(group or level or kitchen),
        chosen={"group": group, "level": level, "kitchen": kitchen},
        hidden_by_filters=len(lines) - len(fitting) if found else 0,
        count=len(fitting),
        sections=sorted(sections.items()),
        groups=sorted({t.group for t in treatments.values()}),
        levels=HARM_LEVELS,
        kitchen_words=KITCHEN_WORDS,
    )


def _fits(line: Line, group: str, level: str, kitchen: str) -> bool:
    return (
        (not group or line.taxon.group == group)
        and (not level or line.level == level)
        and (not kitchen or line.kitchen == kitchen)
    )


def _season(t: Treatment) -> tuple[Markup, str, str] | None:
    """Return the ring, the months in which it mainly fruits, and those in which it also may; None without any."""
    if not t.prior.months:
        return None
    main, some = _month_spans(t.prior.months), _month_spans(t.prior.months_some - t.prior.months)
    label = _("Season: %(main)s") % {"main": main}
    initials = [_(month)[:1] for month in MONTH_WORDS]
    today = datetime.date.today().month
    ring = season_ring(t.prior.months, t.prior.months_some, today, label, initials)
    return Markup(ring), main, some  # our own drawing


def _month_spans(months: frozenset[int]) -> str:
    """Return months in words; a run of them, also one over New Year, as a span."""
    if len(months) == 12:
        return _("all the year")
    spans = []
    for first in sorted(m for m in months if (m - 2) % 12 + 1 not in months):
        last = first
        while last % 12 + 1 in months:
            last = last % 12 + 1
        begin, end = _(MONTH_WORDS[first - 1]), _(MONTH_WORDS[last - 1])
        spans.append(begin if first == last else _("%(first)s to %(last)s") % {"first": begin, "last": end})
    return ", ".join(spans)


def _expected(site: Site, t: Treatment) -> dict[str, list[str]]:
    """Return regions and altitudes in which a taxon is expected, in words."""
    characters = site.here.vocabulary.characters
    return {
        kind: [_(state.label) for state in characters[code].states if state.code in held]
        for kind, code, held in (
            ("regions", "region", t.prior.regions),
            ("regions_some", "region", t.prior.regions_some),
            ("altitudes", "altitude", t.prior.altitudes),
        )
    }


def _outline(t: Treatment) -> Markup | None:
    """Return cap and stipe of middle size, to scale; None where one of the sizes is not recorded."""
    sizes = [r.size for r in map(t.records.get, ("cap_width", "stipe_length", "stipe_width")) if r and r.size]
    if len(sizes) != 3:
        return None
    middle = [math.sqrt(s.low * s.high) for s in sizes]
    label = _("Outline of one of middle size, beside a ruler in mm")
    return Markup(silhouette(middle[0], middle[1], middle[2], label))  # our own drawing


def confusion_lines(site: Site, t: Treatment) -> list[ConfusionLine]:
    """Return what a taxon is confused with, the nearest to the quick eye first."""
    out = []
    for c in site.confusions.of(t.code):
        line = line_of_taxon(site, site.here.book.treatments[c.taxon])
        looks = tuple((s.character, _(s.label), s.firm, s.field) for s in c.separating[:LOOKS_SHOWN])
        warn = not c.field_separable and bool(t.harm or line.taxon.harm)
        out.append(ConfusionLine(line, looks, len(c.separating) - len(looks), warn))
    return out


def _own_finds(request: Request, site: Site, t: Treatment) -> tuple[FindLine, ...]:
    with site.database.reading() as session:
        if person_of(request, session) is None:
            return ()
        return list_finds(session, words=t.name, count=FINDS_SHOWN).finds
