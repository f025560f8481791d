"""The bark of a trunk, on a piece of it with the upper end cut."""

from __future__ import annotations

import math

from trug.drawings.landscape import Shape
from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    Points,
    arc,
    ellipse,
    fine,
    inside,
    main,
    mirrored,
    outside,
    smooth,
    solid,
    straight,
    tint,
    turned,
    without,
)

__all__ = ["DRAWINGS"]

_LEFT, _RIGHT, _TOP, _LOW = 18.0, 78.0, 15.0, 93.0
_END = ellipse(48, _TOP, 30, 9)
_FRONT = [*arc(48, _TOP, 30, 9, 180, 0), (_RIGHT, _LOW), (_LEFT, _LOW)]


def _trunk(pattern: str, sides: list[Shape] | None = None, end: Points = _END) -> str:
    """Draw a piece of trunk; ``sides`` replaces its straight outline."""
    edges = sides or [straight((_LEFT, _TOP), (_LEFT, _LOW)), straight((_RIGHT, _TOP), (_RIGHT, _LOW))]
    rings = [ellipse(48, _TOP, 19, 5.4), ellipse(48, _TOP, 9, 2.4)]
    return main([end, *edges]) + fine(rings) + pattern


def _on_bark(lines: list[Shape]) -> list[Shape]:
    return [p for line in lines for p in inside(line, _FRONT)]


def _bark_smooth() -> str:
    marks = [arc(48, 30, 26, 6, 30, 50), arc(48, 62, 26, 6, 115, 140), arc(48, 80, 26, 6, 40, 55)]
    return _trunk(fine(marks))


def _bark_fluted() -> str:
    """Draw a trunk with muscles: the cut end itself is lobed."""
    end = [
        (48 + (29 + 3.5 * math.cos(7 * a)) * math.sin(a), _TOP - (8.4 + 1.6 * math.cos(7 * a)) * math.cos(a))
        for a in (math.radians(k) for k in range(361))
    ]
    hollows = [
        smooth((48 + d, 22.5 - abs(d) * 0.1), (48 + d * 0.85, 48), (48 + d * 1.05, 72), (48 + d * 0.95, _LOW))
        for d in (-22.5, -8, 8, 22.5)
    ]
    shade = [[*h, *reversed([(x + 4, y) for x, y in h])] for h in hollows]
    left = smooth(min(end), (19, 34), (15, 56), (19, 76), (16, _LOW))
    return _trunk(main(hollows) + tint(shade, 0.2), [left, mirrored(left)], end)


def _bark_lenticels() -> str:
    dashes: list[Shape] = []
    for j in range(7):
        for start, end in ((18, 40), (54, 78), (96, 116), (134, 160)):
            shift = (j * 13) % 16 - 8
            dashes.append(arc(48, 22 + j * 10, 29, 9, start + shift, end + shift))
    return _trunk(main([p for d in dashes for p in _on_bark([d])]))


def _bark_papery() -> str:
    sheets: list[str] = []
    for x0, x1, y in ((24, 54, 34), (42, 72, 54), (22, 52, 74)):
        edge = smooth((x0, y), ((x0 + x1) / 2, y + 4), (x1, y))
        curl = smooth((x1, y), (x1 + 5, y + 2), (x1 + 6, y + 8), (x1, y + 11), (x1 - 4, y + 8), (x1 - 1, y + 5))
        low = smooth((x1, y + 11), ((x0 + x1) / 2, y + 14), (x0, y + 9))
        sheets.append(main([edge, curl, low]) + tint([*edge, *curl[: len(curl) * 6 // 10], *low], 0.14))
    return _trunk("".join(sheets) + fine([arc(48, 26, 28, 8, 30, 60), arc(48, 84, 29, 8, 40, 60)]))


def _bark_black_marks() -> str:
    """Draw a white trunk: black scars across, black chevrons, and a black rough foot."""
    scars = [
        [*arc(x, y, wide, 2.2, 180, 0), *arc(x, y, wide, 0.6, 0, 180)]
        for x, y, wide in ((30, 31, 7), (62, 36, 9), (27, 47, 5), (68, 57, 6), (36, 63, 8), (58, 72, 5))
    ]
    chevrons = [
        straight((x - 9 * s, y + 7 * s), (x, y), (x + 9 * s, y + 7 * s), (x, y + 3.4 * s), closed=True)
        for x, y, s in ((46, 46, 1.0), (65, 44, 0.6))
    ]
    teeth = (
        (23, 84),
        (26, 78),
        (31, 87),
        (36, 80),
        (41, 88),
        (47, 82),
        (52, 89),
        (57, 81),
        (62, 87),
        (67, 78),
        (72, 85),
    )
    foot = straight((_LEFT, 75), *teeth, (_RIGHT, 74), (_RIGHT, _LOW), (_LEFT, _LOW), closed=True)
    return _trunk(solid([*scars, *chevrons, foot]))


def _bark_flaking() -> str:
    """Draw smooth dark patches; the thin sheets that came off two of them hang rolled up, and a flake falls."""
    patches = [
        smooth(
            (23, 38), (31, 31.5), (40, 34), (50, 33.6), (53, 41), (51, 49), (50, 54), (27, 54), (24, 46), closed=True
        ),
        smooth((60, 31), (67, 29), (74, 30), (75.4, 38), (73.6, 49), (60, 47), (59, 40), closed=True),
        smooth((25, 80), (31, 73), (40, 77), (47, 75), (52, 81), (48, 88), (39, 90), (29, 89), closed=True),
        smooth((61, 71), (69, 67.4), (74.6, 72), (72, 82), (74, 88), (66, 90), (60.6, 84), closed=True),
    ]
    sheets, rolls, ends = [], [], []
    for x0, x1, y, drop, turn in ((27.4, 49, 52, 9, -5), (60.4, 71, 45.6, 9, 9)):
        low, at = y + drop, ((x0 + x1) / 2, y)
        sheet = straight((x0, y), (x0 - 0.6, low), (x1 + 0.6, low), (x1, y), closed=True)
        roll = [*arc(x0 - 1.6, low, 1.8, 3, 90, 270), *arc(x1 + 1.6, low, 1.8, 3, 270, 450)]
        sheets.append(turned(sheet, turn, at))
        rolls.append(turned(roll, turn, at))
        ends.append(turned(ellipse(x1 + 1.6, low, 1.8, 3), turn, at))
    hanging = [*rolls, *ends, *sheets]
    bare = [q for patch, sheet in zip(patches, [*sheets, [], []], strict=True)
            for q in (without(patch, sheet) if sheet else [patch])]  # fmt: skip
    edges = [q for patch in patches for q in outside(patch, *hanging)]
    outlines = [q for sheet in sheets for q in outside(sheet, *rolls, *ends)]
    falling = smooth((82.6, 71), (88, 69.6), (94, 70.6), (95, 76), (91, 80.4), (85, 79), closed=True)
    bend = smooth((84, 75.4), (88, 76.6), (91.4, 80))
    sides = [p for x in (_LEFT, _RIGHT) for p in outside(straight((x, _TOP), (x, _LOW)), *hanging)]
    body = tint(bare, 0.5) + tint(sheets, 0.08)
    return _trunk(body + main([*outlines, *([*r, r[0]] for r in rolls), falling]) + fine([*edges, *ends, bend]), sides)


def _bark_scaly() -> str:
    scales: list[Shape] = []
    for j in range(8):
        for i in range(7):
            x, y = 20 + i * 9 + (j % 2) * 4.5, 29 + j * 8 + (i * 5) % 3
            scales.append(
                smooth((x - 3.6, y - 3), (x - 3, y + 1.6), (x, y + 3), (x + 3.2, y + 1.2), (x + 3.4, y - 2.6))
            )
    return _trunk(fine([s for s in scales if all(_LEFT < x < _RIGHT for x, _ in s)]))


def _bark_plated() -> str:
    plates = [
        straight((21, 27), (34, 29), (36, 44), (29, 50), (21, 46), closed=True),
        straight((39, 30), (56, 30), (59, 46), (50, 54), (40, 46), closed=True),
        straight((61, 29), (75, 26), (75, 48), (64, 46), closed=True),
        straight((21, 51), (30, 55), (36, 51), (45, 57), (42, 72), (30, 75), (21, 70), closed=True),
        straight((49, 59), (62, 51), (75, 53), (75, 72), (60, 75), (47, 72), closed=True),
        straight((21, 76), (30, 80), (40, 77), (44, 90), (21, 90), closed=True),
        straight((46, 77), (60, 80), (75, 77), (75, 90), (49, 90), closed=True),
    ]
    return _trunk(main(plates) + tint([_FRONT, *plates], 0.6))


def _bark_blocks() -> str:
    blocks: list[Shape] = []
    for j in range(7):
        for i in range(6):
            x, y = 20 + i * 9.7, 26.5 + j * 9.6
            shift = (j * 3 + i * 2) % 3 - 1
            drop = -4 * (abs(i - 2.5) / 2.5) ** 2 if j == 0 else 0
            blocks.append(
                straight(
                    (x, y + shift + drop),
                    (x + 7.4, y + drop),
                    (x + 7, y + 7.4),
                    (x + 0.4, y + 7 + shift * 0.4),
                    closed=True,
                )
            )
    return _trunk(tint([_FRONT, *blocks], 0.75) + fine(blocks))


def _bark_deep() -> str:
    furrows: list[Shape] = []
    for k, x in enumerate((25.5, 34.5, 43.5, 52.5, 61.5, 70.5)):
        w = 2.4 + (k % 2)
        top = _rim_y(x) + 2
        a = smooth((x, top), (x - 2.4, 40), (x + 2.2, 58), (x - 1.6, 76), (x, _LOW))
        b = smooth((x, _LOW), (x - 1 + w, 76), (x + 2.2 + w, 58), (x - 2.4 + w, 40), (x, top))
        furrows.append([*a, *b])
    left = smooth((18, 15), (19.4, 28), (17, 44), (19.6, 62), (17.4, 78), (19, _LOW))
    right = [(x + 60, y) for x, y in left]
    return _trunk(solid(furrows), [left, [*right[:-1], (_RIGHT, _LOW)]])


def _bark_diamonds() -> str:
    """Draw white ridges that part and meet; the long diamonds between them are in shadow."""
    gaps: list[Shape] = []
    for j in range(-1, 6):
        for i in range(5):
            x, y = 25.5 + i * 15 - (j % 2) * 7.5, 24 + j * 16
            right = smooth((x, y - 12.6), (x + 2.8, y - 6), (x + 4.8, y), (x + 2.8, y + 6), (x, y + 12.6))
            gaps.append([*right, *mirrored(right, x)])
    held = [[(min(max(x, _LEFT), _RIGHT), min(max(y, _rim_y(x) + 1.4), _LOW)) for x, y in g] for g in gaps]
    seen = [g for g in held if max(y for _, y in g) - min(y for _, y in g) > 5]
    return _trunk(tint(seen, 0.8) + fine(seen))


def _rim_y(x: float) -> float:
    """Return how low the near rim of the cut end lies [units]."""
    return _TOP + 9 * math.sqrt(max(0.0, 1 - ((min(max(x, _LEFT), _RIGHT) - 48) / 30) ** 2))


def _bark_spiral() -> str:
    ridges: list[Shape] = []
    for k in range(-1, 9):
        y = 10 + k * 14
        ridges.append(smooth((18, y + 26), (34, y + 20), (52, y + 8), (66, y - 4), (78, y - 16)))
        ridges.append(smooth((18, y + 29.6), (36, y + 23), (54, y + 11), (66, y), (78, y - 12.6)))
    bands = [[*ridges[k], *ridges[k + 1][::-1]] for k in range(0, len(ridges), 2)]
    held = [[(x, min(max(y, _rim_y(x)), _LOW)) for x, y in b] for b in bands]
    return _trunk(tint(held, 0.5) + main(_on_bark(ridges)))


def _bark_pitted() -> str:
    middles = (
        (30, 34), (46, 38), (64, 34), (38, 50), (56, 52), (70, 54),
        (28, 60), (46, 66), (62, 70), (34, 78), (52, 82), (70, 84),
    )  # fmt: skip
    pits = [straight((x, y - 4), (x + 3.4, y), (x, y + 4), (x - 3.4, y), closed=True) for x, y in middles]
    return _trunk(solid(pits))


def _bark_corky() -> str:
    """Draw thick bark, cut through at the top, with deep black furrows and a thumb that sinks into its side."""
    end = [
        (48 + (28.5 + 2.6 * math.cos(11 * a)) * math.sin(a), _TOP - (9 + 1.2 * math.cos(11 * a)) * math.cos(a))
        for a in (math.radians(k) for k in range(361))
    ]
    wood = ellipse(48, _TOP, 17, 4.6)
    thumb = smooth((95, 45), (84, 44), (72, 46), (64, 51), (63, 57), (69, 62), (80, 64), (95, 64))
    nail = smooth((71, 50), (66, 52.4), (66, 56.4), (71, 58))
    furrows: list[Shape] = []
    for x, w, bend in ((25, 1.8, 0.2), (35, 2.2, 1.5), (45, 2.2, 4.0), (54, 2.0, 7.5)):
        top = _rim_y(x) + 1
        a = smooth((x, top), (x - w, 36), (x - w - bend, 55), (x - w, 74), (x, _LOW))
        b = smooth((x, _LOW), (x + w, 74), (x + w - bend, 55), (x + w, 36), (x, top))
        furrows.append([*a, *b])
    furrows += [
        [*smooth((64, 24), (62, 32), (65, 42)), *smooth((65, 42), (67, 32), (64, 24))],
        [*smooth((65, 68), (62, 80), (64, 93)), *smooth((64, 93), (67.5, 80), (65, 68))],
    ]
    left = smooth(min(end), (20, 30), (17, 48), (19.5, 70), (18, _LOW))
    right = [
        smooth(max(end), (77, 30), (82, 37), (80, 43), (72, 46)),
        smooth((69, 62), (80, 65.5), (82.5, 71), (77, 80), (78, _LOW)),
    ]
    pressed = smooth((64, 45), (58.5, 51), (58.5, 58), (64, 64))
    return (
        main([end, left, *right, thumb])
        + tint([end, wood], 0.16)
        + fine([wood, ellipse(48, _TOP, 8, 2), nail, pressed])
        + solid(furrows)
    )


def _bark_stringy() -> str:
    lines: list[Shape] = []
    for k in range(17):
        x = 20.5 + k * 3.45
        top = 24 - abs(x - 48) * 0.2 + (k * 7) % 5
        lines.append(smooth((x, top), (x + (k % 3 - 1), 44), (x - (k % 2), 66), (x + (k % 3 - 1), 92 - (k * 5) % 9)))
    strips = [
        smooth((60, 40), (64, 56), (76, 66), (88, 64), (92, 58)),
        smooth((57, 40), (61, 59), (75, 71), (90, 69), (94, 60)),
        smooth((34, 50), (30, 66), (18, 74), (8, 70), (5, 64)),
        smooth((38, 50), (34, 70), (18, 79), (6, 75), (2, 66)),
    ]
    bands = [[*strips[k], *strips[k + 1][::-1]] for k in (0, 2)]
    under = [p for line in lines for p in outside(line, *bands)]
    sides = [p for x in (18.0, 78.0) for p in outside(straight((x, 15), (x, 93)), *bands)]
    return _trunk(fine(under) + main(strips) + tint(bands, 0.14), sides)


def _bark_blisters() -> str:
    spots = ((30, 36), (50, 34), (66, 44), (40, 50), (28, 62), (56, 62), (70, 72), (42, 78), (28, 86), (58, 86))
    blisters = [ellipse(x, y, 4.6, 2.8) for x, y in spots]
    shine = [arc(x, y, 2.8, 1.4, 190, 270) for x, y in spots]
    run = smooth((56, 65), (56.6, 71), (56, 75))
    bead = ellipse(56, 77, 1.8, 2.4)
    return _trunk(main([*blisters, run]) + fine(shine) + tint(blisters, 0.18) + solid(bead))


DRAWINGS: Drawings = {
    "tree_bark": {
        "smooth": _bark_smooth,
        "fluted": _bark_fluted,
        "lenticels-in-bands": _bark_lenticels,
        "peeling-papery": _bark_papery,
        "white-with-black": _bark_black_marks,
        "red-flaking": _bark_flaking,
        "scaly": _bark_scaly,
        "plated": _bark_plated,
        "small-blocks": _bark_blocks,
        "deep-ridged": _bark_deep,
        "diamond-ridged": _bark_diamonds,
        "spiral-ridged": _bark_spiral,
        "diamond-pitted": _bark_pitted,
        "corky": _bark_corky,
        "stringy": _bark_stringy,
        "resin-blisters": _bark_blisters,
    },
}
