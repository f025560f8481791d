"""The one door through which a place leaves: generalised to a grid, unless somebody wishes otherwise aloud."""

from __future__ import annotations

import enum
import math
from dataclasses import InitVar, dataclass
from decimal import Decimal
from typing import Any, Protocol, overload

from trug.place.grid import DEFAULT_GRID_DEG, cell_of, check_grid
from trug.place.position import DATUM, FARTHEST_M, Placed, Position, position_of

__all__ = ["Policy", "Released", "WithPlace", "release_position"]

#: What only ``release_position`` holds, so that nothing else can make a ``Released``.
_SEAL = object()
#: Uncertainties leave rounded up to this [m]; the exact sum would tell how good the hidden position was.
_STEP_M = 100.0


class Policy(enum.Enum):
    """How a place may leave."""

    GENERALISED = "generalised"
    """The centre of a grid cell. What everything uses unless told otherwise."""
    OWN_DEVICES = "own devices"
    """Exact, for another device of the same person; no file for others takes it."""
    EXACT = "exact"
    """Exact, for others, by explicit wish."""


class WithPlace(Protocol):
    """A find, or anything else that has a place or none."""

    @property
    def place(self) -> Placed | None:
        """Where it grew."""


@dataclass(frozen=True, slots=True)
class Released:
    """A position that may leave. Only ``release_position`` makes one.

    ``grid_deg`` is None for an exact position; ``generalisation`` is the sentence for ``dataGeneralizations``, empty
    for an exact one. ``uncertainty_m`` is None only for an exact position whose uncertainty nobody recorded.
    """

    lat: float
    lon: float
    uncertainty_m: float | None
    policy: Policy
    grid_deg: float | None
    generalisation: str
    datum: str = DATUM
    seal: InitVar[object] = None

    def __post_init__(self, seal: object) -> None:
        if seal is not _SEAL:
            raise TypeError("a Released position is made by release_position() alone")

    @property
    def exact(self) -> bool:
        """Whether this is the point itself and not the centre of a cell."""
        return self.grid_deg is None

    @property
    def lat_text(self) -> str:
        """Latitude as it is written, with no more decimals than are meant."""
        return _plain(self.lat, self.grid_deg)

    @property
    def lon_text(self) -> str:
        """Longitude as it is written, with no more decimals than are meant."""
        return _plain(self.lon, self.grid_deg)


@overload
def release_position(
    what: Placed | WithPlace, policy: Policy = Policy.GENERALISED, grid_deg: float = DEFAULT_GRID_DEG
) -> Released: ...
@overload
def release_position(
    what: Placed | WithPlace | None, policy: Policy = Policy.GENERALISED, grid_deg: float = DEFAULT_GRID_DEG
) -> Released | None: ...
def release_position(
    what: Placed | WithPlace | Released | None,
    policy: Policy = Policy.GENERALISED,
    grid_deg: float = DEFAULT_GRID_DEG,
) -> Released | None:
    """Return the position that may leave.

    Parameters
    ----------
    what : Position, the place of a find, a find, a position released before, or None
        A position that was generalised before never becomes finer again.
    policy : Policy
        Generalised where nothing is said.
    grid_deg : float
        Width of the grid, one of ``trug.place.GRIDS_DEG`` [degrees]; 0.1 is about 11 km from south to north.

    Returns
    -------
    Released or None
        None where there is no place. Generalised: the centre of the cell, the same for every point in it, and a
        radius that holds the cell and, around any point of it, the position's own uncertainty.

    Raises
    ------
    InputError
        For a point that is not on the earth, another datum, or a grid that is not offered.
    """
    check_grid(grid_deg)
    place: Any = what if hasattr(what, "lat") else getattr(what, "place", None)
    if place is None:
        return None
    if isinstance(place, Released) and place.grid_deg is not None:
        finer = policy is Policy.GENERALISED and place.grid_deg < grid_deg
        if not finer:
            return place
    position = position_of(place)
    if policy is not Policy.GENERALISED:
        return Released(position.lat, position.lon, position.uncertainty_m, policy, None, "", seal=_SEAL)
    return _generalised(position, grid_deg)


def _generalised(position: Position, grid_deg: float) -> Released:
    cell = cell_of(position.lat, position.lon, grid_deg)
    own = position.uncertainty_m
    radius = min(FARTHEST_M, math.ceil((cell.radius_m() + (own or 0.0)) / _STEP_M) * _STEP_M)
    sentence = f"Position generalised to the centre of a grid cell of {grid_deg:g} degree."
    if own is None:
        sentence += " The uncertainty of the original position was not recorded."
    return Released(cell.lat, cell.lon, radius, Policy.GENERALISED, grid_deg, sentence, seal=_SEAL)


def _plain(degrees: float, grid_deg: float | None) -> str:
    """Return degrees without an exponent; a generalised value has the decimals of its grid already."""
    if grid_deg is not None and grid_deg >= 1:
        return str(int(degrees))
    return format(Decimal(repr(degrees)), "f")
