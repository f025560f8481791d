"""One row for each find, for a spreadsheet: comma-separated with Darwin Core names in the first line (RFC 4180)."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable
from pathlib import Path

from trug.records.exchange.neutral import neutral
from trug.records.exchange.occurrence import Occurrence
from trug.records.exchange.rows import COLUMNS, cells_of
from trug.records.exchange.terms import short_name
from trug.records.exchange.whole import SpooledTable, report, whole_file

__all__ = ["write_csv"]


def write_csv(path: Path, occurrences: Iterable[Occurrence], *, progress: Callable[[int], None] | None = None) -> int:
    """Write a table of finds in UTF-8 and return how many they are.

    Photos, looks and earlier determinations have no place in it. A cell that a spreadsheet would run as a formula
    gets an apostrophe before it; ``read_archive`` takes it off again.

    Raises
    ------
    InputError
        For a position that was not released, or a place that cannot be written to.
    """
    with contextlib.ExitStack() as stack:
        table = SpooledTable(COLUMNS)
        stack.callback(table.close)
        for occurrence in occurrences:
            leaving, cells = cells_of(occurrence)
            table.add([neutral(cell) for cell in cells], {name: neutral(cell) for name, cell in leaving.extra.items()})
            report(progress, table.count)
        with whole_file(path) as file:
            table.copy_to(file, [*table.columns, *(neutral(short_name(name)) for name in table.more)])
        report(progress, table.count, last=True)
        return table.count
