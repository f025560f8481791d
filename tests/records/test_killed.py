"""A writer that is killed at any moment leaves every find, look and photo that it had told of, and nothing half."""

from __future__ import annotations

import json
import os
import random
import signal
import time
from pathlib import Path

import pytest
from kept_finds import gather, photo, present, replayed, sound
from sqlalchemy import select

from trug.records.database import Database
from trug.records.gatherings import make_look
from trug.records.pictures import add_photo
from trug.records.reasoning import Reasoner
from trug.records.tables import FindRow, FindWords, FruitbodyRow, LookRow, PhotoRow

ROUNDS = 30
pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")


def write_on(folder: Path, reasoner: Reasoner, pipe: int, first: int) -> None:
    """Write without end, and tell of everything that is on the disk."""
    database = Database.open(folder)
    for n in range(first, first + 100_000):
        with database.writing() as unit:
            find, body = gather(unit, reasoner, notes=f"find {n}")
        os.write(pipe, (json.dumps(["find", find.id, f"find {n}"]) + "\n").encode())
        with database.writing() as unit:
            looks = [
                make_look(
                    unit,
                    reasoner,
                    find.id,
                    character=character,
                    answer=answer,
                    fruitbody_id=body.id,
                    then_refresh=n % 16 == 15,
                )
                for character, answer in (("cap_width", 20.0 + n % 50), ("ring", "absent"), ("ring", "skirt"))
            ]
        told = [["look", look.id, look.evidence] for look in looks]
        os.write(pipe, "".join(json.dumps(line) + "\n" for line in told).encode())
        with database.writing() as unit:
            row = add_photo(database, unit, find.id, photo(n))
        os.write(pipe, (json.dumps(["photo", row.id, row.sha256]) + "\n").encode())


def killed(folder: Path, reasoner: Reasoner, first: int, lines: int, seconds: float) -> list[list[object]]:
    """Let a child write until it has told so much, and a moment longer; kill it, and return all that it had told."""
    out, into = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(out)
        try:
            write_on(folder, reasoner, into, first)
        finally:
            os._exit(1)
    os.close(into)
    with os.fdopen(out, "rb") as pipe:
        head = b"".join(pipe.readline() for _ in range(lines))
        time.sleep(seconds)
        os.kill(child, signal.SIGKILL)
        rest = pipe.read()
    assert os.waitpid(child, 0)[1] == signal.SIGKILL
    whole = (head + rest).decode().split("\n")[:-1]
    return [json.loads(line) for line in whole]


def test_what_was_told_survives_the_death_of_the_writer(database: Database, reasoner: Reasoner) -> None:
    folder = Path(str(database.engine.url.database)).parent
    database.close()
    rng = random.Random(7)
    told: list[list[object]] = []
    for n in range(ROUNDS):
        told += killed(folder, reasoner, 1000 * n, rng.choice([1, 2, 5, 9, 20, 90]), 0.03 * rng.random())

        reopened = Database.open(folder)
        assert sound(reopened) == []
        with reopened.reading() as session:
            assert replayed(session) == present(session)
            finds = {f.id: f.notes for f in session.scalars(select(FindRow))}
            looks = {k.id: k.evidence for k in session.scalars(select(LookRow))}
            photos = {p.id: p.sha256 for p in session.scalars(select(PhotoRow))}
            bodies = {b.find_id for b in session.scalars(select(FruitbodyRow))}
            words = set(session.scalars(select(FindWords.find_id)))
        kept = {"find": finds, "look": looks, "photo": photos}
        assert all(kept[str(what)].get(str(row_id)) == value for what, row_id, value in told)
        assert bodies == words == set(finds)  # a find is there with its fruitbody and its words, or not at all
        stored = reopened.photos.verify(photos.values())
        assert stored.missing == stored.damaged == ()
        reopened.close()
    assert len(told) > 10 * ROUNDS
    assert {what for what, _, _ in told} == {"find", "look", "photo"}


def test_a_folder_whose_making_was_cut_short_is_made_whole_when_opened_again(tmp_path: Path) -> None:
    for n in range(8):
        folder = tmp_path / str(n)
        child = os.fork()
        if child == 0:
            try:
                Database.open(folder)
            finally:
                time.sleep(60)
                os._exit(1)
        while not folder.exists():
            time.sleep(0.001)
        time.sleep(0.02 * n)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)

        database = Database.open(folder)
        assert sound(database) == []
        assert database.device
        database.close()
