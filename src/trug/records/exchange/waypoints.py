"""Waypoints from a GPX file, as receivers and phones save them."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from trug.errors import InputError, UnreadableError
from trug.place import Position
from trug.records.exchange.foreign_xml import parse_foreign

__all__ = ["Waypoint", "read_waypoints"]

MOST_BYTES = 50_000_000


@dataclass(frozen=True, slots=True)
class Waypoint:
    """One marked point: its name, where it is, when it was marked (with the zone, where told) and how high [m]."""

    name: str
    position: Position
    time: datetime.datetime | None = None
    elevation_m: float | None = None
    description: str = ""


def read_waypoints(path: Path) -> list[Waypoint]:
    """Return the waypoints of a GPX file in their order.

    Raises
    ------
    UnreadableError
        Where the file is missing, larger than 50 MB, no GPX, or declares entities.
    InputError
        Where it holds no waypoints (only a track), a point that is not on the earth, or the extra is missing.
    """
    try:
        import gpxpy
        from gpxpy.gpx import GPXException
    except ImportError:
        raise InputError("reading GPX needs more: pip install 'trug[records]'") from None
    text = _plain_xml(path)
    try:
        gpx = gpxpy.parse(text)
    except (GPXException, ValueError, TypeError, AttributeError) as error:
        raise UnreadableError(f"is no GPX file: {error}", file=str(path)) from None
    if not gpx.waypoints:
        raise InputError("holds no waypoints; mark points on the receiver and export them", file=str(path))
    return [_waypoint(point, n, path) for n, point in enumerate(gpx.waypoints, 1)]


def _plain_xml(path: Path) -> bytes:
    """Return the bytes of an XML file that declares no document type and no entities."""
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise UnreadableError(f"cannot be read: {error.strerror}", file=str(path)) from None
    if len(data) > MOST_BYTES:
        raise UnreadableError("is larger than 50 MB; export the waypoints alone", file=str(path))
    try:
        parse_foreign(data)
    except InputError as error:
        raise UnreadableError(f"is no GPX file: it {error.message}", file=str(path)) from None
    return data


def _waypoint(point: Any, number: int, path: Path) -> Waypoint:
    try:
        position = Position(float(point.latitude), float(point.longitude))
    except (InputError, TypeError) as error:
        raise InputError(f"waypoint {number}: {error}", file=str(path)) from None
    words = [word for word in (point.comment, point.description) if word]
    return Waypoint(
        (point.name or "").strip(), position, point.time, point.elevation, "; ".join(dict.fromkeys(words))
    )  # fmt: skip
