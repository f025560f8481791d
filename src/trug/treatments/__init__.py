"""The book: coded accounts of fungi, their sources, and their validator."""

from trug.treatments.loader import load_book
from trug.treatments.model import Book, Harm, Record, SizeRange, Source, Treatment, Use
from trug.treatments.notation import format_size, parse_size

__all__ = [
    "Book",
    "Harm",
    "Record",
    "SizeRange",
    "Source",
    "Treatment",
    "Use",
    "format_size",
    "load_book",
    "parse_size",
]
