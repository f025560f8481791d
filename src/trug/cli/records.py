"""``trug records``: backup, restore, and finds as files in and out."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from trug.cli.extras import needing
from trug.cli.output import fail, refuse_existing
from trug.cli.progress import counting, progressing
from trug.cli.serve import DATA
from trug.errors import InputError

if TYPE_CHECKING:
    from trug.records.database import Database

__all__ = ["FORMATS", "app"]

app = typer.Typer(no_args_is_help=True, help="Your records: backup and restore, finds as files in and out.")

#: File endings that finds can be written as.
FORMATS = (".zip", ".csv", ".geojson")


@contextlib.contextmanager
def _opened(data: Path | None) -> Iterator[Database]:
    with needing("web"):
        from trug.records.database import DATABASE_FILE, Database, data_folder
    folder = data or data_folder()
    if not (folder / DATABASE_FILE).exists():
        raise InputError("holds no records yet; begin with 'trug serve'", file=str(folder))
    database = Database.open(folder)
    try:
        yield database
    finally:
        database.close()


@app.command("backup")
def backup(
    file: Annotated[Path, typer.Argument(help="The file to write, such as trug-backup.zip.")],
    data: Annotated[Path | None, DATA] = None,
) -> None:
    """Write everything, photos too, into one file, even while the app runs. It holds your exact places.

    Example:

      trug records backup trug-2026-11-25.zip
    """
    refuse_existing(file)
    with _opened(data) as database, progressing("photos") as tell:
        from trug.records.backup import back_up

        made = back_up(database, file, tell)
    size = made.bytes / 1e6
    typer.echo(f"{file}: {made.finds} finds, {made.photos} photos, {size:.1f} MB; it holds exact places, keep it yours")
    for sha256 in made.missing:
        fail(f"photo {sha256[:12]} is missing from the photo folder", "note")


@app.command("restore")
def restore_command(
    file: Annotated[Path, typer.Argument(help="A backup.")],
    data: Annotated[Path | None, DATA] = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Set aside the records that are there; they are not erased.")
    ] = False,
) -> None:
    """Bring everything back from a backup. Stop the app first.

    Example:

      trug records restore trug-2026-11-25.zip
    """
    with needing("web"):
        from trug.records.backup import restore
        from trug.records.database import data_folder
    folder = data or data_folder()
    with progressing("parts") as tell:
        made = restore(file, folder, replace=replace, progress=tell)
    typer.echo(f"{folder}: {made.finds} finds, {made.photos} photos, as they stood at {made.made_at}")


@app.command("export")
def export(
    file: Annotated[Path, typer.Argument(help="Ends in .zip (Darwin Core Archive), .csv or .geojson.")],
    exact: Annotated[
        bool, typer.Option("--exact", help="Write exact places. Only for people who may know them.")
    ] = False,
    data: Annotated[Path | None, DATA] = None,
) -> None:
    """Write all finds for others: places generalised to a grid, unless you say --exact.

    Examples:

      trug records export finds.zip

      trug records export finds.csv
    """
    if file.suffix.lower() not in FORMATS:
        raise typer.BadParameter(f"the name must end in {', '.join(FORMATS)}", param_hint="FILE")
    refuse_existing(file)
    with _opened(data) as database, counting("finds") as tell:
        from trug.loaded import loaded
        from trug.place import Policy
        from trug.records.files import write_finds

        policy = Policy.EXACT if exact else Policy.GENERALISED
        count = write_finds(database, loaded(), file, policy, datetime.date.today(), tell)
    places = "EXACT places" if exact else "places generalised"
    typer.echo(f"{file}: {count} finds, {places}")


@app.command("import")
def import_command(
    file: Annotated[Path, typer.Argument(help="A Darwin Core Archive (.zip), a table (.csv), or waypoints (.gpx).")],
    data: Annotated[Path | None, DATA] = None,
) -> None:
    """Take over finds from a Darwin Core file, or places from a receiver's waypoints. What is here already stays.

    Examples:

      trug records import others.zip

      trug records import walk.gpx
    """
    with _opened(data) as database, counting("finds") as tell:
        from trug.loaded import loaded
        from trug.records.files import read_file_into
        from trug.records.reasoning import Reasoner

        done = read_file_into(database, Reasoner(loaded()), file, tell)
    typer.echo(done.sentence)
    for problem in done.problems[:20]:
        fail(problem, "note")
    if len(done.problems) > 20:
        fail(f"and {len(done.problems) - 20} more", "note")
