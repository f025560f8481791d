"""What the veils leave: volva, ring, and what a cut egg shows."""

from __future__ import annotations

import math

from trug.drawings.model import Drawings
from trug.drawings.mosaic import cells, clipped
from trug.drawings.stroke import (
    Point,
    Points,
    arc,
    balanced,
    contains,
    dot,
    ellipse,
    fine,
    hair,
    hatch,
    main,
    mirrored,
    outside,
    scaled,
    smooth,
    spread,
    stipple,
    straight,
    tint,
    without,
)

__all__ = ["DRAWINGS"]

# ---------------------------------------------------------------- the base with what is left of the veil

_FOOT = balanced((39, 4), (39, 34), (37, 50), (30, 62), (27, 73), (35, 85.5), (48, 88.5))


def _base(veil: str = "", foot: Points = _FOOT, hidden: Points = ()) -> str:
    """Draw the same dug-out base, with the line of the ground broken behind it."""
    seen = outside(_FOOT, hidden) if hidden else [_FOOT]
    ground = outside(straight((4, 36), (92, 36)), foot)
    return main(seen) + fine(ground, dash="4 3") + veil


def _sac() -> str:
    """Draw a loose bag with a torn mouth; the stipe stands in it."""
    mouth = smooth((19, 36), (24, 40.5), (31, 37.5), (37, 42), (44, 38.5), (51, 43), (58, 39), (65, 42.5), (72, 39),
                   (77, 35), (74, 30.5), (66, 31.5), (57, 28.6), (48, 29.4), (38, 28.4), (28, 31), (22, 31.4),
                   closed=True)  # fmt: skip
    lip = min(range(len(mouth)), key=lambda k: mouth[k][0])
    far = max(range(len(mouth)), key=lambda k: mouth[k][0])
    sides = ((17, 48), (18, 60), (15, 75), (24, 89), (48, 93), (72, 89), (81, 75), (77.6, 60), (79, 47))
    outer = smooth(mouth[lip], *sides, mouth[far])
    front = mouth[lip : far + 1] if lip < far else [*mouth[lip:], *mouth[: far + 1]]
    bag = [*front[::-1], *outer]
    stem = [(39, 2), (39, 42), (57, 42), (57, 2)]
    back = [p for line in (mouth[far:] if lip < far else mouth[far : lip + 1],) for p in outside(line, stem)]
    folds = [smooth((28, 44), (26, 58), (29, 72)), smooth((66, 48), (69, 60), (66, 76)), smooth((46, 50), (45, 64))]
    stipe = [p for x in (39, 57) for p in outside(straight((x, 4), (x, 44)), bag)]
    ground = outside(straight((4, 36), (92, 36)), mouth, bag, stem)
    return main([outer, front, *back, *stipe]) + fine(folds) + tint(bag, 0.12) + fine(ground, dash="4 3")


def _collar() -> str:
    """Draw a stiff narrow collar that stands round the top of a bulb."""
    top = smooth((31.6, 53), (38, 56.6), (48, 57.8), (58, 56.6), (64.4, 53))
    low = smooth((32.6, 58.4), (39, 61.8), (48, 63), (57, 61.8), (63.4, 58.4))
    ends = [straight((31.6, 53), (32.6, 58.4)), straight((64.4, 53), (63.4, 58.4))]
    back = [smooth((31.6, 53), (34, 50.6), (37, 50)), smooth((64.4, 53), (62, 50.6), (59, 50))]
    band = [*top, *low[::-1]]
    bulb = [*[p for p in _FOOT if p[1] >= 58.4], *low[::-1]]
    hidden = [*top, (64.4, 58.4), *low[::-1], (31.6, 58.4)]
    return _base(main([top, low, *ends, *back]) + tint(bulb, 0.14) + tint(band, 0.3), hidden=hidden)


def _rings() -> str:
    warts: list[list[Point]] = []
    for y, half in ((44, 10), (51, 12.5), (58, 16), (65, 20)):
        count = 5 + (y > 50) + (y > 60)
        for k in range(count):
            share = -0.8 + 1.6 * k / (count - 1)
            x = 48 + half * share
            yy = y + 2.6 * math.sqrt(1 - share * share)
            warts.append(smooth((x - 2.2, yy), (x, yy - 3.6), (x + 2.2, yy), (x, yy + 1.2), closed=True))
    return _base(tint(warts, 0.35) + fine(warts))


def _crumbs() -> str:
    spots = [
        (20, 48), (25, 55), (17, 60), (22, 68), (14, 72), (19, 80), (28, 88), (12, 86), (31, 52), (76, 47), (70, 54),
        (79, 58), (74, 66), (82, 72), (77, 79), (68, 88), (84, 85), (65, 50), (39, 93), (57, 93), (85, 64), (10, 54),
    ]  # fmt: skip
    grit = "".join(dot(x, y, 1.5 if k % 3 else 2.1) for k, (x, y) in enumerate(spots))
    return _base(
        grit + stipple(smooth((30, 60), (33, 56), (63, 56), (66, 60), (60, 62), (36, 62), closed=True), 4, 0.8)
    )


# ---------------------------------------------------------------- the ring, on the stipe under an opened cap

_SIDE = smooth((41, 30), (40.5, 60), (38, 91))
_STEM = [*_SIDE, *mirrored(_SIDE)]


def _ringed(veil: str = "", hidden: Points = (), bare: bool = True) -> str:
    dome = smooth((8, 28), (20, 12), (48, 5), (76, 12), (88, 28))
    under = smooth((8, 28), (26, 32), (48, 33), (70, 32), (88, 28))
    side = outside(_SIDE[4:], hidden) if hidden else [_SIDE[4:]]
    gills = [straight((48 + d * 0.8, 27), (48 + d, 31.4 - abs(d) * 0.06)) for d in range(-34, 35, 4)]
    foot = smooth((38, 91), (48, 92.6), (58, 91)) if bare else []
    return main([dome, under, *side, *[mirrored(s) for s in side], foot]) + fine(gills) + veil


def _skirt() -> str:
    left = smooth((40.7, 42), (34, 48), (29, 60))
    hem = smooth((29, 60), (33, 63), (38, 60), (43, 65), (48, 61), (53, 65), (58, 60), (63, 63), (67, 60))
    top = smooth((40.7, 42), (48, 44.5), (55.3, 42))
    shape = [*left, *hem, *mirrored(left), *top[::-1]]
    folds = [smooth((43, 46), (40, 58)), smooth((48, 47), (48, 59)), smooth((53, 46), (56, 58))]
    return _ringed(tint(shape, 0.12) + main([left, mirrored(left), hem, top]) + fine(folds), shape)


def _double() -> str:
    body = [*arc(48, 50, 19, 5, 180, 360), *arc(48, 57, 19, 5, 0, 180)]
    stem_seen = [(40.4, 30.0), (55.6, 30.0), (55.6, 49.5), *arc(48, 49.5, 7.6, 2, 0, 180), (40.4, 49.5)]
    hole = arc(48, 49.5, 7.6, 2, 0, 180)
    walls = [arc(48, 50, 19, 5, 180, 360), straight((29, 50), (29, 57)), straight((67, 50), (67, 57))]
    front = [arc(48, 50, 19, 5, 0, 180), arc(48, 57, 19, 5, 0, 180)]
    slide = [smooth((84, 42), (84, 66)), straight((81, 46), (84, 42), (87, 46)), straight((81, 62), (84, 66), (87, 62))]
    stem = [(40.8, 30), (55.2, 30), (55.2, 50), (40.8, 50)]
    back = outside(walls[0], stem)
    hidden = [(29, 50.5), (67, 50.5), *arc(48, 57, 19, 5, 0, 180)]
    return _ringed(
        tint(without([*body, body[0]], stem_seen), 0.14) + main([*back, *walls[1:], *front]) + fine([hole, *slide]),
        hidden,
    )


def _narrow() -> str:
    front = smooth((40.6, 50), (33, 46), (32, 49), (40, 53.5), (48, 55), (56, 53.5), (64, 49), (63, 46), (55.4, 50))
    inner = smooth((40.6, 50), (48, 52), (55.4, 50))
    shape = [*front, *inner[::-1]]
    return _ringed(tint(shape, 0.14) + main(front) + fine(inner), shape)


def _sheath() -> str:
    left = smooth((33, 41), (36, 46), (37, 60), (34, 80), (32, 91))
    mouth = smooth((33, 41), (40, 47), (48, 48.5), (56, 47), (63, 41))
    lips = [smooth((33, 41), (36, 39.5), (40.8, 40.5)), smooth((63, 41), (60, 39.5), (55.2, 40.5))]
    hem = smooth((32, 91), (48, 93), (64, 91))
    shape = [*left[::-1], *mouth, *mirrored(left)[::-1]]
    tears = [
        smooth((37.5, 60), (44, 62), (48, 60)),
        smooth((58, 72), (52, 74), (47, 72)),
        smooth((35, 82), (41, 84), (45, 82)),
    ]
    return _ringed(tint(shape, 0.14) + main([left, mirrored(left), mouth, *lips, hem]) + fine(tears), shape, bare=False)


def _zone() -> str:
    fibres: list[list[Point]] = []
    for row, y in enumerate((45, 50, 55)):
        for k in range(10):
            share = -1 + (k + row * 0.3) / 4.8
            x, drop = 48 + share * 7.8, 1.8 * (1 - share * share)
            fibres.append(smooth((x, y + drop + k % 3), (x + 0.5, y + 4 + drop), (x - 0.4, y + 8 + drop - k % 2)))
    frayed = [(-1, 46), (-1, 52), (-1, 57), (1, 47), (1, 53), (1, 58)]
    fibres += [smooth((48 + d * 7.6, y), (48 + d * 9, y + 2), (48 + d * 9.4, y + 6)) for d, y in frayed]
    return _ringed(hair(fibres, 1.7))


def _cobweb() -> str:
    threads: list[list[Point]] = []
    for k in range(7):
        rim_x, rim_y = 11 + k * 3.7, 29.6 + k * 0.32
        foot = (40.5, 41 + (6 - k) * 4.6)
        sag = ((rim_x + foot[0]) / 2 - 1, (rim_y + foot[1]) / 2 + 4)
        threads.append(smooth((rim_x, rim_y), sag, foot))
    across = [
        smooth(*(t[len(t) * share // 100] for t in threads[first : first + 4]))
        for share, first in ((28, 0), (52, 2), (70, 0))
    ]
    left = [*threads, *across]
    return _ringed(fine([*left, *[mirrored(t) for t in left]]))


# ---------------------------------------------------------------- the upper side of the ring

_RING = ellipse(48, 52, 40, 20)
_HOLE = ellipse(48, 47, 10, 4.4)
_STEM_SEEN = [(38.0, 4.0), (58.0, 4.0), *arc(48, 47, 10, 4.4, 0, 180)]
_ABOVE = [(38, 4), (58, 4), (58, 47), (38, 47)]


def _rays(count: int) -> list[list[Point]]:
    lines = []
    for k in range(count):
        a = 2 * math.pi * k / count
        c, s = math.cos(a), math.sin(a)
        near = 0.06 if k % 2 else 0.4
        inner = (48 + 10.5 * c + near * 29 * c, 47 + 4.6 * s + near * 15.4 * s)
        outer = (48 + 10 * c + 0.97 * 30 * c, 47 + 4.4 * s + 0.97 * 15.6 * s + 4.85)
        lines += outside(straight(inner, outer), [*_HOLE], _ABOVE)
    return lines


def _ring_from_above(hem: list[Point], pattern: str) -> str:
    stem = [straight((38, 4), (38, 47)), straight((58, 4), (58, 47))]
    below = [smooth((41, 73), (40, 92)), smooth((55, 73), (56, 92))]
    return main([*stem, *outside(hem, _STEM_SEEN), arc(48, 47, 10, 4.4, 0, 180), *below]) + pattern


def _ring_smooth() -> str:
    shine = [arc(48, 52, 31, 14, 145, 175), arc(48, 52, 31, 14, 10, 30)]
    return _ring_from_above(_RING, tint(without(_RING, _STEM_SEEN), 0.08) + fine(shine))


def _ring_grooved() -> str:
    return _ring_from_above(_RING, tint(without(_RING, _STEM_SEEN), 0.08) + fine(_rays(56)))


def _ring_pleated() -> str:
    """Draw thick pleats; the hem swings in and out with them."""
    hem: list[Point] = []
    pleats = 15
    for k in range(361):
        a = math.radians(k)
        swing = 1 + 0.09 * math.cos(pleats * a)
        hem.append((48 + 38.5 * swing * math.cos(a), 52 + 20 * swing * math.sin(a)))
    folds: list[list[Point]] = []
    for k in range(pleats):
        a, b = 2 * math.pi * k / pleats, 2 * math.pi * (k + 0.5) / pleats
        valley = (48 + 38.5 * 0.91 * math.cos(b), 52 + 20 * 0.91 * math.sin(b))
        crest = (48 + 38.5 * 1.09 * math.cos(a), 52 + 20 * 1.09 * math.sin(a))
        foot = (48 + 11 * math.cos(b), 47 + 5 * math.sin(b))
        folds.append([foot, valley, crest])
    shade = [f for f in folds if not contains(_ABOVE, f[0])]
    lines = [p for f in folds for p in outside(straight(f[0], f[1]), _ABOVE)]
    return _ring_from_above(hem, main(lines) + tint(shade, 0.3))


# ---------------------------------------------------------------- eggs and buttons, cut lengthwise

_EGG = smooth(
    (48, 8), (31, 12), (18, 32), (15, 56), (24, 79), (48, 89), (72, 79), (81, 56), (78, 32), (65, 12), closed=True
)  # fmt: skip


def _egg(inner: str, rind: float = 0.92) -> str:
    threads = [smooth((45, 89.5), (42, 92), (41, 95)), smooth((51, 89.5), (53, 92), (55, 95))]
    return main(_EGG) + fine([*threads, scaled(_EGG, rind)]) + inner


def _even_white() -> str:
    """Draw bare flesh within the skin; a few dots far apart say that it is flesh and not air."""
    return _egg(stipple(scaled(_EGG, 0.82), 12, 0.6, 2))


def _even_coloured() -> str:
    inner = scaled(_EGG, 0.92)
    return _egg(tint(inner, 0.26) + stipple(scaled(_EGG, 0.86), 4, 0.75))


def _dark_marbled() -> str:
    """Draw dark flesh cut up by pale veins, in a thick skin."""
    flesh = scaled(_EGG, 0.82)
    lumps = [lump for cell in cells(spread(flesh, 13, 4), 2.6) if (lump := clipped(cell, flesh))]
    return _egg(tint(lumps, 0.75) + fine(flesh), 0.9)


def _small_mushroom() -> tuple[list[list[Point]], list[Point]]:
    """Return the lines of a shut cap on its stipe as it lies in an egg, and the shape of its gills."""
    dome = smooth((25, 52), (26, 36), (36, 24), (48, 21), (60, 24), (70, 36), (71, 52))
    under = smooth((25, 52), (30, 54), (35, 46), (41, 41))
    stem = smooth((41, 41), (41, 62), (37.4, 78), (40, 81.4), (48, 82))
    gills = [*smooth((25, 52), (30, 54), (35, 46), (41, 41)), *smooth((41, 37), (34, 40), (28, 47), (25, 52))]
    inner = smooth((41, 36), (34, 39), (28, 46), (25, 52))
    lines = [dome, under, stem, inner]
    return [*lines, *[mirrored(line) for line in lines[1:]]], gills


def _outline() -> str:
    lines, gills = _small_mushroom()
    return _egg(main(lines) + tint([gills, mirrored(gills)], 0.4), 0.92)


def _jelly_outline() -> str:
    jelly, mass = scaled(_EGG, 0.92), scaled(_EGG, 0.66, (48, 46))
    core = smooth((48, 27), (44, 36), (43, 54), (44, 70), (48, 73), (52, 70), (53, 54), (52, 36), closed=True)
    return _egg(hatch(jelly, 20, 5, besides=[mass]) + tint([mass, core], 0.72) + main([mass, core]))


def _cap_shut() -> str:
    dome = balanced((20, 46), (20, 28), (32, 12), (48, 8))
    rim = smooth((20, 46), (22, 52), (28, 52), (33, 44), (40, 37))
    gill_top = smooth((20, 46), (26, 38), (40, 31))
    veil = smooth((27, 52.5), (34, 56), (39.5, 56))
    stem = balanced((40, 31), (40, 60), (37, 80), (39, 87), (48, 88))
    gills = [*rim, *gill_top[::-1]]
    lines = [rim, gill_top, veil]
    return main([dome, stem, *lines, *[mirrored(line) for line in lines]]) + tint([gills, mirrored(gills)], 0.4)


DRAWINGS: Drawings = {
    "volva": {"absent": _base, "sac": _sac, "collar": _collar, "rings": _rings, "crumbs": _crumbs},
    "ring": {
        "absent": _ringed,
        "skirt": _skirt,
        "double": _double,
        "narrow": _narrow,
        "sheath": _sheath,
        "zone": _zone,
        "cobweb": _cobweb,
    },
    "ring_top": {"smooth": _ring_smooth, "grooved": _ring_grooved, "pleated": _ring_pleated},
    "egg_section": {
        "even-white": _even_white,
        "even-coloured": _even_coloured,
        "dark-marbled": _dark_marbled,
        "outline": _outline,
        "jelly-outline": _jelly_outline,
        "cap-shut": _cap_shut,
    },
}
