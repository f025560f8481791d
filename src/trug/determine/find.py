"""The find document ``trug.find/1``: one gathering, its fruitbodies and the looks made on them.

The same document serves the command line, the API, the phone and the database export.
People may write the short forms (``seen``, bare words for evidence); programs write the full ones.
"""

from __future__ import annotations

import datetime
from typing import Any, Literal

import msgspec

__all__ = [
    "FORMAT",
    "METHODS",
    "SURE",
    "Colour",
    "Evidence",
    "Find",
    "Fruitbody",
    "Look",
    "Measurement",
    "Observer",
    "Photo",
    "Place",
    "Sample",
    "json_schema",
]

FORMAT = "trug.find/1"
#: How sure an observer is of a look.
SURE = ("sure", "fairly", "unsure")
#: How a look was made.
METHODS = ("eye", "touch", "smell", "print", "card", "microscope", "chemical")

Method = Literal["eye", "touch", "smell", "print", "card", "microscope", "chemical"]
Sureness = Literal["sure", "fairly", "unsure"]


class Measurement(msgspec.Struct, frozen=True, omit_defaults=True):
    """One measured value with its standard deviation, both in the character's own unit."""

    value: float
    deviation: float = 0.0


class Sample(msgspec.Struct, frozen=True, omit_defaults=True):
    """Many measurements in short: number, mean, standard deviation, 5th and 95th percentile."""

    n: int
    mean: float
    sd: float
    p5: float | None = None
    p95: float | None = None


class Colour(msgspec.Struct, frozen=True, omit_defaults=True):
    """A CIELAB value (D65) with its 3 x 3 covariance, row by row, and an accuracy class A to D."""

    lab: tuple[float, float, float]
    covariance: tuple[float, float, float, float, float, float, float, float, float] | None = None
    accuracy: Literal["A", "B", "C", "D"] = "C"


class Evidence(msgspec.Struct, frozen=True, omit_defaults=True):
    """What was seen: exactly one of the fields is set.

    ``states`` says "one of these"; ``distribution`` is a likelihood over states with no prior in it;
    ``not_seen`` gives the reason why nothing can be said.
    """

    states: tuple[str, ...] | None = None
    distribution: dict[str, float] | None = None
    measurement: Measurement | None = None
    sample: Sample | None = None
    colour: Colour | None = None
    not_seen: str | None = None

    def forms(self) -> list[str]:
        """Return the names of the fields that are set."""
        return [name for name in self.__struct_fields__ if getattr(self, name) is not None]


class Look(msgspec.Struct, frozen=True, omit_defaults=True):
    """One observation of one character on one fruitbody.

    ``fruitbody`` is None for what belongs to the find as a whole (substrate, manner of growth).
    ``sources`` are identifiers of the photo or the print that the look was made from.
    """

    id: str
    character: str
    evidence: Evidence
    fruitbody: str | None = None
    sure: Sureness = "sure"
    method: Method = "eye"
    observer: str | None = None
    device: str | None = None
    time: str | None = None
    sources: tuple[str, ...] = ()
    supersedes: str | None = None


class Fruitbody(msgspec.Struct, frozen=True, omit_defaults=True):
    """One specimen. ``stage`` is a stage, a distribution over stages, or None where it is not known."""

    id: str
    stage: str | dict[str, float] | None = None
    condition: tuple[str, ...] = ()
    seen: dict[str, Any] | None = None


class Place(msgspec.Struct, frozen=True, omit_defaults=True):
    """Where it grew: degrees, WGS 84 unless ``datum`` says otherwise, uncertainty in metres."""

    lat: float
    lon: float
    uncertainty_m: float | None = None
    datum: str = "WGS84"
    altitude_m: float | None = None
    name: str | None = None


class Photo(msgspec.Struct, frozen=True, omit_defaults=True):
    """A photo by the SHA-256 of its bytes; kept as evidence, never named from."""

    sha256: str
    role: str = "habit"


class Observer(msgspec.Struct, frozen=True, omit_defaults=True):
    """A person who looks: practice, eyes, nose, light and the tools at hand."""

    id: str
    practice: Literal["practised", "student", "beginner"] = "practised"
    colour_vision: bool = True
    smell: bool = True
    daylight: bool = True
    may_taste: bool = True
    tools: tuple[str, ...] | None = None
    blind_to: tuple[str, ...] = ()


class Find(msgspec.Struct, frozen=True, omit_defaults=True):
    """One gathering: place, date, fruitbodies, looks, photos."""

    id: str
    date: str
    fruitbodies: tuple[Fruitbody, ...]
    format: Literal["trug.find/1"] = "trug.find/1"
    region: str | None = None
    place: Place | None = None
    looks: tuple[Look, ...] = ()
    photos: tuple[Photo, ...] = ()
    observers: tuple[Observer, ...] = ()
    determiner: str | None = None
    seen: dict[str, Any] | None = None
    notes: str | None = None
    extra: dict[str, Any] = {}

    def day(self) -> datetime.date:
        """Return the date of the find."""
        return datetime.date.fromisoformat(self.date)


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of the find document."""
    (root,), parts = msgspec.json.schema_components([Find], ref_template="#/$defs/{name}")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "https://trug.example/schema/find-1.json",
        "title": "trug.find/1",
        **root,
        "$defs": parts,
    }
