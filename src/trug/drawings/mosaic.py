"""A surface divided into cells, as by cracks or ridges."""

from __future__ import annotations

import math

from trug.drawings.stroke import Point, Points

__all__ = ["cells", "clipped"]


def cells(points: list[Point], gap: float) -> list[list[Point]]:
    """Return the corners of the shrunken cells of points (each holds what is nearest to its point)."""
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
            found.append(cell)
    return found


def clipped(cell: list[Point], shape: Points, edges: int = 48) -> list[Point]:
    """Return what of a cell lies in a closed shape without bays; nothing where they do not meet."""
    corners = shape[:: max(1, len(shape) // edges)]
    middle = (sum(x for x, _ in corners) / len(corners), sum(y for _, y in corners) / len(corners))
    for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
        long = math.dist(a, b)
        if not cell or long < 1e-9:
            continue
        n = ((b[1] - a[1]) / long, (a[0] - b[0]) / long)
        reach = (a[0] - middle[0]) * n[0] + (a[1] - middle[1]) * n[1]
        cell = _halved(cell, middle, n if reach > 0 else (-n[0], -n[1]), abs(reach))
    return cell


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
