"""What hides behind what: lines cut exactly where they pass the edge of a closed shape."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

from trug.drawings.points import Point, Points

__all__ = ["contains", "inside", "outside", "stacked", "united", "without"]

#: How often the step in which a line passes an edge is halved: a 64th of a step is left over.
_HALVINGS = 6
#: Ends of parts that are nearer than this belong together [units].
_NEAR = 1.5


class _Area:
    """A closed shape (even-odd), its edges sorted into rows one unit high."""

    def __init__(self, shape: tuple[Point, ...]) -> None:
        self.left, self.right = min(x for x, _ in shape), max(x for x, _ in shape)
        self._rows: dict[int, list[tuple[float, float, float, float]]] = {}
        x0, y0 = shape[-1]
        for x1, y1 in shape:
            if y0 != y1:
                for row in range(math.floor(min(y0, y1)), math.floor(max(y0, y1)) + 1):
                    self._rows.setdefault(row, []).append((x0, y0, y1, (x1 - x0) / (y1 - y0)))
            x0, y0 = x1, y1

    def holds(self, x: float, y: float) -> bool:
        """Whether a point lies in the shape."""
        if not self.left < x < self.right:
            return False
        within = False
        for x0, y0, y1, slope in self._rows.get(math.floor(y), ()):
            if (y0 > y) != (y1 > y) and x < x0 + (y - y0) * slope:
                within = not within
        return within


@lru_cache(maxsize=512)
def _area(shape: tuple[Point, ...]) -> _Area:
    return _Area(shape)


def contains(shape: Points, point: Point) -> bool:
    """Whether a point lies in a closed shape (even-odd)."""
    return _area(tuple(shape)).holds(*point)


def _parts(points: Points, shapes: Sequence[Points], wanted: bool) -> list[list[Point]]:
    areas = [_area(tuple(s)) for s in shapes if s]

    def kept(x: float, y: float) -> bool:
        return any(a.holds(x, y) for a in areas) == wanted

    def edge(within: Point, beyond: Point) -> Point:
        for _ in range(_HALVINGS):
            middle = ((within[0] + beyond[0]) / 2, (within[1] + beyond[1]) / 2)
            if kept(*middle):
                within = middle
            else:
                beyond = middle
        return within

    parts: list[list[Point]] = []
    now: list[Point] = []
    before: Point | None = None
    for p in points:
        if kept(*p):
            if not now and before is not None:
                now.append(edge(p, before))
            now.append(p)
        else:
            if now and before is not None:
                now.append(edge(before, p))
                parts.append(now)
            now = []
        before = p
    parts.append(now)
    return [part for part in parts if len(part) > 2 or (len(part) == 2 and part is now)]


def outside(points: Points, *shapes: Points) -> list[list[Point]]:
    """Return the parts of a line that lie outside all the shapes: what is not hidden behind them."""
    return _parts(points, shapes, False)


def inside(points: Points, *shapes: Points) -> list[list[Point]]:
    """Return the parts of a line that lie inside any of the shapes."""
    return _parts(points, shapes, True)


def without(shape: Points, front: Points) -> list[list[Point]]:
    """Return what of a closed shape is not behind another: closed shapes, and holes in them (even-odd)."""
    shape, front = _sampled(shape), _sampled(front)
    rest, cut = _round(outside(shape, front)), _round(inside(front, shape))
    if not rest:
        return []
    if not cut:
        return [list(shape)]
    if len(rest) == 1 and math.dist(rest[0][0], rest[0][-1]) < _NEAR:
        return [rest[0], *cut]
    loops: list[list[Point]] = []
    todo = [*rest, *cut]
    while todo:
        loop = todo.pop(0)
        while math.dist(loop[-1], loop[0]) > _NEAR and todo:
            ends = [(math.dist(loop[-1], part[end]), k, end) for k, part in enumerate(todo) for end in (0, -1)]
            far, k, end = min(ends)
            if far > _NEAR:
                break
            part = todo.pop(k)
            loop = [*loop, *(part if end == 0 else part[::-1])]
        loops.append(loop)
    return loops


def _sampled(shape: Points) -> list[Point]:
    """Return a closed shape that comes back to its first point, with points on its long straight sides."""
    out = [shape[0]]
    for a, b in pairwise([*shape, shape[0]]):
        n = max(1, math.ceil(math.dist(a, b) / _NEAR))
        out.extend((a[0] + (b[0] - a[0]) * k / n, a[1] + (b[1] - a[1]) * k / n) for k in range(1, n + 1))
    return out


def _round(parts: list[list[Point]]) -> list[list[Point]]:
    """Join the last part of a closed line to the first, where the line was only cut because it began there."""
    if len(parts) > 1 and math.dist(parts[0][0], parts[-1][-1]) < _NEAR:
        return [[*parts[-1], *parts[0]], *parts[1:-1]]
    return parts


def stacked(shapes: Sequence[Points]) -> list[list[Point]]:
    """Return what shows of the outlines of shapes that overlap; the first shape stands in front."""
    shown: list[list[Point]] = []
    for k, shape in enumerate(shapes):
        shown += outside(shape, *shapes[:k])
    return shown


def united(shapes: Sequence[Points]) -> list[list[Point]]:
    """Return the outline of several shapes grown into one."""
    return [part for k, shape in enumerate(shapes) for part in outside(shape, *shapes[:k], *shapes[k + 1 :])]
