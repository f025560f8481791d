"""Progress bars for what takes longer than a breath; nothing where nobody watches."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator

__all__ = ["counting", "progressing"]


@contextlib.contextmanager
def progressing(what: str) -> Iterator[Callable[[int, int], None]]:
    """Give a function that is told how many of how many are done."""
    if not sys.stderr.isatty():
        yield lambda done, total: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)


@contextlib.contextmanager
def counting(what: str) -> Iterator[Callable[[int], None]]:
    """Give a function that is told how many are done, where nobody knows of how many."""
    with progressing(what) as tell:
        yield lambda done: tell(done, done)
