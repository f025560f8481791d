"""One invented find: found, photographed, looked at and printed."""

from __future__ import annotations

import datetime
import random
from collections.abc import Iterator
from dataclasses import dataclass, field

from trug.demo.cast import Cast, moment
from trug.demo.looking import Answer, Observing, Seen, look_at, where_it_grew
from trug.demo.pictures import picture
from trug.demo.scenario import INVENTED, BodyPlan, FindPlan
from trug.records.database import Database
from trug.records.documents import fruitbodies_of
from trug.records.gatherings import add_find, add_fruitbody, make_look, make_print, refresh, state_name
from trug.records.history import Unit
from trug.records.pictures import add_photo
from trug.records.reasoning import Reasoner
from trug.records.tables import FindRow, FruitbodyRow, Person, PhotoRow

__all__ = ["Gathered", "Season", "gather", "morning_after"]

#: Forms whose print and whose cut can be drawn.
_PRINT_DRAWN = frozenset(("cap-and-stipe", "trumpet", "shelf", "bracket"))
_SECTION_DRAWN = frozenset(("cap-and-stipe", "trumpet", "morel", "saddle", "ball", "egg", "star"))
#: Forms that are not laid on paper for a print.
_PRINTLESS = frozenset(("morel", "saddle", "ball", "egg", "star"))
#: Stages that give a print.
_PRINTING = ("young", "prime", "past")
#: How far from the middle of its place a find lies at most: 130 m to the north, 80 m to the east [degrees].
_ASTRAY_DEG = 0.0012


@dataclass(slots=True)
class Season:
    """What the finds are written into and drawn from."""

    database: Database
    unit: Unit
    reasoner: Reasoner
    cast: Cast
    today: datetime.date
    seed: int


@dataclass(slots=True)
class Gathered:
    """A find with its fruitbodies, and what was seen of each."""

    plan: FindPlan
    day: datetime.date
    row: FindRow
    bodies: list[FruitbodyRow]
    grew: dict[str, str]
    seen: list[dict[str, Seen]] = field(default_factory=list)
    photos: dict[tuple[str, int], PhotoRow] = field(default_factory=dict)

    def main(self) -> int:
        """Return which fruitbody is shown first: the first in its prime."""
        return next((n for n, b in enumerate(self.plan.bodies) if b.stage == "prime"), 0)


def gather(season: Season, plan: FindPlan, day: datetime.date) -> Gathered:
    """Record a find with its photos, looks and prints, and work out what follows from them."""
    unit, reasoner = season.unit, season.reasoner
    seed = season.seed if plan.draw is None else -plan.draw
    rng = random.Random(f"{seed}/{plan.taxon}/{plan.place}/{plan.day or plan.class_ or plan.days_ago}")
    unit.now = moment(day, rng.randrange(8, 13), rng.randrange(60))
    finder = season.cast.people[plan.finder]
    unit.person_id = finder.id
    found = _found(season, plan, day, rng)
    for place, answer in found.grew.items():
        make_look(unit, reasoner, found.row.id, character=place, answer=answer, then_refresh=False)
    for n, body in enumerate(plan.bodies):
        found.seen.append(_seen(season, plan, body, n, rng))
    _photograph(season, found, rng)
    for n in range(len(plan.bodies)):
        _write_down(season, found, n)
    for n in range(len(plan.bodies)):
        _lay_print(season, found, n, rng)
    _look_again(season, found)
    unit.person_id = finder.id
    if plan.stated:
        state_name(unit, reasoner, found.row.id, plan.stated, stated_by=finder.name, remarks=INVENTED)
    refresh(unit, reasoner, found.row.id)
    return found


def morning_after(season: Season, day: datetime.date, minute: int = 0) -> str:
    """Return eight in the morning after a day, or ten in its evening where that morning has not come yet."""
    after = day + datetime.timedelta(days=1)
    return moment(after, 8, minute) if after < season.today else moment(day, 22, minute)


def _found(season: Season, plan: FindPlan, day: datetime.date, rng: random.Random) -> Gathered:
    unit, reasoner, place = season.unit, season.reasoner, season.cast.plans[plan.place]
    first, *others = plan.bodies
    row = add_find(
        unit,
        reasoner,
        date=day.isoformat(),
        stage=first.stage,
        place_id=season.cast.places[plan.place].id,
        lat=round(place.lat + rng.uniform(-1, 1) * _ASTRAY_DEG, 5),
        lon=round(place.lon + rng.uniform(-1, 1) * _ASTRAY_DEG, 5),
        uncertainty_m=12.0,
        class_id=season.cast.classes[plan.class_].id if plan.class_ else None,
        fungarium=plan.fungarium,
        voucher_at=plan.voucher_at,
        notes=f"{plan.notes} {INVENTED}",
    )
    for body in others:
        add_fruitbody(unit, reasoner, row.id, stage=body.stage, condition=body.condition, then_refresh=False)
    grew: dict[str, str] = {}
    if plan.taxon and plan.care != "none":
        treatment = reasoner.here.book.treatments[plan.taxon]
        grew = where_it_grew(treatment, place.trees, place.ground, reasoner.here.vocabulary, rng)
    return Gathered(plan, day, row, list(fruitbodies_of(unit.session, row.id)), grew)


def _seen(season: Season, plan: FindPlan, body: BodyPlan, n: int, rng: random.Random) -> dict[str, Seen]:
    """Return what finder and examiner see of a fruitbody."""
    taxon, care = body.taxon or plan.taxon, body.care or plan.care
    if not taxon or care == "none":
        return {}
    here = season.reasoner.here
    finder, examiner = _observers(season, plan)
    return look_at(
        here.book.treatments[taxon],
        body.stage,
        care,
        (_observing(finder), _observing(examiner)),
        here.vocabulary,
        rng,
        plan.seen if n == 0 else None,
    )


def _observers(season: Season, plan: FindPlan) -> tuple[Person, Person]:
    people = season.cast.people
    return people[plan.finder], people[plan.examiner or plan.finder]


def _observing(person: Person) -> Observing:
    return Observing(person.practice, frozenset(person.tools or ()), person.colour_vision, person.smell)


def _write_down(season: Season, found: Gathered, n: int) -> None:
    """Make the looks at a fruitbody: the finder's in the wood, the examiner's in the evening."""
    unit = season.unit
    finder, examiner = _observers(season, found.plan)
    wood, evening = unit.now, moment(found.day, 18, n)
    for character, seen in found.seen[n].items():
        if character == "spore_print":
            continue
        observer, unit.now = (examiner, evening) if seen.at_table else (finder, wood)
        make_look(
            unit,
            season.reasoner,
            found.row.id,
            character=character,
            answer=seen.answer,
            fruitbody_id=found.bodies[n].id,
            sure=seen.sure,
            observer_id=observer.id,
            then_refresh=False,
        )
    unit.now = wood


def _lay_print(season: Season, found: Gathered, n: int, rng: random.Random) -> None:
    """Lay a fruitbody on paper overnight, where it was looked at so closely and is of an age to print."""
    plan, seen = found.plan, found.seen[n]
    if not _prints(found, n) or not (n == found.main() or plan.bodies[n].taxon or plan.signers):
        return
    unit = season.unit
    unit.now = morning_after(season, found.day, n)
    photo = found.photos.get(("print", n))
    # Who signs lays it again until it is thick.
    deposit = "thin" if not plan.signers and rng.random() < 0.2 else "thick"
    make_print(
        unit,
        season.reasoner,
        found.bodies[n].id,
        colour=str(seen["spore_print"].answer),
        observer_id=_observers(season, plan)[1].id,
        paper="both",
        started=moment(found.day, 18, 30),
        read_at=unit.now,
        deposit=deposit,
        kept_at=plan.print_kept if n == found.main() else "",
        photo_id=photo.id if photo else None,
        notes=INVENTED,
    )


def _prints(found: Gathered, n: int) -> bool:
    """Whether a fruitbody is of a form and an age to be laid on paper, and its print was read."""
    return (
        "spore_print" in found.seen[n] and found.plan.bodies[n].stage in _PRINTING and _form(found, n) not in _PRINTLESS
    )


def _look_again(season: Season, found: Gathered) -> None:
    """Make the looks of those who looked after the finder."""
    season.unit.now = moment(found.day, 21)
    for look in found.plan.more:
        season.unit.person_id = season.cast.people[look.by].id
        make_look(
            season.unit,
            season.reasoner,
            found.row.id,
            character=look.character,
            answer=look.answer,
            fruitbody_id=found.bodies[0].id,
            blind=look.blind,
            then_refresh=False,
        )


def _photograph(season: Season, found: Gathered, rng: random.Random) -> None:
    plan = found.plan
    taken = datetime.datetime.combine(found.day, datetime.time(rng.randrange(9, 15), rng.randrange(60)))
    zone = datetime.timezone(datetime.timedelta(hours=2 if 4 <= found.day.month <= 10 else 1))
    position = (found.row.lat or 0.0, found.row.lon or 0.0)
    for view, n in _views(found):
        near = ("habit", n) in found.photos
        shape = _shape(found, n) | ({"growth_manner": "single"} if near else {})
        data = picture(shape, rng.randrange(2**31), view, taken=taken.replace(tzinfo=zone), position=position)
        photo = add_photo(
            season.database,
            season.unit,
            found.row.id,
            data,
            fruitbody_id=found.bodies[n].id if view != "habit" or near or n != found.main() else None,
            role=view,
            caption=f"{plan.bodies[n].stage}, {view}. {INVENTED}",
        )
        found.photos.setdefault((view, n), photo)
        taken += datetime.timedelta(minutes=3)


def _views(found: Gathered) -> Iterator[tuple[str, int]]:
    """Yield two to four views: of the main fruitbody, and of one that is of another kind or an egg."""
    plan, main = found.plan, found.main()
    yield "habit", main
    if plan.care == "none":
        yield "underside", main
    elif plan.care in ("table", "microscope") and _form(found, main) in _PRINT_DRAWN and _prints(found, main):
        yield "print", main
    else:
        yield _second_view(found, main), main
    others = [n for n, b in enumerate(plan.bodies) if n != main and (b.taxon or b.stage == "egg")]
    for n in others[:1]:
        yield ("section" if plan.bodies[n].stage == "egg" else "habit"), n


def _second_view(found: Gathered, n: int) -> str:
    """Return what shows most beside the habit; the habit again, from near, where neither cut nor underside is drawn."""
    form, seen = _form(found, n), found.seen[n]
    if form in ("shelf", "bracket", "crust"):
        return "underside"
    jelly = "egg_section" in seen and seen["egg_section"].answer == "jelly-outline"
    return "section" if form in _SECTION_DRAWN and not jelly else "habit"


def _form(found: Gathered, n: int) -> str:
    seen = found.seen[n]
    return str(seen["fruitbody_form"].answer) if "fruitbody_form" in seen else "cap-and-stipe"


def _shape(found: Gathered, n: int) -> dict[str, Answer]:
    """Return the states that a picture is drawn from."""
    shape: dict[str, Answer] = {code: seen.answer for code, seen in found.seen[n].items()}
    return shape | found.grew | {"stage": found.plan.bodies[n].stage}
