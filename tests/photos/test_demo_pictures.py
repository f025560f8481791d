"""Pictures of the demonstration: the same for the same seed, marked as invented, and showing what they were told."""

from __future__ import annotations

import datetime
import math

import numpy as np
import piexif
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from photo_builders import opened

from trug.characters import Vocabulary, load_vocabulary
from trug.characters.model import STAGES
from trug.demo.painting.brush import srgb
from trug.demo.painting.forms import FORMS
from trug.demo.pictures import _PRINTS, LABEL, MOST_BYTES, VIEWS, picture
from trug.errors import InputError
from trug.records.photos import inspect, without_place

DRAWN = (
    "fruitbody_form",
    "growth_manner",
    "cap_shape",
    "cap_colour",
    "cap_pattern",
    "cap_surface",
    "cap_veil",
    "stipe_colour",
    "stipe_surface",
    "stipe_base",
    "stipe_inside",
    "ring",
    "volva",
    "hymenophore",
    "hymenophore_colour",
    "flesh_change",
    "gleba",
    "head_inside",
    "spore_print",
    "substrate",
)


@st.composite
def shapes(draw: st.DrawFn) -> dict[str, str | float]:
    characters = load_vocabulary().characters
    codes = draw(st.lists(st.sampled_from(DRAWN), unique=True))
    shape: dict[str, str | float] = {code: draw(st.sampled_from(characters[code].codes)) for code in codes}
    if draw(st.booleans()):
        shape["stage"] = draw(st.sampled_from(STAGES))
    for size, span in (("cap_width", (2, 700)), ("stipe_length", (2, 500)), ("stipe_width", (0.5, 120))):
        if draw(st.booleans()):
            shape[size] = draw(st.floats(*span))
    return shape


@given(shapes(), st.integers(0, 2**32), st.sampled_from(VIEWS))
@settings(max_examples=40, deadline=None)
def test_whatever_the_vocabulary_says_can_be_drawn(shape: dict[str, str | float], seed: int, view: str) -> None:
    data = picture(shape, seed, view)
    assert opened(data).size == (900, 675)
    assert len(data) < MOST_BYTES


@pytest.mark.parametrize("form", list(FORMS))
@pytest.mark.parametrize("view", VIEWS)
def test_every_form_has_every_view(form: str, view: str) -> None:
    assert len(picture({"fruitbody_form": form}, 1, view)) < MOST_BYTES


def test_the_forms_and_prints_are_those_of_the_vocabulary(vocabulary: Vocabulary) -> None:
    assert set(FORMS) == set(vocabulary.characters["fruitbody_form"].codes)
    assert set(_PRINTS) == set(vocabulary.characters["spore_print"].codes)


def test_the_same_seed_gives_the_same_bytes_and_another_seed_does_not() -> None:
    shape = {"cap_colour": "red", "growth_manner": "trooping"}
    assert picture(shape, 5) == picture(shape, 5)
    assert picture(shape, 5) != picture(shape, 6)


def test_every_picture_says_that_it_is_invented() -> None:
    """The words stand in its tags and, as a pale band, in its lower right corner."""
    for view in VIEWS:
        data = picture({}, 2, view)
        assert piexif.load(data)["0th"][piexif.ImageIFD.ImageDescription] == LABEL.encode()
        band = np.asarray(opened(data))[-32:-16, -180:-20].astype(int)
        assert (band.min(axis=2) > 220).mean() > 0.5
        assert (band.max(axis=2) < 150).mean() > 0.02


@pytest.mark.parametrize("colour", ["red", "olive", "black", "white", "violet", "orange"])
def test_a_cap_has_the_colour_that_it_was_told(colour: str, vocabulary: Vocabulary) -> None:
    shape = {"cap_colour": colour, "cap_shape": "rounded", "cap_width": 100, "stipe_length": 60}
    pixels = np.asarray(opened(picture(shape, 3))).astype(float)
    told = np.array(srgb(vocabulary.palette[colour]))
    columns = pixels[:, 440:460]
    distance = np.abs(columns - told).max(axis=2)
    assert (distance < 40).sum() > 300


@given(st.tuples(st.integers(0, 255), st.integers(0, 255), st.integers(0, 255)))
def test_colours_go_from_cielab_to_srgb_as_the_standards_have_it(rgb: tuple[int, int, int]) -> None:
    """The way there, sRGB to XYZ by IEC 61966-2-1 and XYZ to CIELAB by CIE 15 (D65), is written out here."""
    part = np.array(rgb) / 255
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]) @ linear
    ratio = xyz / (0.95047, 1.0, 1.08883)
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio * (29 / 6) ** 2 / 3 + 4 / 29)
    lab = (116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2]))
    assert srgb(lab) == pytest.approx(rgb, abs=0.6)


def test_a_white_print_shows_on_dark_paper_only_and_a_black_one_on_white_only() -> None:
    def contrast(print_: str) -> tuple[float, float]:
        grey = np.asarray(opened(picture({"spore_print": print_}, 1, "print")).convert("L")).astype(float)
        white, dark = grey[200:480, 330:440], grey[200:480, 460:570]
        paper_white, paper_dark = grey[100:120, 180:400], grey[100:120, 500:700]
        return abs(white.mean() - paper_white.mean()), abs(dark.mean() - paper_dark.mean())

    on_white, on_dark = contrast("white")
    assert on_dark > 100 > 20 > on_white
    on_white, on_dark = contrast("black")
    assert on_white > 100 > 40 > on_dark


def test_date_and_place_are_written_as_another_program_reads_them() -> None:
    zone = datetime.timezone(datetime.timedelta(hours=-3, minutes=-30))
    taken = datetime.datetime(2026, 10, 4, 15, 21, 9, tzinfo=zone)
    data = picture({}, 1, taken=taken, position=(-12.3456, 98.7654))
    tags = piexif.load(data)
    assert tags["Exif"][piexif.ExifIFD.DateTimeOriginal] == b"2026:10:04 15:21:09"
    assert tags["Exif"][piexif.ExifIFD.OffsetTimeOriginal] == b"-03:30"
    assert tags["GPS"][piexif.GPSIFD.GPSLatitudeRef] == b"S"
    assert tags["GPS"][piexif.GPSIFD.GPSLongitudeRef] == b"E"
    degrees, minutes, seconds = (n / d for n, d in tags["GPS"][piexif.GPSIFD.GPSLatitude])
    assert degrees + minutes / 60 + seconds / 3600 == pytest.approx(12.3456, abs=3e-7)
    assert inspect(data).taken == taken


@given(st.floats(-90, 90), st.floats(-180, 180))
@settings(max_examples=10, deadline=None)
def test_a_written_place_is_read_back_and_does_not_leave(latitude: float, longitude: float) -> None:
    data = picture({}, 1, "print", position=(latitude, longitude))
    found = inspect(data).position
    if math.hypot(latitude, longitude) > 1e-6:
        assert found is not None
        assert (found.latitude, found.longitude) == pytest.approx((latitude, longitude), abs=2e-7)
    assert inspect(without_place(data)).position is None


@pytest.mark.parametrize(
    ("shape", "view", "sentence"),
    [
        ({}, "above", "choose one of habit, underside"),
        ({"cap_colour": "purple"}, "habit", "cap_colour has no state 'purple'"),
        ({"colour": "red"}, "habit", "colour has no state"),
        ({"stage": "old"}, "habit", "stage has no state 'old'"),
        ({"cap_width": -4}, "habit", "must be a size in mm"),
        ({"cap_width": float("nan")}, "habit", "must be a size in mm"),
        ({"cap_width": "40 mm"}, "habit", "must be a size in mm"),
    ],
)
def test_what_cannot_be_drawn_gives_a_sentence(shape: dict[str, str | float], view: str, sentence: str) -> None:
    with pytest.raises(InputError, match=sentence):
        picture(shape, 1, view)


def test_a_place_off_the_earth_is_refused() -> None:
    with pytest.raises(InputError, match="latitude of -90 to 90"):
        picture({}, 1, position=(91, 0))
