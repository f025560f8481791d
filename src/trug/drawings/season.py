"""The season as a ring: twelve months in a circle, so that a season over New Year is one piece."""

from __future__ import annotations

import math
from collections.abc import Sequence
from xml.sax.saxutils import escape

from trug.drawings.stroke import Point, fine, main, solid, straight

__all__ = ["season_ring"]

_OUTER = 35.0
_INNER = 25.0
#: Half the gap between two months that are not joined [degrees].
_GAP = 1.6


def season_ring(
    months: frozenset[int],
    some: frozenset[int] = frozenset(),
    today_month: int | None = None,
    label: str = "",
    initials: Sequence[str] = (),
) -> str:
    """Return a ring of twelve months, January at the top and on clockwise, as a standalone SVG.

    Parameters
    ----------
    months, some : frozenset of int
        Months (1 to 12) in which it mainly fruits: solid; and in which it also may: hatched, half as thick.
        A month in both counts as a main one. All others are a thin line.
    today_month : int or None
        Month that the pointer shows; None for no pointer.
    label : str
        What a screen reader says, in the language of the page; "" hides the ring from it.
    initials : sequence of str
        Twelve initials of the months, set outside the ring; empty for none.

    Raises
    ------
    ValueError
        Where a month is not 1 to 12 or the initials are neither twelve nor none.
    """
    for month in (*months, *some, *(() if today_month is None else (today_month,))):
        if not 1 <= month <= 12:
            raise ValueError(f"season_ring: a month must be 1 to 12, got {month!r}")
    if len(initials) not in (0, 12):
        raise ValueError(f"season_ring: 'initials' must be twelve or none, got {len(initials)}")
    parts: list[str] = []
    for month in range(1, 13):
        if month in months:
            parts.append(solid(_segment(month, months, _INNER, _OUTER)))
        elif month in some:
            parts.append(_perhaps(month, some - months))
        else:
            parts.append(fine(_arc(_OUTER - 5, *_span(month))))
    if today_month is not None:
        parts.append(_pointer(today_month))
    for month, initial in enumerate(initials, start=1):
        x, y = _at(41.8, _middle(month))
        parts.append(
            f'<text x="{x:.1f}" y="{y + 2.6:.1f}" font-family="sans-serif" font-size="7.5" text-anchor="middle" '
            f'fill="currentColor" stroke="none">{escape(initial)}</text>'
        )
    name = f'role="img"><title>{escape(label)}</title>' if label else 'aria-hidden="true">'
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 96 96" width="96" height="96" fill="none" '
        'stroke="currentColor" stroke-width="1.6" stroke-linecap="round" stroke-linejoin="round" '
        f"{name}{''.join(parts)}</svg>"
    )


def _middle(month: int) -> float:
    """Return the direction of the middle of a month [degrees clockwise from the top]."""
    return (month - 1) * 30.0


def _span(month: int) -> tuple[float, float]:
    return (_middle(month) - 15 + _GAP, _middle(month) + 15 - _GAP)


def _at(radius: float, degrees: float) -> Point:
    a = math.radians(degrees)
    return (48 + radius * math.sin(a), 48 - radius * math.cos(a))


def _arc(radius: float, start: float, end: float) -> list[Point]:
    n = 24
    return [_at(radius, start + (end - start) * k / n) for k in range(n + 1)]


def _segment(month: int, joined: frozenset[int], inner: float, outer: float) -> list[Point]:
    """Return a thick piece of the ring, grown together with neighbours of its own kind."""
    start, end = _span(month)
    if (month - 2) % 12 + 1 in joined:
        start = _middle(month) - 15.2
    if month % 12 + 1 in joined:
        end = _middle(month) + 15.2
    return _arc(outer, start, end) + _arc(inner, end, start)


def _perhaps(month: int, joined: frozenset[int]) -> str:
    """Ink a month of the second kind: half as thick, open and hatched towards the middle."""
    shape = _segment(month, joined, _INNER + 2.5, _OUTER - 2.5)
    start, end = _span(month)
    bars = [straight(_at(_INNER + 2.5, d), _at(_OUTER - 2.5, d + 4)) for d in _steps(start + 1, end - 4)]
    return fine([*bars, shape[: len(shape) // 2], shape[len(shape) // 2 :]])


def _steps(start: float, end: float) -> list[float]:
    n = 5
    return [start + (end - start) * k / n for k in range(n + 1)]


def _pointer(month: int) -> str:
    """Ink a small hand from the middle of the ring to this month."""
    d = _middle(month)
    return (
        main(straight((48, 48), _at(15, d)))
        + solid([_at(22, d), _at(14.5, d - 14), _at(14.5, d + 14)])
        + solid(_arc(2.2, 0, 360))
    )
