"""The terms against other people's lists, ISO 8601 dates, and the check of an archive."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented_finds import DATASET, TREE, released

from trug.records.exchange import Media, is_iso_date, validate_archive, write_archive
from trug.records.exchange.check import MOST_PROBLEMS
from trug.records.exchange.terms import (
    BASES_OF_RECORD,
    IDENTIFICATION_FIELDS,
    MEASUREMENT_FIELDS,
    MEDIA_FIELDS,
    OCCURRENCE_FIELDS,
    POSITION_TERMS,
    TERMS,
    short_name,
    uri_of,
)

#: Terms of later lists of TDWG than the one the package carries, by name as printed in all_dwc_vertical.csv
#: (github.com/tdwg/dwc, dist/, seen 2026-11-25).
LATER = {
    "recordedByID", "identifiedByID", "organismID", "organismName", "organismScope", "organismQuantity",
    "organismQuantityType", "associatedOrganisms", "organismRemarks", "verbatimIdentification", "verbatimLabel",
    "degreeOfEstablishment", "pathway", "vitality", "caste", "causeOfDeath", "materialEntityID", "materialEntityType",
    "materialEntityRemarks", "digitalSpecimenID", "eventType", "projectTitle", "projectID", "fundingAttribution",
    "fundingAttributionID", "verticalDatum", "superfamily", "subfamily", "tribe", "subtribe", "genericName",
    "infragenericEpithet", "cultivarEpithet", "typifiedName", "feedbackURL",
}  # fmt: skip
#: Terms of classes that the package's list leaves out: MeasurementOrFact and ResourceRelationship.
CLASSES_LEFT_OUT = re.compile("measurement|resource|relat", re.IGNORECASE)


def test_every_term_is_on_a_list_of_somebody_else() -> None:
    theirs = set(pytest.importorskip("dwca.darwincore.terms").TERMS)
    ours = {name: uri for name, uri in TERMS.items() if uri.startswith("http://rs.tdwg.org/")}

    unlisted = {name for name, uri in ours.items() if uri not in theirs and not CLASSES_LEFT_OUT.search(name)}
    assert unlisted == LATER


def test_no_term_of_the_other_list_is_missing() -> None:
    theirs = {uri.rpartition("/")[2] for uri in pytest.importorskip("dwca.darwincore.terms").TERMS}
    classes_and_dropped = {"Taxon", "Occurrence", "Event", "occurrenceDetails", "individualID"}
    assert theirs - TERMS.keys() <= classes_and_dropped


def test_every_field_has_a_term_of_its_own() -> None:
    for fields in (OCCURRENCE_FIELDS, MEDIA_FIELDS, MEASUREMENT_FIELDS, IDENTIFICATION_FIELDS):
        assert set(fields.values()) <= TERMS.keys()
        assert len(set(fields.values())) == len(fields)
    assert set(POSITION_TERMS) <= TERMS.keys()
    assert {"HumanObservation", "PreservedSpecimen"} <= BASES_OF_RECORD


@given(st.sampled_from(sorted(TERMS)))
def test_a_term_is_found_by_name_and_address(name: str) -> None:
    assert uri_of(name) == uri_of(name.upper()) == uri_of(TERMS[name]) == TERMS[name]
    assert short_name(TERMS[name]) == name
    assert short_name("http://example.org/x") == uri_of("http://example.org/x") == "http://example.org/x"


@pytest.mark.parametrize(
    "text",
    # examples printed beside dwc:eventDate in the list of terms, http://rs.tdwg.org/dwc/terms/eventDate
    ["1963-03-08T14:07-0600", "2009-02-20T08:40Z", "2018-08-29T15:19", "1809-02-12", "1906-06", "1971"]
    + ["2007-03-01T13:00:00Z/2008-05-11T15:30:00Z", "1900/1909", "2007-11-13/15"]
    + ["2026-W40-7", "2026-280", "2026-10-04T09:30:15.5+03:00", "2026-02-27/03-01", "2024-02-29"],
)
def test_dates_of_the_standard_are_dates(text: str) -> None:
    assert is_iso_date(text)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "4.10.2026",
        "2026-13-01",
        "2026-02-30",
        "2025-02-29",
        "2026-10-04T25:00",
        "yesterday",
        "2026/2025",
        "2026-400",
    ]
    + ["2026-10-04/2026-10-01", "2026-10-04/01", "20261004x", "2026-1-4", "２０２６", "2026-10-04T10:61", "/", "2026/"],
)
def test_other_dates_are_none(text: str) -> None:
    assert not is_iso_date(text)


@given(st.datetimes(), st.timedeltas(datetime.timedelta(0), datetime.timedelta(400)))
def test_every_day_of_the_calendar_is_a_date(moment: datetime.datetime, span: datetime.timedelta) -> None:
    assert is_iso_date(moment.isoformat())
    assert is_iso_date(moment.date().isoformat())
    if moment < datetime.datetime(9990, 1, 1):
        assert is_iso_date(f"{moment.date()}/{(moment + span).date()}")
        assert is_iso_date(f"{(moment + span).date()}/{moment.date()}") == (moment.date() == (moment + span).date())


@given(st.text())
def test_any_text_may_be_asked(text: str) -> None:
    is_iso_date(text)


def test_our_own_archives_have_no_problems(tmp_path: Path) -> None:
    write_archive(tmp_path / "a.zip", released(TREE), dataset=DATASET)
    assert validate_archive(tmp_path / "a.zip") == []


HEADER = "occurrenceID,basisOfRecord,eventDate,scientificName,occurrenceStatus,decimalLatitude,decimalLongitude,"
HEADER += "geodeticDatum,coordinateUncertaintyInMeters,colourOfHat\n"


@pytest.mark.parametrize(
    ("row", "told"),
    [
        (",HumanObservation,2026,x,present,,,,,", "no identifier"),
        ("ok,HumanObservation,2026,x,present,,,,,", "used more than once"),
        ("b,Rumour,2026,x,present,,,,,", "basisOfRecord 'Rumour'"),
        ("b,HumanObservation,4 Oct,x,present,,,,,", "eventDate '4 Oct'"),
        ("b,HumanObservation,2026,x,maybe,,,,,", "occurrenceStatus 'maybe'"),
        ("b,HumanObservation,2026,x,present,95,20,WGS84,,", "not on the earth"),
        ("b,HumanObservation,2026,x,present,north,20,WGS84,,", "not on the earth"),
        ("b,HumanObservation,2026,x,present,0,0,WGS84,,", "off Africa"),
        ("b,HumanObservation,2026,x,present,60,,WGS84,,", "go together"),
        ("b,HumanObservation,2026,x,present,60,20,,,", "no geodeticDatum"),
        ("b,HumanObservation,2026,x,present,60,20,ED50,,", "ED50"),
        ("b,HumanObservation,2026,x,present,60,20,WGS84,0,", "no distance above 0"),
        ("b,HumanObservation", "has 2 cells"),
    ],
)
def test_each_problem_is_told_with_its_line(tmp_path: Path, row: str, told: str) -> None:
    path = tmp_path / "a.csv"
    path.write_text(HEADER + "ok,HumanObservation,2026-10-04,x,present,60,20,WGS84,5,\n" + row + "\n")
    unknown, *problems = validate_archive(path)

    assert "'colourOfHat' is no term" in unknown
    assert len(problems) == 1
    assert told in problems[0]
    assert problems[0].startswith("a.csv:3: ")


def test_media_types_and_unreadable_archives_are_told(tmp_path: Path) -> None:
    find = msgspec.structs.replace(TREE, media=(Media(type="Photo", created="last week"),))
    write_archive(tmp_path / "a.zip", released(find), dataset=DATASET)

    assert [problem.split(": ")[1].split()[0] for problem in validate_archive(tmp_path / "a.zip")] == [
        "created",
        "type",
    ]
    assert "no such file" in validate_archive(tmp_path / "none.zip")[0]


def test_many_problems_are_counted(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("occurrenceID,basisOfRecord,eventDate,scientificName\n" + "a,Rumour,2026,x\n" * 500)
    problems = validate_archive(tmp_path / "a.csv")
    assert len(problems) == MOST_PROBLEMS + 1
    assert problems[-1] == f"and {999 - MOST_PROBLEMS} more problems"
