"""The stipe: its surface, base, inside, and how it breaks."""

from __future__ import annotations

import math
from functools import partial

from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    Point,
    Points,
    balanced,
    dot,
    dots,
    ellipse,
    fine,
    hair,
    inside,
    main,
    mirrored,
    outside,
    scaled,
    smooth,
    solid,
    spread,
    stipple,
    straight,
    tint,
    turned,
    without,
)

__all__ = ["DRAWINGS"]

# ---------------------------------------------------------------- the standing stipe, under the rim of its cap

_SIDE = smooth((35, 19.6), (34, 50), (32, 91))
_STIPE = [*_SIDE, *mirrored(_SIDE)]
#: Where the stipe is cut off below.
_CUT_OFF = smooth((32, 91), (48, 93), (64, 91))
_WHOLE = [*_SIDE, *_CUT_OFF, *mirrored(_SIDE)]
_CAP_PIECE = [smooth((6, 14), (48, 20), (90, 14)), smooth((6, 14), (9, 7), (14, 2)), smooth((90, 14), (87, 7), (82, 2))]


def _standing(pattern: str, sides: bool = True) -> str:
    lines = [*_CAP_PIECE, _SIDE, mirrored(_SIDE), _CUT_OFF] if sides else _CAP_PIECE
    return main(lines) + pattern


def _half_width(y: float) -> float:
    """Return half the width of the standing stipe at a height."""
    return 13 + (y - 18) / 73 * 3


def _even() -> str:
    return _standing(tint(_WHOLE, 0.22))


def _darkening(top_shade: float, base_shade: float) -> str:
    """Draw a wash that grows from one end to the other: thin washes laid one over another."""
    steps = 32
    least, most = min(top_shade, base_shade), max(top_shade, base_shade)
    once = 1 - (1 - (most - least)) ** (1 / steps)
    washes = tint(_WHOLE, least) if least > 0 else ""
    for k in range(steps):
        edge = 19.6 + 71.4 * (k + 0.5) / steps
        high, low = (19.6, edge) if top_shade > base_shade else (edge, 91.0)
        a, b = _half_width(high), _half_width(low)
        end = _CUT_OFF[::-1] if low >= 91 else [(48 + b, low), (48 - b, low)]
        washes += tint([(48 - a, high), (48 + a, high), *end], round(once, 3))
    return _standing(washes)


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
    """Draw a fine even nap: dots on the face, short hairs that stand off its outline."""
    nap: list[list[Point]] = []
    for k in range(36):
        y = 22 + k * 1.95
        half = _half_width(y)
        nap += [straight((48 - half, y), (48 - half - 2.4, y)), straight((48 + half, y), (48 + half + 2.4, y))]
    face = [(x + (1.2 if x < 48 else -1.2), min(y, 89.5)) for x, y in _STIPE if y > 21]
    return _standing(fine(nap) + tint(_STIPE, 0.14) + stipple(face, 3.3, 0.5))


def _powdery() -> str:
    """Draw dust on the face, and grains that fall off on both sides."""
    face = [(x + (1.2 if x < 48 else -1.2), min(y, 89.5)) for x, y in _STIPE if y > 21]
    grains = "".join(dot(x, y, (0.5, 1.1, 0.75)[k % 3]) for k, (x, y) in enumerate(spread(face, 4.2)))
    side = [(33.0, 24.0), (30.5, 50.0), (28.5, 91.0), (15.0, 91.0), (27.0, 40.0)]
    fallen = "".join(
        dot(x, y, (0.6, 0.9)[k % 2]) for k, (x, y) in enumerate([*spread(side, 5.2), *mirrored(spread(side, 5.6, 1))])
    )
    return _standing(grains + fallen)


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
    ring = smooth((34.6, 38), (28, 41), (26, 46), (37, 49.4), (48, 50), (59, 49.4), (70, 46), (68, 41), (61.4, 38))
    tufts: list[list[Point]] = []
    for j in range(6):
        y = 55 + j * 6.6
        half = _half_width(y)
        for k in range(7):
            x = 48 + half * (-1.05 + k * 0.35)
            lean = (k - 3) * 1.2
            tufts.append(smooth((x, y - 2), (x + lean * 0.5, y + 3), (x + lean, y + 6)))
            tufts.append(smooth((x + 1, y - 2), (x + lean, y + 3), (x + lean + 2, y + 5)))
    shape = [*ring, (61.4, 38), (34.6, 38)]
    sides = [p for line in (_SIDE, mirrored(_SIDE)) for p in outside(line, shape)]
    above = [p for line in (_SIDE, mirrored(_SIDE)) for p in line if p[1] < 38]
    left = [p for p in above if p[0] < 48]
    return _standing(main([ring, *sides, _CUT_OFF, left, mirrored(left)]) + hair(tufts, 1.6), sides=False)


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
    """Draw pits lit from above: dark under the upper edge, light on the lower lip; some bite into the outline."""
    inner = [(x + (5 if x < 48 else -5), min(y, 85)) for x, y in _STIPE]
    under_cap = [(30.0, 0.0), (66.0, 0.0), (66.0, 25.0), (30.0, 25.0)]
    hollows = [ellipse(x, y, 3.6, 4.6) for x, y in spread(inner, 13, 2, besides=[under_cap])]
    bites = [ellipse(48 + side * (_half_width(y) + 0.6), y, 3.2, 5.2) for side, y in _BITES]
    sides = [p for line in (_SIDE, mirrored(_SIDE)) for p in outside(line, *bites)]
    notches = [p for bite in bites for p in inside(bite, _STIPE)]
    shade = [s for h in hollows for s in without(h, [(x, y + 2.4) for x, y in h])]
    return _standing(main([*sides, _CUT_OFF, *notches]) + tint(hollows, 0.3) + solid(shade), sides=False)


#: Where pits bite into the outline: -1 left or 1 right, and how low.
_BITES = ((-1, 41.0), (1, 55.0), (-1, 69.0), (1, 80.0))


def _ribbed() -> str:
    """Draw deep furrows: the outline itself is ribbed where the base is cut across."""
    lobes = [
        (48 + (15 + 1.6 * math.cos(8 * a)) * math.cos(a), 83 + (7 + 0.9 * math.cos(8 * a)) * math.sin(a))
        for a in (k * math.pi / 90 for k in range(181))
    ]
    ribs = [smooth((48 + d * 0.78, 20.6), (48 + d * 0.9, 50), (48 + d, 82)) for d in (-10, -3.6, 3.6, 10)]
    sides = [smooth((34, 19.6), (33, 50), (31, 82)), smooth((62, 19.6), (63, 50), (65, 82))]
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
    "rimmed-bulb": ((22, 60), (21.6, 68), (27, 80), (38, 87), (48, 88)),
    "tapered": ((38, 4), (38, 36), (39, 54), (43, 74), (46, 85), (48, 89)),
    "rooting": ((38, 4), (38, 34), (39, 46), (44, 58), (46, 72), (44, 84), (45.5, 94)),
}


def _base(state: str) -> str:
    whole = balanced(*_BASES[state])
    return main(whole) + _ground(whole)


def _rimmed_bulb() -> str:
    bulb = balanced(*_BASES["rimmed-bulb"])
    stem = smooth((39, 4), (39, 40), (38, 62))
    rim = smooth((22, 60), (25, 57.6), (31, 58.4), (38, 62))
    front = smooth((22, 60), (33, 66.4), (48, 68.4), (63, 66.4), (74, 60))
    return main([bulb, stem, mirrored(stem), rim, mirrored(rim)]) + fine(front) + _ground([*stem, *mirrored(stem)])


def _rooting() -> str:
    left = smooth((38, 4), (38, 36), (39, 46), (44, 56), (45, 68), (42, 80), (44, 94))
    right = smooth((58, 4), (58, 36), (57, 46), (52, 56), (50, 68), (46.5, 80), (45, 94))
    side = smooth((45, 70), (38, 76), (35, 84))
    return main([left, right]) + fine([side, smooth((48, 76), (55, 82), (57, 89))]) + _ground([*left, *right[::-1]])


def _joined() -> str:
    """Draw three stipes that grow together at the foot."""
    out = balanced((10, 14), (16, 38), (27, 62), (35, 78), (40, 86), (48, 88))
    fork = smooth((22, 10), (28, 34), (36, 52), (43, 63), (43.4, 50), (41, 30), (41, 4))
    caps = [smooth((10, 14), (16, 10.6), (22, 10)), smooth((41, 4), (48, 2.8), (55, 4))]
    return main([out, fork, mirrored(fork), *caps, mirrored(caps[0])]) + _ground(out)


# ---------------------------------------------------------------- the stipe, cut lengthwise

_CUT = balanced((34, 8), (33, 50), (31, 82), (36, 89), (48, 91))
_PITH = balanced((41, 8), (40.5, 50), (39, 76), (42, 82), (48, 84))


def _cut(shade: str, pattern: str) -> str:
    top = straight((34, 8), (62, 8))
    return shade + main([_CUT, top]) + pattern


def _solid() -> str:
    return _cut(tint(_CUT, 0.2), "")


def _stuffed() -> str:
    wisps: list[list[Point]] = []
    for x, y in spread(_PITH, 5, 1):
        wisps.append(smooth((x - 2, y), (x - 0.5, y - 1.8), (x + 1, y + 0.6), (x + 2.2, y - 1)))
    wisps = [p for w in wisps for p in inside(w, _PITH)]
    return _cut(tint([_CUT, _PITH], 0.2), fine([_PITH, *wisps]))


def _hollow() -> str:
    return _cut(tint([_CUT, _PITH], 0.2), main(_PITH))


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


def _piece(tip: Points, lean: float, half: float = 9.0) -> list[list[Point]]:
    """Return the lines of the left piece of a broken stipe; ``tip`` is the broken end, as (outwards, across)."""
    c, s = math.cos(math.radians(38)), math.sin(math.radians(38))

    def place(along: float, across: float) -> Point:
        return (44 - lean - along * c - across * s, 42 + along * s - across * c)

    foot = smooth(place(37, half), place(39, 0), place(37, -half))
    outline = straight(
        place(37, half), place(0, half), *(place(-x, y) for x, y in tip), place(0, -half), place(37, -half)
    )
    return [outline, foot]


def _both(lines: list[list[Point]]) -> list[list[Point]]:
    return [*lines, *[mirrored(line) for line in lines]]


def _fleshy() -> str:
    """Draw a bent stipe whose flesh has parted in a soft swelling tear above and still holds below."""
    outer = smooth((9, 54), (24, 42), (35, 33), (38, 29), (42, 29), (44, 35), (44.6, 42), (48, 49))
    inner = balanced((18, 71), (30, 62), (40, 57.4), (48, 56))
    foot = smooth((9, 54), (11, 64), (18, 71))
    folds = [smooth((39, 37), (41, 42), (42, 48)), smooth((36, 41), (38, 46), (40, 51))]
    whole = [*outer, *mirrored(outer), *mirrored(foot), *inner[::-1], *foot[::-1]]
    return tint(whole, 0.1) + main([*_both([outer, foot]), inner]) + fine(_both(folds))


def _stringy() -> str:
    tip = [(0, 9), (3, 6), (-2, 4), (2, 1), (-3, -1), (2, -4), (-2, -6), (0, -9)]
    grain: list[list[Point]] = []
    for k in range(4):
        across = 6 - k * 4
        grain.append(straight((29 - across * 0.6, 49 - across * 0.8), (12 - across * 0.6, 62.2 - across * 0.8)))
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
    return main(_both(_piece(tip, 8))) + fine([*_both(grain), *strings])


_CHIP = ((-1, -0.6), (0.6, -1), (1, 0.5), (-0.4, 1))


def _brittle() -> str:
    """Draw a clean snap like that of chalk: shattered faces, short cracks, many crumbs and dust."""
    tip = [(1.4, 7), (-0.6, 4.4), (1.6, 2), (0, -1), (2, -3.6), (-0.4, -6.6)]
    cracks = [straight((31, 40), (27, 42), (26, 46)), straight((34, 46), (30, 47), (27, 53), (23, 54))]
    crumbs = (
        (45, 30, 1.6), (51, 26, 1.2), (48, 38, 2.2), (44, 52, 1.6), (52, 55, 2.4), (47, 63, 1.8), (55, 66, 1.3),
        (41, 68, 1.5), (50, 74, 2.2), (44, 80, 1.3), (57, 79, 1.7), (51, 86, 1.4), (39, 84, 1.0), (60, 88, 1.1),
    )  # fmt: skip
    chips = [
        turned(straight(*((x + r * u, y + r * v) for u, v in _CHIP), closed=True), x * 31, (x, y)) for x, y, r in crumbs
    ]
    dust = spread([(36, 56), (60, 56), (66, 91), (30, 91)], 5, 3)
    return main(_both(_piece(tip, 7))) + fine([*_both(cracks), *chips]) + tint(chips, 0.3) + dots(dust, 0.5)


def _cartilage() -> str:
    """Draw a thin tube that kinks like a drinking straw, flat at the bend, with one clean split on top."""
    outer = smooth((8, 58), (24, 46), (36, 37), (41, 34), (44.6, 34.6))
    split = straight((44.6, 34.6), (48, 43), (51.4, 34.6))
    inner = smooth((14, 68), (28, 57), (38, 50), (43, 47.6), (46, 47.8), (48, 50))
    ends = ellipse(0, 0, 3.4, 6)
    left = [(x + 11, y + 63) for x, y in turned(ends, -38, (0, 0))]
    bore = [(x + 11, y + 63) for x, y in turned(scaled(ends, 0.62, (0, 0)), -38, (0, 0))]
    pinch = [smooth((48, 50), (45, 45), (39, 42)), smooth((48, 50), (51, 45), (57, 42))]
    return main([*_both([outer, inner, left]), split]) + fine([*_both([bore]), *pinch])


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
