"""The terms of Darwin Core and Dublin Core as data: their addresses, and the field of ours that each one fills.

Sources
-------
Darwin Core, Biodiversity Information Standards (TDWG), http://rs.tdwg.org/dwc/terms/, list of terms of 2025.
GBIF, Simple Multimedia extension, http://rs.gbif.org/terms/1.0/Multimedia.
"""

from __future__ import annotations

__all__ = [
    "BASES_OF_RECORD",
    "DATE_TERMS",
    "DC",
    "DWC",
    "IDENTIFICATION_FIELDS",
    "IDENTIFICATION_ROW",
    "MEASUREMENT_FIELDS",
    "MEASUREMENT_ROW",
    "MEDIA_FIELDS",
    "MEDIA_ROW",
    "OCCURRENCE_FIELDS",
    "OCCURRENCE_ROW",
    "OCCURRENCE_STATUSES",
    "PLACE_TERMS",
    "POSITION_TERMS",
    "TERMS",
    "TYPES",
    "short_name",
    "uri_of",
]

DWC = "http://rs.tdwg.org/dwc/terms/"
DC = "http://purl.org/dc/terms/"

OCCURRENCE_ROW = DWC + "Occurrence"
MEDIA_ROW = "http://rs.gbif.org/terms/1.0/Multimedia"
MEASUREMENT_ROW = DWC + "MeasurementOrFact"
IDENTIFICATION_ROW = DWC + "Identification"

#: Terms of Dublin Core that Darwin Core and the multimedia rows use.
_DUBLIN_CORE = (
    "type modified language license rightsHolder accessRights bibliographicCitation references "
    "format identifier title description created creator contributor publisher audience source rights"
)
#: Terms in Darwin Core's own namespace.
_DARWIN_CORE = """
    feedbackURL institutionID collectionID datasetID institutionCode collectionCode datasetName ownerInstitutionCode
    basisOfRecord informationWithheld dataGeneralizations dynamicProperties
    occurrenceID catalogNumber recordNumber recordedBy recordedByID individualCount organismQuantity
    organismQuantityType sex lifeStage reproductiveCondition caste behavior vitality establishmentMeans
    degreeOfEstablishment pathway georeferenceVerificationStatus occurrenceStatus associatedMedia
    associatedOccurrences associatedReferences associatedTaxa otherCatalogNumbers occurrenceRemarks
    organismID organismName organismScope causeOfDeath associatedOrganisms previousIdentifications organismRemarks
    materialEntityID digitalSpecimenID materialEntityType preparations disposition verbatimLabel associatedSequences
    materialEntityRemarks materialSampleID
    eventID parentEventID eventType fieldNumber projectTitle projectID fundingAttribution fundingAttributionID
    eventDate eventTime startDayOfYear endDayOfYear year month day verbatimEventDate habitat samplingProtocol
    sampleSizeValue sampleSizeUnit samplingEffort fieldNotes eventRemarks
    locationID higherGeographyID higherGeography continent waterBody islandGroup island country countryCode
    stateProvince county municipality locality verbatimLocality minimumElevationInMeters maximumElevationInMeters
    verbatimElevation verticalDatum minimumDepthInMeters maximumDepthInMeters verbatimDepth
    minimumDistanceAboveSurfaceInMeters maximumDistanceAboveSurfaceInMeters locationAccordingTo locationRemarks
    decimalLatitude decimalLongitude geodeticDatum coordinateUncertaintyInMeters coordinatePrecision
    pointRadiusSpatialFit verbatimCoordinates verbatimLatitude verbatimLongitude verbatimCoordinateSystem verbatimSRS
    footprintWKT footprintSRS footprintSpatialFit georeferencedBy georeferencedDate georeferenceProtocol
    georeferenceSources georeferenceRemarks
    geologicalContextID earliestEonOrLowestEonothem latestEonOrHighestEonothem earliestEraOrLowestErathem
    latestEraOrHighestErathem earliestPeriodOrLowestSystem latestPeriodOrHighestSystem earliestEpochOrLowestSeries
    latestEpochOrHighestSeries earliestAgeOrLowestStage latestAgeOrHighestStage lowestBiostratigraphicZone
    highestBiostratigraphicZone lithostratigraphicTerms group formation member bed
    identificationID verbatimIdentification identificationQualifier typeStatus typifiedName identifiedBy
    identifiedByID dateIdentified identificationReferences identificationVerificationStatus identificationRemarks
    taxonID scientificNameID acceptedNameUsageID parentNameUsageID originalNameUsageID nameAccordingToID
    namePublishedInID taxonConceptID scientificName acceptedNameUsage parentNameUsage originalNameUsage
    nameAccordingTo namePublishedIn namePublishedInYear higherClassification kingdom phylum class order superfamily
    family subfamily tribe subtribe genus genericName subgenus infragenericEpithet specificEpithet
    infraspecificEpithet cultivarEpithet taxonRank verbatimTaxonRank scientificNameAuthorship vernacularName
    nomenclaturalCode taxonomicStatus nomenclaturalStatus taxonRemarks
    measurementID parentMeasurementID measurementType verbatimMeasurementType measurementValue measurementAccuracy
    measurementUnit measurementDeterminedBy measurementDeterminedDate measurementMethod measurementRemarks
    resourceRelationshipID resourceID relationshipOfResourceID relatedResourceID relationshipOfResource
    relationshipAccordingTo relationshipEstablishedDate relationshipRemarks
"""
#: Every term that is known, by its name.
TERMS = {name: DC + name for name in _DUBLIN_CORE.split()} | {name: DWC + name for name in _DARWIN_CORE.split()}

_BY_LOWER = {name.lower(): uri for name, uri in TERMS.items()}
#: Old addresses of the same terms that archives still use.
_OLD_SPACES = (
    "http://purl.org/dc/elements/1.1/",
    "http://digir.net/schema/conceptual/darwin/2003/1.0/",
    "https://rs.tdwg.org/dwc/terms/",
    "https://purl.org/dc/terms/",
)

#: Fields of an occurrence in the order of its columns, and their terms. The position has columns of its own.
OCCURRENCE_FIELDS = {
    "occurrence_id": "occurrenceID",
    "basis_of_record": "basisOfRecord",
    "occurrence_status": "occurrenceStatus",
    "event_date": "eventDate",
    "recorded_by": "recordedBy",
    "record_number": "recordNumber",
    "catalog_number": "catalogNumber",
    "scientific_name": "scientificName",
    "scientific_name_authorship": "scientificNameAuthorship",
    "taxon_rank": "taxonRank",
    "kingdom": "kingdom",
    "phylum": "phylum",
    "order": "order",
    "family": "family",
    "genus": "genus",
    "vernacular_name": "vernacularName",
    "identification_qualifier": "identificationQualifier",
    "verbatim_identification": "verbatimIdentification",
    "identified_by": "identifiedBy",
    "date_identified": "dateIdentified",
    "identification_remarks": "identificationRemarks",
    "identification_verification_status": "identificationVerificationStatus",
    "life_stage": "lifeStage",
    "individual_count": "individualCount",
    "organism_quantity": "organismQuantity",
    "organism_quantity_type": "organismQuantityType",
    "habitat": "habitat",
    "associated_taxa": "associatedTaxa",
    "occurrence_remarks": "occurrenceRemarks",
    "preparations": "preparations",
    "disposition": "disposition",
    "associated_media": "associatedMedia",
    "dynamic_properties": "dynamicProperties",
    "country_code": "countryCode",
    "state_province": "stateProvince",
    "municipality": "municipality",
    "locality": "locality",
    "minimum_elevation_m": "minimumElevationInMeters",
    "maximum_elevation_m": "maximumElevationInMeters",
    "coordinate_precision": "coordinatePrecision",
    "data_generalizations": "dataGeneralizations",
    "information_withheld": "informationWithheld",
    "modified": "modified",
    "license": "license",
    "rights_holder": "rightsHolder",
    "dataset_name": "datasetName",
}
#: Columns that the position fills.
POSITION_TERMS = ("decimalLatitude", "decimalLongitude", "geodeticDatum", "coordinateUncertaintyInMeters")

MEDIA_FIELDS = {
    "type": "type",
    "format": "format",
    "identifier": "identifier",
    "references": "references",
    "title": "title",
    "description": "description",
    "created": "created",
    "creator": "creator",
    "license": "license",
    "rights_holder": "rightsHolder",
}
MEASUREMENT_FIELDS = {
    "measurement_id": "measurementID",
    "measurement_type": "measurementType",
    "measurement_value": "measurementValue",
    "measurement_accuracy": "measurementAccuracy",
    "measurement_unit": "measurementUnit",
    "measurement_determined_by": "measurementDeterminedBy",
    "measurement_determined_date": "measurementDeterminedDate",
    "measurement_method": "measurementMethod",
    "measurement_remarks": "measurementRemarks",
}
IDENTIFICATION_FIELDS = {
    "identification_id": "identificationID",
    "scientific_name": "scientificName",
    "scientific_name_authorship": "scientificNameAuthorship",
    "taxon_rank": "taxonRank",
    "identification_qualifier": "identificationQualifier",
    "verbatim_identification": "verbatimIdentification",
    "identified_by": "identifiedBy",
    "date_identified": "dateIdentified",
    "identification_references": "identificationReferences",
    "identification_remarks": "identificationRemarks",
    "identification_verification_status": "identificationVerificationStatus",
}

#: Terms that tell a place more finely than the position that leaves; left out with it.
PLACE_TERMS = frozenset(
    TERMS[name]
    for name in (
        *POSITION_TERMS,
        "verbatimCoordinates",
        "verbatimLatitude",
        "verbatimLongitude",
        "verbatimCoordinateSystem",
        "verbatimSRS",
        "verbatimElevation",
        "footprintWKT",
        "footprintSRS",
        "footprintSpatialFit",
        "pointRadiusSpatialFit",
    )
)
#: Terms whose values are dates.
DATE_TERMS = frozenset(
    TERMS[name]
    for name in (
        "eventDate",
        "dateIdentified",
        "modified",
        "created",
        "measurementDeterminedDate",
        "georeferencedDate",
    )
)

#: Values of ``basisOfRecord``: the classes of Darwin Core that a record may rest on.
BASES_OF_RECORD = frozenset(
    {
        "PreservedSpecimen",
        "FossilSpecimen",
        "LivingSpecimen",
        "MaterialSample",
        "MaterialEntity",
        "MaterialCitation",
        "HumanObservation",
        "MachineObservation",
        "Event",
        "Occurrence",
        "Organism",
        "Taxon",
    }
)
OCCURRENCE_STATUSES = frozenset({"present", "absent"})
#: Values of ``type`` for media (DCMI Type Vocabulary).
TYPES = frozenset(
    {
        "Collection",
        "Dataset",
        "Event",
        "Image",
        "InteractiveResource",
        "MovingImage",
        "PhysicalObject",
        "Service",
        "Software",
        "Sound",
        "StillImage",
        "Text",
    }
)


def uri_of(word: str) -> str:
    """Return the address of a term given by address, by name in any case, or with a prefix such as ``dwc:``.

    What is not known comes back as it is.
    """
    name = word.strip()
    if name in _KNOWN:
        return name
    for space in _OLD_SPACES:
        if name.startswith(space):
            name = name.removeprefix(space)
    name = name.removeprefix("dwc:").removeprefix("dcterms:").removeprefix("dc:")
    return _BY_LOWER.get(name.lower(), word.strip())


_KNOWN = frozenset(TERMS.values())


def short_name(uri: str) -> str:
    """Return the name of a known term, or an unknown one as it is."""
    return uri.rpartition("/")[2] if uri in _KNOWN else uri
