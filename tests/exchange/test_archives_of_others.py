"""Archives as other people make them, and as nobody should."""

from __future__ import annotations

import random
import zipfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from invented_finds import read

from trug.errors import InputError, UnreadableError
from trug.place import Position
from trug.records.exchange import Occurrence, read_archive

DWC = "http://rs.tdwg.org/dwc/terms/"
FIELDS = ("occurrenceID", "scientificName", "decimalLatitude", "decimalLongitude")


def meta(
    attributes: str = 'fieldsTerminatedBy="\\t" linesTerminatedBy="\\n" fieldsEnclosedBy="" ignoreHeaderLines="1"',
    location: str = "occ.txt",
    extra: str = "",
    extensions: str = "",
    row_type: str = DWC + "Occurrence",
    before: str = "",
) -> str:
    fields = "".join(f'<field index="{n}" term="{DWC}{name}"/>' for n, name in enumerate(FIELDS))
    return (
        f'<?xml version="1.0"?>{before}<archive xmlns="http://rs.tdwg.org/dwc/text/">'
        f'<core encoding="UTF-8" rowType="{row_type}" {attributes}><files><location>{location}</location></files>'
        f'<id index="0"/>{fields}{extra}</core>{extensions}</archive>'
    )


def archive(path: Path, files: dict[str, str | bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in files.items():
            made.writestr(name, content)
    return path


def table(*rows: tuple[str, ...], delimiter: str = "\t", end: str = "\n", quote: str = "") -> str:
    return "".join(delimiter.join(quote + cell + quote for cell in row) + end for row in (FIELDS, *rows))


ROW = ("f-1", "Boletus edulis", "60.5", "25.25")
FIND = Occurrence(occurrence_id="f-1", scientific_name="Boletus edulis", position=Position(60.5, 25.25))


@pytest.mark.parametrize(
    ("attributes", "content"),
    [
        ('fieldsTerminatedBy="\\t" fieldsEnclosedBy="" ignoreHeaderLines="1"', table(ROW)),
        ('fieldsTerminatedBy="&#9;" fieldsEnclosedBy="" ignoreHeaderLines="1"', table(ROW)),
        ('fieldsTerminatedBy="\t" fieldsEnclosedBy="" ignoreHeaderLines="1"', table(ROW)),
        ('ignoreHeaderLines="1"', table(ROW, delimiter=",", quote='"')),
        ("fieldsTerminatedBy=';' fieldsEnclosedBy=\"'\" ignoreHeaderLines='1'", table(ROW, delimiter=";", quote="'")),
        (
            'fieldsTerminatedBy="|" linesTerminatedBy="\\r\\n" ignoreHeaderLines="1"',
            table(ROW, delimiter="|", end="\r\n"),
        ),
        ('fieldsTerminatedBy="," linesTerminatedBy="\\r" ignoreHeaderLines="1"', table(ROW, delimiter=",", end="\r")),
        ('fieldsTerminatedBy="||" ignoreHeaderLines="1"', table(ROW, delimiter="||")),
        ('fieldsTerminatedBy="," linesTerminatedBy="$\\n"', ",".join(ROW) + "$\n"),
        ('fieldsTerminatedBy="\\t" ignoreHeaderLines="3"', "# a preamble\n# of two lines\n" + table(ROW)),
        ('fieldsTerminatedBy="\\t" ignoreHeaderLines="0"', "\t".join(ROW)),
    ],
)
def test_any_separator_quote_and_header_is_read(tmp_path: Path, attributes: str, content: str) -> None:
    path = archive(tmp_path / "a.zip", {"meta.xml": meta(attributes), "occ.txt": content})
    assert read(path) == ([FIND], [])


@pytest.mark.parametrize("encoding", ["UTF-8", "ISO-8859-1", "windows-1252", "UTF-16", "latin1", "utf-8-sig"])
def test_any_usual_encoding_is_read(tmp_path: Path, encoding: str) -> None:
    content = table(("f-1", "Säuling für Höfe", "", "")).encode(encoding)
    path = archive(
        tmp_path / "a.zip", {"meta.xml": meta().replace('"UTF-8"', f'"{encoding}"'), "occ.txt": content}
    )  # fmt: skip
    assert read(path)[0][0].scientific_name == "Säuling für Höfe"


def test_archives_in_a_folder_of_the_zip_and_unpacked_ones(tmp_path: Path) -> None:
    files: dict[str, str | bytes] = {"pack/meta.xml": meta(location="./data/occ.txt"), "pack/data/occ.txt": table(ROW)}
    files |= {"__MACOSX/pack/._meta.xml": b"\x00"}
    zipped = archive(tmp_path / "a.zip", files)
    with zipfile.ZipFile(zipped) as made:
        made.extractall(tmp_path / "unpacked")

    assert read(zipped) == ([FIND], [])
    assert read(tmp_path / "unpacked") == ([FIND], [])


def test_defaults_fill_columns_and_empty_cells(tmp_path: Path) -> None:
    extra = f'<field term="{DWC}basisOfRecord" default="HumanObservation"/><field term="http://x.org/net" default="N"/>'
    described = meta(extra=extra).replace(
        f'term="{DWC}scientificName"/>', f'term="{DWC}scientificName" default="Fungi"/>'
    )  # fmt: skip
    path = archive(tmp_path / "a.zip", {"meta.xml": described, "occ.txt": table(ROW, ("f-2", "", "", ""))})
    (first, second), bad = read(path)

    assert (first.scientific_name, second.scientific_name) == ("Boletus edulis", "Fungi")
    assert first.basis_of_record == second.basis_of_record == "HumanObservation"
    assert first.extra == {"http://x.org/net": "N"}
    assert bad == []


@pytest.mark.parametrize("term", ["dwc:locality", "Locality", "https://rs.tdwg.org/dwc/terms/locality", "locality"])
def test_terms_are_known_by_any_of_their_names(tmp_path: Path, term: str) -> None:
    extra = f'<field index="4" term="{term}"/>'
    path = archive(
        tmp_path / "a.zip", {"meta.xml": meta(extra=extra), "occ.txt": table().rstrip("\n") + "\tx\na\tb\t\t\tgrove\n"}
    )  # fmt: skip
    assert read(path)[0][0].locality == "grove"


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("plain.csv", "occurrenceID,ScientificName,decimalLatitude,decimalLongitude\nf-1,Boletus edulis,60.5,25.25\n"),
        ("plain.txt", "\ufeff" + table(ROW)),
        (
            "semi.csv",
            '"occurrenceID";"dwc:scientificName";decimalLatitude;decimalLongitude\r\nf-1;Boletus edulis;60.5;25.25',
        ),
    ],
)
def test_a_single_table_is_read_by_its_header(tmp_path: Path, name: str, text: str) -> None:
    (tmp_path / name).write_text(text, "utf-8")
    assert read(tmp_path / name) == ([FIND], [])
    assert read(archive(tmp_path / "in.zip", {name: text})) == ([FIND], [])


def test_a_table_in_an_old_encoding_is_read(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes("occurrenceID,locality\nf-1,Gölä\n".encode("cp1252"))
    assert read(tmp_path / "a.csv")[0][0].locality == "Gölä"


def test_bad_rows_are_told_with_their_cells_and_the_others_come_through(tmp_path: Path) -> None:
    rows = [ROW, ("f-2",), ("f-3", "x", "1", "2", "too", "many"), ("f-4", "x", "99", "2"), ("f-5", "x", "here", "2")]
    rows += [("", "x", "", ""), ("f-7", "x", "1", "2")]
    path = archive(tmp_path / "a.zip", {"meta.xml": meta(), "occ.txt": table(*rows)})
    finds, bad = read(path)

    assert [f.occurrence_id for f in finds] == ["f-1", "f-4", "f-5", "", "f-7"]
    assert [(b.file, b.line, b.kept) for b in bad] == [
        ("occ.txt", 3, False),
        ("occ.txt", 4, False),
        ("occ.txt", 5, True),
        ("occ.txt", 6, True),
        ("occ.txt", 7, True),
    ]
    assert bad[1].cells == rows[2]
    assert [f.position for f in finds[1:3]] == [None, None]
    assert finds[1].extra == {DWC + "decimalLatitude": "99", DWC + "decimalLongitude": "2"}


def test_bytes_that_are_no_text_are_told_and_the_row_is_kept(tmp_path: Path) -> None:
    content = table(ROW).encode() + b"f-2\tB\xff\t\t\n"
    finds, bad = read(archive(tmp_path / "a.zip", {"meta.xml": meta(), "occ.txt": content}))

    assert finds[1].scientific_name == "B\ufffd"
    assert [(b.line, b.kept) for b in bad] == [(3, True)]


@pytest.mark.parametrize("datum", ["NAD27", "ED50"])
def test_a_position_on_another_datum_is_not_used_and_not_lost(tmp_path: Path, datum: str) -> None:
    extra = f'<field index="4" term="{DWC}geodeticDatum"/>'
    path = archive(
        tmp_path / "a.zip",
        {"meta.xml": meta(extra=extra), "occ.txt": "h\th\th\th\th\n" + "\t".join([*ROW, datum]) + "\n"},
    )
    (find,), (bad,) = read(path)

    assert find.position is None
    assert find.extra[DWC + "geodeticDatum"] == datum
    assert "WGS84" in bad.why


EXTENSION = (
    f'<extension rowType="{DWC}MeasurementOrFact" fieldsTerminatedBy="," ignoreHeaderLines="0">'
    '<files><location>mof.txt</location></files><coreid index="0"/>'
    f'<field index="1" term="{DWC}measurementType"/><field index="2" term="{DWC}measurementValue"/></extension>'
)


@pytest.mark.parametrize("seed", range(4))
def test_extension_rows_find_their_core_in_any_order(tmp_path: Path, seed: int) -> None:
    core = [(f"f-{n}", "x", "", "") for n in range(20)]
    looks = [(f"f-{n % 23}", f"character-{n}", f"state-{n}") for n in range(60)]
    if seed:
        random.Random(seed).shuffle(looks)
    else:
        looks.sort(key=lambda look: int(look[0][2:]))
    path = archive(
        tmp_path / "a.zip",
        {
            "meta.xml": meta(extensions=EXTENSION),
            "occ.txt": table(*core),
            "mof.txt": "".join(",".join(look) + "\n" for look in looks),
        },
    )
    finds, bad = read(path)

    for find in finds:
        mine = [(m.measurement_type, m.measurement_value) for m in find.measurements]
        assert mine == [look[1:] for look in looks if look[0] == find.occurrence_id]
    assert {b.cells[0] for b in bad} == {"f-20", "f-21", "f-22"}
    assert len(bad) == sum(look[0] in {"f-20", "f-21", "f-22"} for look in looks)


def test_a_table_of_another_kind_is_told_and_left(tmp_path: Path) -> None:
    other = EXTENSION.replace("MeasurementOrFact", "ResourceRelationship")
    path = archive(
        tmp_path / "a.zip", {"meta.xml": meta(extensions=other), "occ.txt": table(ROW), "mof.txt": "f-1,a,b\n"}
    )  # fmt: skip
    finds, bad = read(path)
    assert len(finds) == 1
    assert "not read" in bad[0].why


@pytest.mark.parametrize(
    "location",
    ["../occ.txt", "/etc/hostname", "..\\occ.txt", "C:\\occ.txt", "data/../../occ.txt", "http://x.org/occ.txt"],
)
def test_ways_out_of_the_archive_are_refused(tmp_path: Path, location: str) -> None:
    (tmp_path / "occ.txt").write_text(table(ROW))
    inside = tmp_path / "in"
    inside.mkdir()
    (inside / "meta.xml").write_text(meta(location=location))
    zipped = archive(tmp_path / "a.zip", {"p/meta.xml": meta(location=location), "../occ.txt": table(ROW)})

    for path in (inside, zipped):
        with pytest.raises(UnreadableError, match=r"out of the archive|does not hold|fetch that file"):
            read(path)


def test_a_link_out_of_a_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "secret.txt").write_text(table(ROW))
    inside = tmp_path / "in"
    inside.mkdir()
    (inside / "meta.xml").write_text(meta())
    (inside / "occ.txt").symlink_to(tmp_path / "secret.txt")

    with pytest.raises(UnreadableError, match="leads out"):
        read(inside)


def test_a_zip_that_unpacks_to_a_flood_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as made:
        made.writestr("meta.xml", meta())
        with made.open("occ.txt", "w") as member:
            for _ in range(40):
                member.write(b"a" * 1_000_000)
    with pytest.raises(UnreadableError, match="hundreds of times"):
        read(path)


def test_a_zip_of_countless_files_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError, match="10001 files"):
        read(archive(tmp_path / "a.zip", {f"{n}.txt": b"" for n in range(10_001)}))


@pytest.mark.parametrize(
    "before",
    [
        '<!DOCTYPE a [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>',
        '<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/hostname">]>',
        '<!DOCTYPE a SYSTEM "http://x.org/a.dtd">',
    ],
)
def test_entities_in_the_metafile_are_refused(tmp_path: Path, before: str) -> None:
    path = archive(tmp_path / "a.zip", {"meta.xml": meta(before=before), "occ.txt": table(ROW)})
    with pytest.raises(UnreadableError, match="entities"):
        read(path)


@pytest.mark.parametrize(
    ("files", "told"),
    [
        ({"meta.xml": "<archive"}, "not valid XML"),
        ({"meta.xml": "<archive/>"}, "one <core>"),
        ({"meta.xml": meta()}, "does not hold"),
        ({"meta.xml": meta(row_type=DWC + "Taxon"), "occ.txt": ""}, "only finds are read"),
        ({"meta.xml": meta().replace('index="2"', 'index="-2"'), "occ.txt": ""}, "whole number"),
        ({"meta.xml": meta().replace("UTF-8", "rot13"), "occ.txt": ""}, "encoding"),
        ({"meta.xml": meta().replace("UTF-8", "no-such"), "occ.txt": ""}, "encoding"),
        ({"a.txt": "x,y\n", "b.txt": "x"}, "2 text files"),
        ({"a.txt": "x,y\n1,2\n"}, "no Darwin Core term"),
        ({"a.txt": ""}, "is empty"),
        ({}, "no text files"),
    ],
)
def test_what_is_no_archive_is_refused_with_a_sentence(
    tmp_path: Path, files: dict[str, str | bytes], told: str
) -> None:
    with pytest.raises(InputError, match=told):
        read(archive(tmp_path / "a.zip", files))


def test_missing_and_damaged_files_are_said_in_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError, match="no such file"):
        read(tmp_path / "none.zip")
    whole = archive(tmp_path / "a.zip", {"meta.xml": meta(), "occ.txt": table(*[ROW] * 5000)}).read_bytes()
    (tmp_path / "cut.zip").write_bytes(whole[: len(whole) // 2])
    with pytest.raises(UnreadableError, match="damaged"):
        read(tmp_path / "cut.zip")
    at = whole.index(b"occ.txt") + 40
    (tmp_path / "bent.zip").write_bytes(whole[:at] + bytes(b ^ 0xFF for b in whole[at : at + 20]) + whole[at + 20 :])
    with pytest.raises(UnreadableError, match="damaged"):
        read(tmp_path / "bent.zip")


@given(st.binary(max_size=400), st.booleans())
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_are_read_or_refused(tmp_path: Path, data: bytes, as_table: bool) -> None:
    path = tmp_path / "a.zip"
    if as_table:
        archive(path, {"meta.xml": meta(), "occ.txt": b"h\n" + data})
    else:
        path.write_bytes(b"occurrenceID,locality\n" + data)
    try:
        read(path)
    except InputError:
        return


def test_finds_come_one_by_one(tmp_path: Path) -> None:
    """The first find is there before the rest of the file is looked at."""
    path = archive(tmp_path / "a.zip", {"meta.xml": meta(), "occ.txt": table(*[ROW] * 100_000)})
    told: list[int] = []
    finds = read_archive(path, on_bad=lambda bad: None, progress=told.append)
    assert next(finds) == FIND
    assert told == []
    assert sum(1 for _ in finds) == 99_999
    assert told[-1] == 100_000


def test_the_archive_is_closed_when_reading_stops_early(tmp_path: Path) -> None:
    path = archive(tmp_path / "a.zip", {"meta.xml": meta(), "occ.txt": table(ROW, ROW)})
    finds = read_archive(path, on_bad=lambda bad: None)
    next(finds)
    finds.close()  # type: ignore[attr-defined]
    path.unlink()
