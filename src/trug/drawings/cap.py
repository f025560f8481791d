"""The cap from the side, and where the stipe stands, seen from below."""

from __future__ import annotations

from trug.drawings.model import Drawings
from trug.drawings.scene import trunk
from trug.drawings.stroke import (
    Point,
    ellipse,
    fine,
    hair,
    hatch,
    inside,
    main,
    mirrored,
    outside,
    smooth,
    stipple,
    straight,
)

__all__ = ["DRAWINGS"]

# ---------------------------------------------------------------- shape


def _profile(*left: Point) -> list[Point]:
    """Return an outline from the left edge to the right one; given as its left half, the middle last."""
    return smooth(*left, *((96 - x, y) for x, y in reversed(left[:-1])))


def _stipe(top: float, half: float = 5.5) -> list[list[Point]]:
    """Return a stipe from under the cap down to the foot."""
    left = smooth((48 - half, top), (48 - half - 0.3, top + 14), (48 - half - 1, 84), (48 - half - 2, 90))
    return [left, mirrored(left), smooth((48 - half - 2, 90), (48, 91.6), (48 + half + 2, 90))]


def _side(over: list[Point], under: list[Point], half: float = 5.5, shade: tuple[list[Point], ...] = ()) -> str:
    """Ink a cap from the side: its upper line, its lower line, and the stipe that stands below."""
    cap = over + under[::-1]
    middle = min(y for x, y in under if abs(x - 48) < half + 1)
    stipe = [part for line in _stipe(middle, half) for part in outside(line, cap)]
    return main([over, under, *stipe]) + fine(list(shade))


def _rounded() -> str:
    over = smooth((37, 59), (25, 54), (20, 38), (27, 20), (48, 11), (69, 20), (76, 38), (71, 54), (59, 59))
    under = smooth((37, 59), (42, 56.5), (48, 56), (54, 56.5), (59, 59))
    return _side(over, under, shade=(smooth((71, 36), (68, 48), (61, 54)), smooth((67, 46), (64, 50), (60, 52))))


def _egg_shaped() -> str:
    over = smooth((31, 62), (28.5, 48), (30.5, 28), (37, 13), (48, 8), (59, 13), (65.5, 28), (67.5, 48), (65, 62))
    under = smooth((31, 62), (38, 64.5), (48, 65.5), (58, 64.5), (65, 62))
    return _side(over, under, shade=(smooth((62, 30), (63.5, 45), (62, 58)), smooth((59.5, 42), (60, 50), (59, 58))))


def _conical() -> str:
    over = straight((17, 60), (48, 11)) + straight((48, 11), (79, 60))
    under = smooth((17, 60), (30, 62.5), (48, 63.5), (66, 62.5), (79, 60))
    return _side(over, under, shade=(straight((54, 26), (72, 56)), straight((58, 38), (68, 56))))


def _bell() -> str:
    left = ((10, 63), (18, 60), (25, 52), (29, 38), (34, 22), (41, 14), (48, 12))
    under = smooth((10, 63), (28, 65.5), (48, 66), (68, 65.5), (86, 63))
    return _side(
        _profile(*left),
        under,
        shade=(smooth((60, 24), (64.5, 42), (70, 54), (77, 60)), smooth((61, 40), (65, 52), (70, 59))),
    )


def _convex() -> str:
    left = ((11, 56), (16, 42), (29, 28), (48, 23))
    under = smooth((11, 56), (28, 55), (48, 54.5), (68, 55), (85, 56))
    return _side(
        _profile(*left), under, shade=(smooth((70, 34), (77, 43), (80, 51)), smooth((70, 41), (74, 46), (76, 52)))
    )


def _umbonate() -> str:
    left = ((9, 56), (14, 49), (27, 43), (37, 39), (41, 31), (48, 27.5))
    under = smooth((9, 56), (28, 55), (48, 54.5), (68, 55), (87, 56))
    return _side(
        _profile(*left), under, shade=(smooth((52.5, 33), (55, 38), (60, 42)), smooth((70, 46), (78, 49), (82, 53)))
    )


def _flat() -> str:
    left = ((7, 48), (8, 43), (13, 41.2), (30, 40.6), (48, 40.5))
    under = smooth((7, 48), (26, 49.5), (48, 50), (70, 49.5), (89, 48))
    return _side(_profile(*left), under, shade=(smooth((62, 45), (74, 44.8), (82, 44.8)),))


def _depressed() -> str:
    left = ((7, 47), (9, 40), (15, 37.5), (26, 39.5), (36, 45), (48, 47))
    over = _profile(*left)
    under = smooth((7, 47), (20, 51), (36, 56), (48, 57.5), (60, 56), (76, 51), (89, 47))
    far = smooth((15, 37.5), (28, 34.5), (48, 33.6), (68, 34.5), (81, 37.5))
    return _side(
        over, under, shade=(far, smooth((56, 43), (64, 40), (74, 37.2)), smooth((58, 40), (63, 38.4), (69, 37)))
    )


def _funnel() -> str:
    rim = ellipse(48, 22, 38, 9)
    left = smooth((10, 23), (20, 34), (33, 50), (40.5, 64), (42, 76), (41, 90))
    deep = []
    for k in range(-5, 6):
        down = smooth((48 + k * 6.4, 13), (48 + k * 5, 21 - abs(k) * 0.5), (48 + k * 3, 27.5 - abs(k) * 0.4))
        deep += inside(down, rim)
    gills = []
    for k in (-3, -2, -1, 1, 2, 3):
        gills.append(smooth((48 + k * 9.4, 33 - abs(k) * 1.1), (48 + k * 5.4, 46), (48 + k * 2, 62)))
    foot = smooth((41, 90), (48, 92), (55, 90))
    return main([rim, left, mirrored(left), foot]) + fine(gills) + hair(deep, 1.5)


def _fan() -> str:
    # A shell from its side, seen a little from above: narrow at the wood, wide and thin at the edge.
    edge = smooth(
        (17, 44), (29, 39), (42, 23), (62, 12), (81, 17), (90, 36), (86, 54), (69, 65), (47, 62.4), (31, 55.6), (17, 53)
    )
    lower = smooth((90, 36), (89.4, 52), (82, 64.6), (66, 72), (46, 69), (30, 60.5), (17.5, 57))
    rays = []
    for k, (x, y) in enumerate(((48, 26), (62, 20), (75, 23), (81, 36), (80, 49), (68, 59), (52, 57))):
        rays.append(smooth((30, 46 + k * 0.9), (41, 45 + (k - 3) * 2.2), (x, y)))
    return trunk(43.5, 57) + main([edge, lower]) + fine(rays)


def _tongue() -> str:
    outline = smooth(
        (17, 33), (36, 29), (58, 33), (76, 42.4), (84, 54), (83, 63), (74, 69), (56, 70.4), (36, 69.4), (17, 66)
    )
    rolls = [smooth((26, 41), (50, 42), (68, 49), (77, 58)), smooth((22, 51), (44, 51), (60, 55), (69, 62))]
    under = [
        *smooth((82, 62), (70, 65), (50, 66), (19, 62)),
        *smooth((19, 66), (36, 69.4), (56, 70.4), (74, 69), (82.6, 63)),
    ]
    return trunk(33, 66) + main(outline) + fine(rolls) + hatch(under, 90, 2.6)


# ---------------------------------------------------------------- where the stipe stands, seen from below


def _from_below(x: float, y: float, cap: list[Point], stipe: list[Point], hide: list[Point]) -> str:
    lines = []
    edge = cap[:: max(1, len(cap) // 64)]
    for k, (ex, ey) in enumerate(edge):
        start = 0.0 if k % 2 else 0.5
        line = straight((x + (ex - x) * start, y + (ey - y) * start), (x + (ex - x) * 0.96, y + (ey - y) * 0.96))
        lines += [p for p in outside(line, hide) if len(p) > 3]
    return main(cap, closed=True) + main(stipe) + fine(lines)


def _central() -> str:
    cut = ellipse(48, 48, 8.5, 8.5)
    return _from_below(48, 48, ellipse(48, 48, 40, 40), cut, cut) + stipple(cut, 4, 0.6)


def _off_centre() -> str:
    cut = ellipse(65, 57, 8.5, 8.5)
    return _from_below(65, 57, ellipse(48, 48, 40, 40), cut, cut) + stipple(cut, 4, 0.6)


def _kidney(foot: float, half: float) -> list[Point]:
    left = ((48, 8), (27, 13), (11, 29), (8, 47), (15, 61), (29, 68), (48 - half, foot))
    return smooth(*left[::-1], *((96 - x, y) for x, y in left[1:]))


def _lateral() -> str:
    cap = _kidney(71, 7)
    stub = smooth((41, 71), (40.5, 68), (48, 65), (55.5, 68), (55, 71))
    left = smooth((41, 71), (42, 78), (41.5, 88))
    stipe = [left, mirrored(left), ellipse(48, 88, 6.5, 2.6)]
    sides = [p for line in stipe[:2] for p in outside(line, stipe[2])]
    lines = []
    for k, (ex, ey) in enumerate(p for p in cap[4 :: len(cap) // 52] if p[1] < 66):
        start = 0.06 if k % 2 else 0.5
        x = 48 + (ex - 48) * 0.1
        line = straight((x + (ex - x) * start, 68 + (ey - 68) * start), (x + (ex - x) * 0.96, 68 + (ey - 68) * 0.96))
        lines += [p for p in outside(line, stub) if len(p) > 3]
    return main([cap, stub, *sides, stipe[2]]) + fine(lines) + stipple(stipe[2], 3.4, 0.5)


def _no_stipe() -> str:
    cap = [(x, y + 9) for x, y in _kidney(66, 15)]
    wood = [smooth((4, 76), (20, 74.5), (33, 75)), smooth((63, 75), (78, 74.5), (92, 76))]
    bark = [
        smooth((6, 82), (22, 80.5), (36, 82)),
        smooth((42, 81), (58, 82.5), (72, 80.5)),
        smooth((78, 82), (86, 81), (91, 82)),
        smooth((12, 88), (30, 87), (48, 88.5)),
        smooth((56, 88), (70, 86.5), (86, 88)),
    ]
    lines = []
    for k, (ex, ey) in enumerate(p for p in cap[4 :: len(cap) // 52] if p[1] < 66):
        start = 0.1 if k % 2 else 0.5
        x = 48 + (ex - 48) * 0.42
        lines.append(
            straight((x + (ex - x) * start, 76 + (ey - 76) * start), (x + (ex - x) * 0.96, 76 + (ey - 76) * 0.96))
        )
    return main([cap, *wood, straight((33, 75), (63, 75))]) + fine([*lines, *bark])


DRAWINGS: Drawings = {
    "cap_shape": {
        "rounded": _rounded,
        "egg-shaped": _egg_shaped,
        "conical": _conical,
        "bell": _bell,
        "convex": _convex,
        "umbonate": _umbonate,
        "flat": _flat,
        "depressed": _depressed,
        "funnel": _funnel,
        "fan": _fan,
        "tongue": _tongue,
    },
    "stipe_position": {"central": _central, "off-centre": _off_centre, "lateral": _lateral, "none": _no_stipe},
}
