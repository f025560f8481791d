"""How far the skin of the cap peels, and whether jelly lies below it."""

from __future__ import annotations

from trug.drawings.dome import Dome
from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    Point,
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


def _peeled(to: float, flap: list[Point], curl: list[Point]) -> str:
    bare = _bared(to)
    skin = [p for line in (_PEEL.skin, bare) for p in outside(line, flap)]
    return tint([_PEEL.skin, bare], 0.3) + main([*skin, *_PEEL.stipe(), flap]) + hatch(flap, 60, 2.6) + main(curl)


def _fast() -> str:
    nick = smooth(
        *(
            _PEEL.at(a, r)
            for a, r in ((106, 1.0), (104, 0.88), (98, 0.91), (93, 0.84), (87, 0.9), (80, 0.86), (75, 1.0))
        )
    )
    scrap = smooth(*_PEEL.local(90, 1.0, [(0, -10, 0), (5, -8, 2), (8, -3, 3), (6, 1, 3), (9, 6, 2), (0, 10, 0)]))
    stipe = [p for line in _PEEL.stipe() for p in outside(line, scrap)]
    return tint([_PEEL.skin, nick], 0.3) + main([_PEEL.skin, nick, *stipe, scrap]) + hatch(scrap, 60, 2.6)


def _partly() -> str:
    y = _PEEL.at(90, 0.52)[1]
    flap = smooth(
        (39, y + 1),
        (36, y - 8),
        (35, y - 17),
        (41, y - 21),
        (48, y - 20),
        (55, y - 22),
        (61, y - 17),
        (60, y - 8),
        (57, y + 1),
    )
    curl = smooth((35, y - 17), (38, y - 14), (48, y - 13), (58, y - 14.5), (61, y - 17))
    return _peeled(0.52, [*flap, *straight((57, y + 1), (39, y + 1))], curl)


def _wholly() -> str:
    y = _PEEL.at(90, 0.1)[1]
    flap = smooth(
        (44, y + 1),
        (40, y - 6),
        (36, y - 16),
        (35.5, y - 24),
        (42, y - 28),
        (49, y - 26.5),
        (56, y - 28),
        (62, y - 23),
        (59.5, y - 14),
        (52, y + 1),
    )
    curl = smooth((35.5, y - 24), (40, y - 20), (48, y - 19), (57, y - 20), (62, y - 23))
    return _peeled(0.1, [*flap, *straight((52, y + 1), (44, y + 1))], curl)


# ---------------------------------------------------------------- jelly below the skin, cut lengthwise


def _cut_cap() -> tuple[list[Point], list[Point]]:
    over = smooth((8, 62), (11, 50), (25, 38), (48, 33), (71, 38), (85, 50), (88, 62))
    flesh = smooth((8, 62), (24, 58), (40, 60), (40.5, 90)) + smooth((55.5, 90), (56, 60), (72, 58), (88, 62))
    return over, flesh


def _cut_gills() -> str:
    left = smooth((9, 62.5), (20, 68), (32, 70), (40.3, 66))
    lines = hatch([*left, *smooth((40.3, 62), (24, 58), (8, 62))], 90, 2.2)
    other = hatch([*mirrored(left), *mirrored(smooth((40.3, 62), (24, 58), (8, 62)))], 90, 2.2)
    return lines + other + main([left, mirrored(left)])


def _gel_absent() -> str:
    over, flesh = _cut_cap()
    # The skin comes off as a short dry strip and leaves the flesh bare.
    strip = smooth((60, 34.5), (66, 32), (71, 26), (73, 18))
    under = smooth((64, 35.6), (69, 33.4), (74.5, 27), (76.5, 18.6))
    grain = stipple(over + flesh[::-1], 6.2, 0.6, 3)
    return grain + _cut_gills() + main([over, flesh, strip, under, straight((73, 18), (76.5, 18.6))])


def _gel_present() -> str:
    over, flesh = _cut_cap()
    jelly = smooth((12, 60), (17, 52), (30, 44), (48, 41), (66, 44), (79, 52), (84, 60))
    band = over + jelly[::-1]
    skin = smooth((50, 33), (58, 27), (68, 21), (80, 15))
    skin_over = smooth((50, 33), (57, 24.5), (67, 18.2), (78.5, 12.2))
    threads = [
        smooth((56, 29.4), (57.4, 33), (56, 36.5)),
        smooth((61, 25.6), (63, 31), (61.5, 39)),
        smooth((66, 22.4), (69.4, 31), (67.5, 41)),
        smooth((71, 19.6), (76, 32), (73.5, 45)),
        smooth((76, 17), (83, 34), (79, 49)),
    ]
    drops = [ellipse(x, y, 1.6, 1) for x, y in ((22, 44.6), (30, 40.4), (39, 37.6), (46, 36.8))]
    grain = stipple(jelly + flesh[::-1], 6.2, 0.6, 3)
    return (
        tint(band, 0.12)
        + grain
        + _cut_gills()
        + main([over[: len(over) * 55 // 100], flesh, jelly, skin, skin_over, straight((80, 15), (78.5, 12.2))])
        + fine([*threads, *drops, over[len(over) * 55 // 100 :]])
    )


DRAWINGS: Drawings = {
    "cap_skin": {"fast": _fast, "partly": _partly, "wholly": _wholly},
    "cap_gel": {"absent": _gel_absent, "present": _gel_present},
}
