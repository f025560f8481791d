"""What is wrong with an archive, in sentences, before anybody else finds out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from trug.errors import InputError
from trug.place import is_wgs84
from trug.records.exchange.bad_rows import BadRow
from trug.records.exchange.containers import Container
from trug.records.exchange.dates import is_iso_date
from trug.records.exchange.described import TextFile, describe
from trug.records.exchange.reading import read_rows
from trug.records.exchange.terms import (
    BASES_OF_RECORD,
    DATE_TERMS,
    MEDIA_ROW,
    OCCURRENCE_STATUSES,
    POSITION_TERMS,
    TERMS,
    TYPES,
    short_name,
)

__all__ = ["MOST_PROBLEMS", "validate_archive"]

#: More problems than this are counted, not listed.
MOST_PROBLEMS = 200

_KNOWN = frozenset(TERMS.values())
_LAT, _LON, _DATUM, _UNCERTAINTY = (TERMS[name] for name in POSITION_TERMS)
_BASIS, _STATUS, _TYPE = TERMS["basisOfRecord"], TERMS["occurrenceStatus"], TERMS["type"]
_NAME = TERMS["scientificName"]


def validate_archive(path: Path) -> list[str]:
    """Return what is wrong with an archive or a table; an empty list where nothing was found.

    Looked for are terms that Darwin Core does not know, missing and repeated identifiers, rows that belong to no
    find, dates that are not ISO 8601 or not in the calendar, positions that are not on the earth or have no datum,
    and words outside the standard's lists. At most ``MOST_PROBLEMS`` sentences, then the number of the rest.
    """
    problems: list[str] = []
    more = 0

    def tell(problem: str) -> None:
        nonlocal more
        if len(problems) < MOST_PROBLEMS:
            problems.append(problem)
        else:
            more += 1

    try:
        with Container(path) as container:
            core, others = describe(container)
            ids = _core(container, core, tell)
            for other in others:
                _extension(container, other, ids, tell)
    except InputError as error:
        tell(str(error))
    return problems + ([f"and {more} more problems"] if more else [])


Tell = Callable[[str], None]


def _rows(container: Container, file: TextFile, tell: Tell) -> Iterator[tuple[str, dict[str, str], str]]:
    """Yield where a row stands, what its terms say, and its key."""

    def bad(row: BadRow) -> None:
        tell(f"{row.file}:{row.line}: the row {row.why}")

    for source, row in read_rows(container, file, bad):
        said = {c.term: (row[c.index] if c.index is not None else "") or c.default for c in file.columns}
        key = row[file.key] if file.key is not None else said.get(TERMS["occurrenceID"], "")
        yield f"{source.name}:{source.line}", said, key


def _columns(file: TextFile, tell: Tell) -> None:
    for column in file.columns:
        if column.term not in _KNOWN:
            tell(f"{file.names[0]}: {column.term!r} is no term of Darwin Core; its values are kept as extra")


def _core(container: Container, core: TextFile, tell: Tell) -> set[str]:
    """Check the core and return the identifiers in it."""
    _columns(core, tell)
    terms = {column.term for column in core.columns}
    for wanted in (_BASIS, _NAME, TERMS["eventDate"]):
        if wanted not in terms:
            tell(f"{core.names[0]}: there is no column {short_name(wanted)}")
    ids: set[str] = set()
    for where, said, key in _rows(container, core, tell):
        if not key:
            tell(f"{where}: the find has no identifier")
        elif key in ids:
            tell(f"{where}: the identifier {key!r} is used more than once")
        ids.add(key)
        _values(where, said, tell)
        _place(where, said, tell)
    return ids


def _extension(container: Container, file: TextFile, ids: set[str], tell: Tell) -> None:
    _columns(file, tell)
    if file.key is None:
        tell(f"{file.names[0]}: the metafile gives no coreid for it")
        return
    for where, said, key in _rows(container, file, tell):
        if key not in ids:
            tell(f"{where}: the row belongs to {key!r}, which is no find of this archive")
        _values(where, said, tell, media=file.row_type == MEDIA_ROW)


def _values(where: str, said: dict[str, str], tell: Tell, *, media: bool = False) -> None:
    """Check dates and words from closed lists."""
    for term in DATE_TERMS & said.keys():
        if said[term] and not is_iso_date(said[term]):
            tell(f"{where}: {short_name(term)} {said[term]!r} is no date like 2026-10-04 or 2026-10-04/2026-10-06")
    lists = [(_BASIS, BASES_OF_RECORD), (_STATUS, OCCURRENCE_STATUSES)] + ([(_TYPE, TYPES)] if media else [])
    for term, words in lists:
        if said.get(term) and said[term] not in words:
            tell(f"{where}: {short_name(term)} {said[term]!r} is none of {', '.join(sorted(words))}")


def _place(where: str, said: dict[str, str], tell: Tell) -> None:
    """Check a position."""
    lat, lon = said.get(_LAT, ""), said.get(_LON, "")
    if not lat and not lon:
        return
    if not lat or not lon:
        tell(f"{where}: decimalLatitude and decimalLongitude go together; one of them is missing")
        return
    north, east = _number(lat), _number(lon)
    if north is None or east is None or abs(north) > 90 or abs(east) > 180:
        tell(f"{where}: {lat!r}, {lon!r} is not on the earth in decimal degrees")
    elif north == 0 and east == 0:
        tell(f"{where}: 0, 0 lies in the sea off Africa; the position was most likely never filled in")
    if not said.get(_DATUM):
        tell(f"{where}: the position has no geodeticDatum")
    elif not is_wgs84(said[_DATUM]):
        tell(f"{where}: the geodeticDatum {said[_DATUM]!r} is not WGS84; the position is not used")
    if said.get(_UNCERTAINTY):
        radius = _number(said[_UNCERTAINTY])
        if radius is None or radius <= 0:
            tell(f"{where}: coordinateUncertaintyInMeters {said[_UNCERTAINTY]!r} is no distance above 0")


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if abs(value) < float("inf") else None
