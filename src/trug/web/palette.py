"""Colours of the vocabulary as swatches on a page. A screen deceives: the word decides, the swatch helps to find it."""

from __future__ import annotations

import functools

from markupsafe import Markup, escape

from trug.characters import load_vocabulary

__all__ = ["srgb_of", "swatch"]

#: Colours named by looks that are not in the palette of fungi: prints, bruises, reagents.
ALIASES = {
    "pale-lilac": "lilac",
    "salmon-pink": "salmon",
    "clay-brown": "ochre",
    "dull-brown": "grey-brown",
    "olive-brown": "olive",
    "purple-brown": "wine",
    "chocolate": "dark-brown",
    "faint-brown": "buff",
    "faint-blue": "blue-grey",
    "pale-yellow": "pale-yellow",
    "bright-yellow": "yellow",
    "coloured-warts": "",
}


def srgb_of(lab: tuple[float, float, float]) -> str:
    """Return a CIELAB colour (D65) as the nearest sRGB one that a screen can show, ``#rrggbb`` (IEC 61966-2-1)."""
    lightness, a, b = lab
    fy = (lightness + 16) / 116
    fx, fz = fy + a / 500, fy - b / 200
    xyz = [
        white * (f**3 if f**3 > 216 / 24389 else (116 * f - 16) * 27 / 24389)
        for white, f in zip((0.95047, 1.0, 1.08883), (fx, fy, fz), strict=True)
    ]
    linear = (
        3.2404542 * xyz[0] - 1.5371385 * xyz[1] - 0.4985314 * xyz[2],
        -0.9692660 * xyz[0] + 1.8760108 * xyz[1] + 0.0415560 * xyz[2],
        0.0556434 * xyz[0] - 0.2040259 * xyz[1] + 1.0572252 * xyz[2],
    )
    out = []
    for c in linear:
        c = min(max(c, 0.0), 1.0)
        out.append(round(255 * (12.92 * c if c <= 0.0031308 else 1.055 * c ** (1 / 2.4) - 0.055)))
    return "#" + "".join(f"{v:02x}" for v in out)


@functools.cache
def colour_of(code: str) -> str | None:
    """Return the colour that a state names, None where it names none."""
    lab = load_vocabulary().palette.get(ALIASES.get(code, code))
    return None if lab is None else srgb_of(lab)


def swatch(code: str, size: int = 44) -> Markup:
    """Return a swatch of a named colour as SVG with a border, nothing where the state names no colour."""
    colour = colour_of(code)
    if colour is None:
        return Markup("")
    return Markup(
        '<svg class="swatch" aria-hidden="true" viewBox="0 0 44 44" width="{0}" height="{0}">'
        '<rect x="1" y="1" width="42" height="42" rx="6" fill="{1}" stroke="currentColor" stroke-width="1.5"/></svg>'
    ).format(size, escape(colour))
