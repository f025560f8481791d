"""Read hand-written TOML and JSON."""

from __future__ import annotations

import difflib
import json
import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from trug.errors import UnreadableError
from trug.lines import line_of

__all__ = ["MAX_BYTES", "MAX_DEPTH", "decode", "line_of", "nearest", "parse", "read_text", "shown"]

#: A find document or a treatment is a page of text; anything larger is another kind of file.
MAX_BYTES = 8_000_000
#: Tables and lists within each other; a find document in full form needs eight.
MAX_DEPTH = 50

#: Control characters other than tab and line ends, and halves of surrogate pairs: no text has them.
_ODD = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")


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
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise UnreadableError("no such file; check the name and the folder", file=str(path)) from None
    except OSError as error:
        raise UnreadableError(f"cannot be read: {error.strerror}", file=str(path)) from None
    return decode(data, str(path))


def decode(data: bytes, file: str) -> str:
    """Return bytes as text, refusing what is not text or more than ``MAX_BYTES``."""
    if len(data) > MAX_BYTES:
        raise UnreadableError("too large for a find document (8 MB at most)", file=file)
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
        With the line at which reading stopped. Also where tables lie more than ``MAX_DEPTH`` deep in each
        other, where a whole number has thousands of digits, and where a string holds control characters.
    """
    form = "JSON" if text.lstrip().startswith("{") else "TOML"
    try:
        table: dict[str, Any] = json.loads(text) if form == "JSON" else tomllib.loads(text)
    except json.JSONDecodeError as error:
        raise UnreadableError(f"not valid JSON: {error.msg}", file=file, line=error.lineno) from None
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        found = re.search(r"at line (\d+)", message)
        line = int(found.group(1)) if found else text.rstrip().count("\n") + 1 if "end of document" in message else None
        plain = re.sub(r"\s*\(at [^)]*\)", "", message)
        raise UnreadableError(f"not valid TOML: {plain}", file=file, line=line) from None
    except RecursionError:
        raise UnreadableError(_TOO_DEEP, file=file) from None
    except ValueError:
        raise UnreadableError(f"not valid {form}: a whole number is too long", file=file) from None
    _refuse_odd(table, text, file)
    return table


_TOO_DEEP = f"nested too deeply ({MAX_DEPTH} levels at most)"


def _refuse_odd(table: dict[str, Any], text: str, file: str) -> None:
    """Refuse what reads but would break a terminal, a file or the stack later."""
    waiting: list[tuple[Any, tuple[str | int, ...]]] = [(table, ())]
    while waiting:
        item, path = waiting.pop()
        if len(path) >= MAX_DEPTH:
            raise UnreadableError(_TOO_DEEP, file=file)
        if isinstance(item, dict):
            waiting += [(value, (*path, key)) for key, value in item.items()]
            odd = next((key for key in item if _ODD.search(key)), None)
        elif isinstance(item, list):
            waiting += [(value, (*path, n)) for n, value in enumerate(item)]
            continue
        else:
            odd = item if isinstance(item, str) and _ODD.search(item) else None
        if odd is not None:
            line = line_of(text, path)
            raise UnreadableError(f"{shown(odd)} holds a control character, which is no text", file=file, line=line)


def shown(value: Any) -> str:
    """Return a value as it is quoted in a message: its beginning, where it is long."""
    text = ascii(value) if isinstance(value, str) and _ODD.search(value) else repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def nearest(word: str, words: Iterable[str], count: int = 3) -> str:
    """Return the words nearest to a mistyped one, as the end of a sentence."""
    close = difflib.get_close_matches(word[:100].lower(), list(words), n=count, cutoff=0.5)
    return f"; did you mean {' or '.join(repr(c) for c in close)}?" if close else ""
