"""Tiles are asked for only where somebody chose a server, and then from that server alone."""

from __future__ import annotations

import re

import pytest

from trug.place.outline import View, tiles_of

TILES = "https://tiles.example.org/{z}/{x}/{y}.png"


def choose(client, token, address, credit="Invented mappers"):
    return client.post("/places/map/ground", data={"csrf": token(client), "address": address, "credit": credit})


def test_without_a_choice_the_map_asks_nothing_of_the_network(client):
    answer = client.get("/places/map")

    assert "<image" not in answer.text
    assert "https://" not in answer.headers["content-security-policy"]
    assert "nothing is asked of the network" in answer.text


def test_the_chosen_server_alone_may_send_pictures(client, token):
    choose(client, token, TILES)
    answer = client.get("/places/map?lat=55.68&lon=12.57&zoom=5")

    policy = answer.headers["content-security-policy"]
    assert "img-src 'self' https://tiles.example.org data:" in policy
    assert policy.count("https://") == 1
    hrefs = re.findall(r'<image class="tile" href="([^"]+)"', answer.text)
    assert "https://tiles.example.org/5/17/10.png" in hrefs
    assert "Invented mappers" in answer.text
    assert "learns what part of the world" in answer.text
    assert "https://" not in client.get("/places").headers["content-security-policy"]


def test_the_choice_is_taken_back(client, token):
    choose(client, token, TILES)
    choose(client, token, "", "")

    assert "<image" not in client.get("/places/map").text


@pytest.mark.parametrize(
    "address",
    [
        "http://tiles.example.org/{z}/{x}/{y}.png",
        "https://tiles.example.org/{z}/{x}.png",
        "https://tiles.example.org; script-src *//{z}/{x}/{y}",
        "https://a b.example.org/{z}/{x}/{y}",
        'https://tiles.example.org/{z}/{x}/{y}" onload="x',
        "javascript:alert(1)//{z}{x}{y}",
    ],
)
def test_another_address_is_refused_and_stays_typed(client, token, address):
    answer = choose(client, token, address)

    assert answer.status_code == 422
    assert "write an address such as" in answer.text
    assert "<image" not in client.get("/places/map").text


# The tile of a point at a zoom, by the usual formula of web maps (common practice): x = (lon + 180) / 360 * 2^z,
# y = (1 - asinh(tan lat) / pi) / 2 * 2^z. Greenwich at zoom 10 lies in column 511 or 512, row 340.
@pytest.mark.parametrize(
    ("lat", "lon", "zoom", "column", "row"),
    [(51.4779, -0.0015, 10, 511, 340), (0.1, 0.1, 1, 1, 0), (-33.86, 151.2, 5, 29, 19)],
)
def test_the_tile_under_the_middle_of_a_view_is_the_usual_one(lat, lon, zoom, column, row):
    view = View(lat, lon, zoom, 300, 200)
    under = [t for t in tiles_of(view) if t.x <= 150 < t.x + t.size_px and t.y <= 100 < t.y + t.size_px]

    assert [(t.zoom, t.column, t.row) for t in under] == [(zoom, column, row)]


def test_tiles_cover_the_whole_sheet_without_gaps():
    for zoom in (3, 4.4, 6.5, 9):
        view = View(48.2, 11.3, zoom, 520, 460)
        tiles = tiles_of(view)
        assert min(t.x for t in tiles) <= 0
        assert min(t.y for t in tiles) <= 0
        assert max(t.x + t.size_px for t in tiles) >= view.width_px
        assert max(t.y + t.size_px for t in tiles) >= view.height_px
        columns, rows = {round(t.x, 3) for t in tiles}, {round(t.y, 3) for t in tiles}
        assert len(tiles) == len(columns) * len(rows)
        assert {round(b - a, 3) for a, b in zip(sorted(columns), sorted(columns)[1:], strict=False)} <= {
            round(tiles[0].size_px, 3)
        }
