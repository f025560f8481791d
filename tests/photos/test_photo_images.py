"""What is accepted, what is refused with which sentence, and which way is up."""

from __future__ import annotations

import contextlib
import io
import struct
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from photo_builders import KINDS, exif_bytes, opened, photo, png_of, red_corner, scene, with_segment
from PIL import Image, ImageCms, ImageOps

from trug.errors import InputError, TrugError
from trug.records.photos import images, jpeg
from trug.records.photos.images import as_jpeg, inspect, thumbnail

MEDIA = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp", "HEIC": "image/heic"}


@pytest.mark.parametrize("kind", KINDS)
def test_kind_and_size_are_told_by_content(kind: str) -> None:
    seen = inspect(photo(kind))
    assert (seen.media_type, seen.width, seen.height) == (MEDIA[kind], 64, 48)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_thumbnails_stand_upright_as_pillows_own_transposition_has_them(kind: str, orientation: int) -> None:
    data = photo(kind, exif=exif_bytes(zeroth={274: orientation}))
    seen, small = inspect(data), thumbnail(data, 40)
    reference = io.BytesIO()
    ImageOps.exif_transpose(opened(data)).convert("RGB").save(reference, "PNG")

    assert seen.orientation == orientation
    assert (seen.width, seen.height) == ((64, 48) if orientation < 5 else (48, 64))
    assert red_corner(small) == red_corner(as_jpeg(data)) == red_corner(reference.getvalue())
    assert max(opened(small).size) == 40
    assert (opened(small).width > opened(small).height) == (seen.width > seen.height)


@pytest.mark.parametrize(("orientation", "corner"), [(1, "upper left"), (3, "lower right"), (6, "upper right")])
def test_a_heic_is_turned_once_and_not_twice(orientation: int, corner: str) -> None:
    """pillow-heif's writer turns the EXIF value into the container's own rotation (irot, ISO/IEC 23008-12)."""
    data = photo("HEIC", exif=exif_bytes(zeroth={274: orientation}))
    assert (b"irot" in data) == (orientation != 1)
    seen = inspect(data)
    assert red_corner(as_jpeg(data)) == red_corner(thumbnail(data, 32)) == corner
    assert seen.orientation == 1
    assert opened(as_jpeg(data)).size == (seen.width, seen.height)


def test_thumbnails_are_never_larger_than_the_photo() -> None:
    assert opened(thumbnail(photo("PNG"), 320)).size == (64, 48)


@given(st.integers(1, 300), st.integers(1, 300), st.integers(16, 128))
@settings(max_examples=30, deadline=None)
def test_a_thumbnail_keeps_the_shape_and_the_bound(width: int, height: int, longest: int) -> None:
    small = opened(thumbnail(photo("PNG", Image.new("RGB", (width, height), "olive")), longest))
    scale = min(1.0, longest / max(width, height))
    assert max(small.size) <= longest
    assert small.width == pytest.approx(max(1, width * scale), abs=1)
    assert small.height == pytest.approx(max(1, height * scale), abs=1)


@pytest.mark.parametrize("px", [0, -5, 15, 4097])
def test_absurd_thumbnails_are_refused(px: int) -> None:
    with pytest.raises(InputError, match="16 to 4096"):
        thumbnail(photo("JPEG"), px)


@pytest.mark.parametrize("mode", ["1", "L", "P", "LA", "RGBA", "CMYK", "I;16"])
def test_every_way_of_storing_pixels_becomes_a_plain_jpeg(mode: str) -> None:
    if mode == "I;16":
        image = Image.fromarray(np.full((20, 30), 0x8000, dtype=np.uint16))
    else:
        image = Image.new("L", (30, 20), 128).convert(mode)
    out = opened(as_jpeg(photo("JPEG" if mode == "CMYK" else "PNG", image)))
    assert (out.mode, out.size) == ("RGB", (30, 20))
    grey = np.asarray(out).astype(int)
    assert np.abs(grey.mean() - 128) < 3


def test_what_is_transparent_shows_white() -> None:
    out = opened(as_jpeg(photo("PNG", Image.new("RGBA", (20, 20), (200, 0, 0, 0)))))
    assert out.getpixel((10, 10)) == (255, 255, 255)


def test_a_colour_profile_is_worked_into_the_pixels() -> None:
    """A profile of sRGB whose primaries for red and blue changed names (ICC.1:2022, 9.2) swaps the two."""
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    swapped = srgb.replace(b"rXYZ", b"tXYZ").replace(b"bXYZ", b"rXYZ").replace(b"tXYZ", b"bXYZ")
    for kind in ("PNG", "JPEG", "WEBP"):
        for use in (as_jpeg, lambda data: thumbnail(data, 16)):
            out = opened(use(photo(kind, Image.new("RGB", (32, 32), (180, 130, 70)), icc_profile=swapped)))
            assert np.abs(np.asarray(out).astype(int) - (70, 130, 180)).max() <= 4


def test_a_broken_colour_profile_does_no_harm() -> None:
    image = Image.new("RGB", (16, 16), (120, 130, 90))
    out = opened(as_jpeg(photo("PNG", image, icc_profile=b"no profile")))
    assert np.abs(np.asarray(out).astype(int) - (120, 130, 90)).max() <= 2


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "empty"),
        (b"GIF89a" + bytes(40), "a GIF picture; save the photo as JPEG"),
        (b"II*\x00" + bytes(40), "a TIFF or raw picture"),
        (b"BM" + bytes(60), "a BMP picture"),
        (b"%PDF-1.7", "a PDF document"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "a web page or a drawing"),
        (b"\xef\xbb\xbf \n<!DOCTYPE html><p>", "a web page or a drawing"),
        (b"hello", "no photo that can be read"),
        (b"\x00\x00\x00\x18ftypavif\x00\x00\x00\x00avifmif1", "save the photo as JPEG"),
        (b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom", "save the photo as JPEG"),
        (b"\x00\x00\x00\x18ftyphevc\x00\x00\x00\x00hevcmsf1", "several pictures"),
        (b"\xff\xd8\xff", "cut short or damaged"),
        (b"RIFF\x10\x00\x00\x00WEBPVP8L", "cut short or damaged"),
        (png_of(0, 40), "damaged|no pixels"),
    ],
)
def test_what_is_no_photo_is_refused_with_what_to_do(data: bytes, sentence: str) -> None:
    for use in (inspect, as_jpeg):
        with pytest.raises(InputError, match=sentence):
            use(data)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("part", [0.2, 0.5, 0.8])
def test_a_photo_cut_short_is_refused(kind: str, part: float) -> None:
    noise = Image.fromarray(np.random.default_rng(4).integers(0, 255, (96, 96, 3), dtype=np.uint8))
    data = photo(kind, noise)
    with pytest.raises(InputError, match="cut short or damaged"):
        inspect(data[: int(len(data) * part)])


def test_too_many_pixels_are_refused_before_any_is_decoded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(images, "_load", lambda image: pytest.fail("decoded"))
    webp = bytearray(photo("WEBP", exif=exif_bytes(zeroth={274: 1})))  # with EXIF it has the header that tells a canvas
    assert webp[12:16] == b"VP8X"
    webp[24:30] = (16382).to_bytes(3, "little") * 2
    jpeg_bytes = bytearray(photo("JPEG"))
    frame = jpeg_bytes.index(b"\xff\xc0")
    jpeg_bytes[frame + 5 : frame + 9] = struct.pack(">HH", 60000, 60000)
    for bomb in (png_of(60000, 60000), png_of(20000, 3001), bytes(webp), bytes(jpeg_bytes)):
        for use in (inspect, as_jpeg, lambda data: thumbnail(data, 64)):
            with pytest.raises(InputError, match="more than the 60 million"):
                use(bomb)


def test_a_heic_with_too_many_pixels_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(images, "MOST_PIXELS", 64 * 48 - 1)
    with pytest.raises(InputError, match="64 x 48 pixels"):
        inspect(photo("HEIC"))


def test_too_many_bytes_are_refused() -> None:
    with pytest.raises(InputError, match="45 MB, more than the 40 MB"):
        inspect(photo("JPEG") + bytes(45_000_000))


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_animations_are_refused(kind: str) -> None:
    out = io.BytesIO()
    scene().save(out, kind, save_all=True, append_images=[ImageOps.mirror(scene())], duration=100)
    with pytest.raises(InputError, match="several pictures"):
        inspect(out.getvalue())


def test_a_second_picture_behind_a_jpeg_is_no_animation() -> None:
    """Phones append a gain map or a film behind the end (CIPA DC-007, multi-picture format)."""
    out = io.BytesIO()
    scene().save(out, "MPO", save_all=True, append_images=[ImageOps.mirror(scene())])
    assert inspect(out.getvalue()).media_type == "image/jpeg"


@pytest.mark.parametrize(
    "code", [b"<ScRiPt>alert(1)</script>", b"<!DOCTYPE html>", b"<svg xmlns='http://www.w3.org/2000/svg'>"]
)
def test_a_photo_that_is_also_a_web_page_is_refused(code: bytes) -> None:
    for polyglot in (photo("JPEG", comment=code), photo("JPEG") + code, photo("PNG", texts=[code[:60]])):
        with pytest.raises(InputError, match="code of a web page"):
            inspect(polyglot)


def test_a_jpeg_of_countless_scans_is_refused() -> None:
    data = photo("JPEG", progressive=True)
    assert inspect(data).width == 64
    last = data.rindex(b"\xff\xda")
    with pytest.raises(InputError, match="cut short or damaged"):
        inspect(data[:last] + data[last:-2] * 200 + b"\xff\xd9")


@pytest.mark.filterwarnings("ignore:Corrupt EXIF data")
def test_damaged_tags_do_not_cost_the_photo() -> None:
    data = with_segment(photo("JPEG"), 0xE1, b"Exif\x00\x00II*\x00\xff\xff\xff\x7f")
    seen = inspect(data)
    assert (seen.width, seen.taken, seen.position) == (64, None, None)


@pytest.mark.filterwarnings("ignore")
@given(st.sampled_from(KINDS), st.data())
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_whatever_the_bytes_nothing_but_a_sentence_comes_back(kind: str, data: st.DataObject) -> None:
    whole = bytearray(SOUND[kind])
    for at in data.draw(st.lists(st.integers(0, len(whole) - 1), min_size=1, max_size=8)):
        whole[at] = data.draw(st.integers(0, 255))
    for use in (inspect, as_jpeg, lambda d: thumbnail(d, 32)):
        with contextlib.suppress(TrugError):
            assert use(bytes(whole))


@given(st.binary(max_size=200))
def test_any_bytes_can_be_walked_as_segments(data: bytes) -> None:
    assert sum(len(p) for _, p in jpeg.segments(b"\xff\xd8" + data)) <= len(data)


@pytest.mark.parametrize(("kind", "module"), [("JPEG", "PIL.JpegImagePlugin"), ("HEIC", "pillow_heif")])
def test_a_missing_extra_gives_one_sentence(kind: str, module: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, module, None)
    for use in (inspect, as_jpeg, lambda data: thumbnail(data, 64)):
        with pytest.raises(TrugError, match=r"pip install 'trug\[photo\]'"):
            use(SOUND[kind])


def test_nothing_heavy_is_loaded_before_a_photo_is_looked_at() -> None:
    code = "import sys, trug.records.photos, trug.demo.pictures; print([m for m in sys.modules if 'PIL' in m])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


SOUND = {
    kind: photo(kind, exif=exif_bytes(gps={1: b"N", 2: ((5, 1), (1, 1), (1, 1))}, exif={36867: b"2026:10:04 15:21:09"}))
    for kind in KINDS
}
