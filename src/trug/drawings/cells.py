"""What the microscope shows beside spores: basidia, cystidia, hyphae and the cells of the cap skin."""

from __future__ import annotations

import math
from functools import partial

from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    Point,
    arc,
    balanced,
    ellipse,
    fine,
    main,
    mirrored,
    moved,
    outside,
    smooth,
    solid,
    spread,
    stacked,
    straight,
    tint,
    turned,
    united,
)

__all__ = ["DRAWINGS"]

# ---------------------------------------------------------------- basidia and asci


def _club(cx: float, top: float, half: float) -> list[Point]:
    """Return the outline of a club that rises from the bottom of the square, open below."""
    left = smooth(
        (cx - half * 0.45, 93), (cx - half * 0.55, 78), (cx - half, top + 16), (cx - half * 0.85, top + 4), (cx, top)
    )
    return [*left, *mirrored(left, cx)]


def _basidium(offsets: tuple[float, ...], behind: tuple[float, ...] = ()) -> str:
    """Draw a basidium with a spore on each stalk; those behind stand higher and are washed."""
    club = _club(48, 44, 16)
    stalks: list[list[Point]] = []
    front: list[list[Point]] = []
    back: list[list[Point]] = []
    for d in offsets:
        root = (48 + d * 0.42, 45.5 + abs(d) * 0.06)
        tip = (48 + d, 30)
        stalks += [smooth((root[0] - 1.8, root[1]), (tip[0] - 1, tip[1] + 6), (tip[0], tip[1])),
                   smooth((root[0] + 1.8, root[1]), (tip[0] + 1, tip[1] + 6), (tip[0], tip[1]))]  # fmt: skip
        front.append(turned(ellipse(tip[0], tip[1] - 9, 5.6, 9), d * 0.8, tip))
    for d in behind:
        tip = (48 + d, 24)
        back.append(turned(ellipse(tip[0], tip[1] - 8, 4.6, 8), d * 0.8, tip))
        stalks += outside(straight((48 + d * 0.5, 44), tip), *front, club)
    seen = [p for b in back for p in outside(b, *front)]
    grains = [ellipse(x, y, 0.9, 0.9) for x, y in ((44, 60), (52, 66), (47, 74), (51, 56), (45, 84))]
    return main([club, *front, *seen]) + fine([*stalks, *grains]) + tint(front, 0.12)


def _partitioned() -> str:
    """Draw three ways: cross-walls, lengthwise walls, and a fork."""
    rod = smooth((11, 92), (9, 70), (9, 40), (16, 32), (23, 40), (23, 70), (21, 92))
    walls = [straight((9, y), (23, y)) for y in (48, 62, 76)]
    arms = [smooth((23, y), (28, y - 4), (29, y - 8)) for y in (44, 57, 71)]
    buds = [ellipse(29, y - 12, 2.6, 4) for y in (44, 57, 71)]
    pear = smooth((46, 92), (44, 80), (38, 64), (40, 50), (49, 45), (58, 50), (60, 64), (54, 80), (52, 92))
    cross = [smooth((49, 45), (49, 62), (49, 78)), smooth((38.6, 60), (49, 64), (59.6, 60))]
    horns = [
        smooth((42, 49), (40, 38), (40, 28)),
        smooth((55, 49), (58, 38), (58, 28)),
        smooth((49, 45), (49, 36), (49, 24)),
    ]
    tips = [ellipse(40, 23, 2.6, 4.4), ellipse(58, 23, 2.6, 4.4), ellipse(49, 19, 2.6, 4.4)]
    fork_out = smooth((76, 92), (76, 66), (71, 52), (68, 30), (70, 22), (74, 24), (76, 36), (80, 52))
    fork = [*fork_out, *mirrored(fork_out, 80)]
    ends = [ellipse(70, 13, 3, 5), ellipse(90, 13, 3, 5)]
    stalk = [straight((70.4, 22), (70, 18)), straight((89.6, 22), (90, 18))]
    return main([rod, pear, fork, *walls, *cross]) + fine([*arms, *buds, *horns, *tips, *stalk, *ends])


def _asci() -> str:
    left = smooth((41, 93), (38, 78), (36, 50), (37, 18), (41, 8), (48, 6))
    tube = [*left, *mirrored(left)]
    spores = [turned(ellipse(48, 16 + k * 9.2, 7.4, 3.9), -24, (48, 16 + k * 9.2)) for k in range(8)]
    threads = [smooth((24, 93), (23, 60), (25, 30), (22, 14)), smooth((72, 93), (74, 60), (71, 30), (75, 14))]
    wide = [moved(t, 4, 0) for t in threads]
    caps = [arc(24, 14, 2.1, 2.4, 180, 360), arc(77, 14, 2.1, 2.4, 180, 360)]
    return main([tube, *spores]) + fine([*threads, *wide, *caps]) + tint(spores, 0.14)


# ---------------------------------------------------------------- cystidia on the face of a gill


def _palisade(gaps: tuple[tuple[float, float], ...] = ()) -> str:
    """Draw the layer of basidia on a gill face, leaving gaps for what stands between them."""
    lines: list[list[Point]] = []
    for k in range(12):
        x = 7.5 + k * 7.4
        if any(low < x < high for low, high in gaps):
            continue
        left = smooth((x - 1.8, 92), (x - 2.2, 80), (x - 3.3, 71), (x - 2, 66), (x, 65.4))
        lines.append([*left, *mirrored(left, x)])
    return fine([*lines, straight((3, 92), (93, 92))])


_BOTTLE = ((-5, 92), (-7, 80), (-10, 62), (-7, 46), (-3.6, 34), (-3.6, 22), (-2.6, 16), (0, 15))
_LANCE = ((-3, 92), (-6, 80), (-10, 60), (-9.5, 44), (-6, 28), (-2.5, 17), (0, 13))
_CLUB = ((-3.5, 92), (-5, 80), (-8, 64), (-12, 46), (-12, 32), (-8, 23), (0, 19))


def _cell(half: tuple[Point, ...], cx: float, base_y: float = 92, size: float = 1.0) -> list[Point]:
    """Return the outline of a cell about its middle line, open at its base."""
    return balanced(*((cx + x * size, base_y + (y - 92) * size) for x, y in half), x=cx)


#: What is hollow in a thick-walled cell.
_HOLLOW = ((-1.2, 92), (-2.6, 80), (-5, 62), (-4.6, 47), (-2.4, 36), (0, 31))
_GAP = ((36.0, 60.0),)


def _face_thin() -> str:
    return _palisade(_GAP) + fine(_cell(_BOTTLE, 48)) + tint(_cell(_BOTTLE, 48), 0.06)


def _thick(cx: float = 48, base_y: float = 92, size: float = 1.0) -> str:
    cell = _cell(_LANCE, cx, base_y, size)
    inner = _cell(_HOLLOW, cx, base_y, size)
    return tint([cell, inner], 0.5) + main(cell) + fine(inner)


def _crystals(cx: float = 48, top_y: float = 13, size: float = 1.0) -> str:
    """Draw a head of crystals on the tip of a thick-walled cell."""
    grains: list[list[Point]] = []
    for k, (dx, dy) in enumerate(
        ((0, -3), (-4, 0), (4, 0), (-6.5, 5), (6.5, 5), (-2, 3), (2.6, 5), (-8, 11), (8, 11), (-4, 9), (4, 12), (0, 10))
    ):
        x, y, r = cx + dx * size, top_y + dy * size, (2.5 + (k % 3) * 0.4) * size
        grains.append(
            turned(straight((x - r, y + r * 0.8), (x, y - r), (x + r, y + r * 0.7), closed=True), k * 40, (x, y))
        )
    return tint(grains, 0.45) + fine(stacked(grains))


def _face_crystals() -> str:
    return _palisade(_GAP) + _thick() + _crystals()


def _face_plain() -> str:
    tip = [smooth((44, 24), (40, 20), (36, 22)), smooth((52, 24), (56, 20), (60, 22)),
           smooth((46, 17), (43, 11), (38, 11)), smooth((50, 17), (53, 11), (58, 11))]  # fmt: skip
    return _palisade(_GAP) + _thick() + main(tip)


def _face_yellow() -> str:
    cell = _cell(((*_CLUB[:-1], (-3, 20.5), (-2, 15), (0, 13))), 48)
    body = smooth((48, 27), (41, 34), (42, 46), (38, 54), (45, 63), (53, 60), (57, 50), (54, 42), (57, 33), closed=True)
    return _palisade(_GAP) + fine(cell) + solid(body)


# ---------------------------------------------------------------- cystidia on the edge of a gill

#: Middle of the rounded edge, and its radius [units].
_EDGE: Point = (48, 96)
_EDGE_RADIUS = 30.0


def _gill_edge(cells: str) -> str:
    """Draw the edge of a gill, pointing up, with what stands on it."""
    rim = arc(*_EDGE, _EDGE_RADIUS, _EDGE_RADIUS, 186, 354)
    core = arc(*_EDGE, 13, 15, 190, 350)
    return main(rim) + fine(core, dash="3 3") + cells


def _on_edge(outlines: dict[float, list[Point]]) -> list[list[Point]]:
    """Return cells, made upright on top of the edge, turned along it by degrees."""
    return [turned(shape, angle, _EDGE) for angle, shape in outlines.items()]


def _small_basidia(angles: list[float]) -> list[list[Point]]:
    return _on_edge({a: _cell(((-1.5, 92), (-2.4, 86), (-2.8, 81), (0, 78)), 48, 66) for a in angles})


def _edge_absent() -> str:
    return _gill_edge(fine(_small_basidia([-66 + 12 * k for k in range(12)])))


def _edge_thin() -> str:
    shapes = {
        -38.0: _cell(_CLUB, 48, 66, 0.52),
        -19.0: _cell(_BOTTLE, 48, 66, 0.56),
        0.0: _cell(_LANCE, 48, 66, 0.58),
        19.0: _cell(_BOTTLE, 48, 66, 0.56),
        38.0: _cell(_CLUB, 48, 66, 0.52),
    }
    outlines = _on_edge(shapes)
    basidia = [p for b in _small_basidia([-66, -54, -28, -9.5, 9.5, 28, 54, 66]) for p in outside(b, *outlines)]
    return _gill_edge(fine([*stacked(outlines), *basidia]) + tint(outlines, 0.1))


def _edge_crystals() -> str:
    outlines, hollows, grains = {}, {}, []
    for angle in (-33.0, -11.0, 11.0, 33.0):
        outlines[angle] = _cell(_LANCE, 48, 66, 0.62)
        hollows[angle] = _cell(_HOLLOW, 48, 66, 0.62)
        for k, (dx, dy) in enumerate(((0, 17), (-3, 19), (3, 19), (-4, 23), (4, 23), (0, 22))):
            x, y = 48 + dx, dy
            shard = turned(straight((x - 2.2, y + 1.6), (x, y - 2.2), (x + 2.2, y + 1.6), closed=True), k * 50, (x, y))
            grains.append(turned(shard, angle, _EDGE))
    cells, rooms = _on_edge(outlines), _on_edge(hollows)
    walls = "".join(tint([cell, room], 0.5) for cell, room in zip(cells, rooms, strict=True))
    basidia = [p for b in _small_basidia([-66, -54, -22, 0, 22, 54, 66]) for p in outside(b, *cells)]
    seen = [p for cell in cells for p in outside(cell, *grains)]
    return _gill_edge(walls + main(seen) + fine([*rooms, *basidia, *stacked(grains)]) + tint(grains, 0.45))


def _edge_balloon() -> str:
    rows = [
        turned(ellipse(48, _EDGE[1] - radius, half, half), angle, _EDGE)
        for angle in (-40, -20, 0, 20, 40)
        for radius, half in ((35, 4.2), (46.4, 5.8), (60.2, 6.9))
    ]
    return _gill_edge(main(rows) + tint(rows, 0.1) + fine(_small_basidia([-64, 64])))


# ---------------------------------------------------------------- hyphae


def _tube(line: list[Point], half: float) -> list[list[Point]]:
    """Return both walls of a hypha about its middle line."""
    left: list[Point] = []
    right: list[Point] = []
    for k, (x, y) in enumerate(line):
        (ax, ay), (bx, by) = line[max(k - 1, 0)], line[min(k + 1, len(line) - 1)]
        length = math.hypot(bx - ax, by - ay) or 1.0
        nx, ny = -(by - ay) / length * half, (bx - ax) / length * half
        left.append((x + nx, y + ny))
        right.append((x - nx, y - ny))
    return [left, right]


def _clamps(present: bool) -> str:
    """Draw two hyphae with cross-walls; a clamp is the small loop that bridges a wall."""
    lines = [straight((4, y), (92, y)) for y in (22, 40, 62, 80)]
    walls = [straight((x, top), (x, top + 18)) for x, top in ((48, 22), (26, 62), (72, 62))]
    if not present:
        return main([*lines, *walls])
    bows: list[list[Point]] = []
    holes: list[list[Point]] = []
    for x, y, up in _CLAMPS:
        bow = ((-16, 0), (-11, 1), (-8, 5), (-4, 9.6), (1, 11), (6, 9.4), (9, 5), (11, 1), (15, 0))
        bows.append(smooth(*((x + dx, y + dy * up) for dx, dy in bow)))
        hole = ((-5, 0), (-4, 3), (-0.6, 5), (3.4, 3.8), (5, 0))
        holes.append(smooth(*((x + dx, y + dy * up) for dx, dy in hole)))
        walls.append(straight((x + 3.2, y + 4 * up), (x + 6.4, y + 9.2 * up)))
        walls.append(straight((x - 5, y), (x + 5, y)))
    bridged = [[(x - 16, y - 3), (x + 15, y - 3), (x + 15, y + 3), (x - 16, y + 3)] for x, y, _ in _CLAMPS]
    cut = [p for line in lines for p in outside(line, *bridged)]
    return main([*cut, *bows, *walls]) + fine(holes)


#: Where clamps bridge a cross-wall: across, down, and -1 where they stand above the hypha.
_CLAMPS = ((48.0, 22.0, -1), (26.0, 80.0, 1), (72.0, 62.0, -1))


_THIN = (
    smooth((2, 18), (30, 24), (60, 14), (94, 22)),
    smooth((2, 44), (34, 40), (62, 52), (94, 46)),
    smooth((2, 76), (28, 70), (60, 82), (94, 74)),
    smooth((24, 2), (32, 30), (26, 60), (36, 94)),
    smooth((70, 2), (62, 34), (72, 62), (64, 94)),
)


def _weave(tubes: list[tuple[list[Point], float]]) -> list[list[list[Point]]]:
    """Return the walls of tubes laid over each other, the first on top."""
    shapes: list[list[Point]] = []
    out = []
    for line, half in tubes:
        walls = _tube(line, half)
        out.append([p for w in walls for p in outside(w, *shapes)])
        shapes.append([*walls[0], *walls[1][::-1]])
    return out


def _septa(line: list[Point], half: float, shares: tuple[float, ...]) -> list[list[Point]]:
    walls = _tube(line, half)
    return [straight(walls[0][int(s * (len(line) - 1))], walls[1][int(s * (len(line) - 1))]) for s in shares]


def _one_kind() -> str:
    woven = _weave([(line, 4.2) for line in _THIN])
    septa = [
        s
        for line, shares in zip(_THIN[:2], ((0.2, 0.5, 0.85), (0.15, 0.55, 0.9)), strict=True)
        for s in _septa(line, 4.2, shares)
    ]
    return fine([p for walls in woven for p in walls] + septa)


def _thick_hypha(line: list[Point], half: float = 4.6) -> tuple[str, list[Point]]:
    walls = _tube(line, half)
    bore = _tube(line, half * 0.28)
    wall = [*walls[0], *walls[1][::-1]]
    hollow = [*bore[0], *bore[1][::-1]]
    return tint([wall, hollow], 0.45) + main(walls), wall


def _two_kinds() -> str:
    drawn = [_thick_hypha(line) for line in (_THIN[0], _THIN[2])]
    return "".join(ink for ink, _ in drawn) + _thin_hyphae(
        [_THIN[1], _THIN[3], _THIN[4]], [shape for _, shape in drawn]
    )


def _thin_hyphae(lines: list[list[Point]], front: list[list[Point]]) -> str:
    """Draw thin-walled hyphae with cross-walls, each behind the one before and all behind what stands in front."""
    shapes = list(front)
    ink: list[list[Point]] = []
    for line in lines:
        walls = _tube(line, 3)
        for part in (*walls, *_septa(line, 3, (0.16, 0.5, 0.86))):
            ink += outside(part, *shapes)
        shapes.append([*walls[0], *walls[1][::-1]])
    return fine(ink)


def _three_kinds() -> str:
    """Draw thin hyphae, thick ones, and over both the much-branched binding ones with a thick wall."""
    twigs = [
        smooth((10, 48), (20, 42), (30, 50), (42, 44), (52, 52), (62, 46), (74, 52)),
        smooth((20, 42), (16, 30), (24, 16)),
        smooth((30, 50), (27, 60), (34, 70), (30, 84)), smooth((42, 44), (46, 34), (42, 24), (48, 10)),
        smooth((27, 60), (18, 62), (12, 72)), smooth((52, 52), (50, 62), (56, 72), (52, 84)),
        smooth((46, 34), (56, 32), (62, 26)), smooth((50, 62), (42, 64), (39, 58)), smooth((62, 46), (66, 38)),
        smooth((16, 30), (9, 30)),
    ]  # fmt: skip
    thick = [_thick_hypha(line) for line in (_THIN[2], _THIN[0])]
    front = [shape for _, shape in thick]
    binding = [_rounded(line, 1.9) for line in twigs]
    shown = [p for line in united(binding) for p in outside(line, *front)]
    return "".join(ink for ink, _ in thick) + main(shown) + _thin_hyphae([_THIN[4]], [*front, *binding])


def _rounded(line: list[Point], half: float) -> list[Point]:
    """Return the outline of a hypha with round ends."""
    left, right = _tube(line, half)
    (x0, y0), (x1, y1) = line[0], line[-1]
    start = math.degrees(math.atan2(right[0][1] - y0, right[0][0] - x0))
    end = math.degrees(math.atan2(left[-1][1] - y1, left[-1][0] - x1))
    return [*left, *arc(x1, y1, half, half, end, end - 180), *right[::-1], *arc(x0, y0, half, half, start, start - 180)]


def _round_nests() -> str:
    nest = smooth((28, 28), (44, 18), (66, 26), (76, 46), (68, 68), (46, 76), (26, 66), (18, 46), closed=True)
    centres = spread(nest, 15, 2)
    discs: list[list[Point]] = []
    for k, (x, y) in enumerate(centres):
        discs.append(ellipse(x, y, 7.2 + (k % 3) * 0.6, 7 + (k % 2)))
    lines = [
        p for line in (_THIN[0], _THIN[2], _THIN[3], _THIN[4]) for w in _tube(line, 2.6) for p in outside(w, *discs)
    ]
    return main(discs) + tint(discs, 0.1) + fine(lines)


# ---------------------------------------------------------------- cells of the cap skin, cut straight down


def _skin(upper: str) -> str:
    """Draw the same flesh of loose threads below every skin."""
    threads = [
        smooth((4, 74), (24, 80), (48, 73), (72, 80), (92, 74)),
        smooth((4, 86), (22, 80), (46, 88), (70, 82), (92, 88)),
        smooth((10, 93), (30, 76), (40, 70)), smooth((46, 93), (60, 80), (84, 71)),
        smooth((66, 93), (76, 86), (92, 80)),
        smooth((4, 80), (16, 72), (30, 71)),
    ]  # fmt: skip
    return fine(threads) + upper


_LYING = tuple(
    smooth((3, y + a), (24, y - a), (48, y + a * 0.6), (72, y - a), (93, y + a * 0.4))
    for y, a in ((60, 1.5), (51, -1.6), (42, 1.4))
)


def _threads() -> str:
    lines = [w for line in (*_LYING, moved(_LYING[1], 0, -18)) for w in _tube(line, 3.6)]
    septa = [
        s
        for k, line in enumerate((*_LYING, moved(_LYING[1], 0, -18)))
        for s in _septa(line, 3.6, (0.18 + k * 0.05, 0.55 + k * 0.04, 0.86))
    ]
    return _skin(main([*lines, *septa]))


def _jelly_threads() -> str:
    paths = [
        smooth((3, 60), (30, 56), (60, 62), (93, 58)), smooth((3, 46), (26, 50), (54, 42), (93, 48)),
        smooth((8, 30), (36, 35), (64, 27), (90, 33)), smooth((20, 66), (30, 44), (50, 30)),
        smooth((58, 64), (70, 46), (86, 24)),
    ]  # fmt: skip
    lines = [w for p in paths for w in _tube(p, 1.5)]
    jelly = [*smooth((3, 16), (26, 12), (50, 16), (74, 12), (93, 16)), (93, 68), (3, 68)]
    top = smooth((3, 16), (26, 12), (50, 16), (74, 12), (93, 16))
    bubbles = [ellipse(x, y, 1.5, 1.5) for x, y in ((16, 24), (40, 22), (66, 20), (82, 40), (14, 40), (50, 52))]
    return _skin(fine([*lines, *bubbles]) + tint(jelly, 0.16) + main(top))


def _upright_threads() -> str:
    cells: list[list[Point]] = []
    for k in range(10):
        x, lean, top = 8 + k * 9, (k % 3 - 1) * 3, 18 + (k * 7) % 11
        left = smooth((x - 2.6, 68), (x - 2.4 + lean * 0.3, 48), (x - 2.2 + lean, top + 4), (x + lean, top))
        right = smooth((x + lean, top), (x + 2.2 + lean, top + 4), (x + 2.4 + lean * 0.3, 48), (x + 2.6, 68))
        cells.append([*left, *right])
    septa = [straight((8 + k * 9 - 2.4, 50 + k % 3 * 4), (8 + k * 9 + 2.4, 50 + k % 3 * 4)) for k in range(10)]
    return _skin(main(cells) + fine(septa))


def _round_cells() -> str:
    """Draw a palisade of cells with round heads."""
    heads: list[list[Point]] = []
    for k in range(7):
        x = 9 + k * 13
        heads.append(balanced((x - 2.2, 68), (x - 2.6, 61), (x - 5.6, 53), (x - 6, 45), (x - 3.6, 39.4), (x, 38), x=x))
    return _skin(main(heads) + tint(heads, 0.1))


def _sphere_chains() -> str:
    balls: list[list[Point]] = []
    for k in range(5):
        x, y = 13 + k * 17.5, 62.0
        for j, r in enumerate((5.4, 6.2, 6.6, 6.0)[: 4 if k % 2 else 3]):
            balls.append(ellipse(x + (j % 2) * 2 * (1 if k % 2 else -1), y - r, r, r))
            y -= 2 * r
    return _skin(main(balls) + tint(balls, 0.1))


DRAWINGS: Drawings = {
    "spore_bearing": {
        "four-spored": partial(_basidium, (-19.0, 19.0), (-7.0, 7.0)),
        "two-spored": partial(_basidium, (-13.0, 13.0)),
        "partitioned": _partitioned,
        "many-spored": partial(_basidium, (-28.0, -10.0, 10.0, 28.0), (-19.0, 0.0, 19.0)),
        "asci": _asci,
    },
    "face_cystidia": {
        "absent": _palisade,
        "thin": _face_thin,
        "thick-crystals": _face_crystals,
        "thick-plain": _face_plain,
        "yellow-content": _face_yellow,
    },
    "edge_cystidia": {
        "absent": _edge_absent,
        "thin": _edge_thin,
        "thick-crystals": _edge_crystals,
        "balloon": _edge_balloon,
    },
    "clamps": {"absent": partial(_clamps, False), "present": partial(_clamps, True)},
    "hyphae": {"one": _one_kind, "two": _two_kinds, "three": _three_kinds, "round-cells": _round_nests},
    "cap_skin_cells": {
        "threads": _threads,
        "jelly-threads": _jelly_threads,
        "upright-threads": _upright_threads,
        "round-cells": _round_cells,
        "spheres-in-chains": _sphere_chains,
    },
}
