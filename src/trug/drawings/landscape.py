"""Scenes of the ground, in which what stands in front hides what lies behind."""

from __future__ import annotations

from trug.drawings.stroke import Point, Points, arc, fine, main, outside, smooth, straight, tint, turned, without

__all__ = ["GROUND_Y", "Landscape", "Shape", "blade", "leaf"]

#: Height of the ground [units].
GROUND_Y = 76.0
#: Points of a line or of a shape.
Shape = list[Point]


class Landscape:
    """A scene drawn from front to back: what comes later is hidden behind what stands in it already."""

    def __init__(self) -> None:
        self._front: list[Shape] = []
        self._ink = ""

    def put(self, shape: Points, shade: float = 0.0, detail: list[Shape] | None = None) -> None:
        """Put a closed shape behind what is there."""
        self._ink += main(outside(straight(*shape, closed=True), *self._front))
        if shade:
            self._ink += tint(self._behind(shape), shade)
        self.trace(detail or [])
        self._front.append(list(shape))

    def _behind(self, shape: Points) -> list[Shape]:
        """Return what of a shape is not hidden behind what is there."""
        rest: list[Shape] = [list(shape)]
        for front in self._front:
            rest = [part for piece in rest for part in without(piece, front)]
        return rest

    def trace(self, lines: list[Shape], bold: bool = False) -> None:
        """Draw open lines behind what is there."""
        parts = [p for line in lines for p in outside(line, *self._front)]
        self._ink += main(parts) if bold else fine(parts)

    def add(self, ink: str) -> None:
        """Add ink as it is."""
        self._ink += ink

    def fruitbody(self, x: float, y: float, size: float = 1.0) -> None:
        """Put the fruitbody with its foot at a point; at size 1 it is 25 units high."""
        cap = smooth((x - 13 * size, y - 13 * size), (x - 9 * size, y - 22 * size), (x, y - 25 * size),
                     (x + 9 * size, y - 22 * size), (x + 13 * size, y - 13 * size))  # fmt: skip
        cap = [*cap, *smooth((x + 13 * size, y - 13 * size), (x, y - 11 * size), (x - 13 * size, y - 13 * size))]
        side = straight((x + 2.4 * size, y - 12 * size), (x + 2.6 * size, y))
        low = arc(x, y, 2.6 * size, 1.2 * size, 0, 180)
        self.put(cap, 0.3)
        self.put([*side, *low, *straight((x - 2.6 * size, y), (x - 2.4 * size, y - 12 * size))])

    def shelf(self, x: float, y: float, side: int, size: float = 1.0) -> None:
        """Put a fruitbody that stands out from a trunk to one side."""
        cap = smooth((x, y - 5 * size), (x + side * 10 * size, y - 7 * size), (x + side * 19 * size, y + 1 * size))
        low = smooth((x + side * 19 * size, y + 1 * size), (x + side * 9 * size, y + 3 * size), (x, y + 5 * size))
        self.put([*cap, *low], 0.3)

    def ground(self, left: float = 3, right: float = 93) -> None:
        """Draw the ground behind what is there."""
        self.trace([smooth((left, GROUND_Y), ((left + right) / 2, GROUND_Y - 1.5), (right, GROUND_Y))], bold=True)

    def ink(self) -> str:
        """Return the scene."""
        return self._ink


def leaf(x: float, y: float, degrees: float, size: float = 1.0) -> Shape:
    """Return a pointed leaf, 12 units long at size 1, turned about its stalk."""
    half = smooth((x, y), (x + 5 * size, y - 3.6 * size), (x + 12 * size, y))
    return turned([*half, *smooth((x + 12 * size, y), (x + 5 * size, y + 3.6 * size), (x, y))], degrees, (x, y))


def blade(x: float, y: float, height: float, lean: float) -> Shape:
    """Return a blade of grass that rises from a point and leans to one side."""
    return smooth((x, y), (x + lean * 0.25, y - height * 0.6), (x + lean, y - height))
