"""Nothing is ever overwritten: the events alone give the rows as they stand now."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from kept_finds import gather, person, present, replayed
from sqlalchemy import func, select

from trug.determine.find import Find
from trug.determine.record import FruitbodyResult
from trug.errors import InputError, UnknownWordError
from trug.loaded import loaded
from trug.records import identifiers
from trug.records.bin import bring_back, put_in_bin
from trug.records.database import Database
from trug.records.gatherings import add_fruitbody, correct_find, correct_fruitbody, make_look, state_name
from trug.records.history import Unit, history_of, noun, row_kinds
from trug.records.reasoning import Reasoner
from trug.records.tables import Event, FindRow, FruitbodyRow, LookRow, PlaceRow, StatedName

TEXT = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=8)
CHOICE = st.integers(0, 10_000)


class Quick(Reasoner):
    """Gives every fruitbody the same result: what is reasoned is not what is tested here."""

    def __init__(self) -> None:
        super().__init__(loaded())
        find = Find(id="x", date="2026-10-04", fruitbodies=())
        self.result: FruitbodyResult | None = None
        self.empty = find

    def _result(self, find: Find, body: str, signed: str | None) -> FruitbodyResult:
        if self.result is None:
            self.result = super()._result(find, body, signed)
        return msgspec.structs.replace(self.result, fruitbody=body)


QUICK = Quick()


class Edits(RuleBasedStateMachine):
    """Two people work on a database; a model keeps what they wrote, an archive every event as it was first seen."""

    folder: Path

    @initialize()
    def begin(self) -> None:
        self.home = Path(tempfile.mkdtemp())
        shutil.copytree(self.folder, self.home / "data")
        self.database = Database.open(self.home / "data")
        self.seen: dict[str, Any] = {}
        self.model: dict[str, dict[str, Any]] = {}
        with self.database.writing() as unit:
            self.people = [person(unit, "Ada").id, person(unit, "Bea").id]
            find, _ = gather(unit, QUICK)
            self.finds = [find.id]
        self.who: list[str | None] = [None] * self._count()

    def teardown(self) -> None:
        if hasattr(self, "database"):
            self.database.close()
            shutil.rmtree(self.home)

    def _count(self) -> int:
        with self.database.reading() as session:
            return session.scalars(select(func.count()).select_from(Event)).one()

    def _do(self, chosen: int, work: Any) -> None:
        """Do some work as one of the two, and note whose the new events must be; what is refused leaves none."""
        who = self.people[chosen % 2]
        try:
            with self.database.writing(who) as unit:
                work(unit)
        except InputError:
            assert self._count() == len(self.who)
        self.who += [who] * (self._count() - len(self.who))

    def _any(self, unit: Unit, kind: Any, chosen: int, *, deleted: bool = False) -> Any:
        rows = unit.session.scalars(select(kind).order_by(kind.id)).all()
        rows = [r for r in rows if (r.deleted_at is not None) == deleted]
        if not rows:
            raise UnknownWordError("there is none")
        return rows[chosen % len(rows)]

    @rule(who=CHOICE, notes=TEXT, fruitbodies=st.integers(1, 3))
    def make_a_find(self, who: int, notes: str, fruitbodies: int) -> None:
        self._do(who, lambda u: gather(u, QUICK, notes=notes, fruitbodies=fruitbodies))

    @rule(who=CHOICE, name=TEXT, lat=st.none() | st.floats(-90, 90), grid=st.sampled_from([0.1, 0.5]))
    def make_a_place(self, who: int, name: str, lat: float | None, grid: float) -> None:
        self._do(who, lambda u: u.make(PlaceRow(name=name, lat=lat, lon=lat, grid_deg=grid)))

    @rule(who=CHOICE, at=CHOICE, notes=TEXT, region=st.sampled_from(["europe-north", None]), place=st.none() | CHOICE)
    def correct_a_find(self, who: int, at: int, notes: str, region: str | None, place: int | None) -> None:
        def work(unit: Unit) -> None:
            where = None if place is None else self._any(unit, PlaceRow, place).id
            find = self._any(unit, FindRow, at)
            correct_find(unit, QUICK, find.id, notes=notes, region=region, place_id=where)

        self._do(who, work)

    @rule(
        who=CHOICE,
        at=CHOICE,
        stage=st.sampled_from(["button", "prime", None, {"prime": 0.5, "past": 0.5}]),
        condition=st.lists(st.sampled_from(["frosted", "dried"]), unique=True),
    )
    def correct_a_fruitbody(self, who: int, at: int, stage: Any, condition: list[str]) -> None:
        self._do(
            who,
            lambda u: correct_fruitbody(u, QUICK, self._any(u, FruitbodyRow, at).id, stage=stage, condition=condition),
        )

    @rule(who=CHOICE, at=CHOICE)
    def add_a_fruitbody(self, who: int, at: int) -> None:
        self._do(who, lambda u: add_fruitbody(u, QUICK, self._any(u, FindRow, at).id))

    @rule(
        who=CHOICE,
        at=CHOICE,
        seen=st.sampled_from(
            [("spore_print", "white"), ("spore_print", "rust-brown"), ("cap_width", 42.5), ("substrate", "litter")]
        ),
        sure=st.sampled_from(["sure", "unsure"]),
    )
    def look(self, who: int, at: int, seen: tuple[str, Any], sure: str) -> None:
        def work(unit: Unit) -> None:
            body = self._any(unit, FruitbodyRow, at)
            make_look(unit, QUICK, body.find_id, character=seen[0], answer=seen[1], fruitbody_id=body.id, sure=sure)

        self._do(who, work)

    @rule(who=CHOICE, at=CHOICE, name=TEXT)
    def state_a_name(self, who: int, at: int, name: str) -> None:
        self._do(who, lambda u: state_name(u, QUICK, self._any(u, FindRow, at).id, name))

    @rule(who=CHOICE, at=CHOICE, kind=st.sampled_from([FindRow, FruitbodyRow, LookRow, PlaceRow, StatedName]))
    def delete(self, who: int, at: int, kind: Any) -> None:
        self._do(who, lambda u: put_in_bin(u, QUICK, noun(kind), self._any(u, kind, at).id))

    @rule(who=CHOICE, at=CHOICE, kind=st.sampled_from([FindRow, FruitbodyRow, LookRow, PlaceRow, StatedName]))
    def take_from_the_bin(self, who: int, at: int, kind: Any) -> None:
        self._do(who, lambda u: bring_back(u, QUICK, noun(kind), self._any(u, kind, at, deleted=True).id))

    @rule(back_s=st.integers(-100_000, 100))
    def set_the_wall_clock(self, back_s: int) -> None:
        """The next process starts with another idea of the time."""
        self.database.close()
        self.patch = pytest.MonkeyPatch()
        now = time.time_ns() + back_s * 1_000_000_000
        self.patch.setattr(identifiers.time, "time_ns", lambda: now)
        try:
            self.database = Database.open(self.home / "data")
            self._do(0, lambda u: u.make(PlaceRow(name="made at a wrong time")))
        finally:
            self.patch.undo()

    @precondition(lambda self: hasattr(self, "database"))
    @invariant()
    def rows_follow_from_the_events(self) -> None:
        with self.database.reading() as session:
            assert replayed(session) == present(session)

    @precondition(lambda self: hasattr(self, "database"))
    @invariant()
    def events_stay_as_they_were_and_tell_who_when_and_what_before(self) -> None:
        with self.database.reading() as session:
            # In the order in which they were written, which the clock must follow.
            events = session.scalars(select(Event).order_by(Event.clock)).all()
            told = {e.id: (e.entity_id, e.field, e.value, e.person_id, e.at, e.clock, tuple(e.parents)) for e in events}
            assert {i: told[i] for i in self.seen} == self.seen
            assert list(told)[: len(self.seen)] == list(self.seen)
            self.seen = told
            assert [e.person_id for e in events] == self.who
            newest: dict[tuple[str, str], str] = {}
            for e in events:
                before = newest.get((e.entity_id, e.field)) or newest.get((e.entity_id, ""))
                assert e.parents == ([before] if before else [])
                newest[e.entity_id, e.field] = e.id
            state: dict[tuple[str, str], Any] = {}
            for change in history_of(session, {e.entity_id for e in events}):
                assert change.at.endswith("Z")
                if change.field == "":
                    assert change.before is None
                    state |= {(change.entity_id, k): v for k, v in change.after.items()}
                else:
                    assert change.before == state.get((change.entity_id, change.field))
                    assert change.before != change.after
                    state[change.entity_id, change.field] = change.after


def test_the_events_give_the_rows_whatever_two_people_do(empty_folder: Path) -> None:
    class Here(Edits):
        folder = empty_folder

    run_state_machine_as_test(
        Here,
        settings=settings(
            max_examples=8, stateful_step_count=20, deadline=None, suppress_health_check=list(HealthCheck)
        ),
    )


def test_an_edit_tells_who_when_before_and_after(database: Database) -> None:
    with database.writing() as unit:
        ada = person(unit, "Ada")
        place = unit.make(PlaceRow(name="mill"))
    with database.writing(ada.id) as unit:
        unit.edit(unit.get(PlaceRow, place.id), name="old mill", wood="birch")

    with database.reading() as session:
        changes = history_of(session, [place.id])
    assert [(c.person_id, c.field, c.before, c.after) for c in changes[1:]] == [
        (ada.id, "name", "mill", "old mill"),
        (ada.id, "wood", "", "birch"),
    ]
    assert all(len(c.at) == len("2026-10-04T10:11:12.123Z") for c in changes)


def test_an_edit_that_changes_nothing_leaves_no_event(database: Database) -> None:
    with database.writing() as unit:
        place = unit.make(PlaceRow(name="mill"))
        assert not unit.edit(place, name="mill", wood="")
        assert [c.field for c in history_of(unit.session, [place.id])] == [""]


def test_an_error_undoes_the_whole_unit(database: Database) -> None:
    with pytest.raises(InputError), database.writing() as unit:
        unit.get(FindRow, unit.make(PlaceRow(name="mill")).id)

    with database.reading() as session:
        assert session.scalars(select(PlaceRow.id)).all() == session.scalars(select(Event.id)).all() == []


def test_two_processes_that_write_in_turn_leave_one_order(database: Database, empty_folder: Path) -> None:
    """Each has a clock of its own; a stamp of the second must not fall before one of the first."""
    other = Database.open(Path(str(database.engine.url.database)).parent)
    with database.writing() as unit:
        place = unit.make(PlaceRow(name="0"))
    for n in range(1, 30):
        with (database, other)[n % 2].writing() as unit:
            unit.edit(unit.get(PlaceRow, place.id), name=str(n))
    other.close()

    with database.reading() as session:
        assert [c.after for c in history_of(session, [place.id])[1:]] == [str(n) for n in range(1, 30)]


def test_many_processes_may_open_a_new_folder_at_once(tmp_path: Path) -> None:
    loaded()
    children = []
    for _ in range(4):
        child = os.fork()
        if child == 0:
            try:
                Database.open(tmp_path / "new").close()
                os._exit(0)
            except BaseException:
                os._exit(1)
        children.append(child)

    assert [os.waitpid(child, 0)[1] for child in children] == [0] * 4
    database = Database.open(tmp_path / "new")
    assert database.device
    database.close()


def test_every_kind_of_row_has_a_word_of_its_own() -> None:
    assert len(row_kinds()) == len({k.__tablename__ for k in row_kinds().values()})
    assert {"find", "look", "person", "class", "batch", "fruitbody", "expert_reply"} <= set(row_kinds())
