"""The invented season as it is written in ``season.toml``: who, where, when, and what came of it."""

from __future__ import annotations

import datetime
import functools
import tomllib
from importlib import resources
from typing import Literal

import msgspec

__all__ = [
    "INVENTED",
    "BodyPlan",
    "Care",
    "ClassPlan",
    "ConfirmedPlan",
    "Doubt",
    "FindPlan",
    "PersonPlan",
    "PlacePlan",
    "Scenario",
    "SecondLook",
    "day_in_season",
    "scenario",
]

#: Ends every note of the demonstration.
INVENTED = "Invented for the demonstration."

#: How closely a fruitbody is looked at: not at all, in passing, in the field, at the table, under the microscope.
Care = Literal["none", "glance", "field", "table", "microscope"]


class PersonPlan(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Somebody who never was."""

    key: str
    name: str
    practice: str
    role: str
    notes: str
    tools: tuple[str, ...]
    colour_vision: bool = True
    smell: bool = True
    may_taste: bool = False
    contact: str = ""


class ConfirmedPlan(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The taxa that one person has confirmed another to know."""

    person: str
    by: str
    taxa: tuple[str, ...]


class PlacePlan(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A place; ``trees`` and ``ground`` are the states of ``tree`` and ``substrate`` that can be met there."""

    key: str
    name: str
    lat: float
    lon: float
    altitude_m: float
    trees: tuple[str, ...]
    ground: tuple[str, ...]
    wood: str
    permission: str
    hazards: str


class ClassPlan(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A class; ``members`` maps people to their roles."""

    key: str
    name: str
    day: str
    place: str
    teacher: str
    members: dict[str, str]
    notes: str


class BodyPlan(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One fruitbody; taxon and care are those of the find where they are not told."""

    stage: str = "prime"
    taxon: str = ""
    care: Care | None = None
    condition: tuple[str, ...] = ()


class SecondLook(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A look by somebody else at the first fruitbody; ``blind`` where they had not seen the first answer."""

    by: str
    character: str
    answer: str
    blind: bool


class Doubt(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A signature withdrawn some days later."""

    by: str
    after_days: int
    why: str


class FindPlan(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One find and what comes of it.

    The day is ``day`` (month and day), that of ``class_``, or ``days_ago``. ``examiner`` makes the looks at the table,
    the finder all others. ``seen`` overrules what is drawn for the first fruitbody. ``stranger`` marks what no
    treatment describes: ``taxon`` is only what it was made from. ``draw`` fixes what is seen, whatever the seed.
    """

    place: str
    finder: str
    care: Care
    notes: str
    key: str = ""
    taxon: str = ""
    day: str = ""
    days_ago: int | None = None
    class_: str = msgspec.field(default="", name="class")
    examiner: str = ""
    bodies: tuple[BodyPlan, ...] = (BodyPlan(),)
    seen: dict[str, str] = {}
    more: tuple[SecondLook, ...] = ()
    draw: int | None = None
    stranger: bool = False
    stated: str = ""
    fungarium: str = ""
    voucher_at: str = ""
    print_kept: str = ""
    signers: tuple[str, ...] = ()
    kitchen: Literal["", "larder", "stillroom"] = ""
    kitchen_note: str = ""
    doubt: Doubt | None = None
    bin: bool = False
    spare_photo: bool = False


class Scenario(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The whole season."""

    people: tuple[PersonPlan, ...]
    confirmed: tuple[ConfirmedPlan, ...]
    places: tuple[PlacePlan, ...]
    classes: tuple[ClassPlan, ...]
    finds: tuple[FindPlan, ...]

    def in_order(self, today: datetime.date) -> list[tuple[datetime.date, FindPlan]]:
        """Return the finds with their days, the earliest first; all lie within the year before ``today``."""
        held = {c.key: c.day for c in self.classes}
        dated = [(_day_of(f, held, today), f) for f in self.finds]
        return sorted(dated, key=lambda pair: pair[0])


@functools.cache
def scenario() -> Scenario:
    """Return the season of ``season.toml``."""
    text = (resources.files("trug.demo") / "season.toml").read_text("utf-8")
    return msgspec.convert(tomllib.loads(text), Scenario)


def day_in_season(month_day: str, today: datetime.date) -> datetime.date:
    """Return the last day before ``today`` that bears a month and a day such as ``10-04``."""
    month, day = map(int, month_day.split("-"))
    then = datetime.date(today.year, month, day)
    return then if then < today else then.replace(year=today.year - 1)


def _day_of(plan: FindPlan, held: dict[str, str], today: datetime.date) -> datetime.date:
    if plan.days_ago is not None:
        return today - datetime.timedelta(days=plan.days_ago)
    return day_in_season(held[plan.class_] if plan.class_ else plan.day, today)
