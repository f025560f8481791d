import io
import re
from itertools import combinations
from xml.etree.ElementTree import Element

import cairosvg
import defusedxml.ElementTree as safe_xml
import numpy as np
import pytest
from PIL import Image

from trug.characters import load_vocabulary
from trug.characters.model import STAGES
from trug.drawings import BOX, DRAWN, drawing, drawn_states
from trug.drawings.contact_sheet import answers, contact_sheet, write_sheets
from trug.errors import UnknownWordError

VOCABULARY = load_vocabulary()
ALL = [(c, s) for c in sorted(DRAWN) for s in drawn_states(c)]
#: What a drawing may be made of; no text, script, style, link, image, pattern or mask.
ELEMENTS = {"svg", "title", "g", "path", "circle", "ellipse"}
ATTRIBUTES = {
    "viewBox", "width", "height", "fill", "stroke", "stroke-width", "stroke-linecap", "stroke-linejoin", "role",
    "aria-hidden", "d", "cx", "cy", "r", "rx", "ry", "fill-opacity", "stroke-opacity", "fill-rule", "stroke-dasharray",
}  # fmt: skip
#: At 48 px two states must differ, by more than SEEN of 255, in at least this share of some patch of 12 x 12 px:
#: 17 pixels, a stroke of two pixels two thirds across the patch.
LEAST_SHARE = 0.12
PATCH = 12
#: How far a line may run on beyond the paper, where the frame cuts it off [units].
BEYOND = 6
SEEN = 48
#: A drawing may weigh no more than this [characters].
HEAVIEST = 10_000


def parsed(svg: str) -> Element:
    root: Element = safe_xml.fromstring(svg)
    return root


def raster(character: str, state: str, size: int = 48) -> np.ndarray:
    one = drawing(character, state)
    assert one is not None
    png = cairosvg.svg2png(
        bytestring=one.svg().encode(), output_width=size, output_height=size, background_color="white"
    )
    return np.asarray(Image.open(io.BytesIO(png)).convert("L"), dtype=float)


def unlikeness(one: np.ndarray, other: np.ndarray) -> float:
    """Return the share of pixels that differ in the patch where most of them do."""
    differs = np.abs(one - other) > SEEN
    patches = np.lib.stride_tricks.sliding_window_view(differs, (PATCH, PATCH))
    return float(patches.mean(axis=(2, 3)).max())


def local(tag: str) -> str:
    return tag.rsplit("}", 1)[-1]


@pytest.mark.parametrize("character", sorted(DRAWN))
def test_every_state_of_a_drawn_character_has_a_drawing_in_the_order_of_the_vocabulary(character):
    words = STAGES if character == "stage" else VOCABULARY.characters[character].codes

    assert drawn_states(character) == words


def test_what_is_a_shape_is_drawn():
    whole = {"fruitbody_form", "growth_manner", "stage", "consistency", "ball_skin"}
    cap = {"cap_shape", "cap_pattern", "cap_surface", "cap_moisture", "cap_edge", "cap_skin", "cap_veil", "cap_gel"}
    below = {"hymenophore", "gill_attachment", "gill_spacing", "stipe_position", "stipe_base", "volva", "ring"}

    assert whole | cap | below <= DRAWN


def test_colours_and_sizes_are_not_drawn():
    kinds = {VOCABULARY.characters[c].kind for c in DRAWN if c != "stage"}

    assert kinds <= {"ordered", "unordered"}


@pytest.mark.parametrize(("character", "state"), ALL)
def test_a_drawing_holds_nothing_but_strokes(character, state):
    one = drawing(character, state)
    root = parsed(one.svg())

    assert {local(e.tag) for e in root.iter()} <= ELEMENTS
    assert {a for e in root.iter() for a in e.attrib} <= ATTRIBUTES
    assert {e.get("fill") for e in root.iter()} <= {None, "none", "currentColor"}
    assert {e.get("stroke") for e in root.iter()} <= {None, "none", "currentColor"}
    assert "nan" not in one.body
    assert "inf" not in one.body


@pytest.mark.parametrize(("character", "state"), ALL)
def test_a_drawing_stays_on_its_paper(places_of, character, state):
    one = drawing(character, state)
    places = [n for d in re.findall(r' d="([^"]+)"', one.body) for place in places_of(d) for n in place]

    assert min(places) >= -BEYOND
    assert max(places) <= BOX + BEYOND


@pytest.mark.parametrize(("character", "state"), ALL)
def test_a_drawing_is_light_enough_for_a_phone_book(character, state):
    assert len(drawing(character, state).svg()) < HEAVIEST


def test_a_drawing_differs_from_a_blank_and_not_from_itself():
    bell = raster("cap_shape", "bell")

    assert unlikeness(bell, bell) == 0
    assert unlikeness(bell, np.full_like(bell, 255)) > LEAST_SHARE


@pytest.mark.parametrize("character", sorted(DRAWN))
def test_no_two_states_look_alike_at_48_px(character):
    pictures = {s: raster(character, s) for s in drawn_states(character)}
    shares = {(a, b): unlikeness(pictures[a], pictures[b]) for a, b in combinations(pictures, 2)}
    alike = {pair: share for pair, share in shares.items() if share < LEAST_SHARE}

    assert alike == {}


def test_a_drawing_says_its_name_unless_the_text_beside_it_does():
    bell = drawing("cap_shape", "bell")
    spoken, translated, silent = (parsed(bell.svg(title=t)) for t in (None, "Hut: <Glocke> & Rand", ""))

    assert spoken.get("role") == "img"
    assert [e.text for e in spoken if local(e.tag) == "title"] == ["cap shape: bell"]
    assert [e.text for e in translated if local(e.tag) == "title"] == ["Hut: <Glocke> & Rand"]
    assert silent.get("aria-hidden") == "true"
    assert [e for e in silent if local(e.tag) == "title"] == []


def test_a_drawing_takes_the_size_it_is_given():
    root = parsed(drawing("cap_shape", "bell").svg(size=40))

    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("40", "40", "0 0 96 96")


@pytest.mark.parametrize(("character", "state"), [("cap_colour", "white"), ("cap_shape", "square"), ("", "")])
def test_what_is_not_drawn_has_no_drawing(character, state):
    assert drawing(character, state) is None


def test_a_sheet_without_words_gives_none_away():
    blind = contact_sheet("cap_shape", labels=False)
    words = [e.text for e in parsed(blind).iter() if local(e.tag) == "text"]

    assert words == list(answers("cap_shape"))
    assert sorted(answers("cap_shape").values()) == sorted(drawn_states("cap_shape"))
    assert list(answers("cap_shape").values()) != list(drawn_states("cap_shape"))
    assert not [e for e in parsed(blind).iter() if local(e.tag) == "title" and e.text != "cap shape"]


def test_a_sheet_with_words_names_every_state():
    words = [e.text for e in parsed(contact_sheet("stipe_position")).iter() if local(e.tag) == "text"]

    assert words == ["central", "off centre", "lateral", "none"]


def test_a_sheet_of_a_character_without_drawings_is_refused():
    with pytest.raises(UnknownWordError, match="no drawings for 'smell'; there are drawings for: "):
        contact_sheet("smell")


def test_all_sheets_are_written(tmp_path):
    files = write_sheets(tmp_path / "sheets")

    assert [f.stem for f in files] == sorted(DRAWN)
    assert sorted(p.name for p in (tmp_path / "sheets").iterdir()) == [f.name for f in files]
