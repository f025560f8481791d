"""Bring the tables of a database up to the form that this program reads."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine, inspect, text

from trug.errors import InputError

if TYPE_CHECKING:
    from alembic.config import Config

__all__ = ["NEWEST", "bring_up_to_date", "schema_version"]

#: The newest migration. A test holds it against the folder, so that alembic need not be loaded to know it.
NEWEST = "0001"


def schema_version(connection: Connection) -> str | None:
    """Return the migration at which a database stands, None where it is empty."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.execute(text("select version_num from alembic_version")).scalar()
    return None if found is None else str(found)


def bring_up_to_date(engine: Engine) -> None:
    """Run the migrations that a database lacks; nothing where it is current.

    Raises
    ------
    InputError
        The database comes from a newer program.
    """
    with engine.connect() as connection:
        version = schema_version(connection)
    if version == NEWEST:
        return
    if version is not None and version > NEWEST:
        raise InputError(f"the database comes from a newer trug (form {version}, this one reads {NEWEST}); update trug")
    from alembic import command

    with engine.connect().execution_options(trug_writes=True) as connection, connection.begin():
        config = configuration()
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def configuration() -> Config:
    """Return the settings with which alembic finds the migrations."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    return config
