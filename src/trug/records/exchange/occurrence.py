"""One find as the rows of Darwin Core that tell of it: plain text under the standard's own names."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from trug.place import Position, Released

__all__ = ["Identification", "Measurement", "Media", "Occurrence"]


class Media(msgspec.Struct, frozen=True):
    """One photograph or recording; ``created`` is an ISO 8601 date, ``identifier`` an address or a file name."""

    type: str = ""
    format: str = ""
    identifier: str = ""
    references: str = ""
    title: str = ""
    description: str = ""
    created: str = ""
    creator: str = ""
    license: str = ""
    rights_holder: str = ""
    extra: Mapping[str, str] = {}


class Measurement(msgspec.Struct, frozen=True):
    """One look or figure: ``measurement_type`` is the code of the character, ``measurement_value`` what was seen."""

    measurement_id: str = ""
    measurement_type: str = ""
    measurement_value: str = ""
    measurement_accuracy: str = ""
    measurement_unit: str = ""
    measurement_determined_by: str = ""
    measurement_determined_date: str = ""
    measurement_method: str = ""
    measurement_remarks: str = ""
    extra: Mapping[str, str] = {}


class Identification(msgspec.Struct, frozen=True):
    """One determination, the present one or one that it replaced."""

    identification_id: str = ""
    scientific_name: str = ""
    scientific_name_authorship: str = ""
    taxon_rank: str = ""
    identification_qualifier: str = ""
    verbatim_identification: str = ""
    identified_by: str = ""
    date_identified: str = ""
    identification_references: str = ""
    identification_remarks: str = ""
    identification_verification_status: str = ""
    extra: Mapping[str, str] = {}


class Occurrence(msgspec.Struct, frozen=True):
    """One find. Every field is the text of the Darwin Core term of the same name; empty where nothing is known.

    ``position`` is a ``Position`` on the way in and a ``Released`` one on the way out: the writers refuse anything
    else. ``substrate`` has no term of its own and travels in ``dynamicProperties``, which is a JSON object.
    ``extra`` holds what other terms said, by the address of the term.
    """

    occurrence_id: str = ""
    basis_of_record: str = ""
    occurrence_status: str = ""
    event_date: str = ""
    recorded_by: str = ""
    record_number: str = ""
    catalog_number: str = ""
    scientific_name: str = ""
    scientific_name_authorship: str = ""
    taxon_rank: str = ""
    kingdom: str = ""
    phylum: str = ""
    order: str = ""
    family: str = ""
    genus: str = ""
    vernacular_name: str = ""
    identification_qualifier: str = ""
    verbatim_identification: str = ""
    identified_by: str = ""
    date_identified: str = ""
    identification_remarks: str = ""
    identification_verification_status: str = ""
    life_stage: str = ""
    individual_count: str = ""
    organism_quantity: str = ""
    organism_quantity_type: str = ""
    habitat: str = ""
    associated_taxa: str = ""
    occurrence_remarks: str = ""
    preparations: str = ""
    disposition: str = ""
    associated_media: str = ""
    dynamic_properties: str = ""
    country_code: str = ""
    state_province: str = ""
    municipality: str = ""
    locality: str = ""
    minimum_elevation_m: str = ""
    maximum_elevation_m: str = ""
    coordinate_precision: str = ""
    data_generalizations: str = ""
    information_withheld: str = ""
    modified: str = ""
    license: str = ""
    rights_holder: str = ""
    dataset_name: str = ""
    substrate: str = ""
    position: Position | Released | None = None
    extra: Mapping[str, str] = {}
    media: tuple[Media, ...] = ()
    measurements: tuple[Measurement, ...] = ()
    identifications: tuple[Identification, ...] = ()
