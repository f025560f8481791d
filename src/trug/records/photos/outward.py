"""The photo as it may leave: the same picture, and nothing that tells where, when or by whom it was taken.

A photo is decoded and written anew rather than cut free of its metadata. Places hide in more spots than a
list of things to cut can name: EXIF, XMP in one packet or many, IPTC, comments, maker notes, small pictures
inside the EXIF block, text chunks, second pictures behind the end of the first, boxes of the HEIC container.
Writing anew takes the pixels and nothing else, by one path for all kinds of file, and turns HEIC into what
everyone can open. The price is one more coding, at quality 92 without thinning the colour: less than a camera's
own noise does. The original stays in the store as it came.

What can be seen in the picture (a signpost, a caption stamped onto it by the camera) stays to be seen.
"""

from __future__ import annotations

from trug.errors import TrugError
from trug.records.photos import jpeg
from trug.records.photos.images import as_jpeg

__all__ = ["carried", "without_place"]

_APP0, _APP15 = 0xE0, 0xEF
_JFIF = b"JFIF\x00"


def without_place(data: bytes) -> bytes:
    """Return a photo as an upright JPEG of its pixels alone.

    Raises
    ------
    InputError
        As ``trug.records.photos.images.inspect``.
    TrugError
        The written JPEG holds more than pixels, so it does not leave.
    """
    out = as_jpeg(data)
    extra = carried(out)
    if extra:
        raise TrugError(f"the photo could not be freed of {', '.join(extra)}; it was not given out")
    return out


def carried(data: bytes) -> tuple[str, ...]:
    """Return what a JPEG holds beside its pixels: application segments, comments, bytes after its end."""
    names = []
    ended = False
    for marker, payload in jpeg.segments(data):
        if marker == jpeg.COM:
            names.append("a comment")
        elif _APP0 <= marker <= _APP15 and not (marker == _APP0 and _is_plain_jfif(payload)):
            names.append(f"application segment {marker - _APP0}")
        elif marker == jpeg.EOI:
            ended = True
            names += ["bytes after its end"] if payload else []
    return tuple(names) if ended else (*names, "a broken end")


def _is_plain_jfif(payload: bytes) -> bool:
    """Whether a segment is the 14 bytes of a JFIF header, which has no room for anything but a resolution."""
    return payload.startswith(_JFIF) and len(payload) == 14
