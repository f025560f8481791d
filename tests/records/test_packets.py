"""What leaves in a packet: the place generalised, people as letters, and no name where names are hidden."""

from __future__ import annotations

import io
import zipfile

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trug.determine.find import Evidence, Find, Fruitbody, Look, Observer, Photo, Place
from trug.place import DEFAULT_GRID_DEG, GRIDS_DEG, cell_of
from trug.records.packets import letters_of, names_in, outward_find, withhold, zipped
from trug.treatments import Book

SECRETS = ("Secret Wood", "Ada Moss", "device-7", "left of the sluice", "IMG_1234.HEIC", "behind the mill", "raw-42")
ids = st.uuids().map(str)


@st.composite
def finds(draw: st.DrawFn) -> Find:
    """Finds that carry a secret in every field that can hold free words."""
    place = Place(
        draw(st.floats(-89, 89)),
        draw(st.floats(-179, 179)),
        draw(st.none() | st.floats(1, 500)),
        altitude_m=draw(st.none() | st.floats(-400, 8800)),
        name=SECRETS[0],
    )
    people = draw(st.lists(ids, min_size=1, max_size=3, unique=True))
    bodies = draw(st.lists(ids, min_size=1, max_size=3, unique=True))
    looks = tuple(
        Look(
            id=draw(ids),
            character=draw(st.sampled_from(("ring", "smell"))),
            evidence=draw(st.sampled_from((Evidence(states=("absent",)), Evidence(not_seen=SECRETS[3])))),
            fruitbody=draw(st.sampled_from((None, *bodies))),
            observer=draw(st.sampled_from((None, *people))),
            device=SECRETS[2],
            time="2026-10-04T12:34:56Z",
            sources=draw(st.sampled_from(((), (SECRETS[4],)))),
        )
        for _ in range(draw(st.integers(0, 4)))
    )
    return Find(
        id=draw(ids),
        date="2026-10-04",
        fruitbodies=tuple(Fruitbody(b, "prime") for b in bodies),
        place=draw(st.sampled_from((place, place, None))),
        looks=looks,
        photos=(Photo("0" * 64), Photo("1" * 64)),
        observers=tuple(Observer(p, colour_vision=False, smell=False, blind_to=("smell",)) for p in people),
        determiner=people[0],
        notes=SECRETS[5],
        extra={"labels": {b: "abc"[n] for n, b in enumerate(bodies)}, "blind": [k.id for k in looks], "x": SECRETS[6]},
    )


def leaving(find: Find, grid: float = DEFAULT_GRID_DEG) -> Find:
    letters = letters_of(o.id for o in find.observers)
    return outward_find(find, grid, letters, {"0" * 64: "a" * 64})[0]


@given(finds(), st.sampled_from(GRIDS_DEG))
def test_only_the_centre_of_the_cell_leaves(find, grid):
    out = leaving(find, grid)
    if find.place is None:
        assert out.place is None
        return
    cell = cell_of(find.place.lat, find.place.lon, grid)
    assert (out.place.lat, out.place.lon, out.place.name) == (cell.lat, cell.lon, None)
    assert out.place.uncertainty_m >= cell.radius_m()
    if find.place.altitude_m is not None:
        assert out.place.altitude_m % 100 == 50
        assert abs(out.place.altitude_m - find.place.altitude_m) <= 50


@given(finds(), st.floats(-0.04, 0.04), st.floats(-0.04, 0.04))
def test_two_finds_of_one_cell_leave_alike(find, north, east):
    """What leaves is the same for every place in a cell, so it cannot tell one from another."""
    if find.place is None:
        return
    cell = cell_of(find.place.lat, find.place.lon)
    moved = [
        msgspec.structs.replace(find, place=Place(lat, lon, 30.0, altitude_m=120.0 + height))
        for lat, lon, height in ((cell.lat, cell.lon, 0), (cell.lat + north, cell.lon + east, 60))
    ]
    assert leaving(moved[0]) == leaving(moved[1])


@given(finds())
def test_no_free_word_person_device_time_or_source_leaves(find):
    text = msgspec.json.encode(leaving(find)).decode()
    for secret in (*SECRETS, "12:34", *(o.id for o in find.observers), *(k.id for k in find.looks), "1" * 64):
        assert secret not in text
    for private in ("colour_vision", "smell_", "blind_to", "may_taste", "tools"):
        assert f'"{private}"' not in text


@given(finds())
def test_what_was_seen_leaves_whole(find):
    out = leaving(find)
    labels = find.extra["labels"]
    assert [b.id for b in out.fruitbodies] == [labels[b.id] for b in find.fruitbodies]
    for before, after in zip(find.looks, out.looks, strict=True):
        assert after.character == before.character
        assert after.evidence.states == before.evidence.states
        assert after.fruitbody == labels.get(before.fruitbody)
    assert [p.sha256 for p in out.photos] == ["a" * 64]
    assert out.extra.get("blind", []) == [k.id for k in out.looks]
    assert msgspec.json.decode(msgspec.json.encode(out), type=Find) == out


@given(finds())
def test_who_looked_stays_told_apart(find):
    out = leaving(find)
    pairs = {(a.observer, b.observer) for a, b in zip(find.looks, out.looks, strict=True)}
    assert len({a for a, _ in pairs}) == len({b for _, b in pairs}) == len(pairs)
    sources = {(a.sources, b.sources) for a, b in zip(find.looks, out.looks, strict=True)}
    assert len({a for a, _ in sources}) == len({b for _, b in sources})


@given(st.lists(st.text(min_size=1), max_size=80))
def test_each_person_has_a_letter_of_their_own(people):
    letters = letters_of(people)
    assert set(letters) == set(people)
    assert len(set(letters.values())) == len(letters)


@given(st.text(), st.text(), st.sampled_from(("secret wood", "SECRET WOOD", "Secret Wood")))
def test_a_word_is_withheld_wherever_it_stands(before, after, word):
    out = withhold(f"{before} {word} {after}", {"Secret Wood": "[place withheld]"}, DEFAULT_GRID_DEG)
    assert "secret wood" not in out.lower()


def test_a_part_of_another_word_is_left_alone():
    assert withhold("the moss and mossy bark of Mo", {"Mo": "B"}, DEFAULT_GRID_DEG) == "the moss and mossy bark of B"
    assert "60.1699" not in withhold("at 60.1699, 24.9384", {}, DEFAULT_GRID_DEG)


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("Is it amanita PHALLOIDES?", ("Amanita", "Amanita phalloides")),
        ("the death cap, I think", ("death cap",)),
        ("Some Galerina?", ("Galerina",)),
        ("What is it, and what does that rest on?", ()),
    ],
)
def test_a_question_that_names_a_fungus_is_noticed(book: Book, text, names):
    assert {n.lower() for n in names_in(text, book)} == {n.lower() for n in names}


def test_equal_files_give_equal_zips():
    files = {"b.txt": b"two", "a.jpg": b"\xff\xd8"}
    data = zipped(files)
    assert zipped(dict(reversed(files.items()))) == data
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.namelist() == ["a.jpg", "b.txt"]
        assert {n: archive.read(n) for n in archive.namelist()} == files
        assert [i.date_time for i in archive.infolist()] == [(1980, 1, 1, 0, 0, 0)] * 2
