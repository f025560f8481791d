"""A position on the earth, checked: degrees on WGS 84 and how far it may be off."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Protocol

from trug.errors import ImplausibleError, InputError

__all__ = ["DATUM", "FARTHEST_M", "Placed", "Position", "is_wgs84", "position_of"]

#: The one datum this program reckons with; what a phone and most receivers give.
DATUM = "WGS84"
#: Half the way round the earth: no position is more uncertain [m].
FARTHEST_M = 20_037_509.0

#: Names of WGS 84 as people and programs write them, without spaces, dashes and case.
_WGS84_NAMES = frozenset(
    {
        "WGS84",
        "WGS1984",
        "WORLDGEODETICSYSTEM1984",
        "EPSG4326",
        "EPSG4979",
        "URNOGCDEFCRSEPSG4326",
        "URNOGCDEFCRSEPSG4979",
        "URNOGCDEFCRSOGC13CRS84",
        "OGCCRS84",
        "CRS84",
        "HTTPWWWOPENGISNETDEFCRSEPSG04326",
    }
)


class Placed(Protocol):
    """What stands somewhere: the place of a find, or a position."""

    @property
    def lat(self) -> float:
        """Degrees north of the equator."""

    @property
    def lon(self) -> float:
        """Degrees east of Greenwich."""

    @property
    def uncertainty_m(self) -> float | None:
        """How far the true point may be away [m]; None where nobody told."""

    @property
    def datum(self) -> str:
        """The geodetic datum."""


@dataclass(frozen=True, slots=True)
class Position:
    """A point and the radius around it that holds the true one.

    Parameters
    ----------
    lat, lon : float
        Degrees north (-90 to 90) and east (-180 to 180).
    uncertainty_m : float or None
        Radius [m], more than 0; None where nobody recorded it.
    datum : str
        A name of WGS 84, kept as ``WGS84``. Every other datum is refused: a shift by the wrong amount puts a
        point up to a kilometre away without anybody seeing it.

    Raises
    ------
    ImplausibleError
        For a point that is not on the earth or an uncertainty that is not a distance.
    InputError
        For another datum.
    """

    lat: float
    lon: float
    uncertainty_m: float | None = None
    datum: str = DATUM

    def __post_init__(self) -> None:
        if not (-90.0 <= self.lat <= 90.0):
            raise ImplausibleError(
                f"latitude must lie in -90 to 90 degrees, got {self.lat!r}; are lat and lon swapped?"
            )
        if not (-180.0 <= self.lon <= 180.0):
            raise ImplausibleError(f"longitude must lie in -180 to 180 degrees, got {self.lon!r}")
        if self.uncertainty_m is not None and not (0.0 < self.uncertainty_m <= FARTHEST_M):
            raise ImplausibleError(
                f"the uncertainty must be more than 0 m and at most {FARTHEST_M:.0f} m, got {self.uncertainty_m!r}; "
                "leave it out where it is not known"
            )
        if self.datum != DATUM:
            if not is_wgs84(self.datum):
                raise InputError(
                    f"the datum {self.datum!r} cannot be used; give the position in WGS84, as a phone shows it"
                )
            object.__setattr__(self, "datum", DATUM)


def is_wgs84(name: str) -> bool:
    """Return whether a datum name means WGS 84."""
    return re.sub(r"[\W_]", "", name).upper() in _WGS84_NAMES


def position_of(place: Placed) -> Position:
    """Return the checked position of a place; an uncertainty of 0 counts as not recorded.

    Raises
    ------
    InputError
        As ``Position`` does.
    """
    uncertainty = place.uncertainty_m
    if uncertainty is not None and (uncertainty == 0 or math.isnan(uncertainty)):
        uncertainty = None
    return Position(float(place.lat), float(place.lon), uncertainty, place.datum)
