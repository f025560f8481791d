"""The fertile side: gills, spines, folds, and how gills meet the stipe. Pores are in `trug.drawings.pores`."""

from __future__ import annotations

import math
from functools import partial

from trug.drawings.model import Drawings
from trug.drawings.mosaic import cells, clipped
from trug.drawings.pores import WINDING_PORES
from trug.drawings.stroke import (
    Point,
    Points,
    arc,
    ellipse,
    fine,
    hair,
    hatch,
    inside,
    level,
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
    without,
)

__all__ = ["DRAWINGS"]


def _ray(angle: float, near: float, far: float, cx: float, cy: float, rx: float, ry: float) -> tuple[Point, Point]:
    """Return the ends of a ray of an ellipse, from a share of its radius to another."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return (cx + rx * near * c, cy + ry * near * s), (cx + rx * far * c, cy + ry * far * s)


# ---------------------------------------------------------------- the fertile side, seen from below

_UNDER = ellipse(48, 42, 41, 17)
_DOME = arc(48, 42, 41, 33, 180, 360)
_FOOT_SIDE = smooth((42, 44), (42, 66), (40, 90))
_FOOT = [*_FOOT_SIDE[::-1], *arc(48, 44, 6, 2, 180, 360)[1:-1], *mirrored(_FOOT_SIDE)[::-1]]
#: Where no mouth may have its middle, lest it run over the stipe.
_AROUND_FOOT: list[Point] = [(39.4, 39), (56.6, 39), (58, 91), (38, 91)]


def _from_below(pattern: str, rim: list[list[Point]] | None = None) -> str:
    """Draw the mushroom that shows its underside; the fertile side is washed."""
    seen = outside(_UNDER, _FOOT) if rim is None else rim
    return (
        tint(without(_UNDER, _FOOT), 0.1)
        + main([_DOME, *seen, _FOOT, smooth((40, 90), (48, 91.6), (56, 90))])
        + pattern
    )


def _gills() -> str:
    rays = [_ray(a * 6, 0.2 if a % 2 else 0.62, 0.98, 48, 42, 41, 17) for a in range(60)]
    return _from_below(fine([p for r in rays for p in outside(straight(*r), _FOOT)]))


def _folds() -> str:
    """Draw a funnel from its side; blunt folds run down it far onto the stipe, fork, and are joined across."""
    left = smooth((8, 24), (12, 33), (24, 46), (35, 60), (40, 74), (40.5, 91))
    rim = smooth((8, 24), (14, 29), (24, 29), (34, 33), (48, 32), (61, 33.4), (72, 29), (82, 29), (88, 24))
    back = smooth((8, 24), (16, 18), (30, 17), (48, 15), (66, 17), (80, 18), (88, 24))
    body = [*rim, *[(96 - x, y) for x, y in left], *left[::-1]]
    folds: list[list[Point]] = []
    for k in range(7):
        d = (k - 3) / 3
        fork = (48 + d * 17, 51 - abs(d) * 4)
        folds.append(smooth((48 + d * 4.6, 80 - k % 2 * 6), (48 + d * 8.5, 64), fork))
        for side in (-1, 1):
            folds.append(
                smooth((48 + d * 10.5, 60), fork, (48 + d * 25 + side * 2.6, 40), (48 + d * 34 + side * 4.6, 27))
            )
        if k < 6:
            e = (k - 2) / 3
            y = 46 - abs(d + e) * 4 + k % 2 * 6
            folds.append(smooth((48 + d * 20 + 2, y), (48 + (d + e) * 10, y - 1.6), (48 + e * 20 - 2, y)))
    seen = [p for f in folds for p in inside(f, body)]
    foot = smooth((40.5, 91), (48, 92.6), (55.5, 91))
    return tint(body, 0.1) + main([back, rim, left, mirrored(left), foot]) + fine(seen)


def _pores() -> str:
    return _from_below(
        fine([ellipse(x, y, 1.7, 1.1) for x, y in spread(scaled(_UNDER, 0.95, (48, 42)), 4.4, besides=[_AROUND_FOOT])])
    )


def _maze() -> str:
    mouths = [scaled(moved(m, 0, -6), 0.98, (48, 42), 0.46) for m in WINDING_PORES]
    under = scaled(_UNDER, 0.96, (48, 42))
    return _from_below(fine([p for m in mouths for q in inside(m, under) for p in outside(q, _FOOT)]))


def _spines() -> str:
    """Draw spines that hang down, the near ones before the far ones and before the rim."""
    roots = sorted(spread(scaled(_UNDER, 0.9, (48, 42)), 6.2, besides=[_AROUND_FOOT]), key=lambda p: -p[1])
    spines = [[*straight((x - 2.2, y), (x, y + 11)), *straight((x, y + 11), (x + 2.2, y))] for x, y in roots]
    shown = [p for k, s in enumerate(spines) for p in outside(s, _FOOT, *spines[max(0, k - 14) : k])]
    return _from_below(fine(shown), outside(_UNDER, _FOOT, *spines))


def _smooth() -> str:
    lines = [smooth(*(_ray(a, f, f, 48, 42, 41, 17)[0] for a in range(s, s + 28, 7))) for f, s in _WRINKLES]
    return _from_below(fine([p for line in lines for p in outside(line, _FOOT)]))


_WRINKLES = ((0.86, 150), (0.8, 20), (0.55, 175), (0.6, 335))


def _pits() -> str:
    head = smooth((48, 6), (34, 14), (26, 32), (28, 50), (38, 58), (58, 58), (68, 50), (70, 32), (62, 14), closed=True)
    inner = scaled(head, 0.93, (48, 33))
    pits = [smooth(*pit, closed=True) for c in cells(spread(inner, 13, 3), 3.4) if len(pit := clipped(c, inner)) > 2]
    foot = smooth((41, 59), (40, 74), (37, 90))
    low = smooth((37, 90), (48, 91.8), (59, 90))
    return tint(head, 0.1) + tint(pits, 0.35) + main([head, foot, mirrored(foot), low]) + fine(pits)


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
    foot = smooth((40, 54), (41, 72), (37, 90))
    low = smooth((37, 90), (48, 91.8), (59, 90))
    return tint(head, 0.1) + main([head, foot, mirrored(foot), low]) + fine(folds)


def _cup_lining() -> str:
    mouth = ellipse(48, 34, 40, 16)
    bowl = smooth((8, 34), (14, 58), (32, 76), (42, 82), (42, 90))
    shade = [arc(48, 38, 34 - 9 * k, 11 - 3 * k, 20, 160) for k in range(3)]
    return tint(mouth, 0.16) + main([mouth, bowl, mirrored(bowl), smooth((42, 90), (48, 91.4), (54, 90))]) + fine(shade)


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
    return tint(outline, 0.14) + main([outline, smooth((40, 90), (48, 92), (57, 90))]) + fine(lines)


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
    top = level((48, 13), (26, 17), (10, 30), _RIM)
    under = smooth(_RIM, (20, 39), (39, 33))
    edge = smooth(_RIM, *_GILL_EDGES[state])
    end = [p for p in under if p[0] <= edge[-1][0]]
    gill = [*edge, *end[::-1]]
    stipe = straight((39, 33), (39, 91))
    low = smooth((39, 91), (48, 92.6), (57, 91))
    return (
        tint([gill, mirrored(gill)], 0.26)
        + main([*(line for half in (top, edge, stipe) for line in (half, mirrored(half))), low])
        + fine([under, mirrored(under)])
    )


def _from_a_point() -> str:
    """Draw a shell that hangs on the wood by one point, cut in half; its gills run to that point."""
    at = (82.6, 43.0)
    top = smooth(at, (74, 33), (58, 27), (34, 28), (14, 37), (5, 47))
    under = smooth((5, 47), (30, 40.6), (60, 40), at)
    edge = smooth((5, 47), (16, 55), (38, 60), (60, 57), (74, 50), at)
    bark = smooth((84, 6), (82, 26), at, (84, 62), (82, 91))
    wood = [*bark, (95, 91), (95, 6)]
    return tint([*edge, *under[::-1]], 0.26) + main([top, edge, bark]) + fine(under) + hatch(wood, 60, 4)


# ---------------------------------------------------------------- gills cut across, and single gills


def _comb(gap: float, count: int) -> str:
    """Draw gills hanging from the cap flesh, cut across half way to the edge; each is 20 units deep."""
    thick = 2.2
    left = 48 - (count - 1) * (gap + thick) / 2
    lines: list[list[Point]] = []
    for k in range(count):
        x = left + k * (gap + thick)
        lines.append(straight((x - thick / 2, 46), (x - 0.5, 66), (x + 0.5, 66), (x + thick / 2, 46)))
    flesh = [*smooth((5, 46), (5, 34), (24, 26), (48, 23), (72, 26), (91, 34), (91, 46)), (5, 46)]
    return main(flesh) + tint(flesh, 0.1) + solid(lines)


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
            (10 + k * 76 / 28, 73 + 6 * math.sin(math.pi * k / 28) + ((3.5 + k % 3 * 1.5) if k % 2 else -4))
            for k in range(29)
        ]
        return _one_gill(straight(*teeth), 0.2)
    return _one_gill(edge, 0.2)


def _gill_edge_split() -> str:
    """Draw one gill from its cut end: its edge has parted into two lips, each curled away to its own side."""
    back: Point = (36, -9)
    right_lip = smooth((32, 45), (33, 55), (38, 66), (45, 71.6), (52.6, 69.6), (55.4, 62.6), (51.4, 57), (46, 59.4),
                       (47, 63.4))  # fmt: skip
    left_lip = mirrored(right_lip, 31)
    stem = [(27, 27), (35, 27), (34.4, 50), (27.6, 50)]
    roll = smooth((43.4, 73), (51, 72.8), (57, 66.6), (56.4, 59), (51, 55.4))
    far = moved(roll, *back)
    face = [(35, 27), (35 + back[0], 27 + back[1]), far[-1], roll[-1], (45, 62), (36.6, 61), (33.4, 50), (34, 27)]
    cylinder = [*roll, *far[::-1]]
    flesh = straight((8, 27), (8, 16), (8 + back[0], 16 + back[1]), (90, 16 + back[1]), (90, 27 + back[1]),
                     (54, 27), closed=True)  # fmt: skip
    return (
        tint([*without(face, flesh), cylinder], 0.2)
        + tint(flesh, 0.1)
        + main([flesh, straight((8, 16), (54, 16)), straight((54, 16), (90, 7)), straight((54, 16), (54, 27))])
        + main([far, straight(roll[0], far[0]), straight(roll[-1], far[-1])])
        + main(outside(straight((35 + back[0], 27 + back[1]), far[-1]), flesh))
        + solid(stem)
        + hair([right_lip, left_lip], 5.4)
    )


# ---------------------------------------------------------------- forks, seen from below


def _fan(lines: list[list[Point]]) -> str:
    """Draw a piece of cap from below: the stipe at the bottom, the edge of the cap on top."""
    rim = arc(48, 92, 84, 84, 238, 302)
    foot = arc(48, 92, 22, 22, 238, 302)
    sides = [_gill(238, 22, 84), _gill(302, 22, 84)]
    return main([rim, foot, *sides]) + fine(lines)


def _gill(angle: float, near: float, far: float = 83) -> list[Point]:
    return straight(*_ray(angle, near, far, 48, 92, 1, 1))


def _simple() -> str:
    angles = [238 + k * 4 for k in range(1, 16)]
    starts = (62, 45, 62, 23)
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


# ---------------------------------------------------------------- ink


def _inking(melts: bool) -> str:
    """Draw an old cap, tipped so that its gills are seen: they stay and dry, or melt into black drops."""
    edge_y = 58
    half = level((48, 10), (34, 15), (24, 34), (15, edge_y - 3 if melts else edge_y))
    foot = smooth((44, 50), (44, 76), (43, 91))
    low = smooth((43, 91), (48, 92.4), (53, 91))
    stipe = [*foot, *mirrored(foot)]
    if not melts:
        mouth = ellipse(48, edge_y, 33, 12)
        gills = [straight(*_ray(a * 10, 0.2 if a % 2 else 0.5, 0.95, 48, edge_y, 33, 12)) for a in range(36)]
        stem = [*arc(48, edge_y - 1, 4, 1.4, 180, 360), *mirrored(foot)[::-1], *foot[::-1]]
        sides = [p for line in (foot, mirrored(foot)) for p in line if p[1] >= edge_y - 1]
        legs = [[p for p in sides if p[0] < 48], [p for p in sides if p[0] > 48]]
        return (
            tint(without(mouth, stem), 0.1)
            + main([half, mirrored(half), *outside(mouth, stem), low, *legs])
            + fine([p for g in gills for p in outside(g, stem)])
        )
    ragged = smooth((15, 55), (17, 63), (22, 57), (26, 66), (31, 58), (36, 67), (42, 58), (48, 59.6), (54, 58),
                    (59, 68), (65, 58), (70, 66), (75, 57), (79, 63), (81, 55))  # fmt: skip
    ink = [*ragged, *smooth((81, 55), (68, 49), (48, 47), (28, 49), (15, 55))]
    drops = [_drop(x, y, r) for x, y, r in ((26, 77, 2.4), (35, 83, 2.8), (60, 80, 2.6), (71, 76, 2.2), (18, 74, 2))]
    stem = [p for p in foot if p[1] > 57]
    return (
        main([half, mirrored(half), low, stem, mirrored(stem)])
        + solid([ink, *drops])
        + solid(without(ellipse(48, 91, 17, 2.2), [*stipe, *low[::-1]]))
        + fine([straight((48 + d * 0.62, 28), (48 + d, 46.4 - (24 - abs(d)) * 0.03)) for d in range(-24, 25, 6)])
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
        "crowded": partial(_comb, 1.6, 22),
        "close": partial(_comb, 7.0, 9),
        "spaced": partial(_comb, 20.0, 4),
        "distant": partial(_comb, 36.5, 3),
    },
    "gill_edge": {
        **{state: partial(_gill_edge, state) for state in ("even", "paler", "darker", "ragged")},
        "split": _gill_edge_split,
    },
    "gill_forks": {"simple": _simple, "some-forks": _some_forks, "forked": _forked, "veined": _veined},
    "inking": {"no": partial(_inking, False), "yes": partial(_inking, True)},
}
