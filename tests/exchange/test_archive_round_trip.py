"""An archive that is written is read again whole, by us and by others."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from invented_finds import DATASET, OCCURRENCES, TREE, as_read, read, released

from trug.errors import InputError
from trug.place import Policy, Position, release_position
from trug.records.exchange import Occurrence, release_occurrence, validate_archive, write_archive
from trug.records.exchange.metafile import Dataset
from trug.records.exchange.rows import COLUMNS

TEXT_GUIDE = "{http://rs.tdwg.org/dwc/text/}"
SLOW = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@given(
    st.lists(OCCURRENCES, max_size=4, unique_by=lambda o: o.occurrence_id),
    st.sampled_from([Policy.GENERALISED, Policy.EXACT]),
)
@SLOW
def test_a_round_trip_loses_nothing(tmp_path: Path, finds: list[Occurrence], policy: Policy) -> None:
    leaving = released(*finds, policy=policy)
    path = tmp_path / "finds.zip"

    assert write_archive(path, leaving, dataset=DATASET) == len(finds)
    back, bad = read(path)
    assert bad == []
    assert back == [as_read(find) for find in leaving]


def test_the_same_finds_make_the_same_bytes(tmp_path: Path) -> None:
    for name in ("a.zip", "b.zip"):
        write_archive(tmp_path / name, released(TREE), dataset=DATASET)
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()


def test_writing_again_what_was_read_changes_nothing(tmp_path: Path) -> None:
    write_archive(tmp_path / "a.zip", released(TREE), dataset=DATASET)
    back, _ = read(tmp_path / "a.zip")
    write_archive(tmp_path / "b.zip", released(*back), dataset=DATASET)
    again, _ = read(tmp_path / "b.zip")

    assert [f.position.lat for f in again] == [f.position.lat for f in back]  # type: ignore[union-attr]
    assert [msgspec.structs.replace(f, position=None) for f in again] == [
        msgspec.structs.replace(f, position=None) for f in back
    ]


@given(st.lists(OCCURRENCES, min_size=1, max_size=3, unique_by=lambda o: o.occurrence_id))
@SLOW
def test_an_independent_reader_gives_the_same_rows(tmp_path: Path, finds: list[Occurrence]) -> None:
    # python-dwca-reader, an independent implementation of the Darwin Core Text Guide
    reader = pytest.importorskip("dwca.read").DwCAReader
    helpers = pytest.importorskip("dwca.darwincore.utils")
    path = tmp_path / "finds.zip"
    leaving = released(*[msgspec.structs.replace(find, extra={}) for find in finds])
    write_archive(path, leaving, dataset=DATASET)
    ours, _ = read(path)

    with reader(str(path)) as archive:
        assert archive.descriptor.core.type == "http://rs.tdwg.org/dwc/terms/Occurrence"
        theirs = list(archive)
        for find, row in zip(ours, theirs, strict=True):
            assert row.id == find.occurrence_id
            assert row.data[helpers.qualname("scientificName")] == find.scientific_name
            assert row.data[helpers.qualname("occurrenceRemarks")] == find.occurrence_remarks
            assert row.data[helpers.qualname("locality")] == find.locality
            assert isinstance(find.position, Position)
            assert float(row.data[helpers.qualname("decimalLatitude")]) == find.position.lat
            values = [
                extension.data["http://rs.tdwg.org/dwc/terms/measurementValue"]
                for extension in row.extensions
                if extension.rowtype.endswith("MeasurementOrFact")
            ]
            assert values == [m.measurement_value for m in find.measurements]


def test_the_metafile_keeps_the_rules_of_the_text_guide(tmp_path: Path) -> None:
    # Darwin Core Text Guide, section 2, and its schema tdwg_dwc_text.xsd (http://rs.tdwg.org/dwc/text/): one core
    # with an id, extensions with a coreid, every field with a term, files relative to the metafile
    path = tmp_path / "finds.zip"
    write_archive(path, released(TREE), dataset=DATASET)

    with zipfile.ZipFile(path) as archive:
        assert archive.namelist()[:2] == ["meta.xml", "eml.xml"]
        root = ElementTree.fromstring(archive.read("meta.xml"))
        assert root.tag == TEXT_GUIDE + "archive"
        assert root.get("metadata") == "eml.xml"
        assert [child.tag for child in root] == [TEXT_GUIDE + "core"] + [TEXT_GUIDE + "extension"] * 3
        for table in root:
            key = "id" if table.tag.endswith("core") else "coreid"
            assert [c.tag.removeprefix(TEXT_GUIDE) for c in table][:2] == ["files", key]
            assert {c.tag for c in table[2:]} == {TEXT_GUIDE + "field"}
            assert table.get("rowType", "").startswith("http://")
            indexes = [int(field.get("index", "")) for field in table[2:]]
            assert indexes == list(range(indexes[0], indexes[0] + len(indexes)))
            assert all("://" in field.get("term", "") for field in table[2:])
            name = table[0][0].text or ""
            header = archive.read(name).decode().split("\r\n")[0].split(",")
            assert len(header) == indexes[-1] + 1
        assert ElementTree.fromstring(archive.read("eml.xml")).find("dataset/title").text == DATASET.title  # type: ignore[union-attr]
    assert validate_archive(path) == []


def test_a_failed_export_leaves_the_old_file_and_no_litter(tmp_path: Path) -> None:
    path = tmp_path / "finds.zip"
    path.write_bytes(b"old")

    def breaking() -> Iterator[Occurrence]:
        yield from released(TREE)
        raise RuntimeError("power cut")

    with pytest.raises(RuntimeError):
        write_archive(path, breaking(), dataset=DATASET)
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["finds.zip"]


def test_a_missing_folder_is_said_in_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be written"):
        write_archive(tmp_path / "nowhere" / "finds.zip", released(TREE), dataset=DATASET)


def test_a_find_without_identifier_does_not_leave(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no identifier"):
        write_archive(tmp_path / "a.zip", [Occurrence(scientific_name="Boletus")], dataset=DATASET)


def test_progress_ends_at_the_number_of_finds(tmp_path: Path) -> None:
    finds = [Occurrence(occurrence_id=f"id-{n}") for n in range(2500)]
    told: list[int] = []
    write_archive(tmp_path / "a.zip", finds, dataset=DATASET, progress=told.append)
    assert told == [1000, 2000, 2500]


def test_finds_that_bring_new_terms_late_get_their_columns(tmp_path: Path) -> None:
    finds = [
        Occurrence(occurrence_id="a", occurrence_remarks="two\r\nlines"),
        Occurrence(occurrence_id="b", extra={"http://example.org/one": "1"}),
        Occurrence(occurrence_id="c", extra={"http://example.org/two": "2"}),
    ]
    write_archive(tmp_path / "a.zip", finds, dataset=DATASET)
    assert read(tmp_path / "a.zip") == (finds, [])


def test_odd_characters_are_replaced_and_do_not_stop_an_export(tmp_path: Path) -> None:
    find = Occurrence(occurrence_id="a", occurrence_remarks="bell\x07 nul\x00 half\ud800")
    write_archive(tmp_path / "a.zip", [find], dataset=Dataset("t\x01", "c", "2026-01-01"))
    back, bad = read(tmp_path / "a.zip")
    assert back[0].occurrence_remarks == "bell\ufffd nul\ufffd half\ufffd"
    assert bad == []


def test_an_exact_position_leaves_only_by_wish(tmp_path: Path) -> None:
    exact = release_occurrence(TREE, Policy.EXACT)
    write_archive(tmp_path / "a.zip", [exact], dataset=DATASET)
    assert read(tmp_path / "a.zip")[0][0].position == TREE.position

    for position in (TREE.position, release_position(TREE.position, Policy.OWN_DEVICES)):
        with pytest.raises(InputError, match="release"):
            write_archive(
                tmp_path / "b.zip", [msgspec.structs.replace(TREE, position=position)], dataset=DATASET
            )  # fmt: skip
    assert not (tmp_path / "b.zip").exists()


def test_columns_and_fields_stand_in_the_same_order() -> None:
    from trug.records.exchange.occurrence import Identification, Measurement, Media
    from trug.records.exchange.terms import IDENTIFICATION_FIELDS, MEASUREMENT_FIELDS, MEDIA_FIELDS, OCCURRENCE_FIELDS

    kinds = [(Occurrence, OCCURRENCE_FIELDS), (Media, MEDIA_FIELDS), (Measurement, MEASUREMENT_FIELDS)]
    for kind, fields in [*kinds, (Identification, IDENTIFICATION_FIELDS)]:
        assert kind.__struct_fields__[: len(fields)] == tuple(fields)
    assert COLUMNS[0] == "occurrenceID"
