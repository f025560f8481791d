"""What an invented observer sees: states drawn from a treatment, as closely as they look and as well as they can."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from trug.characters import Vocabulary
from trug.characters.model import STAGES, Character
from trug.demo.scenario import Care
from trug.treatments.model import Record, SizeRange, Treatment

__all__ = ["ERRORS", "Answer", "Observing", "Seen", "look_at", "where_it_grew"]

#: A state, or a size in the character's own unit.
Answer = str | float

#: How often people of each practice name a wrong state, and how often they are only fairly sure or unsure [0..1].
ERRORS = {"practised": (0.0, 0.03, 0.0), "student": (0.04, 0.25, 0.06), "beginner": (0.08, 0.3, 0.15)}
#: How often a state is drawn, by the treatment's word for it.
_WEIGHTS = {"always": 12.0, "usually": 6.0, "sometimes": 0.3}
_CARES: tuple[Care, ...] = ("none", "glance", "field", "table", "microscope")
#: What is seen in passing.
_AT_A_GLANCE = frozenset(
    ("fruitbody_form", "hymenophore", "cap_shape", "cap_colour", "cap_surface", "stipe_position", "stipe_colour")
)
#: What is left for the table although it needs no tool.
_AT_THE_TABLE = frozenset(("cap_gel", "cap_skin", "cap_drying", "stipe_texture", "flesh_texture", "tube_layers"))
#: How much of what could be seen is looked at, by how closely [0..1].
_LOOKED_AT: dict[Care, float] = {"glance": 0.9, "field": 0.8, "table": 0.6, "microscope": 1.0}
#: Never passed over: without them other looks have no meaning, or the trade insists on them.
_NEVER_MISSED = frozenset(
    ("fruitbody_form", "hymenophore", "stipe_position", "ring", "volva", "base_dug", "egg_section", "spore_print")
)

#: All that an egg shows, whole and cut.
_OF_AN_EGG = frozenset(
    ("fruitbody_form", "consistency", "egg_section", "volva", "volva_colour", "base_dug", "flesh_colour", "smell")
)
#: Nobody tastes in a demonstration, and nobody sits in the dark.
_NOT_DONE = frozenset(("taste", "glow"))
#: Size of what still grows, of its full size.
_GROWN = {"egg": 0.4, "button": 0.5, "young": 0.8}
_CONIFERS = frozenset(("cedar", "douglas-fir", "fir", "hemlock", "larch", "pine", "spruce", "yew"))


@dataclass(frozen=True, slots=True)
class Seen:
    """One answer, how sure the observer is of it, and whether it was found at the table."""

    answer: Answer
    sure: str
    at_table: bool


@dataclass(frozen=True, slots=True)
class Observing:
    """What an observer brings along: practice, tools, eyes and nose."""

    practice: str
    tools: frozenset[str]
    colour_vision: bool = True
    smell: bool = True

    def can(self, character: Character) -> bool:
        """Whether this person can make a look at a character at all."""
        senses = (self.smell or character.part != "smell") and (self.colour_vision or character.kind != "colour")
        return senses and set(character.tools) <= self.tools


def look_at(
    treatment: Treatment,
    stage: str,
    care: Care,
    observers: tuple[Observing, Observing],
    vocabulary: Vocabulary,
    rng: random.Random,
    overruled: Mapping[str, str] | None = None,
) -> dict[str, Seen]:
    """Return what is seen of a fruitbody, in the order of the vocabulary; nothing of what the treatment leaves out.

    Parameters
    ----------
    observers : pair
        Who looks in the field, and who at the table.
    overruled : mapping, optional
        States that are seen whatever the treatment says.
    """
    if care == "none":
        return {}
    told = overruled or {}
    closely, table = _CARES.index(care), _CARES.index("table")
    out: dict[str, Seen] = {}
    truth: dict[str, Answer] = {}
    for character in vocabulary.characters.values():
        code, at = character.code, _least_care(character)
        observer = observers[at >= table]
        if at > closely or not _can_be_seen(character, stage, truth):
            continue
        state = told.get(code) or _drawn(character, treatment, stage, truth, rng)
        if state is None:
            continue
        truth[code] = state
        missed = rng.random() > _LOOKED_AT[care] and code not in _NEVER_MISSED
        answer, sure = _named(character, state, observer.practice, rng)
        if code in told:
            out[code] = Seen(state, "sure", at >= table)
        elif observer.can(character) and not missed:
            out[code] = Seen(answer, sure, at >= table)
    return out


def where_it_grew(
    treatment: Treatment, trees: Sequence[str], ground: Sequence[str], vocabulary: Vocabulary, rng: random.Random
) -> dict[str, str]:
    """Return the looks at a find as a whole: what the place offers of what the treatment asks for."""
    out: dict[str, str] = {}
    manner = _weighted(treatment.records.get("growth_manner"), "")
    if manner:
        out["growth_manner"] = _pick(manner, rng)
    there = _weighted(treatment.records.get("substrate"), "", rarely=0.1)
    fitting = {s: w for s, w in there.items() if s in ground}
    if fitting:
        out["substrate"] = _pick(fitting, rng)
    wanted = {s: w for s, w in _weighted(treatment.records.get("tree"), "", rarely=0.1).items() if s in trees}
    if wanted:
        out["tree"] = _pick(wanted, rng)
        out["wood_kind"] = "conifer" if out["tree"] in _CONIFERS else "broadleaved"
    elif not trees:
        out["wood_kind"] = "no-trees"
    return {code: out[code] for code in vocabulary.characters if code in out}


def _least_care(character: Character) -> int:
    """Return how closely one must look to see a character, as a place in ``_CARES``."""
    if "microscope" in character.tools or character.part == "chemistry":
        return _CARES.index("microscope")
    table = character.measured or character.code in _AT_THE_TABLE or character.code == "spore_print"
    if table or set(character.tools) - {"knife", "lens"}:
        return _CARES.index("table")
    return _CARES.index("glance" if character.code in _AT_A_GLANCE else "field")


def _can_be_seen(character: Character, stage: str, truth: Mapping[str, Answer]) -> bool:
    """Whether a character is one of the fruitbody, there is something to see of it, and somebody would look."""
    if character.of_find or character.role not in ("look", "procedure") or character.code in _NOT_DONE:
        return False
    if stage == "egg" and character.code not in _OF_AN_EGG:
        return False
    if character.code == "egg_section" and stage != "egg":
        return False
    applies = character.applies
    # An egg has no stipe to be seen, and a volva all the same.
    return applies is None or stage == "egg" or truth.get(applies.character) in applies.states


def _drawn(
    character: Character, treatment: Treatment, stage: str, truth: Mapping[str, Answer], rng: random.Random
) -> Answer | None:
    """Return a state or a size that the treatment gives; None where it tells nothing."""
    if character.code == "base_dug":
        return "whole"
    record = treatment.records.get(character.code)
    if record is None:
        return None
    if record.size is None:
        states = _weighted(record, stage)
        return _pick(states, rng) if states else None
    length, width = truth.get("spore_length"), truth.get("spore_width")
    if character.code == "spore_q" and isinstance(length, float) and isinstance(width, float):
        return round(length / width, 2)
    return _size(record.size, _GROWN.get(stage, 1.0) if character.grows else 1.0, character.unit, rng)


def _size(size: SizeRange, share: float, unit: str, rng: random.Random) -> float:
    """Return a size from the middle of a range, rounded as a person would."""
    middle = float((size.low * size.high) ** 0.5)
    value = float(middle * (size.high / size.low) ** rng.uniform(-0.2, 0.2) * share)
    if unit == "mm":
        return float(round(value)) if value >= 10 else max(round(value * 2) / 2, 0.5)
    return round(value, 1 if unit == "um" else 2)


def _weighted(record: Record | None, stage: str, rarely: float = 0.0) -> dict[str, float]:
    """Return the states of a record that may be drawn, with their weights."""
    if record is None:
        return {}
    words = _words(record, stage)
    weights = _WEIGHTS | {"rarely": rarely}
    return {state: weights[word] for state, word in words.items() if weights.get(word)}


def _words(record: Record, stage: str) -> Mapping[str, str]:
    """Return what a record says of a stage, or of the stage nearest to it."""
    if not record.words or "" in record.words:
        return record.words.get("", {})
    at = STAGES.index(stage or "prime")
    return record.words[min(record.words, key=lambda s: (abs(STAGES.index(s) - at), -STAGES.index(s)))]


def _pick(weights: Mapping[str, float], rng: random.Random) -> str:
    return rng.choices(list(weights), list(weights.values()))[0]


def _named(character: Character, state: Answer, practice: str, rng: random.Random) -> tuple[Answer, str]:
    """Return what an observer names, which may be a neighbour of what is there, and how sure they are."""
    wrong, fairly, unsure = ERRORS[practice]
    chance = rng.random()
    sure = "unsure" if chance < unsure else "fairly" if chance < unsure + fairly else "sure"
    if isinstance(state, float) or character.role != "look" or rng.random() >= wrong:
        return state, sure
    near = {b if a == state else a: w for a, b, w in character.near if state in (a, b)}
    return (_pick(near, rng) if near else state), sure
