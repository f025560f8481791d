"""Every change is kept: a unit of work changes rows and writes down what it changed, in one transaction."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, TypeVar

from sqlalchemy import inspect, select
from sqlalchemy.orm import Session

from trug.errors import UnknownWordError
from trug.records.identifiers import HybridClock, new_id
from trug.records.tables import Base, Event, Recorded

__all__ = ["KEPT_DAYS", "Change", "Unit", "expired", "history_of", "noun", "row_kinds"]

#: How long what was deleted can be brought back [days].
KEPT_DAYS = 30

Row = TypeVar("Row", bound=Recorded)


@dataclass(frozen=True, slots=True)
class Change:
    """One step of a history: when, who, which field, from what to what."""

    at: str
    person_id: str | None
    entity: str
    entity_id: str
    field: str
    before: Any
    after: Any


class Unit:
    """One transaction by one person: makes, edits, deletes and brings back rows, with their history."""

    def __init__(self, session: Session, person_id: str | None, device: str, clock: HybridClock, now: str) -> None:
        self.session = session
        self.person_id = person_id
        self.device = device
        self.clock = clock
        self.now = now

    def get(self, kind: type[Row], row_id: str | None, *, deleted: bool = False) -> Row:
        """Return a row.

        Raises
        ------
        UnknownWordError
            There is none, or it lies in the bin.
        """
        row = self.session.get(kind, row_id) if row_id else None
        if row is None or (row.deleted_at is not None and not deleted):
            raise UnknownWordError(f"there is no such {noun(kind)}; it may have been deleted (see the bin)")
        return row

    def make(self, row: Row) -> Row:
        """Add a new row; id and time of making are set where they are missing."""
        row.id = getattr(row, "id", None) or new_id()
        row.created_at = getattr(row, "created_at", None) or self.now
        self.session.add(row)
        self.session.flush()
        values = {c.key: getattr(row, c.key) for c in inspect(type(row)).column_attrs if c.key not in row.derived}
        self._note(row, "", {k: v for k, v in values.items() if v is not None and k not in ("id", "created_at")}, [])
        return row

    def edit(self, row: Recorded, **changes: Any) -> bool:
        """Change fields of a row; return whether anything changed."""
        changed = {k: v for k, v in changes.items() if getattr(row, k) != v}
        for field, value in changed.items():
            if field not in row.derived:
                self._note(row, field, value, self._latest(row.id, field))
            setattr(row, field, value)
        return bool(changed)

    def delete(self, row: Recorded) -> None:
        """Put a row into the bin."""
        if row.deleted_at is None:
            self.edit(row, deleted_at=self.now)

    def bring_back(self, row: Recorded) -> None:
        """Take a row out of the bin."""
        self.edit(row, deleted_at=None)

    def _latest(self, row_id: str, field: str) -> list[str]:
        """Return the last event of a field, or that of the making."""
        query = select(Event.id).where(Event.entity_id == row_id, Event.field.in_((field, "")))
        last = self.session.scalars(query.order_by(Event.clock.desc()).limit(1)).first()
        return [last] if last else []

    def _note(self, row: Recorded, field: str, value: Any, parents: list[str]) -> None:
        self.session.add(
            Event(
                id=new_id(),
                entity=noun(type(row)),
                entity_id=row.id,
                field=field,
                value=value,
                person_id=self.person_id,
                device=self.device,
                clock=self.clock.tick(),
                at=self.now,
                parents=parents,
            )
        )
        self.session.flush()


def noun(kind: type[Any]) -> str:
    """Return what a row of a table is called in the history."""
    table = str(kind.__tablename__)
    return {"people": "person", "classes": "class", "batches": "batch", "fruitbodies": "fruitbody"}.get(
        table, table.removesuffix("ies") + "y" if table.endswith("ies") else table.removesuffix("s")
    )


def history_of(session: Session, ids: Iterable[str]) -> list[Change]:
    """Return the changes of some things, oldest first, each with the value before it."""
    events = session.scalars(select(Event).where(Event.entity_id.in_(list(ids))).order_by(Event.clock)).all()
    now: dict[tuple[str, str], Any] = {}
    out = []
    for e in events:
        if e.field == "":
            for field, value in (e.value or {}).items():
                now[e.entity_id, field] = value
            out.append(Change(e.at, e.person_id, e.entity, e.entity_id, "", None, e.value))
            continue
        out.append(Change(e.at, e.person_id, e.entity, e.entity_id, e.field, now.get((e.entity_id, e.field)), e.value))
        now[e.entity_id, e.field] = e.value
    return out


def row_kinds() -> dict[str, type[Any]]:
    """Return the tables with history by what their rows are called."""
    return {noun(m.class_): m.class_ for m in Base.registry.mappers if issubclass(m.class_, Recorded)}


def expired(now: str) -> str:
    """Return the time before which a deletion can no longer be undone."""
    then = datetime.datetime.fromisoformat(now) - datetime.timedelta(days=KEPT_DAYS)
    return then.isoformat(timespec="milliseconds").replace("+00:00", "Z")
