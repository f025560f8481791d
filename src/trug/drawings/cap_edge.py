"""The edge of the cap, seen from a little below."""

from __future__ import annotations

import math

from trug.drawings.dome import Dome
from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    Point,
    arc,
    fine,
    hair,
    main,
    mirrored,
    outside,
    smooth,
    straight,
    tint,
)

__all__ = ["DRAWINGS"]

# ---------------------------------------------------------------- edge, from a little below

_BELOW = Dome(radius=41, height=30, tilt=-24, y=44)
_FROM_BELOW_TILT = math.sin(math.radians(24))


def _under(out: float = 1.0, start: float = 0, end: float = 360) -> list[Point]:
    """Return an ellipse on the underside, ``out`` of the way to the rim."""
    return arc(48, 44, 41 * out, 41 * out * _FROM_BELOW_TILT, start, end)


def _below_stipe() -> list[list[Point]]:
    left = smooth((41.5, 45), (41.5, 60), (40.5, 78), (39.5, 90))
    return [left, mirrored(left), smooth((39.5, 90), (48, 92.4), (56.5, 90)), arc(48, 45, 6.5, 2.4, 180, 360)]


def _stipe_shape() -> list[Point]:
    left = smooth((41.5, 45), (41.5, 60), (40.5, 78), (39.5, 90))
    return arc(48, 45, 6.5, 2.4, 180, 360) + mirrored(left)[::-1] + left[::-1]


def _gills(outer: float = 0.97, step: float = 8, besides: tuple[list[Point], ...] | list[list[Point]] = ()) -> str:
    lines = []
    for k in range(round(360 / step)):
        a = math.radians(k * step)
        inner = 0.2 if k % 2 else 0.55
        line = straight(
            (48 + 41 * inner * math.cos(a), 44 + 41 * inner * math.sin(a) * _FROM_BELOW_TILT),
            (48 + 41 * outer * math.cos(a), 44 + 41 * outer * math.sin(a) * _FROM_BELOW_TILT),
        )
        lines += outside(line, _stipe_shape(), *besides)
    return fine(lines)


def _edge(rim: list[Point], more: str = "", crown: list[Point] | None = None, gills: str | None = None) -> str:
    seen = outside(rim, _stipe_shape())
    return (
        main([_BELOW.crown if crown is None else crown, *seen, *_below_stipe()])
        + (_gills() if gills is None else gills)
        + more
    )


def _edge_plain() -> str:
    return _edge(_under())


def _inrolled() -> str:
    outline = smooth(
        (6.5, 45),
        (9, 33),
        (22, 20),
        (48, 14),
        (74, 20),
        (87, 33),
        (89.5, 45),
        (84, 55),
        (69, 62),
        (48, 64.5),
        (27, 62),
        (12, 55),
        closed=True,
    )
    bends = []
    for a in range(0, 360, 9):
        bend = smooth(_under(0.72, a, a + 1)[0], _under(0.82, a + 1, a + 2)[0], _under(0.88, a + 1, a + 2)[0])
        bends += outside(bend, _stipe_shape())
    seen = outside(_under(0.72), _stipe_shape()) + outside(outline, _stipe_shape())
    return main([*seen, *_below_stipe()]) + _gills(0.7) + hair(bends, 1.3)


def _lines_above(start: float, step: float) -> list[list[Point]]:
    lines = []
    for k in range(round(180 / step) + 1):
        lines += _BELOW.meridian(k * step, start, 0.985)
    return lines


def _lined() -> str:
    return _edge(_under(), fine(_lines_above(0.74, 5)))


def _grooved() -> str:
    n = 26
    rim = [
        (
            48 + 41 * (1 + 0.045 * abs(math.sin(n / 2 * a)) - 0.03) * math.cos(a),
            44 + (41 * _FROM_BELOW_TILT + 2.6 * abs(math.sin(n / 2 * a)) - 1.3) * math.sin(a),
        )
        for a in (math.radians(d / 2) for d in range(721))
    ]
    pleats = []
    for k in range(n // 2 + 1):
        pleats += _BELOW.meridian(k * 360 / n, 0.32 if k % 2 else 0.45, 1.0)
    return _edge(rim, hair([p[::-1] for p in pleats], 2.2), gills=_gills(0.94, 360 / 52))


def _veil_hung() -> str:
    scraps = []
    for a, long, wide in (
        (176, 12, 2.6),
        (158, 9, 3.4),
        (140, 15, 4),
        (120, 10, 4.4),
        (62, 14, 4.4),
        (42, 9, 4),
        (24, 15, 3.6),
        (4, 11, 2.6),
    ):
        x, y = _under(1, a, a + 1)[0]
        scraps.append(
            smooth(
                (x - wide, y - 1),
                (x - wide * 0.7, y + long * 0.5),
                (x - wide * 0.2, y + long),
                (x + wide * 0.1, y + long * 0.7),
                (x + wide * 0.5, y + long * 0.8),
                (x + wide * 0.8, y + long * 0.4),
                (x + wide, y - 1),
            )
        )
    rim = [p for part in outside(_under(), *scraps) for p in outside(part, _stipe_shape())]
    crown = outside(_BELOW.crown, *scraps)
    return main([*crown, *rim, *scraps, *_below_stipe()]) + tint(scraps, 0.25) + _gills(besides=scraps)


def _shaggy_edge() -> str:
    hairs = []
    for k in range(120):
        a = k * 3
        x, y = _under(1, a, a + 1)[0]
        long = 6 + (k * 7 % 5)
        out = math.cos(math.radians(a))
        sway = (k * 5 % 7 - 3) * 0.9
        line = smooth(
            (x, y), (x + out * long * 0.5 + sway * 0.3, y + long * 0.45), (x + out * long * 0.7 + sway, y + long)
        )
        hairs += [p for p in outside(line, _stipe_shape()) if len(p) > 6]
    return _edge(_under(), hair(hairs, 1.3))


def _wavy() -> str:
    rim = []
    for d in range(0, 721):
        a = math.radians(d / 2)
        wave = math.sin(5 * a + 0.6) + 0.35 * math.sin(3 * a)
        rim.append(
            (
                48 + (40 + 2.2 * wave) * math.cos(a),
                44 + (16 + 1.0 * wave) * math.sin(a) + 3.6 * math.sin(6 * a) * abs(math.sin(a)) ** 0.5,
            )
        )
    left, right = min(rim), max(rim)
    crown = smooth(left, (12, 31), (22, 22), (36, 17), (48, 15), (62, 17.5), (75, 23), (85, 32), right)
    lobes = [
        smooth((24, 34), (27, 28), (32, 24)),
        smooth((49, 30), (50, 24), (49, 20)),
        smooth((72, 36), (70, 29), (66, 25)),
    ]
    gills = []
    for k in range(45):
        a = math.radians(k * 8)
        x, y = rim[k * 16]
        inner = 0.2 if k % 2 else 0.55
        x0, y0 = 48 + 41 * inner * math.cos(a), 44 + 41 * inner * math.sin(a) * _FROM_BELOW_TILT
        gills += outside(straight((x0, y0), (x + (x0 - x) * 0.05, y + (y0 - y) * 0.05)), _stipe_shape())
    return _edge(rim, fine(lobes), crown, fine(gills))


def _ribbed_short() -> str:
    ribs = []
    for k in range(48):
        a = k * 7.5
        line = straight(_under(0.99, a, a + 1)[0], _under(0.74, a, a + 1)[0])
        ribs += outside(line, _stipe_shape())
    return _edge(_under(), main(ribs), gills=_gills(0.66, 9))


DRAWINGS: Drawings = {
    "cap_edge": {
        "plain": _edge_plain,
        "inrolled": _inrolled,
        "lined": _lined,
        "grooved": _grooved,
        "veil-hung": _veil_hung,
        "shaggy-edge": _shaggy_edge,
        "wavy": _wavy,
        "ribbed-short": _ribbed_short,
    },
}
