"""All drawings of one character on one sheet, with their words or, for a matching test, with letters only."""

from __future__ import annotations

import hashlib
import math
import os
from pathlib import Path
from xml.sax.saxutils import escape

from trug.drawings import BOX, DRAWN, drawing, drawn_states
from trug.errors import UnknownWordError

__all__ = ["answers", "contact_sheet", "write_sheets"]

_COLUMNS = 6
_CELL = 132
_ROW = 152
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def answers(character: str) -> dict[str, str]:
    """Return which letter stands for which state on the sheet without words; the order is mixed but always the same."""
    mixed = sorted(_states(character), key=lambda state: hashlib.sha256(f"{character}/{state}".encode()).digest())
    return dict(zip(_LETTERS, mixed, strict=False))


def contact_sheet(character: str, labels: bool = True) -> str:
    """Return one SVG with every drawing of a character.

    Parameters
    ----------
    character : str
        Code of a character in `DRAWN`; UnknownWordError otherwise.
    labels : bool
        True: in the order of the vocabulary, with the words below. False: mixed, with letters (see `answers`).
    """
    cells = {s: s.replace("-", " ") for s in _states(character)}
    if not labels:
        cells = {state: letter for letter, state in answers(character).items()}
    columns = min(_COLUMNS, len(cells))
    width, height = columns * _CELL, math.ceil(len(cells) / columns) * _ROW
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        f'role="img"><title>{escape(character.replace("_", " "))}</title>'
    ]
    for k, (state, word) in enumerate(cells.items()):
        x, y = k % columns * _CELL, k // columns * _ROW
        one = drawing(character, state)
        assert one is not None
        inner = one.svg(size=BOX + 24, title="").replace("<svg ", f'<svg x="{x + 6}" y="{y + 4}" ', 1)
        parts.append(inner)
        parts.append(
            f'<text x="{x + _CELL / 2:g}" y="{y + 140}" font-family="sans-serif" font-size="12" '
            f'text-anchor="middle" fill="currentColor">{escape(word)}</text>'
        )
    return "".join(parts) + "</svg>"


def write_sheets(folder: Path, labels: bool = True) -> list[Path]:
    """Write one contact sheet for each character into a folder, as SVG files; return them in order."""
    folder.mkdir(parents=True, exist_ok=True)
    written: list[Path] = []
    for character in sorted(DRAWN):
        file = folder / f"{character}.svg"
        half = file.with_suffix(".part")
        half.write_text(contact_sheet(character, labels), encoding="utf-8")
        os.replace(half, file)
        written.append(file)
    return written


def _states(character: str) -> tuple[str, ...]:
    states = drawn_states(character)
    if not states:
        known = ", ".join(sorted(DRAWN))
        raise UnknownWordError(f"no drawings for {character!r}; there are drawings for: {known}")
    return states
