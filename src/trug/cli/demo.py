"""``trug demo``: a season of invented finds in the app; ``trug example``: one find worked through in the terminal."""

from __future__ import annotations

import datetime
import tempfile
from importlib import resources
from pathlib import Path
from typing import Annotated

import typer

from trug.cli.extras import needing
from trug.cli.output import console, put_json, refuse_existing, write_whole
from trug.cli.progress import progressing
from trug.cli.serve import PORT, run_app

__all__ = ["register"]

STORY = (
    "A demonstration with invented data. On a December afternoon a class in a Danish river park takes one cluster "
    "from a fallen willow. Everyone calls it velvet shank. The teacher has each fruitbody looked at singly: 'a' gave a "
    "print and was looked at closely, 'b' is a fine specimen that nobody printed, and 'c' stood in the same cluster."
)


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("demo")(demo)
    app.command("example")(example)


def demo(
    port: Annotated[int, typer.Option("--port", help="The port on this computer.", min=0, max=65535)] = PORT,
    data: Annotated[
        Path | None,
        typer.Option("--data", metavar="FOLDER", help="Keep the invented records here.", show_default=False),
    ] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Do not open a browser.")] = False,
) -> None:
    """Fill a season with invented finds, places, people and photos, and open the app.

    Your own records are not touched: without --data the invented ones lie in a folder of their own and are gone
    when the app stops.

    Examples:

      trug demo

      trug demo --no-browser
    """
    with tempfile.TemporaryDirectory(prefix="trug-demo-", ignore_cleanup_errors=True) as folder:
        where = data or Path(folder) / "records"
        _fill(where)
        run_app(where, port, browser=not no_browser)


def _fill(folder: Path) -> None:
    """Fill a folder with the invented season, unless it holds records already."""
    with needing("web"):
        from trug.demo.season import fill
        from trug.records.database import DATABASE_FILE, Database
        from trug.records.reasoning import Reasoner
        from trug.web.pages.experts import packet_html
    if (folder / DATABASE_FILE).exists():
        return
    from trug.loaded import loaded

    here = loaded()
    typer.echo("inventing a season of finds ...")
    database = Database.open(folder)
    try:
        with progressing("finds") as tell:
            fill(
                database,
                Reasoner(here),
                today=datetime.date.today(),
                progress=tell,
                render=lambda contents, seal: packet_html(contents, seal, here.vocabulary),
            )
    finally:
        database.close()


def example(
    json: Annotated[bool, typer.Option("--json", help="Write the determination record as JSON.")] = False,
    write: Annotated[
        Path | None,
        typer.Option("--write", metavar="FILE", help="Write the find document here, to edit.", show_default=False),
    ] = None,
) -> None:
    """Determine an invented cluster in which one fruitbody is a stranger.

    Examples:

      trug example

      trug example --write cluster.toml
    """
    from trug import __version__
    from trug.cli.render import show_determination
    from trug.determine.determination import determine
    from trug.loaded import loaded
    from trug.records import read_find_text

    text = (resources.files("trug.cli") / "cluster.toml").read_text("utf-8")
    if write is not None:
        refuse_existing(write)
        write_whole(write, text.encode())
        console().print(f"{write} written; try: trug determine {write}", markup=False)
        return
    here = loaded()
    read = read_find_text(text, here.vocabulary, datetime.date.max, file="cluster.toml")
    record = determine(
        read.find, here.table, here.book, here.vocabulary, program=__version__, signed="flammulina-velutipes"
    )
    if json:
        put_json(record)
        return
    out = console()
    out.print(STORY, markup=False)
    out.print()
    show_determination(out, read.find, record, here.vocabulary)
