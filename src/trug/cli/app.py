"""The command ``trug`` and its exit codes.

==== =====================================================================
code meaning
==== =====================================================================
0    done
1    a file or an answer cannot be used; the message says what to mend
2    wrong use of the command
3    the book is wrong
4    done, but looks contradict each other; the determination says which
==== =====================================================================
"""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from trug.cli import book as book_commands
from trug.cli import demo, determine, records, serve, show
from trug.cli.output import fail
from trug.errors import BookError, InputError, TrugError

__all__ = ["EXIT_BOOK", "EXIT_INPUT", "app", "run"]

EXIT_INPUT = 1
EXIT_BOOK = 3

app = typer.Typer(
    name="trug",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help=(
        "Reasoned names for wild finds, with a ledger of what could harm.\n\n"
        "Write down what you saw, run 'trug determine FIND.toml', and read which harmful species the evidence has "
        "not ruled out yet and which look would settle it. A person signs the name; nothing here is leave to eat.\n\n"
        "Exit codes: 0 done, 1 input cannot be used, 2 wrong use, 3 the book is wrong, 4 done but looks contradict "
        "each other."
    ),
    epilog="Begin with: trug demo, or trug serve",
)


def _version(asked: bool) -> None:
    if asked:
        from trug import __version__

        typer.echo(f"trug {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version and stop.")
    ] = False,
) -> None:
    del version


determine.register(app)
show.register(app)
app.add_typer(book_commands.app, name="book")
serve.register(app)
app.add_typer(records.app, name="records")
demo.register(app)


def run() -> None:
    """Run the command; turn every error meant for the user into a message and an exit code."""
    try:
        app(standalone_mode=True)
    except BookError as error:
        fail(str(error), "the book is wrong")
        sys.exit(EXIT_BOOK)
    except (InputError, TrugError) as error:
        fail(str(error))
        sys.exit(EXIT_INPUT)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except KeyboardInterrupt:
        fail("stopped")
        sys.exit(130)
