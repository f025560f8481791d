"""Pores on a piece of pore surface, and tubes cut lengthwise."""

from __future__ import annotations

import math
from functools import partial

from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    FINE,
    Point,
    arc,
    dots,
    ellipse,
    fine,
    hatch,
    inside,
    main,
    outside,
    smooth,
    straight,
    tint,
)

__all__ = ["DRAWINGS", "WINDING_PORES"]


def _worm(*knots: Point, half: float = 2.4) -> list[Point]:
    """Return the outline of a winding mouth about a smooth line, with round ends."""
    line = smooth(*knots)
    left: list[Point] = []
    right: list[Point] = []
    for k, (x, y) in enumerate(line):
        (ax, ay), (bx, by) = line[max(k - 1, 0)], line[min(k + 1, len(line) - 1)]
        length = math.hypot(bx - ax, by - ay) or 1.0
        nx, ny = -(by - ay) / length, (bx - ax) / length
        left.append((x + half * nx, y + half * ny))
        right.append((x - half * nx, y - half * ny))
    start = math.degrees(math.atan2(right[0][1] - line[0][1], right[0][0] - line[0][0]))
    end = math.degrees(math.atan2(left[-1][1] - line[-1][1], left[-1][0] - line[-1][0]))
    return [
        *left,
        *arc(*line[-1], half, half, end, end - 180),
        *right[::-1],
        *arc(*line[0], half, half, start, start - 180),
    ]


#: Mouths of a maze on the square of pore surface.
WINDING_PORES = [
    _worm((12, 16), (20, 24), (14, 34), (22, 42)),
    _worm((22, 14), (32, 20), (28, 30), (36, 36), (32, 46)),
    _worm((36, 13), (46, 15), (44, 26), (52, 30)),
    _worm((58, 13), (58, 22), (68, 26), (64, 36), (54, 40), (44, 36)),
    _worm((68, 13), (78, 18), (84, 14)),
    _worm((84, 24), (76, 30), (80, 40), (72, 46), (62, 46)),
    _worm((12, 44), (16, 54), (28, 54), (40, 52), (44, 46)),
    _worm((52, 48), (52, 58), (42, 62), (30, 62), (20, 68)),
    _worm((84, 48), (80, 56), (66, 54), (60, 62)),
    _worm((12, 62), (12, 72), (22, 76), (34, 72)),
    _worm((44, 72), (54, 70), (64, 72), (74, 64), (84, 66)),
    _worm((74, 74), (84, 75)),
]

_PATCH = straight((7, 5), (89, 5), (89, 77), (7, 77), closed=True)
#: A millimetre of the ruler under the pores [units].
_MILLIMETRE = 40.0


def _patch(mouths: str) -> str:
    """Draw a square of pore surface; along its lower edge lies a ruler with its millimetre marks."""
    ruler = [straight((2, 77), (94, 77)), straight((2, 93), (94, 93))]
    marks = [straight((48 + k * _MILLIMETRE, 77), (48 + k * _MILLIMETRE, 87)) for k in (-1, 0, 1)]
    body = tint([(2, 77), (94, 77), (94, 93), (2, 93)], 0.14)
    return body + main([*ruler, *marks]) + fine(_PATCH) + mouths


def _maze_pores() -> str:
    mouths = [[(x, y - 2.5) for x, y in mouth] for mouth in WINDING_PORES]
    return _patch(tint(mouths, 0.2) + fine(mouths))


def _pore_field(per_mm: float) -> str:
    pitch = _MILLIMETRE / per_mm
    if pitch < 6:
        return _patch(_pricks(pitch))
    if pitch < 15:
        return _patch(_fine_mouths(pitch))
    mouths: list[list[Point]] = []
    for j in range(-1, math.ceil(72 / (pitch * 0.87)) + 2):
        for i in range(-1, math.ceil(82 / pitch) + 2):
            wobble = math.sin(i * 2.4 + j * 1.7)
            x, y = 9 + pitch * (i + j % 2 / 2), 5 + pitch * (0.34 + j * 0.87)
            mouths.append(ellipse(x, y, pitch * (0.37 + 0.04 * wobble), pitch * (0.37 - 0.04 * wobble)))
    seen = [m for m in mouths if inside(m, _PATCH)]
    held = [[(min(max(x, 7), 89), min(max(y, 5), 77)) for x, y in m] for m in seen]
    return _patch(tint(held, 0.2) + fine([part for m in seen for part in inside(m, _PATCH)]))


def _pricks(pitch: float) -> str:
    """Draw pores so small that each is a prick."""
    columns, rows = int(79 / pitch), int(69 / (pitch * 0.87))
    shift = (columns - 1) / 2, (rows - 1) / 2
    pricks = [
        (48 + pitch * (i - shift[0] + (0.25 if j % 2 else -0.25)), 41 + pitch * 0.87 * (j - shift[1]))
        for j in range(rows)
        for i in range(columns)
    ]
    return dots(pricks, 0.75)


def _fine_mouths(pitch: float) -> str:
    """Draw many small whole mouths; as arcs of one path they weigh little."""
    mouths: list[str] = []
    columns, rows = int(80 / pitch - 0.5), int(70 / (pitch * 0.87))
    for j in range(rows):
        for i in range(columns):
            x = 48 + pitch * (i - (columns - 1) / 2 + (0.25 if j % 2 else -0.25))
            y = 41 + pitch * 0.87 * (j - (rows - 1) / 2)
            wobble = 0.03 * math.sin(i * 2.4 + j * 1.7)
            rx, ry = pitch * (0.36 + wobble), pitch * (0.36 - wobble)
            half = f"A{rx:.1f} {ry:.1f} 0 1 0"
            mouths.append(f"M{x - rx:.1f} {y:.1f}{half} {x + rx:.1f} {y:.1f}{half} {x - rx:.1f} {y:.1f}Z")
    return f'<path stroke-width="{FINE}" fill="currentColor" fill-opacity="0.2" d="{"".join(mouths)}"/>'


def _tubes(layers: int) -> str:
    """Draw a bracket on wood, cut from top to bottom; tubes hang in one layer or in one for each year."""
    depth = 14.0
    first = 50.0 if layers == 1 else 44.0
    top = smooth((18, 20 if layers == 1 else 8), (46, 21 if layers == 1 else 12), (72, 34), (86, 48), (90.4, 55))
    base = first + depth * layers
    under = smooth((90.4, 55), (89.6, 61), (84, base - 2), (50, base + 2.6), (18, base))
    body = [*top, *under, top[0]]
    lows = [inside(smooth((18, first + depth * k), (50, first + 3 + depth * k), (95, first + 4 + depth * k)), body)[0]
            for k in range(layers)]  # fmt: skip
    columns = [straight((20.2 + 2.4 * k, first), (20.2 + 2.4 * k, 93)) for k in range(30)]
    flesh = [(18, 0), (96, 0), (96, first + 4), *lows[0][::-1], (18, first)]
    tubes = [p for c in columns for q in inside(c, body) for p in outside(q, flesh)]
    wood = straight((4, 5), (18, 5), (18, 91), (4, 91))
    return main([top, under, straight((18, 5), (18, 91))]) + fine([*lows, *tubes]) + hatch(wood, 60, 4)


DRAWINGS: Drawings = {
    "pore_size": {
        "invisible": partial(_pore_field, 9.0),
        "fine": partial(_pore_field, 3.0),
        "medium": partial(_pore_field, 1.5),
        "coarse": partial(_pore_field, 0.7),
        "maze-like": _maze_pores,
    },
    "tube_layers": {"single": partial(_tubes, 1), "several": partial(_tubes, 3)},
}
