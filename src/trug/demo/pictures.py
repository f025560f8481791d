"""Photos for the demonstration, drawn by code from the states of a find. Nothing in them was ever in a wood."""

from __future__ import annotations

import datetime
import functools
import io
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from trug.characters import load_vocabulary
from trug.demo.painting.brush import Brush, Colour, mix, srgb
from trug.errors import ImplausibleError, InputError, TrugError, UnknownWordError

if TYPE_CHECKING:
    from PIL.Image import Exif
    from PIL.ImageFont import FreeTypeFont, ImageFont

    from trug.demo.painting.fruitbody import Body

__all__ = ["LABEL", "MOST_BYTES", "VIEWS", "picture"]

VIEWS = ("habit", "underside", "section", "print")
#: Stands in a corner of every picture.
LABEL = "drawn by code, invented"
#: No picture is larger [bytes].
MOST_BYTES = 120_000

#: The character that each part takes its colour from, and the palette colour where that is not told.
_PARTS = {
    "cap": ("cap_colour", "tan"),
    "stipe": ("stipe_colour", "cream"),
    "hymenophore": ("hymenophore_colour", "cream"),
    "flesh": ("flesh_colour", "white"),
    "volva": ("volva_colour", "white"),
}
#: CIELAB of thick spore prints, middle of what each state of ``spore_print`` means (from memory, as in the palette).
_PRINTS: dict[str, tuple[float, float, float]] = {
    "white": (95, 0, 2),
    "cream": (91, 1, 14),
    "pale-lilac": (78, 8, -8),
    "yellow": (80, 6, 45),
    "salmon-pink": (70, 20, 18),
    "clay-brown": (56, 12, 28),
    "rust-brown": (45, 28, 42),
    "dull-brown": (42, 12, 22),
    "olive-brown": (44, 4, 26),
    "purple-brown": (28, 14, 2),
    "chocolate": (24, 12, 10),
    "black": (10, 1, 0),
    "green": (62, -12, 18),
}
#: Sizes that set the proportions [mm], and what is taken where they are not told.
_SIZES = {"cap_width": 80.0, "stipe_length": 90.0, "stipe_width": 14.0}
_STAGE_SIZE = {"egg": 0.55, "button": 0.6, "young": 0.8}
_YOUNG_CAPS = {"button": "rounded", "young": "convex"}

#: Where fruitbodies stand: foot (x, y) [pixels], size, lean. The back ones come first.
_Stand = tuple[float, float, float, float]
_STANDS: dict[str, tuple[_Stand, ...]] = {
    "single": ((450, 580, 1.0, 0.04),),
    "scattered": ((655, 520, 0.62, 0.06), (345, 590, 0.86, -0.05)),
    "trooping": (
        (240, 468, 0.42, -0.05),
        (690, 480, 0.46, 0.06),
        (470, 500, 0.52, 0.0),
        (640, 585, 0.62, 0.08),
        (280, 600, 0.7, -0.06),
    ),
    "tufted": (
        (395, 548, 0.6, -0.5),
        (505, 548, 0.62, 0.45),
        (430, 556, 0.78, -0.16),
        (480, 566, 0.68, 0.2),
        (450, 576, 0.56, 0.02),
        (412, 578, 0.42, -0.5),
        (500, 580, 0.44, 0.45),
    ),
    "tiered": ((360, 470, 0.75, 0.0), (545, 505, 0.85, 0.0), (420, 572, 0.95, 0.0)),
    "ring": (
        (450, 430, 0.36, 0.0),
        (250, 452, 0.4, -0.03),
        (655, 455, 0.4, 0.03),
        (150, 515, 0.46, -0.06),
        (755, 520, 0.47, 0.06),
        (290, 592, 0.55, -0.03),
        (600, 598, 0.56, 0.04),
    ),
}
#: The tallest fruitbody and the widest half cap that fit [pixels].
_TALLEST_PX, _WIDEST_PX = 440.0, 210.0


def picture(
    shape: Mapping[str, str | float],
    seed: int,
    view: str = "habit",
    *,
    taken: datetime.datetime | None = None,
    position: tuple[float, float] | None = None,
) -> bytes:
    """Return a JPEG, 900 by 675 pixels, of a mushroom with these states; the same bytes for the same seed.

    Parameters
    ----------
    shape : mapping
        Characters and their states, such as ``{"cap_shape": "convex", "cap_colour": "red", "ring": "skirt"}``;
        ``stage``; and ``cap_width``, ``stipe_length``, ``stipe_width`` as numbers [mm] for the proportions.
        Characters that cannot be drawn are passed over.
    view : str
        ``habit`` as it grows, ``underside``, ``section`` (cut lengthwise) or ``print`` (on white and dark paper).
    taken : datetime, optional
        Written as DateTimeOriginal, and OffsetTimeOriginal if it has a zone.
    position : (latitude, longitude), optional
        Written as GPS tags [degrees]; as invented as the picture.

    Raises
    ------
    InputError
        An unknown view, state or stage, a size that is not positive, or a position off the Earth.
    TrugError
        The extra ``photo`` is not installed.
    """
    try:
        import PIL  # noqa: F401
    except ImportError:
        raise TrugError("pictures need an extra that is not installed: pip install 'trug[photo]'") from None
    if view not in VIEWS:
        raise InputError(f"there is no view {view!r}; choose one of {', '.join(VIEWS)}")
    states, sizes = _checked(shape)
    rng = np.random.default_rng(seed)
    brush = _habit(states, sizes, rng) if view == "habit" else _on_the_board(view, states, sizes, rng)
    _sign(brush)
    return _encode(brush, _exif(taken, position))


def _checked(shape: Mapping[str, str | float]) -> tuple[dict[str, str], dict[str, float]]:
    """Return states and sizes, having compared each word with the vocabulary."""
    from trug.characters.model import STAGES

    characters = load_vocabulary().characters
    states: dict[str, str] = {}
    sizes = dict(_SIZES)
    for code, value in shape.items():
        if code in _SIZES:
            if not isinstance(value, (int, float)) or not 0 < value < 5000:
                raise ImplausibleError(f"{code} must be a size in mm, got {value!r}")
            sizes[code] = float(value)
        elif isinstance(value, str):
            known = STAGES if code == "stage" else characters[code].codes if code in characters else ()
            if value not in known:
                raise UnknownWordError(f"{code} has no state {value!r}; see 'trug characters {code}'")
            states[code] = value
    return states, sizes


def _habit(states: dict[str, str], sizes: dict[str, float], rng: np.random.Generator) -> Brush:
    """Paint the fruitbodies as they grow."""
    from trug.demo.painting import forms, ground

    shelved = states.get("fruitbody_form") in ("shelf", "bracket", "crust", "jelly", "spine-beard")
    where = ground.ground_of(states.get("substrate", "fallen-wood" if shelved else "litter"))
    manner = states.get("growth_manner", "single")
    stands = _STANDS["tufted" if manner == "tiered" and not shelved else manner]
    brush = ground.outdoors(where, rng)
    for stand in stands:
        body = _body(states, sizes, stand, rng, lift=70.0 if where == "wood" and not shelved else 0.0)
        if not shelved:
            brush.shadow(
                body.x + body.cap * 0.12, body.y + 4, max(body.cap * 0.9, body.thick * 2), body.cap * 0.2 + 8, 0.6
            )
        forms.paint(brush, body)
        if not shelved and states.get("volva", "absent") == "absent":
            ground.foreground(brush, where, body.x, body.y)
    return brush


def _on_the_board(view: str, states: dict[str, str], sizes: dict[str, float], rng: np.random.Generator) -> Brush:
    """Paint one fruitbody taken home."""
    from trug.demo.painting import faces, ground

    pale = view == "print"
    brush = ground.board(rng, (176, 168, 156) if pale else (148, 122, 92))
    body = _body(states, sizes, (450, 590, 1.08, 0.0), rng)
    paint = {"underside": faces.underside, "section": faces.section, "print": faces.spore_print}[view]
    paint(brush, body)
    return brush


def _body(
    states: dict[str, str], sizes: dict[str, float], stand: _Stand, rng: np.random.Generator, lift: float = 0.0
) -> Body:
    """Return a fruitbody in pixels: as large as fits, its proportions as measured, a little different each time."""
    from trug.demo.painting.fruitbody import Body, cap_height

    x, y, size, lean = stand
    stage = states.get("stage", "prime")
    states = states | ({"cap_shape": _YOUNG_CAPS[stage]} if stage in _YOUNG_CAPS else {})
    if stage == "egg" and states.get("fruitbody_form", "cap-and-stipe") == "cap-and-stipe":
        states["fruitbody_form"] = "egg"
    half, long, thick = sizes["cap_width"] / 2, sizes["stipe_length"], sizes["stipe_width"] / 2
    summit = float(cap_height(states.get("cap_shape", "convex"), np.zeros(1))[0])
    scale = min(_TALLEST_PX / (long + max(summit, 0.3) * half), _WIDEST_PX / half) * size * _STAGE_SIZE.get(stage, 1.0)
    scale *= rng.uniform(0.94, 1.04)
    colours = _colours(states)
    if stage == "past":
        colours = {part: mix(c, (92, 78, 60), 0.28) if part != "print" else c for part, c in colours.items()}
    foot = (x + rng.normal(0, 6), y - lift + rng.normal(0, 3))
    if stage == "button":
        half, long, thick = 0.62 * half, 0.55 * long, 1.3 * thick
    return Body(*foot, half * scale, long * scale, max(thick * scale, 3.0), lean + rng.normal(0, 0.02), states, colours)


def _colours(states: Mapping[str, str]) -> dict[str, Colour]:
    palette = load_vocabulary().palette
    colours = {part: srgb(palette[states.get(code, other)]) for part, (code, other) in _PARTS.items()}
    colours["print"] = srgb(_PRINTS[states.get("spore_print", "white")])
    return colours


def _sign(brush: Brush) -> None:
    """Write into the corner what the picture is."""
    from PIL import Image, ImageDraw

    font = _font()
    left, top, right, bottom = font.getbbox(LABEL)
    wide, high = round(right - left) + 20, round(bottom - top) + 14
    band = Image.new("RGB", (wide, high), (250, 247, 238))
    ImageDraw.Draw(band).text((10 - left, 7 - top), LABEL, fill=(60, 50, 40), font=font)
    brush.image.paste(band, (brush.image.width - wide - 12, brush.image.height - high - 12))


@functools.cache
def _font() -> ImageFont | FreeTypeFont:
    from PIL import ImageFont

    return ImageFont.load_default(15)


def _encode(brush: Brush, exif: Exif) -> bytes:
    """Return the JPEG, coded as finely as the size allows."""
    data = b""
    for quality in (86, 80, 72, 62, 50):
        out = io.BytesIO()
        brush.image.save(out, "JPEG", quality=quality, exif=exif)
        data = out.getvalue()
        if len(data) < MOST_BYTES:
            break
    return data


def _exif(taken: datetime.datetime | None, position: tuple[float, float] | None) -> Exif:
    """Return the tags of CIPA DC-008-2019 (EXIF 2.32) for a picture."""
    from PIL.Image import Exif

    exif = Exif()
    exif[0x010E] = LABEL  # ImageDescription
    exif[0x0131] = "trug"  # Software
    if taken is not None:
        stamps = exif.get_ifd(0x8769)
        stamps[0x9003] = taken.strftime("%Y:%m:%d %H:%M:%S")  # DateTimeOriginal
        if taken.tzinfo is not None:
            offset = taken.strftime("%z")
            stamps[0x9011] = f"{offset[:3]}:{offset[3:5]}"  # OffsetTimeOriginal
    if position is not None:
        latitude, longitude = position
        if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
            raise ImplausibleError("a position has a latitude of -90 to 90 and a longitude of -180 to 180 degrees")
        gps = exif.get_ifd(0x8825)
        gps[1], gps[2] = "N" if latitude >= 0 else "S", _degrees(latitude)  # GPSLatitudeRef, GPSLatitude
        gps[3], gps[4] = "E" if longitude >= 0 else "W", _degrees(longitude)  # GPSLongitudeRef, GPSLongitude
        gps[18] = "WGS-84"  # GPSMapDatum
    return exif


def _degrees(angle: float) -> tuple[float, float, float]:
    """Return degrees, minutes and seconds; the seconds to a thousandth, which is 3 cm on the ground."""
    thousandths = round(abs(angle) * 3_600_000)
    minutes, rest = divmod(thousandths, 60_000)
    return float(minutes // 60), float(minutes % 60), rest / 1000
