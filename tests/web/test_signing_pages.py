from __future__ import annotations

import hashlib
import json
import re

import pytest
from cluster_find import LAT, VELVET, Cluster, make_cluster, sign_cluster
from fastapi.testclient import TestClient

from trug.records.database import Database
from trug.records.gatherings import make_look
from trug.records.reasoning import Reasoner
from trug.records.signing import signatures_of
from trug.records.tables import Person, SignatureRow


@pytest.fixture
def cluster(database: Database, reasoner: Reasoner) -> Cluster:
    return make_cluster(database, reasoner)


def form(cluster: Cluster, csrf: str, **fields: object) -> dict[str, object]:
    return {"csrf": csrf, "taxon": VELVET, "fruitbody": [cluster.a], "in_hand": "yes", **fields}


def test_names_of_the_looks_are_offered_and_a_misspelt_one_is_answered_by_near_ones(client, cluster):
    page = client.get(f"/finds/{cluster.find}/sign").text
    assert f"?name={VELVET}" in page
    assert '<option value="Galerina marginata">' in page
    missed = client.get(f"/finds/{cluster.find}/sign", params={"name": "Flamulina velutips"}).text
    assert f"?name={VELVET}" in missed
    assert "Did you mean" in missed
    unknown = client.get(f"/finds/{cluster.find}/sign", params={"name": "Qzxqzx"}).text
    assert "does not hold this name" in unknown


def test_before_signing_each_fruitbody_says_what_it_rests_on(client, cluster):
    page = client.get(f"/finds/{cluster.find}/sign", params={"name": "velvet shank"}).text
    assert "A second signer is needed" in page
    assert "It meets the release rule under this name" in page
    assert "was not looked at singly" in page
    wrong = client.get(f"/finds/{cluster.find}/sign", params={"name": "Galerina marginata"}).text
    assert "Galerina marginata is harmful: kills." in wrong
    assert "The looks fit" in wrong
    assert "safe" not in page.lower().replace("/static", "")


def test_a_name_is_signed_with_the_specimen_in_hand_alone(client, cluster, token, database):
    csrf = token(client)
    answer = client.post(f"/finds/{cluster.find}/sign", data=form(cluster, csrf, in_hand=""))
    assert answer.status_code == 422
    assert "specimen in hand" in answer.text
    assert "Sign Flammulina velutipes" in answer.text
    swapped = client.post(
        f"/finds/{cluster.find}/sign", data=form(cluster, csrf, in_hand=""), headers={"X-Trug-Swap": "1"}
    )
    assert swapped.status_code == 422
    assert "<html" not in swapped.text
    with database.reading() as session:
        assert signatures_of(session, cluster.find) == []


def test_a_signature_waits_for_a_second_signer_and_says_what_it_rests_on(client, cluster, token, database):
    answer = client.post(f"/finds/{cluster.find}/sign", data=form(cluster, token(client), note="cut lengthwise"))
    assert answer.status_code == 200
    assert answer.url.path.startswith("/signatures/")
    assert "Waits for a second signer" in answer.text
    assert "cut lengthwise" in answer.text
    with database.reading() as session:
        (row,) = signatures_of(session, cluster.find)
    assert f"/determinations/{row.determination_id}" in answer.text
    again = client.post(f"/finds/{cluster.find}/sign", data=form(cluster, token(client)))
    assert "signed this already" in again.text


def test_a_second_person_completes_the_name(client, cluster, token, database, reasoner):
    row = sign_cluster(database, reasoner, cluster, confirmed=False)
    page = client.get(f"/signatures/{row.id}").text
    assert "Waits for a second signer" in page
    assert "/people" in page
    with database.writing() as unit:  # Bo takes the device
        from trug.web.site import put_setting

        put_setting(unit.session, "owner", cluster.bo)
    assert "Sign as second signer: Bo Fern" in client.get(f"/signatures/{row.id}").text
    assert "yours is the second signature" in client.get(f"/finds/{cluster.find}/sign?name={VELVET}").text
    answer = client.post(f"/finds/{cluster.find}/sign", data=form(cluster, token(client)))
    assert "Waits for a second signer" not in answer.text
    assert "as second signer" in answer.text


def test_a_student_is_told_that_two_practised_people_are_needed(client, cluster, database, reasoner):
    sign_cluster(database, reasoner, cluster, confirmed=False)
    from trug.web.site import put_setting

    with database.writing() as unit:
        cy = unit.make(Person(name="Cy Reed", practice="student"))
        put_setting(unit.session, "owner", cy.id)
    assert "still waits for a second practised person" in client.get(f"/finds/{cluster.find}/sign?name={VELVET}").text


def test_a_withdrawal_needs_its_reason_and_keeps_it(client, cluster, token, database, reasoner):
    row = sign_cluster(database, reasoner, cluster)
    to = f"/signatures/{row.id}/withdraw"
    assert "will be" not in client.get(to).text
    assert client.post(to, data={"csrf": token(client), "why": " "}).status_code == 422
    answer = client.post(to, data={"csrf": token(client), "why": "a rusty print came overnight"})
    assert "a rusty print came overnight" in answer.text
    assert "has ended" in answer.text
    page = client.get(f"/finds/{cluster.find}/sign").text
    assert "Signatures that ended" in page
    assert "a rusty print came overnight" in page
    assert client.post(to, data={"csrf": token(client), "why": "again"}).status_code == 422


def test_a_new_look_ends_the_signature_and_the_page_says_why(client, cluster, database, reasoner):
    row = sign_cluster(database, reasoner, cluster)
    with database.writing(cluster.ada) as unit:
        make_look(unit, reasoner, cluster.find, character="cap_width", answer="50 mm", fruitbody_id=cluster.a)
    assert "cap width was looked at anew" in client.get(f"/signatures/{row.id}").text


def test_determinations_are_kept_as_made_and_told_superseded(client, cluster, token, database, reasoner):
    first = sign_cluster(database, reasoner, cluster, confirmed=False)
    with database.writing(cluster.ada) as unit:
        make_look(unit, reasoner, cluster.find, character="cap_width", answer="50 mm", fruitbody_id=cluster.a)
    client.post(f"/finds/{cluster.find}/sign", data=form(cluster, token(client)))
    page = client.get(f"/finds/{cluster.find}/determinations").text
    assert page.count("Superseded by a later one.") == 1
    old = client.get(f"/determinations/{first.determination_id}").text
    assert "See the later one" in old
    assert "Flammulina velutipes" in old
    with database.reading() as session:
        (live,) = signatures_of(session, cluster.find)
    assert "Superseded" not in client.get(f"/determinations/{live.determination_id}").text


def test_the_downloaded_record_is_the_stored_one_and_holds_no_place(client, cluster, database, reasoner):
    row = sign_cluster(database, reasoner, cluster)
    answer = client.get(f"/determinations/{row.determination_id}.json")
    assert answer.headers["content-type"] == "application/json"
    assert hashlib.sha256(answer.content).hexdigest() == row.determination_id
    record = json.loads(answer.content)
    assert record["format"] == "trug.determination/1"
    assert not re.search(rf"{LAT}|12\.568|[Hh]idden alder|sluice", answer.text)


@pytest.mark.parametrize(
    "path", ["/finds/none/sign", "/signatures/none", "/signatures/none/withdraw", "/determinations/none",
             "/determinations/none.json", "/finds/none/determinations"],
)  # fmt: skip
def test_what_is_missing_answers_404(client: TestClient, path):
    assert client.get(path).status_code == 404


def test_nothing_is_signed_without_the_token_of_the_form(client, cluster, database):
    assert client.post(f"/finds/{cluster.find}/sign", data=form(cluster, "")).status_code == 403
    with database.reading() as session:
        assert session.query(SignatureRow).count() == 0
