"""A map that needs no network: a sheet with land, boundaries, graticule, scale and places, to be drawn as SVG."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from trug.place.outline import (
    ScaleBar,
    View,
    clipped_area,
    clipped_lines,
    degree_step,
    scale_bar,
    thinned,
    view_of,
)
from trug.web.outlines import Outlines, detail_for, outlines

__all__ = ["REGION_VIEWS", "GraticuleLine", "Ground", "Mark", "Sheet", "Spot", "sheet", "view_for"]

#: Where the map opens when there is no place yet: latitude, longitude [degrees] and zoom for each region.
REGION_VIEWS = {
    "europe-atlantic": (51.5, -1.0, 4.0),
    "europe-north": (62.0, 18.0, 4.0),
    "europe-central": (49.5, 12.5, 5.0),
    "europe-south": (41.0, 13.0, 4.0),
    "europe-east": (51.0, 28.0, 4.0),
    "america-northeast": (43.0, -80.0, 4.0),
    "america-southeast": (32.5, -84.0, 4.0),
    "america-west": (43.0, -117.0, 4.0),
}
WORLD_VIEW = (25.0, 0.0, 1.0)
#: Half the height of a line of names [px], and how wide a letter is about [px].
_HALF_LINE, _LETTER = 12.0, 8.5
#: Smallest outline that is drawn, and smallest lake: many small ones would blacken the land [px].
_SMALLEST, _SMALLEST_LAKE = 2.0, 9.0


@dataclass(frozen=True, slots=True)
class Spot:
    """A place to be marked: where it is, or the cell it is shared as where ``cell`` is given [degrees: W, S, E, N]."""

    id: str
    name: str
    lat: float
    lon: float
    cell: tuple[float, float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on the sheet [px]: its number in the list, its name where there is room, on the right or the left."""

    id: str
    number: int
    name: str
    x: float
    y: float
    named: bool
    leftward: bool
    cell: tuple[float, float, float, float] | None


@dataclass(frozen=True, slots=True)
class GraticuleLine:
    """A meridian or a parallel on the sheet [px] with its label."""

    x1: float
    y1: float
    x2: float
    y2: float
    label: str
    parallel: bool


@dataclass(frozen=True, slots=True)
class Ground:
    """Paths of SVG: areas of land, of lakes and of islands in them; lines of their shores and of boundaries."""

    land: str = ""
    lakes: str = ""
    islands: str = ""
    shores: str = ""
    borders: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything that is drawn; ``complete`` is False where no outlines are installed."""

    view: View
    ground: Ground
    graticule: tuple[GraticuleLine, ...]
    marks: tuple[Mark, ...]
    scale: ScaleBar
    complete: bool


def view_for(spots: Sequence[Spot], region: str | None, width_px: int, height_px: int) -> View:
    """Return what the map shows first: all places, or the region where there is none."""
    if spots:
        return view_of(np.array([[s.lon, s.lat] for s in spots]), width_px, height_px)
    lat, lon, zoom = REGION_VIEWS.get(region or "", WORLD_VIEW)
    return View(lat, lon, zoom, width_px, height_px)


def sheet(view: View, spots: Sequence[Spot]) -> Sheet:
    """Return the sheet of a view; ``spots`` are numbered as they come."""
    ground = _ground(view)
    return Sheet(
        view=view,
        ground=ground or Ground(),
        graticule=tuple(_graticule(view)),
        marks=tuple(_marks(view, spots)),
        scale=scale_bar(view, min(140.0, view.width_px / 3)),
        complete=ground is not None,
    )


@functools.lru_cache(maxsize=128)
def _ground(view: View) -> Ground | None:
    """Return what is drawn of the ground; None where no outlines are installed."""
    detail = detail_for(view.zoom)
    shores, borders = outlines("gshhs", detail), outlines("countries", detail)
    if shores is None or borders is None:
        return None
    land = _areas(view, shores)
    return Ground(
        land="".join(land.get(1, ())),
        lakes="".join(land.get(2, ())),
        islands="".join(land.get(3, ())),
        shores=_lines(view, shores),
        borders=_lines(view, borders),
    )


def _shifted(view: View, whole: Outlines) -> Iterable[tuple[int, float]]:
    """Return the outlines in view, each with the turn [degrees] that brings it there."""
    west, south, east, north = view.bounds
    px = 360.0 / view.world_px
    for turn in (-360.0, 0.0, 360.0):
        for number in whole.within(west - turn, south, east - turn, north, _SMALLEST * px, _SMALLEST_LAKE * px):
            yield number, turn


def _areas(view: View, whole: Outlines) -> dict[int, list[str]]:
    """Return closed paths by what they are: 1 for land, 2 for lakes, 3 for islands in them."""
    out: dict[int, list[str]] = {}
    for number, turn in _shifted(view, whole):
        level = int(whole.level[number])
        xy = thinned(view.xy(whole.line(number) + (turn, 0.0)))
        area = clipped_area(xy, view.width_px, view.height_px)
        if len(area):
            out.setdefault(1 if level == 5 else level, []).append(_path(area) + "z")
    return out


def _lines(view: View, whole: Outlines) -> str:
    """Return open paths, without the seams along which the data are cut: the date line and the south pole."""
    out = []
    for number, turn in _shifted(view, whole):
        points = whole.line(number)
        seam = (np.abs(points[:, 0]) >= 179.999) | (points[:, 1] <= -89.9)
        both = seam[:-1] & seam[1:]
        cuts = [0, *(np.flatnonzero(both) + 1).tolist(), len(points)]
        xy = view.xy(points + (turn, 0.0))
        for first, last in pairwise(cuts):
            piece = thinned(xy[first:last])
            if len(piece) > 1:
                out += [_path(line) for line in clipped_lines(piece, view.width_px, view.height_px)]
    return "".join(out)


def _path(xy: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in xy.tolist())


def _graticule(view: View) -> Iterable[GraticuleLine]:
    west, south, east, north = view.bounds
    step = degree_step(max(east - west, (north - south) * 0.7))
    for lon in _multiples(west, east, step):
        x = float(view.xy(np.array([[lon, 0.0]]))[0, 0])
        told = math.remainder(lon, 360.0)
        yield GraticuleLine(x, 0.0, x, view.height_px, _degrees(told, step, "E", "W"), False)
    for lat in _multiples(south, north, step):
        y = float(view.xy(np.array([[0.0, lat]]))[0, 1])
        yield GraticuleLine(0.0, y, view.width_px, y, _degrees(lat, step, "N", "S"), True)


def _multiples(low: float, high: float, step: float) -> list[float]:
    return [n * step for n in range(math.ceil(low / step), math.floor(high / step) + 1)]


def _degrees(value: float, step: float, plus: str, minus: str) -> str:
    decimals = 0 if step >= 1 else 1 if step >= 0.1 else 2
    shown = f"{abs(value):.{decimals}f}°"
    return shown if round(value, decimals) == 0 else f"{shown} {plus if value > 0 else minus}"


def _marks(view: View, spots: Sequence[Spot]) -> Iterable[Mark]:
    """Return the marks on the sheet; a name is left out where it would lie on another mark or name."""
    found = []
    for number, spot in enumerate(spots, start=1):
        lon = view.lon + math.remainder(spot.lon - view.lon, 360.0)
        x, y = view.xy(np.array([[lon, spot.lat]]))[0].tolist()
        cell = _cell_px(view, spot, lon - spot.lon)
        if -20 <= x <= view.width_px + 20 and -20 <= y <= view.height_px + 20:
            found.append((number, spot, x, y, cell))
    taken = [(x - 13.0, y - 13.0, x + 13.0, y + 13.0) for _, _, x, y, _ in found]
    for number, spot, x, y, cell in found:
        wide = len(spot.name) * _LETTER + 6
        leftward = x + 16 + wide > view.width_px
        left = x - 16 - wide if leftward else x + 16
        box = (left, y - _HALF_LINE, left + wide, y + _HALF_LINE)
        room = left >= 0 and not any(_overlap(box, other) for other in taken)
        if room:
            taken.append(box)
        yield Mark(spot.id, number, spot.name, x, y, room, leftward, cell)


def _cell_px(view: View, spot: Spot, turn: float) -> tuple[float, float, float, float] | None:
    """Return the cell of a place on the sheet: left, top, width and height [px]."""
    if spot.cell is None:
        return None
    west, south, east, north = spot.cell
    (left, top), (right, bottom) = view.xy(np.array([[west + turn, north], [east + turn, south]])).tolist()
    return left, top, right - left, bottom - top


def _overlap(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
