"""What an archive comes in: a zip, a folder or one text file. Nothing is unpacked; hostile zips are refused."""

from __future__ import annotations

import posixpath
import re
import zipfile
from pathlib import Path
from types import TracebackType
from typing import BinaryIO, Self, cast

from trug.errors import InputError, UnreadableError

__all__ = ["Container"]

#: Files in one archive, and bytes in one of them and in all, unpacked.
MOST_FILES = 10_000
MOST_BYTES = 20_000_000_000
#: A file that grows more than this when unpacked, and beyond ``SMALL_BYTES``, is a trap.
MOST_GROWTH = 200
SMALL_BYTES = 20_000_000


class Container:
    """The files of an archive by name, to be read one after another.

    Parameters
    ----------
    path : Path
        A zip file, a folder, or a single text file.

    Raises
    ------
    UnreadableError
        Where there is no such file, it is damaged, or it unpacks to more than any archive of finds would.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._zip: zipfile.ZipFile | None = None
        self._folder = path if path.is_dir() else path.parent
        if path.is_dir():
            self.names = sorted(p.relative_to(path).as_posix() for p in path.rglob("*") if p.is_file())
        elif not path.exists():
            raise UnreadableError("no such file; check the name and the folder", file=str(path))
        elif _is_zip(path):
            self._zip = _open_zip(path)
            self.names = [entry.filename for entry in self._zip.infolist() if not entry.is_dir()]
        else:
            self.names = [path.name]

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._zip is not None:
            self._zip.close()

    @property
    def single(self) -> bool:
        """Whether this is one text file and neither a zip nor a folder."""
        return self._zip is None and not self.path.is_dir()

    def fail(self, message: str, name: str = "", line: int | None = None) -> InputError:
        """Return an error about the archive or a file in it."""
        inside = f"{self.path}/{name}" if name and not self.single else str(self.path)
        return UnreadableError(message, file=inside, line=line)

    def beside(self, folder: str, location: str) -> str:
        """Return the name of a file given relative to the metafile.

        Raises
        ------
        UnreadableError
            For an address on the web, a way out of the archive, or a file that is not there.
        """
        if "://" in location:
            raise self.fail(f"the metafile points to {location!r}; fetch that file and put it into the archive")
        plain = posixpath.normpath(posixpath.join(folder, location.strip()))
        if plain.startswith(("../", "/")) or plain == ".." or "\\" in location or re.match(r"[A-Za-z]:", location):
            raise self.fail(f"the metafile points out of the archive, to {location!r}; such an archive is not read")
        if plain not in self.names:
            raise self.fail(f"the metafile names {location!r}, which the archive does not hold")
        return plain

    def open(self, name: str) -> BinaryIO:
        """Return a file of the archive, open for reading bytes."""
        try:
            if self._zip is not None:
                return cast(BinaryIO, self._zip.open(name))
            file = (self._folder / name).resolve()
            if not file.is_relative_to(self._folder.resolve()):
                raise self.fail(f"{name!r} leads out of the folder; such an archive is not read")
            return file.open("rb")
        except (OSError, RuntimeError, NotImplementedError, zipfile.BadZipFile) as error:
            raise self.fail(f"cannot be read: {error}", name) from None

    def read(self, name: str, most: int) -> bytes:
        """Return a small file; UnreadableError where it is larger than ``most`` bytes."""
        try:
            with self.open(name) as file:
                data = file.read(most + 1)
        except (OSError, zipfile.BadZipFile, EOFError) as error:
            raise self.fail(f"cannot be read: {error}", name) from None
        if len(data) > most:
            raise self.fail("is too large to be what it should be", name)
        return data


def _is_zip(path: Path) -> bool:
    """Return whether a file begins as a zip does; a text that ends in a zip is none."""
    try:
        with path.open("rb") as file:
            return file.read(4) in (b"PK\x03\x04", b"PK\x05\x06")
    except OSError as error:
        raise UnreadableError(f"cannot be read: {error.strerror}", file=str(path)) from None


def _open_zip(path: Path) -> zipfile.ZipFile:
    """Return a zip that is neither damaged nor a trap."""
    try:
        archive = zipfile.ZipFile(path)
    except (OSError, zipfile.BadZipFile, NotImplementedError, ValueError) as error:
        raise UnreadableError(f"is a damaged zip file: {error}; fetch it again", file=str(path)) from None
    entries = archive.infolist()
    problem = ""
    if len(entries) > MOST_FILES:
        problem = f"holds {len(entries)} files; an archive of finds has a handful"
    elif sum(entry.file_size for entry in entries) > MOST_BYTES:
        problem = "unpacks to more than 20 GB; split it"
    elif any(entry.flag_bits & 1 for entry in entries):
        problem = "is locked with a password; unlock it first"
    elif any(e.file_size > SMALL_BYTES and e.file_size > MOST_GROWTH * max(e.compress_size, 1) for e in entries):
        problem = "unpacks to hundreds of times its size; such an archive is not read"
    if problem:
        archive.close()
        raise UnreadableError(problem, file=str(path))
    return archive
