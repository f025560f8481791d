"""Open the database: SQLite in the platform's data folder, or any other by URL; bring its tables up to date."""

from __future__ import annotations

import contextlib
import datetime
import sqlite3
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, func, select
from sqlalchemy.exc import ArgumentError, DatabaseError, NoSuchModuleError
from sqlalchemy.orm import Session

from trug.errors import InputError
from trug.records.history import Unit
from trug.records.identifiers import HybridClock, new_id
from trug.records.photos.store import PhotoStore
from trug.records.tables import Event, Setting

__all__ = ["DATABASE_FILE", "PHOTO_FOLDER", "Database", "data_folder", "now_text", "url_of"]

DATABASE_FILE = "trug.sqlite3"
PHOTO_FOLDER = "photos"
#: How long a writer waits for another one [ms].
BUSY_MS = 10_000
#: The lock by which writers to one PostgreSQL database take turns; any number that no other program uses.
WRITERS_LOCK = 7_487_103_591


def data_folder() -> Path:
    """Return the folder of the platform in which a person's records lie; ``TRUG_DATA`` names another."""
    import os

    from platformdirs import user_data_path

    told = os.environ.get("TRUG_DATA")
    return Path(told).expanduser() if told else Path(user_data_path("trug", appauthor=False))


def url_of(folder: Path) -> str:
    """Return the URL of the SQLite database in a folder."""
    return f"sqlite:///{folder / DATABASE_FILE}"


def now_text() -> str:
    """Return the present time, UTC, ISO 8601 to the millisecond."""
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


class Database:
    """An open database with its photo store.

    ``reading`` and ``writing`` give units of work; a writing unit is one transaction: whole or not at all, and on
    the disk when it ends.
    """

    def __init__(self, engine: Engine, photos: PhotoStore, device: str) -> None:
        self.engine = engine
        self.photos = photos
        self.device = device
        self.clock = HybridClock(device)

    @staticmethod
    def open(folder: Path, url: str | None = None) -> Database:
        """Open the database of a folder, make it where there is none, and bring its tables up to date.

        Raises
        ------
        InputError
            The folder cannot be made or written, the file is no database, the URL leads nowhere, or the database
            comes from a newer program.
        """
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)  # it holds exact places: for its owner alone
        except OSError as error:
            raise InputError(f"cannot be made: {error.strerror}; name another with --data", file=str(folder)) from None
        engine = engine_of(url or url_of(folder))
        from trug.records.migrate import bring_up_to_date

        try:
            bring_up_to_date(engine)
            device = _device(engine)
        except DatabaseError as error:
            engine.dispose()
            if url is not None:
                raise InputError(f"the database does not answer ({error.orig}); see that it runs") from None
            raise InputError(
                f"cannot be opened as a database ({error.orig}); restore a backup with 'trug records restore'",
                file=str(folder / DATABASE_FILE),
            ) from None
        except InputError:
            engine.dispose()
            raise
        return Database(engine, PhotoStore(folder / PHOTO_FOLDER), device)

    @contextlib.contextmanager
    def reading(self) -> Iterator[Session]:
        """Give a session that only reads."""
        with Session(self.engine) as session:
            yield session

    @contextlib.contextmanager
    def writing(self, person_id: str | None = None) -> Iterator[Unit]:
        """Give a unit of work; it is committed at its end, and undone whole by an error."""
        with Session(self.engine, info={"writes": True}, expire_on_commit=False) as session, session.begin():
            session.connection(execution_options={"trug_writes": True})
            # Another process, or this one before its clock was set back, may have written later stamps.
            if latest := session.scalar(select(func.max(Event.clock))):
                self.clock.witness(latest)
            yield Unit(session, person_id, self.device, self.clock, now_text())

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()


def engine_of(url: str) -> Engine:
    """Return an engine for a URL; SQLite with write-ahead log, foreign keys and full synchronisation."""
    try:
        engine = create_engine(url, json_serializer=_to_json, json_deserializer=_from_json)
    except (ArgumentError, NoSuchModuleError):
        raise InputError("the URL of the database is not read; write it like postgresql+psycopg://host/name") from None
    except ModuleNotFoundError as error:
        raise InputError(f"this database needs the Python package {error.name}; install it first") from None
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    elif engine.dialect.name == "postgresql":
        event.listen(engine, "begin", _begin_postgresql)
    return engine


def _to_json(value: Any) -> str:
    import msgspec

    return msgspec.json.encode(value).decode()


def _from_json(text: str | bytes) -> Any:
    import msgspec

    return msgspec.json.decode(text)


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # transactions begin when we say so, below
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {BUSY_MS}")
    _log_ahead(cursor)
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.execute("PRAGMA cache_size = -2000")
    cursor.close()


def _log_ahead(cursor: Any) -> None:
    """Switch to the write-ahead log; SQLite does not wait by itself where two processes switch a new file at once."""
    give_up = time.monotonic() + BUSY_MS / 1000
    while True:
        try:
            cursor.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode != sqlite3.SQLITE_BUSY or time.monotonic() > give_up:
                raise
        time.sleep(0.02)


def _begin_sqlite(connection: Connection) -> None:
    # A writer takes its place at once, so that it cannot fail half way because another one wrote meanwhile.
    writes = connection.get_execution_options().get("trug_writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _begin_postgresql(connection: Connection) -> None:
    # One writer at a time, as in SQLite: what a release was read from cannot change before its batch is written.
    if connection.get_execution_options().get("trug_writes", False):
        connection.exec_driver_sql(f"select pg_advisory_xact_lock({WRITERS_LOCK})")


def _device(engine: Engine) -> str:
    query = select(Setting.value).where(Setting.key == "device")
    with Session(engine) as session:
        known = session.scalar(query)
    if known is None:
        with Session(engine) as session, session.begin():
            session.connection(execution_options={"trug_writes": True})
            known = session.scalar(query)  # another process may have been first
            if known is None:
                known = new_id()
                session.add(Setting(key="device", value=known))
    return str(known)
