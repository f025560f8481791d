"""The message catalogue: everything that a page may say, for translators.

``python -m trug.web.catalogue`` writes ``locales/trug.pot``; a language is a folder ``locales/<code>/LC_MESSAGES``
with ``trug.po``, compiled to ``trug.mo`` by ``pybabel compile``.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import write_po

from trug.characters import load_vocabulary
from trug.characters.model import STAGES
from trug.determine.record import CAUTIONS, DANGER
from trug.treatments import load_book
from trug.treatments.loader import load_kitchen
from trug.web.language import LOCALES

__all__ = ["POT", "catalogue", "vocabulary_messages"]

POT = LOCALES / "trug.pot"
PACKAGE = Path(__file__).parent.parent
METHODS = [
    ("web/**.py", "python"),
    ("records/**.py", "python"),
    ("incident/**.py", "python"),
    ("web/**.html", "jinja2"),
]
OPTIONS = {"web/**.html": {"extensions": "jinja2.ext.i18n,jinja2.ext.do", "trimmed": "true", "silent": "false"}}
KEYWORDS = {"_": None, "gettext": None, "ngettext": (1, 2), "N_": None}


def vocabulary_messages() -> Iterator[tuple[str, str]]:
    """Yield what vocabulary, kitchen words and cautions say, each with where it comes from."""
    vocabulary = load_vocabulary()
    for c in vocabulary.characters.values():
        for text in (c.label, c.question, c.how, c.caution):
            yield text, f"character {c.code}"
        if not c.measured:
            for s in c.states:
                yield s.label, f"state {c.code}/{s.code}"
                yield s.definition, f"state {c.code}/{s.code}"
        for tool in c.tools:
            yield tool, f"tool of {c.code}"
    for condition in vocabulary.conditions.values():
        yield condition.label, f"condition {condition.code}"
        yield condition.definition, f"condition {condition.code}"
    for section, words in load_kitchen().words.items():
        for code, text in words.items():
            yield text, f"kitchen {section}/{code}"
    for group in load_book().groups:
        yield group.label, f"group {group.code}"
    for stage in STAGES:
        yield stage, "stage"
    for text in (*CAUTIONS, DANGER):
        yield text, "caution"


def catalogue() -> bytes:
    """Return the catalogue as the text of a ``.pot`` file; the same program makes the same bytes."""
    out = Catalog(project="trug", charset="utf-8", fuzzy=False, header_comment="# Messages of trug.")
    found = extract_from_dir(
        PACKAGE, METHODS, OPTIONS, keywords=KEYWORDS, comment_tags=("translators:",), strip_comment_tags=True
    )
    for file, _line, message, comments, context in found:
        out.add(message, locations=[(file, 0)], auto_comments=comments, context=context)
    for text, where in vocabulary_messages():
        if text:
            out.add(text, auto_comments=[where])
    buffer = io.BytesIO()
    write_po(buffer, out, width=110, sort_output=True, omit_header=True, include_lineno=False)
    header = b'# Messages of trug.\nmsgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n\n'
    return header + buffer.getvalue()


if __name__ == "__main__":
    POT.write_bytes(catalogue())
    print(f"{POT} written")
