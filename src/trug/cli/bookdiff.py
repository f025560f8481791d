"""``trug book diff``: what changed treatments say now, and what that does to the measured figures."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from trug.cli.output import console, put_json

__all__ = ["diff", "must_be_folder"]

SEED = 20261125


def diff(
    folder: Annotated[
        Path | None,
        typer.Argument(help="The changed book; the one in use without it.", show_default=False),
    ] = None,
    against: Annotated[
        Path | None,
        typer.Option("--against", help="The earlier book; the last committed state without it.", show_default=False),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Write JSON.")] = False,
) -> None:
    """Show what changed treatments say now, and what that does to the measured figures.

    The same simulated finds are determined with the book before and after the change: the changed fungi
    with all they are confused with, and the whole book.

    Examples:

      trug book diff

      trug book diff changed/ --against earlier/
    """
    from contextlib import ExitStack
    from importlib import resources
    from tempfile import TemporaryDirectory

    import numpy as np
    from rich.console import Console

    from trug.characters import load_vocabulary
    from trug.determine.bookdiff import changes, figures, touched
    from trug.determine.compile import compile_table
    from trug.treatments import load_book

    must_be_folder(folder)
    must_be_folder(against)
    here = folder or Path(str(resources.files("trug.treatments")))
    with ExitStack() as stack:
        if against is None:
            against = Path(stack.enter_context(TemporaryDirectory()))
            _committed(here, against)
        before, after = load_book(against.resolve()), load_book(folder)
    found = changes(before, after)
    if not found:
        if json:
            put_json({"changes": [], "figures": {}})
        else:
            console().print("The two books say the same.")
        return
    vocabulary = load_vocabulary()
    tables = [compile_table(book, vocabulary) for book in (before, after)]
    codes = touched(list(dict.fromkeys(c.taxon for c in found)), tables)
    measured = {}
    with Console(stderr=True).status("determining simulated finds with both books"):
        for title, chosen in (("changed and confused", codes), ("whole book", None)):
            measured[title] = [
                figures(
                    table,
                    list(book.treatments.values()),
                    chosen and [c for c in chosen if c in book.treatments],
                    np.random.default_rng(SEED),
                    threads=2,
                )
                for table, book in zip(tables, (before, after), strict=True)
            ]
    if json:
        put_json({"changes": found, "figures": measured})
        return
    from rich.table import Table

    table = Table(box=None, padding=(0, 2, 0, 0), header_style="bold")
    for title in ("fungus", "what", "before", "after"):
        table.add_column(title, overflow="fold")
    for c in found:
        table.add_row(c.taxon, c.what, c.before, c.after)
    console().print(table)
    for title, (old, new) in measured.items():
        size = f"{len(codes)} fungi" if title != "whole book" else f"{len(after.treatments)} fungi"
        grid = Table(title=f"{title}, {size}", title_justify="left", box=None, padding=(0, 2, 0, 0))
        for head in ("simulated finds", "before", "after"):
            grid.add_column(head, justify="left" if head == "simulated finds" else "right")
        for label, one, other in (
            ("first name right", f"{old.first:.2%}", f"{new.first:.2%}"),
            ("held back as a stranger or a poor fit", f"{old.held:.2%}", f"{new.held:.2%}"),
            ("every kills and organ taxon ruled out, all looks made", f"{old.clear:.2%}", f"{new.clear:.2%}"),
            ("harmful truth ruled out wrongly, student", _of(old.wrong, old.harmful), _of(new.wrong, new.harmful)),
            (
                "looks that separate a fungus from what it is confused with",
                f"{old.separating:.1f}",
                f"{new.separating:.1f}",
            ),
        ):
            grid.add_row(label, one, other)
        console().print(grid)
    console().print("Internal consistency, not accuracy in the field. 'make accuracy' measures in full.")


def _of(wrong: int | None, n: int) -> str:
    return "—" if wrong is None else f"{wrong} of {n:,}"


def must_be_folder(folder: Path | None) -> None:
    """Refuse a folder that is not there."""
    from trug.errors import UnreadableError

    if folder is not None and not folder.is_dir():
        raise UnreadableError("no such folder; name the one that holds fungi/ and sources.toml", file=str(folder))


def _committed(folder: Path, into: Path) -> None:
    """Write the last committed state of a folder of the book."""
    import io
    import subprocess
    import tarfile

    from trug.errors import InputError

    try:
        done = subprocess.run(
            ["git", "-C", str(folder), "archive", "--format=tar", "HEAD", "."], capture_output=True, check=True
        )
    except (OSError, subprocess.CalledProcessError):
        raise InputError(
            f"{folder} is not under git, so there is no earlier state; name the earlier book with --against FOLDER"
        ) from None
    with tarfile.open(fileobj=io.BytesIO(done.stdout)) as tar:
        tar.extractall(into, filter="data")
