"""Fill an empty database with an invented season: finds, places, people, photos, and what came of them."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from trug.demo.cast import bring_together
from trug.demo.expert import ask_expert
from trug.demo.gathering import Season, gather
from trug.demo.outcome import follow
from trug.demo.scenario import scenario
from trug.errors import InputError
from trug.records.database import Database
from trug.records.packets import Render
from trug.records.reasoning import Reasoner
from trug.records.tables import FindRow, FruitbodyRow, LookRow, Person, PhotoRow, PlaceRow

__all__ = ["Filled", "Progress", "fill"]

#: Told how many finds are written and how many there will be.
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Filled:
    """What was filled in; ``refused`` are the numbers of finds that the kitchen did not take."""

    people: int
    places: int
    finds: int
    fruitbodies: int
    looks: int
    photos: int
    batches: int
    refused: tuple[str, ...]


def fill(
    database: Database,
    reasoner: Reasoner,
    *,
    progress: Progress | None = None,
    seed: int = 1,
    today: datetime.date | None = None,
    render: Render | None = None,
) -> Filled:
    """Fill an empty database with the invented season of the year before ``today``, whole or not at all.

    The same seed, day and book give the same season; only identifiers differ.

    Parameters
    ----------
    today : date, optional
        The day on which the season is looked back at; the present one if left out.
    render : callable, optional
        Makes the page of the packet to the expert. Without it no packet is made.

    Raises
    ------
    InputError
        Somebody, some place or some find is there already.
    TrugError
        The extra ``photo`` is not installed.
    """
    day = today or datetime.date.today()
    plan = scenario()
    batches, refused = 0, []
    with database.writing() as unit:
        _check_empty(unit.session)
        season = Season(database, unit, reasoner, bring_together(unit, reasoner, plan, day), day, seed)
        dated = plan.in_order(day)
        for done, (found_on, told) in enumerate(dated, 1):
            found = gather(season, told, found_on)
            batch = follow(season, found)
            batches += batch is not None
            if told.kitchen and batch is None:
                refused.append(found.row.number)
            if told.stranger and render is not None:
                ask_expert(season, found, render)
            if progress is not None:
                progress(done, len(dated))
        return _counted(unit.session, batches, tuple(refused))


def _check_empty(session: Session) -> None:
    if any(session.scalar(select(kind.id).limit(1)) is not None for kind in (Person, PlaceRow, FindRow)):
        raise InputError(
            "there are records here already, and the demonstration would mix with them; "
            "give it an empty data folder of its own with --data"
        )


def _counted(session: Session, batches: int, refused: tuple[str, ...]) -> Filled:
    def count(kind: type[Person | PlaceRow | FindRow | FruitbodyRow | LookRow | PhotoRow]) -> int:
        return session.scalar(select(func.count()).select_from(kind).where(kind.deleted_at.is_(None))) or 0

    return Filled(
        people=count(Person),
        places=count(PlaceRow),
        finds=count(FindRow),
        fruitbodies=count(FruitbodyRow),
        looks=count(LookRow),
        photos=count(PhotoRow),
        batches=batches,
        refused=refused,
    )
