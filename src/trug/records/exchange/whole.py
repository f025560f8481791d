"""Files that are there whole or not at all, and tables that wait on disk until their columns are known."""

from __future__ import annotations

import contextlib
import csv
import io
import os
import shutil
import tempfile
import uuid
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import BinaryIO

from trug.errors import InputError
from trug.records.exchange.rows import storable

__all__ = ["EVERY", "SpooledTable", "report", "whole_file"]

#: Progress is told once in so many rows.
EVERY = 1000

Progress = Callable[[int], None]


def report(progress: Progress | None, count: int, *, last: bool = False) -> None:
    """Tell progress now and then, and at the end."""
    if progress is not None and (last or count % EVERY == 0):
        progress(count)


@contextlib.contextmanager
def whole_file(path: Path) -> Iterator[BinaryIO]:
    """Give a file to write that takes its name only when all went well.

    Raises
    ------
    InputError
        Where the folder is missing or cannot be written to, or the disk is full.
    """
    part = path.with_name(f".{path.name}.{uuid.uuid4().hex}.part")
    try:
        try:
            with part.open("xb") as file:
                yield file
                file.flush()
                os.fsync(file.fileno())
            os.replace(part, path)
        except OSError as error:
            raise InputError(f"cannot be written: {error.strerror or error}", file=str(path)) from None
    finally:
        part.unlink(missing_ok=True)


class SpooledTable:
    """Rows of a table whose last columns turn up on the way; kept on disk, written out in the end.

    Parameters
    ----------
    columns : sequence of str
        The columns that every row has.
    """

    def __init__(self, columns: Sequence[str]) -> None:
        self.columns = tuple(columns)
        self.more: dict[str, int] = {}
        self.count = 0
        self._grew = False
        self._file = tempfile.TemporaryFile("w+", encoding="utf-8", newline="")  # noqa: SIM115
        self._write = csv.writer(self._file, lineterminator="\r\n").writerow

    def add(self, cells: Sequence[str], extra: Mapping[str, str] = {}) -> None:
        """Add a row: the cells of ``columns`` and more of them by name."""
        row = list(cells)
        if extra:
            row += [""] * len(self.more)
            start = len(self.columns)
            for name, text in extra.items():
                if name not in self.more:
                    self.more[name] = len(self.more)
                    self._grew = self._grew or self.count > 0
                    row.append("")
                row[start + self.more[name]] = storable(text)
        elif self.more:
            row += [""] * len(self.more)
        self._write(row)
        self.count += 1

    def copy_to(self, target: BinaryIO, header: Sequence[str]) -> None:
        """Write the header and all rows, each with all columns."""
        text = io.TextIOWrapper(target, encoding="utf-8", newline="", write_through=True)
        write = csv.writer(text, lineterminator="\r\n").writerow
        write([" ".join(storable(name).split()) for name in header])
        self._file.seek(0)
        if self._grew:
            width = len(header)
            for row in csv.reader(self._file):
                write(row + [""] * (width - len(row)))
        else:
            shutil.copyfileobj(self._file, text, 1 << 20)
        text.flush()
        text.detach()

    def close(self) -> None:
        """Drop the rows."""
        self._file.close()
