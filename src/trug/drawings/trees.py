"""Trees: broadleaved or conifer, bark, and how the buds stand."""

from __future__ import annotations

import math

from trug.drawings.landscape import Landscape, Shape, blade, leaf
from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    Points,
    arc,
    ellipse,
    fine,
    hair,
    inside,
    main,
    mirrored,
    outside,
    smooth,
    solid,
    straight,
    tint,
    turned,
)

__all__ = ["DRAWINGS"]

# ---------------------------------------------------------------- the trees nearby


def _broadleaved() -> str:
    scene = Landscape()
    scene.fruitbody(72, 88, 0.6)
    crown = smooth((48, 5), (34, 8), (24, 16), (14, 26), (13, 40), (22, 52), (36, 55), (48, 59), (60, 55), (74, 52),
                   (83, 40), (82, 26), (72, 16), (62, 8), closed=True)  # fmt: skip
    scene.put(
        crown,
        0.1,
        [
            leaf(x, y, a)
            for x, y, a in ((30, 26, 20), (56, 22, -20), (40, 42, -10), (62, 42, 30), (22, 40, -30), (44, 16, 0))
        ],
    )
    left = smooth((43, 50), (43, 74), (38, 88))
    scene.trace([left, mirrored(left)], bold=True)
    scene.trace([straight((3, 88), (93, 88))], bold=True)
    return scene.ink()


def _conifer() -> str:
    scene = Landscape()
    scene.fruitbody(72, 88, 0.6)
    tiers = [(4, 26, 13), (18, 46, 21), (34, 68, 30)]
    for top, low, half in tiers:
        left = smooth((48, top), (48 - half * 0.4, (top + low) / 2), (48 - half, low))
        hem = smooth((48 - half, low), (48 - half * 0.45, low - 3), (48, low - 1))
        scene.put([*left, *hem, *mirrored(hem), *mirrored(left)], 0.1)
    needles = [
        straight((x, y), (x + dx, y + 7))
        for x, y, dx in (
            (46, 12, -2),
            (50, 14, 2),
            (42, 30, -3),
            (54, 32, 3),
            (48, 34, 0),
            (34, 56, -4),
            (62, 56, 4),
            (42, 52, -2),
            (54, 54, 2),
            (48, 58, 0),
        )
    ]
    scene.add(fine(needles))
    scene.trace([straight((45, 66), (44, 88)), straight((51, 66), (52, 88))], bold=True)
    scene.trace([straight((3, 88), (93, 88))], bold=True)
    return scene.ink()


def _no_trees() -> str:
    scene = Landscape()
    scene.fruitbody(72, 88, 0.6)
    scene.trace([smooth((3, 50), (28, 44), (56, 50), (93, 46))])
    scene.trace([blade(8 + k * 5.4, 84 - (k % 4) * 7, 6 + k % 3 * 2, (k % 5) - 2) for k in range(16)])
    scene.trace([straight((3, 88), (93, 88))], bold=True)
    scene.trace([smooth((20, 24), (27, 20), (30, 25)), smooth((30, 25), (34, 20), (41, 23))])
    scene.add(main(ellipse(74, 20, 8, 8)))
    return scene.ink()


# ---------------------------------------------------------------- bark, on a piece of trunk with its upper end cut

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
        (48 + (28 + 4 * math.cos(7 * a)) * math.cos(a), _TOP + (8.4 + 2 * math.cos(7 * a)) * math.sin(a))
        for a in (math.radians(k) for k in range(361))
    ]
    hollows = [
        smooth((48 + d, 24 - abs(d) * 0.18), (48 + d * 0.85, 48), (48 + d * 1.05, 72), (48 + d * 0.95, 93))
        for d in (-22, -8, 8, 22)
    ]
    shade = [[*h, *reversed([(x + 4, y) for x, y in h])] for h in hollows]
    left = smooth((17, 15), (20, 34), (15, 56), (19, 76), (16, 93))
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
    for x0, x1, y in ((24, 54, 36), (44, 74, 56), (22, 50, 76)):
        edge = smooth((x0, y), ((x0 + x1) / 2, y + 4), (x1, y))
        curl = smooth((x1, y), (x1 + 5, y + 2), (x1 + 6, y + 8), (x1, y + 11), (x1 - 4, y + 8), (x1 - 1, y + 5))
        low = smooth((x1, y + 11), ((x0 + x1) / 2, y + 14), (x0, y + 9))
        sheets.append(main([edge, curl, low]) + tint([*edge, *curl[: len(curl) // 2], *low], 0.14))
    side = smooth((18, 46), (12, 44), (9, 50), (13, 54), (16, 51))
    return _trunk("".join(sheets) + main(side) + fine([arc(48, 26, 28, 8, 30, 60), arc(48, 84, 29, 8, 40, 60)]))


def _bark_black_marks() -> str:
    marks: list[Shape] = []
    for x, y, s in ((30.0, 34.0, 1.0), (58, 42, 1.3), (38, 58, 1.2), (68, 66, 1.0), (28, 78, 1.1), (54, 82, 1.4)):
        upper = (
            (x - 8 * s, y + 1),
            (x - 2 * s, y - 1.5 * s),
            (x, y - 5 * s),
            (x + 2 * s, y - 1.5 * s),
            (x + 8 * s, y + 1),
        )
        marks.append(smooth(*upper, (x + 2 * s, y + 2.4 * s), (x, y + 4 * s), (x - 2 * s, y + 2.4 * s), closed=True))
    return _trunk(solid(marks) + fine([arc(48, 26, 29, 8, 60, 75), arc(48, 50, 29, 8, 140, 155)]))


def _bark_flaking() -> str:
    patches = [
        smooth((26, 34), (36, 30), (44, 36), (40, 46), (30, 48), (24, 42), closed=True),
        smooth((54, 32), (66, 34), (70, 44), (62, 52), (52, 46), closed=True),
        smooth((34, 58), (48, 54), (54, 64), (46, 74), (34, 70), closed=True),
        smooth((60, 62), (72, 60), (74, 74), (66, 84), (58, 76), closed=True),
        smooth((24, 74), (34, 78), (38, 88), (26, 90), (21, 82), closed=True),
    ]
    flakes = [
        smooth((40, 46), (45, 50), (44, 55), (38, 54)),
        smooth((52, 46), (50, 52), (55, 56)),
        smooth((46, 74), (50, 80), (45, 83)),
        smooth((66, 84), (68, 90), (62, 90)),
    ]
    return _trunk(tint(patches, 0.42) + main([*patches, *flakes]))


def _bark_scaly() -> str:
    scales: list[Shape] = []
    for j in range(9):
        for i in range(7):
            x, y = 20 + i * 9 + (j % 2) * 4.5, 28 + j * 8 + (i * 5) % 3
            scales.append(
                smooth((x - 3.6, y - 3), (x - 3, y + 1.6), (x, y + 3), (x + 3.2, y + 1.2), (x + 3.4, y - 2.6))
            )
    return _trunk(fine(_on_bark(scales)))


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
    for k, x in enumerate((26, 35, 44.5, 54, 63, 71)):
        w = 2.4 + (k % 2)
        top = 25 - abs(x - 48) * 0.12
        a = smooth((x, top), (x - 2.4, 40), (x + 2.2, 58), (x - 1.6, 76), (x, 93))
        b = smooth((x, 93), (x - 1 + w, 76), (x + 2.2 + w, 58), (x - 2.4 + w, 40), (x, top))
        furrows.append([*a, *b])
    left = smooth((18, 15), (20, 28), (16, 44), (20, 62), (17, 78), (19, 93))
    return _trunk(solid(furrows), [left, mirrored(left)])


def _bark_diamonds() -> str:
    gaps: list[Shape] = []
    for j in range(-1, 4):
        for i in range(6):
            x, y = 23 + i * 10, 32 + j * 24 + (i % 2) * 12
            gaps.append(smooth((x, y - 9.5), (x + 2.8, y), (x, y + 9.5), (x - 2.8, y), closed=True))
    whole = [g for g in gaps if min(y for _, y in g) > 22 and max(y for _, y in g) < 94]
    return _trunk(solid(whole))


def _bark_spiral() -> str:
    ridges: list[Shape] = []
    for k in range(-1, 9):
        y = 10 + k * 14
        ridges.append(smooth((18, y + 26), (34, y + 20), (52, y + 8), (66, y - 4), (78, y - 16)))
        ridges.append(smooth((18, y + 29.6), (36, y + 23), (54, y + 11), (66, y), (78, y - 12.6)))
    bands = [[*ridges[k], *ridges[k + 1][::-1]] for k in range(0, len(ridges), 2)]
    whole = [b for b in bands if all(21 < y < 94 for _, y in b)]
    return _trunk(tint(whole, 0.5) + main(_on_bark(ridges)))


def _bark_pitted() -> str:
    middles = (
        (30, 34), (46, 38), (64, 34), (38, 50), (56, 52), (70, 54),
        (28, 60), (46, 66), (62, 70), (34, 78), (52, 82), (70, 84),
    )  # fmt: skip
    pits = [straight((x, y - 4), (x + 3.4, y), (x, y + 4), (x - 3.4, y), closed=True) for x, y in middles]
    return _trunk(solid(pits))


def _bark_corky() -> str:
    """Draw thick soft bark with a thumb that sinks in."""
    thumb = smooth((95, 36), (84, 36), (73, 38), (66, 45), (67, 53), (75, 57), (86, 57), (95, 58))
    nail = smooth((72, 43), (67.6, 46), (68, 51), (73, 53))
    middles = (
        (24, 36, 10), (24, 62, 12), (24, 84, 8), (36, 42, 13), (36, 70, 13), (48, 38, 9),
        (48, 62, 13), (48, 84, 7), (60, 32, 7), (60, 76, 12), (71, 70, 9), (71, 86, 6),
    )  # fmt: skip
    cushions: list[Shape] = []
    for x, y, h in middles:
        right, left = ((x + 4.6, y - h * 0.5), (x + 4.6, y + h * 0.5)), ((x - 4.6, y + h * 0.5), (x - 4.6, y - h * 0.5))
        cushions.append(smooth((x, y - h), *right, (x, y + h), *left, closed=True))
    dent = smooth((64, 38), (59, 46), (61, 57))
    sides = [straight((18, 15), (18, 93)), straight((78, 15), (78, 35)), straight((78, 59), (78, 93))]
    return _trunk(main([thumb, *cushions]) + fine([nail, *outside(dent, *cushions)]) + tint([thumb], 0.12), sides)


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


# ---------------------------------------------------------------- how buds stand on a twig

_TWIG_LEFT = smooth((44, 94), (45, 60), (46, 22))


def _bud(x: float, y: float, degrees: float, size: float = 1.0) -> Shape:
    """Return a bud that points upwards, turned about its foot."""
    left = smooth(
        (x - 2.4 * size, y), (x - 4.6 * size, y - 5 * size), (x - 2.6 * size, y - 11 * size), (x, y - 15 * size)
    )
    return turned([*left, *mirrored(left, x)], degrees, (x, y))


def _twig(buds: list[Shape], scars: list[Shape]) -> str:
    sides = [p for s in (_TWIG_LEFT, mirrored(_TWIG_LEFT)) for p in outside(s, *buds)]
    top = [_bud(48, 22, 0, 1.1)]
    lines = [[*b, b[0]] for b in [*buds, *top]]
    return main([*sides, *lines]) + tint([*buds, *top], 0.22) + fine(scars)


def _opposite() -> str:
    buds, scars = [], []
    for y in (42, 66, 90):
        buds += [_bud(43.6, y, -42), _bud(52.4, y, 42)]
        scars.append(smooth((44, y + 2), (48, y + 3.6), (52, y + 2)))
    return _twig(buds, scars)


def _alternate() -> str:
    buds, scars = [], []
    for k, y in enumerate((38, 52, 66, 80, 92)):
        side = 1 if k % 2 else -1
        buds.append(_bud(48 + side * 4.2, y, side * 42))
        scars.append(smooth((48 + side * 4, y + 2), (48 + side * 1.5, y + 3.4), (48, y + 2.6)))
    return _twig(buds, scars)


def _needles() -> str:
    needles: list[Shape] = []
    for k in range(17):
        y = 90 - k * 4.6
        for side in (-1, 1):
            length = 30 - k * 0.7
            needles.append(
                smooth((48 + side * 2.6, y), (48 + side * length * 0.55, y - 7), (48 + side * length, y - 15))
            )
    needles += [smooth((48, 20), (48 + d, 10), (48 + d * 1.6, 3)) for d in (-6, -2, 2, 6)]
    return main([_TWIG_LEFT, mirrored(_TWIG_LEFT)]) + hair(needles, 2.2)


def _no_twig() -> str:
    """Draw a twig broken off short, with nothing on it."""
    stub = [smooth((42, 94), (43, 74), (43.5, 58)), smooth((54, 94), (53, 74), (52.5, 62))]
    torn = straight((43.5, 58), (45.5, 50), (47, 57), (49, 46), (50.5, 56), (52.5, 62))
    return main([*stub, torn]) + fine([smooth((47, 64), (47, 80)), smooth((50, 70), (50, 88))])


DRAWINGS: Drawings = {
    "wood_kind": {"broadleaved": _broadleaved, "conifer": _conifer, "no-trees": _no_trees},
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
    "tree_buds": {
        "opposite": _opposite,
        "alternate": _alternate,
        "needles-or-scales": _needles,
        "none-to-be-seen": _no_twig,
    },
}
