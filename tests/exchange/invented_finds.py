"""Invented finds for the tests of exchange, and how hypothesis makes more of them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import msgspec
from hypothesis import strategies as st

from trug.place import Policy, Position, Released
from trug.records.exchange import (
    BadRow,
    Dataset,
    Identification,
    Measurement,
    Media,
    Occurrence,
    read_archive,
    release_occurrence,
)

DATASET = Dataset("Invented finds <of> nobody & nowhere", "A. Nobody", "2026-01-01", abstract="All of it is made up.")
TREE = Occurrence(
    occurrence_id="0190f0a0-0000-7000-8000-000000000001",
    basis_of_record="HumanObservation",
    occurrence_status="present",
    event_date="2026-10-04",
    recorded_by="A. Nobody",
    scientific_name="Kuehneromyces mutabilis",
    taxon_rank="species",
    kingdom="Fungi",
    substrate="birch stump",
    habitat='old wood, called "the grove"',
    occurrence_remarks="first line\nsecond line, with =commas",
    minimum_elevation_m="137",
    position=Position(60.16952, 24.93545, 7.0),
    media=(Media(type="StillImage", format="image/jpeg", identifier="cap.jpg", created="2026-10-04"),),
    measurements=(
        Measurement(measurement_type="spore_print", measurement_value="rusty-brown", measurement_method="print"),
        Measurement(measurement_type="cap_width", measurement_value="42.125", measurement_unit="mm"),
    ),
    identifications=(
        Identification(identification_id="d2", scientific_name="Kuehneromyces mutabilis"),
        Identification(identification_id="d1", scientific_name="Galerina", identification_qualifier="cf."),
    ),
    extra={"http://rs.tdwg.org/dwc/terms/samplingProtocol": "walk"},
)

#: Text that any file of text can carry, with all that must be quoted.
TEXT = st.text(
    st.sampled_from("abc ÄЖ漢🍄,;\t\"'\n\r=+-@|&<>%{}[]:/.")
    | st.characters(blacklist_categories=["Cs", "Cc", "Cn", "Nd"]),
    max_size=12,
)
KEYS = st.sampled_from(
    ["http://rs.tdwg.org/dwc/terms/samplingProtocol", "http://purl.org/dc/terms/language", "Fundort genau", "50 % <x>"]
)
EXTRA = st.dictionaries(KEYS, TEXT.filter(bool), max_size=3)
PROPERTIES = st.just("") | st.dictionaries(st.sampled_from("ab"), TEXT, min_size=1).map(
    lambda table: json.dumps(table, ensure_ascii=False)
)


def rows(kind: type[Any]) -> st.SearchStrategy[tuple[Any, ...]]:
    texts = {name: TEXT for name in kind.__struct_fields__ if name != "extra"}
    return st.lists(st.builds(kind, **texts, extra=EXTRA), max_size=3).map(tuple)


_OWN = ("occurrence_id", "dynamic_properties", "position", "extra", "media", "measurements", "identifications")
OCCURRENCES = st.builds(
    Occurrence,
    **{name: TEXT for name in Occurrence.__struct_fields__ if name not in _OWN},
    occurrence_id=st.uuids().map(str),
    dynamic_properties=PROPERTIES,
    position=st.builds(Position, st.floats(-90, 90), st.floats(-180, 180), st.none() | st.floats(0.001, 1e6)),
    extra=EXTRA,
    media=rows(Media),
    measurements=rows(Measurement),
    identifications=rows(Identification),
)


def released(*occurrences: Occurrence, policy: Policy = Policy.GENERALISED) -> list[Occurrence]:
    return [release_occurrence(occurrence, policy) for occurrence in occurrences]


def as_read(occurrence: Occurrence) -> Occurrence:
    """Return what a reader must make of a find that was written: its position is no released one any more."""
    position = occurrence.position
    if isinstance(position, Released):
        position = Position(position.lat, position.lon, position.uncertainty_m)
    return msgspec.structs.replace(occurrence, position=position)


def read(path: Path) -> tuple[list[Occurrence], list[BadRow]]:
    bad: list[BadRow] = []
    return list(read_archive(path, on_bad=bad.append)), bad
