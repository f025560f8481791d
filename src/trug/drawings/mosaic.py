"""A surface divided into cells, as by cracks or ridges."""

from __future__ import annotations

import math

from trug.drawings.stroke import Point, straight

__all__ = ["cells"]


def cells(points: list[Point], gap: float) -> list[list[Point]]:
    """Return the shrunken cells of points (each holds what is nearest to its point)."""
    found = []
    for p in points:
        cell = [(p[0] - 40, p[1] - 40), (p[0] + 40, p[1] - 40), (p[0] + 40, p[1] + 40), (p[0] - 40, p[1] + 40)]
        for q in points:
            far = math.dist(p, q)
            if q is p or far > 60:
                continue
            n = ((q[0] - p[0]) / far, (q[1] - p[1]) / far)
            cell = _halved(cell, p, n, far / 2 - gap / 2)
        if cell:
            found.append(straight(*cell, closed=True))
    return found


def _halved(cell: list[Point], origin: Point, normal: Point, reach: float) -> list[Point]:
    """Cut off what lies further than ``reach`` from the origin along the normal."""

    def over(c: Point) -> float:
        return (c[0] - origin[0]) * normal[0] + (c[1] - origin[1]) * normal[1] - reach

    out: list[Point] = []
    for k, c in enumerate(cell):
        d = cell[k - 1]
        fc, fd = over(c), over(d)
        if (fc <= 0) != (fd <= 0):
            t = fd / (fd - fc)
            out.append((d[0] + (c[0] - d[0]) * t, d[1] + (c[1] - d[1]) * t))
        if fc <= 0:
            out.append(c)
    return out
