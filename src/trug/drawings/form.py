"""The build of the whole fruitbody."""

from __future__ import annotations

import math

from trug.drawings.dome import Dome
from trug.drawings.model import Drawings
from trug.drawings.mosaic import cells, clipped
from trug.drawings.scene import ground, trunk
from trug.drawings.stroke import (
    Point,
    arc,
    ellipse,
    fine,
    hair,
    hatch,
    inside,
    main,
    mirrored,
    outside,
    scaled,
    smooth,
    spread,
    stacked,
    stipple,
    straight,
    tint,
    turned,
    united,
)

__all__ = ["DRAWINGS"]


def _cap_and_stipe() -> str:
    cap = Dome(radius=34, height=27, tilt=-16, y=40)
    left = smooth((43, 41), (43, 58), (42, 74), (40, 84))
    stipe = [*left, *mirrored(left)]
    rim = outside(cap.rim, stipe)
    gills = []
    for k in range(36):
        a = math.radians(k * 10)
        line = straight(
            (48 + 8 * math.cos(a), 40 + 2.4 * math.sin(a)), (48 + 32.5 * math.cos(a), 40 + 8.6 * math.sin(a))
        )
        gills += outside(line, stipe)
    return main([cap.crown, *rim, left, mirrored(left)]) + fine(gills) + ground(84, stipe)


def _shelf() -> str:
    edge = smooth(
        (17, 47), (28, 41), (42, 27), (60, 20), (78, 24), (89, 37), (90, 50), (78, 56), (60, 54), (40, 52), (17, 49)
    )
    lower = smooth((90, 49), (84, 62), (66, 70), (46, 66), (30, 59), (17.5, 56))
    lip = smooth((90, 50), (78, 56), (60, 54), (40, 52), (22, 49.5))
    gills = []
    for k in range(12):
        x = 29 + k * 5.2
        top = min(lip, key=lambda p: abs(p[0] - x))
        end = min(lower, key=lambda p: abs(p[0] - (x - 1.5)))
        gills.append(
            smooth((top[0], top[1] + 0.6), ((top[0] + end[0]) / 2 + 0.6, (top[1] + end[1]) / 2), (end[0], end[1] - 0.6))
        )
    rolls = [smooth((44, 37), (58, 30), (74, 33)), smooth((52, 43), (64, 39), (79, 43))]
    return trunk(46, 57) + main([edge[: len(edge) * 62 // 100], lip, lower]) + fine(gills + rolls)


def _bracket() -> str:
    over = smooth((17, 22), (34, 24), (54, 33), (72, 46), (84, 60))
    front = smooth((84, 60), (86, 66), (82, 70), (60, 72), (36, 73), (17, 73))
    outline = [*over, *front]
    lip = smooth((17.6, 67.6), (36, 67.6), (60, 67), (85.6, 65.4))
    cap = [*over, *[p for p in front if p[1] < 65.4], *lip[::-1]]
    zones, shade = [], []
    for x0, x1, x2 in ((30, 45, 47), (46, 60, 63), (61, 73, 77)):
        zones += inside(smooth((x0, 16), (x1, 43), (x2, 70)), cap)
        shade += inside(smooth((x0 + 3.4, 16), (x1 + 3, 43), (x2 + 2.6, 70)), cap)
    under = [*lip[::-1], *smooth((19.5, 73), (36, 73), (60, 72), (82, 70), (85.6, 66.4))]
    return trunk(22, 73) + main([outline, *zones]) + fine([*shade, *inside(lip, outline)]) + hatch(under, 90, 1.9)


def _frond(x: float, y: float, size: float, degrees: float) -> list[Point]:
    """Return a fan-shaped frond that stands on (x, y) and is turned from the upright."""
    half = ((2, 0), (3, -9), (10, -19), (14, -26), (11.5, -30), (6.5, -29), (4, -32), (0, -31))
    knots = [(x - px * size, y + py * size) for px, py in half] + [
        (x + px * size, y + py * size) for px, py in half[-2::-1]
    ]
    return turned(smooth(*knots), degrees, (x, y))


def _rosette() -> str:
    fronds = [
        _frond(48, 83, 0.95, -2),
        _frond(44, 84, 0.98, -42),
        _frond(52, 84, 0.98, 40),
        _frond(43, 84, 1.0, -78),
        _frond(53, 84, 1.0, 76),
        _frond(46, 76, 1.18, -22),
        _frond(51, 76, 1.18, 22),
        _frond(44, 76, 1.25, -56),
        _frond(52, 76, 1.25, 55),
        _frond(48, 66, 1.5, 0),
        _frond(45, 68, 1.45, -34),
        _frond(51, 68, 1.45, 34),
    ]
    ribs = []
    for x, y, deg, size in ((48, 83, -2, 0.95), (44, 84, -42, 0.98), (52, 84, 40, 0.98)):
        for off in (-5, 0, 5):
            ribs.append(turned(smooth((x + off * 0.4, y - 12 * size), (x + off, y - 25 * size)), deg, (x, y)))
    foot = smooth((40, 84), (43, 90), (48, 91), (53, 90), (56, 84))
    return main(stacked(fronds)) + fine(ribs) + main(outside(foot, *fronds))


def _branch(start: Point, end: Point, wide: float, narrow: float, bow: float) -> list[Point]:
    """Return a bent, tapering branch with a round tip, as a closed shape."""
    (x0, y0), (x1, y1) = start, end
    far = math.hypot(x1 - x0, y1 - y0)
    nx, ny = -(y1 - y0) / far, (x1 - x0) / far
    mx, my = (x0 + x1) / 2 + nx * bow, (y0 + y1) / 2 + ny * bow
    middle = (wide + narrow) / 2
    return smooth(
        (x0 + nx * wide, y0 + ny * wide),
        (mx + nx * middle, my + ny * middle),
        (x1 + nx * narrow, y1 + ny * narrow),
        (x1 + (x1 - x0) / far * narrow, y1 + (y1 - y0) / far * narrow),
        (x1 - nx * narrow, y1 - ny * narrow),
        (mx - nx * middle, my - ny * middle),
        (x0 - nx * wide, y0 - ny * wide),
        closed=True,
    )


def _coral() -> str:
    shapes = [_branch((48, 90), (48, 68), 8, 8.5, 0)]
    mains = [
        ((43, 72), (24, 50), 4.4, 3.4, 3),
        ((46, 70), (39, 46), 4.4, 3.2, 1),
        ((51, 70), (56, 46), 4.4, 3.2, -1),
        ((53, 72), (73, 49), 4.4, 3.4, -3),
    ]
    twigs = [
        ((24, 51), (11, 34), 2.8, 1.6, 1),
        ((25, 50), (23, 26), 2.8, 1.6, 1),
        ((39, 47), (33, 18), 2.7, 1.6, 1),
        ((39, 48), (45, 24), 2.6, 1.6, -1),
        ((56, 47), (54, 14), 2.7, 1.6, 1),
        ((56, 48), (65, 22), 2.6, 1.6, -1),
        ((73, 50), (76, 25), 2.8, 1.6, 1),
        ((73, 50), (87, 36), 2.8, 1.6, -1),
    ]
    shapes += [_branch(*m) for m in mains] + [_branch(*t) for t in twigs]
    creases = [
        smooth((46, 78), (44, 70), (38, 62)),
        smooth((50, 80), (51, 70), (54, 60)),
        smooth((48, 86), (48, 76), (47.5, 66)),
    ]
    return main(united(shapes)) + fine(creases) + ground(89, shapes[0])


def _club() -> str:
    club = smooth(
        (43, 88),
        (43, 70),
        (39, 48),
        (36.5, 28),
        (40, 14),
        (48, 9.5),
        (57, 15),
        (59, 29),
        (56, 48),
        (52.5, 70),
        (53, 88),
    )
    shade = [smooth((54, 26), (53, 46), (50, 66)), smooth((50.5, 44), (49.5, 58), (48.6, 70))]
    return main(club) + fine(shade) + ground(88, club)


def _spine_beard() -> str:
    """Draw a cushion on wood; spines hang from it in tiers, the lowest the longest."""
    cushion = smooth((17.4, 15), (28, 8), (46, 7), (66, 13), (79, 26), (82, 42), (78, 47))
    low = smooth((78, 47), (50, 50), (17.6, 46))
    shape = [*cushion, *low]
    tiers: list[list[list[Point]]] = []
    for left, right, y, n, long in ((34, 64, 20, 4, 12), (27, 72, 32, 6, 13), (21, 79, 45, 9, 42)):
        tier = []
        for k in range(n):
            x = left + (right - left) * k / (n - 1)
            half = (right - left) / (n - 1) / 2 * (1.0 if n == 9 else 0.62)
            start = y + 1.6 * math.sin(k * 2.1)
            end = start + long * (1 - 0.5 * abs(k / (n - 1) - 0.45)) - (k * 7 % 4)
            tip = smooth((x - half, start), (x - half * 0.5, (start + end) / 2), (x, end))
            tier.append([*tip, *mirrored(tip, x)[1:]])
        tiers.append(tier)
    hanging = [p for s in tiers[2] for p in outside(s, shape)]
    return trunk(15, 46) + main([cushion, *hanging]) + fine([*tiers[0], *tiers[1], *outside(low, *tiers[2])])


def _ball() -> str:
    ball = smooth(
        (39, 86), (37, 78), (22, 66), (16, 46), (24, 25), (48, 15), (72, 25), (80, 46), (74, 66), (59, 78), (57, 86)
    )
    shade = [
        smooth((74, 40), (73.5, 54), (66, 66)),
        smooth((68.5, 50), (66, 58), (60, 65)),
        smooth((42, 80), (44, 75), (43, 71)),
        smooth((52, 81), (51, 76), (53, 72)),
    ]
    return main(ball) + fine(shade) + ground(86, ball)


def _egg() -> str:
    skin = smooth((48, 12), (66, 22), (77, 46), (72, 70), (48, 81), (24, 70), (19, 46), (30, 22), closed=True)
    within = scaled(skin, 0.86, (48, 47))
    cap = smooth((28, 48), (32, 33), (48, 25), (64, 33), (68, 48), (60, 53), (48, 50), (36, 53), closed=True)
    left = smooth((42.5, 51), (42, 62), (40, 73))
    gills = hatch(
        [*smooth((31, 48.6), (40, 45), (48, 44), (56, 45), (65, 48.6)), *smooth((60, 52), (48, 49.6), (36, 52))],
        90,
        2.4,
    )
    cords = [smooth((46, 81), (44, 86), (46, 91)), smooth((50, 81), (52, 86), (57, 90))]
    return (
        tint([skin, within], 0.25) + main([skin, cap, left, mirrored(left), *cords]) + fine(within, closed=True) + gills
    )


def _star() -> str:
    ball = ellipse(48, 42, 21, 20)
    rays = []
    for a, long in ((90, 27), (38, 31), (142, 31), (-4, 32), (184, 32), (-42, 29), (222, 29)):
        ux, uy = math.cos(math.radians(a)), math.sin(math.radians(a)) * 0.62
        x, y = 48 + ux * 9, 56 + uy * 8
        tip = (48 + ux * (14 + long), 58 + uy * (14 + long) + 4)
        far = math.hypot(tip[0] - x, tip[1] - y)
        nx, ny = -(tip[1] - y) / far * 10, (tip[0] - x) / far * 10
        mid = ((x + tip[0]) / 2, (y + tip[1]) / 2 - 2)
        side = smooth((x + nx, y + ny), (mid[0] + nx * 0.62, mid[1] + ny * 0.62), tip)
        rays.append([*side, *smooth(tip, (mid[0] - nx * 0.62, mid[1] - ny * 0.62), (x - nx, y - ny))])
    mouth = smooth((44, 25), (46, 21.5), (48, 18), (50, 21.5), (52, 25))
    pleats = [smooth((46.5, 25.6), (47.4, 22.4), (47.8, 19.6)), smooth((49.5, 25.6), (48.8, 22.4), (48.3, 19.6))]
    collar = arc(48, 26, 7.5, 2.6, 0, 180)
    ribs = []
    for ray, far in zip(rays[:3], (0.5, 0.5, 0.5), strict=True):
        tip, foot = ray[len(ray) // 2], ((ray[0][0] + ray[-1][0]) / 2, (ray[0][1] + ray[-1][1]) / 2)
        middle = (tip[0] + (foot[0] - tip[0]) * far, tip[1] + (foot[1] - tip[1]) * far)
        ribs += outside(straight(foot, middle), ball)
    return main([*outside(ball, mouth), mouth, *stacked([ball, *rays])[1:]]) + fine([*pleats, collar, *ribs])


def _cup() -> str:
    rim = ellipse(48, 32, 37, 13.5)
    bowl = smooth((11, 33), (15, 50), (26, 67), (40, 76), (43, 85), (53, 85), (56, 76), (70, 67), (81, 50), (85, 33))
    deep = [arc(48, 33, 31, 10, 195, 345), arc(48, 36, 22, 7, 205, 335)]
    grain = stipple([*rim[: len(rim) // 2 + 1], *bowl[::-1]], 6, 0.55, 2)
    return tint(rim, 0.2) + main([rim, bowl]) + fine(deep) + grain + ground(85, bowl)


def _morel() -> str:
    head = smooth(
        (36, 58), (29, 46), (31, 30), (39, 15), (48, 7), (57, 15), (65, 30), (67, 46), (60, 58), (48, 61), closed=True
    )
    inner = scaled(head, 0.95, (48, 34))
    pits = [straight(*pit, closed=True) for c in cells(spread(head, 10, 6), 2.6) if len(pit := clipped(c, inner)) > 2]
    stipe = smooth((42, 60), (41, 74), (39, 88))
    grain = [smooth((45, 66), (44.6, 74), (44, 80)), smooth((51, 68), (51.6, 76), (52, 83))]
    return (
        tint(pits, 0.5)
        + fine(pits)
        + main([head, stipe, mirrored(stipe)])
        + fine(grain)
        + ground(88, [*stipe, *mirrored(stipe)])
    )


def _saddle() -> str:
    front = smooth(
        (20, 11),
        (33, 25),
        (48, 31),
        (63, 22),
        (78, 7),
        (86, 18),
        (83, 38),
        (71, 53),
        (56, 48),
        (47, 52),
        (36, 58),
        (21, 50),
        (13, 31),
        (20, 11),
    )
    back = smooth((20, 11), (34, 14), (49, 19), (64, 14), (78, 7))
    stipe = [*smooth((43, 46), (42, 66), (40, 88)), *smooth((57, 88), (54, 66), (54, 46))]
    furrows = [smooth((47, 58), (46.6, 70), (46, 83)), smooth((50.6, 54), (50.8, 68), (51.8, 82))]
    folds = [
        smooth((22, 18), (26, 31), (36, 44)),
        smooth((79, 15), (74, 31), (62, 42)),
        smooth((47, 36), (46.5, 41), (47, 46)),
    ]
    hollow = [*back, *straight((78, 7), (63, 22)), *smooth((63, 22), (48, 31), (33, 25)), *straight((33, 25), (20, 11))]
    return (
        tint(hollow, 0.3)
        + main([front, *outside(back, front), *outside(stipe, front)])
        + fine(furrows + folds)
        + ground(88, stipe)
    )


def _trumpet() -> str:
    mouth = smooth(
        (8, 22),
        (16, 15),
        (30, 12),
        (48, 14),
        (64, 11),
        (80, 14),
        (88, 21),
        (80, 28),
        (66, 29),
        (52, 33),
        (36, 29),
        (18, 29),
        closed=True,
    )
    left = smooth((8, 22), (12, 32), (26, 42), (36, 56), (41, 74), (41, 90))
    right = smooth((88, 21), (84, 32), (70, 42), (60, 56), (55, 74), (55, 90))
    hollow = [smooth((28, 34), (40, 48), (45, 64), (48, 76)), smooth((70, 34), (57, 48), (51, 64), (48, 76))]
    wrinkles = [smooth((17, 33), (27, 39), (35, 49)), smooth((80, 32), (70, 38), (62, 48))]
    shade = smooth((20, 22), (34, 19), (50, 21), (66, 18), (78, 20))
    return (
        tint(mouth, 0.2)
        + main([mouth, left, right])
        + fine(hollow, dash="2.5 2.5")
        + fine([*wrinkles, shade])
        + ground(90, [*left, *right[::-1]])
    )


def _jelly() -> str:
    lump = smooth(
        (14, 66),
        (9, 56),
        (15, 47),
        (18, 37),
        (29, 37),
        (34, 25),
        (47, 27),
        (57, 19),
        (67, 29),
        (78, 31),
        (79, 43),
        (88, 49),
        (86, 60),
        (78, 66),
        (70, 72),
        (60, 67),
        (51, 73),
        (40, 68),
        (30, 73),
        (21, 67),
        closed=True,
    )
    folds = [
        smooth((18, 37), (25, 44), (23, 53), (31, 57), (38, 52), (44, 58), (40, 68)),
        smooth((34, 25), (39, 34), (35, 42), (43, 47), (51, 41), (57, 47), (54, 55), (61, 59), (60, 67)),
        smooth((67, 29), (61, 35), (66, 43), (73, 42), (74, 51), (69, 57)),
        smooth((47, 27), (50, 33)),
        smooth((79, 43), (75, 41)),
        smooth((86, 60), (79, 57), (76, 61)),
        smooth((15, 47), (17, 52), (15, 58)),
    ]
    shine = [
        smooth((27, 46), (30, 42), (31, 38)),
        smooth((45, 38), (49, 34), (55, 32)),
        smooth((49, 65), (48, 61), (50, 57)),
        smooth((80, 52), (82, 50), (82, 54)),
    ]
    twig = [smooth((3, 70), (30, 72.5), (60, 71.5), (93, 68)), smooth((3, 81), (30, 83.5), (62, 82), (93, 79))]
    bark = [smooth((14, 77), (30, 78.4), (44, 77.8)), smooth((56, 77.2), (72, 76.8), (84, 75))]
    return (
        tint(lump, 0.16)
        + main([lump, *folds, *outside(twig[0], lump), twig[1], ellipse(93, 73.5, 2, 5.5)])
        + hair(shine, 1.8)
        + fine(bark)
    )


def _crust() -> str:
    log = [
        straight((14, 28), (78, 28)),
        straight((14, 76), (78, 76)),
        arc(14, 52, 9, 24, 90, 270),
        ellipse(78, 52, 9, 24),
    ]
    rings = [ellipse(78, 52, 6, 16), ellipse(78, 52, 3, 8)]
    patch = smooth(
        (14, 48),
        (22, 40),
        (33, 43),
        (44, 37),
        (56, 41),
        (63, 50),
        (60, 60),
        (50, 66),
        (38, 63),
        (28, 67),
        (17, 61),
        closed=True,
    )
    edge = scaled(patch, 0.86, (38, 52))
    bark = [
        straight((20, 33), (40, 33)),
        straight((48, 32), (66, 32)),
        straight((16, 71), (30, 71)),
        straight((44, 72), (62, 72)),
    ]
    return tint(patch, 0.25) + main([*log, patch]) + fine([*rings, edge, *bark]) + stipple(edge, 4.4, 0.7, 3)


DRAWINGS: Drawings = {
    "fruitbody_form": {
        "cap-and-stipe": _cap_and_stipe,
        "shelf": _shelf,
        "bracket": _bracket,
        "rosette": _rosette,
        "coral": _coral,
        "club": _club,
        "spine-beard": _spine_beard,
        "ball": _ball,
        "egg": _egg,
        "star": _star,
        "cup": _cup,
        "morel": _morel,
        "saddle": _saddle,
        "trumpet": _trumpet,
        "jelly": _jelly,
        "crust": _crust,
    },
}
