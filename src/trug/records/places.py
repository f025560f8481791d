"""Places: added, corrected and deleted; finds that rest on what was corrected are worked out anew."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from trug.errors import ImplausibleError, InputError, UnknownWordError
from trug.place import DEFAULT_GRID_DEG, Cell, Position, cell_of
from trug.place.grid import check_grid
from trug.reading import nearest, shown
from trug.records.gatherings import refresh
from trug.records.history import Unit
from trug.records.reasoning import Reasoner
from trug.records.signing import void_signatures
from trug.records.tables import FindRow, PlaceRow

__all__ = ["PlaceAccount", "all_places", "delete_place", "find_counts", "place_cell", "save_place"]

#: No ground lies lower or higher [m]: the shore of the Dead Sea, Mount Everest.
LOWEST_M, HIGHEST_M = -450.0, 8850.0


@dataclass(frozen=True, slots=True)
class PlaceAccount:
    """What is written down of a place; ``position`` is None where it is not known."""

    name: str
    position: Position | None = None
    altitude_m: float | None = None
    region: str | None = None
    wood: str = ""
    permission: str = ""
    hazards: str = ""
    notes: str = ""
    grid_deg: float = DEFAULT_GRID_DEG


def all_places(session: Session) -> list[PlaceRow]:
    """Return the places that were not deleted, by name."""
    query = select(PlaceRow).where(PlaceRow.deleted_at.is_(None))
    return sorted(session.scalars(query), key=lambda p: (p.name.lower(), p.id))


def find_counts(session: Session) -> dict[str, int]:
    """Return how many finds lie at each place that has any."""
    query = select(FindRow.place_id, func.count()).where(FindRow.deleted_at.is_(None), FindRow.place_id.is_not(None))
    return {str(place): int(count) for place, count in session.execute(query.group_by(FindRow.place_id))}


def place_cell(place: PlaceRow) -> Cell | None:
    """Return the cell of the grid that a place is shared as; None where its position is not known."""
    if place.lat is None or place.lon is None:
        return None
    return cell_of(place.lat, place.lon, place.grid_deg)


def save_place(unit: Unit, reasoner: Reasoner, place_id: str | None, account: PlaceAccount) -> PlaceRow:
    """Add a place, or correct one; a change of region or altitude voids the signatures of finds that rest on it.

    Raises
    ------
    InputError
        The name is missing or taken, the region unknown, the grid none of those, the altitude not on the earth.
    """
    fields = _checked(unit.session, reasoner.here.vocabulary.characters["region"].codes, place_id, account)
    if place_id is None:
        return unit.make(PlaceRow(**fields))
    place = unit.get(PlaceRow, place_id)
    region, altitude = place.region != fields["region"], place.altitude_m != fields["altitude_m"]
    renamed = place.name != fields["name"]
    unit.edit(place, **fields)
    if region or altitude or renamed:
        query = select(FindRow).where(FindRow.place_id == place.id, FindRow.deleted_at.is_(None))
        for find in unit.session.scalars(query).all():
            if (region and not find.region) or (altitude and find.altitude_m is None):
                void_signatures(unit, find.id, None, "region or altitude of the place was corrected")
            refresh(unit, reasoner, find.id)
    return place


def delete_place(unit: Unit, place_id: str) -> PlaceRow:
    """Put a place into the bin, where no find lies there."""
    place = unit.get(PlaceRow, place_id)
    count = find_counts(unit.session).get(place.id, 0)
    if count:
        raise InputError(f"finds lie here ({count}); give them another place first")
    unit.delete(place)
    return place


def _checked(session: Session, regions: tuple[str, ...], place_id: str | None, told: PlaceAccount) -> dict[str, object]:
    """Return the columns of a place."""
    name = " ".join(told.name.split())
    if not name:
        raise InputError("the name is missing; give the place the name by which you speak of it")
    if any(p.name.lower() == name.lower() and p.id != place_id for p in all_places(session)):
        raise InputError(f"there is a place called {name} already; add what tells them apart")
    if told.region and told.region not in regions:
        raise UnknownWordError(f"unknown region {shown(told.region)}{nearest(told.region, regions)}")
    if told.altitude_m is not None and not LOWEST_M <= told.altitude_m <= HIGHEST_M:
        raise ImplausibleError(f"the altitude must lie between {LOWEST_M:g} and {HIGHEST_M:g} m")
    return {
        "name": name,
        "lat": told.position.lat if told.position else None,
        "lon": told.position.lon if told.position else None,
        "uncertainty_m": told.position.uncertainty_m if told.position else None,
        "altitude_m": told.altitude_m,
        "region": told.region or None,
        "wood": told.wood.strip(),
        "permission": told.permission.strip(),
        "hazards": told.hazards.strip(),
        "notes": told.notes.strip(),
        "grid_deg": check_grid(told.grid_deg),
    }
