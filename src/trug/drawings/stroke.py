"""The pen: points in, strokes out.

Shapes are lists of points in a square of 96 units, x to the right and y downwards. A shape is made
(`smooth`, `straight`, `arc`, `ellipse`), cut where something stands before it (`outside`, `inside`)
and then inked (`main`, `fine`, `hair`, `tint`, `hatch`, `stipple`). Nothing needs an id, a mask or
a white fill, so drawings sit on any paper. The frame (`Drawing.svg`) sets the pen: 1.6 wide, round.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from trug.drawings.cutting import contains, inside, outside, stacked, united, without
from trug.drawings.path import dot_data, path_data
from trug.drawings.points import Point, Points

__all__ = [
    "FINE",
    "MAIN",
    "Point",
    "Points",
    "arc",
    "balanced",
    "bezier",
    "contains",
    "dot",
    "dots",
    "ellipse",
    "fine",
    "hair",
    "hatch",
    "inside",
    "level",
    "main",
    "mirrored",
    "moved",
    "outside",
    "scaled",
    "smooth",
    "solid",
    "spread",
    "stacked",
    "stipple",
    "straight",
    "tint",
    "turned",
    "united",
    "without",
]

#: Width of the main stroke and of the fine one [units].
MAIN = 1.6
FINE = 0.9
#: Distance between the points of a sampled curve [units].
_STEP = 0.7
#: Most that an arc turns from one of its points to the next [rad].
_TURN = math.tau / 20


# ---------------------------------------------------------------- shapes


def smooth(*knots: Point, closed: bool = False) -> list[Point]:
    """Return a smooth curve through the knots (centripetal Catmull-Rom), closed where asked."""
    points = list(knots)
    if len(points) < 3:
        return straight(*points)
    if closed:
        padded = [points[-1], *points, points[0], points[1]]
    else:
        padded = [_beyond(points[0], points[1]), *points, _beyond(points[-1], points[-2])]
    curve: list[Point] = [padded[1]]
    for p0, p1, p2, p3 in zip(padded, padded[1:], padded[2:], padded[3:], strict=False):
        curve.extend(_span(p0, p1, p2, p3))
    return curve


def _beyond(end: Point, inner: Point) -> Point:
    return (2 * end[0] - inner[0], 2 * end[1] - inner[1])


def _span(p0: Point, p1: Point, p2: Point, p3: Point) -> list[Point]:
    """Sample a centripetal Catmull-Rom span from p1 (left out) to p2 as a cubic Bézier."""
    d1, d2, d3 = (max(math.dist(a, b), 1e-9) for a, b in ((p0, p1), (p1, p2), (p2, p3)))
    r1, r2, r3 = math.sqrt(d1), math.sqrt(d2), math.sqrt(d3)

    def control(before: float, near: float, far: float, here: float, there: float, behind: float) -> float:
        return (before * before * there - near * near * behind + far * here) / (3 * before * (before + near))

    c1 = [control(r1, r2, 2 * d1 + 3 * r1 * r2 + d2, p1[i], p2[i], p0[i]) for i in (0, 1)]
    c2 = [control(r3, r2, 2 * d3 + 3 * r3 * r2 + d2, p2[i], p1[i], p3[i]) for i in (0, 1)]
    return bezier(p1, (c1[0], c1[1]), (c2[0], c2[1]), p2)[1:]


def bezier(start: Point, c1: Point, c2: Point, end: Point) -> list[Point]:
    """Return a sampled cubic Bézier curve."""
    length = math.dist(start, c1) + math.dist(c1, c2) + math.dist(c2, end)
    n = max(4, math.ceil(length / _STEP))
    out: list[Point] = []
    for k in range(n + 1):
        t = k / n
        a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        out.append(
            (
                a * start[0] + b * c1[0] + c * c2[0] + d * end[0],
                a * start[1] + b * c1[1] + c * c2[1] + d * end[1],
            )
        )
    return out


def straight(*knots: Point, closed: bool = False) -> list[Point]:
    """Return straight lines from knot to knot, sampled so that they can be cut anywhere."""
    points = [*knots, knots[0]] if closed else list(knots)
    out: list[Point] = [points[0]]
    for a, b in pairwise(points):
        n = max(1, math.ceil(math.dist(a, b) / _STEP))
        out.extend((a[0] + (b[0] - a[0]) * k / n, a[1] + (b[1] - a[1]) * k / n) for k in range(1, n + 1))
    return out


def arc(cx: float, cy: float, rx: float, ry: float, start_deg: float, end_deg: float) -> list[Point]:
    """Return an arc of an ellipse; 0 degrees is to the right, 90 is down, 270 is up."""
    turned_rad = abs(math.radians(end_deg - start_deg))
    n = max(6, math.ceil(turned_rad / _TURN), math.ceil(turned_rad * max(rx, ry) / _STEP))
    turn = [math.radians(start_deg + (end_deg - start_deg) * k / n) for k in range(n + 1)]
    return [(cx + rx * math.cos(a), cy + ry * math.sin(a)) for a in turn]


def ellipse(cx: float, cy: float, rx: float, ry: float) -> list[Point]:
    """Return a whole ellipse."""
    return arc(cx, cy, rx, ry, 0, 360)


# ---------------------------------------------------------------- moving


def mirrored(points: Points, x: float = 48) -> list[Point]:
    """Return the points mirrored left to right about a vertical line, in reversed order."""
    return [(2 * x - px, py) for px, py in reversed(points)]


def balanced(*half: Point, x: float = 48) -> list[Point]:
    """Return a smooth line through a left half, whose last knot lies in the middle, and its mirror image."""
    return smooth(*half, *((2 * x - px, py) for px, py in reversed(half[:-1])))


def level(*half: Point, x: float = 48) -> list[Point]:
    """Return a smooth line whose first knot lies in the middle, where it runs level: half of a balanced shape."""
    whole = smooth((2 * x - half[1][0], half[1][1]), *half)
    return whole[min(range(len(whole)), key=lambda k: math.dist(whole[k], half[0])) :]


def moved(points: Points, dx: float, dy: float) -> list[Point]:
    """Return the points moved."""
    return [(x + dx, y + dy) for x, y in points]


def scaled(points: Points, factor: float, about: Point = (48, 48), factor_y: float | None = None) -> list[Point]:
    """Return the points drawn larger or smaller about a point."""
    fy = factor if factor_y is None else factor_y
    return [(about[0] + (x - about[0]) * factor, about[1] + (y - about[1]) * fy) for x, y in points]


def turned(points: Points, degrees: float, about: Point = (48, 48)) -> list[Point]:
    """Return the points turned clockwise about a point."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return [
        (about[0] + (x - about[0]) * c - (y - about[1]) * s, about[1] + (x - about[0]) * s + (y - about[1]) * c)
        for x, y in points
    ]


# ---------------------------------------------------------------- ink


def _many(lines: Sequence[Points] | Points) -> Sequence[Points]:
    """Take one line or several; an empty list is several of none."""
    if lines and isinstance(lines[0][0], (int, float)):
        return [lines]  # type: ignore[list-item]
    return lines  # type: ignore[return-value]


def main(lines: Points | Sequence[Points], closed: bool = False) -> str:
    """Ink one line or several with the main pen."""
    d = path_data(_many(lines), closed)
    return f'<path d="{d}"/>' if d else ""


def fine(lines: Points | Sequence[Points], closed: bool = False, dash: str = "") -> str:
    """Ink one line or several with the fine pen; ``dash`` as in ``stroke-dasharray``."""
    d = path_data(_many(lines), closed)
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<path stroke-width="{FINE}"{dashed} d="{d}"/>' if d else ""


def hair(lines: Points | Sequence[Points], width: float = 1.5) -> str:
    """Ink one line or several as hairs: full width at the first point, running out to nothing at the last."""
    outlines: list[list[Point]] = []
    for points in _many(lines):
        n = len(points) - 1
        if n < 1:
            continue
        left: list[Point] = []
        right: list[Point] = []
        for k, (x, y) in enumerate(points):
            (ax, ay), (bx, by) = points[max(k - 1, 0)], points[min(k + 1, n)]
            length = math.hypot(bx - ax, by - ay) or 1.0
            half = width / 2 * (1 - 0.85 * k / n)
            nx, ny = -(by - ay) / length * half, (bx - ax) / length * half
            left.append((x + nx, y + ny))
            right.append((x - nx, y - ny))
        outlines.append(left + right[::-1])
    d = path_data(outlines, closed=True)
    return f'<path fill="currentColor" stroke="none" d="{d}"/>' if d else ""


def tint(shapes: Points | Sequence[Points], opacity: float = 0.14) -> str:
    """Wash one shape or several; shapes within a shape are left bare (even-odd)."""
    d = path_data(_many(shapes), closed=True)
    return f'<path fill="currentColor" fill-opacity="{opacity:g}" fill-rule="evenodd" stroke="none" d="{d}"/>'


def solid(shapes: Points | Sequence[Points]) -> str:
    """Fill one shape or several; shapes within a shape are left bare (even-odd)."""
    d = path_data(_many(shapes), closed=True)
    return f'<path fill="currentColor" fill-rule="evenodd" stroke="none" d="{d}"/>'


def dot(x: float, y: float, radius: float = 1.0) -> str:
    """Ink a filled dot."""
    return dots([(x, y)], radius)


def dots(points: Points, radius: float = 0.7) -> str:
    """Ink many equal dots as one element: each a line without length, which the round pen turns into a dot."""
    d = dot_data(points)
    return f'<path stroke-width="{2 * radius:g}" d="{d}"/>' if d else ""


def hatch(shape: Points, degrees: float = 45, spacing: float = 3.0, besides: Sequence[Points] = ()) -> str:
    """Hatch a closed shape with fine lines, leaving out the shapes ``besides``."""
    lines: list[list[Point]] = []
    flat = turned(shape, -degrees)
    left, right = min(x for x, _ in flat), max(x for x, _ in flat)
    low, high = min(y for _, y in flat), max(y for _, y in flat)
    y = low + spacing / 2
    while y < high:
        for part in inside(turned(straight((left, y), (right, y)), degrees), shape):
            lines += outside(part, *besides) if besides else [part]
        y += spacing
    return fine(lines)


def spread(shape: Points, spacing: float, seed: int = 0, besides: Sequence[Points] = ()) -> list[Point]:
    """Return points strewn evenly, not in rows, in a closed shape; the same for the same seed."""
    left, right = min(x for x, _ in shape), max(x for x, _ in shape)
    low, high = min(y for _, y in shape), max(y for _, y in shape)
    area, apart = tuple(shape), spacing * 0.8
    taken: dict[tuple[int, int], list[Point]] = {}
    strewn: list[Point] = []
    # The R2 sequence fills the plane evenly; points too near to a neighbour are left out.
    n = math.ceil((right - left) * (high - low) / spacing**2 * 4) + 8
    for k in range(n):
        u = (0.5 + (k + 17 * seed) * 0.7548776662466927) % 1
        v = (0.5 + (k + 17 * seed) * 0.5698402909980532) % 1
        p = (left + u * (right - left), low + v * (high - low))
        i, j = int((p[0] - left) / apart), int((p[1] - low) / apart)
        near = (q for di in (-1, 0, 1) for dj in (-1, 0, 1) for q in taken.get((i + di, j + dj), ()))
        if any(math.dist(p, q) < apart for q in near) or not contains(area, p) or any(contains(b, p) for b in besides):
            continue
        taken.setdefault((i, j), []).append(p)
        strewn.append(p)
    return strewn


def stipple(
    shape: Points, spacing: float = 4.0, radius: float = 0.7, seed: int = 0, besides: Sequence[Points] = ()
) -> str:
    """Strew dots over a closed shape, leaving out the shapes ``besides``."""
    return dots(spread(shape, spacing, seed, besides), radius)
