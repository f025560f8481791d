"""Parts of the program that need more than the core install: one sentence says what to install."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

from trug.errors import InputError

__all__ = ["needing"]


@contextlib.contextmanager
def needing(extra: str) -> Iterator[None]:
    """Turn a missing package into the command that installs it.

    Raises
    ------
    InputError
        Where an import inside fails.
    """
    try:
        yield
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] == "trug":
            raise
        raise InputError(f"this needs more than the core install: pip install 'trug[{extra}]'") from None
