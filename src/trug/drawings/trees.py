"""Trees: broadleaved or conifer, and how the buds stand. Their bark is in `trug.drawings.bark`."""

from __future__ import annotations

from trug.drawings.landscape import Landscape, Shape, blade, leaf
from trug.drawings.model import Drawings
from trug.drawings.stroke import (
    arc,
    ellipse,
    fine,
    hair,
    main,
    mirrored,
    outside,
    smooth,
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
        scars.append(smooth((45.8, y + 2.6), (48, y + 3.6), (50.2, y + 2.6)))
    return _twig(buds, scars)


def _alternate() -> str:
    buds, scars = [], []
    for k, y in enumerate((38, 52, 66, 80, 92)):
        side = 1 if k % 2 else -1
        buds.append(_bud(48 + side * 4.2, y, side * 42))
        scars.append(smooth((48 + side * 2.4, y + 2.6), (48 + side * 1, y + 3.5), (48 - side * 0.6, y + 2.6)))
    return _twig(buds, scars)


def _needles() -> str:
    needles: list[Shape] = []
    for k in range(17):
        y = 90 - k * 4.6
        for side in (-1, 1):
            length = 30 - k * 0.7
            needles.append(
                smooth(
                    (48 + side * (2 + (y - 22) / 36), y),
                    (48 + side * length * 0.55, y - 7),
                    (48 + side * length, y - 15),
                )
            )
    needles += [smooth((48 + d / 4, 19), (48 + d, 10), (48 + d * 1.6, 3)) for d in (-6, -2, 2, 6)]
    return main([_TWIG_LEFT, mirrored(_TWIG_LEFT), arc(48, 22, 2, 2, 180, 360)]) + hair(needles, 2.2)


def _no_twig() -> str:
    """Draw a twig broken off short, with nothing on it."""
    stub = [smooth((42, 94), (43, 74), (43.5, 58)), smooth((54, 94), (53, 74), (52.5, 62))]
    torn = straight((43.5, 58), (45.5, 50), (47, 57), (49, 46), (50.5, 56), (52.5, 62))
    return main([*stub, torn]) + fine([smooth((47, 64), (47, 80)), smooth((50, 70), (50, 88))])


DRAWINGS: Drawings = {
    "wood_kind": {"broadleaved": _broadleaved, "conifer": _conifer, "no-trees": _no_trees},
    "tree_buds": {
        "opposite": _opposite,
        "alternate": _alternate,
        "needles-or-scales": _needles,
        "none-to-be-seen": _no_twig,
    },
}
