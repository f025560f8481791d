"""Everything that can go wrong in a way that a user can mend.

TrugError
├── InputError (ValueError)      a file or an answer written by a person
│   ├── UnreadableError          not text, not TOML or JSON, too large, missing
│   ├── UnknownWordError         a character, state, region ... that the vocabulary lacks
│   └── ImplausibleError         a size of 40 m, a date in the future, an empty find
└── BookError (ValueError)       the vocabulary or a treatment is wrong
"""

from __future__ import annotations

__all__ = [
    "BookError",
    "ImplausibleError",
    "InputError",
    "TrugError",
    "UnknownWordError",
    "UnreadableError",
]


class TrugError(Exception):
    """Base of all errors that carry a message meant for the user."""


class InputError(TrugError, ValueError):
    """Something that a person wrote cannot be used as it stands.

    Parameters
    ----------
    message : str
        What is wrong and what to do about it.
    file : str
        The name of the file, or an empty string.
    line : int or None
        The line, counted from 1, where it is known.
    """

    def __init__(self, message: str, *, file: str = "", line: int | None = None) -> None:
        self.message = message
        self.file = file
        self.line = line
        where = file + (f":{line}" if file and line else "")
        super().__init__(f"{where}: {message}" if where else message)


class UnreadableError(InputError):
    """A file is missing, too large, not text, or neither TOML nor JSON."""


class UnknownWordError(InputError):
    """A word that the vocabulary does not hold; names the nearest right ones."""


class ImplausibleError(InputError):
    """A value that no fungus, place or calendar allows."""


class BookError(TrugError, ValueError):
    """The vocabulary or a treatment is wrong; names the file and the place."""
