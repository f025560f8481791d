"""The same records on a PostgreSQL server, started here for the tests where one is installed."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from kept_finds import VELVET, gather, look_closely, person, photo, present, replayed
from sqlalchemy import inspect, select, text

from trug.errors import InputError
from trug.records.backup import back_up
from trug.records.bin import bring_back, deleted_things, erase_expired, put_in_bin
from trug.records.database import Database
from trug.records.gatherings import delete_look, make_look, state_name
from trug.records.inward import import_occurrences
from trug.records.kitchen import take_to_kitchen
from trug.records.listing import list_finds
from trug.records.migrate import NEWEST, bring_up_to_date, configuration, schema_version
from trug.records.outward import occurrences, outward_ids
from trug.records.pictures import add_photo
from trug.records.reasoning import Reasoner
from trug.records.signing import confirm_taxon, sign, signatures_of
from trug.records.tables import Base, Batch, FindRow, FindWords, LookRow, PlaceRow

pytest.importorskip("psycopg", reason="psycopg is not installed; it speaks with PostgreSQL")


def programs() -> Path | None:
    """Return the folder of the newest server programs; None where no server is installed."""
    found = shutil.which("initdb")
    known = [Path(found).parent] if found else []
    known += sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda p: int(p.parent.name), reverse=True)
    return next((p for p in known if (p / "initdb").exists() and (p / "pg_ctl").exists()), None)


def as_server(*words: str) -> None:
    """Run a program as a person whom PostgreSQL accepts: it refuses to run as root."""
    if os.geteuid() == 0:
        words = ("runuser", "-u", "postgres", "--", *words)
    done = subprocess.run(words, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, cwd="/", timeout=60)
    assert done.returncode == 0, done.stderr


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    """Start a server of our own that only a socket in its folder leads to; give the URL of an empty database."""
    folder_of = programs()
    if folder_of is None:
        pytest.skip("no PostgreSQL server is installed (initdb, pg_ctl)")
    if os.geteuid() == 0 and shutil.which("runuser") is None:
        pytest.skip("PostgreSQL does not run as root, and there is no runuser to start it as another")
    home = Path(tempfile.mkdtemp(prefix="trug-pg-", dir="/tmp"))
    try:
        if os.geteuid() == 0:
            shutil.chown(home, "postgres")
        as_server(
            str(folder_of / "initdb"), "-D", f"{home}/data", "-U", "trug", "-A", "trust", "-E", "UTF8", "--no-sync"
        )
        asked = f"-c listen_addresses='' -c unix_socket_directories={home} -c fsync=off"
        as_server(
            str(folder_of / "pg_ctl"), "-D", f"{home}/data", "-l", f"{home}/log", "-w", "-t", "30", "-o", asked, "start"
        )
        try:
            yield f"postgresql+psycopg://trug@/postgres?host={home}"
        finally:
            as_server(str(folder_of / "pg_ctl"), "-D", f"{home}/data", "-m", "immediate", "-w", "stop")
    finally:
        shutil.rmtree(home, ignore_errors=True)


@pytest.fixture
def kept(server: str, tmp_path: Path) -> Iterator[Database]:
    """An empty database on the server."""
    database = Database.open(tmp_path / "data", server)
    yield database
    with database.engine.begin() as connection:
        connection.execute(text("drop schema public cascade"))
        connection.execute(text("create schema public"))
    database.close()


def test_the_migrations_make_just_the_tables_of_the_program(kept: Database) -> None:
    with kept.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        differences = compare_metadata(context, Base.metadata)
        # That index is only made where rows of an index may be long.
        assert [d for d in differences if getattr(d[1], "name", "") != "find_words_by_day"] == []
        assert schema_version(connection) == NEWEST
    bring_up_to_date(kept.engine)


def test_the_way_back_leads_to_nothing(kept: Database) -> None:
    with kept.engine.connect() as connection, connection.begin():
        config = configuration()
        config.attributes["connection"] = connection
        command.downgrade(config, "base")
    with kept.engine.connect() as connection:
        assert inspect(connection).get_table_names() == ["alembic_version"]


def test_finds_are_looked_at_signed_taken_doubted_and_listed(kept: Database, reasoner: Reasoner) -> None:
    with kept.writing() as unit:
        ada, bea = person(unit, "Ada Moss"), person(unit, "Bea Fern")
        find, body = gather(unit, reasoner, ada, notes="under 40 % birch, box_7")
        look_closely(unit, reasoner, find, body, ada)
        confirm_taxon(unit, reasoner, ada.id, VELVET, bea.id)
        sign(unit, reasoner, find.id, taxon=VELVET, fruitbodies=[body.id], person_id=ada.id, in_hand=True)
        batch = take_to_kitchen(unit, reasoner, [body.id])
        add_photo(kept, unit, find.id, photo(1))
        state_name(unit, reasoner, find.id, "Velvet foot")
    with kept.writing(bea.id) as unit:
        look = make_look(unit, reasoner, find.id, character="ring", answer="narrow", fruitbody_id=body.id)
        assert signatures_of(unit.session, find.id) == []
        assert unit.get(Batch, batch.id).flagged_at is not None
        delete_look(unit, reasoner, look.id)
        unit.make(FindRow(date="2025-01-01", number="2025-00x9"))
        assert [gather(unit, reasoner, date="2025-02-02")[0].number for _ in "ab"] == ["2025-0002", "2025-0003"]

    with kept.reading() as session:
        assert replayed(session) == present(session)
        pages, after = [], None
        while not pages or after:
            page = list_finds(session, count=1, after=after)
            pages.append([line.id for line in page.finds])
            after = page.after
        assert [len(p) for p in pages] == [1] * 4
        assert len({i for p in pages for i in p}) == 4
        for words, found in (("40 % BIRCH", 1), ("box_7", 1), ("boxa7", 0), ("moss velvet", 1)):
            assert len(list_finds(session, words=words).finds) == found


def test_finds_come_in_and_go_and_are_erased(
    signed: SimpleNamespace, kept: Database, reasoner: Reasoner, tmp_path: Path
) -> None:
    with signed.database.reading() as session:
        found = list(occurrences(session, reasoner.here, outward_ids(session)))
    assert import_occurrences(kept, reasoner, found, None).problems == []
    assert import_occurrences(kept, reasoner, found, None).known == 1
    with kept.writing() as unit:
        assert len(unit.session.scalars(select(LookRow.id)).all()) == len(found[0].measurements)
        put_in_bin(unit, reasoner, "find", signed.find)
        bring_back(unit, reasoner, "find", signed.find)
        put_in_bin(unit, reasoner, "find", signed.find)
        assert [d.id for d in deleted_things(unit.session)] == [signed.find]
        assert replayed(unit.session) == present(unit.session)
    assert erase_expired(kept, "2999-01-01T00:00:00.000Z") == 1
    with kept.reading() as session:
        assert [session.scalars(select(k)).all() for k in (FindRow, LookRow, FindWords)] == [[], [], []]


def test_writers_take_turns(kept: Database, reasoner: Reasoner) -> None:
    """A fruitbody cannot be taken while a look that would void its signature is being written."""
    made: list[Any] = []

    def write(database: Database) -> None:
        for _ in range(12):
            with database.writing() as unit:
                find, _ = gather(unit, reasoner)
                made.append((find.number, unit.clock.tick()))

    others = [Database.open(kept.photos.folder.parent, kept.engine.url.render_as_string()) for _ in range(3)]
    threads = [threading.Thread(target=write, args=(d,)) for d in others]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for database in others:
        database.close()

    numbers = sorted(n for n, _ in made)
    assert [int(n[5:]) for n in numbers] == list(range(1, 37))


def test_an_error_undoes_the_whole_unit(kept: Database) -> None:
    with pytest.raises(InputError), kept.writing() as unit:
        unit.get(FindRow, unit.make(PlaceRow(name="mill")).id)
    with kept.reading() as session:
        assert present(session) == {}


def test_a_server_that_does_not_answer_and_a_backup_of_one_are_refused_with_a_sentence(
    kept: Database, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match="does not answer"):
        Database.open(tmp_path / "other", f"postgresql+psycopg://trug@/postgres?host={tmp_path}")
    with pytest.raises(InputError, match="pg_dump"):
        back_up(kept, tmp_path / "b.zip")
