"""Say on which line of a TOML or JSON text a value stands."""

from __future__ import annotations

import bisect
import functools
import json
import re
import tomllib
from collections.abc import Sequence

__all__ = ["line_of"]

Place = tuple[str | int, ...]

_JSON = re.compile(r'"[^"\\]*(?:\\.[^"\\]*)*"|[{}\[\],]|:|[^\s{}\[\],:"]+')
_PART = r'"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'|[A-Za-z0-9_-]+'
_KEY = re.compile(rf"(?:{_PART})(?:[ \t]*\.[ \t]*(?:{_PART}))*")
_ONE_PART = re.compile(_PART)
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"""(?:"{0,2})'
    r"|'''.*?'''(?:'{0,2})"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'",
    re.S,
)
_BARE = re.compile(r"[^,\]}#\n]+")


def line_of(text: str, path: Sequence[str | int], word: str | None = None) -> int | None:
    """Return the line (from 1) at which a value stands, or None where it cannot be told.

    Parameters
    ----------
    text : str
        Valid TOML or JSON.
    path : sequence of str or int
        Keys from the root, with whole numbers for the items of a list, as in ``("looks", 2, "character")``.
        Where the whole path is not in the text, its longest beginning that is.
    word : str, optional
        A word to be found at or behind that place, outside comments.
    """
    places, comments = _places(text)
    known = tuple(path)
    while known and known not in places:
        known = known[:-1]
    at = places[known] if known else None
    if word:
        for found in re.compile(rf"(?<![\w-]){re.escape(word)}(?![\w-])").finditer(text, at or 0):
            if not _within(found.start(), comments):
                at = found.start()
                break
    return None if at is None else text.count("\n", 0, at) + 1


def _within(at: int, spans: Sequence[tuple[int, int]]) -> bool:
    before = bisect.bisect_right(spans, (at, len(spans) and spans[-1][1])) - 1
    return before >= 0 and spans[before][0] <= at < spans[before][1]


@functools.lru_cache(maxsize=2)
def _places(text: str) -> tuple[dict[Place, int], list[tuple[int, int]]]:
    """Return where every key and item stands, and the spans of comments."""
    if text.lstrip().startswith("{"):
        return _json_places(text), []
    scan = _Toml(text)
    scan.run()
    return scan.places, scan.comments


def _json_places(text: str) -> dict[Place, int]:
    places: dict[Place, int] = {}
    kinds: list[str] = []
    path: list[str | int | None] = []  # None: a key is awaited
    for found in _JSON.finditer(text):
        token, start = found.group(), found.start()
        if token in "}]" and kinds:
            kinds.pop()
            path.pop()
        elif token == "," and kinds:
            last = path[-1]
            path[-1] = last + 1 if isinstance(last, int) else None
        elif path and path[-1] is None and token.startswith('"'):
            path[-1] = str(json.loads(token, strict=False))
            places[_whole(path)] = start
        elif token not in ":,}]":
            if kinds and kinds[-1] == "[":
                places[_whole(path)] = start
            if token in "{[":
                kinds.append(token)
                path.append(None if token == "{" else 0)
    return places


def _whole(path: Sequence[str | int | None]) -> Place:
    return tuple(step for step in path if step is not None)


class _LostError(Exception):
    """The text is not what the scan expects; what was found so far stands."""


class _Toml:
    """One pass over a TOML text that notes where keys, tables and items stand."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.places: dict[Place, int] = {}
        self.comments: list[tuple[int, int]] = []
        self.counts: dict[Place, int] = {}

    def run(self) -> None:
        base: Place = ()
        try:
            while self.skip():
                if self.text[self.at] == "[":
                    base = self.header()
                else:
                    self.pair(base)
        except (_LostError, RecursionError):
            return

    def skip(self) -> bool:
        """Pass white space and comments; say whether anything follows."""
        text, end = self.text, len(self.text)
        while self.at < end:
            if text[self.at] == "#":
                stop = text.find("\n", self.at)
                stop = end if stop < 0 else stop
                self.comments.append((self.at, stop))
                self.at = stop
            elif text[self.at].isspace():
                self.at += 1
            else:
                return True
        return False

    def header(self) -> Place:
        start = self.at
        several = self.text.startswith("[[", start)
        self.at += 2 if several else 1
        *before, last = self.key()
        path: Place = ()
        for part in before:
            path = self.note((*path, part), start)
            path = (*path, self.counts[path]) if path in self.counts else path
        path = self.note((*path, last), start)
        if several:
            self.counts[path] = self.counts.get(path, -1) + 1
            path = self.note((*path, self.counts[path]), start)
        self.at = self.text.index("]", self.at) + (2 if several else 1)
        return path

    def key(self) -> list[str]:
        while self.text.startswith((" ", "\t"), self.at):
            self.at += 1
        found = _KEY.match(self.text, self.at)
        if not found:
            raise _LostError
        self.at = found.end()
        return [_unquoted(part) for part in _ONE_PART.findall(found.group())]

    def note(self, path: Place, at: int) -> Place:
        self.places.setdefault(path, at)
        return path

    def pair(self, base: Place) -> None:
        start = self.at
        path = base
        for part in self.key():
            path = self.note((*path, part), start)
        self.skip()
        if not self.text.startswith("=", self.at):
            raise _LostError
        self.at += 1
        self.skip()
        self.value(path)

    def value(self, path: Place) -> None:
        opening = self.text[self.at : self.at + 1]
        if opening in ("[", "{"):
            self.at += 1
            self.items(path, opening)
            return
        found = (_STRING if opening in ('"', "'") else _BARE).match(self.text, self.at) if opening else None
        if not found:
            raise _LostError
        self.at = found.end()

    def items(self, path: Place, opening: str) -> None:
        closing = "]" if opening == "[" else "}"
        n = 0
        while self.skip() and not self.text.startswith(closing, self.at):
            if opening == "{":
                self.pair(path)
            else:
                self.value(self.note((*path, n), self.at))
            n += 1
            if self.skip() and self.text.startswith(",", self.at):
                self.at += 1
        self.at += 1


def _unquoted(part: str) -> str:
    if part.startswith("'"):
        return part[1:-1]
    if part.startswith('"'):
        return next(iter(tomllib.loads(f"{part} = 0")))
    return part
