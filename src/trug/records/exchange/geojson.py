"""Finds on a map: a GeoJSON FeatureCollection (RFC 7946)."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from trug.place import Released
from trug.records.exchange.occurrence import Occurrence
from trug.records.exchange.rows import COLUMNS, cells_of, storable
from trug.records.exchange.terms import short_name
from trug.records.exchange.whole import report, whole_file

__all__ = ["feature_of", "write_geojson"]

#: Told by the geometry.
_IN_GEOMETRY = frozenset({"decimalLatitude", "decimalLongitude", "geodeticDatum"})


def feature_of(occurrence: Occurrence) -> dict[str, Any]:
    """Return a find as a Feature: a Point (longitude first) or no geometry, and its terms as properties.

    Raises
    ------
    InputError
        For a position that was not released.
    """
    leaving, cells = cells_of(occurrence)
    properties = {name: cell for name, cell in zip(COLUMNS, cells, strict=True) if cell and name not in _IN_GEOMETRY}
    properties |= {short_name(term): storable(text) for term, text in leaving.extra.items()}
    position = leaving.position
    geometry = None
    if isinstance(position, Released):
        geometry = {"type": "Point", "coordinates": [json.loads(position.lon_text), json.loads(position.lat_text)]}
    feature: dict[str, Any] = {"type": "Feature", "geometry": geometry, "properties": properties}
    return {**feature, "id": leaving.occurrence_id} if leaving.occurrence_id else feature


def write_geojson(
    path: Path, occurrences: Iterable[Occurrence], *, progress: Callable[[int], None] | None = None
) -> int:
    """Write finds as a FeatureCollection, one Feature on each line, and return how many they are.

    Raises
    ------
    InputError
        For a position that was not released, or a place that cannot be written to.
    """
    count = 0
    with whole_file(path) as file:
        file.write(b'{"type": "FeatureCollection", "features": [')
        for occurrence in occurrences:
            file.write(b",\n" if count else b"\n")
            file.write(json.dumps(feature_of(occurrence), ensure_ascii=False, allow_nan=False).encode())
            count += 1
            report(progress, count)
        file.write(b"\n]}\n")
    report(progress, count, last=True)
    return count
