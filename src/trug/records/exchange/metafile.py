"""The two XML files of an archive: what its columns are (``meta.xml``) and what the data set is (``eml.xml``).

References
----------
Darwin Core Text Guide, http://rs.tdwg.org/dwc/terms/guides/text/, namespace http://rs.tdwg.org/dwc/text/.
GBIF Metadata Profile 1.1, after Ecological Metadata Language 2.1.1.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import quote, unquote
from xml.sax.saxutils import escape, quoteattr

from trug.place import without_coordinates
from trug.records.exchange.rows import storable

__all__ = ["TEXT_NAMESPACE", "Dataset", "WrittenFile", "eml_xml", "meta_xml", "term_from_xml", "term_to_xml"]

TEXT_NAMESPACE = "http://rs.tdwg.org/dwc/text/"
_SCHEMA = "http://rs.tdwg.org/dwc/text/tdwg_dwc_text.xsd"
_EML = "eml://ecoinformatics.org/eml-2.1.1"
_ADDRESS = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:[^\s<>\"{}|\\^`]+", re.ASCII)


@dataclass(frozen=True, slots=True)
class Dataset:
    """What is said of the whole set of finds.

    ``published`` is an ISO 8601 day, given by the caller so that the same input makes the same file; ``licence`` is
    the text or address of the terms of use.
    """

    title: str
    creator: str
    published: str
    identifier: str = ""
    abstract: str = ""
    licence: str = ""
    language: str = "en"
    email: str = ""


@dataclass(frozen=True, slots=True)
class WrittenFile:
    """One text file of an archive: its name, the class of its rows, and the terms of its columns in order.

    The first column of an extension is the identifier of the find and has no term.
    """

    name: str
    row_type: str
    terms: Sequence[str]
    core: bool = False


def term_to_xml(term: str) -> str:
    """Return a term as an address: a bare name that other people made up is escaped where an address needs it."""
    return term if _ADDRESS.fullmatch(term) else quote(term, safe="")


def term_from_xml(term: str) -> str:
    """Return the term that ``term_to_xml`` wrote."""
    return term if ":" in term else unquote(term)


def meta_xml(files: Sequence[WrittenFile]) -> str:
    """Return the metafile of an archive whose first file is the core."""
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<archive xmlns="{TEXT_NAMESPACE}" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" '
        f'xsi:schemaLocation="{TEXT_NAMESPACE} {_SCHEMA}" metadata="eml.xml">',
    ]
    for file in files:
        element, key = ("core", "id") if file.core else ("extension", "coreid")
        parts += [
            f'  <{element} encoding="UTF-8" fieldsTerminatedBy="," linesTerminatedBy="\\r\\n" '
            f'fieldsEnclosedBy="&quot;" ignoreHeaderLines="1" rowType={quoteattr(file.row_type)}>',
            f"    <files><location>{escape(file.name)}</location></files>",
            f'    <{key} index="0"/>',
        ]
        first = 0 if file.core else 1
        parts += [
            f'    <field index="{n}" term={quoteattr(term_to_xml(term))}/>' for n, term in enumerate(file.terms, first)
        ]
        parts.append(f"  </{element}>")
    return "\n".join([*parts, "</archive>", ""])


def eml_xml(dataset: Dataset) -> str:
    """Return the description of a data set; coordinates typed into it are withheld."""

    def tag(name: str, text: str) -> str:
        return f"<{name}>{escape(storable(without_coordinates(text)))}</{name}>" if text else ""

    person = f"<individualName>{tag('surName', dataset.creator)}</individualName>"
    person += tag("electronicMailAddress", dataset.email)
    named = storable(without_coordinates(dataset.identifier or dataset.title))
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<eml:eml xmlns:eml="{_EML}" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" '
        f'xsi:schemaLocation="{_EML} http://rs.gbif.org/schema/eml-gbif-profile/1.1/eml.xsd" '
        f'packageId={quoteattr(named)} system="trug" scope="system" xml:lang="en">',
        "  <dataset>",
        f"    {tag('title', dataset.title)}",
        f"    <creator>{person}</creator>",
        f"    <metadataProvider>{person}</metadataProvider>",
        f"    <pubDate>{escape(dataset.published)}</pubDate>",
        f"    {tag('language', dataset.language)}",
        f"    <abstract>{tag('para', dataset.abstract or dataset.title)}</abstract>",
        f"    <intellectualRights>{tag('para', dataset.licence)}</intellectualRights>" if dataset.licence else "",
        f"    <contact>{person}</contact>",
        "  </dataset>",
        "</eml:eml>",
    ]
    return "\n".join([line for line in lines if line.strip()] + [""])
