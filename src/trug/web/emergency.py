"""The telephone numbers that the user looked up: typed, stored as a setting, and which of them may be shown today."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import asdict, dataclass

from sqlalchemy.orm import Session

from trug.errors import InputError
from trug.incident import GeneralNumber, KnownNumber, general_number, is_stale, known_number
from trug.web.language import gettext as _
from trug.web.security import Posted
from trug.web.site import put_setting, setting
from trug.web.words import N_

__all__ = ["KINDS", "ToCall", "numbers_stored", "numbers_typed", "store_numbers", "to_call"]

#: Which numbers a user may keep.
KINDS = {"poison": N_("Poison centre"), "emergency": N_("Emergency number where you are")}
_FIELDS = ("name", "number", "source", "checked")


@dataclass(frozen=True, slots=True)
class ToCall:
    """Whom to call today.

    ``emergency`` is the user's own emergency number, ``general`` the one of the region where there is none; both are
    None where neither is known. ``poison`` is None where it was never entered or is stale; ``stale`` holds the kinds
    that are too old to be shown.
    """

    poison: KnownNumber | None
    emergency: KnownNumber | None
    general: GeneralNumber | None
    stale: frozenset[str]


def numbers_typed(form: Posted, today: datetime.date) -> dict[str, KnownNumber]:
    """Return the numbers of a form by kind; those left empty are left out.

    Raises
    ------
    InputError
        A number is none, or lacks its source or the day on which it was checked; says which.
    """
    found = {}
    for kind, word in KINDS.items():
        name, number, source, checked = (form.get(f"{kind}_{field}") for field in _FIELDS)
        if not number:
            if name or source:
                raise InputError(f"{_(word)}: " + _("the number is missing; leave all of it empty to do it later"))
            continue
        try:
            found[kind] = known_number(name, number, source, checked, today)
        except InputError as error:
            raise InputError(f"{_(word)}: {error.message}") from None
    return found


def store_numbers(session: Session, numbers: Mapping[str, KnownNumber]) -> None:
    """Keep numbers in place of those that were kept before."""
    put_setting(session, "numbers", {kind: asdict(number) for kind, number in numbers.items()})


def numbers_stored(session: Session) -> dict[str, KnownNumber]:
    """Return the numbers that are kept, stale or not."""
    kept = setting(session, "numbers") or {}
    return {kind: KnownNumber(**kept[kind]) for kind in KINDS if kind in kept}


def to_call(session: Session, today: datetime.date) -> ToCall:
    """Return whom to call."""
    kept = numbers_stored(session)
    fresh = {kind: number for kind, number in kept.items() if not is_stale(number, today)}
    return ToCall(
        poison=fresh.get("poison"),
        emergency=fresh.get("emergency"),
        general=general_number(setting(session, "region")),
        stale=frozenset(kept) - frozenset(fresh),
    )
