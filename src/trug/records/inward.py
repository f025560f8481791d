"""Finds from elsewhere: occurrences of a Darwin Core Archive, and waypoints, become rows of the database.

Rows go in by the thousand, in one transaction: an import is there whole or not at all.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from types import NoneType
from typing import Any, cast

import msgspec
from sqlalchemy import Table, insert, select
from sqlalchemy.orm import Session

from trug.determine.find import METHODS, SURE
from trug.errors import InputError
from trug.loaded import Loaded
from trug.records.database import Database
from trug.records.exchange import Identification, Measurement, Occurrence, Waypoint, is_iso_date
from trug.records.gatherings import check_body, evidence_of, refresh, search_words
from trug.records.history import Unit
from trug.records.identifiers import new_id
from trug.records.reasoning import Reasoner
from trug.records.tables import (
    Event,
    FindRow,
    FindWords,
    FruitbodyRow,
    LookRow,
    Person,
    PlaceRow,
    StatedName,
)

__all__ = ["Imported", "import_occurrences", "import_waypoints"]

#: Finds that are written at once.
CHUNK = 2000
UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


@dataclass
class Imported:
    """What an import did: finds written, finds that were here already, looks, and what could not be taken over."""

    finds: int = 0
    known: int = 0
    looks: int = 0
    problems: list[str] = field(default_factory=list)


@dataclass
class _Rows:
    """Rows that wait to be written."""

    finds: list[dict[str, Any]] = field(default_factory=list)
    words: list[dict[str, Any]] = field(default_factory=list)
    stated: list[dict[str, Any]] = field(default_factory=list)
    bodies: list[dict[str, Any]] = field(default_factory=list)
    looks: list[dict[str, Any]] = field(default_factory=list)
    events: list[dict[str, Any]] = field(default_factory=list)

    def write(self, session: Session) -> None:
        for table, rows in (
            (FindRow, self.finds),
            (FindWords, self.words),
            (StatedName, self.stated),
            (FruitbodyRow, self.bodies),
            (LookRow, self.looks),
            (Event, self.events),
        ):
            if rows:
                session.execute(insert(cast(Table, table.__table__)), rows)
                rows.clear()


def import_occurrences(
    database: Database,
    reasoner: Reasoner,
    occurrences: Iterable[Occurrence],
    person_id: str | None,
    *,
    progress: Callable[[int], None] | None = None,
) -> Imported:
    """Write occurrences as finds; those that are here already, by their identifier, are left as they are.

    Names come in as stated by whoever identified them, never as signed. Looks come in where the measurements name
    characters of our vocabulary. Terms without a place of their own are kept with the find.
    """
    done = Imported()
    with database.writing(person_id) as unit:
        known = _known(unit.session)
        maker = _Maker(unit, reasoner.here, done)
        seen = 0
        for occurrence in occurrences:
            seen += 1
            identifier = occurrence.occurrence_id.strip()
            if identifier and identifier in known:
                done.known += 1
                continue
            if identifier:
                known.add(identifier)
            maker.add(occurrence)
            if len(maker.rows.finds) >= CHUNK:
                maker.rows.write(unit.session)
                if progress is not None:
                    progress(seen)
        maker.rows.write(unit.session)
        for find_id in maker.with_looks:
            refresh(unit, reasoner, find_id)
        if progress is not None:
            progress(seen)
    return done


def _known(session: Session) -> set[str]:
    """Return the identifiers under which finds are here, deleted ones too: what was deleted does not come back."""
    known = set(session.scalars(select(FindRow.id)))
    return known | set(session.scalars(select(FindRow.origin).where(FindRow.origin != "")))


class _Maker:
    """Turns occurrences into rows."""

    def __init__(self, unit: Unit, here: Loaded, done: Imported) -> None:
        self.unit, self.here, self.done = unit, here, done
        self.rows = _Rows()
        self.with_looks: list[str] = []
        session = unit.session
        self.look_ids = set(session.scalars(select(LookRow.id)))
        self.people = {name: i for i, name in session.execute(select(Person.id, Person.name))}
        self.taxa = {n.lower(): t for t in here.book.treatments.values() for n in (t.name, *t.synonyms)}
        self.defaults = {
            kind: {
                c.key: c.default.arg for c in kind.__table__.columns if c.default is not None and c.default.is_scalar
            }
            for kind in (FindRow, StatedName, FruitbodyRow, LookRow)
        }

    def add(self, o: Occurrence) -> None:
        """Add the rows of one occurrence."""
        identifier = o.occurrence_id.strip()
        find_id = identifier if UUID.fullmatch(identifier) else new_id()
        date = o.event_date.strip().split("/")[0]
        if not is_iso_date(date):
            self.problem(o, f"the date {o.event_date!r} is not read; the find is filed without one")
            date = ""
        position = o.position
        row = {
            "date": date[:32],
            "number": o.record_number[:40],
            "lat": position.lat if position else None,
            "lon": position.lon if position else None,
            "uncertainty_m": position.uncertainty_m if position else None,
            "altitude_m": _metres(o.minimum_elevation_m),
            "finder_id": self.people.get(o.recorded_by),
            "fungarium": o.catalog_number[:80],
            "voucher_at": o.disposition,
            "notes": o.occurrence_remarks,
            "locality": o.locality,
            "origin": "" if find_id == identifier else identifier,
            "extra": _kept(o),
            "name": o.scientific_name,
            "standing": "stated" if o.scientific_name else "unnamed",
        }
        self._row(FindRow, self.rows.finds, find_id, row, "find")
        names = list(self._names(o))
        for stated in names:
            self._row(StatedName, self.rows.stated, new_id(), {"find_id": find_id, **stated}, "stated_name")
        told = [o.scientific_name, o.vernacular_name, *(n["name"] for n in names), o.record_number, o.catalog_number]
        treatment = self.taxa.get(o.scientific_name.lower())
        told += [o.occurrence_remarks, o.locality, o.recorded_by, o.event_date, treatment.common if treatment else ""]
        words = search_words(told)
        self.rows.words.append({"find_id": find_id, "date": row["date"], "words": words})
        characters = self.here.vocabulary.characters
        looks = [m for m in o.measurements if m.measurement_type in characters]
        looks = [m for m in looks if characters[m.measurement_type].role != "prior"]
        if looks:
            self._looks(o, find_id, looks)
        self.done.finds += 1

    def problem(self, o: Occurrence, why: str) -> None:
        """Note what could not be taken over."""
        self.done.problems.append(f"{o.occurrence_id or o.scientific_name or 'a find'}: {why}")

    def _row(self, kind: type[Any], rows: list[dict[str, Any]], row_id: str, values: dict[str, Any], noun: str) -> None:
        now = self.unit.now
        filled = {**self.defaults[kind], **values}
        rows.append({**filled, "id": row_id, "created_at": now, "deleted_at": None})
        self.rows.events.append(
            {
                "id": new_id(),
                "entity": noun,
                "entity_id": row_id,
                "field": "",
                "value": {k: v for k, v in filled.items() if v is not None and k not in kind.derived},
                "person_id": self.unit.person_id,
                "device": self.unit.device,
                "clock": self.unit.clock.tick(),
                "at": now,
                "parents": [],
            }
        )

    def _names(self, o: Occurrence) -> Iterator[dict[str, Any]]:
        """Yield every name of an occurrence, the present one last."""
        present = Identification(
            scientific_name=o.scientific_name,
            identification_qualifier=o.identification_qualifier,
            identified_by=o.identified_by,
            date_identified=o.date_identified,
            identification_remarks=o.identification_remarks,
            identification_verification_status=o.identification_verification_status,
        )
        others = [
            i for i in o.identifications if i.scientific_name != o.scientific_name or o.identified_by != i.identified_by
        ]
        for i in (*others, present):
            if i.scientific_name:
                treatment = self.taxa.get(i.scientific_name.lower())
                status = i.identification_verification_status
                yield {
                    "name": i.scientific_name,
                    "taxon": treatment.code if treatment else "",
                    "qualifier": i.identification_qualifier[:32],
                    "stated_by": i.identified_by,
                    "stated_on": i.date_identified[:64],
                    "remarks": " ".join(filter(None, [i.identification_remarks, f"({status})" if status else ""])),
                }

    def _looks(self, o: Occurrence, find_id: str, measurements: list[Measurement]) -> None:
        bodies: dict[str, str] = {}
        told = [_json(m.measurement_remarks) for m in measurements]
        ids = [self._look_id(m) for m in measurements]
        # Looks name each other by numbers of their own, which hold whatever becomes of the identifiers.
        by_number = {t["number"]: i for t, i in zip(told, ids, strict=True) if isinstance(t.get("number"), int)}
        taken = 0
        for m, said, row_id in zip(measurements, told, ids, strict=True):
            whole = self.here.vocabulary.characters[m.measurement_type].of_find
            try:
                label = None if whole else _label(said, o)
                body = {} if whole else self._body(said)
                values = self._look(m, said)
            except InputError as error:
                self.problem(o, f"a look is not taken over: {error.message}")
                continue
            if label is not None and label not in bodies:
                bodies[label] = new_id()
                row = body | {"find_id": find_id, "label": label}
                self._row(FruitbodyRow, self.rows.bodies, bodies[label], row, "fruitbody")
            corrected = said.get("supersedes")
            values |= {
                "find_id": find_id,
                "fruitbody_id": None if label is None else bodies[label],
                "supersedes": by_number.get(corrected) if isinstance(corrected, int) else None,
            }
            self._row(LookRow, self.rows.looks, row_id, values, "look")
            taken += 1
        if taken:
            self.with_looks.append(find_id)
            self.done.looks += taken

    def _look_id(self, m: Measurement) -> str:
        """Return the identifier of a look, a new one where its own is none or taken."""
        free = UUID.fullmatch(m.measurement_id) and m.measurement_id not in self.look_ids
        row_id = m.measurement_id if free else new_id()
        self.look_ids.add(row_id)
        return row_id

    def _body(self, told: dict[str, Any]) -> dict[str, Any]:
        """Return what is told of a fruitbody; InputError for a stage or condition that we do not know."""
        stage, condition = told.get("stage") or None, told.get("condition") or []
        words: list[Any] = condition if isinstance(condition, list) else [None]
        if not isinstance(stage, (str, dict, NoneType)) or not all(isinstance(word, str) for word in words):
            raise InputError("stage or condition of its fruitbody is not read")
        check_body(self.here.vocabulary, stage, words)
        return {"stage": stage, "condition": words}

    def _look(self, m: Measurement, told: dict[str, Any]) -> dict[str, Any]:
        """Return the row of a look; InputError where the value is no answer of our vocabulary.

        A look of which nobody told how sure it was rules nothing out.
        """
        character = self.here.vocabulary.characters[m.measurement_type]
        if isinstance(told.get("evidence"), dict):
            evidence = evidence_of(told["evidence"], character)
        elif character.measured or m.measurement_value.lower().startswith("not seen"):
            evidence = evidence_of(m.measurement_value.strip(), character)
        else:
            evidence = evidence_of([s.strip() for s in m.measurement_value.split("|")], character)
        return {
            "character": character.code,
            "evidence": msgspec.to_builtins(evidence),
            "sure": told.get("sure") if told.get("sure") in SURE else "unsure",
            "method": m.measurement_method if m.measurement_method in METHODS else "eye",
            "observer_id": self.people.get(m.measurement_determined_by),
            "device": self.unit.device,
            "time": m.measurement_determined_date[:32] or None,
            "sources": [],
            "blind": bool(told.get("blind")),
        }


def _label(told: dict[str, Any], o: Occurrence) -> str:
    """Return at which fruitbody a look was made; InputError where that is not told and there are several."""
    label = told.get("fruitbody")
    if isinstance(label, str) and label.strip():
        return label.strip()[:16]
    if o.individual_count.strip() in ("", "1"):
        return "a"
    raise InputError("it does not say at which of the fruitbodies it was made (looks are never pooled)")


def _kept(o: Occurrence) -> dict[str, Any]:
    """Return what has no column of its own: terms under their Darwin Core names, and what is told of photos."""
    told = {
        "basisOfRecord": o.basis_of_record,
        "recordedBy": o.recorded_by,
        "habitat": o.habitat,
        "associatedTaxa": o.associated_taxa,
        "substrate": o.substrate,
        "stateProvince": o.state_province,
        "countryCode": o.country_code,
        "license": o.license,
        "rightsHolder": o.rights_holder,
        "datasetName": o.dataset_name,
        "informationWithheld": o.information_withheld,
        "dataGeneralizations": o.data_generalizations,
        **o.extra,
    }
    terms = {k: v for k, v in told.items() if v}
    media = [{k: v for k, v in msgspec.structs.asdict(m).items() if v} for m in o.media]
    return ({"terms": terms} if terms else {}) | ({"media": media} if media else {})


def _metres(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if -500 <= value <= 9000 else None


def _json(text: str) -> dict[str, Any]:
    try:
        told = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    return told if isinstance(told, dict) else {}


def import_waypoints(unit: Unit, waypoints: Iterable[Waypoint], region: str | None) -> list[PlaceRow]:
    """Make a place of every waypoint that is not one yet, by name and position."""
    query = select(PlaceRow.name, PlaceRow.lat, PlaceRow.lon).where(PlaceRow.deleted_at.is_(None))
    known = {(r[0], r[1], r[2]) for r in unit.session.execute(query)}
    made = []
    for n, point in enumerate(waypoints, 1):
        name = point.name.strip() or f"waypoint {n}"
        if (name, point.position.lat, point.position.lon) in known:
            continue
        known.add((name, point.position.lat, point.position.lon))
        row = PlaceRow(
            name=name,
            lat=point.position.lat,
            lon=point.position.lon,
            uncertainty_m=point.position.uncertainty_m,
            altitude_m=point.elevation_m,
            region=region,
            notes=point.description,
        )
        made.append(unit.make(row))
    return made
