"""No photo that leaves tells where it was taken."""

from __future__ import annotations

import io

import numpy as np
import piexif
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from photo_builders import GPS, KINDS, PLACE_TEXTS, XMP, exif_bytes, opened, photo, red_corner, scene, with_segment
from PIL import Image

from trug.errors import InputError, TrugError
from trug.records.photos import images, outward
from trug.records.photos.images import inspect
from trug.records.photos.outward import carried, without_place

MAKER_NOTE = b"Trugcam\x00" + b"|".join(PLACE_TEXTS)


def loaded_with_places(kind: str, places: set[str]) -> bytes:
    """Return a photo that hides its place in the named spots."""
    exif: dict[int, object] = {}
    if "maker note" in places:
        exif[piexif.ExifIFD.MakerNote] = MAKER_NOTE
    if "user comment" in places:
        exif[piexif.ExifIFD.UserComment] = b"ASCII\x00\x00\x00" + b" ".join(PLACE_TEXTS)
    tables: dict[str, object] = {"0th": {270: b"Secret Wood"}, "Exif": exif, "GPS": GPS if "gps" in places else {}}
    if "thumbnail" in places:
        small = photo("JPEG", scene(32, 24), exif=exif_bytes(gps=GPS), comment=b" ".join(PLACE_TEXTS))
        tables |= {"thumbnail": small, "1st": {}}
    extra: dict[str, object] = {"exif": piexif.dump(tables)}
    if "xmp" in places:
        extra["xmp"] = XMP
    if kind == "PNG" and "text" in places:
        extra["texts"] = PLACE_TEXTS
    data = photo(kind, **extra)
    if kind == "JPEG":
        if "text" in places:
            data = with_segment(data, 0xFE, b" ".join(PLACE_TEXTS))
            data = with_segment(data, 0xED, b"Photoshop 3.0\x008BIM\x04\x04" + b" ".join(PLACE_TEXTS))
            data = with_segment(data, 0xEB, b" ".join(PLACE_TEXTS))
        if "trailer" in places:
            data += photo("JPEG", exif=exif_bytes(gps=GPS)) + b" ".join(PLACE_TEXTS)
    return data


def tells_a_place(data: bytes) -> list[str]:
    """Return how a file still tells its place, by readers that are not ours."""
    image = opened(data)
    found = [f"info {key}" for key in image.info if key in ("exif", "xmp", "comment", "photoshop", "XML:com.adobe.xmp")]
    if image.getexif().get_ifd(0x8825) or dict(image.getexif()):
        found.append("EXIF by Pillow")
    if any(piexif.load(data)[part] for part in ("0th", "Exif", "GPS", "1st", "thumbnail")):
        found.append("EXIF by piexif")
    low = data.lower()
    return found + [text.decode() for text in (*PLACE_TEXTS, b"xpacket", b"Exif\x00", b"8BIM") if text.lower() in low]


@given(
    st.sampled_from(KINDS),
    st.sets(st.sampled_from(["gps", "xmp", "maker note", "user comment", "thumbnail", "text", "trailer"])),
)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_no_outward_photo_tells_its_place(kind: str, places: set[str]) -> None:
    data = loaded_with_places(kind, places)
    out = without_place(data)
    assert tells_a_place(out) == []
    assert carried(out) == ()
    assert inspect(out).position is None


@pytest.mark.parametrize("kind", KINDS)
def test_the_photos_of_these_tests_do_hold_a_place_before(kind: str) -> None:
    data = loaded_with_places(kind, {"gps", "xmp", "maker note", "thumbnail"})
    assert inspect(data).position is not None
    assert MAKER_NOTE in data
    assert b"GPSLatitude" in data or kind == "PNG"  # packed in PNG


@pytest.mark.parametrize("kind", KINDS)
def test_the_pixels_stay_as_they_were(kind: str) -> None:
    """Quality 92 without thinning of colour: the mean step is under 1.5 of 255, no way of turning is lost."""
    rng = np.random.default_rng(3)
    soft = Image.fromarray(rng.integers(40, 220, (12, 16, 3), dtype=np.uint8)).resize(
        (320, 240), Image.Resampling.BICUBIC
    )
    data = photo(kind, soft)
    before = np.asarray(_decoded(kind, data)).astype(int)
    after = np.asarray(opened(without_place(data))).astype(int)
    assert before.shape == after.shape
    assert np.abs(before - after).mean() < 1.5


def _decoded(kind: str, data: bytes) -> Image.Image:
    if kind == "HEIC":
        import pillow_heif

        return pillow_heif.open_heif(io.BytesIO(data)).to_pillow().convert("RGB")
    return opened(data).convert("RGB")


def test_a_turned_photo_leaves_upright() -> None:
    out = without_place(photo("JPEG", exif=exif_bytes(zeroth={274: 6}, gps=GPS)))
    assert red_corner(out) == "upper right"
    assert opened(out).size == (48, 64)


def test_one_photo_always_leaves_as_the_same_bytes() -> None:
    plain, placed = photo("PNG"), photo("PNG", exif=exif_bytes(gps=GPS))
    assert without_place(plain) == without_place(placed)


def test_what_is_no_photo_does_not_leave() -> None:
    with pytest.raises(InputError, match="no photo"):
        without_place(b"55.5 N 12 E")


def test_a_writer_that_lets_something_through_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(outward, "as_jpeg", lambda data: photo("JPEG", exif=exif_bytes(gps=GPS)))
    with pytest.raises(TrugError, match="application segment 1; it was not given out"):
        without_place(photo("JPEG"))


@pytest.mark.parametrize(
    ("data", "extra"),
    [
        (photo("JPEG"), ()),
        (photo("JPEG", comment=b"here"), ("a comment",)),
        (photo("JPEG") + b"here", ("bytes after its end",)),
        (with_segment(photo("JPEG"), 0xE1, b"Exif\x00\x00"), ("application segment 1",)),
        (with_segment(photo("JPEG"), 0xE0, b"JFXX\x00here"), ("application segment 0",)),
        (photo("JPEG")[:-2], ("a broken end",)),
        (b"", ("a broken end",)),
    ],
)
def test_what_a_jpeg_carries_is_named(data: bytes, extra: tuple[str, ...]) -> None:
    assert carried(data) == extra


def test_thumbnails_and_jpegs_for_showing_carry_nothing_either() -> None:
    data = loaded_with_places("JPEG", {"gps", "xmp", "maker note", "text", "trailer"})
    assert carried(images.thumbnail(data, 48)) == carried(images.as_jpeg(data)) == ()
