"""Spores, one at a time: shape, ornament, germ pore, oil. The cells beside them are in `trug.drawings.cells`."""

from __future__ import annotations

import math
from functools import partial

from trug.drawings.model import Drawings
from trug.drawings.mosaic import cells, clipped
from trug.drawings.stroke import (
    Point,
    Points,
    arc,
    contains,
    dot,
    dots,
    ellipse,
    fine,
    hair,
    inside,
    main,
    scaled,
    smooth,
    spread,
    stipple,
    straight,
    tint,
    turned,
    united,
)

__all__ = ["DRAWINGS"]

#: The peg by which every spore sat on its stalk, below and a little to the left; it begins inside the spore.
_APICULUS = smooth((-3.4, -3), (-4.2, 1.6), (-4.4, 4.4), (-2.4, 5.6), (-0.6, 4), (0.4, 1), (1.4, -3), closed=True)


def _spore(shape: Points, inner: str = "", foot_y: float | None = None, lean: float = 0.0) -> str:
    """Draw one spore and its foot in one line; ``foot_y`` is where the foot begins, ``lean`` moves it sideways."""
    y = max(p[1] for p in shape) if foot_y is None else foot_y
    foot = [(48 + lean + px, y + py) for px, py in _APICULUS]
    whole = _joined(united([shape, foot]))
    return main(whole, closed=True) + tint(whole, 0.08) + inner


def _joined(parts: list[list[Point]]) -> list[Point]:
    """Return parts of an outline, one after another as they meet, as one closed line."""
    line, todo = list(parts[0]), list(parts[1:])
    while todo:
        _, k, back = min((math.dist(line[-1], part[end]), k, end) for k, part in enumerate(todo) for end in (0, -1))
        part = todo.pop(k)
        line += part[::-1] if back else part
    return line


# ---------------------------------------------------------------- shape

_BROAD = ellipse(48, 46, 29, 35)
_ELLIPSOID = ellipse(48, 46, 23, 37)


def _almond() -> str:
    shape = smooth(
        (48, 5), (43, 15), (32, 29), (26, 48), (31, 68), (42, 81), (50, 84), (60, 76), (68, 58), (69, 40), (60, 22),
        (53, 13), closed=True,
    )  # fmt: skip
    return _spore(shape)


def _cylinder() -> str:
    sides = [(35, 20), (35, 34), (35, 58), (35, 72)]
    shape = smooth((48, 7), (38, 11), *sides, (38, 81), (48, 85), (58, 81), (61, 72), (61, 58), (61, 34), (61, 20),
                   (58, 11), closed=True)  # fmt: skip
    return _spore(shape)


def _sausage() -> str:
    outer = smooth((58, 8), (42, 20), (34, 46), (40, 72), (54, 86))
    inner = smooth((66, 78), (58, 66), (54, 46), (58, 28), (68, 18))
    shape = smooth(*outer[::9], (62, 87), (67, 82), *inner[::9], (69, 11), (64, 7), closed=True)
    return _spore(shape, foot_y=86, lean=11)


def _spindle() -> str:
    half = [(48, 4), (44, 14), (38, 28), (34, 46), (37, 64), (43, 78)]
    other = [(2 * 48 - x, y) for x, y in reversed(half[1:])]
    return _spore(smooth(*half, (47, 87), *other, closed=True), foot_y=86)


def _bean() -> str:
    shape = smooth(
        (56, 9), (38, 12), (25, 28), (22, 48), (27, 70), (42, 84), (57, 83), (65, 73), (60, 60), (55, 47), (60, 34),
        (67, 22), closed=True,
    )  # fmt: skip
    return _spore(shape, foot_y=83.6, lean=-1)


def _angular() -> str:
    corners = [(48, 9), (72, 20), (79, 46), (68, 72), (47, 83), (24, 70), (18, 42), (28, 18)]
    facets = [straight(c, (50, 44)) for c in ((28, 18), (79, 46), (24, 70))]
    return _spore(straight(*corners, closed=True), fine(facets), foot_y=82.4)


def _star() -> str:
    shape = [
        (48 + r * math.cos(a), 46 + r * math.sin(a))
        for a, r in (
            (math.radians(k), 27 + 11 * max(0.0, math.cos(9 * math.radians(k) + math.pi / 2))) for k in range(361)
        )
    ]
    return _spore(shape, foot_y=73)


# ---------------------------------------------------------------- ornament, on one and the same spore


def _rim(steps: int, rx: float = 29, ry: float = 35) -> list[tuple[Point, float]]:
    """Return points along the outline with the direction outwards [rad]."""
    found = []
    for k in range(steps):
        a = 2 * math.pi * k / steps
        found.append(((48 + rx * math.cos(a), 46 + ry * math.sin(a)), math.atan2(math.sin(a) / ry, math.cos(a) / rx)))
    return found


def _fine_warts() -> str:
    rim = "".join(dot(x + 1.6 * math.cos(a), y + 1.6 * math.sin(a), 0.8) for (x, y), a in _rim(72))
    return _spore(_BROAD, stipple(scaled(_BROAD, 0.92, (48, 46)), 4, 0.7) + rim)


def _warts() -> str:
    """Draw round warts, on the outline too."""
    edge = [(x + 1.4 * math.cos(a), y + 1.4 * math.sin(a)) for (x, y), a in _rim(24) if abs(a - math.pi / 2) > 0.12]
    face = spread(scaled(_BROAD, 0.8, (48, 46)), 11)
    return _spore(_BROAD, dots([*edge, *face], 2.5))


def _ridges() -> str:
    """Draw a net of ridges; where a ridge meets the outline it stands out."""
    meshes = [m for c in cells(spread(_BROAD, 12.5, 1), 2.0) if (m := clipped(c, _BROAD))]
    crest: list[Point] = []
    free = [not any(contains(m, (48 + (x - 48) * 0.97, 46 + (y - 46) * 0.97)) for m in meshes) for x, y in _BROAD]
    for k, (x, y) in enumerate(_BROAD[:-1]):
        if free[k] and not free[k - 1] and abs(math.atan2((y - 46) / 35, (x - 48) / 29) - math.pi / 2) > 0.14:
            a = math.atan2((y - 46) / 35**2, (x - 48) / 29**2)
            crest.append((x + 0.6 * math.cos(a), y + 0.6 * math.sin(a)))
    return _spore(_BROAD, tint([_BROAD, *meshes], 0.85) + dots(crest, 2.4))


def _spines() -> str:
    shape = ellipse(48, 46, 25, 31)
    outer = [
        straight((x - 2 * math.sin(a), y + 2 * math.cos(a)), (x + 8.5 * math.cos(a), y + 8.5 * math.sin(a)),
                 (x + 2 * math.sin(a), y - 2 * math.cos(a)))
        for (x, y), a in _rim(26, 25, 31)
        if not (y > 60 and 38 < x < 53)
    ]  # fmt: skip
    face = [straight((x, y + 2), (x + (x - 48) * 0.16, y - 3 + (y - 46) * 0.08)) for x, y in
            spread(scaled(shape, 0.82, (48, 46)), 10)]  # fmt: skip
    return _spore(shape, fine(outer) + hair(face, 2.6))


def _knobs() -> str:
    """Draw a few blunt corners in the outline and on the face."""
    shape = [
        (48 + (26 + 4 * math.cos(6 * a)) * math.cos(a), 46 + (32 + 4 * math.cos(6 * a)) * math.sin(a))
        for a in (math.radians(k) for k in range(361))
    ]
    knobs = [
        turned(arc(x, y, 4.6, 4.6, 100, 350), turn, (x, y))
        for x, y, turn in ((43, 31, 0), (60, 36, 20), (32, 47, -20), (49, 49, 10), (65, 53, 30), (43, 65, 0))
    ]
    return _spore(shape, fine(knobs), foot_y=74)


def _furrows() -> str:
    lines = [
        smooth((48, 12), (48 + d, 30), (48 + d * 1.15, 46), (48 + d, 62), (48, 80))
        for d in (-21, -13, -4.5, 4.5, 13, 21)
    ]
    return _spore(_BROAD, main([p for line in lines for p in inside(line, _BROAD)]))


# ---------------------------------------------------------------- germ pore and oil


def _no_germ_pore() -> str:
    return _spore(_ELLIPSOID, fine(scaled(_ELLIPSOID, 0.86, (48, 46), 0.91)))


def _germ_pore() -> str:
    """Draw a tip that is cut off, with a channel through the double wall."""
    outer = smooth((41, 11), (31, 22), (25, 44), (30, 66), (40, 80), (48, 83), (56, 80), (66, 66), (71, 44), (65, 22),
                   (55, 11))  # fmt: skip
    inner = smooth((45, 16), (35, 25), (29, 44), (33, 64), (42, 76), (48, 79), (54, 76), (63, 64), (67, 44), (61, 25),
                   (51, 16))  # fmt: skip
    lid = straight((41, 11), (55, 11))
    channel = [straight((45, 16), (44.5, 11)), straight((51, 16), (51.5, 11))]
    return _spore([*outer, *lid[::-1]], fine([inner, *channel]))


def _oil(*drops: tuple[float, float, float]) -> str:
    shapes = [ellipse(x, y, r, r) for x, y, r in drops]
    shine = [
        [p for p in ellipse(x, y, r * 0.62, r * 0.62) if p[0] < x - r * 0.1 and p[1] < y - r * 0.1] for x, y, r in drops
    ]
    body = tint(shapes, 0.3) + fine([*shapes, *[s for s in shine if len(s) > 1]]) if drops else ""
    return _spore(_ELLIPSOID, body)


DRAWINGS: Drawings = {
    "spore_shape": {
        "globose": partial(_spore, ellipse(48, 46, 34, 34)),
        "broad": partial(_spore, ellipse(48, 46, 29, 36)),
        "ellipsoid": partial(_spore, ellipse(48, 46, 21, 38)),
        "almond": _almond,
        "cylinder": _cylinder,
        "sausage": _sausage,
        "spindle": _spindle,
        "bean": _bean,
        "angular": _angular,
        "star": _star,
    },
    "spore_ornament": {
        "smooth": partial(_spore, _BROAD),
        "fine-warts": _fine_warts,
        "warts": _warts,
        "ridges": _ridges,
        "spines": _spines,
        "knobs": _knobs,
        "furrows": _furrows,
    },
    "germ_pore": {"absent": _no_germ_pore, "present": _germ_pore},
    "spore_oil": {
        "none": _oil,
        "one": partial(_oil, (48, 46, 15)),
        "two": partial(_oil, (48, 30, 11), (48, 62, 11)),
        "many-small": partial(
            _oil,
            (44, 22, 4),
            (54, 28, 5),
            (40, 35, 5),
            (52, 42, 4),
            (37, 49, 4),
            (48, 54, 5.5),
            (60, 52, 4.5),
            (40, 64, 4.5),
            (54, 67, 5),
            (46, 76, 3.5),
            (61, 39, 3),
        ),
    },
}
