"""The invented season: what it holds, that it keeps the rules, and that it says what it is."""

from __future__ import annotations

import datetime
import io
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest
from PIL import Image
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.demo import season as season_module
from trug.demo.pictures import LABEL
from trug.demo.scenario import INVENTED, day_in_season, scenario
from trug.demo.season import Filled, fill
from trug.errors import InputError
from trug.loaded import loaded
from trug.records.bin import deleted_things
from trug.records.database import Database
from trug.records.packets import Content
from trug.records.reasoning import Reasoner
from trug.records.signing import cover_of
from trug.records.tables import (
    Batch,
    BatchPart,
    Class,
    ClassMember,
    Confirmation,
    ExpertReply,
    FindRow,
    FruitbodyRow,
    LookRow,
    Person,
    PhotoRow,
    PlaceRow,
    Recorded,
    Setting,
    SignatureRow,
    SporePrint,
)
from trug.web.outlines import outlines

TODAY = datetime.date(2026, 11, 20)
#: Keys and taxa of a season small enough to be filled in twice.
SHORT = ("sarcoscypha-coccinea", "chroogomphus-rutilus", "hypholoma-fasciculare")


def plain(content: Content, _secret: str) -> str:
    return f"<!doctype html><title>{content.packet}</title>"


@pytest.fixture(scope="module")
def reasoner() -> Reasoner:
    return Reasoner(loaded())


@pytest.fixture(scope="module")
def told() -> list[tuple[int, int]]:
    return []


@pytest.fixture(scope="module")
def filled(
    tmp_path_factory: pytest.TempPathFactory, reasoner: Reasoner, told: list[tuple[int, int]]
) -> Iterator[tuple[Database, Filled]]:
    database = Database.open(tmp_path_factory.mktemp("season"))
    counts = fill(database, reasoner, today=TODAY, render=plain, progress=lambda *step: told.append(step))
    yield database, counts
    database.close()


@pytest.fixture
def session(filled: tuple[Database, Filled]) -> Iterator[Session]:
    with filled[0].reading() as session:
        yield session


@pytest.fixture
def short(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = scenario()
    finds = tuple(f for f in whole.finds if f.taxon in SHORT)
    brief = msgspec.structs.replace(whole, finds=finds)
    monkeypatch.setattr(season_module, "scenario", lambda: brief)


def standing(session: Session, kind: type[Any]) -> list[Any]:
    return list(session.scalars(select(kind).where(kind.deleted_at.is_(None))))


def test_a_whole_season_is_filled_in(filled: tuple[Database, Filled], session: Session) -> None:
    counts = filled[1]
    assert (counts.people, counts.places) == (7, 8)
    assert 55 <= counts.finds <= 65
    assert counts.photos >= 2 * counts.finds
    assert len(standing(session, Class)) == 2
    assert len(standing(session, ClassMember)) == 10  # 4 and 6, teachers too
    taxa = {f.taxon for f in scenario().finds} - {""}
    harmful = {t for t in taxa if loaded().book.treatments[t].harm is not None}
    assert len(taxa) >= 20
    assert len(harmful) >= 10
    assert any(loaded().book.treatments[t].use is not None for t in taxa)


def test_every_standing_of_a_find_is_shown(session: Session) -> None:
    kinds = Counter(f.standing for f in standing(session, FindRow))
    assert set(kinds) == {"unnamed", "proposed", "stated", "waits", "signed", "doubted"}
    assert kinds["signed"] >= 5


def test_finds_lie_in_the_year_before_the_day_of_looking_back(session: Session) -> None:
    days = sorted(datetime.date.fromisoformat(f.date) for f in standing(session, FindRow))
    assert days[0] >= TODAY - datetime.timedelta(days=366)
    assert days[-1] == TODAY - datetime.timedelta(days=1)
    assert {d.month for d in days} == set(range(3, 13))


def test_nothing_was_made_after_the_day_of_looking_back(session: Session) -> None:
    for kind in (FindRow, LookRow, PhotoRow, SporePrint, Batch, SignatureRow, ExpertReply):
        assert max(row.created_at for row in session.scalars(select(kind))) < TODAY.isoformat()


def test_no_batch_was_made_without_a_release(session: Session) -> None:
    batches = standing(session, Batch)
    assert len(batches) >= 5
    assert {b.kind for b in batches} == {"larder", "stillroom"}
    for part in standing(session, BatchPart):
        signature = session.get_one(SignatureRow, part.signature_id)
        assert part.fruitbody_id in signature.released
        batch = session.get_one(Batch, part.batch_id)
        cover = cover_of(session, signature.find_id, part.fruitbody_id)
        assert batch.flagged_at is not None or (cover is not None and cover.released)


def test_the_kitchen_also_refuses(filled: tuple[Database, Filled], session: Session) -> None:
    assert filled[1].refused
    numbers = {f.number: f for f in standing(session, FindRow)}
    for number in filled[1].refused:
        bodies = select(FruitbodyRow.id).where(FruitbodyRow.find_id == numbers[number].id)
        assert not session.scalars(select(BatchPart).where(BatchPart.fruitbody_id.in_(bodies))).all()


def test_a_withdrawn_name_flags_its_batch(session: Session) -> None:
    (flagged,) = [b for b in standing(session, Batch) if b.flagged_at]
    part = session.scalars(select(BatchPart).where(BatchPart.batch_id == flagged.id)).one()
    assert session.get_one(SignatureRow, part.signature_id).voided_why.startswith("withdrawn: ")


def test_nobody_signs_alone_what_nobody_confirmed(session: Session) -> None:
    confirmed = {(c.person_id, c.taxon) for c in standing(session, Confirmation)}
    for signature in standing(session, SignatureRow):
        find = session.get_one(FindRow, signature.find_id)
        if find.standing == "signed":
            others = standing(session, SignatureRow)
            signers = {s.person_id for s in others if s.find_id == find.id and s.voided_at is None}
            assert len(signers) > 1 or (signature.person_id, signature.taxon) in confirmed


def test_looks_differ_in_the_ways_that_pages_must_show(session: Session, reasoner: Reasoner) -> None:
    looks = standing(session, LookRow)
    assert {k.sure for k in looks} == {"sure", "fairly", "unsure"}
    assert any(k.blind for k in looks)
    assert {k.evidence["states"][0] for k in looks if k.character == "egg_section"} == {"outline", "jelly-outline"}
    bodies = {b.stage for b in standing(session, FruitbodyRow)}
    assert bodies == {"egg", "button", "young", "prime", "past"}
    disputed = next(f for f in standing(session, FindRow) if "do not agree" in f.notes)
    _, record = reasoner.of(session, disputed.id)
    assert record.fruitbodies[0].conflicts


def test_the_mixed_basket_gets_two_names(session: Session) -> None:
    names = [f.name for f in standing(session, FindRow)]
    assert any("Kuehneromyces" in n and "Galerina" in n for n in names)


def test_the_stranger_is_not_named_and_an_expert_answers_under_seal(session: Session) -> None:
    reply = session.scalars(select(ExpertReply)).one()
    assert reply.sealed
    bodies = session.scalars(select(FruitbodyRow).where(FruitbodyRow.find_id == reply.find_id))
    assert {b.proposed for b in bodies} == {"not named"}


def test_prints_name_their_deposit_and_some_their_keeping_place(session: Session) -> None:
    prints = standing(session, SporePrint)
    assert {p.deposit for p in prints} == {"thin", "thick"}
    assert any(p.kept_at for p in prints)
    assert any(p.photo_id for p in prints)
    assert any(f.fungarium and f.voucher_at for f in standing(session, FindRow))


def test_two_things_lie_in_the_bin(session: Session) -> None:
    assert sorted(d.what for d in deleted_things(session)) == ["find", "photo"]


def test_everything_says_that_it_is_invented(session: Session) -> None:
    assert session.scalar(select(Setting.value).where(Setting.key == "demonstration")) is True
    kinds: tuple[type[Recorded], ...] = (Person, PlaceRow, Class, FindRow, Batch, SporePrint)
    for kind in kinds:
        for row in session.scalars(select(kind)):
            assert INVENTED in row.notes  # type: ignore[attr-defined]


def test_every_photo_carries_the_band_that_says_so(filled: tuple[Database, Filled], session: Session) -> None:
    for photo in session.scalars(select(PhotoRow)):
        image = Image.open(io.BytesIO(filled[0].photos.open(photo.sha256)))
        assert image.getexif()[0x010E] == LABEL
        corner = np.asarray(
            image.convert("L").crop((image.width - 60, image.height - 36, image.width - 14, image.height - 14))
        )
        assert np.median(corner) > 220  # the paper of the band
        assert corner.min() < 140  # its writing


def test_photos_show_two_to_four_views_of_each_find(session: Session) -> None:
    shown = Counter(session.scalars(select(PhotoRow.find_id)))
    finds = set(session.scalars(select(FindRow.id)))
    assert set(shown) == finds
    assert all(2 <= n <= 4 for n in shown.values())


def test_season_and_photos_stay_small(filled: tuple[Database, Filled]) -> None:
    folder: Path = filled[0].photos.folder.parent
    assert sum(f.stat().st_size for f in folder.rglob("*") if f.is_file() and not f.name.endswith("-wal")) < 15_000_000


def test_places_and_finds_lie_on_land(session: Session) -> None:
    """Against the shore lines and lakes of GSHHG (Wessel and Smith 1996, doi:10.1029/96JB00104), true to about 1 km."""
    land = outlines("gshhs", "i")
    assert land is not None
    spots = [(row.lon, row.lat) for kind in (PlaceRow, FindRow) for row in standing(session, kind)]
    west, south, east, north = land.box.T
    for x, y in spots:
        around = np.flatnonzero((west <= x) & (x <= east) & (south <= y) & (y <= north))
        levels = {int(land.level[n]) for n in around if _inside((x, y), land.line(int(n)))}
        assert levels == {1}, (x, y)


def _inside(spot: tuple[float, float], ring: np.ndarray[Any, Any]) -> bool:
    """Whether a ray from a point towards the east crosses a ring an odd number of times."""
    x, y = spot
    ax, ay = ring.T
    bx, by = np.roll(ring, -1, axis=0).T
    across = (ay > y) != (by > y)
    at = ax[across] + (y - ay[across]) / (by[across] - ay[across]) * (bx[across] - ax[across])
    return bool(np.count_nonzero(at > x) % 2)


def test_people_bear_names_of_plants_and_of_no_author(session: Session) -> None:
    authors = " ".join(s.authors for s in loaded().book.sources.values())
    written = set(re.findall(r"\w{4,}", authors.lower()))
    for person in standing(session, Person):
        first, last = person.name.lower().split()
        assert first in {"tansy", "corin", "juniper", "linden", "sorrel", "bramble", "yarrow"}
        assert last not in written
        assert not person.contact or person.contact.endswith("@example.org")  # RFC 2606, section 3


def test_progress_counts_every_find_once(filled: tuple[Database, Filled], told: list[tuple[int, int]]) -> None:
    whole = len(scenario().finds)
    assert told == [(n, whole) for n in range(1, whole + 1)]


def test_records_that_are_there_already_are_left_alone(filled: tuple[Database, Filled], reasoner: Reasoner) -> None:
    with pytest.raises(InputError, match="there are records here already"):
        fill(filled[0], reasoner, today=TODAY)
    with filled[0].reading() as session:
        assert len(standing(session, Person)) == 7


def contents(database: Database) -> list[Any]:
    """Return what does not depend on identifiers."""
    with database.reading() as session:
        people = {p.id: p.name for p in session.scalars(select(Person))}
        finds = session.scalars(select(FindRow).order_by(FindRow.number)).all()
        looks = session.scalars(select(LookRow).order_by(LookRow.id)).all()
        photos = sorted(session.scalars(select(PhotoRow.sha256)))
        batches = [(b.name, b.made_on, b.conditions, b.flagged_at) for b in session.scalars(select(Batch))]
        return [
            [(f.number, f.date, f.name, f.standing, f.lat, f.lon, f.created_at) for f in finds],
            [(k.character, k.evidence, k.sure, people[k.observer_id or ""], k.created_at) for k in looks],
            photos,
            batches,
        ]


@pytest.mark.usefixtures("short")
def test_the_same_seed_and_day_give_the_same_season(tmp_path: Path, reasoner: Reasoner) -> None:
    made = []
    for name, seed in (("a", 1), ("b", 1), ("c", 2)):
        database = Database.open(tmp_path / name)
        fill(database, reasoner, today=TODAY, seed=seed)
        made.append(contents(database))
        database.close()
    assert made[0] == made[1]
    assert made[0] != made[2]


@pytest.mark.usefixtures("short")
def test_a_failure_leaves_nothing_behind(tmp_path: Path, reasoner: Reasoner) -> None:
    database = Database.open(tmp_path)

    def stop(done: int, whole: int) -> None:
        if done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fill(database, reasoner, today=TODAY, progress=stop)
    with database.reading() as session:
        assert not session.scalars(select(Person)).all()
        assert not session.scalars(select(FindRow)).all()
    database.close()


@pytest.mark.parametrize(
    ("day", "today", "last"),
    [
        ("10-04", "2026-10-05", "2026-10-04"),
        ("10-04", "2026-10-04", "2025-10-04"),
        ("12-06", "2026-03-01", "2025-12-06"),
    ],
)
def test_a_day_of_the_season_is_the_last_one_before_today(day: str, today: str, last: str) -> None:
    assert day_in_season(day, datetime.date.fromisoformat(today)) == datetime.date.fromisoformat(last)
