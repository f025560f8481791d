"""How the fruitbodies stand together."""

from __future__ import annotations

import math
from collections.abc import Sequence

from trug.drawings.model import Drawings
from trug.drawings.scene import ground, little_mushroom, trunk
from trug.drawings.stroke import Point, arc, bezier, fine, inside, main, outside, smooth, stacked, straight

__all__ = ["DRAWINGS"]


def _tufts(*places: tuple[float, float]) -> list[list[Point]]:
    """Return tufts of grass."""
    blades = []
    for x, y in places:
        blades += [
            smooth((x, y), (x - 1, y - 3), (x - 2.5, y - 5.5)),
            smooth((x + 1.4, y), (x + 1.6, y - 4), (x + 1.4, y - 7)),
            smooth((x + 2.8, y), (x + 3.8, y - 3), (x + 5.4, y - 5)),
        ]
    return blades


def _stand(mushrooms: Sequence[tuple[float, float, float, float]], grass: Sequence[tuple[float, float]]) -> str:
    """Ink mushrooms given as (x, y, size, lean), the nearest first, and tufts behind them."""
    shapes = [shape for m in mushrooms for shape in little_mushroom(*m)]
    blades = [part for blade in _tufts(*grass) for part in outside(blade, *shapes)]
    feet = [straight((x - size * 0.24, y + 0.4), (x + size * 0.24, y + 0.4)) for x, y, size, _ in mushrooms]
    return main(stacked(shapes)) + fine(blades + [p for f in feet for p in outside(f, *shapes)])


def _single() -> str:
    """Draw one mushroom in the ground, which runs on both sides from the foot of its stipe."""
    cap, stipe = little_mushroom(48, 76, 40)
    earth = smooth((6, 77), (26, 75.4), (48, 75.6), (70, 76.4), (90, 75))
    return main(stacked([cap, stipe])) + fine([*outside(earth, stipe), *_tufts((14, 76.4), (74, 76.2))])


def _scattered() -> str:
    return _stand([(20, 84, 22, 1), (76, 68, 19, -1), (40, 38, 15, 0.5)], [(48, 82), (14, 50), (62, 44), (84, 84)])


def _trooping() -> str:
    places = [
        (14, 89, 19, 1),
        (36, 91, 20, -1),
        (60, 88, 19, 0.5),
        (83, 90, 18, -1),
        (24, 66, 16, -0.5),
        (47, 67, 17, 1),
        (70, 65, 16, 0),
        (88, 64, 13, 0.5),
        (12, 48, 13, 0),
        (35, 46, 14, 0.5),
        (57, 45, 13, -0.5),
        (78, 44, 13, 0),
        (24, 28, 11, 0),
        (46, 27, 11, 0.5),
        (67, 27, 11, 0),
    ]
    return _stand(places, [])


def _leaning(foot: Point, top: Point, size: float) -> list[list[Point]]:
    """Return a cap at ``top`` and its stipe down to a shared foot, as closed shapes, the cap first."""
    x, y = top
    cap = [*arc(x, y, size / 2, size * 0.5, 180, 360), *arc(x, y, size / 2, size * 0.13, 0, 180)]
    half = size * 0.085
    left = bezier((x - half, y), (x - half, y + 14), (foot[0] - half, foot[1] - 16), (foot[0] - half, foot[1]))
    right = bezier((foot[0] + half, foot[1]), (foot[0] + half, foot[1] - 16), (x + half, y + 14), (x + half, y))
    return [cap, left + right]


def _tufted() -> str:
    caps = [
        ((47, 87), (35, 68), 24),
        ((50, 87), (61, 67), 24),
        ((44.5, 87), (19, 62), 21),
        ((53.5, 87), (78, 61), 21),
        ((48.5, 87), (48, 46), 25),
        ((46, 87), (25, 41), 23),
        ((52, 87), (72, 40), 23),
        ((49, 87), (49, 22), 24),
    ]
    shapes = [shape for c in caps for shape in _leaning(*c)]
    return main(stacked(shapes)) + ground(87, *shapes)


_SHELVES = ((17, 46), (38, 62), (59, 66), (78, 50))


def _shelf(y: float, size: float) -> list[list[Point]]:
    """Return a shelf on the trunk as its upper face and, behind that, its whole thickness."""
    x = 18.0

    def at(across: float, down: float) -> Point:
        return (x + size * across, y + size * down)

    over = smooth(
        at(0, -0.08),
        at(0.3, -0.2),
        at(0.62, -0.19),
        at(0.9, -0.1),
        at(1, 0.03),
        at(0.86, 0.12),
        at(0.62, 0.1),
        at(0.36, 0.13),
        at(0, 0.05),
    )
    under = smooth(at(1, 0.03), at(0.93, 0.15), at(0.7, 0.22), at(0.4, 0.22), at(0, 0.13))
    return [over, over[: len(over) // 2] + under]


def _tiered() -> str:
    shelves = [_shelf(*s) for s in _SHELVES]
    zones, gills = [], []
    for k, (y, size) in enumerate(_SHELVES):
        before = [face for other in shelves[:k] for face in other]
        zone = smooth(
            (18 + size * 0.3, y - size * 0.1),
            (18 + size * 0.64, y - size * 0.1),
            (18 + size * 0.82, y + size * 0.02),
            (18 + size * 0.62, y + size * 0.05),
        )
        zones += outside(zone, *before)
        for j in range(9):
            x = 18 + size * (0.1 + j * 0.09)
            gills += inside(straight((x, y - 4), (x - 0.6, y + size * 0.22)), shelves[k][1])[-1:]
    gills = [p for g in gills for p in outside(g, *[shelf[0] for shelf in shelves])]
    return trunk(12, 86) + main(stacked([face for shelf in shelves for face in shelf])) + fine(zones + gills)


def _ring() -> str:
    places = []
    for k in range(13):
        a = math.radians(90 + k * 360 / 13 + 6)
        y = 59 + 27 * math.sin(a)
        places.append((48 + 37 * math.cos(a), y, 9 + (y - 30) * 0.085, 0.0))
    places.sort(key=lambda p: -p[1])
    return _stand(places, [(38, 62), (56, 60)])


DRAWINGS: Drawings = {
    "growth_manner": {
        "single": _single,
        "scattered": _scattered,
        "trooping": _trooping,
        "tufted": _tufted,
        "tiered": _tiered,
        "ring": _ring,
    },
}
