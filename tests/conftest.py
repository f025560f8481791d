"""The shipped book, loaded and compiled once for all tests."""

from __future__ import annotations

import pytest

from trug.characters import Vocabulary, load_vocabulary
from trug.determine.compile import compile_table
from trug.determine.table import Table
from trug.treatments import Book, load_book


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    return load_vocabulary()


@pytest.fixture(scope="session")
def book() -> Book:
    return load_book()


@pytest.fixture(scope="session")
def table(book: Book, vocabulary: Vocabulary) -> Table:
    return compile_table(book, vocabulary)
