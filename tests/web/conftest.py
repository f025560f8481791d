"""The app over a database of its own for each test; book, table and reasoner are shared by all of them."""

from __future__ import annotations

import base64
import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from trug.loaded import loaded
from trug.records.database import Database
from trug.records.reasoning import Reasoner
from trug.records.tables import Person
from trug.web.app import create_app
from trug.web.site import Site, put_setting

Token = Callable[[TestClient], str]


@pytest.fixture(scope="session")
def reasoner() -> Reasoner:
    return Reasoner(loaded())


@pytest.fixture(scope="session")
def begun_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder after the set-up; each test works on a copy, which is quicker than making the tables anew."""
    folder = tmp_path_factory.mktemp("begun")
    database = Database.open(folder)
    with database.writing() as unit:
        owner = unit.make(Person(name="Ada Moss"))
        put_setting(unit.session, "owner", owner.id)
        put_setting(unit.session, "region", "europe-north")
    database.close()
    return folder


@pytest.fixture
def database(begun_folder: Path, tmp_path: Path) -> Iterator[Database]:
    folder = tmp_path / "data"
    shutil.copytree(begun_folder, folder)
    database = Database.open(folder)
    yield database
    database.close()


@pytest.fixture
def client(database: Database, reasoner: Reasoner) -> Iterator[TestClient]:
    """A browser at the app of Ada Moss, region northern Europe."""
    app = create_app(database)
    app.state.site.reasoner = reasoner
    with TestClient(app, base_url="http://127.0.0.1") as client:
        yield client


@pytest.fixture
def site(client: TestClient) -> Site:
    found = client.app.state.site  # type: ignore[attr-defined]
    assert isinstance(found, Site)
    return found


@pytest.fixture
def token() -> Token:
    """The token that a form of this browser must carry: ``token(client)``."""

    def read(client: TestClient) -> str:
        if "trug" not in client.cookies:
            client.get("/there-is-no-such-page")  # every page, this one too, gives the browser its token
        cookie = client.cookies["trug"].partition(".")[0]
        return str(json.loads(base64.b64decode(cookie))["csrf"])

    return read
