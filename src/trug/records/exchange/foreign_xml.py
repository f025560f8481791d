"""XML that other people wrote: read without document types, entities or anything fetched."""

from __future__ import annotations

from typing import Any

from trug.errors import InputError

__all__ = ["parse_foreign"]


def parse_foreign(data: bytes) -> Any:
    """Return the root element of an XML document.

    Raises
    ------
    InputError
        Where it is not well formed or declares a document type or entities (a known way to choke a reader or to make
        it fetch files), or where the library for it is missing.
    """
    try:
        from defusedxml import ElementTree  # type: ignore[import-untyped]
        from defusedxml.common import DefusedXmlException  # type: ignore[import-untyped]
    except ImportError:
        raise InputError("reading XML needs more: pip install 'trug[records]'") from None
    try:
        return ElementTree.fromstring(data, forbid_dtd=True)
    except DefusedXmlException:
        raise InputError("declares a document type or entities, which is not read; ask for a plain file") from None
    except (ElementTree.ParseError, ValueError, LookupError) as error:
        raise InputError(f"is not valid XML: {error}") from None
