"""An invented find that may go to the kitchen, and what every database of finds must obey."""

from __future__ import annotations

import datetime
import io
import tomllib
from importlib import resources
from typing import Any

from sqlalchemy import inspect, select, text
from sqlalchemy.orm import Session

from trug.characters import load_vocabulary
from trug.determine.find import Look
from trug.records.database import Database
from trug.records.find_files import read_find_text
from trug.records.gatherings import add_find, make_look, refresh
from trug.records.history import Unit, row_kinds
from trug.records.reasoning import Reasoner
from trug.records.tables import Event, FindRow, FruitbodyRow, Person

#: The demonstration of the command line: a cluster on willow, whose fruitbody a was examined most closely.
CLUSTER = (resources.files("trug.cli") / "cluster.toml").read_text("utf-8")
#: The name that its looks lead to, and one that no look of it fits.
VELVET, PARASOL = "flammulina-velutipes", "macrolepiota-procera"
DAY = str(tomllib.loads(CLUSTER)["date"])


def cluster_looks() -> list[Look]:
    """Return the looks at the fruitbody a of the demonstration, and those at the find as a whole."""
    find = read_find_text(CLUSTER, load_vocabulary(), datetime.date(2026, 11, 25)).find
    return [k for k in find.looks if k.fruitbody in (None, "a") and not k.id.startswith("find.tree-")]


LOOKS = cluster_looks()


def person(unit: Unit, name: str, practice: str = "practised") -> Person:
    return unit.make(Person(name=name, practice=practice))


def gather(unit: Unit, reasoner: Reasoner, observer: Person | None = None, **more: Any) -> tuple[FindRow, FruitbodyRow]:
    """Record a find of one fruitbody without any look."""
    fields = {"date": DAY, "region": "europe-north", "stage": "prime", **more}
    find = add_find(unit, reasoner, finder_id=observer.id if observer else None, **fields)
    body = unit.session.scalars(select(FruitbodyRow).where(FruitbodyRow.find_id == find.id)).first()
    assert body is not None
    return find, body


def look_closely(
    unit: Unit, reasoner: Reasoner, find: FindRow, body: FruitbodyRow, observer: Person, without: tuple[str, ...] = ()
) -> None:
    """Make every look of the demonstration at a fruitbody."""
    for look in LOOKS:
        if look.character not in without:
            make_look(
                unit,
                reasoner,
                find.id,
                character=look.character,
                answer=look.evidence,
                fruitbody_id=body.id if look.fruitbody else None,
                method=look.method,
                sources=look.sources,
                observer_id=observer.id,
                then_refresh=False,
            )
    refresh(unit, reasoner, find.id)


def present(session: Session) -> dict[str, dict[str, Any]]:
    """Return every row that has a history, by its id: all but what is worked out anew, and the time of making."""
    rows = {}
    for kind in row_kinds().values():
        columns = [c.key for c in inspect(kind).column_attrs if c.key not in {*kind.derived, "id", "created_at"}]
        for row in session.scalars(select(kind)):
            rows[row.id] = {name: getattr(row, name) for name in columns}
    return rows


def replayed(session: Session) -> dict[str, dict[str, Any]]:
    """Return the same, made from the events alone."""
    rows: dict[str, dict[str, Any]] = {}
    kinds = row_kinds()
    for event in session.scalars(select(Event).order_by(Event.clock)):
        if event.field == "":
            kind = kinds[event.entity]
            columns = [c.key for c in inspect(kind).column_attrs if c.key not in {*kind.derived, "id", "created_at"}]
            rows[event.entity_id] = {name: event.value.get(name) for name in columns}
        else:
            rows[event.entity_id][event.field] = event.value
    return rows


def photo(seed: int) -> bytes:
    """Return a small photo that no other seed gives."""
    from PIL import Image

    out = io.BytesIO()
    shade = seed.to_bytes(3, "big")
    Image.new("RGB", (16, 16), (shade[0], shade[1], shade[2])).save(out, "PNG")
    return out.getvalue()


def sound(database: Database) -> list[Any]:
    """Return what SQLite finds wrong with a database."""
    with database.reading() as session:
        told = session.execute(text("pragma integrity_check")).scalars().all()
        return [line for line in told if line != "ok"] + list(session.execute(text("pragma foreign_key_check")))
