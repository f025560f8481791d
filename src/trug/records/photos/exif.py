"""When, where and with what a photo was taken, from its EXIF tags.

References
----------
CIPA DC-008-2019 (EXIF 2.32): section 4.6.4 for TIFF tags, 4.6.5 for EXIF tags, 4.6.6 for GPS tags.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

__all__ = ["Position", "camera_of", "orientation_of", "position_of", "taken_of"]

# TIFF tags
MAKE, MODEL, ORIENTATION = 0x010F, 0x0110, 0x0112
# EXIF tags
DATE_TIME_ORIGINAL, OFFSET_TIME_ORIGINAL = 0x9003, 0x9011
# GPS tags
LATITUDE_REF, LATITUDE, LONGITUDE_REF, LONGITUDE = 0x01, 0x02, 0x03, 0x04
ALTITUDE_REF, ALTITUDE, STATUS, MAP_DATUM, POSITIONING_ERROR = 0x05, 0x06, 0x09, 0x12, 0x1F

_OFFSET = re.compile(r"([+-])(\d\d):(\d\d)")
#: GPSAltitudeRef: 1 lies below sea level (EXIF 2.32), 3 too (added by EXIF 3.0).
_BELOW = (1, 3)
#: A name longer than this is no camera.
_LONGEST_NAME = 80


@dataclass(frozen=True, slots=True)
class Position:
    """Where a photo was taken, as its device wrote it.

    ``latitude`` [-90..90 degrees], ``longitude`` [-180..180 degrees]; ``altitude_m`` above sea level and
    ``uncertainty_m`` (radius) are None where the device said nothing. ``datum`` is ``WGS84`` unless the
    device named another.
    """

    latitude: float
    longitude: float
    altitude_m: float | None = None
    uncertainty_m: float | None = None
    datum: str = "WGS84"


def taken_of(exif: Mapping[int, Any]) -> datetime.datetime | None:
    """Return DateTimeOriginal, with its zone where OffsetTimeOriginal gives one; None if absent or no date.

    The date of the file (DateTime) is not used: it changes when a photo is edited.
    """
    try:
        taken = datetime.datetime.strptime(_text(exif.get(DATE_TIME_ORIGINAL)), "%Y:%m:%d %H:%M:%S")
        offset = _OFFSET.fullmatch(_text(exif.get(OFFSET_TIME_ORIGINAL)))
        if offset:
            sign, hours, minutes = offset.groups()
            ahead = datetime.timedelta(hours=int(hours), minutes=int(minutes))
            taken = taken.replace(tzinfo=datetime.timezone(-ahead if sign == "-" else ahead))
    except ValueError:
        return None
    return taken


def position_of(gps: Mapping[int, Any]) -> Position | None:
    """Return where the photo was taken, or None where the device did not know or wrote nonsense.

    None also for a missing hemisphere (it is not guessed), for a fix that the device marked void
    (GPSStatus ``V``) and for exactly 0, 0, which devices write for want of a fix.
    """
    latitude = _degrees(gps.get(LATITUDE), gps.get(LATITUDE_REF), "N", "S", 90.0)
    longitude = _degrees(gps.get(LONGITUDE), gps.get(LONGITUDE_REF), "E", "W", 180.0)
    if latitude is None or longitude is None or _text(gps.get(STATUS)).upper() == "V":
        return None
    if latitude == 0.0 and longitude == 0.0:
        return None
    altitude, uncertainty = _number(gps.get(ALTITUDE)), _number(gps.get(POSITIONING_ERROR))
    if altitude is not None and _byte(gps.get(ALTITUDE_REF)) in _BELOW:
        altitude = -altitude
    datum = _text(gps.get(MAP_DATUM)).upper()
    if re.fullmatch(r"(WGS[- ]?(19)?84)?", datum):
        datum = "WGS84"
    return Position(latitude, longitude, altitude, uncertainty if uncertainty else None, datum)


def camera_of(tags: Mapping[int, Any]) -> str:
    """Return maker and model on one line, or an empty text."""
    make, model = _text(tags.get(MAKE)), _text(tags.get(MODEL))
    name = model if model.lower().startswith(make.lower()) else f"{make} {model}"
    return " ".join("".join(c if c.isprintable() else " " for c in name).split())[:_LONGEST_NAME]


def orientation_of(tags: Mapping[int, Any]) -> int:
    """Return the orientation 1 to 8 of the stored pixels; 1 (upright) where the tag is missing or wrong."""
    value = tags.get(ORIENTATION)
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def _degrees(value: Any, ref: Any, plus: str, minus: str, most: float) -> float | None:
    """Return degrees, minutes and seconds as one signed number, or None where they are none."""
    side = _text(ref).upper()
    parts = [_number(v) for v in value] if isinstance(value, (tuple, list)) else []
    if side not in (plus, minus) or len(parts) != 3:
        return None
    degrees, minutes, seconds = parts
    if degrees is None or minutes is None or seconds is None or minutes >= 60 or seconds > 60:
        return None
    angle = degrees + minutes / 60 + seconds / 3600
    if angle > most:
        return None
    return -angle if side == minus else angle


def _number(value: Any) -> float | None:
    """Return a rational as a number that is finite and not negative, else None (0/0 stands for unknown)."""
    try:
        number = float(value)
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if math.isfinite(number) and number >= 0 else None


def _byte(value: Any) -> int:
    if isinstance(value, bytes) and len(value) == 1:
        return value[0]
    return value if isinstance(value, int) else 0


def _text(value: Any) -> str:
    if isinstance(value, bytes):
        value = value.decode("ascii", "replace")
    return value.partition("\x00")[0].strip() if isinstance(value, str) else ""
