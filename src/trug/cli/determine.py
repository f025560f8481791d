"""``trug determine``: from a find document, or from questions, to a determination."""

from __future__ import annotations

import datetime
import sys
from pathlib import Path
from typing import Annotated

import typer

from trug.cli.output import console, fail, put_json, write_whole
from trug.errors import InputError, UnreadableError

__all__ = ["EXIT_CONFLICT", "register"]

EXIT_CONFLICT = 4


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("determine")(determine)
    app.command("schema")(schema)


def determine(
    find: Annotated[
        Path | None,
        typer.Argument(
            metavar="FIND", help="A find document (TOML or JSON); '-' reads standard input.", show_default=False
        ),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Write the determination record as JSON.")] = False,
    ask: Annotated[bool, typer.Option("--ask", help="Ask for one look at a time, the best next one first.")] = False,
    sign: Annotated[
        str | None,
        typer.Option("--sign", metavar="NAME", help="The name you sign, specimen in hand.", show_default=False),
    ] = None,
    region: Annotated[
        str | None,
        typer.Option("--region", help="With --ask: where you are (trug characters region).", show_default=False),
    ] = None,
    save: Annotated[
        Path | None,
        typer.Option("--save", metavar="FILE", help="With --ask: write the find document here.", show_default=False),
    ] = None,
    full: Annotated[bool, typer.Option("--full", help="Show every ledger line and every contribution.")] = False,
) -> None:
    """Name a find and rule out, one by one, what could harm.

    Examples:

      trug determine cluster.toml

      trug determine cluster.toml --sign "velvet shank" --full

      trug determine --ask --region europe-central --save walk.toml

      cat find.json | trug determine - --json
    """
    from trug import __version__
    from trug.cli.loaded import loaded
    from trug.cli.render import show_determination
    from trug.determine.determination import determine as reason
    from trug.records import read_find, read_find_text
    from trug.treatments.names import treatment_named

    here = loaded()
    today = datetime.date.today()
    if ask:
        from trug.cli.ask import ask_find

        document = ask_find(here, today, region)
        if document is None:
            raise InputError("no look was made, so there is nothing to determine")
        warnings: tuple[str, ...] = ()
        if save is not None:
            import msgspec

            write_whole(save, msgspec.json.format(msgspec.json.encode(document), indent=2) + b"\n")
    elif find is None:
        raise typer.BadParameter("name a find document, or use --ask", param_hint="FIND")
    else:
        if str(find) == "-":
            try:
                text = sys.stdin.read()
            except UnicodeDecodeError:
                raise UnreadableError("not a text (UTF-8 is expected)", file="standard input") from None
            read = read_find_text(text, here.vocabulary, today, file="standard input")
        else:
            read = read_find(find, here.vocabulary, today)
        document, warnings = read.find, read.warnings
    signed = treatment_named(here.book, sign).code if sign else None
    record = reason(document, here.table, here.book, here.vocabulary, program=__version__, signed=signed)
    for warning in warnings:
        fail(warning, "note")
    if json:
        put_json(record)
    else:
        show_determination(console(), document, record, here.vocabulary, full=full)
    if any(body.conflicts for body in record.fruitbodies):
        fail("looks contradict each other; neither counts until one supersedes the other")
        raise typer.Exit(EXIT_CONFLICT)


def schema() -> None:
    """Write the JSON Schema of the find document.

    Example:

      trug schema > find.schema.json
    """
    from trug.determine.find import json_schema

    put_json(json_schema())
