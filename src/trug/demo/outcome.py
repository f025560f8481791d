"""What comes of an invented find: it is signed, taken to the kitchen, doubted, thrown into the bin."""

from __future__ import annotations

import datetime

from trug.demo.cast import moment
from trug.demo.gathering import Gathered, Season, morning_after
from trug.demo.scenario import INVENTED
from trug.records.bin import put_in_bin
from trug.records.kitchen import admission, take_to_kitchen
from trug.records.signing import sign, signatures_of, withdraw
from trug.records.tables import Batch

__all__ = ["follow"]


def follow(season: Season, found: Gathered) -> Batch | None:
    """Let happen to a find what its plan says; return the batch where the kitchen took any of it."""
    _sign(season, found)
    batch = _to_kitchen(season, found)
    _doubt(season, found)
    _throw_away(season, found)
    return batch


def _sign(season: Season, found: Gathered) -> None:
    plan, unit = found.plan, season.unit
    of_the_name = [
        b.id for b, p, seen in zip(found.bodies, plan.bodies, found.seen, strict=True) if seen and not p.taxon
    ]
    for n, key in enumerate(plan.signers):
        person = season.cast.people[key]
        unit.person_id, unit.now = person.id, morning_after(season, found.day, 30 + n)
        sign(
            unit,
            season.reasoner,
            found.row.id,
            taxon=plan.taxon,
            fruitbodies=of_the_name,
            person_id=person.id,
            in_hand=True,
            note=INVENTED,
        )


def _to_kitchen(season: Season, found: Gathered) -> Batch | None:
    """Take to the kitchen what it admits of a find; None where that is nothing."""
    plan, unit = found.plan, season.unit
    if not plan.kitchen:
        return None
    unit.now = morning_after(season, found.day, 50)
    admitted = [b.id for b in found.bodies if admission(unit.session, season.reasoner, b).allowed]
    if not admitted:
        return None
    notes = f"{plan.kitchen_note} {INVENTED}".strip()
    return take_to_kitchen(unit, season.reasoner, admitted, kind=plan.kitchen, notes=notes)


def _doubt(season: Season, found: Gathered) -> None:
    doubt, unit = found.plan.doubt, season.unit
    if doubt is None:
        return
    person = season.cast.people[doubt.by]
    later = min(found.day + datetime.timedelta(days=doubt.after_days), season.today - datetime.timedelta(days=1))
    unit.person_id, unit.now = person.id, moment(later, 22, 55)
    for signature in signatures_of(unit.session, found.row.id):
        if signature.person_id == person.id:
            withdraw(unit, season.reasoner, signature.id, doubt.why)


def _throw_away(season: Season, found: Gathered) -> None:
    unit = season.unit
    unit.now = moment(season.today - datetime.timedelta(days=1), 22, 58)
    if found.plan.bin:
        put_in_bin(unit, season.reasoner, "find", found.row.id)
    if found.plan.spare_photo:
        put_in_bin(unit, season.reasoner, "photo", list(found.photos.values())[-1].id)
