"""Operations on the book: treatments, comparisons, characters, and determinations of finds that are not kept."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Annotated
from urllib.parse import quote

from fastapi import HTTPException, Query, Request
from fastapi.responses import Response

from trug.characters import Character
from trug.determine.compare import compare as differences
from trug.determine.comparison import ComparedCharacter, ConfusedTaxon, comparison_document, confusions_document
from trug.determine.record import Determination
from trug.errors import ImplausibleError, InputError
from trug.reading import decode, nearest
from trug.records import ReadFind, read_find_text
from trug.treatments import Treatment
from trug.treatments.document import CharacterLine, TreatmentDocument, character_lines, treatment_document
from trug.treatments.names import treatment_named
from trug.web.accounts import kitchen_standing
from trug.web.api.answers import JsonBody, answer, book_tag, unchanged
from trug.web.api.operations import Example, Operation, Operations, Parameter
from trug.web.api.outward import determination_outward
from trug.web.api.shapes import FindSent, TreatmentFound, TreatmentLine
from trug.web.language import gettext as _
from trug.web.pages.treatments import name_index
from trug.web.site import Site, site_of

__all__ = ["MOST_BODIES", "MOST_COMPARED", "NOTES", "OPERATIONS", "notes_header", "read_sent", "signed_code"]

OPERATIONS = Operations()

#: Taxa that one comparison holds.
MOST_COMPARED = 12
#: Fruitbodies of one find.
MOST_BODIES = 26
#: Header that tells what was odd but not wrong about a find that was sent.
NOTES = "Trug-Notes"
_CODE = Parameter(
    "code", "The code of a treatment; an older one, or a name with hyphens, is understood too.", "path", True
)


@OPERATIONS.add(
    Operation(
        "GET",
        "/api/treatments",
        "searchTreatments",
        "List or search the treatments",
        "Without q every treatment is listed. With q exact names come first, then names that begin so, then names "
        "of which a word does; where there is none, the nearest names.",
        (TreatmentFound,),
        Example(
            "/api/treatments?q=funeral%20bell",
            '{"near": false, "treatments": [{"code": "galerina-marginata", "danger": "kills", "kitchen": "nobody"}]}',
        ),
        parameters=(Parameter("q", "A Latin, English or older name, in part or misspelt."),),
    )
)
def treatments(request: Request, q: str = "") -> Response:
    """Answer a search."""
    site = site_of(request)
    tag = book_tag(request, site.here.book.digest)
    if (kept := unchanged(request, tag)) is not None:
        return kept
    book = site.here.book.treatments
    if not q.strip():
        return answer(request, TreatmentFound(False, tuple(_line(site, t) for t in book.values())), tag=tag)
    found = name_index(site).search(q)
    lines = tuple(_line(site, book[f.taxon], f.name, f.how) for f in found)
    return answer(request, TreatmentFound(bool(found) and found[0].how == "near", lines), tag=tag)


@OPERATIONS.add(
    Operation(
        "GET",
        "/api/treatments/{code}",
        "readTreatment",
        "Read one treatment",
        "The coded account with the source of every value: what 'trug treatment NAME --json' writes.",
        (TreatmentDocument,),
        Example("/api/treatments/galerina-marginata", '{"code": "galerina-marginata", "danger": "kills"}'),
        parameters=(_CODE,),
        refusals=(404,),
    )
)
def treatment(request: Request, code: str) -> Response:
    """Answer with one treatment."""
    site = site_of(request)
    tag = book_tag(request, site.here.book.digest)
    if (kept := unchanged(request, tag)) is not None:
        return kept
    return answer(request, treatment_document(site.here.book, _treatment(site, code)), tag=tag)


@OPERATIONS.add(
    Operation(
        "GET",
        "/api/compare",
        "compareTreatments",
        "Set treatments side by side",
        "With two or more, every character that one of them records, the most separating first. With one, what it is "
        "confused with and which looks separate the two, as 'trug compare NAME... --json' writes it.",
        (list[ComparedCharacter], list[ConfusedTaxon]),
        Example(
            "/api/compare?with=flammulina-velutipes&with=galerina-marginata",
            '[{"character": "spore_print", "firm": true, "overlap": 0.0}]',
        ),
        parameters=(
            Parameter(
                "with",
                f"The code or a name of a treatment, once for each; {MOST_COMPARED} at most.",
                required=True,
                many=True,
            ),
        ),
        refusals=(422,),
    )
)
def compare(request: Request, taxa: Annotated[list[str], Query(alias="with")] = []) -> Response:  # noqa: B006
    """Answer with a comparison or with confusions."""
    site = site_of(request)
    tag = book_tag(request, site.here.book.digest)
    if not taxa:
        raise InputError(_("name one treatment or more: /api/compare?with=CODE&with=CODE"))
    if len(taxa) > MOST_COMPARED:
        raise InputError(_("%(n)s treatments at most are set side by side") % {"n": MOST_COMPARED})
    chosen = list({t.code: t for t in (treatment_named(site.here.book, name) for name in taxa)}.values())
    if len(chosen) == 1 and len(taxa) > 1:
        raise InputError(_("these are names of one taxon; name another to compare it with"))
    if (kept := unchanged(request, tag)) is not None:
        return kept
    return answer(request, _compared(site, chosen), tag=tag)


@OPERATIONS.add(
    Operation(
        "GET",
        "/api/characters",
        "listCharacters",
        "List the characters",
        "Every character by its code, as 'trug characters --json' writes it.",
        (dict[str, CharacterLine],),
        Example("/api/characters", '{"spore_print": {"firm": true, "label": "spore print"}}'),
    )
)
def characters(request: Request) -> Response:
    """Answer with the list."""
    here = site_of(request).here
    return answer(request, character_lines(here.vocabulary), tag=book_tag(request, here.book.digest))


@OPERATIONS.add(
    Operation(
        "GET",
        "/api/characters/{code}",
        "readCharacter",
        "Read one character",
        "Its question, how to look, its states, how often a look is wrong and what it needs.",
        (Character,),
        Example("/api/characters/spore_print", '{"code": "spore_print", "firm": true, "error": 0.03}'),
        parameters=(Parameter("code", "The code of a character.", "path", True),),
        refusals=(404,),
    )
)
def character(request: Request, code: str) -> Response:
    """Answer with one character."""
    here = site_of(request).here
    told = str(here.vocabulary.aliases.get(code, code))
    found = here.vocabulary.characters.get(told)
    if found is None:
        raise HTTPException(404, _("there is no such character") + nearest(code, here.vocabulary.characters))
    return answer(request, found, tag=book_tag(request, here.book.digest))


@OPERATIONS.add(
    Operation(
        "POST",
        "/api/determine",
        "determine",
        "Determine a find without keeping it",
        "Takes a find document and gives the determination that 'trug determine FIND --json' writes: the ledger of "
        f"what could harm, the next looks, the names. What was odd but not wrong stands in the header {NOTES}.",
        (Determination,),
        Example(
            "/api/determine",
            '{"format": "trug.determination/1", "fruitbodies": [{"fruitbody": "a"}]}',
            '{"date": "2026-11-20", "region": "europe-north", "fruitbodies": '
            '[{"stage": "prime", "seen": {"spore_print": "rust-brown", "cap_width": "35 mm"}}]}',
        ),
        takes=FindSent,
        parameters=(Parameter("signed", "A name that a person signs; the release verdict is about it."),),
    )
)
def determine(request: Request, body: JsonBody, signed: str = "") -> Response:
    """Answer with the determination."""
    site = site_of(request)
    read = read_sent(site, body)
    record = site.reasoner.determine(read.find, signed_code(site, signed))
    return answer(request, determination_outward(record), headers=notes_header(read.warnings))


def read_sent(site: Site, body: bytes) -> ReadFind:
    """Return the find that was sent.

    Raises
    ------
    InputError
        It cannot be used, or holds more fruitbodies than one find may.
    """
    read = read_find_text(decode(body, ""), site.here.vocabulary, datetime.date.today())
    if len(read.find.fruitbodies) > MOST_BODIES:
        raise ImplausibleError(_("a find holds 1 to 26 fruitbodies; send the others as a find of their own"))
    return read


def signed_code(site: Site, signed: str) -> str | None:
    """Return the code of a name that is signed, None where none is."""
    return treatment_named(site.here.book, signed).code if signed.strip() else None


def notes_header(notes: Sequence[str]) -> dict[str, str]:
    """Return the header that tells what was odd: sentences, percent-encoded, joined by commas."""
    return {NOTES: ", ".join(quote(note[:300], safe=" ;:.()'") for note in notes[:10])} if notes else {}


def _treatment(site: Site, code: str) -> Treatment:
    book = site.here.book.treatments
    if code in book:
        return book[code]
    known = name_index(site).taxon_called(code)
    if known is None:
        near = [f.taxon for f in name_index(site).search(code)[:3]]
        raise HTTPException(
            404, _("there is no such treatment") + (f"; did you mean {' or '.join(near)}?" if near else "")
        )
    return book[known]


def _line(site: Site, t: Treatment, name_found: str = "", how: str = "") -> TreatmentLine:
    danger = site.here.book.danger(t)
    english = t.english[0] if t.english else ""
    return TreatmentLine(t.code, t.name, english, t.group, danger, kitchen_standing(t, danger), name_found, how)


def _compared(site: Site, chosen: list[Treatment]) -> list[ComparedCharacter] | list[ConfusedTaxon]:
    if len(chosen) == 1:
        return confusions_document(site.confusions.of(chosen[0].code))
    return comparison_document(differences(site.here.table, [t.code for t in chosen]), chosen)
