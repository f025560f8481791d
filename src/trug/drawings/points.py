"""A point of a drawing, and a line of them."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["Point", "Points"]

#: Across and down, from the upper left corner [units].
Point = tuple[float, float]
Points = Sequence[Point]
