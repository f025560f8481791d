"""The invented cluster of the demonstration as a find of the database: fruitbody a was looked at in full."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib import resources

from sqlalchemy import select

from trug.records.database import Database
from trug.records.documents import fruitbodies_of
from trug.records.gatherings import add_find, make_look, refresh
from trug.records.reasoning import Reasoner
from trug.records.signing import confirm_taxon, sign
from trug.records.tables import Person, PlaceRow, SignatureRow

VELVET = "flammulina-velutipes"
PLACE = "Hidden alder bank"
LAT, LON = 55.67641, 12.56832
NOTES = "left of the sluice at 55.67641, 12.56832"


@dataclass(frozen=True)
class Cluster:
    find: str
    a: str
    b: str
    ada: str
    bo: str


def make_cluster(database: Database, reasoner: Reasoner, *, looks: bool = True) -> Cluster:
    table = tomllib.loads((resources.files("trug.cli") / "cluster.toml").read_text())
    with database.writing() as unit:
        ada = unit.session.scalars(select(Person).where(Person.name == "Ada Moss")).one()
        bo = unit.make(Person(name="Bo Fern"))
        place = unit.make(PlaceRow(name=PLACE, lat=LAT, lon=LON, altitude_m=137.0, region="europe-north"))
    with database.writing(ada.id) as unit:
        find = add_find(unit, reasoner, date="2025-12-06", fruitbodies=2, stage="prime", place_id=place.id, notes=NOTES)
        a, b = (x.id for x in fruitbodies_of(unit.session, find.id))
        if looks:
            for body, seen in ((None, table["seen"]), (a, table["fruitbodies"][0]["seen"])):
                for code, answer in seen.items():
                    told = dict(answer) if isinstance(answer, dict) else {}
                    make_look(
                        unit,
                        reasoner,
                        find.id,
                        character=code,
                        answer={k: v for k, v in told.items() if k not in ("method", "sources")} or answer,
                        fruitbody_id=body,
                        method=told.get("method"),
                        sources=told.get("sources", ()),
                        then_refresh=False,
                    )
        refresh(unit, reasoner, find.id)
    return Cluster(find.id, a, b, ada.id, bo.id)


def sign_cluster(database: Database, reasoner: Reasoner, cluster: Cluster, *, confirmed: bool = True) -> SignatureRow:
    """Ada signs fruitbody a; Bo has confirmed that she knows the fungus, unless told otherwise."""
    with database.writing(cluster.ada) as unit:
        if confirmed:
            confirm_taxon(unit, reasoner, cluster.ada, VELVET, cluster.bo)
        return sign(
            unit, reasoner, cluster.find, taxon=VELVET, fruitbodies=[cluster.a], person_id=cluster.ada, in_hand=True
        )
