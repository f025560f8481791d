"""What a fruitbody stands on and what lies behind it: litter, grass, wood; or a board to lay it on."""

from __future__ import annotations

import functools
import itertools
from typing import TYPE_CHECKING

import numpy as np

from trug.demo.painting.brush import Brush, Colour, Points, column, dome, ellipse, flat, mix

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["board", "foreground", "ground_of", "outdoors"]

WIDTH_PX, HEIGHT_PX = 900, 675
#: Where far and near ground meet [pixels from the top].
HORIZON_PX = 330

_WOOD = frozenset(["living-trunk", "tree-base", "dead-standing", "stump", "fallen-wood"])
_GRASS = frozenset(["grass", "moss", "dung", "sand"])
_FAR: dict[str, tuple[Colour, Colour]] = {  # sky side, ground side
    "litter": ((92, 106, 84), (62, 58, 40)),
    "grass": ((150, 170, 158), (84, 106, 58)),
    "wood": ((74, 88, 74), (44, 46, 34)),
}
_NEAR: dict[str, Colour] = {"litter": (88, 66, 44), "grass": (72, 92, 44), "wood": (66, 56, 40)}
#: Leaves are painted once in so many sizes and kinds, then strewn.
_DEPTHS, _LEAF_KINDS = 6, 18
_LEAVES: tuple[Colour, ...] = (
    (142, 98, 52),
    (118, 76, 44),
    (166, 124, 66),
    (94, 66, 44),
    (150, 82, 42),
    (122, 112, 60),
)
_GREENS: tuple[Colour, ...] = ((88, 122, 52), (112, 142, 62), (70, 100, 46), (134, 150, 82))


def ground_of(substrate: str) -> str:
    """Return the ground to paint for a state of ``substrate``: ``wood``, ``grass`` or ``litter``."""
    return "wood" if substrate in _WOOD else "grass" if substrate in _GRASS else "litter"


def outdoors(ground: str, rng: np.random.Generator) -> Brush:
    """Return a canvas with the far wood or meadow out of focus and the near ground in it."""
    brush = Brush(_far(ground, rng), rng)
    near = np.array(
        [[-5, HORIZON_PX + 30], [250, HORIZON_PX + 8], [560, HORIZON_PX + 22], [905, HORIZON_PX], [905, 680], [-5, 680]]
    )
    brush.fill(near, _NEAR[ground], lambda u, v: 0.72 + 0.2 * v + 0.0 * u, grain=0.1, edge=0)
    if ground == "grass":
        _grass(brush, HORIZON_PX + 10, 560, 240)
    else:
        _leaves(brush, HORIZON_PX + 25, 670, 100 if ground == "litter" else 60)
    if ground == "wood":
        _log(brush)
    return brush


def foreground(brush: Brush, ground: str, x: float, y: float) -> None:
    """Lay leaves or blades over the foot of a fruitbody that stands at (x, y), so that it stands in the ground."""
    if ground == "grass":
        _grass(brush, y - 4, y + 26, 26, around=x)
    elif ground == "litter":
        _leaves(brush, y + 4, y + 26, 7, around=x)


def board(rng: np.random.Generator, colour: Colour) -> Brush:
    """Return a canvas that is a wooden board seen from above."""
    return Brush(_planks(colour).copy(), rng)


@functools.cache
def _planks(colour: Colour) -> Image:
    from PIL import Image

    rng = np.random.default_rng(11)
    brush = Brush(Image.new("RGB", (WIDTH_PX, HEIGHT_PX)), rng)
    for top, bottom in itertools.pairwise((-5, 150, 345, 520, 680)):
        plank = np.array([[-5, top], [905, top], [905, bottom], [-5, bottom]])
        within = brush.fill(plank, mix(colour, (120, 90, 60), rng.uniform(0, 0.2)), flat, grain=0.03, edge=0.5)
        for _ in range(9):
            y, sway = rng.uniform(top, bottom), rng.uniform(-9, 9)
            vein = [(x, y + sway * np.sin(x / 260 + sway)) for x in range(-10, 920, 30)]
            brush.lines(within, [vein], (110, 80, 50), 0.22, width=3)
    return brush.image


def _far(ground: str, rng: np.random.Generator) -> Image:
    """Return the background, painted small and brought up, which is what makes it soft."""
    from PIL import Image, ImageDraw, ImageFilter

    top, bottom = _FAR[ground]
    small = Image.new("RGB", (150, 112))
    draw = ImageDraw.Draw(small)
    for row in range(112):
        draw.line([(0, row), (150, row)], fill=_solid(mix(top, bottom, min(1, row / 60))))
    for _ in range(34):
        x, y, size = rng.uniform(0, 150), rng.uniform(0, 50), rng.uniform(2, 8)
        light = mix(top, (236, 232, 180), rng.uniform(0.1, 0.45))
        draw.ellipse([x - size, y - size, x + size, y + size], fill=_solid(light))
    if ground != "grass":
        for x in rng.uniform(0, 150, 9):
            wide, far = rng.uniform(1.2, 6), rng.uniform(0, 0.6)
            draw.rectangle([x - wide, 0, x + wide, 58], fill=_solid(mix((46, 42, 32), top, far)))
    small = small.filter(ImageFilter.GaussianBlur(2.2))
    return small.resize((WIDTH_PX, HEIGHT_PX), Image.Resampling.BICUBIC)


def _solid(colour: Colour) -> tuple[int, int, int]:
    r, g, b = colour
    return round(r), round(g), round(b)


def _leaves(brush: Brush, top: float, bottom: float, count: int, around: float | None = None) -> None:
    """Strew leaves, far ones smaller and darker."""
    rng = brush.rng
    for y in np.sort(rng.uniform(top, bottom, count)):
        depth = round(float(np.clip((y - HORIZON_PX) / (HEIGHT_PX - HORIZON_PX), 0, 1)) * (_DEPTHS - 1))
        x = rng.uniform(-20, WIDTH_PX + 20) if around is None else around + rng.normal(0, 48)
        leaf, mask = _painted_leaf(depth, int(rng.integers(_LEAF_KINDS)))
        brush.image.paste(leaf, (round(x) - leaf.width // 2, round(y) - leaf.height // 2), mask)


@functools.cache
def _painted_leaf(depth: int, kind: int) -> tuple[Image, Image]:
    """Return a leaf with its midrib, and its mask; ``depth`` 0 is the farthest."""
    from PIL import Image

    rng = np.random.default_rng([depth, kind])
    near = depth / (_DEPTHS - 1)
    long = (16 + 46 * near) * rng.uniform(0.7, 1.2)
    brush = Brush(Image.new("RGB", (180, 180)), rng)
    colour = mix(_LEAVES[kind % len(_LEAVES)], (40, 30, 20), 0.5 - 0.42 * near)
    blade = _leaf(90, 90, long, rng.uniform(0.3, 0.48), rng.uniform(0, 6.3))
    within = brush.fill(blade, colour, flat, grain=0.07, edge=0.45)
    rib = (blade[0], blade[len(blade) // 2])
    brush.lines(within, [rib], mix(colour, (240, 210, 160), 0.4), 0.6, width=3)
    box, mask = within or ((0, 0, 1, 1), Image.new("L", (1, 1)))
    return brush.image.crop(box), mask


@functools.cache
def _leaf_outline() -> Points:
    t = np.linspace(0, 1, 9)
    side = np.sin(np.pi * t**0.8) * (1 + 0.12 * np.cos(6 * np.pi * t))
    upper, lower = np.stack([2 * t - 1, side], axis=1), np.stack([2 * t - 1, -side], axis=1)
    return np.vstack([upper, lower[-2:0:-1]])


def _leaf(x: float, y: float, long: float, wide: float, turn: float) -> Points:
    points = _leaf_outline() * (long, long * wide)
    c, s = np.cos(turn), np.sin(turn)
    turned: Points = points @ np.array([[c, s], [-s, c]])
    slanted: Points = turned * np.array([1, 0.62]) + np.array([x, y])  # the ground is seen at a slant
    return slanted


def _grass(brush: Brush, top: float, bottom: float, count: int, around: float | None = None) -> None:
    """Draw blades, far ones first."""
    rng = brush.rng
    per_colour: dict[Colour, list[Points]] = {}
    for y in np.sort(rng.uniform(top, bottom, count)):
        near = np.clip((y - HORIZON_PX) / 240, 0.1, 1)
        x = rng.uniform(0, WIDTH_PX) if around is None else around + rng.normal(0, 55)
        tall = (22 + 60 * near) * rng.uniform(0.5, 1.1) * (1 if around is None else 0.6)
        bend = rng.normal(0, 0.35) * tall
        t = np.linspace(0, 1, 6)
        wide = (1.0 + 2.4 * near) * (1 - t)
        mid, up = x + bend * t**2, y - tall * t
        blade = np.vstack([np.stack([mid - wide, up], 1), np.stack([mid + wide, up], 1)[::-1]])
        shade = mix(_GREENS[rng.integers(len(_GREENS))], (36, 48, 26), round(0.6 - 0.55 * near, 1))
        per_colour.setdefault(shade, []).append(blade)
    for colour, blades in per_colour.items():
        reach = np.vstack(blades)
        brush.patches(brush.everywhere(reach), blades, colour, 0.9)


def _log(brush: Brush) -> None:
    """Lay a fallen trunk across, with bark and moss."""
    rng = brush.rng
    x = np.linspace(-20, 920, 24)
    upper = 392 + 10 * np.sin(x / 170 + rng.uniform(0, 6)) + rng.normal(0, 2.5, 24)
    lower = 628 + 8 * np.sin(x / 210 + rng.uniform(0, 6)) + rng.normal(0, 3, 24)
    brush.shadow(450, 640, 620, 60, 0.7)
    outline = np.vstack([np.stack([x, upper], 1), np.stack([x, lower], 1)[::-1]])
    within = brush.fill(outline, (104, 84, 62), lambda u, v: column(v, u * 0 + 1), grain=0.12)
    cracks = []
    for _ in range(90):
        cx, cy, long = rng.uniform(0, 900), rng.uniform(400, 625), rng.uniform(20, 90)
        cracks.append([(cx + long * t, cy + 4 * np.sin(9 * t + cx)) for t in np.linspace(0, 1, 6)])
    brush.lines(within, cracks, (48, 36, 26), 0.6, width=5)
    for _ in range(9):
        cx, size = rng.uniform(0, 900), rng.uniform(30, 80)
        moss = ellipse(cx, 400 + rng.uniform(-4, 16), size, size * 0.2, wobble=0.1, seed=cx)
        brush.fill(moss, (88, 110, 48), dome, grain=0.22, edge=0.1)
