"""Sizes and months as the trade writes them."""

from __future__ import annotations

import re

from trug.treatments.model import SizeRange

__all__ = ["MONTHS", "format_size", "parse_months", "parse_size"]

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_SIZE = re.compile(
    rf"^\s*(?:\(\s*{_NUMBER}\s*[–-]?\s*\)\s*[–-]?\s*)?{_NUMBER}"
    rf"(?:\s*[–-]\s*{_NUMBER})?(?:\s*\(\s*[–-]?\s*{_NUMBER}\s*\))?\s*$"
)


def parse_size(text: str) -> SizeRange:
    """Return the four figures of a size such as ``(20–)50–150(–250)``.

    An extreme that is not written equals its neighbour; one single figure stands for both ends.

    Raises
    ------
    ValueError
        Not of that form, not positive, or not ascending.

    Examples
    --------
    >>> parse_size("(8–)15–40(–60)")
    SizeRange(low=15.0, high=40.0, low_extreme=8.0, high_extreme=60.0)
    >>> parse_size("5-7").low_extreme
    5.0
    """
    found = _SIZE.match(text)
    if not found:
        raise ValueError(f"{text!r} is no size; write it like '(20–)50–150(–250)'")
    low_extreme, low, high, high_extreme = (float(g.replace(",", ".")) if g else None for g in found.groups())
    assert low is not None
    high = low if high is None else high
    low_extreme = low if low_extreme is None else low_extreme
    high_extreme = high if high_extreme is None else high_extreme
    if not 0 < low_extreme <= low <= high <= high_extreme:
        raise ValueError(f"{text!r}: the figures must be positive and ascend")
    return SizeRange(low, high, low_extreme, high_extreme)


def format_size(size: SizeRange) -> str:
    """Return a size in the trade's notation; the inverse of ``parse_size``."""
    before = f"({size.low_extreme:g}–)" if size.low_extreme != size.low else ""
    after = f"(–{size.high_extreme:g})" if size.high_extreme != size.high else ""
    middle = f"{size.low:g}–{size.high:g}" if size.high != size.low else f"{size.low:g}"
    return before + middle + after


def parse_months(text: str) -> frozenset[int]:
    """Return months (1 to 12) from a text such as ``oct-apr`` or ``apr-jun, sep``; may wrap the year.

    Raises
    ------
    ValueError
        An unknown month.
    """
    months: set[int] = set()
    for piece in filter(None, (p.strip().lower() for p in text.split(","))):
        ends = [e.strip() for e in re.split(r"[–-]", piece)]
        if len(ends) > 2 or any(e not in MONTHS for e in ends):
            raise ValueError(f"{piece!r} is no month or span of months; write it like 'oct-apr'")
        first, last = MONTHS.index(ends[0]), MONTHS.index(ends[-1])
        months.update((first + i) % 12 + 1 for i in range((last - first) % 12 + 1))
    return frozenset(months)
