"""Which tree a trunk was, from its bark, buds and wood.

A flat prior over the trees of the vocabulary and looks taken as independent of each other. Silent
states say nothing: a trunk without twigs is no evidence.
"""

from __future__ import annotations

import math

from trug.characters.model import Character, Vocabulary

__all__ = ["rank_trees"]

#: Share of looks that name a state listed for the tree; the rest falls on the states not listed.
LISTED = 0.9


def rank_trees(vocabulary: Vocabulary, seen: dict[str, str]) -> list[tuple[str, float]]:
    """Return every tree with its probability [0..1], the most likely first.

    Trees of equal probability stay in the order of the vocabulary. The probabilities sum to 1.

    Parameters
    ----------
    vocabulary : Vocabulary
        Its characters of role ``tree`` and what each tree shows of them.
    seen : dict of str to str
        The state seen of each character looked at; may be empty.

    Raises
    ------
    ValueError
        A character that does not tell trees, or a state that it does not have.
    """
    looks = [(_character(vocabulary, code, state), state) for code, state in seen.items()]
    weights = {
        tree: math.prod(_likelihood(character, row.get(character.code, ()), state) for character, state in looks)
        for tree, row in vocabulary.trees.items()
    }
    total = math.fsum(weights.values())
    return sorted(((tree, w / total) for tree, w in weights.items()), key=lambda pair: -pair[1])


def _character(vocabulary: Vocabulary, code: str, state: str) -> Character:
    """Return a character that tells trees, having made sure that it has the state."""
    character = vocabulary.characters.get(code)
    if character is None or character.role != "tree":
        known = ", ".join(c.code for c in vocabulary.with_role("tree"))
        raise ValueError(f"rank_trees: seen must name characters that tell trees ({known}), got {code!r}")
    if state not in character.codes:
        raise ValueError(f"rank_trees: {code} must be one of {', '.join(character.codes)}, got {state!r}")
    return character


def _likelihood(character: Character, listed: tuple[str, ...], state: str) -> float:
    """Return how likely a look names a state on a tree for which ``listed`` are given."""
    speaking = [s for s in character.codes if s not in character.silent]
    shown = [s for s in speaking if s in listed]
    if state in character.silent:
        return 1.0
    if not shown or len(shown) == len(speaking):
        return 1.0 / len(speaking)
    if state in shown:
        return LISTED / len(shown)
    return (1.0 - LISTED) / (len(speaking) - len(shown))
