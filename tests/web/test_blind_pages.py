from __future__ import annotations

import re

import pytest
from cluster_find import NOTES, PLACE, Cluster, make_cluster, sign_cluster
from fastapi.testclient import TestClient

from trug.records.database import Database
from trug.records.documents import looks_of
from trug.records.gatherings import make_look, state_name
from trug.records.reasoning import Reasoner
from trug.web.pages.blind import questions
from trug.web.site import Site
from trug.web.telling import told


@pytest.fixture
def cluster(database: Database, reasoner: Reasoner) -> Cluster:
    made = make_cluster(database, reasoner)
    with database.writing(made.ada) as unit:
        state_name(unit, reasoner, made.find, "Galerina marginata", stated_by="Ada Moss")
    return made


def begin(client: TestClient, cluster: Cluster, csrf: str) -> str:
    answer = client.post(f"/finds/{cluster.find}/blind", data={"csrf": csrf, "person": cluster.bo})
    assert answer.status_code == 200
    return answer.text


def asked_in(page: str) -> str:
    return re.search(r'name="asked" value="([^"]+)"', page)[1]


def main_of(page: str) -> str:
    return page[page.index("<main") :]


def test_whoever_looked_first_is_not_offered(client, cluster):
    page = main_of(client.get(f"/finds/{cluster.find}/blind").text)
    assert "Bo Fern" in page
    assert cluster.ada not in page


def test_whoever_signed_is_refused(client, cluster, token, database, reasoner):
    sign_cluster(database, reasoner, cluster)
    answer = client.post(f"/finds/{cluster.find}/blind", data={"csrf": token(client), "person": cluster.ada})
    assert answer.status_code == 422
    assert client.get(f"/finds/{cluster.find}/blind/{cluster.ada}").url.path == f"/finds/{cluster.find}/blind"


def test_no_page_of_the_questions_tells_what_is_known(client, cluster, token, site: Site, database):
    """The same pages come, byte for byte, whatever the first answers, names, notes and place are."""
    csrf = token(client)
    characters = site.here.vocabulary.characters
    with database.reading() as session:
        firsts = looks_of(session, cluster.find)
        asked = questions(session, site, cluster.find)
    assert {"spore_print", "volva"} <= {q.character.code for q in asked}
    measured = {k.character: told(k.evidence, characters[k.character]) for k in firsts if "measurement" in k.evidence}
    page = begin(client, cluster, csrf)
    for n, q in enumerate(asked):
        assert asked_in(page) == q.key
        body = main_of(page)
        assert f"question {n + 1} of {len(asked)}" in body
        for secret in (PLACE, NOTES, "sluice", "Ada Moss", "Galerina", "Flammulina", "velvet shank", "ruled out"):
            assert secret not in page, secret
        assert measured.get(q.character.code, "no such thing") not in body
        ticked = re.findall(r'<input type="(?:checkbox|radio)"[^>]*checked', body)
        assert ticked == ['<input type="radio" name="sure" value="sure" checked']
        states = re.findall(r'name="answer" value="([^"]+)"', body)
        assert states == ([] if q.character.measured else list(q.character.codes))
        page = client.post(
            f"/finds/{cluster.find}/blind/{cluster.bo}", data={"csrf": csrf, "asked": q.key, "do": "pass"}
        ).text
    assert "Every question was put" in page


def test_questions_do_not_depend_on_what_was_answered_first(client, database, reasoner, site: Site):
    """Two finds that differ in the answers alone get the same pages but for their number and id."""
    first = make_cluster(database, reasoner)
    with database.writing(first.ada) as unit:
        make_look(unit, reasoner, first.find, character="ring", answer="absent", fruitbody_id=first.a)
    before = client.get(f"/finds/{first.find}/blind/{first.bo}").text
    with database.writing(first.ada) as unit:
        make_look(unit, reasoner, first.find, character="ring", answer="narrow", fruitbody_id=first.a)
    assert client.get(f"/finds/{first.find}/blind/{first.bo}").text == before


def test_what_was_said_for_another_page_does_not_show_among_the_questions(client, cluster, token, database):
    csrf = token(client)
    client.post(
        f"/finds/{cluster.find}/sign",
        data={"csrf": csrf, "taxon": "galerina-marginata", "fruitbody": [cluster.a], "in_hand": "yes"},
        follow_redirects=False,
    )
    page = client.get(f"/finds/{cluster.find}/blind/{cluster.bo}").text
    assert "Galerina" not in page
    assert "Galerina" not in client.get(f"/finds/{cluster.find}/blind").text


def test_a_blind_answer_is_kept_with_its_observer_and_compared_at_the_end(client, cluster, token, database):
    csrf = token(client)
    to = f"/finds/{cluster.find}/blind/{cluster.bo}"
    begin(client, cluster, csrf)
    early = client.get(f"{to}/beside")
    assert early.url.path == to
    for code, answer in (("hymenophore", "gills"), ("ring", "narrow"), ("spore_print", ["white", "cream"])):
        data = {"csrf": csrf, "asked": f"a.{code}", "answer": answer, "sure": "sure", "do": "answer"}
        assert client.post(to, data=data).status_code == 200
    with database.reading() as session:
        mine = [k for k in looks_of(session, cluster.find) if k.blind]
    assert {k.character for k in mine} == {"hymenophore", "ring", "spore_print"}
    assert {k.observer_id for k in mine} == {cluster.bo}
    end = client.post(to, data={"csrf": csrf, "do": "end"})
    assert end.url.path == f"{to}/beside"
    page = main_of(end.text)
    assert "One look differs. Neither answer counts until one of them is corrected" in page
    assert page.count("<strong>Agreed</strong>") == 1
    assert page.count("Agreed in part") == 1
    assert page.count("Differs: neither counts") == 1
    assert "Ada Moss" in page


def test_after_the_comparison_nothing_more_is_blind(client, cluster, token, database):
    csrf = token(client)
    to = f"/finds/{cluster.find}/blind/{cluster.bo}"
    begin(client, cluster, csrf)
    client.post(to, data={"csrf": csrf, "do": "end"})
    client.post(to, data={"csrf": csrf, "asked": "a.ring", "answer": "absent", "do": "answer"})
    assert client.get(to).url.path == f"{to}/beside"
    with database.reading() as session:
        assert not any(k.blind for k in looks_of(session, cluster.find))


def test_an_empty_answer_is_asked_for_again_and_an_answer_counts_once(client, cluster, token, database):
    csrf = token(client)
    to = f"/finds/{cluster.find}/blind/{cluster.bo}"
    begin(client, cluster, csrf)
    empty = client.post(to, data={"csrf": csrf, "asked": "a.ring", "do": "answer"})
    assert empty.status_code == 422
    assert "Choose what you see" in empty.text
    for answer in ("absent", "narrow"):
        client.post(to, data={"csrf": csrf, "asked": "a.ring", "answer": answer, "do": "answer"})
    with database.reading() as session:
        (mine,) = [k for k in looks_of(session, cluster.find) if k.blind]
    assert mine.evidence["states"] == ["absent"]


def test_whoever_makes_an_open_look_meanwhile_is_no_longer_blind(client, cluster, token, database, reasoner):
    csrf = token(client)
    to = f"/finds/{cluster.find}/blind/{cluster.bo}"
    begin(client, cluster, csrf)
    client.post(to, data={"csrf": csrf, "asked": "a.ring", "answer": "absent", "do": "answer"})
    with database.writing(cluster.bo) as unit:
        make_look(unit, reasoner, cluster.find, character="smell", answer="mushroom", fruitbody_id=cluster.a)
    assert "no longer blind" in client.get(to).text
    page = client.post(to, data={"csrf": csrf, "do": "end"})
    assert page.url.path == f"{to}/beside"
    assert "Agreed" in page.text


@pytest.mark.parametrize("path", ["/finds/none/blind", "/finds/none/blind/none", "/finds/none/blind/none/beside"])
def test_what_is_missing_answers_404(client, path):
    assert client.get(path).status_code == 404
