"""The stipe: its surface, base, inside, and how it breaks."""

from __future__ import annotations

import math
from functools import partial

from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    Point,
    Points,
    dot,
    ellipse,
    fine,
    hair,
    inside,
    main,
    mirrored,
    outside,
    smooth,
    spread,
    stipple,
    straight,
    tint,
)

__all__ = ["DRAWINGS"]

# ---------------------------------------------------------------- the standing stipe, under the rim of its cap

_SIDE = smooth((35, 19.3), (34, 50), (32, 91))
_STIPE = [*_SIDE, *mirrored(_SIDE)]
_CAP_PIECE = [smooth((6, 14), (48, 20), (90, 14)), smooth((6, 14), (9, 7), (14, 2)), smooth((90, 14), (87, 7), (82, 2))]


def _standing(pattern: str, sides: bool = True) -> str:
    lines = [*_CAP_PIECE, _SIDE, mirrored(_SIDE)] if sides else _CAP_PIECE
    return main(lines) + pattern


def _half_width(y: float) -> float:
    """Return half the width of the standing stipe at a height."""
    return 13 + (y - 18) / 73 * 3


def _even() -> str:
    return _standing(tint(_STIPE, 0.22))


def _darkening(top_shade: float, base_shade: float) -> str:
    bands = ""
    steps = 9
    for k in range(steps):
        high, low = 18 + 73 * k / steps, 18 + 73 * (k + 1) / steps
        a, b = _half_width(high), _half_width(low)
        shape = [(48 - a, high), (48 + a, high), (48 + b, low), (48 - b, low)]
        bands += tint(shape, round(top_shade + (base_shade - top_shade) * k / (steps - 1), 2))
    return _standing(bands)


def _fibrous() -> str:
    lines: list[list[Point]] = []
    for k in range(9):
        share = -0.84 + k * 0.21
        for j in range(3):
            top = 21 + j * 24 + (k * 11) % 17
            low = min(top + 19 - (k * 5) % 7, 91)
            lines.append(smooth(*((48 + share * _half_width(y), y) for y in (top, (top + low) / 2, low))))
    return _standing(fine(lines))


def _velvety() -> str:
    hairs = [straight((x, y), (x, y + 3.4)) for x, y in spread(_STIPE, 3.6)]
    fringe: list[list[Point]] = []
    for k in range(27):
        y = 21 + k * 2.6
        half = _half_width(y)
        fringe += [
            straight((48 - half, y), (48 - half - 2.6, y + 2)),
            straight((48 + half, y), (48 + half + 2.6, y + 2)),
        ]
    return _standing(fine([*hairs, *fringe]) + tint(_STIPE, 0.06))


def _powdery() -> str:
    wide = [(x + (-3 if x < 48 else 3), y) for x, y in _STIPE]
    return _standing(stipple(wide, 3.6, 0.55, besides=[[(30, 0), (66, 0), (66, 19), (30, 19)]]))


def _scaly() -> str:
    scales = []
    for j in range(8):
        y = 27 + j * 8.4
        half = _half_width(y)
        for k in range(3):
            share = -0.62 + k * 0.62 + (0.31 if j % 2 else 0)
            if share > 0.75:
                continue
            x = 48 + share * half
            scales.append(smooth((x - 3.4, y - 4), (x - 2.6, y), (x, y + 2.4), (x + 2.6, y), (x + 3.4, y - 4)))
    hooks: list[list[Point]] = []
    for j in range(7):
        y = 30 + j * 8.6
        half = _half_width(y)
        hooks.append(smooth((48 - half, y - 3), (48 - half - 4, y + 1), (48 - half - 5, y - 2)))
        hooks.append(smooth((48 + half, y + 1), (48 + half + 4, y + 5), (48 + half + 5, y + 2)))
    return _standing(fine([*scales, *hooks]))


def _shaggy() -> str:
    ring = [smooth((34.5, 38), (28, 41), (26, 46), (48, 50), (70, 46), (68, 41), (61.5, 38))]
    tufts: list[list[Point]] = []
    for j in range(6):
        y = 52 + j * 7
        half = _half_width(y)
        for k in range(7):
            x = 48 + half * (-1.05 + k * 0.35)
            lean = (k - 3) * 1.2
            tufts.append(smooth((x, y - 2), (x + lean * 0.5, y + 3), (x + lean, y + 6)))
            tufts.append(smooth((x + 1, y - 2), (x + lean, y + 3), (x + lean + 2, y + 5)))
    return _standing(main(ring) + hair(tufts, 1.6))


def _banded() -> str:
    lines: list[list[Point]] = []
    for j in range(6):
        y = 28 + j * 11
        half = _half_width(y)
        knots = [(48 + half * (-1 + k / 4), y + (3 if k % 2 else -2)) for k in range(9)]
        back = [(x, py + 4.2) for x, py in reversed(knots)]
        lines.append([*straight(*knots), *back])
    return _standing(tint(lines, 0.45) + fine([line[: len(line) - 9] for line in lines]))


def _netted() -> str:
    lines: list[list[Point]] = []
    for a in range(-5, 6):
        for lean in (-1, 1):
            knots = []
            for k in range(15):
                y = 18 + k * 5.2
                share = a / 2.5 + lean * (k / 14) * 2.4 - lean * 1.2
                if abs(share) <= 1:
                    knots.append((48 + _half_width(y) * math.sin(share * math.pi / 2), y))
            if len(knots) > 1:
                lines.append(smooth(*knots))
    return _standing(fine([p for line in lines for p in inside(line, _STIPE)]))


def _dotted() -> str:
    inner = [(x + (2 if x < 48 else -2), y) for x, y in _STIPE]
    return _standing(
        "".join(dot(x, y, 1.7) for x, y in spread(inner, 8.5, besides=[[(30, 0), (66, 0), (66, 22), (30, 22)]]))
    )


def _pitted() -> str:
    inner = [(x + (4 if x < 48 else -4), min(y, 86)) for x, y in _STIPE]
    pits = [ellipse(x, y, 3, 4.2) for x, y in spread(inner, 12.5, 2, besides=[[(30, 0), (66, 0), (66, 25), (30, 25)]])]
    shine = [smooth((x[0][0] - 4.4, x[0][1] - 1.5), (x[0][0] - 3.9, x[0][1] - 2.4)) for x in pits]
    return _standing(tint(pits, 0.25) + fine([*pits, *shine]))


def _ribbed() -> str:
    """Draw deep furrows: the outline itself is ribbed where the base is cut across."""
    lobes = [
        (48 + (15 + 1.6 * math.cos(8 * a)) * math.cos(a), 83 + (7 + 0.9 * math.cos(8 * a)) * math.sin(a))
        for a in (k * math.pi / 90 for k in range(181))
    ]
    ribs = [smooth((48 + d * 0.78, 19), (48 + d * 0.9, 50), (48 + d, 82)) for d in (-10, -3.6, 3.6, 10)]
    sides = [smooth((34, 18), (33, 50), (31, 82)), smooth((62, 18), (63, 50), (65, 82))]
    ribs = [outside(r, lobes)[0] for r in ribs]
    sides = [outside(r, lobes)[0] for r in sides]
    folds = [tint([*ribs[k], *reversed([(x - 3, y) for x, y in ribs[k]])], 0.3) for k in range(4)]
    return _standing(main([*sides, lobes, *ribs]) + "".join(folds) + tint(lobes, 0.1), sides=False)


# ---------------------------------------------------------------- the base, dug out

_GROUND_Y = 40.0


def _ground(*shapes: list[Point]) -> str:
    """Draw the level of the ground as a broken line on both sides of what stands in it."""
    line = straight((4, _GROUND_Y), (92, _GROUND_Y))
    return fine(outside(line, *shapes), dash="4 3")


_BASES: dict[str, tuple[Point, ...]] = {
    "equal": ((38, 4), (38, 40), (38, 74), (39, 82), (43, 85), (48, 85.5)),
    "clubbed": ((39, 4), (38, 24), (35, 44), (29, 66), (29, 78), (37, 86), (48, 88)),
    "round-bulb": ((39, 4), (39, 40), (38, 53), (28, 59), (22, 71), (27, 83), (38, 89), (48, 90)),
    "rimmed-bulb": ((23, 60), (22, 68), (27, 80), (38, 87), (48, 88)),
    "tapered": ((38, 4), (38, 36), (39, 54), (43, 74), (46, 85), (48, 89)),
    "rooting": ((38, 4), (38, 34), (39, 46), (44, 58), (46, 72), (44, 84), (45.5, 94)),
}


def _base(state: str) -> str:
    half = smooth(*_BASES[state])
    return main([half, mirrored(half)]) + _ground([*half, *mirrored(half)])


def _rimmed_bulb() -> str:
    bulb = smooth(*_BASES["rimmed-bulb"])
    stem = smooth((39, 4), (39, 40), (38, 63))
    lip = smooth((23, 60), (20, 56), (24, 56), (30, 61), (38, 63))
    front = smooth((24, 61), (34, 68), (48, 70), (62, 68), (72, 61))
    both = [bulb, stem, lip]
    return main([*both, *[mirrored(b) for b in both]]) + fine(front) + _ground([*stem, *mirrored(stem)])


def _rooting() -> str:
    left = smooth((38, 4), (38, 36), (39, 46), (44, 56), (45, 68), (42, 80), (44, 94))
    right = smooth((58, 4), (58, 36), (57, 46), (52, 56), (50, 68), (46.5, 80), (45, 94))
    side = smooth((45, 70), (38, 76), (35, 84))
    return main([left, right]) + fine([side, smooth((48, 76), (55, 82), (57, 89))]) + _ground([*left, *right[::-1]])


def _joined() -> str:
    middle = smooth((41, 4), (41, 30), (43, 56), (45, 66))
    left_out = smooth((10, 14), (16, 38), (27, 62), (35, 78), (40, 86), (48, 88))
    left_in = smooth((22, 10), (28, 34), (37, 54), (45, 66))
    caps = [smooth((10, 14), (22, 10))]
    lines = [middle, left_out, left_in, *caps]
    shapes = [[*left_out, *mirrored(left_out)]]
    return main([*lines, *[mirrored(line) for line in lines]]) + _ground(*shapes)


# ---------------------------------------------------------------- the stipe, cut lengthwise

_CUT_SIDE = smooth((34, 8), (33, 50), (31, 82), (36, 89), (48, 91))
_CUT = [*_CUT_SIDE, *mirrored(_CUT_SIDE)]
_PITH_SIDE = smooth((41, 8), (40.5, 50), (39, 76), (42, 82), (48, 84))
_PITH = [*_PITH_SIDE, *mirrored(_PITH_SIDE)]


def _cut(shade: str, pattern: str) -> str:
    top = straight((34, 8), (62, 8))
    return shade + main([_CUT_SIDE, mirrored(_CUT_SIDE), top]) + pattern


def _solid() -> str:
    return _cut(tint(_CUT, 0.2), "")


def _stuffed() -> str:
    wisps: list[list[Point]] = []
    for x, y in spread(_PITH, 5, 1):
        wisps.append(smooth((x - 2, y), (x - 0.5, y - 1.8), (x + 1, y + 0.6), (x + 2.2, y - 1)))
    wisps = [p for w in wisps for p in inside(w, _PITH)]
    return _cut(tint([_CUT, _PITH], 0.2), fine([_PITH_SIDE, mirrored(_PITH_SIDE), *wisps]))


def _hollow() -> str:
    return _cut(tint([_CUT, _PITH], 0.2), main([_PITH_SIDE, mirrored(_PITH_SIDE)]))


def _chambered() -> str:
    rooms = []
    y = 11.0
    for k, depth in enumerate((11, 13, 10, 14, 12)):
        half = 9 + (k % 2)
        low = y + depth
        knots = ((48 - half, y + 2), (48, y + k % 2 * 2), (48 + half, y + 2), (47 + half, low - 1), (48, low + k % 2))
        rooms.append(smooth(*knots, (49 - half, low - 2), closed=True))
        y += depth + 3
    return _cut(tint([_CUT, *rooms], 0.2), main(rooms))


# ---------------------------------------------------------------- the stipe, bent until it gives


def _limb(half: float, tip: Points, angle: float, lean: float) -> list[list[Point]]:
    """Return the lines of the left half of a bent stipe; ``tip`` is the broken end, (outwards, across)."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))

    def place(along: float, across: float) -> Point:
        return (44 - lean - along * c - across * s, 40 + along * s - across * c)

    upper = straight(place(46, half), place(0, half))
    lower = straight(place(46, -half), place(0, -half))
    broken = straight(*(place(-x, y) for x, y in tip))
    return [upper, lower, broken]


def _broken(half: float, tip: Points, extra: str = "", lean: float = 5) -> str:
    lines = _limb(half, tip, 38, lean)
    return main([*lines, *[mirrored(line) for line in lines]]) + extra


def _fleshy() -> str:
    tip = [(0, 9), (2.5, 6), (1, 3.5), (4, 1), (2.5, -2), (4.5, -5), (0, -9)]
    grain = [ellipse(x, y, 0.6, 0.6) for x, y in ((30, 50), (25, 60), (34, 44), (27, 51), (19, 62))]
    return _broken(9, tip, fine([*grain, *[mirrored(g) for g in grain]]))


def _stringy() -> str:
    tip = [(0, 9), (3, 6), (-2, 4), (2, 1), (-3, -1), (2, -4), (-2, -6), (0, -9)]
    grain: list[list[Point]] = []
    for k in range(4):
        across = 6 - k * 4
        grain.append(straight((29 - across * 0.6, 47 - across * 0.8), (7 - across * 0.6, 64 - across * 0.8)))
    strings = [
        smooth((30, 34), (40, 30), (48, 34), (56, 29), (66, 34)),
        smooth((35, 37), (44, 42), (52, 38), (61, 37)),
        smooth((38, 44), (48, 48), (58, 44)),
        smooth((38, 48), (45, 56), (53, 53), (58, 48)),
        smooth((42, 50), (46, 63), (43, 71)),
        smooth((55, 50), (53, 64), (56, 73)),
        smooth((37, 34), (41, 24), (39, 18)),
        smooth((60, 34), (56, 25), (58, 17)),
    ]
    return _broken(9, tip, fine([*grain, *[mirrored(line) for line in grain], *strings]), lean=8)


def _brittle() -> str:
    tip = [(0, 9), (0, -9)]
    crumbs = [(44, 60, 1.5), (50, 66, 1.1), (53, 58, 1.3), (47, 73, 1), (42, 69, 0.8), (55, 70, 1), (49, 80, 0.8)]
    flakes = [straight((x, y), (x + 2 * r, y + r), (x + r, y + 2.4 * r), closed=True) for x, y, r in crumbs]
    return _broken(9, tip, fine(flakes), lean=7)


def _cartilage() -> str:
    """Draw a thin tube that kinks: one side still holds, the other has snapped open."""
    upper = straight((6, 62), (43, 33), (50, 33), (90, 62))
    lower = [straight((11, 69), (42, 44), (44, 49)), straight((85, 69), (54, 44), (50, 48))]
    bore = [straight((9.5, 66), (42, 40)), straight((86.5, 66), (54, 40))]
    ends = [ellipse(8.5, 65.5, 2.6, 4.3), ellipse(87.5, 65.5, 2.6, 4.3)]
    snap = [straight((42, 44), (46, 39), (49, 41), (54, 44))]
    creases = [straight((45, 33), (46, 38)), straight((49, 33), (48.5, 38))]
    return main([upper, *lower, *ends, *snap]) + fine([*creases, *bore], dash="3 3")


def _wiry() -> str:
    """Draw a thin stipe bent into a loop, whole."""
    outer = smooth((20, 90), (24, 60), (22, 34), (34, 14), (48, 10), (62, 14), (74, 34), (72, 60), (76, 90))
    inner = smooth((26, 90), (30, 60), (28, 36), (37, 20), (48, 16), (59, 20), (68, 36), (66, 60), (70, 90))
    return main([outer, inner, straight((20, 90), (26, 90)), straight((70, 90), (76, 90))])


DRAWINGS: Drawings = {
    "stipe_darkening": {
        "even": _even,
        "darker-below": partial(_darkening, 0.03, 0.7),
        "paler-below": partial(_darkening, 0.7, 0.03),
    },
    "stipe_surface": {
        "smooth": partial(_standing, ""),
        "fibrous": _fibrous,
        "velvety": _velvety,
        "powdery": _powdery,
        "scaly": _scaly,
        "shaggy": _shaggy,
        "banded": _banded,
        "netted": _netted,
        "dotted": _dotted,
        "pitted": _pitted,
        "ribbed": _ribbed,
    },
    "stipe_base": {
        "equal": partial(_base, "equal"),
        "clubbed": partial(_base, "clubbed"),
        "round-bulb": partial(_base, "round-bulb"),
        "rimmed-bulb": _rimmed_bulb,
        "tapered": partial(_base, "tapered"),
        "rooting": _rooting,
        "joined": _joined,
    },
    "stipe_inside": {"solid": _solid, "stuffed": _stuffed, "hollow": _hollow, "chambered": _chambered},
    "stipe_texture": {
        "fleshy": _fleshy,
        "fibrous": _stringy,
        "brittle": _brittle,
        "cartilage": _cartilage,
        "tough": _wiry,
    },
}
