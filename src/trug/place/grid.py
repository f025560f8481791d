"""The grid on which places are generalised: cells centred on whole multiples of the grid width.

A cell runs from half a grid width below its centre (included) to half a grid width above (not included). So a centre
is written with no more decimals than the grid itself: 60.2, 24.9 on the grid of 0.1 degree. The row at each pole is
half a cell high, and the column at 180 degrees lies on both sides of the date line.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from trug.errors import ImplausibleError
from trug.place.distance import distance_m

__all__ = ["DEFAULT_GRID_DEG", "GRIDS_DEG", "Cell", "cell_of", "check_grid"]

#: The widths that may be asked for [degrees]; each goes into 90 a whole number of times.
GRIDS_DEG = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)
DEFAULT_GRID_DEG = 0.1

_WIDTHS = {grid: Decimal(str(grid)) for grid in GRIDS_DEG}
_HALF = Decimal("0.5")


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: its width [degrees], its row from the equator and its column from Greenwich."""

    grid_deg: float
    row: int
    column: int

    @property
    def lat(self) -> float:
        """Latitude of the centre [degrees]; in the rows at the poles, the pole."""
        return float(self.row * _WIDTHS[self.grid_deg])

    @property
    def lon(self) -> float:
        """Longitude of the centre [degrees], from -180 to below 180."""
        return float(self.column * _WIDTHS[self.grid_deg])

    @property
    def south(self) -> float:
        """Southern edge [degrees]."""
        return max(-90.0, float((self.row - _HALF) * _WIDTHS[self.grid_deg]))

    @property
    def north(self) -> float:
        """Northern edge [degrees]."""
        return min(90.0, float((self.row + _HALF) * _WIDTHS[self.grid_deg]))

    @property
    def west(self) -> float:
        """Western edge [degrees]; below -180 in the column on the date line."""
        return float((self.column - _HALF) * _WIDTHS[self.grid_deg])

    @property
    def east(self) -> float:
        """Eastern edge [degrees]."""
        return float((self.column + _HALF) * _WIDTHS[self.grid_deg])

    @property
    def decimals(self) -> int:
        """Decimals with which the centre is written: those of the grid."""
        return decimals_of(self.grid_deg)

    def radius_m(self) -> float:
        """Return a radius around the centre that holds the whole cell [m].

        The farthest points are corners: those nearer the equator, where the cell is widest. A thousandth and one
        metre are added for the edges being no geodesics and for the arithmetic.
        """
        return _radius_m(self.grid_deg, self.row)


@functools.lru_cache(maxsize=4096)
def _radius_m(grid_deg: float, row: int) -> float:
    """Return the radius of the cells of a row [m]; all cells of a row have the same shape."""
    cell = Cell(grid_deg, row, 0)
    farthest = max(distance_m(cell.lat, 0.0, lat, cell.east) for lat in (cell.south, cell.north))
    return farthest * 1.001 + 1.0


def decimals_of(grid_deg: float) -> int:
    """Return the decimals in which a grid width is written."""
    return 1 if grid_deg < 1 else 0


def check_grid(grid_deg: float) -> float:
    """Return a grid width that may be used.

    Raises
    ------
    ImplausibleError
        For any width but those of ``GRIDS_DEG``; nothing finer than 0.1 degree is a generalisation here.
    """
    if grid_deg not in _WIDTHS:
        raise ImplausibleError(
            f"the grid must be one of {', '.join(f'{g:g}' for g in GRIDS_DEG)} degrees, got {grid_deg!r}"
        )
    return float(grid_deg)


def cell_of(lat: float, lon: float, grid_deg: float = DEFAULT_GRID_DEG) -> Cell:
    """Return the cell that holds a point.

    Parameters
    ----------
    lat, lon : float
        Degrees, -90 to 90 and -180 to 180; -180 and 180 are the same meridian.
    grid_deg : float
        One of ``GRIDS_DEG``.

    Raises
    ------
    ImplausibleError
        For another grid, or a point that is not on the earth.
    """
    width = _WIDTHS[check_grid(grid_deg)]
    if not (abs(lat) <= 90 and abs(lon) <= 180):  # also for NaN
        raise ImplausibleError(f"a point must lie in -90 to 90 and -180 to 180 degrees, got {lat!r}, {lon!r}")
    row, column = _nearest(lat, width), _nearest(lon, width)
    half_turn = int(180 / width)
    return Cell(float(grid_deg), row, (column + half_turn) % (2 * half_turn) - half_turn)


def _nearest(degrees: float, width: Decimal) -> int:
    """Return the number of the cell in one direction, reckoned in decimals so that edges are where they are written."""
    return int((Decimal(repr(float(degrees))) / width + _HALF).to_integral_value(ROUND_FLOOR))
