"""The field of a form in which a place is chosen, or a new one named."""

from __future__ import annotations

from sqlalchemy import func, select

from trug.records.history import Unit
from trug.records.tables import PlaceRow
from trug.web.security import Posted

__all__ = ["place_from"]


def place_from(unit: Unit, form: Posted) -> str | None:
    """Return the place that a form names: ``place_new`` makes one unless it has that name already, ``place`` is an id.

    Raises
    ------
    UnknownWordError
        There is no such place.
    """
    name = " ".join(form.get("place_new").split())
    if name:
        same = select(PlaceRow.id).where(PlaceRow.deleted_at.is_(None), func.lower(PlaceRow.name) == name.lower())
        known = unit.session.scalars(same.limit(1)).first()
        return known or unit.make(PlaceRow(name=name, region=form.get("region") or None)).id
    chosen = form.get("place")
    return unit.get(PlaceRow, chosen).id if chosen else None
