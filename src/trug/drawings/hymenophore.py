"""The fertile side: gills, pores, spines and folds, and how gills meet the stipe."""

from __future__ import annotations

import math
from functools import partial
from itertools import pairwise

from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    FINE,
    Point,
    Points,
    arc,
    ellipse,
    fine,
    hatch,
    inside,
    main,
    mirrored,
    moved,
    outside,
    scaled,
    smooth,
    solid,
    spread,
    stipple,
    straight,
    tint,
)

__all__ = ["DRAWINGS"]


def _ray(angle: float, near: float, far: float, cx: float, cy: float, rx: float, ry: float) -> tuple[Point, Point]:
    """Return the ends of a ray of an ellipse, from a share of its radius to another."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return (cx + rx * near * c, cy + ry * near * s), (cx + rx * far * c, cy + ry * far * s)


def worm(*knots: Point, half: float = 2.4) -> list[Point]:
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


# ---------------------------------------------------------------- the fertile side, seen from below

_UNDER = ellipse(48, 42, 41, 17)
_DOME = arc(48, 42, 41, 33, 180, 360)
_FOOT_SIDE = smooth((42, 44), (42, 66), (40, 90))
_FOOT = [*_FOOT_SIDE, *mirrored(_FOOT_SIDE)]
_FOOT_OVER_GILLS: list[Point] = [(42, 44), (42, 58.8), (54, 58.8), (54, 44)]


def _from_below(pattern: str) -> str:
    """Draw the mushroom that shows its underside; the fertile side is washed."""
    lines = [_DOME, *outside(_UNDER, _FOOT), _FOOT_SIDE, mirrored(_FOOT_SIDE), arc(48, 44, 6, 2, 180, 360)]
    return tint([_UNDER, _FOOT_OVER_GILLS], 0.1) + main(lines) + pattern


def _gills() -> str:
    rays = [_ray(a * 6, 0.2 if a % 2 else 0.62, 0.98, 48, 42, 41, 17) for a in range(60)]
    return _from_below(fine([p for r in rays for p in outside(straight(*r), _FOOT)]))


def _folds() -> str:
    edge = smooth((25, 46), (37, 57), (41, 72), (42, 90))
    lines: list[list[Point]] = []
    for k in range(7):
        x = 27 + k * 7
        fork = (x, 56 - abs(x - 48) * 0.2)
        low = (48 + (x - 48) * 0.25, 76 - (k % 2) * 7)
        lines.append(smooth(low, (48 + (x - 48) * 0.5, 66), fork))
        for d in (-1, 1):
            tip = _ray(90 - (x - 48) * 3.4 - d * 7, 0, 0.97, 48, 42, 41, 17)[1]
            lines.append(smooth((48 + (x - 48) * 0.5, 66), fork, tip))
    for a in range(168, 373, 12):
        ray = _ray(a, 0.3, 0.97, 48, 42, 41, 17)
        lines.append(straight(*ray))
        lines.append(straight(*_ray(a, 0.62, 0.62, 48, 42, 41, 17), _ray(a + 6, 0, 0.97, 48, 42, 41, 17)[1]))
    body = [*edge[::-1], *arc(48, 42, 41, 17, 148, 392), *mirrored(edge)[::-1]]
    return tint(body, 0.1) + main([_DOME, arc(48, 42, 41, 17, 125, 415), edge, mirrored(edge)]) + fine(lines)


def _pores() -> str:
    return _from_below(
        fine([ellipse(x, y, 1.7, 1.1) for x, y in spread(scaled(_UNDER, 0.95, (48, 42)), 4.4, besides=[_FOOT])])
    )


def _maze() -> str:
    mouths = [scaled(moved(m, 0, -6), 0.98, (48, 42), 0.46) for m in _WINDING]
    under = scaled(_UNDER, 0.96, (48, 42))
    return _from_below(fine([p for m in mouths for q in inside(m, under) for p in outside(q, _FOOT)]))


def _spines() -> str:
    lines: list[list[Point]] = []
    for x, y in spread(scaled(_UNDER, 0.93, (48, 42)), 5.2, besides=[_FOOT]):
        for side in (-1.3, 1.3):
            lines += outside(straight((x + side, y), (x, y + 9)), _FOOT)
    return _from_below(fine(lines))


def _smooth() -> str:
    lines = [smooth(*(_ray(a, f, f, 48, 42, 41, 17)[0] for a in range(s, s + 28, 7))) for f, s in _WRINKLES]
    return _from_below(fine([p for line in lines for p in outside(line, _FOOT)]))


_WRINKLES = ((0.86, 150), (0.8, 20), (0.55, 175), (0.6, 335))


def _pits() -> str:
    head = smooth((48, 6), (34, 14), (26, 32), (28, 50), (38, 58), (58, 58), (68, 50), (70, 32), (62, 14), closed=True)
    cells = [ellipse(x, y, 4.2, 5.6) for x, y in spread(scaled(head, 0.86, (48, 34)), 11, 3)]
    foot = smooth((41, 58), (40, 74), (37, 90))
    return tint(head, 0.1) + tint(cells, 0.3) + main([head, foot, mirrored(foot)]) + fine(cells)


def _lobes() -> str:
    head = smooth(
        (48, 20), (38, 8), (24, 12), (12, 26), (14, 44), (26, 54), (36, 52), (48, 57), (60, 53), (72, 55), (84, 42),
        (82, 24), (70, 10), (57, 9), closed=True,
    )  # fmt: skip
    folds = [
        smooth((48, 20), (46, 30), (50, 38), (46, 48)),
        smooth((24, 16), (30, 24), (24, 32), (30, 40), (24, 47)),
        smooth((36, 14), (38, 24), (33, 34), (39, 46)),
        smooth((72, 16), (66, 26), (73, 34), (66, 48)),
        smooth((58, 14), (60, 26), (56, 36), (60, 48)),
        smooth((78, 26), (76, 36), (80, 42)),
        smooth((18, 28), (19, 38)),
    ]
    foot = smooth((40, 55), (41, 72), (37, 90))
    return tint(head, 0.1) + main([head, foot, mirrored(foot)]) + fine(folds)


def _cup_lining() -> str:
    mouth = ellipse(48, 34, 40, 16)
    bowl = smooth((8, 34), (14, 58), (32, 76), (42, 82), (42, 90))
    shade = [arc(48, 38, 34 - 9 * k, 11 - 3 * k, 20, 160) for k in range(3)]
    return tint(mouth, 0.16) + main([mouth, bowl, mirrored(bowl)]) + fine(shade)


def _enclosed() -> str:
    ball = smooth(
        (48, 10), (26, 16), (13, 36), (16, 58), (32, 74), (40, 84), (56, 84), (64, 74), (80, 58), (83, 36), (70, 16),
        closed=True,
    )  # fmt: skip
    inner = scaled(ball[:], 0.84, (48, 44))
    return tint(inner, 0.12) + main(ball) + fine(inner) + stipple(scaled(ball, 0.78, (48, 44)), 5.5, 0.8)


def _branches() -> str:
    outline = smooth(
        (40, 90), (40, 72), (28, 58), (18, 40), (15, 20), (20, 16), (24, 34), (30, 44), (31, 26), (29, 10), (35, 8),
        (38, 26), (39, 46), (45, 56), (46, 36), (44, 14), (50, 10), (52, 32), (52, 54), (58, 44), (58, 24), (62, 9),
        (67, 12), (64, 32), (65, 44), (72, 36), (76, 20), (81, 22), (78, 42), (69, 58), (57, 72), (57, 90),
    )  # fmt: skip
    lines = [smooth((45, 84), (44, 70), (36, 58)), smooth((52, 84), (52, 70), (60, 58)), smooth((48, 76), (48, 64))]
    return tint(outline, 0.14) + main(outline) + fine(lines)


# ---------------------------------------------------------------- gills meeting the stipe, cut in half

_RIM: Point = (4, 46)
_GILL_EDGES: dict[str, tuple[Point, ...]] = {
    "free": ((9, 53), (17, 57), (23, 54), (27, 46), (27.5, 37)),
    "adnexed": ((9, 53), (19, 58), (28, 53), (34, 44), (39, 40)),
    "notched": ((9, 53), (18, 61), (26, 63), (30, 58), (32, 50), (35, 48), (39, 53)),
    "adnate": ((9, 52), (20, 57), (30, 58), (39, 58)),
    "short-decurrent": ((9, 51), (20, 54), (29, 55), (35, 58), (39, 67)),
    "decurrent": ((9, 50), (20, 51), (29, 54), (34, 61), (37, 72), (39, 86)),
}


def _cut_in_half(state: str) -> str:
    """Draw cap and stipe cut from top to base; the face of one gill on each side is washed."""
    top = smooth((48, 13), (26, 17), (10, 30), _RIM)
    under = smooth(_RIM, (20, 39), (39, 33))
    edge = smooth(_RIM, *_GILL_EDGES[state])
    end = [p for p in under if p[0] <= edge[-1][0]]
    gill = [*edge, *end[::-1]]
    stipe = straight((39, 33), (39, 91))
    return (
        tint([gill, mirrored(gill)], 0.26)
        + main([top, mirrored(top), edge, mirrored(edge), stipe, mirrored(stipe)])
        + fine([under, mirrored(under)])
    )


def _from_a_point() -> str:
    top = smooth((82, 33), (66, 26), (36, 27), (14, 36), (5, 47))
    under = smooth((5, 47), (30, 40), (60, 41), (80, 45))
    edge = smooth((5, 47), (16, 55), (38, 60), (60, 56), (80, 45))
    bark = smooth((84, 6), (82, 30), (84, 60), (82, 91))
    wood = [*bark, (95, 91), (95, 6)]
    stub = smooth((80, 45), (83, 52))
    return tint([*edge, *under[::-1]], 0.26) + main([top, edge, stub, bark]) + fine(under) + hatch(wood, 60, 4)


# ---------------------------------------------------------------- gills cut across, and single gills


def _comb(gap: float, count: int) -> str:
    """Draw gills hanging from the cap flesh, cut across half way to the edge; each is 17 units deep."""
    thick = 2.2
    left = 48 - (count - 1) * (gap + thick) / 2
    lines: list[list[Point]] = []
    for k in range(count):
        x = left + k * (gap + thick)
        lines.append(straight((x - thick / 2, 50), (x - 0.5, 67), (x + 0.5, 67), (x + thick / 2, 50)))
    flesh = [*smooth((6, 50), (6, 36), (48, 26), (90, 36), (90, 50)), (6, 50)]
    return main(straight(*(flesh[0], *flesh), closed=False)) + tint(flesh, 0.1) + solid(lines)


_GILL_FACE_TOP = smooth((10, 22), (48, 19), (86, 22))


def _one_gill(edge: list[Point], shade: float, rim: str = "", rim_shape: Points = ()) -> str:
    """Draw one gill from its side, hanging from a strip of cap flesh."""
    face = [*_GILL_FACE_TOP, *edge[::-1]]
    flesh = [*smooth((6, 10), (48, 6), (90, 10)), (90, 22), *smooth((90, 22), (48, 19), (6, 22)), (6, 10)]
    sides = [straight((10, 22), edge[0]), straight((86, 22), edge[-1])]
    shapes = [face, rim_shape] if rim_shape else [face]
    return tint(shapes, shade) + main([straight(*flesh), edge, *sides]) + rim


def _gill_edge(state: str) -> str:
    edge = smooth((10, 72), (48, 80), (86, 72))
    band = [*edge, *smooth((86, 62), (48, 70), (10, 62))]
    if state == "paler":
        return _one_gill(edge, 0.34, fine(smooth((10, 62), (48, 70), (86, 62))), band)
    if state == "darker":
        return _one_gill(edge, 0.1, solid(band))
    if state == "ragged":
        teeth = [
            (10 + k * 2.6, 73 + 6 * math.sin(math.pi * k / 29) + ((3.5 + k % 3 * 1.5) if k % 2 else -4))
            for k in range(30)
        ]
        return _one_gill(straight(*teeth), 0.2)
    return _one_gill(edge, 0.2)


def _gill_edge_split() -> str:
    """Draw one gill from its side; its edge has opened into two lips that curl away from each other."""
    edge = smooth((10, 60), (48, 66), (86, 60))
    lip = smooth((10, 60), (5, 70), (6, 82), (14, 86), (20, 80), (16, 74))
    far = smooth((86, 60), (91, 68), (92, 78), (88, 85), (82, 86))
    roll = smooth((14, 86), (48, 92), (82, 86))
    inner = smooth((20, 80), (48, 85), (86, 76))
    return (
        _one_gill(edge, 0.2)
        + main([lip, far, roll])
        + fine([inner, smooth((12, 66), (48, 72), (86, 66))])
        + tint([*lip, *roll, *far[::-1]], 0.08)
    )


# ---------------------------------------------------------------- forks, seen from below


def _fan(lines: list[list[Point]]) -> str:
    """Draw a piece of cap from below: the stipe at the bottom, the edge of the cap on top."""
    rim = arc(48, 92, 84, 84, 238, 302)
    foot = arc(48, 92, 22, 22, 232, 308)
    sides = [_gill(238, 22, 84), _gill(302, 22, 84)]
    return main([rim, foot, *sides]) + fine(lines)


def _gill(angle: float, near: float, far: float = 83) -> list[Point]:
    return straight(*_ray(angle, near, far, 48, 92, 1, 1))


def _simple() -> str:
    angles = [238 + k * 4 for k in range(1, 16)]
    starts = (23, 62, 45, 62)
    return _fan([_gill(a, starts[k % 4]) for k, a in enumerate(angles)])


def _fork(angle: float, near: float, far: float, half_deg: float) -> list[list[Point]]:
    """Return the two arms of a fork, as far as the radius at which they run straight."""
    start = _ray(angle, 0, near, 48, 92, 1, 1)[1]
    return [
        smooth(start, *(_ray(angle + d * half_deg, 0, radius, 48, 92, 1, 1)[1] for radius in (near + 7, far)))
        for d in (-1, 1)
    ]


def _some_forks() -> str:
    lines: list[list[Point]] = []
    for k in range(1, 8):
        angle = 238 + k * 8
        if k % 2:
            lines.append(_gill(angle, 23))
        else:
            lines += [_gill(angle, 23, 36), *_fork(angle, 36, 83, 2.6)]
    return _fan(lines)


def _forked() -> str:
    lines: list[list[Point]] = []
    for k in range(4):
        angle = 246.5 + k * 15.7
        lines += [_gill(angle, 23, 32), *_fork(angle, 32, 54, 4)]
        for side in (-4, 4):
            lines += _fork(angle + side, 54, 83, 2)
    return _fan(lines)


def _veined() -> str:
    lines = [_gill(238 + k * 9.14, 23) for k in range(1, 7)]
    for k in range(7):
        for j in range(4):
            radius = 33 + j * 13 + (k * 5) % 9
            a, b = 238 + k * 9.14, 247.14 + k * 9.14
            middle = _ray((a + b) / 2, 0, radius + (2 if (k + j) % 2 else -2), 48, 92, 1, 1)[1]
            if radius < 80:
                lines.append(
                    smooth(_ray(a, 0, radius, 48, 92, 1, 1)[1], middle, _ray(b, 0, radius + 1.5, 48, 92, 1, 1)[1])
                )
    return _fan(lines)


# ---------------------------------------------------------------- pores and tubes

_WINDING = [
    worm((12, 16), (20, 24), (14, 34), (22, 42)),
    worm((22, 14), (32, 20), (28, 30), (36, 36), (32, 46)),
    worm((36, 13), (46, 15), (44, 26), (52, 30)),
    worm((58, 13), (58, 22), (68, 26), (64, 36), (54, 40), (44, 36)),
    worm((68, 13), (78, 18), (84, 14)),
    worm((84, 24), (76, 30), (80, 40), (72, 46), (62, 46)),
    worm((12, 44), (16, 54), (28, 54), (40, 52), (44, 46)),
    worm((52, 48), (52, 58), (42, 62), (30, 62), (20, 68)),
    worm((84, 48), (80, 56), (66, 54), (60, 62)),
    worm((12, 62), (12, 72), (22, 76), (34, 72)),
    worm((44, 72), (54, 70), (64, 72), (74, 64), (84, 66)),
    worm((74, 74), (84, 75)),
]

_PATCH = straight((7, 7), (89, 7), (89, 80), (7, 80), closed=True)
#: Length of the millimetre bar under the pores [units].
_MILLIMETRE = 40.0


def _patch(mouths: str) -> str:
    """Draw a square of pore surface over a bar of one millimetre."""
    left, right = 48 - _MILLIMETRE / 2, 48 + _MILLIMETRE / 2
    bar = [straight((left, 89), (right, 89)), straight((left, 86), (left, 92)), straight((right, 86), (right, 92))]
    return main(bar) + fine(_PATCH) + mouths


def _maze_pores() -> str:
    return _patch(tint(_WINDING, 0.2) + fine(_WINDING))


def _pore_field(per_mm: float) -> str:
    pitch = _MILLIMETRE / per_mm
    if pitch < 15:
        return _patch(_fine_mouths(pitch))
    mouths: list[list[Point]] = []
    for j in range(-1, math.ceil(73 / (pitch * 0.87)) + 2):
        for i in range(-1, math.ceil(82 / pitch) + 2):
            wobble = math.sin(i * 2.4 + j * 1.7)
            x, y = 9 + pitch * (i + j % 2 / 2), 7 + pitch * (0.45 + j * 0.87)
            mouths.append(ellipse(x, y, pitch * (0.37 + 0.04 * wobble), pitch * (0.37 - 0.04 * wobble)))
    seen = [m for m in mouths if inside(m, _PATCH)]
    held = [[(min(max(x, 7), 89), min(max(y, 7), 80)) for x, y in m] for m in seen]
    return _patch(tint(held, 0.2) + fine([part for m in seen for part in inside(m, _PATCH)]))


def _fine_mouths(pitch: float) -> str:
    """Draw many small whole mouths; as arcs of one path they weigh little."""
    mouths: list[str] = []
    columns, rows = int(80 / pitch - 0.5), int(71 / (pitch * 0.87))
    for j in range(rows):
        for i in range(columns):
            x = 48 + pitch * (i - (columns - 1) / 2 + (0.25 if j % 2 else -0.25))
            y = 43.5 + pitch * 0.87 * (j - (rows - 1) / 2)
            wobble = 0.03 * math.sin(i * 2.4 + j * 1.7)
            rx, ry = pitch * (0.36 + wobble), pitch * (0.36 - wobble)
            half = f"A{rx:.1f} {ry:.1f} 0 1 0"
            mouths.append(f"M{x - rx:.1f} {y:.1f}{half} {x + rx:.1f} {y:.1f}{half} {x - rx:.1f} {y:.1f}Z")
    return f'<path stroke-width="{FINE}" fill="currentColor" fill-opacity="0.2" d="{"".join(mouths)}"/>'


def _tubes(layers: int) -> str:
    """Draw a bracket on wood, cut from top to bottom; tubes hang in one layer or in one for each year."""
    depth = 14.0
    top = smooth((18, 18 if layers == 1 else 10), (50, 20 if layers == 1 else 14), (78, 34), (89, 50))
    lows = [
        smooth((18, 46 + depth * k), (50, 50 + depth * k), (87 - 2 * k, 53 + depth * k * 0.7))
        for k in range(layers + 1)
    ]
    if layers == 1:
        lows = [moved(low, 0, 4) for low in lows]
    nose = smooth(top[-1], (90, 54), (lows[-1][-1][0] + 2, lows[-1][-1][1] - 5), lows[-1][-1])
    lines: list[list[Point]] = []
    for upper, lower in pairwise(lows):
        for k in range(2, len(upper) - 1, 4):
            lines.append(straight(upper[k], lower[min(k, len(lower) - 1)]))
    wood = straight((4, 5), (18, 5), (18, 91), (4, 91))
    return main([top, nose, lows[-1], straight((18, 5), (18, 91))]) + fine([*lows[:-1], *lines]) + hatch(wood, 60, 4)


# ---------------------------------------------------------------- ink


def _inking(melts: bool) -> str:
    """Draw an old cap: its lower part stays, or melts into black drops."""
    edge_y = 58
    half = smooth((48, 10), (34, 15), (24, 34), (15, edge_y - 3 if melts else edge_y))
    foot = smooth((44, edge_y), (44, 76), (43, 91))
    lines = [straight((48 + d * 0.55, 34), (48 + d, edge_y - 2)) for d in range(-26, 27, 5)]
    if not melts:
        rim = smooth((15, edge_y), (32, edge_y + 4), (48, edge_y + 5), (64, edge_y + 4), (81, edge_y))
        stem = outside(foot, [*rim, (81, 40), (15, 40)])
        return main([half, mirrored(half), rim, *stem, *[mirrored(s) for s in stem]]) + fine(lines)
    ragged = smooth((15, 55), (17, 63), (22, 57), (26, 66), (31, 58), (36, 68), (42, 58), (48, 67), (54, 58), (59, 69),
                    (65, 58), (70, 66), (75, 57), (79, 63), (81, 55))  # fmt: skip
    ink = [*ragged, *smooth((81, 55), (68, 49), (48, 47), (28, 49), (15, 55))]
    drops = [_drop(x, y, r) for x, y, r in ((26, 77, 2.4), (36, 83, 2.8), (60, 80, 2.6), (71, 76, 2.2), (18, 74, 2))]
    stem = outside(foot, ink)
    return (
        main([half, mirrored(half), *stem, *[mirrored(s) for s in stem]])
        + solid([ink, *drops])
        + solid(ellipse(66, 90, 6, 1.6))
        + fine([straight((48 + d * 0.6, 30), (48 + d * 0.8, 44)) for d in range(-24, 25, 6)])
    )


def _drop(x: float, y: float, r: float) -> list[Point]:
    return [(x, y - 2.6 * r), *arc(x, y, r, r, -25, 205)]


DRAWINGS: Drawings = {
    "hymenophore": {
        "gills": _gills,
        "folds": _folds,
        "pores": _pores,
        "maze": _maze,
        "spines": _spines,
        "smooth": _smooth,
        "pits": _pits,
        "lobes": _lobes,
        "cup-lining": _cup_lining,
        "enclosed": _enclosed,
        "branches": _branches,
    },
    "gill_attachment": {
        **{state: partial(_cut_in_half, state) for state in _GILL_EDGES},
        "from-a-point": _from_a_point,
    },
    "gill_spacing": {
        "crowded": partial(_comb, 2.2, 19),
        "close": partial(_comb, 7.5, 9),
        "spaced": partial(_comb, 14.0, 5),
        "distant": partial(_comb, 24.0, 4),
    },
    "gill_edge": {
        **{state: partial(_gill_edge, state) for state in ("even", "paler", "darker", "ragged")},
        "split": _gill_edge_split,
    },
    "gill_forks": {"simple": _simple, "some-forks": _some_forks, "forked": _forked, "veined": _veined},
    "pore_size": {
        "invisible": partial(_pore_field, 6.0),
        "fine": partial(_pore_field, 3.0),
        "medium": partial(_pore_field, 1.5),
        "coarse": partial(_pore_field, 0.7),
        "maze-like": _maze_pores,
    },
    "tube_layers": {"single": partial(_tubes, 1), "several": partial(_tubes, 3)},
    "inking": {"no": partial(_inking, False), "yes": partial(_inking, True)},
}
