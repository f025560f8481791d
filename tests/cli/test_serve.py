"""The app as a command, and records as files on the command line."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
import zipfile
from pathlib import Path
from typing import Any

import pytest

from trug.loaded import loaded
from trug.records.database import Database
from trug.records.gatherings import add_find
from trug.records.reasoning import Reasoner
from trug.records.tables import FindRow, PlaceRow


@pytest.fixture(scope="module")
def reasoner() -> Reasoner:
    return Reasoner(loaded())


@pytest.fixture
def records(tmp_path: Path, reasoner: Reasoner) -> Path:
    """A data folder with one find."""
    folder = tmp_path / "records"
    database = Database.open(folder)
    with database.writing() as unit:
        place = unit.make(PlaceRow(name="Invented wood", lat=55.676412, lon=12.568321, region="europe-north"))
        add_find(unit, reasoner, date="2026-10-04", place_id=place.id)
    database.close()
    return folder


def test_the_app_answers_this_computer_only_and_stops_when_told(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "trug", "serve", "--no-browser", "--port", "0", "--data", str(tmp_path / "new")]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as process:
        try:
            assert process.stdout is not None
            found = re.search(r"http://127\.0\.0\.1:(\d+)/", process.stdout.readline())
            assert found is not None
            with urllib.request.urlopen(f"{found[0]}begin", timeout=20) as answer:
                page = answer.read().decode()
            with pytest.raises(urllib.error.HTTPError) as refused:
                urllib.request.urlopen(urllib.request.Request(found[0], headers={"Host": "evil.example"}), timeout=20)
            refused.value.close()
            process.send_signal(signal.SIGINT)
            process.wait(20)
        finally:
            process.kill()

    assert "<h1" in page
    assert refused.value.code == 400
    assert (tmp_path / "new" / "trug.sqlite3").exists()


def test_a_port_that_is_taken_is_told(trug: Any, tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        said = trug("serve", "--no-browser", "--port", taken.getsockname()[1], "--data", tmp_path)

    assert said.code == 1
    assert "name another with --port" in said.err


@pytest.mark.parametrize("words", [("backup", "a.zip"), ("export", "a.csv"), ("import", "a.zip")])
def test_without_records_the_first_step_is_told(trug: Any, tmp_path: Path, words: tuple[str, str]) -> None:
    said = trug("records", words[0], tmp_path / words[1], "--data", tmp_path / "none")

    assert said.code == 1
    assert "begin with 'trug serve'" in said.err


def test_a_backup_comes_back(trug: Any, tmp_path: Path, records: Path) -> None:
    saved = trug("records", "backup", tmp_path / "b.zip", "--data", records)
    again = trug("records", "restore", tmp_path / "b.zip", "--data", tmp_path / "other")
    over = trug("records", "restore", tmp_path / "b.zip", "--data", records)
    aside = trug("records", "restore", tmp_path / "b.zip", "--data", records, "--replace")

    assert saved.code == 0
    assert "1 finds, 0 photos" in saved.out
    assert "exact places" in saved.out
    assert again.code == 0
    database = Database.open(tmp_path / "other")
    with database.reading() as session:
        assert session.query(FindRow).count() == 1
    database.close()
    assert over.code == 1
    assert "--replace" in over.err
    assert aside.code == 0
    assert len([p for p in tmp_path.iterdir() if p.name.startswith("records.before-")]) == 1


@pytest.mark.parametrize("ending", [".zip", ".csv", ".geojson"])
def test_finds_leave_generalised_unless_exact_is_said(trug: Any, tmp_path: Path, records: Path, ending: str) -> None:
    told = trug("records", "export", tmp_path / f"a{ending}", "--data", records)
    exact = trug("records", "export", tmp_path / f"b{ending}", "--data", records, "--exact")

    assert (told.code, exact.code) == (0, 0)
    assert "places generalised" in told.out
    assert "EXACT places" in exact.out
    assert "55.6764" not in _text(tmp_path / f"a{ending}")
    assert "55.676412" in _text(tmp_path / f"b{ending}")


def test_an_export_is_taken_over_elsewhere(trug: Any, tmp_path: Path, records: Path) -> None:
    trug("records", "export", tmp_path / "a.zip", "--data", records)
    Database.open(tmp_path / "other").close()
    first = trug("records", "import", tmp_path / "a.zip", "--data", tmp_path / "other")
    second = trug("records", "import", tmp_path / "a.zip", "--data", tmp_path / "other")

    assert "1 finds and 0 looks taken over, 0 were here already" in first.out
    assert "0 finds and 0 looks taken over, 1 were here already" in second.out


def test_another_ending_and_an_existing_file_are_refused(trug: Any, tmp_path: Path, records: Path) -> None:
    (tmp_path / "a.csv").write_text("mine")
    other = trug("records", "export", tmp_path / "a.txt", "--data", records)
    over = trug("records", "export", tmp_path / "a.csv", "--data", records)

    assert other.code == 2
    assert ".geojson" in other.err
    assert over.code == 1
    assert (tmp_path / "a.csv").read_text() == "mine"


def test_a_missing_extra_is_one_sentence_with_the_command(trug: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "uvicorn", None)
    said = trug("serve", "--no-browser")

    assert said.code == 1
    assert "pip install 'trug[web]'" in said.err
    assert "Traceback" not in said.err


def _text(path: Path) -> str:
    if path.suffix != ".zip":
        return path.read_text("utf-8")
    with zipfile.ZipFile(path) as archive:
        return "\n".join(archive.read(name).decode() for name in archive.namelist())


def test_a_geojson_file_is_a_feature_collection(trug: Any, tmp_path: Path, records: Path) -> None:
    trug("records", "export", tmp_path / "a.geojson", "--data", records)

    assert json.loads((tmp_path / "a.geojson").read_text())["type"] == "FeatureCollection"
