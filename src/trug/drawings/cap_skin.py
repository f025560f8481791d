"""How far the skin of the cap peels, and whether jelly lies below it."""

from __future__ import annotations

from functools import partial

from trug.drawings.dome import Dome
from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    Point,
    arc,
    dot,
    ellipse,
    fine,
    hatch,
    main,
    mirrored,
    outside,
    smooth,
    stipple,
    straight,
    tint,
    without,
)

__all__ = ["DRAWINGS"]

# ---------------------------------------------------------------- peeling skin

_PEEL = Dome(radius=40, height=24, tilt=46, y=50)


def _bared(to: float) -> list[Point]:
    """Return the wedge of flesh laid bare from the rim up to ``to``."""
    n = 24
    left = [_PEEL.at(115 - 6 * (k / n), 1 + (to - 1) * k / n) for k in range(n + 1)]
    right = [_PEEL.at(65 + 6 * (k / n), 1 + (to - 1) * k / n) for k in range(n + 1)]
    across = [_PEEL.at(109 - 38 * k / n, to) for k in range(n + 1)]
    rim = [_PEEL.at(65 + 50 * k / n, 1.0) for k in range(n + 1)]
    return left + across + right[::-1] + rim


def _peeled(to: float, half: float) -> str:
    """Draw a strip of skin rolled up from the rim to ``to``, ``half`` units to each side; a dot marks the middle."""
    bare = _bared(to)
    r, wide = 4.2, half + 2.4
    y = _PEEL.at(90, to)[1]
    roll = [*arc(48 - wide, y, 2.2, r, 90, 270), *arc(48 + wide, y, 2.2, r, 270, 450)]
    end = ellipse(48 + wide, y, 2.2, r)
    curl = smooth((48 + wide + 1.1, y + 2.2), (48 + wide - 0.9, y + 1.2), (48 + wide - 0.7, y - 1.4),
                  (48 + wide + 0.7, y - 1.2))  # fmt: skip
    skin = [p for line in (_PEEL.skin, bare) for p in outside(line, roll, end)]
    return (
        tint([*without(_PEEL.skin, [*roll, roll[0]]), *without(bare, [*roll, roll[0]])], 0.3)
        + main([*skin, *_PEEL.stipe(), [*roll, roll[0]]])
        + fine([end, curl])
        + dot(*_PEEL.at(0, 0), 1.9)
    )


def _fast() -> str:
    """Draw a fingernail that scrapes the rim: it leaves scratches, one crumb comes off, and no strip."""
    tip = smooth((98, 78), (86, 73), (74, 66), (65, 63.4), (59.6, 67), (60, 74), (66, 81), (75, 88), (82, 97))
    nail = smooth((58, 62.6), (61.6, 59), (69, 61.4), (76, 66.6), (75.4, 71.6), (70, 72.6), (62.6, 70), closed=True)
    finger = [*tip, (98, 97)]
    scratches = [
        p
        for k, a in enumerate((107, 99, 91, 83))
        for line in _PEEL.meridian(a, 0.62 + k % 2 * 0.06, 0.9)
        for p in outside(line, finger, nail)
    ]
    crumb = smooth((53.6, 64.4), (52.4, 61.8), (54.4, 59.8), (56.6, 61.4), (56, 64), closed=True)
    stipe = [p for line in _PEEL.stipe() for p in outside(line, finger, nail)]
    shade = [q for p in without(_PEEL.skin, finger) for q in without(p, nail)]
    return (
        tint([*shade, crumb], 0.3)
        + fine([*scratches, crumb])
        + main([*outside(_PEEL.skin, finger, nail), *stipe, *outside(tip, nail), nail])
    )


# ---------------------------------------------------------------- jelly below the skin, cut lengthwise


def _cut_cap() -> tuple[list[Point], list[Point]]:
    over = smooth((8, 62), (11, 50), (25, 38), (48, 33), (71, 38), (85, 50), (88, 62))
    flesh = smooth((8, 62), (24, 58), (40, 60), (40.5, 90)) + smooth((55.5, 90), (56, 60), (72, 58), (88, 62))
    return over, flesh


def _cut_gills() -> str:
    """Ink the gills on both sides of the cut stipe."""
    left = [*smooth((9, 62.4), (20, 68), (32, 70), (40.3, 66)), *smooth((40.3, 62), (24, 58.2), (9, 62.4))]
    edge = smooth((8, 62), (20, 68), (32, 70), (40.3, 66))
    return hatch(left, 90, 2.2) + hatch(mirrored(left), 90, 2.2) + main([edge, mirrored(edge)])


#: Where the lifted skin leaves the cap, and both its sides from there to its free end.
_LIFTED = smooth((44, 33.4), (56, 27), (68, 20), (80, 12))
_LIFTED_UNDER = smooth((46, 35.6), (57, 30), (69, 23), (81.6, 15))


def _gel_absent() -> str:
    """Draw skin that lies straight on the flesh; where it is lifted it leaves bare dry flesh, and nothing between."""
    _, flesh = _cut_cap()
    bare = smooth((8, 62), (11, 50), (25, 38), (44, 33.4))
    under = smooth((10.4, 61.4), (13.2, 51.6), (26, 40.6), (46, 35.6))
    surface = smooth((46, 35.6), (60, 36.4), (70, 40), (83.6, 51.4), (86.4, 61.4))
    grain = [*smooth((15, 58), (27, 45), (47, 40), (68, 44), (81, 57)), *_FLESH_INSIDE[len(_FLESH_INSIDE) // 3 :]]
    return (
        stipple(grain, 5.6, 0.6, 3)
        + _cut_gills()
        + main([bare, _LIFTED, _LIFTED_UNDER, straight((80, 12), (81.6, 15)), flesh, surface])
        + fine(under)
    )


def _gel_present() -> str:
    """Draw a band of jelly between skin and flesh; it draws threads to the lifted skin."""
    _, flesh = _cut_cap()
    jelly = smooth((8, 62), (17, 52), (30, 44), (48, 41), (66, 44), (79, 52), (88, 62))
    bare = smooth((8, 62), (11, 50), (25, 38), (44, 33.4))
    surface = smooth((46, 35.6), (60, 35.4), (71, 39), (84, 50), (88, 62))
    threads = [
        smooth(_LIFTED_UNDER[len(_LIFTED_UNDER) * a // 100], (x + 1.4, y), surface[len(surface) * b // 100])
        for a, x, y, b in ((44, 63, 31.6, 33), (62, 69.4, 32, 47), (80, 76, 33, 61), (97, 83, 36, 75))
    ]
    bubbles = [ellipse(x, y, 1.5, 1) for x, y in ((22.4, 44.6), (32, 39.8), (42, 38), (66, 40.4), (76, 46.2))]
    return (
        tint([*bare, *surface, *jelly[::-1]], 0.2)
        + stipple(_FLESH_INSIDE, 6.2, 0.6, 3)
        + _cut_gills()
        + main([bare, _LIFTED, _LIFTED_UNDER, straight((80, 12), (81.6, 15)), flesh, jelly])
        + fine([*threads, *bubbles, surface])
    )


#: Where dots of flesh may stand: clear of every outline.
_FLESH_INSIDE = [
    *smooth((18, 56), (30, 47), (48, 44), (66, 47), (78, 56)),
    *smooth((78, 56), (64, 55.4), (53, 60), (52.5, 86)),
    *smooth((43.5, 86), (43, 60), (32, 55.4), (18, 56)),
]

DRAWINGS: Drawings = {
    "cap_skin": {
        "fast": _fast,
        "partly": partial(_peeled, 0.47, 12.0),
        "wholly": partial(_peeled, 0.19, 6.0),
    },
    "cap_gel": {"absent": _gel_absent, "present": _gel_present},
}
