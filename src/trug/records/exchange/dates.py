"""Dates as ISO 8601 writes them and Darwin Core uses them: days, months, years, times, and ranges of these."""

from __future__ import annotations

import datetime
import re

__all__ = ["is_iso_date"]

_ZONE = r"(?:Z|[+-]\d{2}(?::?\d{2})?)?"
_TIME = rf"T(?P<hour>\d{{2}})(?::?(?P<minute>\d{{2}})(?::?(?P<second>\d{{2}})(?:[.,]\d+)?)?)?{_ZONE}"
_POINT = re.compile(
    rf"(?P<year>\d{{4}})(?:-(?P<ordinal>\d{{3}})|-?W(?P<week>\d{{2}})(?:-?(?P<weekday>[1-7]))?"
    rf"|-(?P<month>\d{{2}})(?:-(?P<day>\d{{2}})(?:{_TIME})?)?)?",
    re.ASCII,
)
_SHORT_END = re.compile(
    rf"(?:(?:(?P<month>\d{{2}})-)?(?P<day>\d{{2}})(?:{_TIME})?)|{_TIME.replace('?P<', '?P<t_')}", re.ASCII
)


def is_iso_date(text: str) -> bool:
    """Return whether a text is a date, a time on a date, or a range with a slash, that the calendar has.

    ``2026``, ``2026-10``, ``2026-10-04``, ``2026-10-04T09:30+03:00``, ``2026-10-04/2026-10-06`` and ``2026-10-04/06``
    are. A range must not end before it begins.
    """
    start, slash, end = text.partition("/")
    first = _first_day(start)
    if first is None or not slash:
        return first is not None
    full = _first_day(end)
    if full is not None:
        return full >= first or len(end) < len(start)
    short = _SHORT_END.fullmatch(end)
    if not short or len(start) < 10:
        return False
    if not short["day"]:
        return True
    month = short["month"] or start[5:7]
    last = _first_day(f"{start[:4]}-{month}-{short['day']}")
    return last is not None and last >= first


def _first_day(text: str) -> datetime.date | None:
    """Return the first day that a date means; None where it means none."""
    found = _POINT.fullmatch(text)
    if not found:
        return None
    part = {name: int(value) for name, value in found.groupdict().items() if value}
    if part.get("hour", 0) > 24 or part.get("minute", 0) > 59 or part.get("second", 0) > 60:
        return None
    try:
        if "week" in part:
            return datetime.date.fromisocalendar(part["year"], part["week"], part.get("weekday", 1))
        if "ordinal" in part:
            return datetime.datetime.strptime(f"{part['year']:04d} {part['ordinal']:03d}", "%Y %j").date()
        return datetime.date(part["year"], part.get("month", 1), part.get("day", 1))
    except ValueError:
        return None
