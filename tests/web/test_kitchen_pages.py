from __future__ import annotations

import re

import pytest
from cluster_find import Cluster, make_cluster, sign_cluster

from trug.records.database import Database
from trug.records.gatherings import make_look
from trug.records.kitchen import admission
from trug.records.reasoning import Reasoner
from trug.records.signing import sign
from trug.records.tables import Batch, FruitbodyRow


@pytest.fixture
def cluster(database: Database, reasoner: Reasoner) -> Cluster:
    return make_cluster(database, reasoner)


def words_of(page: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", page[page.index("<main") :]).split())


def test_an_unsigned_find_is_refused_with_every_reason(client, cluster):
    page = words_of(client.get(f"/finds/{cluster.find}/kitchen").text)
    assert page.count("Refused.") == 2
    assert page.count("No person has signed a name for it with the specimen in hand.") == 2
    assert re.search(r"\d+ harmful fungi are not ruled out", page)
    assert "Amanita phalloides" in page
    assert "Make a batch" not in page


def test_a_name_that_waits_is_refused(client, cluster, token, database, reasoner):
    sign_cluster(database, reasoner, cluster, confirmed=False)
    assert "waits for a second signer" in client.get(f"/finds/{cluster.find}/kitchen").text
    answer = client.post(f"/finds/{cluster.find}/kitchen", data={"csrf": token(client), "fruitbody": cluster.a})
    assert answer.status_code == 422
    with database.reading() as session:
        assert session.query(Batch).count() == 0


def test_a_harmful_name_is_refused_even_when_it_is_signed(client, cluster, token, database, reasoner):
    with database.writing(cluster.ada) as unit:
        for person in (cluster.ada, cluster.bo):
            sign(
                unit, reasoner, cluster.find, taxon="galerina-marginata", fruitbodies=[cluster.a],
                person_id=person, in_hand=True,
            )  # fmt: skip
    page = words_of(client.get(f"/finds/{cluster.find}/kitchen").text)
    assert "Galerina marginata is harmful: kills." in page
    assert "The looks fit Flammulina velutipes better." in page


def test_two_names_for_one_fruitbody_are_refused(client, cluster, database, reasoner):
    sign_cluster(database, reasoner, cluster)
    with database.writing(cluster.bo) as unit:
        sign(
            unit, reasoner, cluster.find, taxon="galerina-marginata", fruitbodies=[cluster.a],
            person_id=cluster.bo, in_hand=True,
        )  # fmt: skip
    assert "signed under two names" in client.get(f"/finds/{cluster.find}/kitchen").text


def test_what_may_pass_becomes_a_batch_with_its_conditions(client, cluster, token, database, reasoner):
    sign_cluster(database, reasoner, cluster)
    door = words_of(client.get(f"/finds/{cluster.find}/kitchen").text)
    assert "Meets the release rule under its signed name." in door
    assert "cook through" in door
    assert "Have the name confirmed by an experienced person" in door
    data = {"csrf": token(client), "fruitbody": cluster.a, "kind": "larder", "notes": "jar 3"}
    listed = client.post(f"/finds/{cluster.find}/kitchen", data=data)
    assert listed.url.path == "/kitchen"
    page = words_of(listed.text)
    assert "jar 3" in page
    assert "cook through" in page
    assert "signed by Ada Moss" in page
    again = client.post(f"/finds/{cluster.find}/kitchen", data=data)
    assert again.status_code == 422
    assert "in a batch already" in again.text
    with database.reading() as session:
        assert session.query(Batch).one().kind == "larder"


def test_a_later_doubt_flags_the_batch(client, cluster, token, database, reasoner):
    row = sign_cluster(database, reasoner, cluster)
    client.post(f"/finds/{cluster.find}/kitchen", data={"csrf": token(client), "fruitbody": cluster.a})
    assert "no longer stands" not in client.get("/kitchen").text
    warned = client.get(f"/signatures/{row.id}/withdraw").text
    assert "This will be flagged" in warned
    with database.writing(cluster.ada) as unit:
        make_look(unit, reasoner, cluster.find, character="ring", answer="narrow", fruitbody_id=cluster.a)
    page = words_of(client.get("/kitchen").text)
    assert "The name no longer stands. Do not use it" in page
    assert "It is in a batch" in client.get(f"/finds/{cluster.find}/kitchen").text


def test_the_page_refuses_exactly_when_the_records_do(client, cluster, database, reasoner):
    for step in ("open", "signed", "doubted"):
        if step == "signed":
            sign_cluster(database, reasoner, cluster)
        if step == "doubted":
            with database.writing(cluster.ada) as unit:
                make_look(unit, reasoner, cluster.find, character="ring", answer="narrow", fruitbody_id=cluster.a)
        with database.reading() as session:
            told = [admission(session, reasoner, session.get(FruitbodyRow, b)).allowed for b in (cluster.a, cluster.b)]
        page = client.get(f"/finds/{cluster.find}/kitchen").text
        assert page.count("<strong>Refused.</strong>") == told.count(False)


def test_a_fruitbody_of_another_find_is_not_taken_along(client, cluster, token, database, reasoner):
    sign_cluster(database, reasoner, cluster)
    with database.writing(cluster.ada) as unit:
        from trug.records.gatherings import add_find

        other = add_find(unit, reasoner, date="2025-12-07")
    data = {"csrf": token(client), "fruitbody": [cluster.a]}
    assert client.post(f"/finds/{other.id}/kitchen", data=data).status_code == 422
    with database.reading() as session:
        assert session.query(Batch).count() == 0


def test_no_page_about_the_kitchen_calls_anything_safe(client, cluster, token, database, reasoner):
    sign_cluster(database, reasoner, cluster)
    pages = [client.get(f"/finds/{cluster.find}/kitchen").text]
    pages.append(
        client.post(f"/finds/{cluster.find}/kitchen", data={"csrf": token(client), "fruitbody": cluster.a}).text
    )
    pages.append(client.get("/kitchen").text)
    for page in pages:
        assert not re.search(r"\b(safe|edible|harmless)\b", words_of(page), re.IGNORECASE)


def test_missing_and_empty_pages_answer(client):
    assert client.get("/finds/none/kitchen").status_code == 404
    assert "No batch yet" in client.get("/kitchen").text
