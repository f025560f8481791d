"""The stages of a fruitbody, how it feels when pressed, and the skin of a ball."""

from __future__ import annotations

import math

from trug.drawings.model import Drawings
from trug.drawings.mosaic import cells, clipped
from trug.drawings.scene import ground
from trug.drawings.stroke import (
    Point,
    arc,
    balanced,
    dot,
    dots,
    ellipse,
    fine,
    hair,
    main,
    mirrored,
    outside,
    scaled,
    smooth,
    spread,
    stipple,
    straight,
    tint,
)

__all__ = ["DRAWINGS"]

# ---------------------------------------------------------------- stage: one mushroom, five times

_GROUND = 84


def _egg() -> str:
    """Draw an egg in the ground, cut open: a skin, and the fruitbody still shut inside it."""
    skin = balanced((37, 88), (29, 79), (28, 65), (35, 52), (48, 45.4))
    inner = scaled(skin, 0.84, (48, 68))
    cap = balanced((35.6, 70), (36.4, 61), (41, 55.4), (48, 53.6))
    under = balanced((35.6, 70), (39, 71.6), (43, 67), (48, 66.4))
    stem = smooth((44.6, 67), (44.4, 76), (42.6, 83))
    return (
        tint([skin, inner], 0.3) + main([skin, cap, under, stem, mirrored(stem)]) + fine(inner) + ground(_GROUND, skin)
    )


def _button() -> str:
    cap = smooth(
        (37, 56), (31, 50), (30, 40), (37, 30), (48, 26), (59, 30), (66, 40), (65, 50), (59, 56), (48, 58), (37, 56)
    )
    left = smooth((39, 57), (37, 68), (35, 80), (36, 88))
    shade = [smooth((61, 40), (61, 46), (57, 52)), smooth((53, 64), (54, 72), (54, 80))]
    return main([cap, left, mirrored(left)]) + fine(shade) + ground(_GROUND, [*left, *mirrored(left)])


def _young() -> str:
    cap = smooth((22, 49), (24, 37), (34, 24), (48, 19), (62, 24), (72, 37), (74, 49))
    under = smooth((22, 49), (34, 53), (48, 54.4), (62, 53), (74, 49))
    left = smooth((42.5, 54), (42, 66), (39, 78), (39, 88))
    veil = smooth((27, 51), (34, 57), (42.2, 62))
    sag = [smooth((29, 52.4), (35, 59.4), (42, 66)), smooth((67, 52.4), (61, 59.4), (54, 66))]
    shade = [smooth((63, 33), (67, 39), (69, 45)), smooth((51.5, 68), (52, 75), (53, 82))]
    return (
        main([cap, under, left, mirrored(left), veil, mirrored(veil)])
        + fine(sag + shade)
        + ground(_GROUND, [*left, *mirrored(left)])
    )


def _prime() -> str:
    """Draw the open cap, seen a little from below, and what is left of the veil."""
    crown = smooth((7, 38), (13, 26), (29, 16), (48, 12.5), (67, 16), (83, 26), (89, 38))
    under = ellipse(48, 38.4, 41, 8.6)
    left = smooth((43, 39), (43, 54), (40, 74), (39, 88))
    stipe = [*left, *mirrored(left)]
    ring = balanced((42.6, 53), (36, 58), (35, 61.5), (40, 61), (48, 62.6))
    gills = []
    for k in range(48):
        a = k * math.tau / 48
        near = 0.2 if k % 2 else 0.55
        line = straight(
            (48 + 41 * near * math.cos(a), 38.4 + 8.6 * near * math.sin(a)),
            (48 + 40 * math.cos(a), 38.4 + 8.2 * math.sin(a)),
        )
        gills += outside(line, stipe)
    sides = [p for line in (left, mirrored(left)) for p in outside(line, ring)]
    top = smooth((42.6, 53), (48, 54.4), (53.4, 53))
    joint = arc(48, 39, 5, 1.6, 180, 360)
    return (
        main([crown, *outside(under, stipe), ring, top, joint, *sides])
        + fine([*gills, smooth((70, 22), (77, 27), (82, 33))])
        + ground(_GROUND, stipe)
    )


def _past() -> str:
    cap = smooth(
        (7, 26), (14, 31), (22, 28), (31, 34), (42, 38), (53, 37), (62, 33), (70, 35), (78, 27), (84, 29), (91, 21)
    )
    under = smooth((7, 26), (10, 36), (15, 33), (20, 42), (25, 38), (32, 47), (43, 51))
    right = smooth((54, 50), (63, 45), (68, 50), (73, 39), (80, 42), (85, 32), (91, 21))
    left = smooth((43, 51), (42, 60), (44, 70), (41, 88))
    other = smooth((54, 50), (53, 60), (56, 70), (57, 88))
    gills = [*cap, *right[::-1], *left[:1], *under[::-1]]
    holes = [
        ellipse(45, 60, 1.3, 1.8),
        ellipse(50.5, 72, 1.5, 1.2),
        ellipse(33, 40, 1.6, 1.2),
        ellipse(66, 40, 1.5, 1.2),
    ]
    wet = [smooth((15, 39), (14.4, 42), (15.6, 44)), smooth((73, 46), (72.4, 49), (73.6, 51))]
    drop = dot(15.4, 46.4, 1.0) + dot(73.4, 53.6, 1.0)
    ragged = smooth((47, 76), (48.6, 80), (47.4, 83))
    return (
        tint(gills, 0.3)
        + main([cap, under, right, left, other, *holes])
        + fine([*wet, ragged])
        + drop
        + ground(_GROUND, [*left, *other[::-1]])
    )


# ---------------------------------------------------------------- consistency: pressed with a thumb


def _thumb(tip_y: float) -> tuple[list[Point], str]:
    """Return the shape and the ink of a thumb that presses from above; its tip is at ``tip_y``."""
    y = tip_y
    thumb = smooth(
        (36, y - 40),
        (37, y - 22),
        (36.5, y - 10),
        (40, y - 2),
        (48, y),
        (56, y - 2),
        (59.5, y - 10),
        (59, y - 22),
        (62, y - 40),
    )
    nail = smooth(
        (42.5, y - 21),
        (41.5, y - 12),
        (44, y - 7),
        (48, y - 6),
        (52, y - 7),
        (54.5, y - 12),
        (53.5, y - 21),
        (48, y - 22.5),
        closed=True,
    )
    return thumb, main([thumb]) + fine(nail)


def _slab(dent: float, wide: float = 15) -> list[Point]:
    """Return the outline of a thick piece of flesh, dented where the thumb presses."""
    top = 52.0
    over = smooth(
        (8, top + 3),
        (13, top),
        (48 - wide - 6, top),
        (48 - wide * 0.7, top + dent * 0.4),
        (48, top + dent),
        (48 + wide * 0.7, top + dent * 0.4),
        (48 + wide + 6, top),
        (83, top),
        (88, top + 3),
    )
    return [*over, *smooth((88, top + 3), (89, 72), (87, 84), (60, 86), (36, 86), (9, 84), (7, 72), (8, top + 3))]


def _jelly_like() -> str:
    slab = smooth(
        (8, 56),
        (13, 50),
        (27, 49),
        (36, 55),
        (48, 61),
        (60, 55),
        (69, 49),
        (83, 50),
        (89, 57),
        (86, 66),
        (90, 75),
        (86, 85),
        (60, 86),
        (36, 86),
        (10, 85),
        (6, 75),
        (10, 66),
        (8, 56),
    )
    waves = [
        smooth((30, 60), (38, 66), (48, 68.6), (58, 66), (66, 60)),
        smooth((26, 66), (36, 73), (48, 76), (60, 73), (70, 66)),
    ]
    wobble = [smooth((2.6, 58), (5, 65), (1.6, 74), (4, 82)), smooth((93.4, 58), (91.4, 63), (94.6, 74), (92, 82))]
    shine = [smooth((15, 62), (15, 56), (21, 53.6)), smooth((74, 54), (79, 55), (81, 59))]
    thumb, pressed = _thumb(60)
    return tint(slab, 0.14) + pressed + main(outside(slab, thumb)) + fine(waves + wobble) + hair(shine, 2)


def _fragile() -> str:
    cracks = [
        straight((48, 58), (44, 66), (49, 73), (45, 86)),
        straight((39, 54), (33, 63), (36, 71), (29, 86)),
        straight((57, 54), (62, 62), (58, 70), (65, 86)),
        straight((33, 63), (22, 66), (7, 69)),
        straight((62, 62), (75, 66), (89, 68)),
    ]
    slab = _slab(7)
    crumbs = [
        straight(
            *((x + dx * s, y + dy * s) for dx, dy in ((-2, -1), (0.4, -2), (2.2, -0.2), (0.8, 1.8), (-1.6, 1.2))),
            closed=True,
        )
        for x, y, s in (
            (28, 45, 1.5),
            (21, 40, 1.0),
            (68, 44, 1.6),
            (76, 39, 1.0),
            (26, 34, 0.8),
            (72, 31, 0.9),
            (14, 92, 1.2),
            (80, 92, 1.3),
            (48, 92.4, 0.9),
        )
    ]
    thumb, pressed = _thumb(58)
    return pressed + main([*outside(slab, thumb), *cracks, *crumbs])


def _soft() -> str:
    """Draw a thumb that has sunk in; the flesh wells up beside it and tears open below."""
    slab = smooth(
        (8, 56), (12, 52), (24, 51), (31, 46.6), (37, 49), (38.6, 60), (42, 67), (48, 69.5), (54, 67), (57.4, 60),
        (59, 49), (65, 46.6), (72, 51), (84, 52), (88, 56), (89, 72), (87, 84), (60, 86), (36, 86), (9, 84), (7, 72),
        (8, 56),
    )  # fmt: skip
    tear = straight((47, 70), (44, 74), (45.4, 77), (41, 80), (42, 83), (39, 86)) + straight(
        (58, 86), (54, 82), (55, 79), (51.4, 76), (52, 73), (49, 70)
    )
    strands = [smooth((44, 75), (47.6, 76), (51.4, 75.4)), smooth((42, 81), (47.6, 82.4), (54, 81))]
    thumb, pressed = _thumb(68.5)
    grain = stipple(slab, 7, 0.6, 4, [ellipse(48, 78, 11, 12), thumb])
    open_foot = [(38.6, 84), (58.4, 84), (58.4, 89), (38.6, 89)]
    seen = outside(slab, thumb, open_foot)
    half = len(tear) // 2
    return grain + pressed + main([*seen, tear[:half], tear[half:]]) + tint(tear, 0.35) + fine(strands)


def _firm() -> str:
    slab = _slab(5, 17)
    thumb, pressed = _thumb(56)
    flat = straight((28, 52), (68, 52))
    arrows = [straight((x, 70), (x, 60)) for x in (24, 72)]
    heads = [straight((x - 2.6, 63.4), (x, 60), (x + 2.6, 63.4)) for x in (24, 72)]
    return (
        stipple(slab, 7, 0.6, 4, [ellipse(24, 66, 5, 9), ellipse(72, 66, 5, 9)])
        + pressed
        + main([*outside(slab, thumb), *arrows, *heads])
        + fine(outside(flat, thumb), dash="2 2.4")
    )


def _tough() -> str:
    outer = smooth((10, 44), (9, 60), (15, 76), (30, 86), (48, 88.5), (66, 86), (81, 76), (87, 60), (86, 44))
    within = smooth((22, 43), (21.4, 57), (26, 68), (36, 73), (48, 74.6), (60, 73), (70, 68), (74.6, 57), (74, 43))
    ends = [smooth((10, 44), (16, 41.6), (22, 43)), smooth((74, 43), (80, 41.6), (86, 44))]
    fibres = [
        smooth((14, 48), (13.6, 60), (19, 73), (32, 81.6), (48, 84), (64, 81.6), (77, 73), (82.4, 60), (82, 48)),
        smooth(
            (18, 47), (17.6, 59), (22.4, 70.6), (34, 77.4), (48, 79.4), (62, 77.4), (73.6, 70.6), (78.4, 59), (78, 47)
        ),
    ]
    thumb, pressed = _thumb(73.6)
    within_seen = outside(within, thumb)
    return pressed + main([outer, *within_seen, *ends]) + fine(fibres)


def _woody() -> str:
    block = straight((8, 52), (88, 52), (88, 86), (8, 86), closed=True)
    grain = [
        smooth((8, y), (24, y + d), (48, y - d), (70, y + d * 0.5), (88, y))
        for y, d in ((57.5, 0.8), (63, 1.2), (75, -1.2), (80.6, 0.8))
    ]
    grain += [smooth((8, 69), (20, 68.4), (30, 65.6), (40, 68.6), (56, 69.4), (88, 69)), ellipse(30, 69.6, 5.2, 2.2)]
    grain = [p for line in grain for p in outside(line, ellipse(30, 69.6, 4.8, 1.9))]
    knock = [
        straight((30, 46), (25, 42)),
        straight((28.5, 50), (22, 48.6)),
        straight((66, 46), (71, 42)),
        straight((67.5, 50), (74, 48.6)),
    ]
    _, pressed = _thumb(51.2)
    return tint(block, 0.2) + pressed + main([block, *knock]) + fine([*grain, ellipse(30, 69.6, 2, 0.8)])


# ---------------------------------------------------------------- the skin of a ball, a quarter cut away

_BALL = ellipse(48, 46, 35, 34)
_FOOT = smooth((38, 78.6), (40, 86), (48, 88), (56, 86), (58, 78.6))


def _cut(rind: float) -> tuple[list[Point], list[Point]]:
    """Return the cut half, seen straight on, and the spore mass within its rind."""
    half = [*arc(48, 46, 35, 34, 270, 450), *straight((48, 80), (48, 12))]
    mass = [*arc(48, 46, 35 - rind, 34 - rind, 270, 450), *straight((48, 80 - rind), (48, 12 + rind))]
    return half, mass


def _ball(rind: float, outside_ink: str, outline: list[Point] | None = None, rind_tint: float = 0.0) -> str:
    half, mass = _cut(rind)
    grain = stipple(mass, 3.3, 0.7, 5)
    edge = _BALL if outline is None else outline
    rim = tint([half, mass], rind_tint) if rind_tint else ""
    return tint(mass, 0.12) + grain + rim + outside_ink + main([edge, straight((48, 12), (48, 80)), _FOOT]) + fine(mass)


def _left_half(inset: float = 2.0) -> list[Point]:
    return [
        *arc(48, 46, 35 - inset, 34 - inset, 90, 270),
        *straight((48 - inset, 12 + inset), (48 - inset, 80 - inset)),
    ]


def _smooth_thin() -> str:
    return _ball(1.8, fine([smooth((18, 42), (19, 54), (26, 65)), smooth((22.6, 52), (25, 59), (30, 65.6))]))


def _granular() -> str:
    grains = "".join(
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{(1.1, 1.6, 1.3)[k % 3]}" stroke-width="0.9"/>'
        for k, (x, y) in enumerate(spread(_left_half(2.6), 4.6, 3))
    )
    edge = dots(arc(48, 46, 35.8, 34.8, 96, 264)[::4], 1.1)
    return _ball(2.2, grains + edge)


def _spiny() -> str:
    spines = []
    for x, y in (p for p in spread(_left_half(5), 8.2, 2) if p[1] < 70):
        ux, uy = (x - 48) / 35, (y - 46) / 34
        far = max(math.hypot(ux, uy), 0.01)
        tx, ty = -uy / far * 2.4, ux / far * 2.4
        spines.append(straight((x - tx, y - ty), (x + ux * 8, y + uy * 8 - 1), (x + tx, y + ty), closed=True))
    for k in range(10):
        a = math.radians(119 + k * 15)
        x, y = 48 + 35 * math.cos(a), 46 + 34 * math.sin(a)
        tx, ty = -math.sin(a) * 3, math.cos(a) * 3
        spines.append(straight((x - tx, y - ty), (x + math.cos(a) * 9, y + math.sin(a) * 9), (x + tx, y + ty)))
    return _ball(2.2, tint(spines, 0.3) + fine(spines))


def _scaly_thick() -> str:
    half = _left_half(1.0)
    plates = [plate for c in cells(spread(half, 9.5, 2), 2.0) if len(plate := clipped(c, half, len(half))) > 2]
    return _ball(8.5, tint(plates, 0.35) + fine(plates, closed=True), rind_tint=0.4)


def _bag_like() -> str:
    bag = smooth((14, 40), (12, 56), (20, 73), (38, 83), (48, 84.6), (58, 83), (76, 73), (84, 56), (82, 40))
    torn = smooth(
        (14, 40),
        (9, 31),
        (17, 34),
        (21, 24),
        (28, 37),
        (36, 30),
        (41, 41),
        (50, 33),
        (56, 42),
        (64, 31),
        (69, 38),
        (77, 25),
        (80, 35),
        (88, 32),
        (82, 40),
    )
    wrap = [*bag, *torn[::-1]]
    body = smooth((24, 44), (24, 28), (33, 15), (48, 9), (63, 15), (72, 28), (72, 44))
    folds = [
        smooth((24, 46), (24, 58), (30, 70)),
        smooth((45, 48), (46, 60), (46, 74)),
        smooth((72, 46), (71, 58), (65, 71)),
        smooth((33, 42), (34, 50), (36, 56)),
    ]
    within = outside(body, wrap)
    return (
        tint(wrap, 0.14)
        + main([bag, torn, *within, smooth((42, 84), (44, 90)), smooth((52, 84), (50, 90))])
        + fine(folds)
        + stipple([p for part in outside(body, wrap) for p in part], 5.5, 0.6, 4, [wrap])
    )


DRAWINGS: Drawings = {
    "stage": {"egg": _egg, "button": _button, "young": _young, "prime": _prime, "past": _past},
    "consistency": {
        "jelly-like": _jelly_like,
        "fragile": _fragile,
        "soft": _soft,
        "firm": _firm,
        "tough": _tough,
        "woody": _woody,
    },
    "ball_skin": {
        "smooth-thin": _smooth_thin,
        "granular": _granular,
        "spiny": _spiny,
        "scaly-thick": _scaly_thick,
        "bag-like": _bag_like,
    },
}
