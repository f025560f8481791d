"""Rows that could not be read as they stand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["BadRow", "Tell"]


@dataclass(frozen=True, slots=True)
class BadRow:
    """A row that could not be read as it stands: where, why, its cells, and whether the find came through anyway.

    ``line`` counts from 1; 0 stands for the whole file.
    """

    file: str
    line: int
    why: str
    cells: tuple[str, ...] = ()
    kept: bool = False


Tell = Callable[[BadRow], None]
