"""Outlines on a flat map: projected, cut to what is shown, with no more points than a screen can tell apart.

The map is Mercator's on a sphere: a course keeps its angle, and the scale grows with the latitude.

References
----------
J. P. Snyder (1987), Map projections: a working manual, U.S. Geological Survey Professional Paper 1395,
equations (7-1), (7-2) and their inverses (7-4), (7-5), doi:10.3133/pp1395.
I. E. Sutherland and G. W. Hodgman (1974), Reentrant polygon clipping, Communications of the ACM 17 (1), 32-42,
doi:10.1145/360767.360802.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trug.errors import ImplausibleError

__all__ = [
    "FARTHEST_LAT",
    "ZOOMS",
    "ScaleBar",
    "Tile",
    "View",
    "clipped_area",
    "clipped_lines",
    "degree_step",
    "scale_bar",
    "thinned",
    "tiles_of",
    "view_of",
]

Points = NDArray[np.float64]

#: Where the square map of the world ends [degrees].
FARTHEST_LAT = 85.0
#: Zoom: the world is 256 times 2 to this power wide [px].
ZOOMS = (1.0, 13.0)
#: Radius of the sphere of the map: the mean one of the earth [m].
RADIUS_M = 6_371_008.8
WORLD_PX = 256.0


@dataclass(frozen=True, slots=True)
class View:
    """What of the world is shown: its middle [degrees], the zoom, the size of the sheet [px].

    Raises
    ------
    ImplausibleError
        The middle is not on the map, or zoom or size are outside their range.
    """

    lat: float
    lon: float
    zoom: float
    width_px: int = 640
    height_px: int = 480

    def __post_init__(self) -> None:
        if not (abs(self.lat) <= FARTHEST_LAT and abs(self.lon) <= 180):
            raise ImplausibleError("the middle of the map must lie between 85 S and 85 N, 180 W and 180 E")
        if not ZOOMS[0] <= self.zoom <= ZOOMS[1]:
            raise ImplausibleError(f"the zoom must lie between {ZOOMS[0]:g} and {ZOOMS[1]:g}")
        if not (100 <= self.width_px <= 2000 and 100 <= self.height_px <= 2000):
            raise ImplausibleError("the map must be 100 to 2000 px wide and high")

    @property
    def world_px(self) -> float:
        """Width of the whole world at this zoom [px]."""
        return float(WORLD_PX * 2.0**self.zoom)

    @property
    def metres_per_px(self) -> float:
        """What a pixel in the middle of the sheet measures on the ground [m]."""
        return 2 * math.pi * RADIUS_M * math.cos(math.radians(self.lat)) / self.world_px

    def xy(self, lon_lat: Points) -> Points:
        """Return points [degrees, longitude first] as places on the sheet [px], from its upper left corner."""
        lat = np.radians(np.clip(lon_lat[:, 1], -FARTHEST_LAT, FARTHEST_LAT))
        x = (lon_lat[:, 0] - self.lon) / 360.0 * self.world_px + self.width_px / 2
        y = (_northing(self.lat) - np.log(np.tan(math.pi / 4 + lat / 2))) / (2 * math.pi) * self.world_px
        return np.column_stack([x, y + self.height_px / 2])

    def lat_lon(self, x: float, y: float) -> tuple[float, float]:
        """Return latitude and longitude [degrees] of a place on the sheet [px]; longitudes may pass 180."""
        north = _northing(self.lat) - (y - self.height_px / 2) / self.world_px * 2 * math.pi
        lat = math.degrees(2 * math.atan(math.exp(north)) - math.pi / 2)
        return lat, self.lon + (x - self.width_px / 2) / self.world_px * 360.0

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """West, south, east and north edge [degrees]; west and east may pass 180."""
        north, west = self.lat_lon(0, 0)
        south, east = self.lat_lon(self.width_px, self.height_px)
        return west, max(south, -FARTHEST_LAT), east, min(north, FARTHEST_LAT)

    def moved(self, right_px: float, down_px: float) -> View:
        """Return the view after a move; it stops at the upper and lower end of the map."""
        lat, lon = self.lat_lon(self.width_px / 2 + right_px, self.height_px / 2 + down_px)
        return replace(self, lat=min(max(lat, -FARTHEST_LAT), FARTHEST_LAT), lon=math.remainder(lon, 360.0))

    def zoomed(self, by: float) -> View:
        """Return the view zoomed in (or out, by less than 0) about its middle, as far as the map goes."""
        return replace(self, zoom=min(max(self.zoom + by, ZOOMS[0]), ZOOMS[1]))


def _northing(lat: float) -> float:
    return math.log(math.tan(math.pi / 4 + math.radians(lat) / 2))


def view_of(points: Points, width_px: int, height_px: int, closest: float = 10.0) -> View:
    """Return the closest view, in whole zooms, that shows all points (n, 2) [degrees, longitude first] with a margin.

    Points on both sides of the date line are shown the shorter way round.
    """
    lon = np.sort(points[:, 0] % 360.0)
    gaps = np.diff(np.append(lon, lon[0] + 360.0))
    west = lon[(int(np.argmax(gaps)) + 1) % len(lon)]
    wide = 360.0 - float(gaps.max())
    lat = np.clip(points[:, 1], -FARTHEST_LAT, FARTHEST_LAT)
    south, north = _northing(float(lat.min())), _northing(float(lat.max()))
    middle = math.degrees(2 * math.atan(math.exp((south + north) / 2)) - math.pi / 2)
    view = View(middle, math.remainder(west + wide / 2, 360.0), ZOOMS[0], width_px, height_px)
    while view.zoom < closest:
        nearer = view.zoomed(1)
        across, down = wide / 360 * nearer.world_px, (north - south) / (2 * math.pi) * nearer.world_px
        if across > 0.75 * width_px or down > 0.75 * height_px:
            break
        view = nearer
    return view


def thinned(xy: Points, apart_px: float = 0.6) -> Points:
    """Return points without those that fall into the same cell of a fine grid as the point before them."""
    if len(xy) < 3:
        return xy
    cells = np.floor(xy / apart_px)
    keep = np.append(True, (cells[1:] != cells[:-1]).any(axis=1))
    keep[-1] = True
    kept: Points = xy[keep]
    return kept


def clipped_area(xy: Points, width_px: float, height_px: float, margin_px: float = 8.0) -> Points:
    """Return the part of a closed area that lies on the sheet, the margin included; empty where none does."""
    for axis, edge, sign in (
        (0, -margin_px, 1.0),
        (0, -(width_px + margin_px), -1.0),
        (1, -margin_px, 1.0),
        (1, -(height_px + margin_px), -1.0),
    ):
        if len(xy) < 3:
            return np.empty((0, 2))
        inside = sign * xy[:, axis] - edge
        if inside.min() < 0:
            xy = _half(xy, inside)
    return xy if len(xy) >= 3 else np.empty((0, 2))


def _half(xy: Points, inside: Points) -> Points:
    """Return an area cut by a straight line; ``inside`` is the distance of each point from it, positive if kept."""
    after, after_inside = np.roll(xy, -1, axis=0), np.roll(inside, -1)
    crosses = (inside >= 0) != (after_inside >= 0)
    kept = inside >= 0
    out = np.full((len(xy), 2, 2), np.nan)
    out[kept, 0] = xy[kept]
    share = inside[crosses] / (inside[crosses] - after_inside[crosses])
    out[crosses, 1] = xy[crosses] + share[:, None] * (after[crosses] - xy[crosses])
    flat = out.reshape(-1, 2)
    cut: Points = flat[~np.isnan(flat[:, 0])]
    return cut


def clipped_lines(xy: Points, width_px: float, height_px: float, margin_px: float = 8.0) -> list[Points]:
    """Return the stretches of a line that may touch the sheet."""
    low, high = np.minimum(xy[:-1], xy[1:]), np.maximum(xy[:-1], xy[1:])
    edge = np.array([width_px + margin_px, height_px + margin_px])
    touches: NDArray[np.bool_] = np.all((high >= -margin_px) & (low <= edge), axis=1)
    steps = np.flatnonzero(np.diff(np.concatenate([[False], touches, [False]]).astype(np.int8)))
    return [xy[start : end + 1] for start, end in pairwise(steps) if touches[start]]


def degree_step(span_deg: float, most: int = 6) -> float:
    """Return the round step [degrees] of the finest graticule that has at most so many lines across a span."""
    steps = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0)
    return next((s for s in steps if span_deg / s <= most), 45.0)


@dataclass(frozen=True, slots=True)
class ScaleBar:
    """A bar of a round length: as drawn [px] and on the ground [m]."""

    px: float
    metres: float

    @property
    def label(self) -> str:
        """The length with its unit."""
        return f"{self.metres / 1000:g} km" if self.metres >= 1000 else f"{self.metres:g} m"


def scale_bar(view: View, longest_px: float = 140.0) -> ScaleBar:
    """Return the longest bar of 1, 2 or 5 times a power of ten metres that fits; true in the middle of the sheet."""
    most = longest_px * view.metres_per_px
    power = 10.0 ** math.floor(math.log10(most))
    metres = next(m * power for m in (5.0, 2.0, 1.0) if m * power <= most)
    return ScaleBar(metres / view.metres_per_px, metres)


@dataclass(frozen=True, slots=True)
class Tile:
    """A square picture of a tiled map: zoom, column and row in its pyramid, and where it lies on the sheet [px]."""

    zoom: int
    column: int
    row: int
    x: float
    y: float
    size_px: float


def tiles_of(view: View) -> list[Tile]:
    """Return the tiles that cover a view, row by row.

    The pyramid is the usual one of web maps: at zoom z the world, from 180 W and 85.0511 N, is 2 to the power of z
    tiles wide and high, and rows count from the north.
    """
    zoom = round(view.zoom)
    count = 1 << zoom
    size = view.world_px / count
    left = (view.lon + 180.0) / 360.0 * view.world_px - view.width_px / 2
    top = view.world_px / 2 - _northing(view.lat) / (2 * math.pi) * view.world_px - view.height_px / 2
    rows = range(max(math.floor(top / size), 0), min(math.ceil((top + view.height_px) / size), count))
    columns = range(math.floor(left / size), math.ceil((left + view.width_px) / size))
    return [Tile(zoom, c % count, r, c * size - left, r * size - top, size) for r in rows for c in columns]
