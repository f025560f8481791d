"""Treatments side by side, the looks that separate them first."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from trug.determine.compare import compare as differences
from trug.determine.comparison import strength
from trug.determine.confusions import FIELD_TOOLS
from trug.treatments import Treatment
from trug.web.accounts import BEFORE, STAGE_WORDS, UNSOURCED_WORDS, Account, Notes, account, hours
from trug.web.language import gettext as _
from trug.web.pages.treatments import KITCHEN_WORDS, ConfusionLine, Line, confusion_lines, line_of_taxon, name_index
from trug.web.rendering import page
from trug.web.site import Site, site_of
from trug.web.words import N_

__all__ = ["MOST", "STRENGTH_WORDS", "Column", "Row", "router"]

router = APIRouter()

#: Taxa that fit side by side.
MOST = 5
STRENGTH_WORDS = {
    "clearly": N_("Separates clearly"),
    "partly": N_("Separates partly"),
    "hardly": N_("Hardly separates"),
}


@dataclass(frozen=True, slots=True)
class Column:
    """One taxon at the head of the comparison; ``without`` is the address of the comparison without it."""

    line: Line
    latency: str
    without: str


@dataclass(frozen=True, slots=True)
class Row:
    """One character of all taxa; None for a taxon that does not record it. ``in_field``: no microscope or reagent."""

    code: str
    label: str
    firm: bool
    in_field: bool
    strength: str
    accounts: tuple[Account | None, ...]


@dataclass(frozen=True, slots=True)
class Pair:
    """Two taxa: the firm looks that separate them without a microscope, and whether to warn that they are too few."""

    one: Treatment
    other: Treatment
    firm: tuple[tuple[str, str], ...]
    warn: bool


@router.get("/compare")
def compare(request: Request, taxa: Annotated[list[str], Query(alias="with")] = []) -> Response:  # noqa: B006
    """Show taxa side by side; one alone beside what it is confused with."""
    site = site_of(request)
    chosen, unknown, near = _named(site, taxa)
    too_many = len(chosen) > MOST
    chosen = chosen[:MOST]
    codes = [t.code for t in chosen]
    rows: list[Row] = []
    confusions: list[ConfusionLine] = []
    notes = Notes(site.here.book)
    if len(chosen) > 1:
        rows = _rows(site, chosen, notes)
    elif chosen:
        confusions = confusion_lines(site, chosen[0])
    return page(
        request,
        "compare.html",
        tr=_,
        status=404 if unknown and not chosen else 200,
        columns=[_column(site, t, codes) for t in chosen],
        codes=codes,
        rows={how: _field_first([r for r in rows if r.strength == how]) for how in STRENGTH_WORDS},
        pairs=[_pair(site, a, b) for a, b in itertools.combinations(chosen, 2)],
        confusions=confusions,
        unknown=unknown,
        near=near,
        address=_address,
        too_many=too_many,
        most=MOST,
        all_names=sorted({t.name for t in site.here.book.treatments.values()}),
        notes=notes,
        strength_words=STRENGTH_WORDS,
        kitchen_words=KITCHEN_WORDS,
        stage_words=STAGE_WORDS,
        before=BEFORE,
        unsourced_words=UNSOURCED_WORDS,
    )


def _named(site: Site, names: Sequence[str]) -> tuple[list[Treatment], str, list[Treatment]]:
    """Return the taxa of names and codes, the first name that is none, and the taxa whose names come near to it."""
    book, index = site.here.book, name_index(site)
    found: dict[str, Treatment] = {}
    for name in filter(None, (n.strip() for n in names)):
        code = name if name in book.treatments else index.taxon_called(name)
        if code is None:
            hits = index.search(name)
            if len(hits) == 1 and hits[0].how != "near":
                code = hits[0].taxon
            else:
                return list(found.values()), name, [book.treatments[f.taxon] for f in hits[:8]]
        found[code] = book.treatments[code]
    return list(found.values()), "", []


def _column(site: Site, t: Treatment, codes: Sequence[str]) -> Column:
    latency = hours(t.harm.latency_h) if t.harm and t.harm.latency_h else ""
    return Column(line_of_taxon(site, t), latency, _address([c for c in codes if c != t.code]))


def _address(codes: Sequence[str]) -> str:
    return "/compare" + ("?" + urlencode([("with", c) for c in codes]) if codes else "")


def _rows(site: Site, chosen: Sequence[Treatment], notes: Notes) -> list[Row]:
    characters = site.here.vocabulary.characters
    return [
        Row(
            d.character,
            _(d.label),
            d.firm,
            not set(characters[d.character].tools) - FIELD_TOOLS,
            strength(d.overlap),
            tuple(account(t, characters[d.character], notes) for t in chosen),
        )
        for d in differences(site.here.table, [t.code for t in chosen])
    ]


def _field_first(rows: list[Row]) -> list[Row]:
    """Return rows in their order, but those that need a microscope or a reagent last."""
    return sorted(rows, key=lambda r: not r.in_field)


def _pair(site: Site, one: Treatment, other: Treatment) -> Pair:
    found = site.confusions.pair(one.code, other.code)
    firm = tuple((s.character, _(s.label)) for s in found.separating if s.firm and s.field)
    return Pair(one, other, firm, not found.field_separable and bool(one.harm or other.harm))
