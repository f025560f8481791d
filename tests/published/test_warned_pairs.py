"""Confusions that courses and poison centres warn of, against the list that follows from the treatments.

SOURCE: common practice; pairs that every course on edible fungi of these regions names. The list is computed, so
what is checked is that nobody's account hides a known danger.
"""

from __future__ import annotations

import pytest

from trug.determine.confusions import Confusions
from trug.determine.table import Table

WARNED = [
    ("kuehneromyces-mutabilis", "galerina-marginata"),
    ("flammulina-velutipes", "galerina-marginata"),
    ("agaricus-campestris", "agaricus-xanthodermus"),
    ("amanita-rubescens", "amanita-pantherina"),
    ("amanita-caesarea", "amanita-muscaria"),
    ("marasmius-oreades", "clitocybe-rivulosa"),
    ("clitopilus-prunulus", "clitocybe-rivulosa"),
    ("calocybe-gambosa", "entoloma-sinuatum"),
    ("pleurotus-ostreatus", "pleurocybella-porrigens"),
    ("hypholoma-capnoides", "hypholoma-fasciculare"),
    ("boletus-edulis", "tylopilus-felleus"),
    ("boletus-edulis", "boletus-huronensis"),
    ("macrolepiota-procera", "chlorophyllum-molybdites"),
    ("chlorophyllum-rhacodes", "chlorophyllum-molybdites"),
    ("morchella-esculenta", "verpa-bohemica"),
    ("tricholoma-portentosum", "tricholoma-virgatum"),
    ("tricholoma-terreum", "tricholoma-pardinum"),
    ("lactarius-deliciosus", "lactarius-torminosus"),
    ("infundibulicybe-gibba", "paralepistopsis-amoenolens"),
    ("cantharellus-cibarius", "hygrophoropsis-aurantiaca"),
    ("calvatia-gigantea", "scleroderma-citrinum"),
    ("ramaria-botrytis", "ramaria-formosa"),
    ("amanita-vaginata", "amanita-phalloides"),
    ("leucoagaricus-leucothites", "amanita-verna"),
]


@pytest.fixture(scope="module")
def found(table: Table) -> Confusions:
    return Confusions(table)


@pytest.mark.parametrize(("one", "other"), WARNED)
def test_what_the_trade_warns_of_is_listed(found: Confusions, one: str, other: str) -> None:
    """One of the two lists the other."""
    assert other in {c.taxon for c in found.of(one)} or one in {c.taxon for c in found.of(other)}
