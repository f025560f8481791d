"""Finds out into an archive and back in: nothing is lost, nothing comes twice, no place is given away."""

from __future__ import annotations

import shutil
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import msgspec
import pytest
from dwca.read import DwCAReader
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from kept_finds import VELVET, gather, person, photo, present, replayed, sound
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.characters import load_vocabulary
from trug.characters.model import Character
from trug.determine.find import Colour, Evidence, Measurement, Sample
from trug.errors import UnknownWordError
from trug.place import Policy, Position
from trug.records.bin import put_in_bin
from trug.records.database import Database
from trug.records.exchange import (
    BadRow,
    Dataset,
    Identification,
    Media,
    Occurrence,
    Waypoint,
    read_archive,
    validate_archive,
    write_archive,
    write_csv,
    write_geojson,
)
from trug.records.exchange import (
    Measurement as Fact,
)
from trug.records.gatherings import add_fruitbody, correct_fruitbody, delete_look, make_look, state_name
from trug.records.inward import Imported, import_occurrences, import_waypoints
from trug.records.outward import occurrences, outward_ids
from trug.records.pictures import add_photo
from trug.records.reasoning import Reasoner
from trug.records.signing import sign, signatures_of, withdraw
from trug.records.tables import FindRow, FindWords, FruitbodyRow, LookRow, Person, PhotoRow, PlaceRow, StatedName

DATASET = Dataset("Invented finds", "Nobody", "2026-01-01", abstract="Made up.")
VOCABULARY = load_vocabulary()


def leaving(database: Database, reasoner: Reasoner, policy: Policy = Policy.GENERALISED) -> list[Occurrence]:
    with database.reading() as session:
        return list(occurrences(session, reasoner.here, outward_ids(session), policy))


def read_whole(path: Path) -> list[Occurrence]:
    """Return the finds of an archive in which every row can be read."""
    bad: list[BadRow] = []
    found = list(read_archive(path, on_bad=bad.append))
    assert bad == []
    return found


def archive(database: Database, reasoner: Reasoner, path: Path, policy: Policy = Policy.GENERALISED) -> Path:
    with database.reading() as session:
        ids = outward_ids(session)
        write_archive(path, occurrences(session, reasoner.here, ids, policy), dataset=DATASET)
    return path


def take(database: Database, reasoner: Reasoner, *finds: Occurrence) -> Imported:
    return import_occurrences(database, reasoner, finds, None)


def one(**more: Any) -> Occurrence:
    filled = {"occurrence_id": "elsewhere:1", "event_date": "2026-10-04", "scientific_name": "Galerina marginata"}
    return Occurrence(**{**filled, **more})


def looks_told(session: Session, find_id: str | None = None) -> set[tuple[Any, ...]]:
    """Return every look that was not deleted: of which find and fruitbody, what was seen and how."""
    labels = {b.id: b.label for b in session.scalars(select(FruitbodyRow))}
    rows = session.scalars(select(LookRow).where(LookRow.deleted_at.is_(None)))
    return {
        (
            k.find_id,
            labels.get(k.fruitbody_id),
            k.character,
            msgspec.json.encode(msgspec.convert(k.evidence, Evidence), order="deterministic"),
            k.sure,
            k.method,
            k.time,
            k.blind,
        )
        for k in rows
        if find_id in (None, k.find_id)
    }


@pytest.fixture
def full(signed: SimpleNamespace, reasoner: Reasoner) -> SimpleNamespace:
    """Finds with everything: two fruitbodies, conditions, doubts, names given and withdrawn, photos, a place."""
    database = signed.database
    with database.writing(signed.ada) as unit:
        place = unit.make(
            PlaceRow(name="the mill", lat=60.16952, lon=24.93545, uncertainty_m=8.0, altitude_m=137.0, wood="birches")
        )
        unit.edit(unit.get(FindRow, signed.find), place_id=place.id)
        second = add_fruitbody(unit, reasoner, signed.find, stage="young", condition=["frosted"])
        correct_fruitbody(unit, reasoner, signed.body, stage={"prime": 0.7, "past": 0.3})
        for character, answer, sure in (
            ("ring", "narrow", "unsure"),
            ("spore_q", Evidence(measurement=Measurement(2.6857)), "fairly"),
            ("cap_width", Evidence(sample=Sample(7, 41.1234, 3.21987, p5=35.0625, p95=47.5)), "sure"),
            ("cap_colour", Evidence(colour=Colour((52.253, 60.1695, 24.9354), accuracy="B")), "sure"),
            ("stipe_colour", Evidence(distribution={"brown": 0.6169, "cream": 0.3831}), "sure"),
            ("spore_print", Evidence(not_seen="no print fell"), "sure"),
        ):
            make_look(
                unit,
                reasoner,
                signed.find,
                character=character,
                answer=answer,
                fruitbody_id=second.id,
                sure=sure,
                blind=True,
                then_refresh=False,
            )
        add_photo(database, unit, signed.find, photo(5), fruitbody_id=second.id, role="section", caption="cut")
        state_name(unit, reasoner, signed.find, "Velvet foot", stated_by="the market warden")
        other = sign(
            unit,
            reasoner,
            signed.find,
            taxon="galerina-marginata",
            fruitbodies=[second.id],
            person_id=signed.bea,
            in_hand=True,
        )
        withdraw(unit, reasoner, other.id, "too quick")
        gather(unit, reasoner, unit.get(Person, signed.bea), notes="empty basket", date="2025-11-03")
        gone, _ = gather(unit, reasoner, notes="deleted")
        put_in_bin(unit, reasoner, "find", gone.id)
        signed.gone = gone.id
    return signed


def test_an_archive_of_ours_is_faultless_and_other_programs_read_it(
    full: SimpleNamespace, reasoner: Reasoner, tmp_path: Path
) -> None:
    path = archive(full.database, reasoner, tmp_path / "finds.zip")
    assert validate_archive(path) == []

    # python-dwca-reader 0.17, an independent reader of Darwin Core Archives (TDWG text guide).
    with DwCAReader(str(path)) as reader:
        rows = {row.data["http://rs.tdwg.org/dwc/terms/occurrenceID"]: row for row in reader}
        assert full.find in rows
        assert full.gone not in rows
        row = rows[full.find]
        kinds: dict[str, int] = {}
        for extension in row.extensions:
            kinds[extension.rowtype.rsplit("/", 1)[1]] = kinds.get(extension.rowtype.rsplit("/", 1)[1], 0) + 1
    with full.database.reading() as session:
        looks = len(session.scalars(select(LookRow.id).where(LookRow.find_id == full.find)).all())
    assert kinds == {"MeasurementOrFact": looks, "Multimedia": 1, "Identification": 3}


def test_database_archive_database(
    full: SimpleNamespace, database: Database, reasoner: Reasoner, tmp_path: Path
) -> None:
    path = archive(full.database, reasoner, tmp_path / "finds.zip")
    with database.writing() as unit:
        person(unit, "Ada Moss")
    done = import_occurrences(database, reasoner, read_whole(path), None)
    assert (done.finds, done.known, done.problems) == (2, 0, [])

    with full.database.reading() as before, database.reading() as after:
        assert set(after.scalars(select(FindRow.id))) == set(outward_ids(before))
        assert looks_told(after) == looks_told(before)
        assert done.looks == len(looks_told(before))
        find = after.get_one(FindRow, full.find)
        told = before.get_one(FindRow, full.find)
        assert (find.date, find.number, find.standing) == (told.date, told.number, "proposed")
        assert find.origin == ""
        assert signatures_of(after, full.find, voided=True) == []
        bodies = {b.label: (b.stage, b.condition) for b in after.scalars(select(FruitbodyRow))}
        assert bodies == {"a": ({"prime": 0.7, "past": 0.3}, []), "b": ("young", ["frosted"])}
        names = {(n.name, n.taxon, n.stated_by) for n in after.scalars(select(StatedName))}
        assert names >= {
            ("Flammulina velutipes", VELVET, "Ada Moss"),
            ("Galerina marginata", "galerina-marginata", "Bea Fern"),
        }
        assert any(n[0] == "Velvet foot" for n in names)
        withdrawn = after.scalars(select(StatedName).where(StatedName.name == "Galerina marginata")).one()
        assert "withdrawn" in withdrawn.remarks
        assert "too quick" in withdrawn.remarks
        assert replayed(after) == present(after)
    assert sound(database) == []


def test_what_is_not_released_at_home_is_not_released_after_a_journey(
    full: SimpleNamespace, database: Database, reasoner: Reasoner, tmp_path: Path
) -> None:
    """Condition, stage and doubt travel with the looks, and no signature does."""
    import_occurrences(database, reasoner, read_whole(archive(full.database, reasoner, tmp_path / "finds.zip")), None)
    with database.writing() as unit:
        unit.edit(unit.get(FindRow, full.find), region="europe-north")
        _, here = reasoner.of(unit.session, full.find, signed=VELVET)
    with full.database.reading() as session:
        _, home = reasoner.of(session, full.find, signed=VELVET)

    def codes(record: Any) -> list[set[str]]:
        return [{reason[0] for reason in r.release.reasons} for r in record.fruitbodies]

    assert all(at_home <= there for at_home, there in zip(codes(home), codes(here), strict=True))


def test_a_second_import_adds_nothing(
    full: SimpleNamespace, database: Database, reasoner: Reasoner, tmp_path: Path
) -> None:
    path = archive(full.database, reasoner, tmp_path / "finds.zip")
    foreign = [one(occurrence_id=f"elsewhere:{n}") for n in range(3)]
    import_occurrences(database, reasoner, [*read_whole(path), *foreign, foreign[0]], None)
    with database.reading() as session:
        before = present(session)
    again = import_occurrences(database, reasoner, [*read_whole(path), *foreign], None)
    home = import_occurrences(full.database, reasoner, read_whole(path), None)

    assert (again.finds, again.known, again.looks) == (0, 5, 0)
    assert (home.finds, home.known) == (0, 2)
    with database.reading() as session:
        assert present(session) == before


def test_what_was_deleted_does_not_come_back_by_an_import(
    full: SimpleNamespace, reasoner: Reasoner, tmp_path: Path
) -> None:
    path = archive(full.database, reasoner, tmp_path / "finds.zip")
    with full.database.writing() as unit:
        put_in_bin(unit, reasoner, "find", full.find)
    done = import_occurrences(full.database, reasoner, read_whole(path), None)

    assert (done.finds, done.known) == (0, 2)


def test_photos_are_told_of_through_a_second_database(
    full: SimpleNamespace, database: Database, reasoner: Reasoner, tmp_path: Path
) -> None:
    path = archive(full.database, reasoner, tmp_path / "1.zip")
    import_occurrences(database, reasoner, read_whole(path), None)
    first = next(o for o in leaving(full.database, reasoner) if o.media)
    second = next(o for o in leaving(database, reasoner) if o.occurrence_id == first.occurrence_id)

    assert second.media == first.media
    assert [(m.title, m.description, m.format) for m in first.media] == [("section", "cut", "image/png")]


def test_identifiers_of_looks_and_photos_leave_as_they_are(database: Database, reasoner: Reasoner) -> None:
    look_id = "01a213bd-f97e-7372-abc2-67e24ec4adfa"
    sha256 = "d78d2e2ac065009d1bfded089f24aa62f491ae232f2f7b7373cd9347684a84cf"
    with database.writing() as unit:
        find, body = gather(unit, reasoner)
        told = {"find_id": find.id, "fruitbody_id": body.id, "character": "ring", "evidence": {"states": ["absent"]}}
        unit.make(LookRow(id=look_id, **told))
        shape = {"media_type": "image/png", "width": 1, "height": 1}
        unit.make(PhotoRow(find_id=find.id, sha256=sha256, **shape))
    (out,) = leaving(database, reasoner)

    assert [m.identifier for m in out.media] == [sha256]
    assert [m.measurement_id for m in out.measurements] == [look_id]


def test_corrections_travel_past_deleted_looks_and_new_identifiers(
    signed: SimpleNamespace, opened: Callable[[Path], Database], empty_folder: Path, reasoner: Reasoner
) -> None:
    with signed.database.writing() as unit:
        seen = ("flat", "conical", "convex", "flat")
        looks = [
            make_look(
                unit,
                reasoner,
                signed.find,
                character="cap_shape",
                answer=answer,
                fruitbody_id=signed.body,
                observer_id=signed.bea,
                then_refresh=False,
            )
            for answer in seen
        ]
        delete_look(unit, reasoner, looks[1].id)
        (out,) = occurrences(unit.session, reasoner.here, [signed.find])

    def standing(database: Database, find_id: str) -> list[tuple[str, ...]]:
        with database.reading() as session:
            found = reasoner.of(session, find_id)[0].looks
        corrected = {k.supersedes for k in found}
        caps = [k for k in found if k.character == "cap_shape" and k.id not in corrected]
        return sorted(k.evidence.states or () for k in caps)

    home = standing(signed.database, signed.find)
    database = opened(empty_folder)
    again = msgspec.structs.replace(out, occurrence_id="elsewhere:1")  # the same looks, so that all need new ids
    take(database, reasoner, out, again)
    with database.reading() as session:
        ids = session.scalars(select(FindRow.id)).all()
    assert len(home) == 2
    assert [standing(database, i) for i in ids] == [home, home]


def test_looks_at_a_deleted_fruitbody_are_never_taken_for_those_of_another(
    signed: SimpleNamespace, database: Database, reasoner: Reasoner
) -> None:
    with signed.database.writing() as unit:
        second = add_fruitbody(unit, reasoner, signed.find)
        look = make_look(
            unit, reasoner, signed.find, character="ring", answer="skirt", fruitbody_id=second.id, then_refresh=False
        )
        put_in_bin(unit, reasoner, "fruitbody", second.id)
    (out,) = leaving(signed.database, reasoner, Policy.EXACT)
    assert look.id not in {m.measurement_id for m in out.measurements}
    take(database, reasoner, out)
    with database.reading() as session:
        rings = session.scalars(select(LookRow.evidence).where(LookRow.character == "ring")).all()
    assert rings == [{"states": ["absent"]}]


def figures(low: float, high: float) -> st.SearchStrategy[float]:
    """Return numbers with many decimals, and with the few that people and instruments write."""
    some = st.floats(low, high)
    return some | st.tuples(some, st.integers(0, 5)).map(lambda f: min(max(round(*f), low), high))


def evidence_of(character: Character) -> st.SearchStrategy[Evidence]:
    if character.measured:
        assert character.span is not None
        size = figures(*character.span)
        few = figures(0.01, character.span[1])
        return (
            st.builds(lambda v, d: Evidence(measurement=Measurement(v, d)), size, st.just(0.0) | few)
            | st.builds(lambda n, m, s: Evidence(sample=Sample(n, m, s)), st.integers(1, 999), size, few)
            | st.builds(lambda m: Evidence(sample=Sample(3, m, 0.5, p5=m, p95=m)), size)
        )
    states = st.lists(st.sampled_from(character.codes), min_size=1, unique=True)
    forms = states.map(lambda s: Evidence(states=tuple(s))) | states.flatmap(
        lambda s: st.lists(figures(0.001, 1.0), min_size=len(s), max_size=len(s)).map(
            lambda w: Evidence(distribution=dict(zip(s, w, strict=True)))
        )
    )
    if character.kind == "colour":
        axis = figures(-99, 99)
        forms |= st.builds(
            lambda lab, cov, a: Evidence(colour=Colour(lab, cov, a)),
            st.tuples(axis, axis, axis),
            st.none() | st.tuples(*[axis] * 9),
            st.sampled_from("ABCD"),
        )
    return forms | st.just(Evidence(not_seen="it was too dark"))


LOOKABLE = [c for c in VOCABULARY.characters.values() if c.role != "prior"]
ANSWERS = st.sampled_from(LOOKABLE).flatmap(lambda c: st.tuples(st.just(c), evidence_of(c)))


def test_evidence_of_every_form_survives_a_generalised_archive(
    empty_folder: Path, opened: Callable[[Path], Database], reasoner: Reasoner, tmp_path: Path
) -> None:
    """Numbers of a look are never taken for coordinates, and so are not lost."""
    first, second = opened(empty_folder), opened(empty_folder)

    @settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.lists(st.tuples(ANSWERS, st.sampled_from(["sure", "fairly", "unsure"])), min_size=1, max_size=12))
    def law(answers: list[tuple[tuple[Character, Evidence], str]]) -> None:
        with first.writing() as unit:
            find, body = gather(unit, reasoner)
            for (character, evidence), sure in answers:
                make_look(
                    unit,
                    reasoner,
                    find.id,
                    character=character.code,
                    answer=evidence,
                    fruitbody_id=body.id,
                    sure=sure,
                    then_refresh=False,
                )
            # Without a month nothing is reasoned at the import, which saves time here.
            unit.edit(find, date="2025")
            out = occurrences(unit.session, reasoner.here, [find.id])
            write_archive(tmp_path / "finds.zip", out, dataset=DATASET)
        assert import_occurrences(second, reasoner, read_whole(tmp_path / "finds.zip"), None).problems == []
        with first.reading() as before, second.reading() as after:
            assert looks_told(after, find.id) == looks_told(before, find.id)

    law()


DEGREES = st.tuples(
    st.floats(-89, 89).map(lambda x: round(x, 5)), st.floats(-179, 179).map(lambda x: round(x, 5))
).filter(lambda at: all(round(x * 1000) % 100 not in (0, 1, 99) for x in at))
SENTENCES = st.sampled_from(["found at {} by the mill", "{}", "GPS: {}, wet", "a (b)\n{}\tc"])
WRITTEN = st.sampled_from(
    [
        lambda a, o: f"{a:.5f}, {o:.5f}",
        lambda a, o: f"{a:.4f} {o:.4f}",
        lambda a, o: f"{abs(a):.5f}° {'N' if a > 0 else 'S'} {abs(o):.5f}° {'E' if o > 0 else 'W'}",
        lambda a, o: f"{a:.5f}".replace(".", ",") + " " + f"{o:.5f}".replace(".", ","),
        lambda a, o: f"lat {a:.5f} lon {o:.5f}",
        lambda a, o: f"N{abs(a):.5f} E{abs(o):.5f}",
    ]
)


def exact_digits(at: tuple[float, float]) -> list[str]:
    """Return how a position reads to within ten metres, in any of the usual marks."""
    return [mark.join(f"{abs(x):.4f}".split(".")) for x in at for mark in ".,"]


@pytest.mark.parametrize("kind", ["zip", "csv", "geojson"])
def test_no_generalised_file_holds_an_exact_place(empty_folder: Path, reasoner: Reasoner, kind: str) -> None:
    @settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
    @given(DEGREES, DEGREES, WRITTEN, SENTENCES, st.booleans(), st.sampled_from([0.1, 0.5, 1.0]))
    @example((60.16952, 24.93545), (61.49911, 23.76122), lambda a, o: f"{a}, {o}", "{}", True, 0.1)
    def law(place: Any, own: Any, write: Any, sentence: str, has_own: bool, grid: float) -> None:
        typed = sentence.format(write(*place))
        with tempfile.TemporaryDirectory() as home:
            shutil.copytree(empty_folder, Path(home) / "data")
            database = Database.open(Path(home) / "data")
            with database.writing() as unit:
                ada = person(unit, "Ada")
                mill = unit.make(PlaceRow(name=f"mill {typed}", lat=place[0], lon=place[1], grid_deg=grid, wood=typed))
                find, body = gather(
                    unit,
                    reasoner,
                    ada,
                    notes=typed,
                    place_id=mill.id,
                    locality=typed if has_own else "",
                    voucher_at=typed,
                    lat=own[0] if has_own else None,
                    lon=own[1] if has_own else None,
                )
                unit.edit(find, fungarium=typed[:80], extra={"terms": {"habitat": typed, "http://x.example/y": typed}})
                make_look(
                    unit,
                    reasoner,
                    find.id,
                    character="smell",
                    answer=f"not seen: {typed}",
                    fruitbody_id=body.id,
                    then_refresh=False,
                )
                state_name(unit, reasoner, find.id, "Velvet foot", remarks=typed, stated_by=typed)
                shape = {"media_type": "image/png", "width": 1, "height": 1, "lat": place[0], "lon": place[1]}
                unit.make(PhotoRow(find_id=find.id, sha256="a" * 64, caption=typed, **shape))
            path = Path(home) / f"finds.{kind}"
            with database.reading() as session:
                out = occurrences(session, reasoner.here, outward_ids(session))
                if kind == "zip":
                    write_archive(path, out, dataset=DATASET)
                    with zipfile.ZipFile(path) as written:
                        text = "\n".join(written.read(n).decode() for n in written.namelist())
                else:
                    (write_csv if kind == "csv" else write_geojson)(path, out)
                    text = path.read_text("utf-8")
            database.close()
        assert [d for at in (place, own) for d in exact_digits(at) if d in text] == []
        assert "mill" in text or has_own

    law()


def test_exact_places_leave_only_when_asked(full: SimpleNamespace, reasoner: Reasoner, tmp_path: Path) -> None:
    path = archive(full.database, reasoner, tmp_path / "exact.zip", Policy.EXACT)
    found = next(o for o in read_whole(path) if o.occurrence_id == full.find)
    assert isinstance(found.position, Position)
    assert (found.position.lat, found.position.lon) == (60.16952, 24.93545)

    coarse = next(o for o in leaving(full.database, reasoner) if o.occurrence_id == full.find)
    assert coarse.position is not None
    assert abs(coarse.position.lat - 60.16952) <= 0.1
    assert coarse.position.lat != 60.16952


def test_finds_of_others_keep_what_they_brought_through_a_second_journey(
    database: Database, reasoner: Reasoner, tmp_path: Path, empty_folder: Path
) -> None:
    brought = one(
        basis_of_record="PreservedSpecimen",
        recorded_by="A. Stranger",
        habitat="old birches",
        substrate="stump",
        associated_taxa="on: Betula",
        state_province="Uusimaa",
        country_code="FI",
        license="CC0",
        rights_holder="a museum",
        dataset_name="Finds of a museum",
        locality="by the lake",
        catalog_number="H 123",
        individual_count="2",
        media=(Media(type="StillImage", identifier="https://museum.example/1.jpg", creator="A. Stranger"),),
        identifications=(Identification(identification_id="i", scientific_name="Kuehneromyces mutabilis"),),
        extra={"http://rs.tdwg.org/dwc/terms/samplingProtocol": "walk"},
    )
    take(database, reasoner, brought)
    path = archive(database, reasoner, tmp_path / "on.zip")
    assert validate_archive(path) == []
    (back,) = read_whole(path)

    kept = ("occurrence_id", "basis_of_record", "recorded_by", "habitat", "substrate", "associated_taxa")
    kept += ("state_province", "country_code", "license", "rights_holder", "dataset_name", "locality")
    kept += ("catalog_number", "event_date", "scientific_name", "extra", "media")
    assert {name: getattr(back, name) for name in kept} == {name: getattr(brought, name) for name in kept}
    assert {i.scientific_name for i in back.identifications} == {"Galerina marginata", "Kuehneromyces mutabilis"}


def look(character: str, value: str, remarks: str = "", name: str = "") -> Fact:
    return Fact(measurement_id=name, measurement_type=character, measurement_value=value, measurement_remarks=remarks)


def test_a_look_of_others_without_a_word_on_doubt_rules_nothing_out(database: Database, reasoner: Reasoner) -> None:
    take(database, reasoner, one(measurements=(look("ring", "absent | narrow"), look("cap_width", "40"))))
    with database.reading() as session:
        rows = {k.character: k for k in session.scalars(select(LookRow))}
        assert {k.sure for k in rows.values()} == {"unsure"}
        assert rows["ring"].evidence == {"states": ["absent", "narrow"]}
        assert rows["cap_width"].evidence == {"measurement": {"value": 40.0}}


def test_looks_of_others_are_not_pooled_over_several_fruitbodies(database: Database, reasoner: Reasoner) -> None:
    done = take(
        database,
        reasoner,
        one(
            individual_count="5",
            measurements=(
                look("ring", "absent"),
                look("substrate", "stump"),
                look("volva", "sac", '{"fruitbody":"b"}'),
            ),
        ),
    )
    with database.reading() as session:
        kept = {k.character for k in session.scalars(select(LookRow))}
        labels = session.scalars(select(FruitbodyRow.label)).all()
    assert kept == {"substrate", "volva"}
    assert labels == ["b"]
    assert len(done.problems) == 1
    assert "never pooled" in done.problems[0]


@pytest.mark.parametrize(
    "fact",
    [
        look("ring", "no-such-state"),
        look("ring", ""),
        look("cap_width", "wide"),
        look("cap_width", "1e999"),
        look("ring", "x", '{"evidence":{"states":[[]]}}'),
        look("ring", "x", '{"evidence":{"not_seen":7}}'),
        look("ring", "x", '{"evidence":{}}'),
        look("cap_width", "4", '{"evidence":{"measurement":4}}'),
        look("cap_width", "4", '{"evidence":{"sample":{"n":2,"mean":40}}}'),
        look("ring", "absent", '{"stage":"ripe"}'),
        look("ring", "absent", '{"stage":7}'),
        look("ring", "absent", '{"stage":{"prime":-1}}'),
        look("ring", "absent", '{"condition":["wet"]}'),
        look("ring", "absent", '{"condition":[{}]}'),
        look("ring", "absent", '{"condition":"frosted"}'),
    ],
)
def test_a_look_that_is_none_is_told_of_and_the_find_is_kept(
    database: Database, reasoner: Reasoner, fact: Fact
) -> None:
    done = take(database, reasoner, one(measurements=(fact,)))
    assert (done.finds, done.looks, len(done.problems)) == (1, 0, 1)
    with database.reading() as session:
        assert session.scalars(select(LookRow)).all() == []


@pytest.mark.parametrize("remarks", ["[" * 100_000, "7", "null", '{"sure":["sure"]}', '{"sure":"very","supersedes":5}'])
def test_odd_remarks_stop_nothing(database: Database, reasoner: Reasoner, remarks: str) -> None:
    done = take(database, reasoner, one(measurements=(look("ring", "absent", remarks),)))
    assert (done.looks, done.problems) == (1, [])


def test_what_is_known_of_date_and_place_is_no_look(database: Database, reasoner: Reasoner) -> None:
    done = take(
        database,
        reasoner,
        one(measurements=tuple(look(c.code, c.codes[0]) for c in VOCABULARY.characters.values() if c.role == "prior")),
    )
    assert (done.finds, done.looks) == (1, 0)


def test_identifiers_of_looks_that_are_taken_already_get_new_ones(database: Database, reasoner: Reasoner) -> None:
    name = "0190f0a0-0000-7000-8000-000000000009"
    twice = (look("ring", "absent", name=name), look("ring", "narrow", name=name))
    take(database, reasoner, one(measurements=twice), one(occurrence_id="elsewhere:2", measurements=twice))
    with database.reading() as session:
        ids = session.scalars(select(LookRow.id)).all()
    assert len(set(ids)) == 4
    assert name in ids


@pytest.mark.parametrize(
    ("told", "kept", "problems"),
    [
        ("2026-10-04", "2026-10-04", 0),
        ("2026-10-04/2026-10-06", "2026-10-04", 0),
        ("2026-10-04T09:30+03:00", "2026-10-04T09:30+03:00", 0),
        ("2026-10", "2026-10", 0),
        ("2026", "2026", 0),
        ("2026-W40", "2026-W40", 0),
        ("", "", 1),
        ("4.10.2026", "", 1),
        ("2026-02-30", "", 1),
        ("2026_10_04", "", 1),
        ("2026-99-99", "", 1),
    ],
)
def test_dates_of_every_exactness_are_taken_over_with_their_looks(
    database: Database, reasoner: Reasoner, told: str, kept: str, problems: int
) -> None:
    done = take(database, reasoner, one(event_date=told, measurements=(look("ring", "absent"),)))
    assert (done.finds, done.looks, len(done.problems)) == (1, 1, problems)
    with database.reading() as session:
        find = session.scalars(select(FindRow)).one()
        assert find.date == kept
        assert session.get_one(FindWords, find.id).date == kept


def test_an_import_is_there_whole_or_not_at_all(database: Database, reasoner: Reasoner) -> None:
    def broken() -> Any:
        yield one()
        raise OSError("the disk went away")

    with pytest.raises(OSError, match="went away"):
        import_occurrences(database, reasoner, broken(), None)
    with database.reading() as session:
        assert session.scalars(select(FindRow)).all() == session.scalars(select(StatedName)).all() == []


def test_nothing_that_comes_in_is_signed_or_released(database: Database, reasoner: Reasoner) -> None:
    take(
        database,
        reasoner,
        one(
            scientific_name="Flammulina velutipes",
            identified_by="Ada",
            identification_verification_status="signed with the specimen in hand",
        ),
    )
    with database.reading() as session:
        find = session.scalars(select(FindRow)).one()
        assert (find.standing, find.region, signatures_of(session, find.id)) == ("stated", None, [])


def test_waypoints_become_places_once(database: Database) -> None:
    points = [Waypoint("mill", Position(60.1, 24.9, 5.0)), Waypoint("", Position(60.2, 24.9))]
    with database.writing() as unit:
        assert [p.name for p in import_waypoints(unit, points, "europe-north")] == ["mill", "waypoint 2"]
        assert import_waypoints(unit, points, "europe-north") == []
        moved = [Waypoint("mill", Position(60.3, 24.9))]
        assert len(import_waypoints(unit, moved, None)) == 1
        assert replayed(unit.session) == present(unit.session)


def test_a_find_that_is_not_there_is_an_error_with_a_sentence(database: Database, reasoner: Reasoner) -> None:
    with database.reading() as session, pytest.raises(UnknownWordError, match="no such find"):
        list(occurrences(session, reasoner.here, ["none"]))
