"""Where the command line writes: colour on a terminal, plain text in a pipe."""

from __future__ import annotations

import functools
import os
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console

__all__ = ["console", "fail", "put_json", "write_whole"]


@functools.cache
def console() -> Console:
    """Return the console for standard output."""
    from rich.console import Console

    terminal = sys.stdout.isatty()
    return Console(width=None if terminal else 110, highlight=False, soft_wrap=False, emoji=False)


def fail(message: str, heading: str = "trug") -> None:
    """Say on standard error what went wrong."""
    print(f"{heading}: {message}", file=sys.stderr)


def put_json(value: Any) -> None:
    """Write a value as JSON, indented, keys in order."""
    import msgspec

    text = msgspec.json.format(msgspec.json.encode(value, order="deterministic"), indent=2).decode()
    sys.stdout.write(text + "\n")


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that it is there whole or not at all."""
    handle, name = tempfile.mkstemp(dir=path.parent or Path("."), prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
