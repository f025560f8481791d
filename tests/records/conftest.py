"""A database of its own for each test; book, table and reasoner are shared by all of them."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from kept_finds import VELVET, gather, look_closely, person

from trug.loaded import loaded
from trug.records.database import Database
from trug.records.reasoning import Reasoner
from trug.records.signing import confirm_taxon, sign


@pytest.fixture(scope="session")
def reasoner() -> Reasoner:
    return Reasoner(loaded())


@pytest.fixture(scope="session")
def empty_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("empty") / "data"
    Database.open(folder).close()
    return folder


@pytest.fixture(scope="session")
def signed_folder(empty_folder: Path, reasoner: Reasoner, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Ada, whom Bea confirmed, has signed the name of a find; Stu is a student."""
    folder = tmp_path_factory.mktemp("signed") / "data"
    shutil.copytree(empty_folder, folder)
    database = Database.open(folder)
    with database.writing() as unit:
        ada, bea = person(unit, "Ada Moss"), person(unit, "Bea Fern")
        person(unit, "Stu Reed", "student")
        find, body = gather(unit, reasoner, ada)
        look_closely(unit, reasoner, find, body, ada)
        confirm_taxon(unit, reasoner, ada.id, VELVET, bea.id)
        sign(unit, reasoner, find.id, taxon=VELVET, fruitbodies=[body.id], person_id=ada.id, in_hand=True)
    database.close()
    return folder


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Callable[[Path], Database]]:
    """Open a copy of a data folder."""
    databases = []

    def copy_of(folder: Path) -> Database:
        target = tmp_path / f"data{len(databases) or ''}"
        shutil.copytree(folder, target)
        databases.append(Database.open(target))
        return databases[-1]

    yield copy_of
    for database in databases:
        database.close()


@pytest.fixture
def database(empty_folder: Path, opened: Callable[[Path], Database]) -> Database:
    return opened(empty_folder)


@pytest.fixture
def signed(signed_folder: Path, opened: Callable[[Path], Database]) -> SimpleNamespace:
    """A database with a signed find: ids of the people, the find, its fruitbody and the signature."""
    from sqlalchemy import select

    from trug.records.tables import FindRow, FruitbodyRow, Person, SignatureRow

    database = opened(signed_folder)
    with database.reading() as session:
        people = {p.name.split()[0].lower(): p.id for p in session.scalars(select(Person))}
        ids = {k.__tablename__: session.scalars(select(k.id)).one() for k in (FindRow, FruitbodyRow, SignatureRow)}
    return SimpleNamespace(
        database=database, find=ids["finds"], body=ids["fruitbodies"], signature=ids["signatures"], **people
    )
