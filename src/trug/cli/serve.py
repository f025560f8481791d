"""``trug serve``: the web app on this computer."""

from __future__ import annotations

import contextlib
import gc
import socket
import threading
from pathlib import Path
from typing import Annotated

import typer

from trug.cli.extras import needing
from trug.cli.output import fail
from trug.errors import InputError

__all__ = ["DATA", "PORT", "register", "run_app"]

PORT = 8427
#: The number by which glibc's ``mallopt`` knows the limit of heaps (malloc.h).
M_ARENA_MAX = -8
#: The option that names the data folder; shared by every command that opens records.
DATA = typer.Option(
    "--data",
    metavar="FOLDER",
    help="The folder of the records; the platform's own where none is named.",
    show_default=False,
)


def register(app: typer.Typer) -> None:
    """Add the command of this module."""
    app.command("serve")(serve)


def serve(
    port: Annotated[int, typer.Option("--port", help="The port on this computer.", min=0, max=65535)] = PORT,
    data: Annotated[Path | None, DATA] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Do not open a browser.")] = False,
) -> None:
    """Open the app in your browser: finds, looks, ledger, signed names. It answers this computer only.

    Examples:

      trug serve

      trug serve --data ~/mushrooms --no-browser
    """
    run_app(data, port, browser=not no_browser)


def run_app(data: Path | None, port: int, *, browser: bool) -> None:
    """Serve the records of a folder until the person stops it.

    Raises
    ------
    InputError
        The port is taken, or the records cannot be opened.
    """
    with needing("web"):
        import uvicorn

        from trug.records.bin import erase_expired
        from trug.records.database import Database, data_folder
        from trug.web.app import create_app
    _share_one_heap()
    socket_ = _listen(port)
    folder = data or data_folder()
    database = Database.open(folder)
    erase_expired(database)
    app = create_app(database)
    gc.collect()
    gc.freeze()  # the book stays for good: the collector need not look at it again and again
    address = f"http://127.0.0.1:{socket_.getsockname()[1]}/"
    typer.echo(f"trug answers at {address} (records in {folder}); stop it with Ctrl-C")
    if browser:
        threading.Timer(0.8, _open_browser, (address,)).start()
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False, server_header=False))
    try:
        server.run(sockets=[socket_])
    finally:
        database.close()


def _share_one_heap() -> None:
    """Let all threads share one heap: the C library of Linux else keeps one for each, about 25 MB in all."""
    import ctypes

    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL("libc.so.6").mallopt(M_ARENA_MAX, 1)


def _listen(port: int) -> socket.socket:
    """Return a socket on this computer's own address, never on the network."""
    # With the protocol named, asyncio sends small answers at once; without it each would wait 40 ms for more.
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind(("127.0.0.1", port))
        listening.listen(128)  # a browser that is quicker than the app waits instead of being refused
    except OSError as error:
        listening.close()
        raise InputError(f"port {port} cannot be used ({error.strerror}); name another with --port") from None
    return listening


def _open_browser(address: str) -> None:
    import webbrowser

    if not webbrowser.open(address):
        fail(f"no browser was found; open {address} yourself", "note")
