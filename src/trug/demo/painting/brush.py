"""A canvas with one kind of stroke: a smooth mask through which shaded colour is laid on."""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

__all__ = ["Box", "Brush", "Colour", "Mask", "Points", "column", "dome", "ellipse", "flat", "mix", "srgb"]

Colour = tuple[float, float, float]
Points = NDArray[np.float64]
Field = NDArray[np.float32]
Box = tuple[int, int, int, int]
#: Where a stroke went: its box on the canvas and how much of each pixel it covered.
Mask = tuple[Box, "Image"]
#: Brightness from two fields over a box: left to right and top to bottom, each -1 to 1.
Light = Callable[[Field, Field], Field]

#: Turns points of the canvas into points of a mask.
At = Callable[[Any], list[tuple[float, float]]]
Draw = Callable[["ImageDraw", At], None]

#: Strokes are drawn this many times larger and brought down, for soft edges.
_FINER = 2
_TILE_PX = 1024
_WHITE_D65 = (0.95047, 1.0, 1.08883)
#: IEC 61966-2-1, XYZ to linear sRGB.
_TO_RGB = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])


def srgb(lab: Sequence[float]) -> Colour:
    """Return a CIELAB colour (D65) as sRGB, 0 to 255; what no screen shows is brought to the nearest channel end."""
    fy = (lab[0] + 16) / 116
    f = np.array([fy + lab[1] / 500, fy, fy - lab[2] / 200])
    xyz = np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29)) * _WHITE_D65
    linear = np.clip(_TO_RGB @ xyz, 0, 1)
    curved = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    r, g, b = (255 * curved).tolist()
    return r, g, b


def mix(one: Colour, other: Colour, part: float) -> Colour:
    """Return a colour that lies ``part`` [0..1] of the way from one to the other."""
    r, g, b = (a + (c - a) * part for a, c in zip(one, other, strict=True))
    return r, g, b


def ellipse(x: float, y: float, rx: float, ry: float, *, wobble: float = 0.0, seed: float = 0.0, n: int = 60) -> Points:
    """Return an outline round (x, y) [pixels], made uneven by a share ``wobble`` of its radius."""
    a = np.linspace(0, 2 * np.pi, n, endpoint=False)
    r = 1 + wobble * (np.sin(3 * a + seed) + 0.6 * np.sin(5 * a + 2.3 * seed) + 0.4 * np.sin(8 * a + 4.1 * seed))
    return np.stack([x + rx * r * np.cos(a), y + ry * r * np.sin(a)], axis=1)


def flat(u: Field, v: Field) -> Field:
    """Light of a level face: a little brighter to the upper left."""
    return (1.0 - 0.06 * u - 0.06 * v).astype(np.float32)


def dome(u: Field, v: Field) -> Field:
    """Light of something round, lit from the upper left."""
    return (1.16 - 0.24 * ((u + 0.35) ** 2 + (v + 0.45) ** 2)).astype(np.float32)


def column(u: Field, v: Field) -> Field:
    """Light of something round and upright, lit from the left; darkest at the very top, below a cap."""
    return (1.08 - 0.32 * (u + 0.3) ** 2 - 0.22 * np.exp(-(v + 1) * 5)).astype(np.float32)


@functools.cache
def _grain() -> tuple[Field, Field]:
    """Return tiles of fine grain and of soft blotches, about -1 to 1."""
    from PIL import Image

    rng = np.random.default_rng(7)
    fine = rng.normal(0, 0.6, (_TILE_PX, _TILE_PX)).astype(np.float32)
    soft = np.zeros_like(fine)
    for cells, weight in ((24, 0.6), (64, 0.4), (160, 0.25)):
        small = Image.fromarray(rng.normal(0, 1, (cells, cells)).astype(np.float32))
        soft += weight * np.asarray(small.resize((_TILE_PX, _TILE_PX), Image.Resampling.BICUBIC))
    return fine, soft


class Brush:
    """A picture being painted, and the chance that makes it uneven."""

    def __init__(self, image: Image, rng: np.random.Generator) -> None:
        self.image = image
        self.rng = rng

    def fill(
        self,
        points: Points,
        colour: Colour,
        light: Light = dome,
        *,
        grain: float = 0.05,
        edge: float = 0.4,
        to: Colour | None = None,
    ) -> Mask | None:
        """Fill an outline; return where, or None where nothing of it lies on the canvas.

        ``grain`` is the unevenness [share of brightness]; ``edge`` how dark the line round it is [0..1];
        ``to`` is the colour that it turns into from top to bottom.
        """
        box = self._box(points)
        if box is None:
            return None
        x0, y0, x1, y1 = box
        mask = self._mask(box, lambda pen, at: pen.polygon(at(points), fill=255))
        u = np.linspace(-1, 1, x1 - x0, dtype=np.float32)[None, :]
        v = np.linspace(-1, 1, y1 - y0, dtype=np.float32)[:, None]
        bright = np.broadcast_to(light(u, v), (y1 - y0, x1 - x0)) + self._noise(y1 - y0, x1 - x0, grain)
        self._lay(box, mask, bright, colour, to)
        if edge:
            ring = np.vstack([points, points[:1]])
            dark = mix(colour, (30, 20, 15), 0.75)
            self.lines((box, mask), [ring], dark, edge, width=4)
        return box, mask

    def lines(
        self, within: Mask | None, paths: Sequence[Any], colour: Colour, strength: float = 1.0, *, width: int = 2
    ) -> None:
        """Draw lines inside an earlier stroke.

        ``strength`` is how much they cover [0..1], ``width`` their width [half pixels].
        """

        def draw(pen: ImageDraw, at: At) -> None:
            for path in paths:
                pen.line(at(path), fill=round(255 * strength), width=width, joint="curve")

        self._ink(within, draw, colour)

    def patches(self, within: Mask | None, outlines: Sequence[Any], colour: Colour, strength: float = 1.0) -> None:
        """Fill many small outlines inside an earlier stroke, in one level colour."""

        def draw(pen: ImageDraw, at: At) -> None:
            for outline in outlines:
                pen.polygon(at(outline), fill=round(255 * strength))

        self._ink(within, draw, colour)

    def everywhere(self, points: Points) -> Mask | None:
        """Return a stroke's place that covers the whole box round these points."""
        from PIL import Image

        box = self._box(points)
        return (box, Image.new("L", (box[2] - box[0], box[3] - box[1]), 255)) if box else None

    def shadow(self, x: float, y: float, rx: float, ry: float, strength: float = 0.5) -> None:
        """Darken the ground round (x, y), softly."""
        box = self._box(np.array([[x - rx, y - ry], [x + rx, y + ry]]))
        if box is None:
            return
        from PIL import Image

        u = (np.arange(box[0], box[2])[None, :] - x) / rx
        v = (np.arange(box[1], box[3])[:, None] - y) / ry
        dark = np.clip(1 - (u * u + v * v), 0, 1) * 255 * strength
        self.image.paste((18, 14, 8), box, Image.fromarray(dark.astype(np.uint8)))

    def _ink(self, within: Mask | None, draw: Draw, colour: Colour) -> None:
        from PIL import ImageChops

        if within is None:
            return
        box, mask = within
        laid = ImageChops.multiply(self._mask(box, draw), mask)
        r, g, b = (round(c) for c in colour)
        self.image.paste((r, g, b), box, laid)

    def _lay(self, box: Box, mask: Image, bright: Field, colour: Colour, to: Colour | None) -> None:
        from PIL import Image

        base: Field = np.asarray(colour, np.float32)[None, None, :]
        if to is not None:
            part = np.linspace(0, 1, box[3] - box[1], dtype=np.float32)[:, None, None]
            base = (base + (np.asarray(to, np.float32) - base) * part).astype(np.float32)
        over = np.clip(bright - 1, 0, 0.5).astype(np.float32)[:, :, None]
        pixels = base * np.minimum(bright, 1)[:, :, None] + (255 - base) * over
        self.image.paste(Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)), box, mask)

    def _noise(self, height: int, width: int, grain: float) -> Field:
        fine, soft = _grain()
        y, x = self.rng.integers(0, _TILE_PX - height), self.rng.integers(0, _TILE_PX - width)
        spot = np.s_[y : y + height, x : x + width]
        noise: Field = (grain * (soft[spot] + 0.35 * fine[spot])).astype(np.float32)
        return noise

    def _box(self, points: Points) -> Box | None:
        low, high = points.min(axis=0) - 3, points.max(axis=0) + 4
        x0, y0 = max(0, int(low[0])), max(0, int(low[1]))
        x1, y1 = min(self.image.width, int(high[0])), min(self.image.height, int(high[1]))
        return (x0, y0, x1, y1) if x1 - x0 > 1 and y1 - y0 > 1 else None

    def _mask(self, box: Box, draw: Draw) -> Image:
        from PIL import Image, ImageDraw

        x0, y0, x1, y1 = box
        large = Image.new("L", ((x1 - x0) * _FINER, (y1 - y0) * _FINER), 0)

        def at(points: Any) -> list[tuple[float, float]]:
            """Return canvas points as points of the mask."""
            return [((x - x0) * _FINER, (y - y0) * _FINER) for x, y in points]

        draw(ImageDraw.Draw(large), at)
        return large.reduce(_FINER)
