"""What the API takes and gives beside the documents of the book, the find and the determination."""

from __future__ import annotations

from typing import Any, Literal

import msgspec

__all__ = [
    "FindSent",
    "Generalised",
    "LookSent",
    "Mistake",
    "PersonLine",
    "PlaceLine",
    "TreatmentFound",
    "TreatmentLine",
]

Sureness = Literal["sure", "fairly", "unsure"]
Method = Literal["eye", "touch", "smell", "print", "card", "microscope", "chemical"]


class Mistake(msgspec.Struct, frozen=True):
    """Why a request was refused, in a sentence that says what to do next."""

    error: str


class TreatmentLine(msgspec.Struct, frozen=True):
    """A treatment in a list.

    ``danger`` is a harm level or empty; ``kitchen`` is ``eaten`` or ``stillroom`` (both under conditions and a signed
    name only), ``nobody`` or ``uncoded``. ``name_found`` is the name that the search met, ``how`` how it met it.
    """

    code: str
    name: str
    english: str
    group: str
    danger: str
    kitchen: str
    name_found: str = ""
    how: str = ""


class TreatmentFound(msgspec.Struct, frozen=True):
    """Treatments that a search found; ``near`` where no name is written so and these are the nearest."""

    near: bool
    treatments: tuple[TreatmentLine, ...]


class FindSent(msgspec.Struct, frozen=True):
    """A find document ``trug.find/1`` as it is sent: the full form, or the short forms that people write.

    Only the date, one fruitbody and one look are needed. ``seen`` maps a character to a state, to several or a size.
    """

    date: str
    fruitbodies: list[dict[str, Any]]
    format: Literal["trug.find/1"] = "trug.find/1"
    id: str | None = None
    region: str | None = None
    place: dict[str, Any] | None = None
    looks: list[dict[str, Any]] = []
    photos: list[dict[str, Any]] = []
    observers: list[dict[str, Any]] = []
    determiner: str | None = None
    seen: dict[str, Any] | None = None
    notes: str | None = None
    extra: dict[str, Any] = {}


class LookSent(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A look to record.

    ``evidence`` is a state, several states ("one of these"), a size, or evidence as in the find document.
    ``fruitbody`` is its id or its letter; it is left out for what belongs to the find as a whole. ``supersedes`` is
    the look that this one corrects; the observer's own earlier look at the same feature is superseded anyway.
    """

    character: str
    evidence: str | float | list[str] | dict[str, Any]
    fruitbody: str | None = None
    sure: Sureness = "sure"
    method: Method | None = None
    observer: str | None = None
    time: str | None = None
    sources: tuple[str, ...] = ()
    supersedes: str | None = None


class PersonLine(msgspec.Struct, frozen=True):
    """A person."""

    id: str
    name: str
    practice: str
    role: str


class Generalised(msgspec.Struct, frozen=True):
    """The centre of a grid cell [degrees, WGS 84] and a radius that holds cell and true position [m]."""

    lat: float
    lon: float
    uncertainty_m: float | None
    grid_deg: float
    generalisation: str


class PlaceLine(msgspec.Struct, frozen=True):
    """A place; never given more finely than its grid."""

    id: str
    name: str
    region: str | None
    position: Generalised | None
    wood: str
