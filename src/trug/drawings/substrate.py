"""Where it grows: small scenes with one and the same fruitbody. The trees nearby are in `trug.drawings.trees`."""

from __future__ import annotations

import math

from trug.drawings.landscape import GROUND_Y, Landscape, Shape, blade, leaf
from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    arc,
    dot,
    ellipse,
    fine,
    inside,
    mirrored,
    scaled,
    smooth,
    solid,
    stipple,
    straight,
    tint,
    turned,
)

__all__ = ["DRAWINGS"]


def _living_trunk() -> str:
    scene = Landscape()
    scene.shelf(60, 44, 1)
    scene.shelf(60, 58, 1, 0.8)
    for x, y, a in ((30, 19.8, 130), (24, 17.6, 235), (18, 15.6, 140), (13, 13.8, 190)):
        scene.put(leaf(x, y, a), 0.12)
        scene.put(leaf(96 - x, y - 2, 180 - a), 0.12)
    trunk = [
        *smooth((36, 2), (36, 40), (34, 66), (28, GROUND_Y)),
        *mirrored(smooth((36, 2), (36, 40), (34, 66), (28, GROUND_Y))),
    ]
    scene.trace([straight((36, 22), (13, 13.8)), straight((60, 20), (83, 11.8))])
    scene.trace([trunk[: len(trunk) // 2], trunk[len(trunk) // 2 :]], bold=True)
    scene.trace(
        [smooth((44, 26), (43, 40), (44, 54)), smooth((52, 34), (53, 48), (51, 66)), smooth((42, 60), (40, 70))]
    )
    scene.ground(3, 28)
    scene.ground(68, 93)
    return scene.ink()


def _tree_base() -> str:
    scene = Landscape()
    scene.fruitbody(22, 82, 0.8)
    scene.fruitbody(38, 88, 0.8)
    scene.fruitbody(72, 84, 0.8)
    left = smooth((34, 2), (33, 40), (28, 58), (14, 70), (3, 74))
    scene.trace([left, mirrored(left)], bold=True)
    scene.trace(
        [
            smooth((44, 54), (40, 68), (30, 80)),
            smooth((53, 54), (56, 70), (62, 80)),
            smooth((48, 60), (48, 72), (50, 84)),
        ]
    )
    scene.trace([smooth((42, 10), (41, 26), (43, 44)), smooth((54, 6), (55, 24), (53, 40))])
    return scene.ink()


def _dead_standing() -> str:
    scene = Landscape()
    scene.shelf(60, 46, 1)
    scene.shelf(60, 60, 1, 0.8)
    left = smooth((37, 20), (36, 44), (34, 64), (29, GROUND_Y))
    right = mirrored(smooth((37, 26), (36, 44), (34, 64), (29, GROUND_Y)))
    top = straight((37, 20), (40, 10), (43, 18), (46, 4), (50, 16), (53, 9), (56, 20), (59, 26))
    branch = [
        straight((36.4, 36), (20, 24), (22, 20)),
        straight((36.2, 42), (24, 32)),
        straight((20, 24), (14, 26)),
        straight((26, 28), (24, 22)),
    ]
    right_branch = [straight((59.4, 32), (72, 20), (74, 22)), straight((59.6, 36), (68, 28))]
    scene.trace([left, right, top, *branch, *right_branch], bold=True)
    scene.trace(
        [smooth((43, 30), (42, 46)), smooth((52, 26), (53, 40)), smooth((46, 54), (45, 70)), ellipse(46, 49, 2.4, 4)]
    )
    scene.ground(3, 29)
    scene.ground(67, 93)
    return scene.ink()


def _stump() -> str:
    scene = Landscape()
    scene.fruitbody(44, 42, 0.9)
    scene.fruitbody(62, 44, 0.7)
    scene.fruitbody(24, 70, 0.7)
    top = ellipse(48, 44, 26, 8)
    scene.put(top, 0.0, [ellipse(48, 44, 17, 5), ellipse(48, 44, 8, 2.4)])
    left = smooth((22, 44), (22, 60), (16, 72), (6, 78))
    scene.trace([left, mirrored(left)], bold=True)
    scene.trace(
        [smooth((34, 54), (33, 66), (28, 76)), smooth((50, 56), (50, 74)), smooth((64, 56), (64, 66), (70, 76))]
    )
    scene.ground(3, 12)
    scene.ground(84, 93)
    return scene.ink()


def _fallen_wood() -> str:
    scene = Landscape()
    scene.fruitbody(36, 50, 0.8)
    scene.fruitbody(54, 48, 0.9)
    end = ellipse(84, 62, 7, 15)
    scene.put(end, 0.0, [ellipse(84, 62, 4.4, 9.4), ellipse(84, 62, 1.8, 4)])
    log = [
        *straight((4, 52), (84, 47), (84, 77), (4, 74), (7, 68), (3, 62), (4, 52)),
    ]
    scene.put(
        log,
        0.0,
        [
            straight((14, 58), (34, 57)),
            straight((26, 66), (58, 66)),
            straight((64, 56), (74, 55)),
            straight((50, 72), (72, 72)),
        ],
    )
    stub = [
        smooth((13, 51.6), (12, 45), (8, 38)),
        straight((8, 38), (11, 37), (12, 34)),
        smooth((12, 34), (18, 43), (20, 51.2)),
    ]
    scene.trace(stub, bold=True)
    scene.trace([straight((3, 80), (93, 80))], bold=True)
    return scene.ink()


def _twigs_chips() -> str:
    scene = Landscape()
    scene.fruitbody(48, 70, 1.3)
    for x, y, a in (
        (20, 72, 20),
        (34, 78, -15),
        (64, 76, 30),
        (80, 74, -25),
        (12, 84, -10),
        (30, 90, 15),
        (50, 84, -30),
        (72, 88, 8),
        (88, 86, 40),
    ):
        chip = straight((x - 6, y - 2.4), (x + 5, y - 3), (x + 6.4, y + 2), (x - 4.6, y + 2.6), closed=True)
        scene.put(turned(chip, a, (x, y)), 0.1)
    scene.trace([straight((4, 76), (30, 66)), straight((14, 72), (12, 66)), straight((62, 68), (92, 80)),
                 straight((78, 74), (84, 69)),
                 straight((4, 90), (24, 82)), straight((56, 92), (66, 80))], bold=True)  # fmt: skip
    return scene.ink()


def _below(scene: Landscape, y: float = 50) -> None:
    """Draw the ground high up, open to what lies below."""
    scene.trace([smooth((3, y), (48, y - 1), (93, y))], bold=True)


def _buried_wood() -> str:
    scene = Landscape()
    scene.fruitbody(48, 50, 1.4)
    log = [
        *smooth((10, 70), (40, 66), (76, 70)),
        *straight((76, 70), (76, 88)),
        *smooth((76, 88), (40, 84), (10, 88)),
        (10, 88),
    ]
    end = ellipse(76, 79, 5, 9)
    scene.put(end, 0, [ellipse(76, 79, 2.4, 4.6)])
    scene.put(log, 0.14, [smooth((18, 76), (40, 72), (62, 75)), smooth((16, 82), (38, 79), (58, 82))])
    scene.trace(
        [
            smooth((46, 50), (45, 58), (40, 67)),
            smooth((50, 50), (52, 60), (50, 67)),
            smooth((48, 51), (47, 60), (46, 67)),
        ]
    )
    _below(scene)
    scene.add(
        stipple(
            [(4, 54), (92, 54), (92, 92), (4, 92)], 9, 0.6, besides=[log, end, [(38, 50), (56, 50), (56, 68), (38, 68)]]
        )
    )
    return scene.ink()


def _woodland_soil() -> str:
    scene = Landscape()
    scene.fruitbody(48, 82, 1.2)
    for x, half in ((14, 7), (84, 6), (66, 4), (32, 4)):
        base = 76 if half > 5 else 68
        left = smooth((x - half, 2), (x - half, base - 14), (x - half * 1.6, base))
        scene.put(
            [*left, *mirrored(left, x)], 0.08, [straight((x, 8), (x, 28)), straight((x + 1.5, 38), (x + 1.5, 56))]
        )
    scene.trace([smooth((3, 78), (24, 74), (48, 76), (70, 73), (93, 78))], bold=True)
    scene.add(stipple([(10, 82), (86, 82), (92, 92), (4, 92)], 7, 0.7))
    return scene.ink()


def _litter() -> str:
    scene = Landscape()
    scene.fruitbody(48, 70, 1.3)
    for x, y, a, s in (
        (8, 78, -20, 1.3),
        (24, 70, 25, 1.2),
        (30, 86, -10, 1.5),
        (54, 74, 15, 1.4),
        (72, 68, -25, 1.3),
        (66, 88, -20, 1.4),
        (86, 80, 160, 1.2),
        (14, 90, 5, 1.1),
    ):
        blade_of_leaf = leaf(x, y, a, s)
        vein = turned(straight((x - 3, y), (x + 11 * s, y)), a, (x, y))
        scene.put(blade_of_leaf, 0.1)
        scene.add(fine(vein))
    scene.trace([straight((x, y), (x + dx, y + dy)) for x, y, dx, dy in
                 ((4, 70, 10, -5), (4, 70, 11, -2), (78, 90, 13, 2), (78, 90, 13, -2),
                  (40, 78, 10, 5), (40, 78, 11, 2), (82, 62, 10, -3))])  # fmt: skip
    return scene.ink()


def _grass() -> str:
    scene = Landscape()
    scene.fruitbody(48, 80, 1.5)
    blades = []
    for k in range(30):
        x = 4 + k * 3.05
        blades.append(blade(x, 84 + k % 3 * 2, 20 + (k * 7) % 17, (k * 5) % 15 - 7))
    scene.trace(blades)
    scene.trace([smooth((3, 86), (48, 85), (93, 86))], bold=True)
    return scene.ink()


def _moss() -> str:
    scene = Landscape()
    scene.fruitbody(48, 66, 1.3)
    for x, y, r in ((16, 80, 14), (44, 82, 16), (76, 80, 17)):
        scene.put([*arc(x, y, r, 14, 180, 360), (x + r, 90), (x - r, 90)][: len(arc(x, y, r, 14, 180, 360))], 0.08)
    stars: list[Shape] = []
    for x, y in (
        (10, 74),
        (20, 72),
        (28, 80),
        (38, 75),
        (48, 73),
        (56, 79),
        (68, 72),
        (78, 72),
        (86, 79),
        (18, 79),
        (44, 79),
        (68, 78),
        (80, 78),
    ):
        stars += [
            straight((x, y), (x + 3.4 * math.cos(a), y + 3.4 * math.sin(a))) for a in (-2.6, -2.1, -1.57, -1.0, -0.5)
        ]
    capsules = [
        smooth((14, 66), (15, 56), (18, 50)),
        smooth((72, 66), (72, 54), (69, 47)),
        smooth((82, 67), (84, 57), (87, 52)),
    ]
    scene.add(fine([*stars, *capsules]) + "".join(dot(x, y, 1.7) for x, y in ((18.4, 49), (68.6, 46), (87.6, 51))))
    return scene.ink()


def _burnt_ground() -> str:
    scene = Landscape()
    scene.fruitbody(48, 72, 1.3)
    coals = []
    for x, y, a, s in (
        (16, 78, 15, 1.2),
        (32, 84, -20, 1),
        (64, 80, 30, 1.1),
        (82, 78, -12, 1.2),
        (24, 70, 40, 0.7),
        (72, 88, 5, 0.9),
        (48, 88, -8, 1.2),
        (10, 90, 20, 0.8),
        (88, 90, -30, 0.8),
        (72, 70, -30, 0.7),
    ):
        coal = straight(
            (x - 6 * s, y - 2 * s),
            (x - 1 * s, y - 4.4 * s),
            (x + 6 * s, y - 2.4 * s),
            (x + 5 * s, y + 3 * s),
            (x - 4 * s, y + 3.4 * s),
        )
        coals.append(turned(coal, a, (x, y)))
    scene.add(solid(coals))
    smoke = [
        smooth((14, 62), (10, 54), (18, 46), (13, 36), (18, 28)),
        smooth((82, 62), (78, 54), (86, 44), (80, 34), (85, 24)),
    ]
    scene.trace(smoke)
    scene.add(stipple([(4, 74), (92, 74), (92, 94), (4, 94)], 6, 0.6, besides=coals))
    return scene.ink()


def _sand() -> str:
    scene = Landscape()
    scene.fruitbody(54, 78, 1.2)
    front = smooth((3, 80), (26, 74), (54, 78), (80, 84), (93, 80))
    back = smooth((3, 62), (20, 54), (38, 60), (60, 46), (80, 50), (93, 60))
    scene.trace([front, back], bold=True)
    scene.trace([blade(18, 75, h, d) for h, d in ((30, -10), (36, -2), (32, 8), (26, 14), (22, -16))])
    scene.add(stipple([*front, (93, 94), (3, 94)], 4.6, 0.6))
    ripples = [smooth((64, 56), (72, 54), (80, 58)), smooth((68, 63), (76, 61), (84, 65))]
    scene.trace(ripples)
    return scene.ink()


def _dung() -> str:
    scene = Landscape()
    scene.fruitbody(38, 56, 0.9)
    scene.fruitbody(58, 50, 1.0)
    scene.put(smooth((30, 62), (34, 54), (48, 49), (62, 52), (68, 60), (60, 66), (40, 67), closed=True), 0.2)
    scene.put(smooth((18, 72), (24, 62), (48, 58), (72, 62), (79, 71), (68, 77), (30, 78), closed=True), 0.2)
    scene.put(smooth((8, 84), (14, 74), (48, 70), (82, 74), (89, 83), (76, 90), (22, 90), closed=True), 0.2)
    scene.trace([blade(x, 90, h, d) for x, h, d in ((5, 14, -2), (8, 10, 4), (90, 14, 2), (93, 10, -3), (86, 8, -4))])
    scene.trace([straight((3, 90), (93, 90))])
    return scene.ink()


def _cone() -> str:
    scene = Landscape()
    scene.fruitbody(40, 58, 1.3)
    body = smooth((8, 72), (16, 60), (38, 54), (64, 58), (88, 72), (64, 86), (38, 90), (16, 84), closed=True)
    scales: list[Shape] = []
    for j in range(7):
        x = 20 + j * 9
        reach = 15 * math.sin(math.pi * (j + 1.6) / 9.4)
        for k in range(4):
            y = 72 + (k - 1.5 + (0.5 if j % 2 else 0)) * reach * 0.55
            scales.append(smooth((x - 2, y - 5), (x + 5, y - 3), (x + 6, y + 2), (x - 1, y + 5)))
    scene.put(body, 0.14, [])
    scene.add(fine([p for s in scales for p in inside(s, body)]))
    scene.trace([straight((8, 72), (3, 72))], bold=True)
    scene.trace([straight((3, 92), (93, 92))], bold=True)
    return scene.ink()


def _fungus() -> str:
    scene = Landscape()
    scene.fruitbody(32, 40, 0.7)
    scene.fruitbody(48, 35, 0.8)
    scene.fruitbody(64, 40, 0.7)
    dome = smooth((8, 58), (18, 42), (48, 32), (78, 42), (88, 58))
    cap = [*dome, *smooth((88, 58), (48, 63), (8, 58))]
    scene.put(cap)
    foot = [*smooth((40, 62), (39, 76), (37, 90)), *mirrored(smooth((40, 62), (39, 76), (37, 90)))]
    scene.trace([foot[: len(foot) // 2], foot[len(foot) // 2 :]], bold=True)
    scene.trace([straight((3, 90), (37, 90)), straight((59, 90), (93, 90))], bold=True)
    scene.trace([straight((48 + d * 0.6, 54), (48 + d, 59.6 - abs(d) * 0.03)) for d in range(-34, 35, 6)])
    return scene.ink()


def _insect() -> str:
    scene = Landscape()
    club = smooth((45, 66), (46, 40), (43, 22), (44, 10), (48, 6), (52, 10), (53, 22), (50, 40), (51, 66))
    scene.put(club, 0.3)
    rings = [
        ellipse(22 + 10.5 * k, 76 + (k % 2), 7.2 if k in (0, 5) else 8.4, 8 if k in (0, 5) else 9.4) for k in range(6)
    ]
    head = ellipse(84, 76, 5, 6)
    scene.add(tint([head], 0.3) + dot(85.5, 74, 0.9))
    for ring in reversed([*rings, head]):
        scene.put(ring, 0.06)
    scene.trace([smooth((84, 70), (86, 63), (90, 60)), smooth((86.4, 71), (90, 66), (94, 65))])
    scene.trace([smooth((33 + k * 10.5, 84), (32 + k * 10.5, 89), (34.5 + k * 10.5, 91)) for k in range(4)])
    _below(scene, 46)
    scene.add(stipple([(4, 50), (92, 50), (92, 93), (4, 93)], 9, 0.6, besides=[ellipse(52, 77, 43, 16), club]))
    return scene.ink()


def _underground() -> str:
    scene = Landscape()
    ball = smooth((48, 54), (36, 56), (28, 66), (30, 78), (42, 85), (56, 84), (67, 76), (66, 64), (58, 56), closed=True)
    scene.put(ball, 0.3)
    _below(scene, 38)
    blades = [
        blade(x, 38, h, d) for x, h, d in ((12, 12, -4), (15, 9, 3), (40, 11, 2), (43, 8, -4), (78, 12, 4), (82, 9, -2))
    ]
    roots = [
        smooth((3, 46), (14, 54), (18, 70), (28, 72)),
        smooth((93, 50), (82, 58), (78, 72), (67, 72)),
        smooth((14, 54), (24, 56)),
        smooth((80, 66), (86, 78)),
    ]
    scene.trace([*blades, *roots])
    scene.add(stipple([(4, 43), (92, 43), (92, 93), (4, 93)], 9, 0.6, besides=[scaled(ball, 1.12, (48, 70))]))
    return scene.ink()


DRAWINGS: Drawings = {
    "substrate": {
        "living-trunk": _living_trunk,
        "tree-base": _tree_base,
        "dead-standing": _dead_standing,
        "stump": _stump,
        "fallen-wood": _fallen_wood,
        "twigs-chips": _twigs_chips,
        "buried-wood": _buried_wood,
        "woodland-soil": _woodland_soil,
        "litter": _litter,
        "grass": _grass,
        "moss": _moss,
        "burnt-ground": _burnt_ground,
        "sand": _sand,
        "dung": _dung,
        "cone": _cone,
        "fungus": _fungus,
        "insect": _insect,
        "underground": _underground,
    },
}
