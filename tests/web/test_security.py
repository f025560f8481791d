"""What other sites, other hosts and careless requests cannot do; each guard is attacked once."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient

from trug.records.tables import FindRow, Person
from trug.web.app import create_app
from trug.web.security import MOST_BODY

ID = "01890a5d-ac96-774b-bcce-b302099a8057"


def changing(client: TestClient) -> Iterator[tuple[str, str]]:
    """Yield method and address of everything that changes something."""
    seen = []
    stack = list(client.app.routes)  # type: ignore[attr-defined]
    while stack:
        route = stack.pop()
        stack += list(getattr(getattr(route, "original_router", None) or getattr(route, "router", None), "routes", []))
        if isinstance(route, APIRoute):
            for method in route.methods - {"GET", "HEAD"}:
                seen.append((method, re.sub(r"\{[^}]+\}", ID, route.path)))
    yield from sorted(set(seen))


def test_there_is_something_to_attack(client):
    found = list(changing(client))

    assert len(found) > 25
    assert any(path.startswith("/api/") for _, path in found)


def test_no_form_is_taken_without_its_token(client):
    client.get("/")
    for method, path in changing(client):
        if not path.startswith("/api"):
            for sent in ({}, {"csrf": ""}, {"csrf": "guessed"}):
                assert client.request(method, path, data=sent).status_code == 403, path


def test_the_token_of_another_browser_is_refused(client, token, database):
    mine = token(client)
    other = TestClient(client.app, base_url="http://127.0.0.1")
    other.get("/people/new")

    assert other.post("/people/new", data={"csrf": mine, "name": "Mallory"}).status_code == 403
    with database.reading() as session:
        assert session.query(Person).filter_by(name="Mallory").count() == 0


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1.evil.example"},
        {"Origin": "http://127.0.0.1:9999"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
    ids=str,
)
def test_another_site_changes_nothing(client, token, database, headers):
    client.headers.update(headers)
    form = {"csrf": "x", "date": "2026-10-04", "fruitbodies": "1"}

    assert client.post("/finds/new", data=form).status_code == 403
    assert client.post("/api/finds", json={"date": "2026-10-04"}).status_code == 403
    with database.reading() as session:
        assert session.query(FindRow).count() == 0


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "192.168.1.2", "", "[::2]", "localhost@evil"]
)
def test_another_host_name_is_refused_so_that_rebinding_fails(client, host):
    assert client.get("/", headers={"Host": host}).status_code == 400


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:8427", "localhost:8427", "[::1]:8427"])
def test_its_own_names_are_answered(client, host):
    assert client.get("/ill", headers={"Host": host}).status_code == 200


def test_the_api_takes_json_alone_so_that_a_form_of_another_site_cannot_speak_to_it(client, database):
    for method, path in changing(client):
        if path.startswith("/api") and method != "DELETE":
            sent = client.request(
                method, path, content=b'{"date": "2026-10-04"}', headers={"Content-Type": "text/plain"}
            )
            assert sent.status_code == 415, path
    with database.reading() as session:
        assert session.query(FindRow).count() == 0


def test_a_body_that_says_it_is_too_large_is_not_read(client):
    answer = client.post("/finds/new", content=b"x", headers={"Content-Length": str(MOST_BODY + 1)})

    assert answer.status_code == 413


def test_a_body_that_hides_its_length_is_cut_off(client):
    def endless() -> Iterator[bytes]:
        for _ in range(MOST_BODY // (1 << 20) + 2):
            yield b"x" * (1 << 20)

    answer = client.post("/finds/new", content=endless(), headers={"Content-Type": "application/x-www-form-urlencoded"})

    assert answer.status_code == 413


@pytest.mark.parametrize("path", ["/", "/ill", "/book", "/nowhere", "/static/trug.css", "/static/no", "/api/finds"])
def test_every_answer_carries_the_headers(client, path):
    headers = client.get(path).headers

    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"


def test_the_cookie_is_kept_from_scripts_and_other_sites(client):
    told = client.get("/").headers["set-cookie"].lower()

    assert "httponly" in told
    assert "samesite=strict" in told


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2f..%2f..%2fetc/passwd",
        "/photos/..%2f..%2fetc%2fpasswd",
        "/photos/" + "a" * 63 + "/thumb",
        "/photos/" + "g" * 64,
        "/photos/%2e%2e%2ftrug.sqlite3",
    ],
)
def test_no_address_leads_out_of_the_folders(client, path):
    answer = client.get(path)

    assert answer.status_code in (404, 422)
    assert b"root:" not in answer.content
    assert b"SQLite" not in answer.content
    assert b"create_app" not in answer.content


@pytest.mark.parametrize("path", ["/finds/nowhere", f"/finds/{ID}", "/finds/'%20or%201=1", "/places/%00", "/people/-1"])
def test_what_is_not_there_is_a_page_without_a_trace(client, path):
    answer = client.get(path)

    assert answer.status_code in (404, 422)
    assert "Traceback" not in answer.text
    assert "sqlalchemy" not in answer.text.lower()


def test_what_people_type_is_shown_as_text(client, token, site, database):
    evil = "<script>alert(1)</script>"
    client.post("/people/new", data={"csrf": token(client), "name": evil, "practice": "practised"})
    page = client.get("/people").text

    assert evil not in page
    assert "&lt;script&gt;" in page
    assert evil not in client.get("/finds", params={"q": evil}).text
    assert evil not in client.get("/book", params={"q": evil}).text


def test_a_fault_of_the_program_shows_no_trace(database, reasoner, monkeypatch):
    app = create_app(database)
    app.state.site.reasoner = reasoner

    def fails(*_args: object, **_kind: object) -> None:
        raise RuntimeError("a secret of the machine")

    monkeypatch.setattr("trug.web.pages.finds.list_finds", fails)
    with TestClient(app, base_url="http://127.0.0.1", raise_server_exceptions=False) as client:
        answer = client.get("/finds")

    assert answer.status_code == 500
    assert "secret" not in answer.text
    assert "nothing of yours was lost" in answer.text


def test_no_page_carries_a_script_or_a_style_of_its_own(client):
    for path in ("/", "/finds/new", "/book/amanita-phalloides", "/people", "/places/map", "/ill", "/characters"):
        page = client.get(path).text
        assert not re.search(r"<script(?![^>]*\bsrc=)", page), path
        assert "<style" not in page, path
        assert not re.search(r"\sstyle=|\son\w+=", page), path
        assert "javascript:" not in page, path
