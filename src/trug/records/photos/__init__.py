"""Photos as evidence: looked into by content, kept by digest, and stripped before they leave."""

from trug.records.photos.exif import Position
from trug.records.photos.images import Picture, as_jpeg, inspect, thumbnail
from trug.records.photos.outward import without_place
from trug.records.photos.store import PhotoStore, Verification

__all__ = [
    "PhotoStore",
    "Picture",
    "Position",
    "Verification",
    "as_jpeg",
    "inspect",
    "thumbnail",
    "without_place",
]
