"""Where it grew: coordinates as people write them, distances, and the one door through which places leave."""

from trug.place.altitude import AltitudeBand, altitude_band
from trug.place.distance import distance_m
from trug.place.grid import DEFAULT_GRID_DEG, GRIDS_DEG, Cell, cell_of
from trug.place.in_text import has_coordinates, without_coordinates
from trug.place.position import Position, is_wgs84, position_of
from trug.place.release import Policy, Released, release_position
from trug.place.typed import parse_position

__all__ = [
    "DEFAULT_GRID_DEG",
    "GRIDS_DEG",
    "AltitudeBand",
    "Cell",
    "Policy",
    "Position",
    "Released",
    "altitude_band",
    "cell_of",
    "distance_m",
    "has_coordinates",
    "is_wgs84",
    "parse_position",
    "position_of",
    "release_position",
    "without_coordinates",
]
