"""Search the book by any name, as it is typed in the woods: in part, in another case, misspelt.

Names that are written so come first: exact ones, then those that begin so, then those of which a word does. Where
there is none, the nearest names are given, so that a slip of the finger never leads to an empty page. Nearness is
the share of common three-letter pieces first (fast over thousands of names), then the number of letters to change.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trug.treatments.model import Book, Treatment

__all__ = ["LONGEST", "Found", "NameIndex", "plain_name"]

#: Letters of a query that are read; no name is longer.
LONGEST = 60
#: Taxa that are given where no name is written so.
NEAREST = 8
#: Pieces of names that are looked at letter by letter.
_LOOKED_AT = 48
#: Words that are compared together: a name has two, an English one seldom more than three.
_MOST_WORDS = 3
_LETTERS = "abcdefghijklmnopqrstuvwxyz"
_APART = re.compile(r"[^a-z0-9]+")


@dataclass(frozen=True, slots=True)
class Found:
    """A taxon that was found, and the name of it that fits.

    ``how`` is ``exact``, ``beginning``, ``word`` or ``near``; ``likeness`` is 1 but for ``near`` [0..1].
    """

    taxon: str
    name: str
    how: str
    likeness: float = 1.0


def plain_name(text: str) -> str:
    """Return a name in small letters without accents, hyphens and points, as names are compared."""
    unmarked = "".join(c for c in unicodedata.normalize("NFKD", text[: 4 * LONGEST]) if not unicodedata.combining(c))
    small = unmarked.lower().replace("æ", "ae").replace("œ", "oe").replace("ø", "o").replace("ß", "ss")
    return _APART.sub(" ", small.replace("'", "").replace("’", "")).strip()[:LONGEST]


class NameIndex:
    """Every name of a book, ready to be searched."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self._names = [
            (plain_name(name), name, t.code) for t in book.treatments.values() for name in dict.fromkeys(_typed(t))
        ]
        self._pieces: list[str] = []
        owners: list[int] = []
        for i, (plain, _, _) in enumerate(self._names):
            for piece in dict.fromkeys(_windows(plain)):
                self._pieces.append(piece)
                owners.append(i)
        self._owner = np.array(owners, dtype=np.int32)
        self._sizes = np.array([len(_trigrams(p)) for p in self._pieces], dtype=np.int32)
        self._letters = np.array([_bag(p) for p in self._pieces], dtype=np.float32)
        rows: dict[str, list[int]] = {}
        for k, piece in enumerate(self._pieces):
            for trigram in _trigrams(piece):
                rows.setdefault(trigram, []).append(k)
        self._rows = {trigram: np.array(ks, dtype=np.int32) for trigram, ks in rows.items()}

    def taxon_called(self, text: str) -> str | None:
        """Return the taxon with exactly this name or code, also an older one; None where none or several have it."""
        wanted = plain_name(text)
        codes = {code for plain, _, code in self._names if plain == wanted} if wanted else set()
        return codes.pop() if len(codes) == 1 else None

    def search(self, text: str) -> tuple[Found, ...]:
        """Return the taxa that a text finds, the best first, each once.

        Empty for a text without any letter that a name is written with, and only for such a text.
        """
        wanted = plain_name(text)
        if not any(letter in _LETTERS for letter in wanted):
            return ()
        return self._written_so(wanted) or self.near(wanted)

    def near(self, text: str) -> tuple[Found, ...]:
        """Return the taxa with the names nearest to a text, the nearest first."""
        wanted = plain_name(text)
        likely = self._likely(wanted)
        best: dict[str, Found] = {}
        for k in likely:
            piece, i = self._pieces[k], int(self._owner[k])
            plain, name, code = self._names[i]
            likeness = _likeness(wanted, piece) - 0.02 * (piece != plain)
            if code not in best or likeness > best[code].likeness:
                best[code] = Found(code, name, "near", max(likeness, 0.0))
        return tuple(sorted(best.values(), key=lambda f: (-f.likeness, f.taxon))[:NEAREST])

    def _written_so(self, wanted: str) -> tuple[Found, ...]:
        words = wanted.split()
        ranked: dict[str, tuple[int, bool, Found]] = {}
        for plain, name, code in self._names:
            rank = _rank(wanted, words, plain)
            if rank is None:
                continue
            older = name in self.book.treatments[code].synonyms
            if code not in ranked or (rank, older) < ranked[code][:2]:
                ranked[code] = (rank, older, Found(code, name, ("exact", "beginning", "word")[rank]))
        best = sorted(ranked.values(), key=lambda r: (r[0], r[1], r[2].taxon))
        return tuple(found for _, _, found in best)

    def _likely(self, wanted: str) -> NDArray[np.intp]:
        """Return the pieces that share most with a text: three-letter pieces first, single letters where none."""
        trigrams = _trigrams(wanted)
        rows = [self._rows[t] for t in trigrams if t in self._rows]
        shared = np.bincount(np.concatenate(rows), minlength=len(self._pieces)) if rows else np.zeros(len(self._pieces))
        bag = np.array(_bag(wanted), dtype=np.float32)
        letters = np.minimum(self._letters, bag).sum(axis=1) / np.maximum(self._letters, bag).sum(axis=1).clip(1)
        score = 2 * shared / (self._sizes + len(trigrams)) + 0.5 * letters
        return np.argsort(-score, kind="stable")[:_LOOKED_AT]


def _typed(t: Treatment) -> Iterable[str]:
    """Yield the names by which a taxon is looked for; the abbreviated genus is one, as people write it."""
    yield from t.names()
    genus, _, epithet = t.name.partition(" ")
    if epithet:
        yield f"{genus[0]}. {epithet}"


def _rank(wanted: str, words: list[str], plain: str) -> int | None:
    """Return 0 for the whole name, 1 for its beginning, 2 where each word begins one of its words, else None."""
    if plain == wanted:
        return 0
    if plain.startswith(wanted):
        return 1
    parts = plain.split()
    return 2 if all(any(part.startswith(word) for part in parts) for word in words) else None


def _windows(plain: str) -> Iterable[str]:
    """Yield a name and its runs of up to three words."""
    yield plain
    words = plain.split()
    for many in range(1, min(len(words), _MOST_WORDS + 1)):
        for k in range(len(words) - many + 1):
            yield " ".join(words[k : k + many])


def _trigrams(text: str) -> set[str]:
    padded = f"  {text} "
    return {padded[i : i + 3] for i in range(len(padded) - 2)}


def _bag(text: str) -> list[int]:
    return [text.count(letter) for letter in _LETTERS]


def _likeness(one: str, other: str) -> float:
    """Return 1 less the share of letters that must be changed, added, dropped or swapped with a neighbour [0..1]."""
    before_last: list[int] = []
    last = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        row = [i]
        for j, b in enumerate(other, 1):
            cost = min(row[-1] + 1, last[j] + 1, last[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                cost = min(cost, before_last[j - 2] + 1)
            row.append(cost)
        before_last, last = last, row
    return 1 - last[-1] / max(len(one), len(other), 1)
