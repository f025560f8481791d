"""The migrations make just the tables of the program, and an old program leaves a newer database alone."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, text

from trug.errors import InputError
from trug.records import migrate
from trug.records.database import DATABASE_FILE, Database, engine_of, url_of
from trug.records.migrate import NEWEST, bring_up_to_date, configuration, schema_version
from trug.records.tables import Base

SCRIPTS = Path(migrate.__file__).parent / "migrations" / "versions"


def test_an_empty_database_is_upgraded_to_just_the_tables_of_the_program(tmp_path: Path) -> None:
    engine = engine_of(url_of(tmp_path))
    bring_up_to_date(engine)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []
        assert schema_version(connection) == NEWEST
        tables = set(inspect(connection).get_table_names())
        indexes = {i["name"] for t in tables for i in inspect(connection).get_indexes(t)}
    assert tables == set(Base.metadata.tables) | {"alembic_version"}
    assert indexes == {i.name for t in Base.metadata.tables.values() for i in t.indexes}
    engine.dispose()


def test_the_way_back_leads_to_nothing_and_forth_again(tmp_path: Path) -> None:
    engine = engine_of(url_of(tmp_path))
    bring_up_to_date(engine)
    with engine.connect().execution_options(trug_writes=True) as connection, connection.begin():
        config = configuration()
        config.attributes["connection"] = connection
        command.downgrade(config, "base")
    with engine.connect() as connection:
        assert inspect(connection).get_table_names() == ["alembic_version"]
        assert schema_version(connection) is None
    bring_up_to_date(engine)
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), Base.metadata) == []
    engine.dispose()


def test_the_newest_migration_is_the_one_that_the_program_knows() -> None:
    scripts = ScriptDirectory.from_config(configuration())
    numbers = sorted(f.name[:4] for f in SCRIPTS.glob("[0-9]*.py"))

    assert scripts.get_heads() == [NEWEST]
    assert numbers[-1] == NEWEST
    assert numbers == [f"{n:04d}" for n in range(1, len(numbers) + 1)]
    assert all(re.fullmatch("[0-9]{4}", s.revision) for s in scripts.walk_revisions())


@pytest.mark.parametrize("version", ["0002", "9999", "a-later-name"])
def test_a_newer_database_is_refused_with_a_sentence_and_not_changed(
    database: Database, tmp_path: Path, version: str
) -> None:
    folder = Path(str(database.engine.url.database)).parent
    with database.engine.begin() as connection:
        connection.execute(text("update alembic_version set version_num = :v"), {"v": version})
    with pytest.raises(InputError, match=r"newer trug.*update trug"):
        Database.open(folder)
    with database.engine.connect() as connection:
        assert schema_version(connection) == version


def test_what_is_no_database_is_refused_with_a_sentence(tmp_path: Path) -> None:
    (tmp_path / DATABASE_FILE).write_bytes(b"These are recipes, not records. " * 200)
    with pytest.raises(InputError, match=r"cannot be opened as a database.*restore a backup"):
        Database.open(tmp_path)
    (tmp_path / "file").write_text("x")
    with pytest.raises(InputError, match="--data"):
        Database.open(tmp_path / "file")


@pytest.mark.parametrize("url", ["recipes", "nosuch://x", "postgresql+nosuchdriver://x"])
def test_a_url_that_leads_nowhere_is_refused_with_a_sentence(tmp_path: Path, url: str) -> None:
    with pytest.raises(InputError, match="URL of the database is not read"):
        Database.open(tmp_path, url)


def test_opening_a_current_database_does_not_load_what_migrates_it(database: Database) -> None:
    folder = Path(str(database.engine.url.database)).parent
    code = (
        "import sys; from pathlib import Path; from trug.records.database import Database;"
        f"Database.open(Path({str(folder)!r})).close(); print('alembic' in sys.modules)"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "False"


def test_every_connection_writes_to_the_disk_and_holds_references(database: Database) -> None:
    with database.engine.connect() as connection:
        asked = {p: connection.execute(text(f"pragma {p}")).scalar() for p in ("journal_mode", "foreign_keys")}
        level = connection.execute(text("pragma synchronous")).scalar()
    # sqlite.org/pragma.html#pragma_synchronous: FULL (2) keeps a commit through a loss of power in WAL mode.
    assert (asked, level) == ({"journal_mode": "wal", "foreign_keys": 1}, 2)
