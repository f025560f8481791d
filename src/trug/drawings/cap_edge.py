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
    without,
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
    mouth = _under(0.7)
    # Two contour lines round the roll: it comes up from outside and goes in under itself.
    rolls = [arc(48, 43, 41 * f, 41 * f * _FROM_BELOW_TILT + d, start, end)
             for f, d in ((0.79, 2.5), (0.89, 4.5)) for start, end in ((20, 78), (102, 160), (200, 340))]  # fmt: skip
    seen = outside(mouth, _stipe_shape()) + outside(outline, _stipe_shape())
    curls = [p for r in rolls for p in outside(r, _stipe_shape())]
    return main([*seen, *_below_stipe()]) + tint(without(mouth, _stipe_shape()), 0.22) + _gills(0.68) + fine(curls)


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
    """Draw scraps that hang from the near rim; above each of them the rim runs on."""
    scraps, hems = [], []
    for start, end, long in ((178, 166, 11), (160, 146, 16), (140, 127, 10), (122, 106, 15),
                             (74, 60, 12), (54, 38, 17), (31, 19, 11), (13, 2, 13)):  # fmt: skip
        top = _under(1, start, end)
        (x0, y0), (x1, y1) = top[0], top[-1]

        def at(share: float, down: float, ends: tuple[float, ...] = (x0, y0, x1, y1)) -> Point:
            return (ends[0] + (ends[2] - ends[0]) * share, ends[1] + (ends[3] - ends[1]) * share + down)

        hem = smooth((x0, y0), at(0.1, long * 0.6), at(0.3, long), at(0.5, long * 0.62), at(0.72, long * 0.86),
                     at(0.9, long * 0.5), (x1, y1))  # fmt: skip
        hems.append(hem)
        scraps.append([*hem, *top[::-1]])
    return _edge(_under(), tint(scraps, 0.3) + main(hems))


def _shaggy_edge() -> str:
    """Draw wool that hangs from the near rim and stands off the sides."""
    hairs = []
    for k in range(76):
        a = -4 + k * 2.5
        x, y = _under(1, a, a + 1)[0]
        long = 6 + (k * 7 % 5)
        out = math.cos(math.radians(a))
        sway = (k * 5 % 7 - 3) * 0.9
        line = smooth(
            (x, y), (x + out * long * 0.5 + sway * 0.3, y + long * 0.45), (x + out * long * 0.7 + sway, y + long)
        )
        hairs += [p for p in outside(line, _stipe_shape()) if len(p) > 6]
    return _edge(_under(), hair(hairs, 1.5))


def _wavy() -> str:
    """Draw a rim that swings up and down in broad lobes, and the cap that swings with it."""

    def swing(a: float) -> float:
        return 3.4 * math.sin(4 * a + 2.2) * math.sqrt(max(0.0, math.sin(a))) + 1.0 * math.sin(3 * a)

    def rim_at(degrees: float) -> Point:
        a = math.radians(degrees)
        reach = 1 + 0.05 * math.sin(7 * a + 1)
        return (48 + 40 * reach * math.cos(a), 44 + 16 * reach * math.sin(a) + swing(a))

    rim = [rim_at(d / 2) for d in range(721)]
    crown = smooth(rim_at(180), (11, 31), (21, 22), (30, 21), (37, 15), (49, 15), (57, 18), (69, 17), (82, 28),
                   rim_at(0))  # fmt: skip
    lobes = [
        smooth((20, 38), (24, 30), (29, 25)),
        smooth((50, 27), (55, 23), (56, 20)),
        smooth((72, 37), (72, 30), (76, 27)),
    ]
    gills = []
    for k in range(45):
        x, y = rim_at(k * 8)
        inner = 0.2 if k % 2 else 0.55
        a = math.radians(k * 8)
        x0, y0 = 48 + 41 * inner * math.cos(a), 44 + 41 * inner * math.sin(a) * _FROM_BELOW_TILT
        gills += outside(straight((x0, y0), (x + (x0 - x) * 0.06, y + (y0 - y) * 0.06)), _stipe_shape())
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
