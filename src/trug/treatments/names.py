"""Find a treatment by any name that a person may type."""

from __future__ import annotations

from trug.errors import UnknownWordError
from trug.reading import nearest
from trug.treatments.model import Book, Treatment

__all__ = ["treatment_named"]


def treatment_named(book: Book, text: str) -> Treatment:
    """Return the treatment with a scientific, English or older name, or a code, whatever its case.

    A beginning that fits one treatment alone is enough.

    Raises
    ------
    UnknownWordError
        No or several treatments; names the nearest.
    """
    wanted = " ".join(text.lower().split())
    if not wanted:
        raise UnknownWordError("a name is missing; see 'trug book stats' for what the book holds")
    names: dict[str, list[str]] = {}
    for t in book.treatments.values():
        for name in t.names():
            names.setdefault(name.lower(), []).append(t.code)
    exact = set(names.get(wanted, ()))
    if len(exact) == 1:
        return book.treatments[exact.pop()]
    begins = exact or {code for name, codes in names.items() if name.startswith(wanted) for code in codes}
    if len(begins) == 1:
        return book.treatments[begins.pop()]
    if begins:
        which = ", ".join(book.treatments[c].name for c in sorted(begins)[:8])
        raise UnknownWordError(f"{text!r} fits several treatments: {which}")
    raise UnknownWordError(f"no treatment is called {text!r}{nearest(wanted, names)}")
