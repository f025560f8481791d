"""Heads cut from top to base: what is inside, and where head and stipe meet."""

from __future__ import annotations

from functools import partial

from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    Point,
    Points,
    fine,
    inside,
    level,
    main,
    mirrored,
    smooth,
    spread,
    straight,
    tint,
)

__all__ = ["DRAWINGS"]

# ---------------------------------------------------------------- what is inside head and stipe

_HEAD = level((48, 5), (34, 12), (25, 28), (25, 44), (32, 53), (37, 56))
_FOOT = smooth((37, 56), (38.5, 70), (35, 84), (36, 92))
_OUTER = [*_HEAD, *_FOOT, *mirrored([*_HEAD, *_FOOT])]


def _rough(points: Points, deep: float = 1.6) -> list[Point]:
    """Return the outline of a pitted head: bays between ridges, deeper than the smooth line."""
    out: list[Point] = []
    for k, (x, y) in enumerate(points):
        bay = deep * (1 - abs(k % 10 - 5) / 5) if k < len(points) - 5 else 0.0
        out.append((x + bay if x < 48 else x - bay, y + bay * 0.3))
    return out


def _section(rooms: list[list[Point]], pattern: str = "") -> str:
    """Draw head and stipe cut through; cut flesh is washed, rooms are bare."""
    left = [*_rough(_HEAD), *_FOOT]
    outer = [*left, *mirrored(left)]
    return tint([outer, *rooms], 0.28) + main([*mirrored(left), *left, (60, 92)]) + fine(rooms) + pattern


_HOLLOW_SIDE = level((48, 10), (38, 15), (31, 29), (31, 42), (37, 51), (42, 57), (42.5, 70), (40, 84), (41, 92))
_HOLLOW = [*_HOLLOW_SIDE, *mirrored(_HOLLOW_SIDE)]


def _one_hollow() -> str:
    return _section([_HOLLOW])


def _wisps(shape: Points, spacing: float) -> list[list[Point]]:
    curls: list[list[Point]] = []
    for k, (x, y) in enumerate(spread(shape, spacing, 2)):
        d = 1 if k % 2 else -1
        curls.append(smooth((x - 3, y + d), (x - 1, y - 1.6 * d), (x + 1, y + 1.4 * d), (x + 3, y - d)))
    return [p for c in curls for p in inside(c, shape)]


def _loose_cotton() -> str:
    """Draw a head that hangs free round a stipe full of cotton."""
    head = level((48, 5), (34, 12), (25, 28), (22, 46), (24, 53))
    lining = smooth((24, 53), (29, 50), (33, 30), (41, 17))
    stem = smooth((41, 17), (40, 40), (38, 70), (36, 92))
    shell = [*_rough(head), *lining, *mirrored([*_rough(head), *lining])]
    pith_side = smooth((44, 17), (43.5, 40), (42, 70), (40, 92))
    pith = [*pith_side, *mirrored(pith_side)]
    rind = [*stem[::-1], *pith_side]
    lines: list[list[Point]] = [_rough(head), lining, stem]
    return (
        tint([shell, rind, mirrored(rind)], 0.28)
        + main([*lines, *[mirrored(line) for line in lines], straight((36, 92), (60, 92))])
        + fine([pith_side, mirrored(pith_side), *_wisps(pith, 4.6)])
    )


def _chambered() -> str:
    rooms = [
        smooth((47, 11), (38, 16), (34, 26), (41, 30), (47, 24), closed=True),
        smooth((51, 12), (59, 16), (65, 28), (57, 29), (51, 22), closed=True),
        smooth((33, 31), (30, 40), (36, 48), (44, 46), (46, 36), (40, 35), closed=True),
        smooth((51, 30), (50, 42), (58, 49), (65, 42), (65, 33), (58, 34), closed=True),
        smooth((42, 53), (49, 47), (54, 54), (48, 60), closed=True),
        smooth((42, 61), (47, 65), (46, 76), (41, 74), closed=True),
        smooth((51, 63), (55, 62), (55, 72), (51, 74), closed=True),
        smooth((40, 80), (46, 81), (47, 90), (40, 89), closed=True),
        smooth((51, 79), (56, 78), (57, 88), (52, 90), closed=True),
    ]
    return _section(rooms)


# ---------------------------------------------------------------- where the head meets the stipe


def _joined(head: list[Point], lining: list[Point], stem: list[Point]) -> str:
    """Draw head and stipe cut through: the wall of the head is washed, its lining and the stipe are lines."""
    wall = [*_rough(head, 1.2), *lining]
    lines: list[list[Point]] = [_rough(head, 1.2), lining, stem]
    shell = [*wall, *mirrored(wall)]
    foot = smooth((34, 92), (48, 93.6), (62, 92))
    return tint(shell, 0.4) + main([*lines, *[mirrored(line) for line in lines], foot])


_SHELL = level((48, 5), (35, 10), (25, 26), (22, 44), (25, 56))


def _at_its_edge() -> str:
    wall = [*_SHELL, *smooth((25, 56), (28, 60.4), (34, 62.6), (38.4, 65))]
    lining = smooth((38.4, 65), (40, 58), (34, 51), (31, 41), (32, 28), (38, 17), (48, 12.6))
    return _joined(wall, lining, smooth((38.4, 65), (37.4, 78), (34, 92)))


def _half_way() -> str:
    lining = smooth((25, 56), (29.6, 56), (33, 47), (38, 39))
    above = smooth((38, 39), (35.4, 31), (36, 22), (41, 14.6), (48, 12.6))
    return _joined(list(_SHELL), [*lining, *above], smooth((38, 39), (38, 66), (34, 92)))


def _at_the_top() -> str:
    lining = smooth((25, 56), (29.6, 56), (32, 40), (35, 24), (41, 14.6))
    return _joined(list(_SHELL), [*lining, (48, 12.6)], smooth((41, 14.6), (40, 40), (38, 66), (34, 92)))


def _in_folds() -> str:
    """Draw a brain-like head whose folds touch the stipe here and there."""
    left = smooth((48, 10), (38, 5), (26, 10), (15, 24), (18, 38), (12, 48), (18, 60), (28, 60), (34, 54))
    lining = smooth((34, 54), (37, 50), (32, 44), (28, 36), (33, 31), (40, 32), (36, 26), (31, 20), (37, 14), (48, 18))
    stem = smooth((39.5, 32), (38, 44), (37, 50), (37, 70), (34, 92))
    folds = [smooth((26, 10), (30, 16), (28, 22)), smooth((18, 38), (24, 38), (27, 44)), smooth((15, 24), (22, 26))]
    shell = [*left, *lining]
    lines: list[list[Point]] = [left, lining, stem]
    return (
        tint([*shell, *mirrored(shell)], 0.4)
        + main([*lines, *[mirrored(line) for line in lines], smooth((34, 92), (48, 93.6), (62, 92))])
        + fine([*folds, *[mirrored(f) for f in folds]])
    )


DRAWINGS: Drawings = {
    "head_inside": {
        "one-hollow": _one_hollow,
        "loose-cotton": _loose_cotton,
        "chambered": _chambered,
        "solid": partial(_section, []),
    },
    "head_join": {
        "at-its-edge": _at_its_edge,
        "half-way": _half_way,
        "at-the-top": _at_the_top,
        "in-folds": _in_folds,
    },
}
