"""No file for others tells a place more finely than its grid, even where it was typed into a note."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from invented_finds import DATASET, TREE, released

from trug.errors import InputError
from trug.place import Policy, Position, has_coordinates, release_position
from trug.records.exchange import (
    Identification,
    Measurement,
    Media,
    Occurrence,
    outgoing,
    release_occurrence,
    texts_with_coordinates,
    write_archive,
    write_csv,
    write_geojson,
)


def typed(lat: float, lon: float, decimals: int) -> list[str]:
    """Return a position as people type it."""
    a, b = f"{lat:.{decimals}f}", f"{lon:.{decimals}f}"
    north, east = "N" if lat >= 0 else "S", "E" if lon >= 0 else "W"
    minutes = [(int(abs(x)), (abs(x) - int(abs(x))) * 60) for x in (lat, lon)]
    (d1, m1), (d2, m2) = minutes
    return [
        f"{a}, {b}",
        f"{a},{b}",
        f"{a} {b}",
        f"{a} / {b}",
        f"{a.replace('.', ',')} {b.replace('.', ',')}",
        f"{a.lstrip('-')}{north} {b.lstrip('-')}{east}",
        f"{north} {a.lstrip('-')}° {east} {b.lstrip('-')}°",
        f"lat={a} lon={b}",
        f"geo:{a},{b}",
        f"https://maps.example/@{a},{b},17z",
        f"{d1}°{m1:.3f}'{north} {d2}°{m2:.3f}'{east}",
        f"{d1}°{int(m1)}'{(m1 % 1) * 60:.1f}\"{north} {d2}°{int(m2)}'{(m2 % 1) * 60:.1f}\"{east}",
        f"{north}{d1} {m1:.3f} {east}{d2} {m2:.3f}",
        f'{{"lat": {a}, "lon": {b}}}',
    ]


WORDS = st.sampled_from(
    ["", "oak", "at", "parked near the gate;", "(see map)", "14 fruitbodies", "ca. 20 m off", "x", "m", "12.5", "3"]
)


@given(
    lat=st.floats(-89, 89),
    lon=st.floats(-179, 179),
    decimals=st.integers(2, 8),
    form=st.integers(0, 13),
    before=WORDS,
    after=WORDS,
)
@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_export_tells_a_position_typed_into_any_text(
    tmp_path: Path, lat: float, lon: float, decimals: int, form: int, before: str, after: str
) -> None:
    words = typed(lat, lon, decimals)[form]
    note = f"{before} {words} {after}"
    find = everywhere(note, Position(lat, lon, 5.0))
    fractions = [text.partition(".")[2] for text in (f"{lat:.{decimals}f}", f"{lon:.{decimals}f}")]
    minutes = re.findall(r"\d+\.\d{3}'", words)

    leaving = [release_occurrence(find)]
    write_archive(tmp_path / "a.zip", leaving, dataset=DATASET)
    write_csv(tmp_path / "a.csv", leaving)
    write_geojson(tmp_path / "a.json", leaving)
    with zipfile.ZipFile(tmp_path / "a.zip") as archive:
        texts = [archive.read(name).decode() for name in archive.namelist() if name.endswith(".txt")]
    texts += [(tmp_path / name).read_text("utf-8") for name in ("a.csv", "a.json")]

    for text in texts:
        assert words not in text
        for fraction in fractions:
            assert not re.search(rf"\d[.,]{fraction}(?!\d)", text)
        assert not any(minute in text for minute in minutes)
        assert note.strip() not in text


def everywhere(note: str, position: Position) -> Occurrence:
    """Return a find with a note in every field that takes text."""
    own = {"occurrence_id": "id-1", "position": position, "extra": {"http://example.org/note": note, "gps": note}}
    texts = {
        name: note for name in Occurrence.__struct_fields__[:47] if name not in own and "elevation" not in name
    }  # fmt: skip

    def row(kind: type) -> object:  # type: ignore[type-arg]
        return kind(**{name: note for name in kind.__struct_fields__ if name not in ("extra", "measurement_unit")})

    return Occurrence(
        **texts,
        **own,
        media=(row(Media),),  # type: ignore[arg-type]
        measurements=(row(Measurement),),  # type: ignore[arg-type]
        identifications=(row(Identification),),  # type: ignore[arg-type]
    )


def test_an_export_without_a_position_gives_none_away_either(tmp_path: Path) -> None:
    find = Occurrence(occurrence_id="a", locality="by the mill, 60.16952, 24.93545")
    write_csv(tmp_path / "a.csv", [find])
    assert "60.1" not in (tmp_path / "a.csv").read_text("utf-8")


def test_terms_that_tell_a_place_are_left_out_and_heights_widened() -> None:
    space = "http://rs.tdwg.org/dwc/terms/"
    find = msgspec.structs.replace(
        TREE,
        extra={
            space + "verbatimLatitude": "60 10",
            space + "footprintWKT": "POINT",
            space + "verbatimElevation": "137 m",
            "utm zone": "35V",
            "site 60.16952": "x",
            "plate": "12",
        },
        measurements=(Measurement(measurement_type="latitude", measurement_value="60.16952", measurement_unit="x"),),
        dynamic_properties='{"lat": 60.17, "weather": "dry"}',
    )
    leaving = release_occurrence(find)

    assert leaving.extra == {"plate": "12"}
    assert leaving.measurements == ()
    assert leaving.dynamic_properties == '{"weather": "dry"}'
    assert (leaving.minimum_elevation_m, leaving.maximum_elevation_m) == ("100", "200")
    assert leaving.coordinate_precision == "0.1"
    assert "grid cell of 0.1 degree" in leaving.data_generalizations
    assert "withheld" in leaving.information_withheld


def test_figures_with_a_unit_leave_as_they_were_measured() -> None:
    lab = Measurement(
        measurement_type="print_colour", measurement_value="61.234 12.345 8.100", measurement_unit="CIELAB"
    )
    assert release_occurrence(msgspec.structs.replace(TREE, measurements=(lab,))).measurements == (lab,)


def test_leaving_twice_changes_nothing_more() -> None:
    once = release_occurrence(TREE)
    assert outgoing(once) == once
    assert release_occurrence(once) == once


def test_texts_are_flagged_for_a_person_to_look_at() -> None:
    find = msgspec.structs.replace(TREE, locality="60.16952, 24.93545")
    assert texts_with_coordinates(find) == {"locality": "60.16952, 24.93545"}
    assert texts_with_coordinates(TREE) == {}


def test_an_identifier_that_is_a_place_does_not_leave() -> None:
    with pytest.raises(InputError, match="identifier"):
        release_occurrence(Occurrence(occurrence_id="find-60.16952-24.93545"))


@pytest.mark.parametrize("position", [TREE.position, release_position(TREE.position, Policy.OWN_DEVICES)])
def test_every_writer_refuses_what_was_not_released_for_others(tmp_path: Path, position: Position) -> None:
    find = msgspec.structs.replace(TREE, position=position)
    with pytest.raises(InputError):
        write_archive(tmp_path / "a.zip", [find], dataset=DATASET)
    with pytest.raises(InputError):
        write_csv(tmp_path / "a.csv", [find])
    with pytest.raises(InputError):
        write_geojson(tmp_path / "a.json", [find])
    assert list(tmp_path.iterdir()) == []


def test_exact_export_keeps_texts_as_they_are() -> None:
    find = msgspec.structs.replace(TREE, locality="60.16952, 24.93545")
    exact = released(find, policy=Policy.EXACT)[0]
    assert exact.locality == find.locality
    assert has_coordinates(exact.locality)
