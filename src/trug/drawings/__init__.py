"""Line drawings of our own: one for each state of each character that has a shape.

A drawing says what a word cannot. All are drawn by code with one pen (`trug.drawings.stroke`), in the colour of
the text around them. They hold no text, id, style or script, so they may stand anywhere on a page and beside one
another. Colours, smells and sizes are not drawn here.

Where a drawing tells pale from dark (a white wart, a darker middle), the paper is the pale one and the ink the dark
one: a page with light text on dark should set the drawings on a light card.
"""

from __future__ import annotations

from functools import cache

from trug.drawings import (
    bark,
    cap,
    cap_edge,
    cap_skin,
    cap_surface,
    cells,
    flesh,
    form,
    growth,
    hymenophore,
    pores,
    spores,
    stipe,
    substrate,
    trees,
    veil,
    whole,
)
from trug.drawings.model import BOX, Drawing, Drawings

__all__ = ["BOX", "DRAWN", "Drawing", "drawing", "drawn_states"]

_MODULES = (
    form, growth, whole, cap, cap_edge, cap_skin, cap_surface, hymenophore, pores, stipe, veil, flesh, spores, cells,
    substrate, trees, bark,
)  # fmt: skip
_DRAWINGS: Drawings = {character: states for module in _MODULES for character, states in module.DRAWINGS.items()}

#: Codes of the characters that have drawings; "stage" is the age of the fruitbody.
DRAWN: frozenset[str] = frozenset(_DRAWINGS)


def drawn_states(character: str) -> tuple[str, ...]:
    """Return the states of a character that have drawings, in drawing order; empty where there are none."""
    return tuple(_DRAWINGS.get(character, {}))


@cache
def drawing(character: str, state: str) -> Drawing | None:
    """Return the drawing of a state, or None where the character or the state has none."""
    draw = _DRAWINGS.get(character, {}).get(state)
    if draw is None:
        return None
    title = f"{character.replace('_', ' ')}: {state.replace('-', ' ')}"
    return Drawing(character, state, title, draw())
