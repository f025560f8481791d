"""Cells that a spreadsheet would run as a formula, made harmless and made whole again."""

from __future__ import annotations

import re

__all__ = ["neutral", "restored"]

_FORMULA = re.compile("'*[=+\\-@\t\r\n＝＋－＠|]")
_NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d+)?", re.ASCII)


def neutral(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula: with an apostrophe before it where it would.

    A number keeps its sign. ``restored`` undoes it exactly.
    """
    if cell and _FORMULA.match(cell) and not _NUMBER.fullmatch(cell):
        return "'" + cell
    return cell


def restored(cell: str) -> str:
    """Return what ``neutral`` was given."""
    if cell[:1] == "'" and _FORMULA.match(cell, 1) and not _NUMBER.fullmatch(cell, 1):
        return cell[1:]
    return cell
