"""An occurrence as the cells of a table, and the parts that need packing: position, substrate, odd characters."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from typing import Any

import msgspec

from trug.place import Position, Released
from trug.records.exchange.leaving import outgoing
from trug.records.exchange.occurrence import Occurrence
from trug.records.exchange.terms import OCCURRENCE_FIELDS, POSITION_TERMS, TERMS

__all__ = ["COLUMNS", "cells_of", "pack_substrate", "storable", "unpack_substrate"]

#: Names of the columns of an occurrence, the identifier first.
COLUMNS = (*OCCURRENCE_FIELDS.values(), *POSITION_TERMS)

_COLUMN_TERMS = frozenset(TERMS[name] for name in COLUMNS)
_COUNT = len(OCCURRENCE_FIELDS)
_PROPERTIES = list(OCCURRENCE_FIELDS).index("dynamic_properties")
#: Control characters and halves of surrogate pairs, which no text file of others can be trusted to carry.
_ODD = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")


def cells_of(occurrence: Occurrence) -> tuple[Occurrence, list[str]]:
    """Return an occurrence as it may leave and its cells in the order of ``COLUMNS``.

    Raises
    ------
    InputError
        As ``outgoing`` does.
    """
    leaving = outgoing(occurrence)
    cells = list(msgspec.structs.astuple(leaving)[:_COUNT])
    if leaving.substrate:
        cells[_PROPERTIES] = pack_substrate(leaving.dynamic_properties, leaving.substrate)
    cells += _position_cells(leaving.position)
    if not leaving.extra.keys().isdisjoint(_COLUMN_TERMS):
        extra = {term: text for term, text in leaving.extra.items() if term not in _COLUMN_TERMS}
        leaving = msgspec.structs.replace(leaving, extra=extra)
    return leaving, [storable(cell) for cell in cells]


def _position_cells(position: Position | Released | None) -> tuple[str, str, str, str]:
    if not isinstance(position, Released):
        return "", "", "", ""
    radius = "" if position.uncertainty_m is None else format(Decimal(repr(position.uncertainty_m)), "f")
    return position.lat_text, position.lon_text, position.datum, radius.removesuffix(".0")


def storable(text: str) -> str:
    """Return a text in which characters that no file of text holds are replaced by U+FFFD."""
    return _ODD.sub("\ufffd", text)


def pack_substrate(properties: str, substrate: str) -> str:
    """Return dynamic properties that also tell the substrate."""
    try:
        table: Any = json.loads(properties) if properties else {}
    except (ValueError, RecursionError):
        table = None
    if not isinstance(table, dict):
        return f"{properties}; substrate={substrate}"
    return json.dumps({**table, "substrate": substrate}, ensure_ascii=False)


def unpack_substrate(properties: str) -> tuple[str, str]:
    """Return dynamic properties without the substrate, and the substrate (empty where none is told)."""
    if "substrate" not in properties:
        return properties, ""
    try:
        table = json.loads(properties)
    except (ValueError, RecursionError):
        rest, found, substrate = properties.rpartition("; substrate=")
        return (rest, substrate) if found else (properties, "")
    if not isinstance(table, dict) or not isinstance(table.get("substrate"), str):
        return properties, ""
    substrate = table.pop("substrate")
    return json.dumps(table, ensure_ascii=False) if table else "", substrate
