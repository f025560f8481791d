"""Finds to and from other people: Darwin Core Archives, tables, GeoJSON, and waypoints from a receiver.

Whatever leaves passes ``release_occurrence`` first; the writers refuse a position that did not.
"""

from trug.records.exchange.archive import write_archive
from trug.records.exchange.bad_rows import BadRow
from trug.records.exchange.check import validate_archive
from trug.records.exchange.dates import is_iso_date
from trug.records.exchange.geojson import feature_of, write_geojson
from trug.records.exchange.leaving import outgoing, release_occurrence, texts_with_coordinates
from trug.records.exchange.metafile import Dataset
from trug.records.exchange.occurrence import Identification, Measurement, Media, Occurrence
from trug.records.exchange.reading import read_archive
from trug.records.exchange.tables import write_csv
from trug.records.exchange.waypoints import Waypoint, read_waypoints

__all__ = [
    "BadRow",
    "Dataset",
    "Identification",
    "Measurement",
    "Media",
    "Occurrence",
    "Waypoint",
    "feature_of",
    "is_iso_date",
    "outgoing",
    "read_archive",
    "read_waypoints",
    "release_occurrence",
    "texts_with_coordinates",
    "validate_archive",
    "write_archive",
    "write_csv",
    "write_geojson",
]
