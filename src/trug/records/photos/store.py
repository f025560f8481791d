"""Photos in a folder, each named by the SHA-256 of its bytes."""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from trug.errors import InputError, UnreadableError
from trug.records.photos.images import THUMBNAIL_PX, check_size, thumbnail

__all__ = ["PhotoStore", "Verification"]

_SHA256 = re.compile("[0-9a-f]{64}")
_THUMB_SUFFIX = ".thumb.jpg"
_TEMPORARY = ".new-"


@dataclass(frozen=True, slots=True)
class Verification:
    """How the photos in a store stand: digests that are sound, missing or damaged, and names of strange files."""

    sound: tuple[str, ...]
    missing: tuple[str, ...]
    damaged: tuple[str, ...]
    strange: tuple[str, ...]


class PhotoStore:
    """A folder of photos under ``ab/cd/abcd…``.

    A photo is there whole or not at all; the same photo added twice is kept once; several programs may add
    at the same time. What is stored is not looked into: call ``images.inspect`` before ``add``.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, sha256: str) -> Path:
        """Return where a photo lies or would lie; InputError unless the name is 64 hexadecimal digits."""
        name = sha256.lower() if isinstance(sha256, str) else ""
        if not _SHA256.fullmatch(name):
            raise InputError("a photo is named by its SHA-256: 64 digits 0-9 and a-f; copy it from the find")
        return self.folder / name[:2] / name[2:4] / name

    def __contains__(self, sha256: str) -> bool:
        return self.path(sha256).is_file()

    def __iter__(self) -> Iterator[str]:
        """Yield the digest of every photo, in order."""
        for file in self._files():
            if self._is_photo(file):
                yield file.name

    def add(self, data: bytes) -> str:
        """Keep a photo and return its SHA-256; one that is there already, and sound, is left alone.

        Raises
        ------
        InputError
            Empty, more than ``images.MOST_BYTES``, or the folder cannot be written to.
        """
        check_size(data)
        sha256 = hashlib.sha256(data).hexdigest()
        path = self.path(sha256)
        if self._digest(path) != sha256:
            self._write(path, data)
        return sha256

    def open(self, sha256: str) -> bytes:
        """Return the bytes of a photo.

        Raises
        ------
        UnreadableError
            It is not there, cannot be read, or its bytes no longer match its name.
        """
        path = self.path(sha256)
        try:
            data = path.read_bytes()
        except FileNotFoundError:
            raise UnreadableError(f"photo {path.name[:12]} is missing; restore it from a backup") from None
        except OSError as error:
            raise UnreadableError(f"photo {path.name[:12]} cannot be read: {error.strerror}") from None
        if hashlib.sha256(data).hexdigest() != path.name:
            raise UnreadableError(
                f"photo {path.name[:12]} is damaged (its bytes do not match its name); restore it from a backup"
            )
        return data

    def thumb(self, sha256: str, longest_px: int) -> bytes:
        """Return a small upright JPEG of a photo, made once and kept beside it; raises as ``open``, ``thumbnail``."""
        path = self.path(sha256)
        if not THUMBNAIL_PX[0] <= longest_px <= THUMBNAIL_PX[1]:
            raise InputError(f"a thumbnail has {THUMBNAIL_PX[0]} to {THUMBNAIL_PX[1]} pixels on its long side")
        small = path.with_name(f"{path.name}.{longest_px}{_THUMB_SUFFIX}")
        try:
            kept = small.read_bytes()
        except OSError:
            kept = b""
        if path.is_file() and kept.startswith(b"\xff\xd8") and kept.endswith(b"\xff\xd9"):
            return kept
        made = thumbnail(self.open(sha256), longest_px)
        self._write(small, made)
        return made

    def drop(self, sha256: str) -> bool:
        """Remove a photo and its thumbnails; return whether it was there."""
        path = self.path(sha256)
        there = path.is_file()
        try:
            for file in (path, *path.parent.glob(f"{path.name}.*{_THUMB_SUFFIX}")):
                file.unlink(missing_ok=True)
        except OSError as error:
            raise InputError(f"photo {path.name[:12]} cannot be removed: {error.strerror}") from None
        return there

    def verify(self, expected: Iterable[str] = ()) -> Verification:
        """Read every photo and return which are sound or damaged, and which of ``expected`` are missing.

        ``strange`` are files that this store did not put there or that a broken write left behind.
        """
        sound: list[str] = []
        damaged: list[str] = []
        strange: list[str] = []
        for file in self._files():
            if self._is_photo(file):
                (sound if self._digest(file) == file.name else damaged).append(file.name)
            elif not file.name.endswith(_THUMB_SUFFIX):
                strange.append(str(file.relative_to(self.folder)))
        wanted = {self.path(sha256).name for sha256 in expected}
        missing = sorted(wanted - set(sound) - set(damaged))
        return Verification(tuple(sound), tuple(missing), tuple(damaged), tuple(strange))

    def _files(self) -> list[Path]:
        return sorted(f for f in self.folder.rglob("*") if f.is_file())

    def _is_photo(self, file: Path) -> bool:
        return bool(_SHA256.fullmatch(file.name)) and file == self.path(file.name)

    def _digest(self, path: Path) -> str:
        try:
            with path.open("rb") as file:
                return hashlib.file_digest(file, "sha256").hexdigest()
        except OSError:
            return ""

    def _write(self, path: Path, data: bytes) -> None:
        """Write a file whole: beside its place first, then moved there, both brought to the disk."""
        temporary = ""
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=_TEMPORARY)
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            os.replace(temporary, path)
            for folder in (path.parent, path.parent.parent, self.folder):
                _sync_folder(folder)
        except BaseException as error:
            if temporary:
                Path(temporary).unlink(missing_ok=True)
            if isinstance(error, OSError):
                raise InputError(
                    f"the photo could not be kept in {self.folder}: {error.strerror}; make room or allow writing there"
                ) from None
            raise


def _sync_folder(folder: Path) -> None:
    """Bring the names in a folder to the disk, where the system can."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
