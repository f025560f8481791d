"""How far two points lie apart on the WGS 84 ellipsoid.

References
----------
T. Vincenty (1975), Direct and inverse solutions of geodesics on the ellipsoid with application of nested equations,
Survey Review 23 (176), 88-93, doi:10.1179/sre.1975.23.176.88 (the inverse formula).
"""

from __future__ import annotations

import math

__all__ = ["FLATTENING", "MAJOR_M", "distance_m"]

#: Equatorial radius of WGS 84 [m] and its flattening.
MAJOR_M = 6_378_137.0
FLATTENING = 1 / 298.257223563
_MINOR_M = MAJOR_M * (1 - FLATTENING)
#: Mean radius, for the sphere that stands in where the series does not settle [m].
_MEAN_M = (2 * MAJOR_M + _MINOR_M) / 3
_ROUNDS = 200


def distance_m(lat_1: float, lon_1: float, lat_2: float, lon_2: float) -> float:
    """Return the length of the shortest way between two points [m].

    Parameters
    ----------
    lat_1, lon_1, lat_2, lon_2 : float
        Degrees; longitudes may lie on either side of the date line.

    Returns
    -------
    float
        To within a millimetre, except within about half a degree of the far side of the earth, where Vincenty's
        series does not settle: there it is the way on a sphere (within 0.6 %).
    """
    if (lat_1, lon_1) == (lat_2, lon_2):
        return 0.0
    reduced_1 = math.atan((1 - FLATTENING) * math.tan(math.radians(lat_1)))
    reduced_2 = math.atan((1 - FLATTENING) * math.tan(math.radians(lat_2)))
    apart = math.radians(math.remainder(lon_2 - lon_1, 360.0))
    found = _vincenty_1975(reduced_1, reduced_2, apart)
    return _on_sphere(math.radians(lat_1), math.radians(lat_2), apart) if found is None else found


def _vincenty_1975(reduced_1: float, reduced_2: float, apart: float) -> float | None:
    """Return the inverse solution [m], None where it does not settle; all angles in radians."""
    sin_1, cos_1, sin_2, cos_2 = math.sin(reduced_1), math.cos(reduced_1), math.sin(reduced_2), math.cos(reduced_2)
    lam = apart
    for _ in range(_ROUNDS):
        sin_lam, cos_lam = math.sin(lam), math.cos(lam)
        sin_sigma = math.hypot(cos_2 * sin_lam, cos_1 * sin_2 - sin_1 * cos_2 * cos_lam)  # (14)
        if sin_sigma == 0:
            return 0.0 if cos_lam > 0 else None
        cos_sigma = sin_1 * sin_2 + cos_1 * cos_2 * cos_lam  # (15)
        sigma = math.atan2(sin_sigma, cos_sigma)
        sin_alpha = cos_1 * cos_2 * sin_lam / sin_sigma  # (17)
        cos2_alpha = max(0.0, 1 - sin_alpha**2)
        cos_2m = cos_sigma - 2 * sin_1 * sin_2 / cos2_alpha if cos2_alpha > 1e-12 else 0.0  # (18); equator
        c = FLATTENING / 16 * cos2_alpha * (4 + FLATTENING * (4 - 3 * cos2_alpha))  # (10)
        inner = cos_2m + c * cos_sigma * (2 * cos_2m**2 - 1)
        before, lam = lam, apart + (1 - c) * FLATTENING * sin_alpha * (sigma + c * sin_sigma * inner)  # (11)
        if abs(lam) > math.pi:
            return None
        if abs(lam - before) < 1e-12:
            break
    else:
        return None
    u2 = cos2_alpha * (MAJOR_M**2 - _MINOR_M**2) / _MINOR_M**2
    a = 1 + u2 / 16384 * (4096 + u2 * (-768 + u2 * (320 - 175 * u2)))  # (3)
    b = u2 / 1024 * (256 + u2 * (-128 + u2 * (74 - 47 * u2)))  # (4)
    third = b / 6 * cos_2m * (4 * sin_sigma**2 - 3) * (4 * cos_2m**2 - 3)
    delta = b * sin_sigma * (cos_2m + b / 4 * (cos_sigma * (2 * cos_2m**2 - 1) - third))  # (6)
    return _MINOR_M * a * (sigma - delta)  # (19)


def _on_sphere(lat_1: float, lat_2: float, apart: float) -> float:
    """Return the way on a sphere of the mean radius by the haversine formula [m]; angles in radians."""
    h = math.sin((lat_2 - lat_1) / 2) ** 2 + math.cos(lat_1) * math.cos(lat_2) * math.sin(apart / 2) ** 2
    return 2 * _MEAN_M * math.asin(min(1.0, math.sqrt(h)))
