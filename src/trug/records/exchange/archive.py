"""Write a Darwin Core Archive: one zip with a core of finds and tables of photos, looks and determinations."""

from __future__ import annotations

import contextlib
import zipfile
from collections.abc import Callable, Iterable
from pathlib import Path

import msgspec

from trug.errors import InputError
from trug.records.exchange.metafile import Dataset, WrittenFile, eml_xml, meta_xml
from trug.records.exchange.occurrence import Occurrence
from trug.records.exchange.reading import read_archive
from trug.records.exchange.rows import COLUMNS, cells_of, storable
from trug.records.exchange.terms import (
    IDENTIFICATION_FIELDS,
    IDENTIFICATION_ROW,
    MEASUREMENT_FIELDS,
    MEASUREMENT_ROW,
    MEDIA_FIELDS,
    MEDIA_ROW,
    OCCURRENCE_ROW,
    TERMS,
    short_name,
)
from trug.records.exchange.whole import SpooledTable, report, whole_file

__all__ = ["read_archive", "write_archive"]

#: Every file of an archive bears this time, so that the same finds make the same bytes.
_TIME = (1980, 1, 1, 0, 0, 0)
#: The tables beside the core: file, class of the rows, attribute of an occurrence, fields.
_TABLES = (
    ("multimedia.txt", MEDIA_ROW, "media", MEDIA_FIELDS),
    ("measurementorfact.txt", MEASUREMENT_ROW, "measurements", MEASUREMENT_FIELDS),
    ("identification.txt", IDENTIFICATION_ROW, "identifications", IDENTIFICATION_FIELDS),
)


def write_archive(
    path: Path,
    occurrences: Iterable[Occurrence],
    *,
    dataset: Dataset,
    progress: Callable[[int], None] | None = None,
) -> int:
    """Write an archive and return the number of finds in it.

    The file is there whole or not at all; the same finds and data set make the same bytes. Finds are taken one by
    one and never held all at once.

    Parameters
    ----------
    path : Path
        The zip file; one that is there is replaced.
    occurrences : iterable of Occurrence
        With positions from ``release_occurrence``; each has an identifier.
    dataset : Dataset
        What is said of the whole.
    progress : callable, optional
        Told the number of finds written so far, now and then.

    Raises
    ------
    InputError
        For a position that was not released, a find without an identifier, or a place that cannot be written to.
    """
    with contextlib.ExitStack() as stack:
        core = SpooledTable(COLUMNS)
        stack.callback(core.close)
        tables = []
        for _, _, _, fields in _TABLES:
            tables.append(SpooledTable(["coreid", *fields.values()]))
            stack.callback(tables[-1].close)
        for occurrence in occurrences:
            _add(occurrence, core, tables)
            report(progress, core.count)
        with whole_file(path) as file, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
            _fill(archive, core, tables, dataset)
        report(progress, core.count, last=True)
        return core.count


def _add(occurrence: Occurrence, core: SpooledTable, tables: list[SpooledTable]) -> None:
    """Add one find to the core and its photos, looks and determinations to their tables."""
    if not occurrence.occurrence_id.strip():
        raise InputError("a find has no identifier (occurrenceID); give it one before it leaves")
    leaving, cells = cells_of(occurrence)
    core.add(cells, leaving.extra)
    for (_, _, attribute, fields), table in zip(_TABLES, tables, strict=True):
        for row in getattr(leaving, attribute):
            texts = msgspec.structs.astuple(row)[: len(fields)]
            table.add([cells[0], *map(storable, texts)], row.extra)


def _fill(archive: zipfile.ZipFile, core: SpooledTable, tables: list[SpooledTable], dataset: Dataset) -> None:
    """Put the files into the zip."""
    filled = [(core, WrittenFile("occurrence.txt", OCCURRENCE_ROW, _terms(core), core=True))]
    filled += [
        (table, WrittenFile(name, row_type, _terms(table)[1:]))
        for (name, row_type, _, _), table in zip(_TABLES, tables, strict=True)
        if table.count
    ]
    for name, text in (("meta.xml", meta_xml([file for _, file in filled])), ("eml.xml", eml_xml(dataset))):
        archive.writestr(_entry(name), text)
    for table, file in filled:
        header = [*table.columns, *map(short_name, table.more)]
        with archive.open(_entry(file.name), "w", force_zip64=True) as member:
            table.copy_to(member, header)  # type: ignore[arg-type]


def _terms(table: SpooledTable) -> list[str]:
    return [*(TERMS.get(name, name) for name in table.columns), *table.more]


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, _TIME)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o644 << 16
    entry.create_system = 3
    return entry
