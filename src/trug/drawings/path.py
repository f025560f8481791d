"""Path data: a sampled line becomes few curves, in steps of a tenth of a unit.

A line is split where it has a corner and each piece is halved until one cubic Bézier curve follows it. A phone book
carries every drawing, so the data are short: relative steps, no needless zeros, and whole ellipses as two arcs.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise

from trug.drawings.points import Point, Points

__all__ = ["dot_data", "path_data"]

#: Across and down [tenths of a unit].
_Tenths = tuple[int, int]

#: How far a curve may pass beside the line it stands for [units].
_SLACK = 0.09
#: Cosine of the bend above which two steps of a line make a corner: 36 degrees.
_CORNER = 0.81
#: Fewest points that a whole ellipse may have.
_LEAST_OF_ELLIPSE = 8


def path_data(lines: Iterable[Points], closed: bool = False) -> str:
    """Return the ``d`` attribute that draws the lines, each closed where asked; lines of one point are left out."""
    tokens: list[str] = []
    at = (0, 0)
    for points in lines:
        if len(points) < 2:
            continue
        start, steps, end = _ellipse(points) or _steps(_apart(points))
        if not steps:
            continue
        tokens += ["m", _number(start[0] - at[0]), _number(start[1] - at[1]), *steps]
        at = end
        if closed and steps[-1] != "z":
            tokens.append("z")
            at = start
    return _text(tokens)


def dot_data(points: Points) -> str:
    """Return the ``d`` attribute of lines without length, which a round pen turns into dots."""
    tokens: list[str] = []
    at = (0, 0)
    for x, y in points:
        start = (round(x * 10), round(y * 10))
        tokens += ["m", _number(start[0] - at[0]), _number(start[1] - at[1]), "h", "0"]
        at = start
    return _text(tokens)


def _text(tokens: list[str]) -> str:
    """Write letters and numbers one after another, with a space only where two numbers would run together."""
    out: list[str] = []
    before = "m"
    for token in tokens:
        if before[-1].isdigit() and (token[0].isdigit() or (token[0] == "." and "." not in before)):
            out.append(" ")
        out.append(token)
        before = token
    return "".join(out)


def _apart(points: Points) -> list[Point]:
    """Leave out points that lie on their neighbour: they have no direction."""
    kept = [points[0]]
    for p in points[1:]:
        if abs(p[0] - kept[-1][0]) > 1e-3 or abs(p[1] - kept[-1][1]) > 1e-3:
            kept.append(p)
    return kept


# ---------------------------------------------------------------- curves


def _steps(points: list[Point]) -> tuple[_Tenths, list[str], _Tenths]:
    """Return where one line starts, its relative steps, and where it ends."""
    start = at = (round(points[0][0] * 10), round(points[0][1] * 10))
    out: list[str] = []
    # Numbers after a move are straight steps.
    before = "l"
    for curve in _curves(points):
        tenths = [(round(x * 10), round(y * 10)) for x, y in curve]
        if tenths == [at]:
            continue
        letter = "l" if len(tenths) == 1 else "c"
        if letter != before:
            out.append(letter)
        out += [_number(n) for x, y in tenths for n in (x - at[0], y - at[1])]
        at, before = tenths[-1], letter
    return start, out, at


def _curves(points: list[Point]) -> list[tuple[Point, ...]]:
    """Return what follows the first point: one point for a straight step, three for a curve."""
    corners = [0, *(k for k in range(1, len(points) - 1) if _bend(*points[k - 1 : k + 2]) < _CORNER), len(points) - 1]
    out: list[tuple[Point, ...]] = []
    for start, end in pairwise(corners):
        piece = points[start : end + 1]
        if len(piece) > 1:
            out += _fitted(piece)
    return out


def _bend(a: Point, b: Point, c: Point) -> float:
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]
    return (ux * vx + uy * vy) / (math.hypot(ux, uy) * math.hypot(vx, vy))


def _fitted(points: list[Point]) -> list[tuple[Point, ...]]:
    """Return curves along a piece without corners."""
    along = [0.0]
    for a, b in pairwise(points):
        along.append(along[-1] + math.dist(a, b))
    directions = _directions(points)
    out: list[tuple[Point, ...]] = []
    todo = [(0, len(points) - 1)]
    while todo:
        i, j = todo.pop()
        curve = _one(points, along, directions, i, j)
        if curve:
            out.append(curve)
        else:
            middle = (i + j) // 2
            todo += [(middle, j), (i, middle)]
    return out


def _directions(points: list[Point]) -> list[float]:
    """Return the direction of the line at each point [rad]."""
    if len(points) == 2:
        return [math.atan2(points[1][1] - points[0][1], points[1][0] - points[0][0])] * 2
    inner = [math.atan2(c[1] - a[1], c[0] - a[0]) for a, c in zip(points, points[2:], strict=False)]
    return [_at_end(*points[:3]), *inner, _at_end(*points[:-4:-1]) + math.pi]


def _at_end(p: Point, q: Point, r: Point) -> float:
    """Return the direction in which a line leaves its end, by the parabola through three points."""
    return math.atan2(4 * q[1] - 3 * p[1] - r[1], 4 * q[0] - 3 * p[0] - r[0])


def _one(points: list[Point], along: list[float], directions: list[float], i: int, j: int) -> tuple[Point, ...] | None:
    """Return one step from point i to point j, or None where none comes near enough."""
    start, end = points[i], points[j]
    length = along[j] - along[i]
    if j - i == 1 or length - math.dist(start, end) < 2 * _SLACK * _SLACK / length:
        return (end,)
    turn = (directions[j] - directions[i] + math.pi) % math.tau - math.pi
    reach = length / 3 * (1 + turn * turn / 48)
    c1 = (start[0] + reach * math.cos(directions[i]), start[1] + reach * math.sin(directions[i]))
    c2 = (end[0] - reach * math.cos(directions[j]), end[1] - reach * math.sin(directions[j]))
    k = i
    for share in (0.2, 0.4, 0.6, 0.8) if j - i > 4 else (0.5,):
        wanted = along[i] + share * length
        while along[k + 1] < wanted:
            k += 1
        t = (wanted - along[k]) / (along[k + 1] - along[k])
        a, b, c, d = (1 - share) ** 3, 3 * share * (1 - share) ** 2, 3 * share * share * (1 - share), share**3
        for axis in (0, 1):
            there = points[k][axis] + (points[k + 1][axis] - points[k][axis]) * t
            if abs(a * start[axis] + b * c1[axis] + c * c2[axis] + d * end[axis] - there) > _SLACK:
                return None
    return (c1, c2, end)


# ---------------------------------------------------------------- ellipses and numbers


def _ellipse(points: Points) -> tuple[_Tenths, list[str], _Tenths] | None:
    """Return start, two arcs and end where the points are a whole upright ellipse, None otherwise."""
    if len(points) < _LEAST_OF_ELLIPSE or math.dist(points[0], points[-1]) > 1e-6:
        return None
    far = points[len(points) // 2]
    cx, cy = (points[0][0] + far[0]) / 2, (points[0][1] + far[1]) / 2
    rx, ry = max(x for x, _ in points) - cx, max(y for _, y in points) - cy
    if min(rx, ry) < 0.1 or abs(points[0][1] - far[1]) > 1e-6 or points[0][0] < far[0]:
        return None
    for x, y in points:
        if abs(math.hypot((x - cx) / rx, (y - cy) / ry) - 1) * max(rx, ry) > _SLACK:
            return None
    wide, tall = max(1, round(rx * 10)), max(1, round(ry * 10))
    start = (round(cx * 10) - wide, round(cy * 10))
    half = ["a", _number(wide), _number(tall), "0", "1", "0"]
    return start, [*half, _number(2 * wide), "0", *half, _number(-2 * wide), "0", "z"], start


def _number(tenths: int) -> str:
    """Write tenths of a unit as short as can be: 12 is 1.2, -5 is -.5, 30 is 3."""
    whole, rest = divmod(abs(tenths), 10)
    digits = (str(whole) if whole or not rest else "") + (f".{rest}" if rest else "")
    return f"-{digits}" if tenths < 0 else digits
