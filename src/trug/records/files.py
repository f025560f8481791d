"""Finds of the database as files, by the ending of their name."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import select

from trug.errors import InputError
from trug.loaded import Loaded
from trug.place import Policy
from trug.records.database import Database
from trug.records.exchange import (
    BadRow,
    Dataset,
    read_archive,
    read_waypoints,
    write_archive,
    write_csv,
    write_geojson,
)
from trug.records.inward import import_occurrences, import_waypoints
from trug.records.outward import occurrences, outward_ids
from trug.records.reasoning import Reasoner
from trug.records.tables import Person, Setting

__all__ = ["Taken", "read_file_into", "write_finds"]


@dataclass(frozen=True, slots=True)
class Taken:
    """What was taken over from a file, in one sentence, and what could not be."""

    sentence: str
    problems: tuple[str, ...]


def write_finds(
    database: Database,
    here: Loaded,
    path: Path,
    policy: Policy,
    today: datetime.date,
    progress: Callable[[int], None] | None = None,
) -> int:
    """Write every find into a Darwin Core Archive (.zip), a table (.csv) or GeoJSON; return how many.

    Raises
    ------
    InputError
        Another ending, or the file cannot be written.
    """
    with database.reading() as session:
        ids = outward_ids(session)
        owner = session.get(Person, session.scalar(select(Setting.value).where(Setting.key == "owner")) or "")
        name = owner.name if owner is not None else "unnamed"
        leaving = occurrences(session, here, ids, policy)
        if path.suffix.lower() == ".zip":
            dataset = Dataset(f"Finds of {name}", name, today.isoformat(), identifier=database.device)
            return write_archive(path, leaving, dataset=dataset, progress=progress)
        if path.suffix.lower() == ".csv":
            return write_csv(path, leaving, progress=progress)
        if path.suffix.lower() == ".geojson":
            return write_geojson(path, leaving, progress=progress)
    raise InputError("finds are written as .zip (Darwin Core Archive), .csv or .geojson", file=str(path))


def read_file_into(
    database: Database,
    reasoner: Reasoner,
    path: Path,
    progress: Callable[[int], None] | None = None,
    person_id: str | None = None,
) -> Taken:
    """Take over the finds of a Darwin Core file, or the waypoints of a GPX file as places.

    Raises
    ------
    InputError
        The file is none of these, or damaged.
    """
    if path.suffix.lower() == ".gpx":
        points = read_waypoints(path)
        with database.writing(person_id) as unit:
            region = unit.session.scalar(select(Setting.value).where(Setting.key == "region"))
            made = import_waypoints(unit, points, region)
        here = len(points) - len(made)
        return Taken(f"{len(made)} places taken over, {here} were here already", ())
    bad: list[BadRow] = []
    done = import_occurrences(database, reasoner, read_archive(path, on_bad=bad.append), person_id, progress=progress)
    problems = [f"{b.file} line {b.line}: {b.why}" for b in bad]
    sentence = f"{done.finds} finds and {done.looks} looks taken over, {done.known} were here already"
    return Taken(sentence, (*problems, *done.problems))
