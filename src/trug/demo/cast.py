"""People, places and classes of the demonstration, written into the records."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from trug.demo.scenario import INVENTED, PlacePlan, Scenario, day_in_season
from trug.place import Position
from trug.records.classes import Plan, add_member, save_class
from trug.records.history import Unit
from trug.records.people import Profile, save_person
from trug.records.places import PlaceAccount, save_place
from trug.records.reasoning import Reasoner
from trug.records.signing import confirm_taxon
from trug.records.tables import Class, Person, PlaceRow, Setting

__all__ = ["OWNER", "REGION", "Cast", "bring_together", "moment"]

#: Whose records they are.
OWNER = "teacher"
#: Where all of it would have been.
REGION = "europe-central"


@dataclass(frozen=True, slots=True)
class Cast:
    """Everybody and every place, by their keys."""

    people: dict[str, Person]
    places: dict[str, PlaceRow]
    plans: dict[str, PlacePlan]
    classes: dict[str, Class]


def moment(day: datetime.date, hour: int, minute: int = 0) -> str:
    """Return a time of a day as the records write it: UTC, ISO 8601 to the millisecond."""
    return f"{day.isoformat()}T{hour:02d}:{minute:02d}:00.000Z"


def bring_together(unit: Unit, reasoner: Reasoner, plan: Scenario, today: datetime.date) -> Cast:
    """Make people, confirmations, places and classes, as if on the day before the season began."""
    unit.now = moment(today - datetime.timedelta(days=370), 9)
    people = _people(unit, reasoner, plan)
    unit.person_id = people[OWNER].id
    for key, value in (("owner", people[OWNER].id), ("region", REGION), ("demonstration", True)):
        unit.session.merge(Setting(key=key, value=value))
    for confirmed in plan.confirmed:
        for taxon in confirmed.taxa:
            confirm_taxon(unit, reasoner, people[confirmed.person].id, taxon, people[confirmed.by].id, note=INVENTED)
    places = {p.key: _place(unit, reasoner, p) for p in plan.places}
    classes = _classes(unit, plan, people, places, today)
    return Cast(people, places, {p.key: p for p in plan.places}, classes)


def _people(unit: Unit, reasoner: Reasoner, plan: Scenario) -> dict[str, Person]:
    return {
        p.key: save_person(
            unit,
            reasoner,
            None,
            Profile(
                p.name,
                p.practice,
                p.role,
                p.colour_vision,
                p.smell,
                p.may_taste,
                p.may_taste,
                p.tools,
                p.contact,
                f"{p.notes} {INVENTED}",
            ),
        )
        for p in plan.people
    }


def _place(unit: Unit, reasoner: Reasoner, plan: PlacePlan) -> PlaceRow:
    account = PlaceAccount(
        name=plan.name,
        position=Position(plan.lat, plan.lon, 30.0),
        altitude_m=plan.altitude_m,
        region=REGION,
        wood=plan.wood,
        permission=plan.permission,
        hazards=plan.hazards,
        notes=INVENTED,
    )
    return save_place(unit, reasoner, None, account)


def _classes(
    unit: Unit, plan: Scenario, people: dict[str, Person], places: dict[str, PlaceRow], today: datetime.date
) -> dict[str, Class]:
    out: dict[str, Class] = {}
    for told in plan.classes:
        day = day_in_season(told.day, today).isoformat()
        notes = f"{told.notes} {INVENTED}"
        row = save_class(unit, None, Plan(told.name, day, places[told.place].id, people[told.teacher].id, notes))
        for person, role in told.members.items():
            add_member(unit, row.id, people[person].id, role)
        out[told.key] = row
    return out
