"""What the text files of an archive are: read from its metafile, or from a header line where there is none."""

from __future__ import annotations

import codecs
import csv
import io
import posixpath
import re
from dataclasses import dataclass
from typing import Any

from trug.errors import InputError
from trug.records.exchange.containers import Container
from trug.records.exchange.foreign_xml import parse_foreign
from trug.records.exchange.metafile import term_from_xml
from trug.records.exchange.terms import OCCURRENCE_ROW, TERMS, uri_of

__all__ = ["Column", "TextFile", "describe"]

MOST_XML_BYTES = 5_000_000
#: A header line is looked for in so many bytes.
_BEGINNING = 1 << 16
_ENCODINGS = re.compile(
    r"(utf|iso8859|cp|windows|mac|koi8|shift_jis|euc|gb|big5|ascii|latin)[\w-]*|hz|johab|tis_620|kz1048|ptcp154"
)
_ESCAPES = {"\\t": "\t", "\\n": "\n", "\\r": "\r", "\\\\": "\\"}
_DATA_NAME = re.compile(r"\.(csv|tsv|tab|txt)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Column:
    """One term of a text file: where it stands (None: in no column) and what an empty cell means."""

    term: str
    index: int | None
    default: str = ""


@dataclass(frozen=True, slots=True)
class TextFile:
    """One table of an archive, which may lie in several files of the same form.

    ``key`` is the column of the identifier of the core row, None where there is none.
    """

    names: tuple[str, ...]
    row_type: str
    columns: tuple[Column, ...]
    key: int | None
    encoding: str = "utf-8-sig"
    delimiter: str = ","
    quote: str = '"'
    line_end: str = "\n"
    header_lines: int = 0
    plain_table: bool = False

    @property
    def width(self) -> int:
        """How many columns a row must have at least."""
        places = [column.index for column in self.columns if column.index is not None]
        return max([*places, -1 if self.key is None else self.key], default=-1) + 1


def describe(container: Container) -> tuple[TextFile, list[TextFile]]:
    """Return the core of an archive and its extensions.

    The metafile may lie in a folder of the archive; without one, the only text file is read as Simple Darwin Core
    with the names of the terms in its first line.

    Raises
    ------
    UnreadableError
        With what is missing or wrong, and what to do.
    """
    metafiles = [name for name in container.names if posixpath.basename(name).lower() == "meta.xml"]
    if not container.single and metafiles:
        nearest = min(metafiles, key=lambda name: (name.count("/"), name))
        return _from_metafile(container, nearest)
    data = [name for name in container.names if container.single or _DATA_NAME.search(name)]
    data = [name for name in data if "__MACOSX" not in name]
    if len(data) != 1:
        raise container.fail(
            f"has no meta.xml and {len(data) or 'no'} text files; give an archive with meta.xml or a single table"
        )
    return _from_header(container, data[0]), []


def _from_metafile(container: Container, name: str) -> tuple[TextFile, list[TextFile]]:
    root = _parsed(container, name)
    folder = posixpath.dirname(name)
    cores = [element for element in root if _local(element) == "core"]
    if _local(root) != "archive" or len(cores) != 1:
        raise container.fail("must be an <archive> with one <core>; ask the sender for a valid archive", name)
    core = _text_file(container, name, folder, cores[0])
    others = [_text_file(container, name, folder, e) for e in root if _local(e) == "extension"]
    return core, others


def _parsed(container: Container, name: str) -> Any:
    """Return the root of an XML file that declares no entities and fetches nothing."""
    data = container.read(name, MOST_XML_BYTES)
    try:
        return parse_foreign(data)
    except InputError as error:
        raise container.fail(error.message, name) from None


def _local(element: Any) -> str:
    return str(element.tag).rpartition("}")[2] if isinstance(element.tag, str) else ""


def _text_file(container: Container, metafile: str, folder: str, element: Any) -> TextFile:
    def said(name: str, default: str) -> str:
        text: str = element.get(name, default)
        return re.sub(r"\\[tnr\\]", lambda found: _ESCAPES[found[0]], text)

    def whole(text: str | None, what: str) -> int | None:
        if text is None or not text.strip():
            return None
        if not re.fullmatch(r"\d{1,4}", text.strip(), re.ASCII):
            raise container.fail(f"{what} must be a whole number, got {text!r}", metafile)
        return int(text)

    names, columns, key = [], [], None
    for part in element.iter():
        match _local(part):
            case "location":
                names.append(container.beside(folder, part.text or ""))
            case "id" | "coreid" | "coreId":
                key = whole(part.get("index"), "the index of the identifier")
            case "field":
                term = uri_of(term_from_xml(part.get("term", "")))
                index = whole(part.get("index"), f"the index of {term!r}")
                default = part.get("default", "")
                if term and (index is not None or default):
                    columns.append(Column(term, index, default))
    if not names or not columns:
        raise container.fail("describes a table without a file or without fields", metafile)
    quote = said("fieldsEnclosedBy", '"')
    delimiter, line_end = said("fieldsTerminatedBy", ","), said("linesTerminatedBy", "\n")
    if not delimiter or len(quote) > 1:
        raise container.fail("fieldsTerminatedBy must not be empty and fieldsEnclosedBy be one character", metafile)
    return TextFile(
        tuple(names),
        uri_of(element.get("rowType", "") or OCCURRENCE_ROW),
        tuple(columns),
        key,
        _encoding(container, element.get("encoding") or "UTF-8", metafile),
        "\t" if delimiter == " " else delimiter,  # a bare tab in an XML attribute reads as a space
        quote,
        "\n" if line_end.strip(" ") == "" else line_end,
        whole(element.get("ignoreHeaderLines"), "ignoreHeaderLines") or 0,
    )


def _encoding(container: Container, name: str, metafile: str) -> str:
    """Return the codec of an encoding by name."""
    try:
        codec = codecs.lookup(name.strip())
    except (LookupError, ValueError):
        codec = None
    if codec is None or not _ENCODINGS.fullmatch(codec.name.replace("-", "").lower()):
        raise container.fail(f"the encoding {name!r} is not known; ask for UTF-8", metafile)
    return "utf-8-sig" if codec.name == "utf-8" else codec.name


def _from_header(container: Container, name: str) -> TextFile:
    with container.open(name) as file:
        beginning = file.read(_BEGINNING)
    if not beginning.strip():
        raise container.fail("is empty", name)
    encoding = _guessed(beginning)
    first = beginning.decode(encoding, "replace").lstrip("\ufeff")
    line = first.split("\n", 1)[0]
    delimiter = max(",\t;|", key=line.count)
    header = next(csv.reader(io.StringIO(first), delimiter=delimiter), [])
    columns = [Column(uri_of(word), n) for n, word in enumerate(header) if word.strip()]
    known = set(TERMS.values())
    if not any(column.term in known for column in columns):
        raise container.fail(
            "has no Darwin Core term in its first line; name the columns occurrenceID, scientificName and so on",
            name,
            1,
        )
    key = next((column.index for column in columns if column.term == TERMS["occurrenceID"]), None)
    return TextFile(
        (name,), OCCURRENCE_ROW, tuple(columns), key, encoding, delimiter, header_lines=1, plain_table=True
    )  # fmt: skip


def _guessed(beginning: bytes) -> str:
    """Return the encoding of a table that does not say: by its mark, else UTF-8, else Windows-1252."""
    if beginning.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    try:
        codecs.getincrementaldecoder("utf-8")().decode(beginning)
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8-sig"
