"""Altitude in bands, so that a height does not pick one slope out of a grid cell."""

from __future__ import annotations

import math
from dataclasses import dataclass

from trug.errors import ImplausibleError

__all__ = ["BAND_M", "HIGHEST_M", "LOWEST_M", "AltitudeBand", "altitude_band"]

#: Width of a band [m].
BAND_M = 100.0
#: The lowest dry ground and the highest on earth, rounded outwards [m].
LOWEST_M, HIGHEST_M = -500.0, 8900.0


@dataclass(frozen=True, slots=True)
class AltitudeBand:
    """A range of altitudes above the sea [m], both ends included in what may be meant."""

    low_m: float
    high_m: float


def altitude_band(lowest_m: float, highest_m: float | None = None) -> AltitudeBand:
    """Return the whole bands of 100 m that hold an altitude or a range of altitudes.

    A band is its own band again.

    Raises
    ------
    ImplausibleError
        For an altitude outside -500 to 8900 m, or a range with its ends swapped.
    """
    top = lowest_m if highest_m is None else highest_m
    if not (LOWEST_M <= lowest_m <= top <= HIGHEST_M):
        raise ImplausibleError(
            f"an altitude must lie in {LOWEST_M:.0f} to {HIGHEST_M:.0f} m, the lower end first, "
            f"got {lowest_m!r} to {top!r}"
        )
    low = math.floor(lowest_m / BAND_M) * BAND_M
    high = math.ceil(top / BAND_M) * BAND_M
    return AltitudeBand(low, high if high > low else low + BAND_M)
