from __future__ import annotations

import re

import pytest
from cluster_find import LAT, LON, PLACE, Cluster, make_cluster, sign_cluster

from trug.records.database import Database
from trug.records.gatherings import correct_find, make_print, state_name
from trug.records.reasoning import Reasoner
from trug.records.signing import signatures_of
from trug.records.tables import FindRow


@pytest.fixture
def cluster(database: Database, reasoner: Reasoner) -> Cluster:
    return make_cluster(database, reasoner)


def labels(page: str) -> list[str]:
    """The text of each label."""
    found = re.findall(r'<article class="voucher".*?</article>', page, re.DOTALL)
    return [" ".join(re.sub(r"<svg.*?</svg>|<[^>]+>", " ", x, flags=re.DOTALL).split()) for x in found]


def test_each_fruitbody_has_its_label_with_what_a_voucher_needs(client, cluster, database, reasoner):
    sign_cluster(database, reasoner, cluster)
    with database.writing(cluster.ada) as unit:
        make_print(unit, reasoner, cluster.b, colour="white")
        correct_find(unit, reasoner, cluster.find, fungarium="XY 1234", voucher_at="box 7")
    first, second = labels(client.get(f"/finds/{cluster.find}/label").text)
    day = re.search(r"det\. Ada Moss, \d{4}-\d\d-\d\d", first)
    assert day, first
    assert "Flammulina velutipes (Curtis) Singer" in first
    for piece in ("XY 1234", "box 7", "willow", PLACE, "55.7, 12.6", "generalised", "100–200 m", "Ada Moss"):
        assert piece in first, piece
    assert "2025-12-06" in first
    assert "Print white" in second
    assert "det." not in second


def test_the_exact_place_stands_there_only_by_the_flag(client, cluster):
    page = client.get(f"/finds/{cluster.find}/label").text
    assert not re.search(r"55\.67|12\.56|137", re.sub(r"[0-9a-f-]{36}", "", page))
    assert "for the fungarium that keeps the voucher" in page
    for other in ("no", "1", "YES"):
        assert str(LAT) not in client.get(f"/finds/{cluster.find}/label?exact={other}").text
    exact = client.get(f"/finds/{cluster.find}/label?exact=yes").text
    assert f"{LAT}, {LON}" in labels(exact)[0]
    assert "137 m" in labels(exact)[0]
    assert "Do not pass them on" in exact


def test_an_unsigned_name_is_said_to_be_unsigned(client, cluster, database, reasoner):
    first, second = labels(client.get(f"/finds/{cluster.find}/label").text)
    assert "by the looks, not signed" in first
    assert "not named" in second
    with database.writing(cluster.ada) as unit:
        state_name(unit, reasoner, cluster.find, "Flammulina velutipes", stated_by="Dr. Cap")
    second = labels(client.get(f"/finds/{cluster.find}/label").text)[1]
    assert "stated by Dr. Cap, not signed" in second


def test_a_name_that_waits_says_so(client, cluster, database, reasoner):
    sign_cluster(database, reasoner, cluster, confirmed=False)
    assert "waits for a second signer" in labels(client.get(f"/finds/{cluster.find}/label").text)[0]


def test_number_and_keeping_place_are_written_without_ending_a_signature(client, cluster, token, database, reasoner):
    sign_cluster(database, reasoner, cluster)
    data = {"csrf": token(client), "fungarium": "XY 77", "voucher_at": "shoebox <4>"}
    page = client.post(f"/finds/{cluster.find}/label", data=data).text
    assert "XY 77" in labels(page)[0]
    assert "shoebox &lt;4&gt;" in labels(page)[0]
    with database.reading() as session:
        assert session.get(FindRow, cluster.find).voucher_at == "shoebox <4>"
        assert len(signatures_of(session, cluster.find)) == 1


def test_the_code_reads_as_the_id_of_the_find(client, cluster):
    """Checked with OpenCV's reader, which is not ours."""
    cv2 = pytest.importorskip("cv2")
    np = pytest.importorskip("numpy")
    page = client.get(f"/finds/{cluster.find}/label").text
    svg = re.search(r'<svg[^>]*class="qr".*?</svg>', page, re.DOTALL)[0]
    assert "style=" not in svg
    size = int(re.search(r'viewBox="0 0 (\d+) ', svg)[1])
    pixels = np.full((size + 8, size + 8), 255, dtype=np.uint8)
    x, y = 0.0, 0.0
    for command, numbers in re.findall(r"([Mmh])([-\d. ]+)", re.search(r' d="([^"]+)"', svg)[1]):
        told = [float(n) for n in re.findall(r"-?\d*\.?\d+", numbers)]
        if command == "h":
            pixels[int(y) + 4, int(x) + 4 : int(x + told[0]) + 4] = 0
            x += told[0]
        elif command == "M":
            x, y = told
        else:
            x, y = x + told[0], y + told[1]
    big = np.kron(pixels, np.ones((8, 8), dtype=np.uint8))
    assert cv2.QRCodeDetector().detectAndDecode(big)[0] == cluster.find


def test_long_texts_are_cut_and_said_to_be(client, cluster, database, reasoner):
    with database.writing(cluster.ada) as unit:
        correct_find(unit, reasoner, cluster.find, notes="moss " * 80)
    page = client.get(f"/finds/{cluster.find}/label").text
    assert "too long for the label" in page
    assert "…" in labels(page)[0]


def test_a_missing_find_answers_404(client):
    assert client.get("/finds/none/label").status_code == 404
