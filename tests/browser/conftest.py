"""A real browser before a real server: one over an empty folder, one over an invented season."""

from __future__ import annotations

import datetime
import fcntl
import os
import shutil
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
from browsing import FLAGS, Visitor, served
from playwright.sync_api import Browser, sync_playwright


@pytest.fixture(scope="package")
def chromium() -> Iterator[Browser]:
    """The machine's own Chromium; closed again before tests of other folders run, since it keeps an event loop."""
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    if program is None:
        sentence = "these tests need Chromium; install it (Debian: apt-get install chromium) and run them again"
        if os.environ.get("CI"):
            pytest.fail(sentence)
        pytest.skip(sentence)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def visitor(chromium: Browser) -> Iterator[Visitor]:
    """Opens watched pages: an error in the console, a refused answer or a request to another host fails the test."""
    visitor = Visitor(chromium)
    yield visitor
    complaints = visitor.close()
    assert not complaints, "\n".join(complaints)


@pytest.fixture
def empty_app(tmp_path: Path) -> Iterator[str]:
    """The address of an app that nobody has used yet."""
    with served(tmp_path / "empty") as address:
        yield address


@pytest.fixture(scope="session")
def season(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with the invented season; filled once, however many processes run the tests."""
    own = tmp_path_factory.getbasetemp()
    shared = own.parent if os.environ.get("PYTEST_XDIST_WORKER") else own
    folder = shared / "season"
    with (shared / "season.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not folder.exists():
            _fill(shared / "season-unfinished")
            (shared / "season-unfinished").rename(folder)
    copy = own / "season-of-mine"
    shutil.copytree(folder, copy)
    return copy


def _fill(folder: Path) -> None:
    from trug.demo.season import fill
    from trug.loaded import loaded
    from trug.records.database import Database
    from trug.records.reasoning import Reasoner
    from trug.web.pages.experts import packet_html

    here = loaded()
    shutil.rmtree(folder, ignore_errors=True)
    database = Database.open(folder)
    reasoner = Reasoner(here)
    packet = partial(packet_html, vocabulary=here.vocabulary)
    fill(database, reasoner, today=datetime.date.today(), render=packet)
    database.close()


@pytest.fixture(scope="session")
def season_app(season: Path) -> Iterator[str]:
    """The address of an app over the invented season."""
    with served(season) as address:
        yield address
