"""How far the skin of the cap peels, and whether jelly lies below it."""

from __future__ import annotations

from functools import partial

from trug.drawings.dome import Dome
from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    Point,
    arc,
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


def _peeled(to: float, half: float, up: float) -> str:
    """Draw a strip of skin pulled up from the rim to ``to``; beyond that it stands ``up`` units and ends in a roll."""
    bare = _bared(to)
    y = _PEEL.at(90, to)[1]
    left = smooth((48 - half, y), (48 - half - 1, y - up * 0.5), (48 - half - 0.6, y - up))
    roll_y, r, wide = y - up - 3.4, 4.6, half + 2.6
    roll = [*arc(48 - wide, roll_y, 2.4, r, 90, 270), *arc(48 + wide, roll_y, 2.4, r, 270, 450)]
    end = ellipse(48 + wide, roll_y, 2.4, r)
    curl = smooth((48 + wide + 1.2, roll_y + 2.4), (48 + wide - 1, roll_y + 1.4), (48 + wide - 0.8, roll_y - 1.6),
                  (48 + wide + 0.8, roll_y - 1.4))  # fmt: skip
    strip = [*left, *mirrored(left)]
    skin = [p for line in (_PEEL.skin, bare) for p in outside(line, strip, roll, end)]
    sides = [p for line in (left, mirrored(left)) for p in outside(line, roll)]
    return (
        tint([*without(_PEEL.skin, [*roll, roll[0]]), bare, *without(strip, roll)], 0.3)
        + hatch(strip, 60, 2.8, [roll])
        + main([*skin, *_PEEL.stipe(), *sides, [*roll, roll[0]]])
        + fine([end, curl])
    )


def _fast() -> str:
    """Draw a fingernail that scrapes the rim: it leaves scratches, and nothing comes off."""
    scratches = [p for k, a in enumerate((82, 75, 68, 61, 54)) for p in _PEEL.meridian(a, 0.62 + k % 2 * 0.06, 0.9)]
    tip = smooth((95, 82), (84, 79), (74, 72), (67, 68), (62, 70.5), (61, 76), (66, 82), (74, 89), (80, 95))
    nail = smooth((61, 68), (64.6, 64.4), (72, 67.6), (78, 73), (76.6, 78), (71.4, 78.6), (64.6, 75), closed=True)
    stipe = [p for line in _PEEL.stipe() for p in outside(line, tip, nail)]
    skin = outside(_PEEL.skin, nail)
    return tint(_PEEL.skin, 0.3) + fine(scratches) + main([*skin, *stipe, *outside(tip, nail)]) + main(nail)


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


def _gel_absent() -> str:
    over, flesh = _cut_cap()
    # The skin comes off as a short dry strip and leaves the flesh bare.
    strip = smooth((60, 34.5), (66, 32), (71, 26), (73, 18))
    under = smooth((64, 35.6), (69, 33.4), (74.5, 27), (76.5, 18.6))
    grain = stipple(_FLESH_INSIDE, 6.2, 0.6, 3)
    seen = outside(over, [*strip, *under[::-1]])
    return grain + _cut_gills() + main([*seen, flesh, strip, under, straight((73, 18), (76.5, 18.6))])


def _gel_present() -> str:
    _, flesh = _cut_cap()
    jelly = smooth((12, 60), (17, 52), (30, 44), (48, 41), (66, 44), (79, 52), (84, 60))
    bare = smooth((8, 62), (11, 50), (25, 38), (44, 33.4))
    lifted = smooth((44, 33.4), (56, 27), (68, 20), (80, 12))
    under = smooth((46, 35.6), (57, 30), (69, 23), (81.6, 15))
    band = [*bare, *smooth((44, 33.4), (71, 38), (85, 50), (88, 62)), *jelly[::-1]]
    threads = [
        smooth((x, y), ((x + x1) / 2 + 1.6, (y + y1) / 2), (x1, y1))
        for x, y, x1, y1 in (
            (56, 30.6, 57, 36),
            (62, 27, 65, 38),
            (68, 23.6, 73, 41),
            (74, 20, 80, 45.6),
            (79, 16.6, 85.4, 51),
        )
    ]
    drops = [ellipse(x, y, 1.6, 1) for x, y in ((15, 54), (22, 45.6), (31, 40.4), (41, 37.4), (82, 53.4), (73, 44))]
    surface = smooth((46, 35.6), (60, 35), (71, 39), (85, 50), (88, 62))
    grain = stipple(_FLESH_INSIDE, 6.2, 0.6, 3)
    return (
        tint(band, 0.14)
        + grain
        + _cut_gills()
        + main([bare, lifted, under, straight((80, 12), (81.6, 15)), flesh, jelly])
        + fine([*threads, *drops, surface])
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
        "partly": partial(_peeled, 0.52, 9.0, 9.0),
        "wholly": partial(_peeled, 0.16, 5.0, 13.0),
    },
    "cap_gel": {"absent": _gel_absent, "present": _gel_present},
}
