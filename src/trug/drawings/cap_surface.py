"""The skin of the cap: pattern, surface, moisture and what lies loose on it."""

from __future__ import annotations

import math

from trug.drawings.dome import Dome
from trug.drawings.model import Drawings
from trug.drawings.mosaic import cells, clipped
from trug.drawings.scene import trunk
from trug.drawings.stroke import (
    Point,
    arc,
    dot,
    dots,
    ellipse,
    fine,
    hair,
    main,
    outside,
    smooth,
    solid,
    stacked,
    stipple,
    straight,
    tint,
    turned,
)

__all__ = ["DRAWINGS"]

_HIGH = Dome(radius=40, height=22, tilt=50, y=46)
_CAP = Dome(radius=40, height=34, tilt=28, y=50)


def _cap(dome: Dome) -> str:
    """Ink the bare cap and its stipe."""
    return main([dome.skin, *dome.stipe()])


def _roundness(dome: Dome) -> str:
    """Two short fine strokes that round the cap on its shady side."""
    return fine(
        [part for out in (0.93, 0.86) for part in dome.path([(a, out) for a in range(8, 70 - int(out * 20), 2)])]
    )


# ---------------------------------------------------------------- pattern


def _darker_centre() -> str:
    rings = "".join(tint(_HIGH.circle(r), 0.13) for r in (0.62, 0.54, 0.46, 0.38, 0.3))
    return tint(_HIGH.skin, 0.07) + rings + _cap(_HIGH)


def _pale_centre() -> str:
    rings = "".join(tint([_HIGH.skin, _HIGH.circle(r)], 0.08) for r in (0.3, 0.4, 0.5, 0.6, 0.7))
    return rings + _cap(_HIGH)


def _two_toned() -> str:
    """Draw a cap that dries from the middle: a pale tone and a dark moist one meet at a sharp uneven front."""
    front = _HIGH.circle(0.41, 0.018)
    lines = [p for k in range(60) for p in _HIGH.meridian(k * 6, 0.86, 0.99)]
    return tint([_HIGH.skin, front], 0.6) + tint(front, 0.14) + fine(lines) + _cap(_HIGH)


def _zoned() -> str:
    bands = [(0.14, 0.26), (0.38, 0.5), (0.62, 0.74)]
    body = "".join(tint([_HIGH.circle(b), _HIGH.circle(a)], 0.42) for a, b in bands)
    return body + tint(_HIGH.circle(0.05), 0.42) + _cap(_HIGH)


def _streaked() -> str:
    streaks = []
    for k in range(44):
        a = k * 360 / 44 + (k * 37 % 5) - 2
        start, end = 0.1 + (k * 7 % 5) * 0.07, 0.97 - (k * 11 % 7) * 0.035
        streaks += _HIGH.meridian(a, start, end)
    return hair(streaks, 1.5) + _cap(_HIGH)


def _spotted() -> str:
    spots = []
    for k, (a, r) in enumerate(_HIGH.places(13, seed=3, most=0.9)):
        size = (2.2, 3.4, 2.7)[k % 3]
        spots.append(_HIGH.local(a, r, [(size * math.cos(t / 4), size * math.sin(t / 4), 0) for t in range(26)]))
    return tint(spots, 0.55) + _cap(_HIGH)


# ---------------------------------------------------------------- surface


def _smooth() -> str:
    return _cap(_CAP) + _roundness(_CAP)


def _silky() -> str:
    """Draw the finest of pressed fibres, and the band of light that silk throws back, with a glint on it."""
    fibres = []
    for k in range(80):
        a = k * 4.5
        if k % 2 == 0:
            fibres += _CAP.meridian(a, 0.14 + (k % 3) * 0.04, 0.36)
        fibres += _CAP.meridian(a, 0.62 + (k % 3) * 0.03, 0.96 - (k % 2) * 0.1)
    x, y = _CAP.at(118, 0.49)
    glint = [(x + r * math.sin(t * math.pi / 4), y - r * math.cos(t * math.pi / 4)) for t, r in enumerate((9, 1.6) * 4)]
    return (
        fine(fibres)
        + tint([_CAP.skin, _CAP.circle(0.62), _CAP.circle(0.36)], 0.16)
        + solid(straight(*glint, closed=True))
        + _cap(_CAP)
    )


def _fibrous() -> str:
    """Draw coarse fibres; many come loose at their outer end and stand off the skin."""
    lying, loose = [], []
    for k in range(34):
        a = k * 360 / 34 + (k * 31 % 7) - 3
        start = 0.1 + (k * 13 % 9) * 0.075
        bend, n = (k % 3 - 1) * 5, 24
        lying += _CAP.path([(a + bend * i / n, start + min(0.42, 0.94 - start) * i / n) for i in range(n + 1)])
        end = (a + bend, start + min(0.42, 0.94 - start))
        if k % 2 and _CAP.facing(*end) > -0.05:
            side = 1.4 if k % 4 == 1 else -1.4
            loose.append(smooth(*_CAP.local(*end, [(-0.5, 0, 0), (3, side, 2.6), (5.5, 3 * side, 6)])))
    return hair(lying, 2.4) + hair(loose, 1.8) + _cap(_CAP)


def _nap(dome: Dome, length: float, step: int) -> list[list[Point]]:
    """Short hairs that stand off all round the outline."""
    edge = dome.skin
    hairs = []
    for k in range(0, len(edge), step):
        x, y = edge[k]
        dx, dy = x - dome.x, y - (dome.y - 4)
        far = math.hypot(dx, dy)
        swing = (k * 7 % 5 - 2) * 0.2
        ux, uy = dx / far, dy / far
        hairs.append([(x, y), (x + length * (ux - swing * uy), y + length * (uy + swing * ux))])
    return hairs


def _velvety() -> str:
    nap = dots([_CAP.at(a, r) for a, r in _CAP.places(3.4, seed=1)], 0.55)
    return tint(_CAP.skin, 0.1) + nap + fine(_nap(_CAP, 2.3, 3)) + fine([_CAP.skin]) + main(_CAP.stipe())


def _hairy() -> str:
    hairs = []
    for k, (a, r) in enumerate(_CAP.places(8.5, seed=2)):
        c = (k % 3 - 1) * 2.6
        hairs.append(smooth(*_CAP.local(a, r, [(0, 0, 0), (3.5, c * 0.3, 2.0), (7.5, c, 2.0)])))
    edge = _CAP.crown
    for k in range(6, len(edge) - 4, 9):
        x, y = edge[k]
        side = -1 if x < 48 else 1
        hairs.append(smooth((x, y), (x + side * 2.5, y - 3.8), (x + side * (5.5 + k % 3), y - 4.5 + k % 4)))
    for k in range(3, 90, 5):
        x, y = _CAP.near_rim[k]
        hairs.append(smooth((x, y), (x + (x - 48) * 0.03, y + 3), (x + (x - 48) * 0.1 + k % 3 - 1, y + 6)))
    return hair(hairs, 1.6) + _cap(_CAP)


def _scale(dome: Dome, a: float, r: float, size: float, lift: float) -> list[Point]:
    """Return a scale that points outwards; ``lift`` raises its tip off the skin."""
    half = size * 0.62
    return smooth(
        *dome.local(
            a,
            r,
            [
                (-size * 0.35, -half, 0),
                (size * 0.35, -half * 0.75, lift * 0.4),
                (size, 0, lift),
                (size * 0.35, half * 0.75, lift * 0.4),
                (-size * 0.35, half, 0),
            ],
        )
    )


def _scaly() -> str:
    scales = []
    for ring in range(6):
        out = 0.2 + ring * 0.145
        n = max(5, round(out * 26))
        for k in range(n):
            a = (k + ring % 2 / 2) * 360 / n
            if _CAP.facing(a, out) > 0.12:
                scales.append(_scale(_CAP, a, out, 2.9, 0.0))
    return tint(scales, 0.4) + fine(scales) + tint(_CAP.local(0, 0, _disc(4.0)), 0.4) + _cap(_CAP)


def _disc(radius: float) -> list[tuple[float, float, float]]:
    return [(radius * math.cos(t / 5), radius * math.sin(t / 5), 0.0) for t in range(32)]


def _shaggy() -> str:
    scales = []
    for ring in (4, 3, 2, 1):
        out = (0.05, 0.28, 0.54, 0.8, 0.99)[ring]
        n = (1, 7, 12, 15, 17)[ring]
        for k in range(n):
            a = (k + ring % 2 / 2) * 360 / n + 8
            if _CAP.facing(a, out) > -0.28:
                scales.append(_scale(_CAP, a, out, 8.0, 6.5))
    scales.sort(key=lambda s: -s[len(s) // 2][1])
    edge = outside(_CAP.skin, *scales)
    stipe = [part for line in _CAP.stipe() for part in outside(line, *scales)]
    return tint(scales, 0.12) + main(stacked(scales)) + main(edge + stipe)


def _wrinkled() -> str:
    ridges = []
    for k in range(30):
        start = (0.16, 0.62, 0.4, 0.66)[k % 4]
        end = 0.95 - (k * 5 % 3) * 0.04
        ridges += _CAP.path(
            [(k * 12 + 4.2 * math.sin(i / 5.2 + k * 1.9), start + (end - start) * i / 60) for i in range(61)]
        )
    return main(ridges) + _cap(_CAP)


def _cracked() -> str:
    points = [_CAP.at(a, r) for a, r in _CAP.places(14.5, seed=5)]
    plates = cells(points, 2.6)
    shown = [clipped(plate, _CAP.skin) for plate in plates]
    return tint([_CAP.skin, *shown], 0.75) + _cap(_CAP)


def _powdery() -> str:
    grains = []
    for k, (a, r) in enumerate(_CAP.places(5.6, seed=4)):
        x, y = _CAP.at(a, r, (k % 3) * 0.5)
        grains.append(dot(x, y, (0.6, 1.25, 0.85, 1.5)[k % 4]))
    for k in range(16):
        x = 10 + k * 5.1
        grains.append(dot(x, 72 + (k * 29 % 17) - (x - 48) ** 2 / 130, (0.6, 1.0, 0.8)[k % 3]))
    edge = [dot(x, y, 0.8 + (k % 4) * 0.2) for k, (x, y) in enumerate(_CAP.crown[2::6])]
    return "".join(grains + edge) + fine([_CAP.skin]) + main(_CAP.stipe())


def _shine(dome: Dome, a0: float, a1: float, r0: float, r1: float) -> list[Point]:
    """Return a bare window of light on the skin, between two azimuths and two distances from the top."""
    a, r = (a0 + a1) / 2, (r0 + r1) / 2
    corners = [(a0, r0), (a, r0 - 0.02), (a1, r0), (a1, r), (a1, r1), (a, r1 + 0.02), (a0, r1), (a0, r)]
    return smooth(*(dome.at(*c) for c in corners), closed=True)


def _lacquered() -> str:
    lights = [_shine(_CAP, 150, 205, 0.38, 0.68), _shine(_CAP, 128, 140, 0.42, 0.68), _shine(_CAP, 20, 60, 0.82, 0.9)]
    return tint([_CAP.skin, *lights], 0.72) + _cap(_CAP)


def _crusty() -> str:
    """Draw a bracket on wood, cut through: a dark crust, cracked and thick, that gives no way to a fingernail."""
    top = smooth((17, 34), (34, 37), (52, 43), (70, 51), (82, 60), (86, 68))
    below = smooth((17, 42), (33, 44.6), (50, 50.4), (66, 57.6), (76, 64.4), (79, 69.6))
    edge = smooth((86, 68), (85.4, 71.4), (82.4, 73), (79, 69.6))
    base = smooth((82.4, 73), (66, 79), (40, 82), (17, 82))
    crust = [*top, *edge, *below[::-1]]
    cracks = [straight((x, y), (x + d, y + 3), (x - d * 0.6, y + 5.4), (x + d * 0.4, y + 9))
              for x, y, d in ((25, 34.4, 1.4), (40, 38, -1.6), (74.4, 53, 1.5))]  # fmt: skip
    gaps = [[*c, *((x + 1.1, y) for x, y in reversed(c))] for c in cracks]
    flesh = [*below, *base, (17, 42)]
    finger, ink = _finger(15)
    grain = [(x * 0.88 + 3.4, y * 0.84 + 11) for x, y in flesh]
    return (
        tint([crust, *gaps], 0.8)
        + trunk(34, 82)
        + main([*outside(top, finger), edge, base])
        + stipple(grain, 6.4, 0.6)
        + fine(below)
        + ink
    )


# ---------------------------------------------------------------- moisture

_LOW = Dome(radius=36, height=25, tilt=24, x=46, y=66)


def _finger(down: float) -> tuple[list[Point], str]:
    """Return the outline and the ink of a fingertip that comes from the upper right, moved down by some units."""
    tip = smooth((73, 2), (68, 11), (61, 24), (60.5, 30), (65, 33), (71, 30.5), (78.5, 21), (90, 5))
    nail = smooth((73, 16), (68, 24), (68.5, 28), (72.5, 26.5), (78, 19))
    placed = [(x, y + down) for x, y in tip]
    return placed, main(placed) + fine([(x, y + down) for x, y in nail])


def _dry() -> str:
    """Draw a matt cap without any light on it; the finger that touched it comes away clean."""
    _, finger = _finger(0)
    matt = dots([_LOW.at(a, r) for a, r in _LOW.places(5.0, seed=3, most=0.94)], 0.5)
    return matt + finger + main([_LOW.skin, *_LOW.stipe(93)])


#: The pulp of the finger as it lies on the skin, and the turn of its long axis [degrees].
_PRINT_AT = (53.5, 55.0)
_PRINT_TURN = 38.0


def _greasy() -> str:
    """Draw a cap with half a shine; the finger draws two short threads and leaves its print in the grease."""
    light = _shine(_LOW, 160, 195, 0.44, 0.62)
    x, y = _PRINT_AT
    mark = turned(ellipse(x, y, 7.6, 10.4), _PRINT_TURN, _PRINT_AT)
    ridges = [
        turned(arc(x, y + 1.2, 0.2 + 1.9 * k, 0.4 + 2.7 * k, 130, 410), _PRINT_TURN, _PRINT_AT) for k in (1, 2, 3)
    ]
    tip, finger = _finger(4.5)
    threads = [
        p
        for line in (smooth((63.4, 36), (63.8, 39.6), (62, 44)), smooth((67.6, 36), (67.6, 40), (69.4, 46)))
        for p in outside(line, tip, _LOW.skin)
    ]
    body = tint([_LOW.skin, light, mark], 0.2) + fine([*ridges, *threads])
    return body + finger + main([_LOW.skin, *_LOW.stipe(93)])


def _slimy() -> str:
    lights = [_shine(_LOW, 160, 215, 0.4, 0.66), _shine(_LOW, 136, 150, 0.44, 0.66)]
    tip, finger = _finger(3)
    # The rim of the slime runs down into drops, in one line.
    drops = {14: 6.0, 28: 10.0, 42: 6.0, 58: 9.0, 75: 7.0}
    hem: list[Point] = [_LOW.near_rim[0], _LOW.near_rim[4]]
    for k, long in drops.items():
        x, y = _LOW.near_rim[k]
        hem += [(x + 3.2, y + 1.2), (x + 1.9, y + long * 0.5), (x + 2.1, y + long), (x, y + long + 2.2),
                (x - 2.1, y + long), (x - 1.9, y + long * 0.5), (x - 3.2, y + 1.2)]  # fmt: skip
    rim = smooth(*hem, _LOW.near_rim[86], _LOW.near_rim[90])
    slime = [*_LOW.crown, *rim]
    threads = [
        p
        for line in (
            smooth((61.5, 32), (62.3, 38), (58, 46.5)),
            smooth((63.8, 34), (64.4, 40), (63, 47.5)),
            smooth((66.6, 34), (67, 40), (68.5, 49)),
            smooth((69, 33), (69.8, 40), (74.5, 51.5)),
        )
        for p in outside(line, tip, slime)
    ]
    stipe = [p for line in _LOW.stipe(93) for p in outside(line, slime)]
    return tint([slime, *lights], 0.3) + finger + fine(threads) + main([*outside(_LOW.crown, tip), rim, *stipe])


# ---------------------------------------------------------------- loose veil

_VEILED = Dome(radius=40, height=28, tilt=40, y=48)


def _none() -> str:
    return tint(_VEILED.skin, 0.2) + _cap(_VEILED)


def _patch(a: float, r: float, knots: list[tuple[float, float]]) -> list[Point]:
    return smooth(*_VEILED.local(a, r, [(u, v, 0.8) for u, v in knots]), closed=True)


def _white_patch() -> str:
    big = _patch(
        120,
        0.22,
        [(-14, -12), (-15, 0), (-13, 12), (-2, 16), (8, 13), (12, 15), (16, 5), (13, -3), (15, -12), (3, -17)],
    )
    small = _patch(60, 0.68, [(-5, -4), (-3, 5), (4, 6), (6, -1), (1, -6)])
    folds = [
        smooth(*_VEILED.local(120, 0.22, k)) for k in ([(-8, -6, 1), (-5, 1, 1), (-7, 7, 1)], [(5, 2, 1), (7, -5, 1)])
    ]
    return tint([_VEILED.skin, big, small], 0.3) + fine(folds) + main([big, small]) + _cap(_VEILED)


def _warts() -> list[list[Point]]:
    warts = []
    for k, (a, r) in enumerate(_VEILED.places(10.5, seed=9, most=0.95)):
        size = (2.6, 3.3, 2.9)[k % 3]
        turns = [t * math.tau / 6 + k for t in range(6)]
        base = _VEILED.local(a, r, [(size * math.cos(t), size * math.sin(t), 0) for t in turns])
        warts.append(straight(*base, closed=True))
    return warts


def _white_warts() -> str:
    warts = _warts()
    return tint([_VEILED.skin, *warts], 0.3) + fine(warts) + _cap(_VEILED)


def _coloured_warts() -> str:
    warts = _warts()
    return tint([_VEILED.skin, *warts], 0.08) + tint(warts, 0.75) + fine(warts) + _cap(_VEILED)


def _powder() -> str:
    """Draw loose flocks, each a little heap of grains, over fine dust."""
    heaps = [_VEILED.at(a, r, 0.6) for a, r in _VEILED.places(9.5, seed=11)]
    grains = "".join(
        dots([(x + (dx if k % 2 else -dx), y + (dy if k % 3 else -dy)) for k, (x, y) in enumerate(heaps)], size)
        for dx, dy, size in ((0, 0, 1.5), (1.8, -0.7, 1.1), (-1.2, 1.3, 1.1), (0.9, 1.6, 0.8), (-1.7, -0.8, 0.7))
    )
    dust = dots([_VEILED.at(a, r) for a, r in _VEILED.places(4.6, seed=12)], 0.5)
    return tint(_VEILED.skin, 0.12) + dust + grains + _cap(_VEILED)


def _plain() -> str:
    return tint(_HIGH.skin, 0.2) + _cap(_HIGH)


DRAWINGS: Drawings = {
    "cap_pattern": {
        "plain": _plain,
        "darker-centre": _darker_centre,
        "pale-centre": _pale_centre,
        "two-toned": _two_toned,
        "zoned": _zoned,
        "streaked": _streaked,
        "spotted": _spotted,
    },
    "cap_surface": {
        "smooth": _smooth,
        "silky": _silky,
        "fibrous": _fibrous,
        "velvety": _velvety,
        "hairy": _hairy,
        "scaly": _scaly,
        "shaggy": _shaggy,
        "wrinkled": _wrinkled,
        "cracked": _cracked,
        "powdery": _powdery,
        "lacquered": _lacquered,
        "crusty": _crusty,
    },
    "cap_moisture": {"dry": _dry, "greasy": _greasy, "slimy": _slimy},
    "cap_veil": {
        "none": _none,
        "white-patch": _white_patch,
        "white-warts": _white_warts,
        "coloured-warts": _coloured_warts,
        "powder": _powder,
    },
}
