"""``trug demo``: a worked example with invented data."""

from __future__ import annotations

import datetime
from importlib import resources
from pathlib import Path
from typing import Annotated

import typer

from trug.cli.output import console, put_json, refuse_existing, write_whole

__all__ = ["register"]

STORY = (
    "A demonstration with invented data. On a December afternoon a class in a Danish river park takes one cluster "
    "from a fallen willow. Everyone calls it velvet shank. The teacher has each fruitbody looked at singly: 'a' gave a "
    "print and was looked at closely, 'b' is a fine specimen that nobody printed, and 'c' stood in the same cluster."
)


def register(app: typer.Typer) -> None:
    """Add the command of this module."""
    app.command("demo")(demo)


def demo(
    json: Annotated[bool, typer.Option("--json", help="Write the determination record as JSON.")] = False,
    write: Annotated[
        Path | None,
        typer.Option("--write", metavar="FILE", help="Write the find document here, to edit.", show_default=False),
    ] = None,
) -> None:
    """Determine an invented cluster in which one fruitbody is a stranger.

    Examples:

      trug demo

      trug demo --write cluster.toml
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
