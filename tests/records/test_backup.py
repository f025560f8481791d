"""Backups: one file, taken while others write; and restored whole or not at all."""

from __future__ import annotations

import hashlib
import io
import json
import os
import shutil
import sqlite3
import threading
import zipfile
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from kept_finds import VELVET, gather, photo, present, replayed, sound
from sqlalchemy import select

from trug.errors import InputError, UnreadableError
from trug.records.backup import FORMAT, MANIFEST, back_up, restore
from trug.records.database import DATABASE_FILE, Database
from trug.records.kitchen import admission
from trug.records.photos.store import PhotoStore
from trug.records.pictures import add_photo
from trug.records.reasoning import Reasoner
from trug.records.signing import cover_of
from trug.records.tables import FindRow, FruitbodyRow, PhotoRow


@pytest.fixture
def backup(signed: SimpleNamespace, tmp_path: Path) -> Path:
    """A backup of a database with a signed find and three photos."""
    with signed.database.writing() as unit:
        for n in range(3):
            add_photo(signed.database, unit, signed.find, photo(n))
    path = tmp_path / "backup.zip"
    back_up(signed.database, path)
    return path


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file below a folder."""
    return {str(f.relative_to(folder)): f.read_bytes() for f in folder.rglob("*") if f.is_file()}


def test_everything_comes_back(signed: SimpleNamespace, reasoner: Reasoner, backup: Path, tmp_path: Path) -> None:
    seen: list[tuple[int, int]] = []
    made = restore(backup, tmp_path / "new", progress=lambda n, of: seen.append((n, of)))
    restored = Database.open(tmp_path / "new")

    assert (made.finds, made.photos, made.missing) == (1, 3, ())
    assert seen[-1] == (4, 4)
    assert sound(restored) == []
    with signed.database.reading() as before, restored.reading() as after:
        assert present(before) == present(after) == replayed(after)
        photos = after.scalars(select(PhotoRow.sha256)).all()
        cover = cover_of(after, signed.find, signed.body)
        assert cover is not None
        assert (cover.taxon, cover.released) == (VELVET, True)
        assert admission(after, reasoner, after.get_one(FruitbodyRow, signed.body)).allowed
    assert sorted(map(restored.photos.open, photos)) == sorted(photo(n) for n in range(3))
    assert restored.device == signed.database.device
    restored.close()


def test_a_backup_is_one_plain_zip_file_with_the_digest_of_every_part(backup: Path) -> None:
    with zipfile.ZipFile(backup) as archive:
        manifest = json.loads(archive.read(MANIFEST))
        digests = {n: hashlib.sha256(archive.read(n)).hexdigest() for n in archive.namelist() if n != MANIFEST}

    assert manifest["format"] == FORMAT
    assert manifest["parts"] == digests
    assert len(digests) == 4
    assert [f.name for f in backup.parent.iterdir() if f.name.startswith(".trug")] == []


def test_a_backup_that_fails_leaves_the_one_before(
    signed: SimpleNamespace, backup: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = backup.read_bytes()

    def stop(done: int, of: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        back_up(signed.database, backup, stop)
    with pytest.raises(InputError, match="cannot be written"):
        back_up(signed.database, backup.parent / "no-such-folder" / "b.zip")
    monkeypatch.setattr(os, "fsync", lambda handle: (_ for _ in ()).throw(OSError(28, "No space left on device")))
    with pytest.raises(InputError, match="No space left"):
        back_up(signed.database, backup)

    assert backup.read_bytes() == before
    assert [f.name for f in backup.parent.iterdir() if f.name.startswith(".trug")] == []


def test_a_missing_and_a_rotten_photo_are_told_and_the_rest_is_kept(
    signed: SimpleNamespace, backup: Path, tmp_path: Path
) -> None:
    store = signed.database.photos
    gone, rotten, kept = sorted(store)
    store.drop(gone)
    store.path(rotten).write_bytes(b"rotten")
    made = back_up(signed.database, backup)

    assert made.missing == (gone, rotten)
    assert made.photos == 1
    assert restore(backup, tmp_path / "new").missing == (gone, rotten)
    assert sorted(PhotoStore(tmp_path / "new" / "photos")) == [kept]


def test_a_damaged_database_is_not_backed_up_over_a_good_one(
    signed: SimpleNamespace, backup: Path, tmp_path: Path
) -> None:
    before = backup.read_bytes()
    with sqlite3.connect(tmp_path / "torn.sqlite3") as torn:
        source = sqlite3.connect(str(signed.database.engine.url.database))
        source.backup(torn)
        source.close()
    torn.close()
    data = bytearray((tmp_path / "torn.sqlite3").read_bytes())
    for at in range(4096, len(data), 8192):
        data[at : at + 64] = bytes(64)
    (tmp_path / "torn").mkdir()
    (tmp_path / "torn" / DATABASE_FILE).write_bytes(data)
    url = signed.database.engine.url.set(database=str(tmp_path / "torn" / DATABASE_FILE))
    engine = SimpleNamespace(dialect=SimpleNamespace(name="sqlite"), url=url)
    database: Any = SimpleNamespace(engine=engine, photos=signed.database.photos)

    with pytest.raises(InputError, match="damaged"):
        back_up(database, backup)
    assert backup.read_bytes() == before


def test_writers_go_on_during_a_backup_and_every_find_before_it_is_in_it(
    database: Database, reasoner: Reasoner, tmp_path: Path
) -> None:
    # More pages than any copy in pieces takes at once, so that such a copy would begin anew with every write.
    with database.writing() as unit:
        for _ in range(4):
            gather(unit, reasoner, notes="x" * 1_000_000)
    told: list[str] = []
    stop = threading.Event()

    def write() -> None:
        n = 0
        while not stop.is_set():
            n += 1
            with database.writing() as unit:
                find, _ = gather(unit, reasoner)
                add_photo(database, unit, find.id, photo(n))
            told.append(find.id)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for n in range(2):
            before, seen = list(told), len(told)
            made = back_up(database, tmp_path / f"{n}.zip")
            assert made.missing == ()
            assert len(told) > seen
            restore(tmp_path / f"{n}.zip", tmp_path / f"restored{n}")
            restored = Database.open(tmp_path / f"restored{n}")
            assert sound(restored) == []
            with restored.reading() as session:
                finds = set(session.scalars(select(FindRow.id)))
                photos = session.scalars(select(PhotoRow.sha256)).all()
                assert replayed(session) == present(session)
            assert set(before) <= finds
            assert made.finds == len(finds)
            assert set(photos) == set(restored.photos)
            restored.close()
    finally:
        stop.set()
        writer.join()


def refused(path: Path, folder: Path, why: str = "") -> None:
    """Make sure that a file is refused with a sentence, and that nothing at all is changed."""
    before = contents(folder.parent)
    with pytest.raises(InputError, match=why):
        restore(path, folder, replace=True)
    assert contents(folder.parent) == before
    assert [f.name for f in folder.parent.iterdir() if f.name.startswith(".trug")] == []


@pytest.fixture
def target(tmp_path: Path, empty_folder: Path) -> Path:
    """Records that are there already."""
    (tmp_path / "home").mkdir()
    shutil.copytree(empty_folder, tmp_path / "home" / "data")
    return tmp_path / "home" / "data"


def rewritten(
    backup: Path, tmp_path: Path, change: Callable[[dict[str, Any], dict[str, bytes]], None], told: bytes | None = None
) -> Path:
    """Return a backup whose manifest or parts were changed."""
    with zipfile.ZipFile(backup) as archive:
        parts = {n: archive.read(n) for n in archive.namelist()}
    manifest = json.loads(parts.pop(MANIFEST))
    change(manifest, parts)
    path = tmp_path / "changed.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
        archive.writestr(MANIFEST, json.dumps(manifest) if told is None else told)
    return path


def put(name: str, data: bytes) -> Callable[[dict[str, Any], dict[str, bytes]], None]:
    """Return a change that adds a part, with its digest."""

    def change(manifest: dict[str, Any], parts: dict[str, bytes]) -> None:
        parts[name] = data
        manifest["parts"][name] = hashlib.sha256(data).hexdigest()

    return change


def foreign_database() -> bytes:
    with sqlite3.connect(":memory:") as database:
        database.execute("create table recipes (name)")
        return database.serialize()


CHANGES: dict[str, Callable[[dict[str, Any], dict[str, bytes]], None]] = {
    "another format": lambda m, p: m.update(format="a.b/1"),
    "no format": lambda m, p: m.pop("format"),
    "no parts": lambda m, p: m.pop("parts"),
    "parts of no kind": lambda m, p: m.update(parts=7),
    "no database part": lambda m, p: m["parts"].pop(DATABASE_FILE),
    "a missing photo": lambda m, p: p.pop(next(n for n in p if n.startswith("photos/"))),
    "another photo": lambda m, p: p.update({next(n for n in p if n.startswith("photos/")): photo(99)}),
    "no counts": lambda m, p: m.pop("finds"),
    "counts of no kind": lambda m, p: m.update(finds="many"),
    "no list of missing photos": lambda m, p: m.update(missing=None),
    "no time": lambda m, p: m.pop("made_at"),
    "a number as version": lambda m, p: m.update(database=1),
    "path upwards": put("photos/../../../escaped", b"x"),
    "path upwards as digest": lambda m, p: (
        p.update({"photos/../../escaped": b"x"}),
        m["parts"].update({"photos/../../escaped": "../../escaped"}),
    ),
    "absolute path": put("/tmp/trug-escaped", b"x"),
    "windows path": put("..\\escaped", b"x"),
    "a program beside": put("photos/run.sh", b"x"),
    "digest of no kind": lambda m, p: m["parts"].update({"photos/7": 7}),
    "no database at all": put(DATABASE_FILE, b"not a database at all"),
    "an empty file as database": put(DATABASE_FILE, b""),
    "the database of another program": put(DATABASE_FILE, foreign_database()),
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_foreign_or_changed_backup_is_refused_and_nothing_is_touched(
    backup: Path, tmp_path: Path, target: Path, what: str
) -> None:
    refused(rewritten(backup, tmp_path, CHANGES[what]), target, "is no backup of trug, or is damaged")
    assert not (tmp_path / "escaped").exists()
    assert not Path("/tmp/trug-escaped").exists()


@pytest.mark.parametrize("told", [b"", b"[]", b"7", b"\xff\xfe", b"{", b"[" * 100_000])
def test_a_manifest_that_is_none_is_refused(backup: Path, tmp_path: Path, target: Path, told: bytes) -> None:
    refused(rewritten(backup, tmp_path, lambda m, p: None, told), target, "is no backup of trug, or is damaged")


def test_a_backup_of_a_newer_program_is_refused_with_what_to_do(backup: Path, tmp_path: Path, target: Path) -> None:
    refused(rewritten(backup, tmp_path, lambda m, p: m.update(database="9999")), target, "update trug")


def test_what_is_no_zip_or_not_there_is_refused(tmp_path: Path, target: Path) -> None:
    (tmp_path / "letter.zip").write_text("Dear Ada")
    refused(tmp_path / "letter.zip", target, "is no backup")
    refused(tmp_path / "not-there.zip", target, "No such file")
    with zipfile.ZipFile(tmp_path / "other.zip", "w") as archive:
        archive.writestr("photos/cat.png", photo(1))
    refused(tmp_path / "other.zip", target, "is no backup of trug")


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_a_backup_that_is_cut_short_or_damaged_anywhere_is_refused_or_whole(
    backup: Path, tmp_path: Path, target: Path, data: st.DataObject
) -> None:
    """A bit that turned in what a zip file does not need is harmless; then everything comes back."""
    whole = backup.read_bytes()
    path = tmp_path / "torn.zip"
    if data.draw(st.booleans()):
        path.write_bytes(whole[: data.draw(st.integers(0, len(whole) - 1))])
    else:
        at = data.draw(st.integers(0, len(whole) - 1) | st.integers(len(whole) - 900, len(whole) - 1))
        path.write_bytes(whole[:at] + bytes([whole[at] ^ data.draw(st.integers(1, 255))]) + whole[at + 1 :])
    before = contents(target)
    fresh = tmp_path / "fresh"
    try:
        restore(path, fresh)
    except InputError:
        assert not fresh.exists()
    else:
        database = Database.open(fresh)
        assert sound(database) == []
        assert len(list(database.photos)) == 3
        database.close()
        shutil.rmtree(fresh)
    assert contents(target) == before


def test_records_that_are_there_are_set_aside_only_when_told(backup: Path, target: Path) -> None:
    before = contents(target)
    with pytest.raises(InputError, match="--replace"):
        restore(backup, target)
    assert contents(target) == before

    restore(backup, target, replace=True)
    (aside,) = [f for f in target.parent.iterdir() if f != target]
    assert contents(aside) == before
    assert aside.name.startswith("data.before-")
    assert len(list((target / "photos").rglob("*"))) > 3


def test_a_folder_with_other_things_in_it_is_left_alone(backup: Path, tmp_path: Path) -> None:
    folder = tmp_path / "documents"
    folder.mkdir()
    (folder / "letter.txt").write_text("Dear Ada")
    with pytest.raises(InputError, match="is not empty"):
        restore(backup, folder)
    assert contents(folder) == {"letter.txt": b"Dear Ada"}

    (folder / "letter.txt").unlink()
    assert restore(backup, folder).finds == 1


def test_records_stay_where_they_are_if_the_exchange_fails(
    backup: Path, target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.replace

    def fails_once(source: Any, to: Any) -> None:
        if Path(to) == target and ".trug-restore-" in str(source):
            raise OSError(13, "Permission denied")
        real(source, to)

    monkeypatch.setattr(os, "replace", fails_once)
    refused(backup, target, "Permission denied")


def test_only_a_database_in_a_file_is_backed_up(tmp_path: Path) -> None:
    database: Any = SimpleNamespace(engine=SimpleNamespace(dialect=SimpleNamespace(name="postgresql")))
    with pytest.raises(InputError, match="pg_dump"):
        back_up(database, tmp_path / "b.zip")


def test_a_sealed_zip_is_refused_with_a_sentence(backup: Path, tmp_path: Path, target: Path) -> None:
    """Flag bit 0 of a zip entry says that it is encrypted (APPNOTE.TXT 6.3.10, 4.4.4)."""
    data = bytearray(backup.read_bytes())
    for mark, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = data.find(mark)
        while at >= 0:
            data[at + flags] |= 1
            at = data.find(mark, at + 1)
    (tmp_path / "sealed.zip").write_bytes(data)
    assert zipfile.is_zipfile(io.BytesIO(data))
    refused(tmp_path / "sealed.zip", target, "is no backup")


def test_an_unreadable_backup_is_an_error_of_its_own_kind(tmp_path: Path) -> None:
    (tmp_path / "x.zip").write_bytes(b"x")
    with pytest.raises(UnreadableError):
        restore(tmp_path / "x.zip", tmp_path / "new")
    assert not (tmp_path / "new").exists()
