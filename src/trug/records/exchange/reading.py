"""Read finds from a Darwin Core Archive or a single table, as other people write them.

The reader is made for archives of 100,000 finds and more: what a column means is worked out once, not for each row.
"""

from __future__ import annotations

import contextlib
import csv
import io
import re
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from operator import itemgetter
from pathlib import Path
from typing import Any

from trug.errors import InputError
from trug.place import Position
from trug.records.exchange.bad_rows import BadRow, Tell
from trug.records.exchange.containers import Container
from trug.records.exchange.described import TextFile, describe
from trug.records.exchange.joining import Joined, join
from trug.records.exchange.neutral import restored
from trug.records.exchange.occurrence import Identification, Measurement, Media, Occurrence
from trug.records.exchange.rows import unpack_substrate
from trug.records.exchange.terms import (
    IDENTIFICATION_FIELDS,
    IDENTIFICATION_ROW,
    MEASUREMENT_FIELDS,
    MEASUREMENT_ROW,
    MEDIA_FIELDS,
    MEDIA_ROW,
    OCCURRENCE_FIELDS,
    OCCURRENCE_ROW,
    POSITION_TERMS,
    TERMS,
)
from trug.records.exchange.whole import report

__all__ = ["read_archive", "read_rows"]

_EXTENSIONS: dict[str, tuple[type[Any], dict[str, str]]] = {
    MEDIA_ROW: (Media, MEDIA_FIELDS),
    MEASUREMENT_ROW: (Measurement, MEASUREMENT_FIELDS),
    IDENTIFICATION_ROW: (Identification, IDENTIFICATION_FIELDS),
}
_POSITION = tuple(TERMS[name] for name in POSITION_TERMS)
_IDENTIFIER = list(OCCURRENCE_FIELDS).index("occurrence_id")
_PROPERTIES = list(OCCURRENCE_FIELDS).index("dynamic_properties")
#: How bytes that are no text are carried until they are told.
_HALVES = re.compile("[\ud800-\udfff]")
_SIMPLE = "http://rs.tdwg.org/dwc/xsd/simpledarwincore/SimpleDarwinRecord"


def read_archive(path: Path, *, on_bad: Tell, progress: Callable[[int], None] | None = None) -> Iterator[Occurrence]:
    """Yield the finds of an archive (zip or folder) or of one table with Darwin Core names in its first line.

    Positions come as ``Position``: nothing read here can be written again before ``release_occurrence``. A datum that
    is not told is taken for WGS 84. Terms without a field are in ``extra``.

    Parameters
    ----------
    path : Path
        A zip file, a folder or a text file.
    on_bad : callable
        Told every row that is not read or not read fully, with all its cells, so that no row is lost.
    progress : callable, optional
        Told the number of finds so far, now and then.

    Raises
    ------
    InputError
        Where the archive as a whole cannot be read; see ``describe``.
    """
    with contextlib.ExitStack() as stack:
        container = stack.enter_context(Container(path))
        core, others = describe(container)
        if core.row_type not in (OCCURRENCE_ROW, _SIMPLE):
            raise container.fail(f"its core holds {core.row_type}, not occurrences; only finds are read")
        joined = _joined(container, core, others, on_bad, stack)
        plan = _Plan(core, OCCURRENCE_FIELDS, _POSITION)
        count = 0
        for source, row in read_rows(container, core, on_bad):
            yield _occurrence(plan, row, joined, source, on_bad)
            count += 1
            report(progress, count)
        for extension in joined.values():
            extension.finish()
        report(progress, count, last=True)


class _Source:
    """Where a row stands, for messages: the name of the file and a count of lines kept by the reader."""

    __slots__ = ("lines", "name", "skipped")

    def __init__(self, name: str, lines: Any, skipped: int) -> None:
        self.name, self.lines, self.skipped = name, lines, skipped

    @property
    def line(self) -> int:
        return int(self.lines.line_num) + self.skipped


def read_rows(container: Container, file: TextFile, on_bad: Tell) -> Iterator[tuple[_Source, list[str]]]:
    """Yield the rows of a table with where they stand; rows of the wrong width are told and left out."""
    for name in file.names:
        with container.open(name) as binary:
            text = io.TextIOWrapper(binary, file.encoding, errors="surrogateescape", newline="")
            try:
                for _ in range(file.header_lines):
                    text.readline()
                lines = csv.reader(text, **_dialect(file)) if len(file.delimiter) == 1 else _Split(text, file)
                if len(file.delimiter) == 1 and file.line_end.strip("\r\n"):
                    lines = _Split(text, file)
                yield from _checked(lines, _Source(name, lines, file.header_lines), file, on_bad)
            except (OSError, zipfile.BadZipFile, zlib.error, EOFError, UnicodeError) as error:
                raise container.fail(f"is damaged and cannot be read to its end: {error}", name) from None


def _dialect(file: TextFile) -> dict[str, Any]:
    if file.quote:
        return {"delimiter": file.delimiter, "quotechar": file.quote}
    return {"delimiter": file.delimiter, "quoting": csv.QUOTE_NONE, "quotechar": None}


class _Split:
    """Rows of a file whose separators are longer than one character; no quotes are looked for."""

    def __init__(self, text: io.TextIOWrapper, file: TextFile) -> None:
        self.line_num = 0
        self._text, self._file = text, file

    def __iter__(self) -> Iterator[list[str]]:
        rest = ""
        while chunk := self._text.read(1 << 16):
            *whole, rest = (rest + chunk).split(self._file.line_end)
            for line in whole:
                yield self._cells(line)
        if rest:
            yield self._cells(rest)

    def _cells(self, line: str) -> list[str]:
        self.line_num += 1
        cells = line.rstrip("\r\n").split(self._file.delimiter)
        quote = self._file.quote
        if not quote:
            return cells
        return [c[1:-1].replace(quote * 2, quote) if len(c) > 1 and c[0] == c[-1] == quote else c for c in cells]


def _checked(
    lines: Iterable[list[str]], source: _Source, file: TextFile, on_bad: Tell
) -> Iterator[tuple[_Source, list[str]]]:
    """Yield rows that are as wide as the first and as the metafile needs."""
    needed, width = file.width, 0
    rows = iter(lines)
    while True:
        try:
            for row in rows:
                if not row:
                    continue
                if len(row) != width:
                    if width == 0 and len(row) >= needed:
                        width = len(row)
                    elif len(row) < needed:
                        why = f"has {len(row)} cells where {max(needed, width)} are needed"
                        on_bad(BadRow(source.name, source.line, why, _shown(row)))
                        continue
                    elif any(row[max(width, needed) :]):
                        why = f"has {len(row)} cells where the others have {width}; a separator inside a text?"
                        on_bad(BadRow(source.name, source.line, why, _shown(row)))
                        continue
                if not _encodable(row):
                    why = f"holds bytes that are not {file.encoding}; they are shown as \ufffd"
                    row = list(_shown(row))
                    on_bad(BadRow(source.name, source.line, why, tuple(row), kept=True))
                yield source, row
            return
        except csv.Error as error:
            on_bad(BadRow(source.name, source.line, f"cannot be split into cells: {error}"))


def _encodable(row: list[str]) -> bool:
    """Return whether all bytes of a row were text."""
    try:
        "".join(row).encode()
    except UnicodeEncodeError:
        return False
    return True


def _shown(row: Iterable[str]) -> tuple[str, ...]:
    return tuple(_HALVES.sub("\ufffd", cell) for cell in row)


class _Plan:
    """How the columns of a table become the fields of an object, worked out once for all rows."""

    def __init__(self, file: TextFile, fields: Mapping[str, str], apart: tuple[str, ...] = ()) -> None:
        self.width = file.width
        self.key = file.key
        self.restore = file.plain_table
        self.constants: list[str] = [""]
        places: dict[str, int] = {}
        self.defaults: list[tuple[int, str]] = []
        self.extras: list[tuple[int, str]] = []
        wanted = {TERMS[name] for name in fields.values()} | set(apart)
        for column in file.columns:
            place = column.index
            if place is None:
                place = -len(self.constants) - 1
                self.constants.append(column.default)
            elif column.default:
                self.defaults.append((place, column.default))
            if column.term in wanted and column.term not in places:
                places[column.term] = place
            else:
                self.extras.append((place, column.term))
        self.constants.reverse()  # the first stands at -1, the next at -2
        self.take = itemgetter(*(places.get(TERMS[name], -1) for name in fields.values()))
        self.apart = itemgetter(*(places.get(term, -1) for term in apart)) if apart else None
        self.told = any(term in places for term in apart)

    def fill(self, row: list[str]) -> list[str]:
        """Return a row with the constants behind it and empty cells filled."""
        if self.restore:
            row = [restored(cell) if cell[:1] == "'" else cell for cell in row]
        for place, default in self.defaults:
            if not row[place]:
                row[place] = default
        return row + self.constants

    def extra(self, row: list[str]) -> dict[str, str]:
        """Return what the terms without a field say."""
        return {term: row[place] for place, term in self.extras if row[place]}


def _occurrence(plan: _Plan, row: list[str], joined: Mapping[str, Joined], source: _Source, on_bad: Tell) -> Occurrence:
    """Return the find of a row."""
    row = plan.fill(row)
    cells = plan.take(row)
    extra = plan.extra(row) if plan.extras else {}
    position, substrate = None, ""
    if plan.told and plan.apart is not None:
        told = plan.apart(row)
        if any(told):
            position, problem = _position(*told)
            if problem or position is None:
                extra |= _unread(told, position)
            if problem:
                on_bad(BadRow(source.name, source.line, problem, _shown(row[: plan.width]), kept=True))
    if "substrate" in cells[_PROPERTIES]:
        properties, substrate = unpack_substrate(cells[_PROPERTIES])
        cells = (*cells[:_PROPERTIES], properties, *cells[_PROPERTIES + 1 :])
    key = row[plan.key] if plan.key is not None else cells[_IDENTIFIER]
    if not cells[_IDENTIFIER]:
        if not key:
            on_bad(BadRow(source.name, source.line, "has no identifier", _shown(row[: plan.width]), kept=True))
        cells = (*cells[:_IDENTIFIER], key, *cells[_IDENTIFIER + 1 :])
    values: tuple[Any, ...] = (*cells, substrate, position, extra)
    if joined:
        values += tuple(joined[kind].take(key) if kind in joined else () for kind in _EXTENSIONS)
    return Occurrence(*values)


def _position(lat: str, lon: str, datum: str, uncertainty: str) -> tuple[Position | None, str]:
    """Return a position and what could not be used of it."""
    if not lat and not lon:
        return None, ""
    try:
        point = Position(float(lat), float(lon), None, datum or "WGS84")
    except InputError as error:
        return None, f"comes without its position: {error.message}"
    except ValueError:
        return None, f"comes without its position: {lat!r}, {lon!r} are not two numbers"
    if not uncertainty:
        return point, ""
    try:
        return Position(point.lat, point.lon, float(uncertainty)), ""
    except ValueError:
        return point, f"comes without the uncertainty of its position: {uncertainty!r} is no distance in metres"


def _unread(told: tuple[str, ...], position: Position | None) -> dict[str, str]:
    """Return what could not be used, under its own terms."""
    kept = dict(zip(_POSITION, told, strict=True))
    return {term: text for term, text in kept.items() if text and (position is None or term == _POSITION[3])}


def _joined(
    container: Container, core: TextFile, others: list[TextFile], on_bad: Tell, stack: contextlib.ExitStack
) -> dict[str, Joined]:
    """Return the tables beside the core, ready to be asked for the rows of one find after another."""
    known = {}
    for other in others:
        if other.row_type not in _EXTENSIONS or other.row_type in known or other.key is None:
            on_bad(BadRow(other.names[0], 0, f"is a table of {other.row_type}, which is not read"))
        else:
            known[other.row_type] = other
    if not known:
        return {}
    plan = _Plan(core, OCCURRENCE_FIELDS)

    def core_keys() -> Iterator[str]:
        for _, row in read_rows(container, core, lambda bad: None):
            yield row[core.key] if core.key is not None else plan.take(plan.fill(row))[_IDENTIFIER]

    order: dict[str, int] = {}
    for key in core_keys():
        order.setdefault(key, len(order))
    return {
        row_type: join(
            order,
            lambda tell, other=other: read_rows(container, other, tell),  # type: ignore[misc]
            other.key or 0,
            _maker(row_type, other),
            on_bad,
            stack,
        )
        for row_type, other in known.items()
    }


def _maker(row_type: str, file: TextFile) -> Callable[[list[str]], Any]:
    """Return what turns a row of an extension into its object."""
    kind, fields = _EXTENSIONS[row_type]
    plan = _Plan(file, fields)

    def make(row: list[str]) -> Any:
        full = plan.fill(row)
        return kind(*plan.take(full), plan.extra(full) if plan.extras else {})

    return make
