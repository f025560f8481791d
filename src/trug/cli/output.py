"""Where the command line writes: colour on a terminal, plain text in a pipe."""

from __future__ import annotations

import functools
import os
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trug.errors import InputError

if TYPE_CHECKING:
    from rich.console import Console

__all__ = ["console", "fail", "put_json", "refuse_existing", "write_whole"]


@functools.cache
def console() -> Console:
    """Return the console for standard output."""
    from rich.console import Console

    terminal = sys.stdout.isatty()
    return Console(width=None if terminal else 110, highlight=False, soft_wrap=False, emoji=False, markup=False)


def fail(message: str, heading: str = "trug") -> None:
    """Say on standard error what went wrong."""
    print(f"{heading}: {message}", file=sys.stderr)


def put_json(value: Any) -> None:
    """Write a value as JSON, indented, keys in order."""
    import msgspec

    text = msgspec.json.format(msgspec.json.encode(value, order="deterministic"), indent=2).decode()
    sys.stdout.write(text + "\n")


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that it is there whole or not at all.

    Raises
    ------
    InputError
        The folder is missing or full, may not be written to, or the name is that of a folder.
    """
    name = ""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".trug-")
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        os.replace(name, path)
    except BaseException as error:
        if name:
            Path(name).unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise InputError(f"cannot be written: {error.strerror}", file=str(path)) from None
        raise


def refuse_existing(path: Path) -> None:
    """Refuse a name that is taken, or a folder that is not there, before any work is done.

    Raises
    ------
    InputError
        Naming the file.
    """
    if os.path.lexists(path):
        raise InputError("exists already; name another file", file=str(path))
    if not path.parent.is_dir():
        raise InputError("cannot be written: there is no such folder", file=str(path))
