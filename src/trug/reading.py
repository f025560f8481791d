"""Read hand-written TOML and JSON, and say on which line a word stands."""

from __future__ import annotations

import difflib
import json
import re
import tomllib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from trug.errors import UnreadableError

__all__ = ["MAX_BYTES", "line_of", "nearest", "parse", "read_text"]

#: A find document or a treatment is a page of text; anything larger is another kind of file.
MAX_BYTES = 8_000_000


def read_text(path: Path) -> str:
    """Return the text of a file.

    Raises
    ------
    UnreadableError
        Missing, a folder, not allowed, larger than ``MAX_BYTES``, or not UTF-8 text.
    """
    try:
        if path.is_dir():
            raise UnreadableError("this is a folder; name one file in it", file=str(path))
        if path.stat().st_size > MAX_BYTES:
            raise UnreadableError("too large for a find document (8 MB at most)", file=str(path))
        data = path.read_bytes()
    except FileNotFoundError:
        raise UnreadableError("no such file; check the name and the folder", file=str(path)) from None
    except OSError as error:
        raise UnreadableError(f"cannot be read: {error.strerror}", file=str(path)) from None
    return decode(data, str(path))


def decode(data: bytes, file: str) -> str:
    """Return bytes as text, refusing what is not text."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise UnreadableError("not a text file (UTF-8 is expected)", file=file) from None
    if "\x00" in text:
        raise UnreadableError("not a text file (it holds zero bytes)", file=file)
    return text


def parse(text: str, file: str) -> dict[str, Any]:
    """Return the table that a TOML or JSON text holds.

    JSON is recognised by its first brace.

    Raises
    ------
    UnreadableError
        With the line at which reading stopped.
    """
    if text.lstrip().startswith("{"):
        try:
            table = json.loads(text)
        except json.JSONDecodeError as error:
            raise UnreadableError(f"not valid JSON: {error.msg}", file=file, line=error.lineno) from None
        except RecursionError:
            raise UnreadableError("not valid: nested too deeply", file=file) from None
        return dict(table)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        found = re.search(r"at line (\d+)", message)
        line = int(found.group(1)) if found else None
        plain = re.sub(r"\s*\(at [^)]*\)", "", message)
        raise UnreadableError(f"not valid TOML: {plain}", file=file, line=line) from None
    except RecursionError:
        raise UnreadableError("not valid: nested too deeply", file=file) from None


def line_of(text: str, path: Sequence[str | int], word: str | None = None) -> int | None:
    """Return the line (from 1) at which a value stands, or None where it cannot be told.

    Parameters
    ----------
    path : sequence of str or int
        Keys from the root, with whole numbers for the items of a list,
        as in ``("looks", 2, "character")``.
    word : str, optional
        A word to be found at or behind that place.
    """
    at = 0
    for step in path:
        at = _behind(text, at, step)
    if word is not None:
        found = re.compile(rf"(?<![\w-]){re.escape(word)}(?![\w-])").search(text, at)
        at = found.start() if found else at
    return text.count("\n", 0, at) + 1 if at else None


def _behind(text: str, at: int, step: str | int) -> int:
    """Return where a key begins behind an offset; the offset itself where it is not found."""
    if isinstance(step, int):
        opening = re.compile(r"^\s*\[\[|[{]", re.M)
        for _ in range(step):
            found = opening.search(text, at + 1)
            if not found:
                return at
            at = found.start()
        return at
    found = re.compile(rf"(?<![\w-])\"?{re.escape(step)}\"?(?![\w-])").search(text, at)
    return found.start() if found else at


def nearest(word: str, words: Iterable[str], count: int = 3) -> str:
    """Return the words nearest to a mistyped one, as the end of a sentence."""
    close = difflib.get_close_matches(word.lower(), list(words), n=count, cutoff=0.5)
    return f"; did you mean {' or '.join(repr(c) for c in close)}?" if close else ""
