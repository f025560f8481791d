"""Which taxa are confused, and what separates them."""

from __future__ import annotations

import numpy as np
import pytest
from builders import FEATURES, World, feature, random_table, says, treatment

from trug.determine import confusions
from trug.determine.confusions import SEPARATES, Confusions, thin
from trug.determine.table import Table
from trug.treatments import Book


@pytest.fixture(scope="module")
def shipped(table: Table) -> Confusions:
    return Confusions(table)


def test_likeness_and_nearness_are_symmetric(shipped: Confusions) -> None:
    """One is as like the other as the other is like it."""
    assert np.allclose(shipped.likeness, shipped.likeness.transpose(1, 0, 2))
    assert np.array_equal(shipped.near, shipped.near.T)
    assert ((shipped.likeness >= 0) & (shipped.likeness <= 1)).all()


@pytest.mark.parametrize("seed", range(5))
def test_likeness_is_the_bhattacharyya_coefficient(seed: int) -> None:
    """Against a plain sum over the states."""
    table = random_table(seed, staged=False)
    found = Confusions(table).likeness
    for t in range(len(table.taxa)):
        for u in range(len(table.taxa)):
            for i, c in enumerate(table.characters):
                p, q = table.truth[t, c.first : c.last], table.truth[u, c.first : c.last]
                assert found[t, u, i] == pytest.approx(np.sqrt(p * q).sum(), abs=1e-6)


def test_an_unrecorded_character_separates_nothing() -> None:
    """What one account does not mention is neither like nor unlike."""
    world = World(more=[treatment("novus-primus", [says("a", {"y": "always"})])])
    found = Confusions(world.table).pair("novus-primus", "malus-primus")
    assert {s.character for s in found.separating} == {"a"}


def test_looks_that_need_a_microscope_do_not_count_in_the_field() -> None:
    """Two firm looks separate in the field; with one of them under the microscope the pair is not field-separable."""
    bare = World()
    lab = World(characters={"a": feature("a", firm=True, tools=("microscope",))})
    assert Confusions(bare.table).pair("malus-primus", "bonus-primus").field_separable
    found = Confusions(lab.table).pair("malus-primus", "bonus-primus")
    assert not found.field_separable
    assert [s.character for s in found.separating if not s.field] == ["a"]
    assert found.separating[-1].character == "a"


def test_the_nearest_stand_first_and_only_close_ones_beyond_the_least(shipped: Confusions) -> None:
    """Lists are ordered, hold at least the least number, and never the taxon itself."""
    for t, code in enumerate(shipped.table.taxa):
        found = shipped.of(code)
        nearness = [c.near for c in found]
        assert nearness == sorted(nearness)
        assert confusions.LEAST <= len(found) <= confusions.MOST + confusions.SEVERE_MOST
        assert all(c.near < confusions.CLOSE for c in found[confusions.LEAST :])
        assert code not in {c.taxon for c in found}
        assert len({c.taxon for c in found}) == len(shipped.listed(t))


def test_separating_looks_are_those_below_the_limit(shipped: Confusions) -> None:
    """A pair lists every character that separates, and no other."""
    table = shipped.table
    for one, other in (
        ("galerina-marginata", "kuehneromyces-mutabilis"),
        ("amanita-phalloides", "agaricus-campestris"),
    ):
        t, u = table.taxon_index[one], table.taxon_index[other]
        expected = {c.code for i, c in enumerate(table.characters) if shipped.likeness[t, u, i] < SEPARATES}
        assert {s.character for s in shipped.pair(one, other).separating} == expected


def test_every_harmful_or_eaten_taxon_has_confusions(shipped: Confusions, book: Book) -> None:
    """Each lists what it is taken for, and most pairs have a look that separates."""
    for t in book.treatments.values():
        if t.harm or t.use:
            assert shipped.of(t.code), t.code


def test_thin_treatments_are_named() -> None:
    """A harmful taxon with five characters is thin; what kills is listed beside the nearest ones."""
    world = World()
    notes = thin(Confusions(world.table), list(world.book.treatments.values()))
    assert any(note.startswith("malus-primus: ") for note in notes)
    assert len(FEATURES) < confusions.DEEP
