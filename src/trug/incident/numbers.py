"""Telephone numbers for emergencies: none is from memory, each has a source, and one that is old gives way."""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass

from trug.errors import InputError

__all__ = ["GENERAL", "KEPT_MONTHS", "GeneralNumber", "KnownNumber", "general_number", "is_stale", "known_number"]

#: How long a number that a user looked up is trusted [calendar months].
KEPT_MONTHS = 12
_WRITTEN = re.compile(r"\+?[\d\s()./\-]+")


@dataclass(frozen=True, slots=True)
class GeneralNumber:
    """The general emergency number of a region, the law that sets it, and where that law holds.

    ``holds`` names the states; in the rest of the region another number may be the right one.
    """

    number: str
    source: str
    holds: str


@dataclass(frozen=True, slots=True)
class KnownNumber:
    """A number that the user looked up: whose it is, where it stands written, the day it was checked (ISO 8601)."""

    name: str
    number: str
    source: str
    checked: str

    @property
    def dialled(self) -> str:
        """The number as a telephone takes it: digits, and a plus in front where it has one."""
        return ("+" if self.number.startswith("+") else "") + re.sub(r"\D", "", self.number)


#: Article 109(1): everybody reaches the emergency services free of charge by 112.
_EUROPE = GeneralNumber("112", "Directive (EU) 2018/1972, article 109", "European Union")
#: 911 as the universal emergency number, since the Wireless Communications and Public Safety Act of 1999, section 3.
_AMERICA = GeneralNumber("911", "47 U.S.C. 251(e)(3)", "United States")
#: The two laws that general numbers come from.
GENERAL = (_EUROPE, _AMERICA)


def general_number(region: str | None) -> GeneralNumber | None:
    """Return the general emergency number of a region, None where no law is known here that sets one."""
    if region is None:
        return None
    return {"europe": _EUROPE, "america": _AMERICA}.get(region.partition("-")[0])


def known_number(name: str, number: str, source: str, checked: str, today: datetime.date) -> KnownNumber:
    """Return a number that the user looked up, checked for what can be checked.

    Raises
    ------
    InputError
        The number is none, its source is missing, or the day is none or lies in the future.
    """
    written = " ".join(number.split())
    digits = len(re.sub(r"\D", "", written))
    if not _WRITTEN.fullmatch(written) or not 3 <= digits <= 15:
        raise InputError("the number is not understood; write digits, with + in front for another country")
    if not source.strip():
        raise InputError("say where the number stands written (a web page, a leaflet), so that it can be checked again")
    try:
        day = datetime.date.fromisoformat(checked)
    except ValueError:
        raise InputError("say on which day you checked the number, such as 2026-11-25") from None
    if day > today:
        raise InputError("the day on which the number was checked lies in the future")
    return KnownNumber(" ".join(name.split()), written, " ".join(source.split()), day.isoformat())


def is_stale(known: KnownNumber, today: datetime.date) -> bool:
    """Whether a number was checked more than ``KEPT_MONTHS`` ago, or on a day that is still to come."""
    day = datetime.date.fromisoformat(known.checked)
    months = (today.year - day.year) * 12 + today.month - day.month
    return day > today or (months, today.day) > (KEPT_MONTHS, day.day)
