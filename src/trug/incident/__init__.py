"""When someone may be ill: whom to call."""

from trug.incident.numbers import (
    GENERAL,
    KEPT_MONTHS,
    GeneralNumber,
    KnownNumber,
    general_number,
    is_stale,
    known_number,
)

__all__ = [
    "GENERAL",
    "KEPT_MONTHS",
    "GeneralNumber",
    "KnownNumber",
    "general_number",
    "is_stale",
    "known_number",
]
