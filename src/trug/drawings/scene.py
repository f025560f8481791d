"""What several drawings share: ground, trunk, and little mushrooms that stand before one another."""

from __future__ import annotations

from trug.drawings.stroke import Point, arc, bezier, fine, main, outside, smooth, straight

__all__ = ["ground", "little_mushroom", "trunk"]


def ground(y: float, *before: list[Point], left: float = 6, right: float = 90) -> str:
    """Ink the ground with a few blades, hidden behind what stands on it, and where that goes into the ground."""
    lines = smooth(
        (left, y + 1), (left + (right - left) * 0.3, y - 0.6), (left + (right - left) * 0.7, y + 0.8), (right, y)
    )
    blades = []
    for x, lean in ((left + 4, -2.0), (left + 7, 1.5), (right - 9, -1.5), (right - 6, 1.0), (right - 3, 2.5)):
        blades.append(smooth((x, y), (x + lean * 0.3, y - 4), (x + lean, y - 7)))
    feet = [foot for shape in before if (foot := _foot(shape))]
    return fine([part for line in [lines, *blades] for part in outside(line, *before)]) + main(feet)


def _foot(shape: list[Point]) -> list[Point]:
    """Return the line that closes the lower end of a shape, nothing where it is closed."""
    if shape[0] == shape[-1]:
        return []
    low = max(y for _, y in shape)
    ends = sorted(x for x, y in shape if y > low - 0.5)
    if ends[-1] - ends[0] < 3:
        return []
    return smooth((ends[0], low), ((ends[0] + ends[-1]) / 2, low + 1.4), (ends[-1], low))


def trunk(upper: float, lower: float, x: float = 17) -> str:
    """Ink upright wood at the left; between two heights, where something grows out of it, its edge is a fine line."""
    bark = [
        smooth((4, 20), (7, 29), (4.5, 40), (7.5, 50)),
        smooth((5, 58), (8.5, 67), (5.5, 79)),
        smooth((11, 10), (12.5, 20), (10, 32)),
        smooth((11.5, 66), (10, 76), (12.5, 87)),
    ]
    bend = min(1.2, (upper - 4) / 30), min(0.8, (91 - lower) / 30)
    edges = [
        smooth((x, 4), (x + bend[0], (4 + upper) / 2), (x, upper)),
        smooth((x + 0.5, lower), (x + 0.5 - bend[1], (lower + 91) / 2), (x + 0.8, 91)),
    ]
    joint = smooth((x, upper), (x + 0.8, (upper + lower) / 2), (x + 0.5, lower))
    return main(edges) + fine([*bark, joint])


def little_mushroom(x: float, y: float, size: float, lean: float = 0.0, flat: float = 0.62) -> list[list[Point]]:
    """Return a cap and a stipe as closed shapes, the cap first; ``size`` is the cap's width, (x, y) the foot."""
    tall = size * 1.15
    top = (x + lean, y - tall)
    cap = [
        *arc(top[0], top[1] + size * 0.3, size / 2, size * flat, 180, 360),
        *arc(top[0], top[1] + size * 0.3, size / 2, size * 0.13, 0, 180),
    ]
    half = size * 0.085
    under = (top[0], top[1] + size * 0.36)
    bend = (x + lean * 0.35, y - tall * 0.35)
    left = bezier(
        (under[0] - half, under[1]), (bend[0] - half, bend[1] - 2), (x - half * 1.2, y - 3), (x - half * 1.4, y)
    )
    right = bezier(
        (x + half * 1.4, y), (x + half * 1.2, y - 3), (bend[0] + half, bend[1] - 2), (under[0] + half, under[1])
    )
    return [cap, left + straight(left[-1], right[0]) + right]
