"""Look into a photo by its content, and draw it smaller or as JPEG, without trusting a byte of it."""

from __future__ import annotations

import datetime
import io
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from trug.errors import InputError, TrugError
from trug.records.photos import jpeg
from trug.records.photos.exif import Position, camera_of, orientation_of, position_of, taken_of

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageFile import ImageFile

__all__ = ["MOST_BYTES", "MOST_PIXELS", "Picture", "as_jpeg", "check_size", "inspect", "thumbnail"]

#: Larger files are refused before they are looked into [bytes].
MOST_BYTES = 40_000_000
#: Larger pictures are refused before they are decoded [pixels].
MOST_PIXELS = 60_000_000
#: A progressive JPEG has about ten scans; each costs a pass over all pixels.
MOST_SCANS = 100
#: Of JPEGs for showing and for others: the mean colour of a patch of 32 pixels square moves by less than 0.2 CIELAB
#: units, single pixels by 0.4 on average.
QUALITY = 92
_THUMBNAIL_QUALITY = 85
#: Longest side of a thumbnail [pixels].
THUMBNAIL_PX = (16, 4096)

EXIF_IFD, GPS_IFD = 0x8769, 0x8825

#: ISO/IEC 23008-12: brands of single pictures coded in HEVC; of sequences; of pictures in any code.
_HEIC, _SEQUENCE, _ANY = {b"heic", b"heix", b"heim", b"heis"}, {b"hevc", b"hevx", b"hevm", b"hevs", b"msf1"}, b"mif1"
_OTHER = (
    (b"GIF8", "a GIF picture"),
    (b"BM", "a BMP picture"),
    (b"II*\x00", "a TIFF or raw picture"),
    (b"MM\x00*", "a TIFF or raw picture"),
    (b"%PDF", "a PDF document"),
    (b"PK\x03\x04", "a packed folder"),
)
_PAGE = re.compile(rb"(\xef\xbb\xbf)?\s*<", re.ASCII)
#: Words of a web page that no photo holds; long enough not to turn up in pixels by chance.
_PAGE_CODE = re.compile(
    rb"<script|<iframe|<!doctype|</html|</body|<object\s|<embed\s|onerror\s*=|javascript:|http://www\.w3\.org/2000/svg",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Picture:
    """What a photo says of itself.

    ``width`` and ``height`` are those of the upright picture [pixels]. ``orientation`` is the EXIF value
    1 to 8 that the stored pixels still need; for HEIC it is 1, since there the container turns the pixels.
    ``taken`` has a zone only if the device wrote one.
    """

    media_type: str
    width: int
    height: int
    taken: datetime.datetime | None
    position: Position | None
    orientation: int
    camera: str


def inspect(data: bytes) -> Picture:
    """Return what a photo is, after decoding it once in full; its name is never asked.

    Raises
    ------
    InputError
        No JPEG, PNG, WebP or HEIC; cut short or damaged; more than ``MOST_BYTES`` or ``MOST_PIXELS``;
        several pictures in one file; the code of a web page in it.
    TrugError
        The extra ``photo`` is not installed.
    """
    kind = _kind(data)
    if _PAGE_CODE.search(data):
        raise InputError("the file holds the code of a web page; open the photo, save it anew as JPEG and add that")
    image = _open(data, kind)
    tags, exif, gps = _tags(image)
    _load(image)
    orientation = _orientation(image, kind)
    width, height = image.size if orientation < 5 else image.size[::-1]
    return Picture(kind, width, height, taken_of(exif), position_of(gps), orientation, camera_of(tags))


def thumbnail(data: bytes, longest_px: int) -> bytes:
    """Return the photo as an upright JPEG without any metadata, no side longer than ``longest_px`` [16..4096].

    A smaller photo keeps its size. Raises as ``inspect`` does.
    """
    if not THUMBNAIL_PX[0] <= longest_px <= THUMBNAIL_PX[1]:
        raise InputError(f"a thumbnail has {THUMBNAIL_PX[0]} to {THUMBNAIL_PX[1]} pixels on its long side")
    return _render(data, longest_px, _THUMBNAIL_QUALITY, "4:2:0")


def as_jpeg(data: bytes) -> bytes:
    """Return the photo at full size as an upright sRGB JPEG without any metadata, which every browser shows.

    Raises as ``inspect`` does.
    """
    return _render(data, None, QUALITY, "4:4:4")


def check_size(data: bytes) -> None:
    """Refuse an empty file and one of more than ``MOST_BYTES``."""
    if not data:
        raise InputError("the photo is empty (0 bytes); send it again from the device that took it")
    if len(data) > MOST_BYTES:
        raise InputError(
            f"the photo has {len(data) / 1e6:.0f} MB, more than the {MOST_BYTES // 1_000_000} MB that are kept; "
            "save it smaller and add it again"
        )


def _kind(data: bytes) -> str:
    """Return the media type that the first bytes tell."""
    check_size(data)
    if data.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "image/webp"
    if data[4:8] == b"ftyp":
        return _heif_kind(data)
    if _PAGE.match(data):
        raise InputError("this is a web page or a drawing, not a photo; add the photo itself (JPEG, PNG, WebP, HEIC)")
    for magic, name in _OTHER:
        if data.startswith(magic):
            raise InputError(f"this is {name}; save the photo as JPEG or PNG and add that")
    raise InputError("this is no photo that can be read; add a JPEG, PNG, WebP or HEIC file")


def _heif_kind(data: bytes) -> str:
    length = min(int.from_bytes(data[:4], "big"), 256)
    brands = {data[8:12], *(data[i : i + 4] for i in range(16, length, 4))}
    if data[8:12] in _SEQUENCE:
        raise _several()
    if brands & _HEIC:
        return "image/heic"
    if data[8:12] == _ANY and not brands & {b"avif", b"avis"}:
        return "image/heif"
    raise InputError("this is a film or a picture in a form that is not read; save the photo as JPEG and add that")


def _several() -> InputError:
    return InputError("the file holds several pictures (a burst or an animation); save the best one singly and add it")


def _damaged() -> InputError:
    return InputError("the photo is cut short or damaged; send it again from the device that took it")


def _check_pixels(size: tuple[int, int]) -> None:
    width, height = size
    if width < 1 or height < 1:
        raise InputError("the photo has no pixels; send it again from the device that took it")
    if width * height > MOST_PIXELS:
        raise InputError(
            f"the photo has {width} x {height} pixels, more than the {MOST_PIXELS // 1_000_000} million that are kept; "
            "save it smaller and add it again"
        )


def _open(data: bytes, kind: str) -> ImageFile:
    """Return the picture with its header read and its size checked, its pixels not yet decoded.

    The reader is named by kind: no other of Pillow's many readers ever sees the bytes.
    """
    if kind == "image/jpeg" and sum(m == jpeg.SOS for m, _ in jpeg.segments(data)) > MOST_SCANS:
        raise _damaged()
    if kind == "image/webp":
        _check_pixels(_webp_size(data))  # its reader takes the memory for all pixels at once
    reader = _reader(kind)
    try:
        image: ImageFile = reader(io.BytesIO(data))
        frames = getattr(image, "n_frames", 1)
    except Exception:  # damaged bytes make the readers raise almost anything
        raise _damaged() from None
    _check_pixels(image.size)
    if frames > 1 and not kind.startswith("image/hei"):  # of a HEIC collection the primary picture is meant
        raise _several()
    return image


def _reader(kind: str) -> Any:
    """Return the class that reads one kind of file."""
    try:
        if kind == "image/jpeg":
            from PIL.JpegImagePlugin import JpegImageFile

            return JpegImageFile
        if kind == "image/png":
            from PIL.PngImagePlugin import PngImageFile

            return PngImageFile
        if kind == "image/webp":
            from PIL.WebPImagePlugin import WebPImageFile

            return WebPImageFile
        from pillow_heif import HeifImageFile

        return HeifImageFile
    except ImportError:
        raise TrugError("photos need an extra that is not installed: pip install 'trug[photo]'") from None


def _webp_size(data: bytes) -> tuple[int, int]:
    """Return the size in a WebP header (RFC 9649, sections 2.5 to 2.7)."""
    form = data[12:16]
    if len(data) >= 30 and form == b"VP8X":
        return 1 + int.from_bytes(data[24:27], "little"), 1 + int.from_bytes(data[27:30], "little")
    if len(data) >= 30 and form == b"VP8 ":
        return int.from_bytes(data[26:28], "little") & 0x3FFF, int.from_bytes(data[28:30], "little") & 0x3FFF
    if len(data) >= 25 and form == b"VP8L":
        bits = int.from_bytes(data[21:25], "little")
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    raise _damaged()


def _load(image: ImageFile) -> None:
    try:
        image.load()
    except MemoryError:
        raise InputError("there is too little memory for this photo; save it smaller and add it again") from None
    except Exception:  # damaged bytes make the readers raise almost anything
        raise _damaged() from None


def _tags(image: ImageFile) -> tuple[dict[int, Any], dict[int, Any], dict[int, Any]]:
    """Return TIFF, EXIF and GPS tags; empty where they are damaged, since the pixels are still evidence."""
    try:
        exif = image.getexif()
        return dict(exif), dict(exif.get_ifd(EXIF_IFD)), dict(exif.get_ifd(GPS_IFD))
    except Exception:  # damaged tags make the reader raise almost anything
        return {}, {}, {}


def _orientation(image: ImageFile, kind: str) -> int:
    """Return what turns the decoded pixels upright; libheif has turned those of HEIC already."""
    return 1 if kind.startswith("image/hei") else orientation_of(_tags(image)[0])


def _render(data: bytes, longest_px: int | None, quality: int, subsampling: str) -> bytes:
    """Return a JPEG made of the pixels alone: a new picture, so that nothing of the file can come along."""
    kind = _kind(data)
    file = _open(data, kind)
    from PIL import Image

    if longest_px and kind == "image/jpeg":
        file.draft("RGB", (2 * longest_px, 2 * longest_px))  # decodes at 1/2, 1/4 or 1/8
    _load(file)
    profile = file.info.get("icc_profile")
    image: Image.Image = file
    if longest_px and max(file.size) > longest_px:
        scale = longest_px / max(file.size)
        size = (max(1, round(file.width * scale)), max(1, round(file.height * scale)))
        image = _plain(file).resize(size, Image.Resampling.LANCZOS, reducing_gap=2.0)
    image = _upright(_srgb(image, profile), _orientation(file, kind))
    clean = Image.new("RGB", image.size)
    clean.paste(image)
    out = io.BytesIO()
    clean.save(out, "JPEG", quality=quality, subsampling=subsampling, optimize=True)
    return out.getvalue()


def _plain(image: Image) -> Image:
    """Return the pixels in 8 bits, what is transparent on white; CMYK stays for its colour profile."""
    from PIL import Image as Pillow

    if image.mode.startswith(("I", "F")):
        import numpy as np

        return Pillow.fromarray((np.clip(np.asarray(image), 0, 65535) // 257).astype(np.uint8))
    if image.has_transparency_data:
        layer = image.convert("RGBA")
        return Pillow.alpha_composite(Pillow.new("RGBA", layer.size, "white"), layer).convert("RGB")
    return image if image.mode in ("RGB", "L", "CMYK") else image.convert("RGB")


def _srgb(image: Image, profile: bytes | None) -> Image:
    """Return the picture in sRGB, by its colour profile if it has one that can be read."""
    from PIL import ImageCms

    image = _plain(image)
    if profile:
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            turned = ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
            if turned is not None:
                return turned
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
            pass  # a broken profile, or one for other colours: show the numbers as they are
    return image.convert("RGB")


def _upright(image: Image, orientation: int) -> Image:
    """Return the picture turned and mirrored as EXIF tag 0x0112 asks."""
    from PIL.Image import Transpose

    turns = {
        2: Transpose.FLIP_LEFT_RIGHT,
        3: Transpose.ROTATE_180,
        4: Transpose.FLIP_TOP_BOTTOM,
        5: Transpose.TRANSPOSE,
        6: Transpose.ROTATE_270,
        7: Transpose.TRANSVERSE,
        8: Transpose.ROTATE_90,
    }
    return image.transpose(turns[orientation]) if orientation in turns else image
