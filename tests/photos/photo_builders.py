"""Photos for the tests, made by Pillow and pillow-heif, with tags written by piexif."""

from __future__ import annotations

import io
import struct
import zlib
from typing import Any

import numpy as np
import piexif
import pillow_heif
from PIL import Image, PngImagePlugin

KINDS = ("JPEG", "PNG", "WEBP", "HEIC")
#: Somewhere at sea, written the ways that a place can be written.
GPS = {
    piexif.GPSIFD.GPSLatitudeRef: b"S",
    piexif.GPSIFD.GPSLatitude: ((12, 1), (34, 1), (5678, 100)),
    piexif.GPSIFD.GPSLongitudeRef: b"W",
    piexif.GPSIFD.GPSLongitude: ((23, 1), (45, 1), (678, 100)),
}
PLACE_TEXTS = (b"-12.582439", b"23.751883", b"12,34.946333S", b"GPSLatitude", b"exif:GPS", b"Secret Wood")
XMP = (
    b'<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF '
    b'xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description '
    b'xmlns:exif="http://ns.adobe.com/exif/1.0/" exif:GPSLatitude="12,34.946333S" exif:GPSLongitude="23,45.113W">'
    b'</rdf:Description></rdf:RDF></x:xmpmeta><?xpacket end="w"?>'
)


def scene(width: int = 64, height: int = 48) -> Image.Image:
    """A smooth picture whose upper left quarter is red, so that its way up can be told."""
    y, x = np.mgrid[0:height, 0:width]
    pixels = np.stack([60 + 0 * x, 60 + 120 * x // width, 80 + 120 * y // height], axis=-1).astype(np.uint8)
    pixels[: height // 2, : width // 2] = (220, 30, 30)
    return Image.fromarray(pixels)


def exif_bytes(
    *, gps: dict[int, Any] | None = None, exif: dict[int, Any] | None = None, zeroth: dict[int, Any] | None = None
) -> bytes:
    made: bytes = piexif.dump({"0th": zeroth or {}, "Exif": exif or {}, "GPS": gps or {}})
    return made


def photo(kind: str, image: Image.Image | None = None, **extra: Any) -> bytes:
    """Return an image file of one kind; ``exif``, ``xmp`` and others go to its writer."""
    image = image or scene()
    out = io.BytesIO()
    if kind == "HEIC":
        pillow_heif.register_heif_opener()
        image.save(out, "HEIF", **({"quality": 90} | extra))
    elif kind == "PNG":
        info = PngImagePlugin.PngInfo()
        if "xmp" in extra:
            info.add_itxt("XML:com.adobe.xmp", extra.pop("xmp").decode(), zip=True)
        for word in extra.pop("texts", ()):
            info.add_text("Comment", word.decode(), zip=False)
            info.add_text("Location", word.decode(), zip=True)
        image.save(out, "PNG", pnginfo=info, **extra)
    else:
        image.save(out, kind, **({"quality": 92} | extra))
    return out.getvalue()


def png_of(width: int, height: int, body: bytes = b"") -> bytes:
    """Return a PNG that claims a size, whatever pixels it really has."""

    def chunk(name: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(body)) + chunk(b"IEND", b"")


def with_segment(jpeg: bytes, marker: int, payload: bytes) -> bytes:
    """Return a JPEG with one more segment behind its start."""
    return jpeg[:2] + bytes([0xFF, marker]) + struct.pack(">H", len(payload) + 2) + payload + jpeg[2:]


def opened(data: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(data))
    image.load()
    return image


def red_corner(data: bytes) -> str:
    """Return which corner of a JPEG is red."""
    pixels = np.asarray(opened(data).convert("RGB")).astype(int)
    high, wide = pixels.shape[0] // 8, pixels.shape[1] // 8
    corners = {
        "upper left": pixels[high, wide],
        "upper right": pixels[high, -wide],
        "lower left": pixels[-high, wide],
        "lower right": pixels[-high, -wide],
    }
    red = [name for name, (r, g, b) in corners.items() if r > 180 and g < 80 and b < 80]
    assert len(red) == 1, corners
    return red[0]
