"""A cap as a dome in space, seen from above or from below: where a scale, a hair or a streak falls on the paper."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from trug.drawings.stroke import Point, arc, ellipse, outside, spread

__all__ = ["Dome"]


@dataclass(frozen=True)
class Dome:
    """Half an ellipsoid: ``radius`` and ``height`` [units], its rim's middle at (``x``, ``y``).

    ``tilt`` is how far the eye stands above the rim [degrees]; negative: below it, so that the gills show.
    A place on the dome is an azimuth [degrees; 0 right, 90 towards the eye, 180 left] and how far out it lies
    (0 at the top, 1 at the rim).
    """

    radius: float = 40.0
    height: float = 34.0
    tilt: float = 28.0
    x: float = 48.0
    y: float = 50.0

    def _paper(self, across: float, near: float, up: float) -> Point:
        e = math.radians(self.tilt)
        return (self.x + across, self.y + near * math.sin(e) - up * math.cos(e))

    def at(self, azimuth: float, out: float, lift: float = 0.0) -> Point:
        """Return where a place on the dome, or ``lift`` units above it, falls on the paper."""
        return self.local(azimuth, out, [(0.0, 0.0, lift)])[0]

    def local(self, azimuth: float, out: float, offsets: Sequence[tuple[float, float, float]]) -> list[Point]:
        """Return points given as (outwards, along the ring, away from the skin) about a place [units]."""
        a, f = math.radians(azimuth), math.radians(90 * out)
        r, h = self.radius, self.height
        place = (r * math.sin(f) * math.cos(a), r * math.sin(f) * math.sin(a), h * math.cos(f))
        outwards = _unit(r * math.cos(f) * math.cos(a), r * math.cos(f) * math.sin(a), -h * math.sin(f))
        along = (-math.sin(a), math.cos(a), 0.0)
        away = _unit(math.sin(f) * math.cos(a) / r, math.sin(f) * math.sin(a) / r, math.cos(f) / h)
        points: list[Point] = []
        for u, v, w in offsets:
            p = [place[i] + u * outwards[i] + v * along[i] + w * away[i] for i in range(3)]
            points.append(self._paper(p[0], p[1], p[2]))
        return points

    def facing(self, azimuth: float, out: float) -> float:
        """Return how squarely the skin faces the eye there: 1 squarely, 0 at the outline, below 0 hidden."""
        a, f, e = math.radians(azimuth), math.radians(90 * out), math.radians(self.tilt)
        n = _unit(
            math.sin(f) * math.cos(a) / self.radius, math.sin(f) * math.sin(a) / self.radius, math.cos(f) / self.height
        )
        return n[1] * math.cos(e) + n[2] * math.sin(e)

    @cached_property
    def crown(self) -> list[Point]:
        """The upper outline, from the left end of the rim over the top to the right end."""
        e = math.radians(self.tilt)
        tall = math.hypot(self.radius * math.sin(e), self.height * math.cos(e))
        return arc(self.x, self.y, self.radius, tall, 180, 360)

    @cached_property
    def rim(self) -> list[Point]:
        """The whole rim, an ellipse."""
        return ellipse(self.x, self.y, self.radius, self.radius * abs(math.sin(math.radians(self.tilt))))

    @cached_property
    def near_rim(self) -> list[Point]:
        """The half of the rim that is nearer to the eye, from right to left."""
        return [self.at(180 * k / 90, 1.0) for k in range(91)]

    @cached_property
    def skin(self) -> list[Point]:
        """The closed shape of the skin that is seen."""
        return self.crown + self.near_rim

    def meridian(self, azimuth: float, start: float, end: float) -> list[list[Point]]:
        """Return the seen parts of a line that runs straight outwards."""
        return self.path([(azimuth, start + (end - start) * k / 40) for k in range(41)])

    def circle(self, out: float, wobble: float = 0.0) -> list[Point]:
        """Return a closed ring on the skin (seen whole only where it nowhere turns away)."""
        return [
            self.at(a, out + wobble * (math.sin(math.radians(3 * a + 40)) + 0.6 * math.sin(math.radians(7 * a))))
            for a in range(0, 361, 3)
        ]

    def path(self, places: Sequence[tuple[float, float]]) -> list[list[Point]]:
        """Return the seen parts of a line through places on the dome."""
        parts: list[list[Point]] = []
        now: list[Point] = []
        for azimuth, out in places:
            if self.facing(azimuth, out) > 0:
                now.append(self.at(azimuth, out))
            else:
                parts.append(now)
                now = []
        parts.append(now)
        return [p for p in parts if len(p) > 1]

    def places(self, spacing: float, seed: int = 0, least: float = 0.0, most: float = 1.0) -> list[tuple[float, float]]:
        """Return places strewn evenly over the seen skin, ``spacing`` units apart, as (azimuth, out)."""
        disc = spread(ellipse(0, 0, 1, 1), spacing / (self.radius * 1.25), seed)
        strewn = [(math.degrees(math.atan2(y, x)) % 360, math.hypot(x, y)) for x, y in disc]
        return [(a, r) for a, r in strewn if least <= r <= most and self.facing(a, r) > 0.06]

    def stipe(self, foot_y: float = 91.0, half_width: float = 7.5) -> list[list[Point]]:
        """Return the sides of the stipe below a dome that is seen from above."""
        x = self.x
        sides = [
            [(x - half_width, self.y + k) for k in range(int(foot_y - self.y) + 1)],
            [(x + half_width, self.y + k) for k in range(int(foot_y - self.y) + 1)],
            [(x - half_width + half_width * k / 15, foot_y + math.sin(k / 30 * math.pi) * 2) for k in range(31)],
        ]
        return [part for side in sides for part in outside(side, self.skin)]


def _unit(x: float, y: float, z: float) -> tuple[float, float, float]:
    length = math.sqrt(x * x + y * y + z * z)
    return (x / length, y / length, z / length)
