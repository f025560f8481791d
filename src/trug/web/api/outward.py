"""What is taken out of records before the API gives them: nothing of it tells a place more finely than its grid."""

from __future__ import annotations

import functools
import re
from typing import Any, TypeVar

import msgspec

from trug.determine.find import Evidence, Find, Look, Place
from trug.determine.record import Determination
from trug.errors import InputError
from trug.place import DEFAULT_GRID_DEG, altitude_band, release_position, without_coordinates
from trug.records.exchange.dates import is_iso_date
from trug.records.listing import FindPage
from trug.records.tables import LookRow, PlaceRow
from trug.web.api.shapes import Generalised, PlaceLine

__all__ = ["determination_outward", "find_outward", "finds_outward", "look_outward", "place_outward", "text_outward"]

T = TypeVar("T")

#: What a find document adds to a find by itself; anything else in ``extra`` was written elsewhere and stays here.
OWN_EXTRA = ("blind", "labels")
#: Identifiers that a program made: UUIDs and digests.
_MADE = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}|[0-9a-f]{64}")
_without = functools.lru_cache(maxsize=4096)(without_coordinates)


def text_outward(text: str, grid_deg: float = DEFAULT_GRID_DEG) -> str:
    """Return a text without coordinates finer than a grid [degrees]."""
    return text if _MADE.fullmatch(text) or is_iso_date(text) else _without(text, grid_deg)


def find_outward(find: Find, grid_deg: float = DEFAULT_GRID_DEG, locality: str = "") -> Find:
    """Return a find with its place generalised, its altitude in a band of 100 m, and no coordinates in its texts.

    Parameters
    ----------
    locality : str
        What the place is called where the find names none.
    """
    place = _place(find.place, grid_deg, locality)
    extra = {key: value for key, value in find.extra.items() if key in OWN_EXTRA}
    return _cleaned(msgspec.structs.replace(find, place=None, extra=extra), Find, grid_deg, place=place)


def determination_outward(record: Determination) -> Determination:
    """Return a determination without coordinates in what people wrote."""
    return _cleaned(record, Determination, DEFAULT_GRID_DEG)


def finds_outward(page: FindPage) -> FindPage:
    """Return a list of finds without coordinates in their names and places."""
    return _cleaned(page, FindPage, DEFAULT_GRID_DEG, after=page.after)


def look_outward(row: LookRow) -> Look:
    """Return a look of the database as the find document has it."""
    look = Look(
        id=row.id,
        character=row.character,
        evidence=msgspec.convert(row.evidence, Evidence),
        fruitbody=row.fruitbody_id,
        sure=row.sure,  # type: ignore[arg-type]  # checked when it was written
        method=row.method,  # type: ignore[arg-type]
        observer=row.observer_id,
        device=row.device,
        time=row.time,
        sources=tuple(row.sources or ()),
        supersedes=row.supersedes,
    )
    return _cleaned(look, Look, DEFAULT_GRID_DEG)


def place_outward(row: PlaceRow) -> PlaceLine:
    """Return a place with its position on its own grid."""
    position = None
    if row.lat is not None and row.lon is not None:
        released = release_position(Place(row.lat, row.lon, row.uncertainty_m), grid_deg=row.grid_deg)
        assert released.grid_deg is not None
        position = Generalised(
            released.lat, released.lon, released.uncertainty_m, released.grid_deg, released.generalisation
        )
    return PlaceLine(
        row.id, text_outward(row.name, row.grid_deg), row.region, position, text_outward(row.wood, row.grid_deg)
    )


def _place(place: Place | None, grid_deg: float, locality: str) -> Place | None:
    if place is None:
        return None
    try:
        released = release_position(place, grid_deg=grid_deg)
        band = altitude_band(place.altitude_m) if place.altitude_m is not None else None
    except InputError:  # what another database wrote may lie on no earth; then it is not given at all
        return None
    altitude = (band.low_m + band.high_m) / 2 if band is not None else None
    name = text_outward(place.name or locality, grid_deg) or None
    return Place(released.lat, released.lon, released.uncertainty_m, altitude_m=altitude, name=name)


def _cleaned(value: Any, kind: type[T], grid_deg: float, **after: Any) -> T:
    """Return a value whose texts hold no coordinates, with some fields set anew afterwards."""
    table = _without_in(msgspec.to_builtins(value), grid_deg)
    table.update((key, msgspec.to_builtins(field)) for key, field in after.items() if field is not None)
    return msgspec.convert(table, kind)


def _without_in(value: Any, grid_deg: float) -> Any:
    if isinstance(value, str):
        return text_outward(value, grid_deg)
    if isinstance(value, dict):
        return {text_outward(k, grid_deg): _without_in(v, grid_deg) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_without_in(v, grid_deg) for v in value]
    return value
