"""The skin of the cap: pattern, surface, moisture and what lies loose on it."""

from __future__ import annotations

import math

from trug.drawings.dome import Dome
from trug.drawings.model import Drawings
from trug.drawings.mosaic import cells
from trug.drawings.stroke import (
    Point,
    contains,
    dot,
    dots,
    fine,
    hair,
    main,
    outside,
    smooth,
    stacked,
    straight,
    tint,
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
    edge = _HIGH.circle(0.5, 0.03)
    return tint([_HIGH.skin, edge], 0.5) + fine(edge, closed=True) + _cap(_HIGH)


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
    lines = []
    for k in range(45):
        a = k * 8 + (k * 5 % 3)
        lines += _CAP.meridian(a, 0.16 + (k % 4) * 0.06, 0.4 + (k % 3) * 0.03)
        lines += _CAP.meridian(a + 2, 0.6 - (k * 3 % 4) * 0.025, 0.8 - (k % 5) * 0.02)
        lines += _CAP.meridian(a, 0.88, 0.98)
    return fine(lines) + _cap(_CAP)


def _fibrous() -> str:
    fibres = []
    for k in range(46):
        a = k * 360 / 46 + (k * 31 % 7) - 3
        start = 0.06 + (k * 13 % 9) * 0.085
        bend = (k % 3 - 1) * 4
        n = 24
        fibres += _CAP.path([(a + bend * i / n, start + min(0.5, 0.99 - start) * i / n) for i in range(n + 1)])
    return hair(fibres, 1.9) + _cap(_CAP)


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
        out = 0.14 + ring * 0.155
        n = max(6, round(out * 26))
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
    for k in range(18):
        a, start = k * 20 + (k * 7 % 5), 0.14 + (k % 3) * 0.13
        fork = 0.55 + (k * 5 % 4) * 0.06

        def wave(i: float, a: float = a, k: int = k) -> float:
            return a + 7 * math.sin(i * 13 + k * 1.7)

        ridges += _CAP.path([(wave(i / 60), start + (fork - start) * i / 60) for i in range(61)])
        for side in (-1, 1):
            ridges += _CAP.path(
                [
                    (wave(1) + side * 9 * math.sin(i / 40 * 2.2) + 2 * math.sin(i / 4), fork + (0.95 - fork) * i / 40)
                    for i in range(41 - (k * side) % 9)
                ]
            )
    return main(ridges) + _cap(_CAP)


def _cracked() -> str:
    points = [_CAP.at(a, r) for a, r in _CAP.places(14.5, seed=5)]
    plates = cells(points, 2.6)
    shown = [[p if contains(_CAP.skin, p) else _nearest(p, _CAP.skin) for p in plate] for plate in plates]
    return tint([_CAP.skin, *shown], 0.75) + _cap(_CAP)


def _nearest(point: Point, line: list[Point]) -> Point:
    return min(line, key=lambda q: math.dist(point, q))


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
    ridges = []
    for r, d in ((0.36, 0.03), (0.6, 0.035), (0.82, 0.03)):
        for off in (0.0, 0.035):
            ridges += _CAP.path(
                [(a, r + off + d * math.sin(a / 13 + r * 20) + 0.4 * d * math.sin(a / 5)) for a in range(0, 361, 3)]
            )
    knobs = [(x + 1.0 * math.sin(k / 2.9), y + 1.3 * math.sin(k / 3.7)) for k, (x, y) in enumerate(_CAP.skin)]
    grain = []
    for a, r in _CAP.places(4.6, seed=7):
        grain.append(_CAP.local(a, r, [(-1.5, 0, 0), (1.5, 0.6, 0)]))
    return tint(knobs, 0.22) + main(ridges) + fine(grain) + main(knobs, closed=True) + main(_CAP.stipe())


# ---------------------------------------------------------------- moisture

_LOW = Dome(radius=36, height=25, tilt=24, x=46, y=66)


def _finger(lift: float) -> tuple[list[Point], str]:
    """Return the outline and the ink of a fingertip held over the cap."""
    tip = smooth(
        (77, 2 - lift),
        (68.5, 17 - lift),
        (61, 30 - lift),
        (60.5, 36 - lift),
        (65, 39 - lift),
        (71, 36.5 - lift),
        (78.5, 27 - lift),
        (90, 11 - lift),
    )
    nail = smooth((73, 22 - lift), (68, 30 - lift), (68.5, 34 - lift), (72.5, 32.5 - lift), (78, 25 - lift))
    return tip, main(tip) + fine(nail)


def _dry() -> str:
    _, finger = _finger(-5.5)
    grain = dots([_LOW.at(a, r) for a, r in _LOW.places(5.2, seed=6)], 0.6)
    return grain + finger + _moist_cap(_LOW, -5.5)


def _moist_cap(dome: Dome, lift: float) -> str:
    tip, _ = _finger(lift)
    return main(outside(dome.skin, tip) + dome.stipe(93))


def _greasy() -> str:
    lights = [_shine(_LOW, 160, 215, 0.4, 0.66), _shine(_LOW, 136, 150, 0.44, 0.66)]
    _, finger = _finger(-5.5)
    smear = [smooth((58, 44), (62, 47.5), (68, 46.5)), smooth((55, 46), (61, 51), (71, 49))]
    return tint([_LOW.skin, *lights], 0.3) + finger + fine(smear) + _moist_cap(_LOW, -5.5)


def _slimy() -> str:
    lights = [_shine(_LOW, 160, 215, 0.4, 0.66), _shine(_LOW, 136, 150, 0.44, 0.66)]
    _, finger = _finger(3)
    threads = [
        smooth((61.5, 33), (62.3, 40), (59, 46.5)),
        smooth((63.5, 35.5), (64.4, 41), (63.5, 47.5)),
        smooth((66.5, 35.5), (67, 41), (68.5, 49)),
        smooth((69, 34.5), (69.6, 41), (73.5, 51.5)),
    ]
    drips = []
    for k, long in ((10, 5), (24, 11), (38, 6), (62, 13), (76, 7)):
        x, y = _LOW.near_rim[k]
        drips.append(
            smooth(
                (x - 3.6, y + 0.2),
                (x - 1.8, y + long * 0.45),
                (x - 2, y + long),
                (x, y + long + 2),
                (x + 2, y + long),
                (x + 1.8, y + long * 0.45),
                (x + 3.6, y + 0.2),
            )
        )
    stipe = [p for line in _LOW.stipe(93) for p in outside(line, *drips)]
    rim = outside(_LOW.near_rim, *drips)
    return tint([_LOW.skin, *drips, *lights], 0.3) + finger + fine(threads) + main([_LOW.crown, *rim, *stipe, *drips])


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
    flocks = []
    for k, (a, r) in enumerate(_VEILED.places(10.5, seed=11)):
        x, y = _VEILED.at(a, r, 0.6)
        c = 2.0 + (k % 3) * 0.6
        flocks.append(
            smooth(
                (x - c, y),
                (x - c * 0.4, y - c * 0.9),
                (x + c * 0.3, y - c * 0.2),
                (x, y + c * 0.6),
                (x + c, y + c * 0.3),
                (x + c * 1.1, y - c * 0.7),
            )
        )
    dust = dots([_VEILED.at(a, r) for a, r in _VEILED.places(5.2, seed=12)], 0.6)
    return tint(_VEILED.skin, 0.12) + dust + fine(flocks) + _cap(_VEILED)


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
