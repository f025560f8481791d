"""Which tree a trunk was."""

from __future__ import annotations

import itertools
import math

import pytest

from trug.characters import Vocabulary, load_vocabulary
from trug.determine.trees import rank_trees


@pytest.fixture(scope="module")
def vocabulary() -> Vocabulary:
    return load_vocabulary()


TREES = load_vocabulary().characters["tree"].codes


def test_every_tree_is_described(vocabulary: Vocabulary) -> None:
    """Each tree of the vocabulary has states for each character that tells trees, none of them silent."""
    assert set(vocabulary.trees) == set(TREES)
    for row in vocabulary.trees.values():
        assert set(row) == {c.code for c in vocabulary.with_role("tree")}
        for code, states in row.items():
            assert states
            assert len(set(states)) == len(states)
            assert not vocabulary.characters[code].silent & set(states)


def test_every_speaking_state_belongs_to_a_tree(vocabulary: Vocabulary) -> None:
    """No state is offered that no tree shows, unless it is silent."""
    for character in vocabulary.with_role("tree"):
        shown = {s for row in vocabulary.trees.values() for s in row[character.code]}
        assert shown | character.silent == set(character.codes)


def test_no_two_trees_are_described_alike(vocabulary: Vocabulary) -> None:
    """Any two trees differ in at least one character."""
    rows = {tuple(sorted((c, frozenset(s)) for c, s in row.items())) for row in vocabulary.trees.values()}
    assert len(rows) == len(TREES)


def test_ash_leads_for_opposite_black_buds(vocabulary: Vocabulary) -> None:
    """Opposite black buds mean ash, clearly ahead of all others."""
    ranked = rank_trees(vocabulary, {"tree_buds": "opposite", "tree_bud_look": "black"})
    assert ranked[0][0] == "ash"
    assert ranked[0][1] > 5.0 * ranked[1][1]


@pytest.mark.parametrize(
    ("seen", "tree"),
    [
        ({"tree_bark": "smooth", "tree_bud_look": "long-pointed"}, "beech"),
        ({"tree_bud_look": "clustered-at-tip", "tree_wood": "wide-rays"}, "oak"),
        ({"tree_buds": "opposite", "tree_bud_look": "sticky"}, "horse-chestnut"),
        ({"tree_bark": "spiral-ridged", "tree_wood": "ring-porous"}, "chestnut"),
        ({"tree_bark": "corky", "tree_wood": "soft-pith"}, "elder"),
        ({"tree_bark": "red-flaking", "tree_wood": "no-pores-no-resin"}, "yew"),
    ],
)
def test_two_telling_looks_name_the_tree(vocabulary: Vocabulary, seen: dict[str, str], tree: str) -> None:
    """Two looks that foresters go by put the right tree first."""
    assert rank_trees(vocabulary, seen)[0][0] == tree


@pytest.mark.parametrize("tree", TREES)
def test_a_tree_leads_for_its_own_states(vocabulary: Vocabulary, tree: str) -> None:
    """At least one full set of its own states puts a tree first, or level with the first."""
    row = vocabulary.trees[tree]
    leads = []
    for states in itertools.product(*row.values()):
        ranked = rank_trees(vocabulary, dict(zip(row, states, strict=True)))
        leads.append(dict(ranked)[tree] == pytest.approx(ranked[0][1]))
    assert any(leads)


@pytest.mark.parametrize("seen", [{}, {"tree_bark": "scaly"}, {"tree_buds": "opposite", "tree_wood": "resin"}])
def test_probabilities_sum_to_one_and_descend(vocabulary: Vocabulary, seen: dict[str, str]) -> None:
    """All trees are returned, the most likely first, and their probabilities sum to 1."""
    ranked = rank_trees(vocabulary, seen)
    chances = [p for _, p in ranked]
    assert {t for t, _ in ranked} == set(TREES)
    assert math.fsum(chances) == pytest.approx(1.0)
    assert chances == sorted(chances, reverse=True)


def test_states_of_a_look_share_its_probability(vocabulary: Vocabulary) -> None:
    """Listed states share 0.9 and the others 0.1: with one look the ratio of two trees follows from that."""
    chance = dict(rank_trees(vocabulary, {"tree_buds": "opposite"}))
    assert chance["ash"] / chance["beech"] == pytest.approx(0.9 / (0.1 / 2))
    assert chance["ash"] / chance["larch"] == pytest.approx(0.9 / 0.1)


def test_no_look_and_silent_looks_leave_the_prior_flat(vocabulary: Vocabulary) -> None:
    """Without looks all trees are equally likely, and what is merely missing changes nothing."""
    flat = [(t, pytest.approx(1.0 / len(TREES))) for t in vocabulary.trees]
    assert rank_trees(vocabulary, {}) == flat
    missing = {"tree_buds": "none-to-be-seen", "tree_bud_look": "none-to-be-seen", "tree_litter": "nothing"}
    assert rank_trees(vocabulary, missing) == flat


def test_the_looks_are_left_as_they_were(vocabulary: Vocabulary) -> None:
    """Ranking does not change its arguments and gives the same answer twice."""
    seen = {"tree_bark": "plated"}
    assert rank_trees(vocabulary, seen) == rank_trees(vocabulary, seen)
    assert seen == {"tree_bark": "plated"}


@pytest.mark.parametrize(
    ("seen", "text"),
    [
        ({"tree_leaf": "lobed"}, "tree_leaf"),
        ({"substrate": "stump"}, "substrate"),
        ({"tree_bark": "furry"}, "furry"),
        ({"tree_bark": ""}, "tree_bark"),
    ],
)
def test_bad_words_raise(vocabulary: Vocabulary, seen: dict[str, str], text: str) -> None:
    """Unknown characters, characters that do not tell trees and unknown states are named in a ValueError."""
    with pytest.raises(ValueError, match=text):
        rank_trees(vocabulary, seen)
