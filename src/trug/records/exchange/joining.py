"""Rows of an extension for one find after another, in order of the core, without holding all of them.

Where the extension follows the order of the core, both are read side by side. Where it does not, its rows wait in an
index on disk.
"""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Protocol

from trug.records.exchange.bad_rows import BadRow, Tell

__all__ = ["Joined", "join"]

Read = Callable[[Tell], Iterator[tuple[Any, list[str]]]]


class Joined(Protocol):
    """The rows of one extension."""

    def take(self, key: str) -> tuple[Any, ...]:
        """Return the rows of a find, once; asked for in the order of the core."""

    def finish(self) -> None:
        """Tell what belongs to no find."""


def join(
    order: Mapping[str, int],
    read: Read,
    key: int,
    make: Callable[[list[str]], Any],
    on_bad: Tell,
    stack: contextlib.ExitStack,
) -> Joined:
    """Return an extension joined to its core.

    Parameters
    ----------
    order : mapping
        The place of every identifier of the core.
    read : callable
        Reads the rows of the extension from the beginning; may be called twice.
    key : int
        The column with the identifier of the find.
    make : callable
        Turns a row into an object.
    on_bad : callable
        Told every row that belongs to no find.
    stack : ExitStack
        Closes the index when the reading is over.
    """
    if _in_order(order, read, key):
        return _SideBySide(order, read(on_bad), key, make, on_bad)
    index = _Indexed(order, read, key, make, on_bad)
    stack.callback(index.close)
    return index


def _in_order(order: Mapping[str, int], read: Read, key: int) -> bool:
    """Return whether the rows of an extension follow the order of the core."""
    last = -1
    for _, row in read(lambda bad: None):
        place = order.get(row[key], last)
        if place < last:
            return False
        last = place
    return True


def _orphan(on_bad: Tell, source: Any, row: list[str], key: int) -> None:
    on_bad(BadRow(source.name, source.line, f"belongs to {row[key]!r}, which is no find of this archive", tuple(row)))


class _SideBySide:
    def __init__(
        self,
        order: Mapping[str, int],
        rows: Iterator[tuple[Any, list[str]]],
        key: int,
        make: Callable[[list[str]], Any],
        on_bad: Tell,
    ) -> None:
        self._order, self._rows, self._key, self._make, self._on_bad = order, rows, key, make, on_bad
        self._next = self._advance()

    def _advance(self) -> list[str] | None:
        for source, row in self._rows:
            if row[self._key] in self._order:
                return row
            _orphan(self._on_bad, source, row, self._key)
        return None

    def take(self, key: str) -> tuple[Any, ...]:
        if self._next is None or self._next[self._key] != key:
            return ()
        found = []
        while self._next is not None and self._next[self._key] == key:
            found.append(self._make(self._next))
            self._next = self._advance()
        return tuple(found)

    def finish(self) -> None:
        """Nothing is left: every row that has a find was taken, and the others were told on the way."""


class _Indexed:
    def __init__(
        self,
        order: Mapping[str, int],
        read: Read,
        key: int,
        make: Callable[[list[str]], Any],
        on_bad: Tell,
    ) -> None:
        self._make, self._order = make, order
        self._index = sqlite3.connect("")  # a file of its own on disk, gone when closed
        self._index.execute("PRAGMA synchronous = OFF")
        self._index.execute("CREATE TABLE held (n INTEGER PRIMARY KEY, place INTEGER, cells TEXT)")

        def rows() -> Iterator[tuple[int, str]]:
            for source, row in read(on_bad):
                if row[key] in order:
                    yield order[row[key]], json.dumps(row)
                else:
                    _orphan(on_bad, source, row, key)

        self._index.executemany("INSERT INTO held (place, cells) VALUES (?, ?)", rows())
        self._index.execute("CREATE INDEX by_place ON held (place, n)")
        self._taken: set[str] = set()

    def take(self, key: str) -> tuple[Any, ...]:
        if key in self._taken:
            return ()
        self._taken.add(key)
        found = self._index.execute("SELECT cells FROM held WHERE place = ? ORDER BY n", (self._order.get(key, -1),))
        return tuple(self._make(json.loads(cells)) for (cells,) in found)

    def finish(self) -> None:
        """Nothing is left: every row has a find, and the others were told at the start."""

    def close(self) -> None:
        self._index.close()
