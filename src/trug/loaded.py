"""The book, its vocabulary and its compiled table, loaded once for a command."""

from __future__ import annotations

import functools
from dataclasses import dataclass

from trug.characters import Vocabulary, load_vocabulary
from trug.determine.compile import compile_table
from trug.determine.table import Table
from trug.treatments import Book, load_book

__all__ = ["Loaded", "loaded"]


@dataclass(frozen=True)
class Loaded:
    """Everything a command reasons from."""

    vocabulary: Vocabulary
    book: Book
    table: Table


@functools.cache
def loaded() -> Loaded:
    """Return the shipped book, compiled."""
    vocabulary = load_vocabulary()
    book = load_book()
    return Loaded(vocabulary, book, compile_table(book, vocabulary))
