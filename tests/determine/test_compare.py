"""Treatments side by side."""

from __future__ import annotations

import numpy as np
import pytest
from builders import World, feature, says, treatment

from trug.determine.compare import compare
from trug.determine.table import Table


def test_likeness_is_the_bhattacharyya_coefficient() -> None:
    """Overlap is the sum of the roots of the products of both distributions, averaged over stages."""
    table = World().table
    one, two = (table.truth[table.row_start[table.taxon_index[t]]] for t in ("malus-primus", "bonus-primus"))
    found = {d.character: d.overlap for d in compare(table, ["malus-primus", "bonus-primus"])}
    for c in table.characters:
        assert found[c.code] == pytest.approx(np.sqrt(one[c.first : c.last] * two[c.first : c.last]).sum())


def test_a_taxon_is_wholly_like_itself() -> None:
    """Equal treatments overlap fully in every character."""
    assert [d.overlap for d in compare(World().table, ["bonus-primus", "bonus-primus"])] == pytest.approx([1.0] * 5)


def test_the_order_of_the_taxa_does_not_matter() -> None:
    """Likeness is symmetric."""
    table = World().table
    assert [d.overlap for d in compare(table, ["malus-primus", "bonus-primus"])] == [
        d.overlap for d in compare(table, ["bonus-primus", "malus-primus"])
    ]


def test_the_most_separating_comes_first_and_firm_before_others() -> None:
    """Order is by overlap in tenths, then firm ones, then overlap."""
    bad = [says("a", {"x": "always"}), says("b", {"y": "usually"}), *(says(c, {"x": "always"}) for c in "cde")]
    swapped = {"a": feature("a"), "e": feature("e", firm=True)}
    found = compare(World(bad, characters=swapped).table, ["malus-primus", "bonus-primus"])
    assert [d.character for d in found] == ["e", "a", "c", "d", "b"]
    assert (found[0].firm, found[-1].overlap > 0.9) == (True, True)


def test_of_several_taxa_the_least_like_pair_counts() -> None:
    """A third taxon can only lower the overlap."""
    table = World().table
    two = {d.character: d.overlap for d in compare(table, ["bonus-primus", "bonus-primus"])}
    three = {d.character: d.overlap for d in compare(table, ["bonus-primus", "bonus-primus", "malus-primus"])}
    assert all(three[c] < two[c] for c in two)


def test_what_only_one_records_separates_nothing() -> None:
    """A character that one taxon does not record overlaps fully; one that none records is left out."""
    quiet = treatment("bonus-tertius", [says("a", {"x": "always"})])
    world = World(characters={"f": feature("f")}, more=[quiet])
    found = {d.character: d for d in compare(world.table, ["bonus-tertius", "bonus-primus"])}
    assert (found["b"].overlap, found["b"].recorded) == (1.0, (False, True))
    assert "f" not in found


def test_overlaps_of_the_shipped_book_lie_between_nothing_and_one(table: Table) -> None:
    """Gills against pores separate a milkcap from a bolete first of all firm characters."""
    found = compare(table, ["lactarius-deliciosus", "boletus-edulis"])
    assert all(0.0 <= d.overlap <= 1.0 for d in found)
    assert "hymenophore" in [d.character for d in found[:5]]


def test_an_unknown_code_is_an_error(table: Table) -> None:
    """Codes must be those of the table."""
    with pytest.raises(KeyError, match="no-such"):
        compare(table, ["no-such", "boletus-edulis"])
