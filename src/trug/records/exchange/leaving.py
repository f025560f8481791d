"""What happens to a find before it is written for others: its place is generalised, its texts give no place away.

A text may hide a place that no program sees ("behind the old mill"): locality and remarks are for a person to read
before they leave.
"""

from __future__ import annotations

import functools
import json
import re
from collections.abc import Mapping
from typing import Any, TypeVar

import msgspec

from trug.errors import InputError
from trug.place import (
    DEFAULT_GRID_DEG,
    Policy,
    Released,
    altitude_band,
    has_coordinates,
    release_position,
    without_coordinates,
)
from trug.records.exchange.dates import is_iso_date
from trug.records.exchange.occurrence import Identification, Measurement, Media, Occurrence
from trug.records.exchange.terms import PLACE_TERMS, short_name

__all__ = ["outgoing", "release_occurrence", "texts_with_coordinates"]

#: Said in ``informationWithheld`` where something was taken out.
WITHHELD_SENTENCE = "Coordinates and heights written in other fields are withheld."

#: In identifiers a number needs more decimals than in a sentence to be taken for degrees.
_IN_IDENTIFIERS = 4
_DEGREE_UNITS = frozenset({"", "°", "deg", "degree", "degrees", "decimal degrees", "m n", "m e"})
_TELLS_PLACE = re.compile(
    r"(?i)(?:^|[^a-z]|decimal|verbatim|gps)(?:lat|lon|lng|long)(?:[^a-z]|$)"
    r"|latitude|longitude|coord|geohash|mgrs|utm|easting|northing|grid_?ref|wkt|gps"
)
_DIGIT = re.compile(r"\d")
_HEIGHT = re.compile(r"\s*(-?\d+(?:[.,]\d+)?)")

_UUID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
#: Identifiers that programs make: their digits can look like degrees (13d12e), but tell no place.
_MADE = re.compile(rf"{_UUID.pattern}|[0-9a-f]{{64}}")
#: The same sentences, places and habits of a person come again and again.
_without = functools.lru_cache(maxsize=4096)(without_coordinates)

Row = TypeVar("Row", Media, Measurement, Identification, Occurrence)


def release_occurrence(
    occurrence: Occurrence, policy: Policy = Policy.GENERALISED, grid_deg: float = DEFAULT_GRID_DEG
) -> Occurrence:
    """Return an occurrence that the writers accept; see ``trug.place.release_position``.

    Under every policy but ``EXACT`` coordinates in its texts are withheld, heights are given in bands of 100 m, and
    terms that tell the place more finely are left out.
    """
    released = release_position(occurrence.position, policy, grid_deg)
    moved = msgspec.structs.replace(occurrence, position=released)
    return moved if policy is Policy.OWN_DEVICES else outgoing(moved)


def outgoing(occurrence: Occurrence) -> Occurrence:
    """Return an occurrence as it may be written; doing it twice changes nothing more. Every writer calls it.

    Raises
    ------
    InputError
        Where the position did not pass ``release_position``, was released for own devices only, or stands in the
        identifier of the find.
    """
    position = occurrence.position
    if position is not None and not isinstance(position, Released):
        raise InputError("the position of a find is not released; pass it through release_occurrence() first")
    if position is not None and position.policy is Policy.OWN_DEVICES:
        raise InputError("this position was released for own devices only; choose generalised or exact for others")
    if position is not None and position.exact:
        return occurrence
    grid = DEFAULT_GRID_DEG if position is None or position.grid_deg is None else position.grid_deg
    identifier = occurrence.occurrence_id
    if not _UUID.fullmatch(identifier) and has_coordinates(identifier, grid, _IN_IDENTIFIERS):
        raise InputError("the identifier of a find holds coordinates; give the find another one before it leaves")
    cleaned = _cleaned(occurrence, grid, keep=("occurrence_id", "dynamic_properties", *_HEIGHTS))
    low, high = _band(occurrence)
    cleaned = msgspec.structs.replace(
        cleaned,
        dynamic_properties=_properties(occurrence.dynamic_properties, grid),
        minimum_elevation_m=low,
        maximum_elevation_m=high,
        coordinate_precision="" if position is None else f"{position.grid_deg:g}",
        media=tuple(_media(row, grid) for row in occurrence.media),
        measurements=tuple(_measurement(row, grid) for row in occurrence.measurements if not _is_place(row)),
        identifications=tuple(_cleaned(row, grid, ids=("identification_id",)) for row in occurrence.identifications),
    )
    return _told(occurrence, cleaned, position)


def texts_with_coordinates(occurrence: Occurrence, grid_deg: float = DEFAULT_GRID_DEG) -> dict[str, str]:
    """Return the fields of an occurrence whose text reads as holding coordinates, for a person to look at."""
    fields = msgspec.structs.asdict(occurrence)
    found = {name: text for name, text in fields.items() if isinstance(text, str) and has_coordinates(text, grid_deg)}
    return found | {key: text for key, text in occurrence.extra.items() if has_coordinates(text, grid_deg)}


_HEIGHTS = ("minimum_elevation_m", "maximum_elevation_m")
_OURS = {"data_generalizations", "information_withheld", "coordinate_precision"}


def _told(before: Occurrence, after: Occurrence, position: Released | None) -> Occurrence:
    """Return an occurrence that says what was generalised and that something was withheld."""
    generalised, withheld = after.data_generalizations, after.information_withheld
    if position is not None and position.generalisation not in generalised:
        generalised = f"{generalised} {position.generalisation}".strip()
    changed = msgspec.structs.replace(after, **{name: getattr(before, name) for name in _OURS}) != before
    if changed and WITHHELD_SENTENCE not in withheld:
        withheld = f"{withheld} {WITHHELD_SENTENCE}".strip()
    return msgspec.structs.replace(after, data_generalizations=generalised, information_withheld=withheld)


def _cleaned(row: Row, grid: float, *, keep: tuple[str, ...] = (), ids: tuple[str, ...] = ()) -> Row:
    """Return a row whose texts hold no coordinates."""
    changes: dict[str, Any] = {}
    for name in row.__struct_fields__:
        text = getattr(row, name)
        if not isinstance(text, str) or not _DIGIT.search(text) or name in keep:
            continue
        if name in ids:
            clean = "" if not _MADE.fullmatch(text) and has_coordinates(text, grid, _IN_IDENTIFIERS) else text
        else:
            clean = text if is_iso_date(text) else _without(text, grid)
        if clean != text:
            changes[name] = clean
    if row.extra:
        extra = _extra(row.extra, grid)
        if extra != row.extra:
            changes["extra"] = extra
    return msgspec.structs.replace(row, **changes) if changes else row


def _extra(extra: Mapping[str, str], grid: float) -> dict[str, str]:
    return {
        key: text if is_iso_date(text) else _without(text, grid)
        for key, text in extra.items()
        if key not in PLACE_TERMS and not _TELLS_PLACE.search(short_name(key)) and not has_coordinates(key, grid)
    }


def _media(row: Media, grid: float) -> Media:
    return _cleaned(row, grid, ids=("identifier", "references"))


def _is_place(row: Measurement) -> bool:
    """Return whether a measurement is of the place itself."""
    return bool(_TELLS_PLACE.search(row.measurement_type)) or row.measurement_type in PLACE_TERMS


def _measurement(row: Measurement, grid: float) -> Measurement:
    """Return a measurement without coordinates; a figure with a unit that is no angle stays as it is."""
    measured = row.measurement_unit.strip().lower() not in _DEGREE_UNITS
    keep = ("measurement_value", "measurement_accuracy") if measured else ()
    return _cleaned(row, grid, keep=keep, ids=("measurement_id",))


def _band(occurrence: Occurrence) -> tuple[str, str]:
    """Return the two heights widened to whole bands; empty where they cannot be read."""
    told = [_HEIGHT.match(text) for text in (occurrence.minimum_elevation_m, occurrence.maximum_elevation_m) if text]
    heights = sorted(float(found[1].replace(",", ".")) for found in told if found)
    if not heights or len(heights) < len(told):
        return "", ""
    try:
        band = altitude_band(heights[0], heights[-1])
    except InputError:
        return "", ""
    return f"{band.low_m:.0f}", f"{band.high_m:.0f}"


def _properties(text: str, grid: float) -> str:
    """Return dynamic properties without coordinates; a JSON object stays one."""
    if not text:
        return text
    try:
        table = json.loads(text)
    except (ValueError, RecursionError):
        return _without(text, grid)
    if not isinstance(table, dict):
        return _without(text, grid)
    kept = {key: value for key, value in table.items() if not _gives_away(key, value, grid)}
    if kept == table and not has_coordinates(text, grid):
        return text
    plain = json.dumps(kept, ensure_ascii=False)
    return plain if not has_coordinates(plain, grid) else _without(plain, grid)


def _gives_away(key: str, value: Any, grid: float) -> bool:
    shown = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return bool(_TELLS_PLACE.search(key)) or has_coordinates(f"{key}: {shown}", grid)
