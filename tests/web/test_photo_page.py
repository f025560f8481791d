"""Photos: kept, described, served with strict headers, deleted."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from trug.records.documents import fruitbodies_of
from trug.records.gatherings import add_find
from trug.records.tables import Person, PhotoRow
from trug.web.site import Site

Token = Callable[[TestClient], str]
Image = pytest.importorskip("PIL.Image")


@pytest.fixture
def find(site: Site) -> str:
    with site.database.writing(owner(site)) as unit:
        return add_find(unit, site.reasoner, date="2025-10-04").id


def owner(site: Site) -> str:
    with site.database.reading() as session:
        return str(session.query(Person.id).filter(Person.name == "Ada Moss").scalar())


def picture(shade: int, kind: str = "JPEG") -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), (shade, 80, 40)).save(out, kind)
    return out.getvalue()


def kept(site: Site) -> list[PhotoRow]:
    with site.database.reading() as session:
        return session.query(PhotoRow).filter(PhotoRow.deleted_at.is_(None)).order_by(PhotoRow.created_at).all()


def add(client: TestClient, token: Token, find: str, *pictures: bytes, **fields: str) -> int:
    files = [("photos", (f"{n}.jpg", data, "text/html")) for n, data in enumerate(pictures)]
    data = {"csrf": token(client), "role": "cap", **fields}
    return client.post(f"/finds/{find}/photos", data=data, files=files).status_code


def test_several_photos_are_kept_at_once_byte_for_byte(client: TestClient, site: Site, find: str, token: Token) -> None:
    pictures = [picture(10), picture(20)]

    assert add(client, token, find, *pictures, caption="from above") == 200

    assert {p.sha256 for p in kept(site)} == {hashlib.sha256(p).hexdigest() for p in pictures}
    assert {(p.role, p.caption) for p in kept(site)} == {("cap", "from above")}
    assert "from above" in client.get(f"/finds/{find}").text


def test_one_file_that_is_no_photo_keeps_all_of_them_out(
    client: TestClient, site: Site, find: str, token: Token
) -> None:
    assert add(client, token, find, picture(10), b"<script>alert(1)</script>") == 422
    assert kept(site) == []


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_sent_as_what_it_is_and_as_nothing_else(
    client: TestClient, site: Site, find: str, token: Token, kind: str
) -> None:
    data = picture(30, kind)
    add(client, token, find, data)
    answer = client.get(f"/photos/{kept(site)[0].sha256}")

    assert answer.content == data
    assert answer.headers["content-type"] == f"image/{kind.lower()}"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["content-security-policy"] == "default-src 'none'; sandbox"
    assert "immutable" in answer.headers["cache-control"]
    assert "private" in answer.headers["cache-control"]


def test_heic_is_shown_as_jpeg(client: TestClient, site: Site, find: str, token: Token) -> None:
    pytest.importorskip("pillow_heif").register_heif_opener()
    add(client, token, find, picture(40, "HEIF"))

    assert kept(site)[0].media_type == "image/heic"
    answer = client.get(f"/photos/{kept(site)[0].sha256}")
    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.content.startswith(b"\xff\xd8\xff")


def test_a_small_picture_is_jpeg_and_is_not_sent_twice(client: TestClient, site: Site, find: str, token: Token) -> None:
    add(client, token, find, picture(50, "PNG"))
    path = f"/photos/{kept(site)[0].sha256}/thumb"
    answer = client.get(path)

    assert answer.headers["content-type"] == "image/jpeg"
    assert client.get(path, headers={"if-none-match": answer.headers["etag"]}).status_code == 304
    assert client.get(f"{path}?size=5000").status_code == 404


@pytest.mark.parametrize("name", ["0" * 64, "..%2f..%2ftrug.sqlite3", "x"])
def test_what_no_find_holds_is_not_served(client: TestClient, name: str) -> None:
    assert client.get(f"/photos/{name}").status_code == 404
    assert client.get(f"/photos/{name}/thumb").status_code == 404


def test_a_photo_is_described_anew_and_deleted_to_the_bin(
    client: TestClient, site: Site, find: str, token: Token
) -> None:
    add(client, token, find, picture(60))
    photo = kept(site)[0].id
    with site.database.reading() as session:
        body = fruitbodies_of(session, find)[0].id
    path = f"/finds/{find}/photos/{photo}"

    client.post(path, data={"csrf": token(client), "role": "base", "body": body, "caption": "dug out"})
    assert (kept(site)[0].role, kept(site)[0].fruitbody_id, kept(site)[0].caption) == ("base", body, "dug out")
    assert client.post(path, data={"csrf": token(client), "role": "sketch"}).status_code == 422

    client.post(f"{path}/delete", data={"csrf": token(client)})
    assert kept(site) == []
    assert photo in client.get("/bin").text
