"""``trug determine``: from a find document, or from questions, to a determination."""

from __future__ import annotations

import datetime
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from trug.cli.output import console, fail, put_json, refuse_existing, write_whole
from trug.errors import InputError

if TYPE_CHECKING:
    from trug.determine.find import Find
    from trug.loaded import Loaded
    from trug.records import ReadFind

__all__ = ["EXIT_CONFLICT", "register"]

EXIT_CONFLICT = 4


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("determine")(determine)
    app.command("schema")(schema)


def determine(
    finds: Annotated[
        list[Path] | None,
        typer.Argument(
            metavar="FIND...",
            help="Find documents (TOML or JSON); '-' reads one from standard input.",
            show_default=False,
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

      trug determine monday.toml tuesday.toml --json

      trug determine --ask --region europe-central --save walk.toml

      cat find.json | trug determine - --json
    """
    from trug import __version__
    from trug.cli.render import show_determination
    from trug.determine.determination import determine as reason
    from trug.loaded import loaded
    from trug.treatments.names import treatment_named

    if ask and finds:
        raise typer.BadParameter("name a find document or use --ask, not both", param_hint="FIND")
    if ask and json:
        raise typer.BadParameter("questions and JSON do not mix; --save it, then determine", param_hint="--json")
    if not ask and (region is not None or save is not None):
        raise typer.BadParameter("--region and --save go with --ask", param_hint="--ask")
    if save is not None:
        refuse_existing(save)
    here = loaded()
    today = datetime.date.today()
    signed = treatment_named(here.book, sign).code if sign else None
    if ask:
        from trug.cli.ask import ask_find

        asked = ask_find(here, today, region)
        if asked is None:
            raise InputError("no look was made, so there is nothing to determine")
        documents: list[tuple[Find, tuple[str, ...]]] = [(asked, ())]
    elif not finds:
        raise typer.BadParameter("name a find document, or use --ask", param_hint="FIND")
    else:
        read = [_read(find, here, today) for find in finds]
        documents = [(r.find, r.warnings) for r in read]
    records = []
    for document, warnings in documents:
        for warning in warnings:
            fail(warning, "note")
        record = reason(document, here.table, here.book, here.vocabulary, program=__version__, signed=signed)
        records.append(record)
        if save is not None:
            import msgspec

            write_whole(save, msgspec.json.format(msgspec.json.encode(document), indent=2) + b"\n")
        if not json:
            show_determination(console(), document, record, here.vocabulary, full=full)
    if json:
        put_json(records[0] if len(records) == 1 else records)
    if any(body.conflicts for record in records for body in record.fruitbodies):
        fail("looks contradict each other; neither counts until one supersedes the other")
        raise typer.Exit(EXIT_CONFLICT)


def _read(find: Path, here: Loaded, today: datetime.date) -> ReadFind:
    """Return one find, from a file or from standard input."""
    from trug.reading import MAX_BYTES, decode
    from trug.records import read_find, read_find_text

    if str(find) != "-":
        return read_find(find, here.vocabulary, today)
    stream = getattr(sys.stdin, "buffer", None)
    data = sys.stdin.read().encode("utf-8", "surrogateescape") if stream is None else stream.read(MAX_BYTES + 1)
    return read_find_text(decode(data, "standard input"), here.vocabulary, today, file="standard input")


def schema() -> None:
    """Write the JSON Schema of the find document.

    Example:

      trug schema > find.schema.json
    """
    from trug.determine.find import json_schema

    put_json(json_schema())
