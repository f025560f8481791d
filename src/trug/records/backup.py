"""Backup: the database and its photos in one file, taken while the app runs; restored with one command.

The file is a plain ZIP archive: ``trug.sqlite3``, ``photos/<sha256>`` and ``manifest.json`` with the SHA-256 of
every part. It holds exact places: it is for the person whose records they are.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import sqlite3
import tempfile
import zipfile
import zlib
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from trug import __version__
from trug.errors import InputError, UnreadableError
from trug.records.database import DATABASE_FILE, PHOTO_FOLDER, Database, now_text
from trug.records.migrate import NEWEST
from trug.records.photos.store import PhotoStore

__all__ = ["FORMAT", "Backup", "back_up", "restore"]

FORMAT = "trug.backup/1"
MANIFEST = "manifest.json"
#: Read and written in pieces of this size [bytes].
PIECE = 1 << 20
#: A manifest is never larger [bytes].
MOST_MANIFEST = 256 << 20

SHA256 = re.compile("[0-9a-f]{64}")

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Backup:
    """What a backup holds. ``missing`` are photos that the records name but the store lacks or holds damaged."""

    path: Path
    finds: int
    photos: int
    missing: tuple[str, ...]
    bytes: int
    made_at: str


def back_up(database: Database, path: Path, progress: Progress | None = None) -> Backup:
    """Write a backup of an open database, whole or not at all.

    The database is copied by SQLite's own online copy, so that writers go on meanwhile; photos are never changed
    once written, and are on the disk before a row names them.

    Raises
    ------
    InputError
        The database is not SQLite or damaged, or the file cannot be written.
    """
    if database.engine.dialect.name != "sqlite":
        raise InputError("only a database in the data folder is backed up here; use pg_dump for PostgreSQL")
    temporary = ""
    try:
        with tempfile.TemporaryDirectory(dir=path.parent, prefix=".trug-") as folder:
            copy = Path(folder) / DATABASE_FILE
            _copy_database(Path(str(database.engine.url.database)), copy)
            if not _sound(copy):
                raise InputError("the records are damaged, so no backup is written; keep the earlier ones")
            finds, photos = _contents(copy)
            handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".trug-")
            with os.fdopen(handle, "w+b") as out:
                missing, made_at = _pack(out, copy, photos, finds, database.photos, progress)
                out.flush()
                os.fsync(out.fileno())
            os.replace(temporary, path)
            temporary = ""
    except (OSError, sqlite3.Error) as error:
        raise InputError(f"cannot be written: {getattr(error, 'strerror', None) or error}", file=str(path)) from None
    finally:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
    return Backup(path, finds, len(photos) - len(missing), tuple(missing), path.stat().st_size, made_at)


def _copy_database(source: Path, target: Path) -> None:
    with closing(sqlite3.connect(source)) as live, closing(sqlite3.connect(target)) as copy:
        live.backup(copy)  # in one step: copied in pieces it begins anew at each write of another one
        copy.execute("PRAGMA journal_mode = DELETE")


def _contents(copy: Path) -> tuple[int, list[str]]:
    with closing(sqlite3.connect(copy)) as database:
        finds = int(database.execute("select count(*) from finds").fetchone()[0])
        photos = [row[0] for row in database.execute("select distinct sha256 from photos order by sha256")]
    return finds, photos


def _pack(
    out: object, copy: Path, photos: list[str], finds: int, store: PhotoStore, progress: Progress | None
) -> tuple[list[str], str]:
    missing: list[str] = []
    parts: dict[str, str] = {}
    made_at = now_text()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED, allowZip64=True) as archive:  # type: ignore[call-overload]
        archive.write(copy, DATABASE_FILE, zipfile.ZIP_DEFLATED)
        parts[DATABASE_FILE] = _digest(copy)
        for n, sha256 in enumerate(photos, 1):
            try:
                archive.writestr(f"{PHOTO_FOLDER}/{sha256}", store.open(sha256))
                parts[f"{PHOTO_FOLDER}/{sha256}"] = sha256
            except UnreadableError:  # one rotten photo must not spoil the rest
                missing.append(sha256)
            if progress is not None:
                progress(n, len(photos))
        manifest = {
            "format": FORMAT,
            "made_at": made_at,
            "program": __version__,
            "database": NEWEST,
            "finds": finds,
            "missing": missing,
            "parts": parts,
        }
        archive.writestr(MANIFEST, json.dumps(manifest, indent=1, sort_keys=True))
    return missing, made_at


def _digest(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(PIECE):
            digest.update(piece)
    return digest.hexdigest()


def restore(path: Path, folder: Path, *, replace: bool = False, progress: Progress | None = None) -> Backup:
    """Bring the records of a backup into a data folder; every part is checked before anything there is touched.

    With ``replace`` records that are there already are set aside beside the folder, not erased.

    Raises
    ------
    UnreadableError
        The file is no backup, damaged, or made by a newer program.
    InputError
        The folder holds records or anything else already, or cannot be written.
    """
    if not replace and (folder / DATABASE_FILE).exists():
        raise InputError("holds records already; say --replace to set them aside first", file=str(folder))
    try:
        if not replace and folder.exists() and any(folder.iterdir()):
            raise InputError("is not empty; name another folder, or say --replace to set it aside", file=str(folder))
        folder.parent.mkdir(parents=True, exist_ok=True)
        fresh = Path(tempfile.mkdtemp(dir=folder.parent, prefix=".trug-restore-"))
    except OSError as error:
        raise InputError(f"cannot be written: {error.strerror}", file=str(folder)) from None
    try:
        manifest = _unpack(path, fresh, progress)
        _exchange(fresh, folder, f"{folder.name}.before-{manifest['restored_at'].replace(':', '')}")
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError):
        raise UnreadableError("is no backup, or is damaged; try another one", file=str(path)) from None
    except OSError as error:
        raise InputError(f"cannot be restored: {error.strerror or error}", file=str(path)) from None
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    photos = len(manifest["parts"]) - 1
    return Backup(path, manifest["finds"], photos, tuple(manifest["missing"]), path.stat().st_size, manifest["made_at"])


def _exchange(fresh: Path, folder: Path, aside: str) -> None:
    """Give the fresh folder the place of another, which is set aside; neither is changed where that fails."""
    if not folder.exists():
        os.replace(fresh, folder)
        return
    os.replace(folder, folder.with_name(aside))
    try:
        os.replace(fresh, folder)
    except OSError:
        os.replace(folder.with_name(aside), folder)
        raise


def _unpack(path: Path, fresh: Path, progress: Progress | None) -> dict[str, Any]:
    damaged = UnreadableError("is no backup of trug, or is damaged; try another one", file=str(path))
    with zipfile.ZipFile(path) as archive:
        if MANIFEST not in archive.namelist() or archive.getinfo(MANIFEST).file_size > MOST_MANIFEST:
            raise damaged
        try:
            manifest = json.loads(archive.read(MANIFEST))
            parts: dict[str, str] = dict(manifest["parts"])
            newer = manifest["database"] > NEWEST
            known = manifest["format"] == FORMAT and DATABASE_FILE in parts
            told = (int(manifest["finds"]), tuple(manifest["missing"]), str(manifest["made_at"]))
            known = known and told == (manifest["finds"], tuple(manifest["missing"]), manifest["made_at"])
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            raise damaged from None
        if not known:
            raise damaged
        if newer:
            raise UnreadableError("was made by a newer trug; update trug, then restore", file=str(path))
        store = PhotoStore(fresh / PHOTO_FOLDER)
        for n, (name, sha256) in enumerate(sorted(parts.items()), 1):
            if name == DATABASE_FILE:
                target = fresh / DATABASE_FILE
            elif SHA256.fullmatch(str(sha256)) and name == f"{PHOTO_FOLDER}/{sha256}":
                target = store.path(sha256)  # named by a digest alone, so that nothing lands elsewhere
            else:
                raise damaged
            if name not in archive.namelist() or _extract(archive, name, target) != sha256:
                raise damaged
            if progress is not None:
                progress(n, len(parts))
    if not _sound(fresh / DATABASE_FILE):
        raise damaged
    manifest["restored_at"] = now_text()
    return dict(manifest)


def _sound(path: Path) -> bool:
    """Whether a file is an undamaged database of ours."""
    try:
        with closing(sqlite3.connect(path)) as database:
            found = database.execute("select version_num from alembic_version").fetchone()
            whole = database.execute("pragma quick_check").fetchone() == ("ok",)
    except sqlite3.Error:
        return False
    return whole and found is not None and str(found[0]) <= NEWEST


def _extract(archive: zipfile.ZipFile, name: str, target: Path) -> str:
    """Write a part of the archive to the disk and return its SHA-256."""
    target.parent.mkdir(parents=True, exist_ok=True)
    digest = hashlib.sha256()
    with archive.open(name) as source, target.open("wb") as out:
        while piece := source.read(PIECE):
            digest.update(piece)
            out.write(piece)
        out.flush()
        os.fsync(out.fileno())
    return digest.hexdigest()
