"""From the looks of a find to what the engine may use of them.

Voids what a condition or a stage spoils, follows corrections, keeps contradictory looks but
bars them from ruling anything out, and turns every form of evidence into numbers over columns.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import msgspec
import numpy as np
from numpy.typing import NDArray

from trug.characters.model import STAGES, Condition
from trug.determine.find import SURE, Evidence, Find, Fruitbody, Look, Observer
from trug.determine.table import CharacterColumns, Table

__all__ = ["Barred", "Observation", "Observations", "colour_likelihood", "observe", "stage_weights"]

Floats = NDArray[np.float64]

#: Standard deviation of a measured colour by accuracy class [CIELAB units], and of a colour word.
ACCURACY_SD = {"A": 2.0, "B": 4.0, "C": 8.0, "D": 14.0}
COLOUR_WORD_SD = 9.0
#: Adult sizes are not read on these stages.
GROWING = ("egg", "button", "young")
#: Bins by which two measurements of one thing may differ before they contradict each other.
BINS_APART = 3


@dataclass(frozen=True, slots=True)
class Barred:
    """A look that is not used, or is used for the name only, and why."""

    look: str
    character: str
    reason: str


@dataclass(frozen=True, slots=True)
class Observation:
    """A look as numbers: weights over the columns of one character.

    ``column`` is the single column seen, or -1 where several are possible. ``counts`` is False where
    the look may shift the name but never rule anything out.
    """

    look: str
    character: int
    column: int
    weights: Floats
    level: int
    counts: bool
    observer: str | None
    sources: tuple[str, ...]
    words: tuple[str, ...]
    soft: bool = False


@dataclass(frozen=True, slots=True)
class Observations:
    """Everything the engine may use on one fruitbody.

    ``stage`` weights the five stages; ``stage_known`` is the stage the observer gave, if one;
    ``procedures`` holds how looks were made (base dug out whole). ``conflicts`` are pairs of looks.
    """

    fruitbody: str
    used: tuple[Observation, ...]
    barred: tuple[Barred, ...]
    conflicts: tuple[tuple[str, str], ...]
    stage: Floats
    stage_known: str | None
    procedures: dict[str, str] = field(default_factory=dict)
    unseen: frozenset[str] = frozenset()
    spoiled: tuple[str, ...] = ()
    determiner: str | None = None
    observers: Mapping[str, Observer] = field(default_factory=dict)

    def states_of(self, character: str, table: Table) -> tuple[str, ...]:
        """Return the states named in the looks that count on one character."""
        at = table.index.get(character)
        return tuple(w for o in self.used if o.character == at and o.counts for w in o.words)


def stage_weights(fruitbody: Fruitbody, table: Table) -> tuple[Floats, str | None]:
    """Return weights over the five stages and the stage given, if a single one was.

    A stage that the observer names leaves ``stage_doubt`` to its neighbours.
    """
    model = table.model
    if fruitbody.stage is None:
        return np.array(model.stage_prior), None
    if isinstance(fruitbody.stage, str):
        at = STAGES.index(fruitbody.stage)
        beside = [i for i in (at - 1, at + 1) if 0 <= i < len(STAGES)]
        weights = np.full(len(STAGES), 1e-4)
        weights[beside] = model.stage_doubt / len(beside)
        weights[at] = 1.0 - model.stage_doubt
        return weights / weights.sum(), fruitbody.stage
    weights = np.array([max(fruitbody.stage.get(s, 0.0), 1e-4) for s in STAGES])
    return weights / weights.sum(), None


def colour_likelihood(
    lab: Sequence[float], centres: Mapping[str, Sequence[float]], states: Sequence[str], accuracy: str
) -> dict[str, float]:
    """Return how well a measured colour fits each colour word, scaled so that the best reads 1."""
    sd2 = ACCURACY_SD[accuracy] ** 2 + COLOUR_WORD_SD**2
    d2 = [sum((a - b) ** 2 for a, b in zip(lab, centres[s], strict=True)) for s in states]
    least = min(d2)
    return {s: math.exp(-0.5 * (d - least) / sd2) for s, d in zip(states, d2, strict=True)}


def observe(
    find: Find,
    table: Table,
    conditions: Mapping[str, Condition],
    palette: Mapping[str, Sequence[float]] | None = None,
) -> tuple[Observations, ...]:
    """Return what may be used on each fruitbody of a find, in the find's order.

    The find must have been checked: its characters and states are those of the table or procedures.
    """
    observers = {o.id: o for o in find.observers}
    replaced = {look.supersedes for look in find.looks if look.supersedes}
    # A look that names nobody is the determiner's, or that of the only observer told of: their limits hold for it.
    alone = find.determiner or (find.observers[0].id if len(find.observers) == 1 else None)
    live = [
        look if look.observer or alone is None else msgspec.structs.replace(look, observer=alone)
        for look in find.looks
        if look.id not in replaced
    ]
    out = []
    for body in find.fruitbodies:
        looks = [look for look in live if look.fruitbody in (body.id, None)]
        out.append(_one(body, looks, table, conditions, palette or {}, observers, find.determiner))
    return tuple(out)


def _one(
    body: Fruitbody,
    looks: Iterable[Look],
    table: Table,
    conditions: Mapping[str, Condition],
    palette: Mapping[str, Sequence[float]],
    observers: Mapping[str, Observer],
    determiner: str | None,
) -> Observations:
    stage, known = stage_weights(body, table)
    voided = {code: conditions[name].label for name in body.condition for code in conditions[name].voids}
    procedures: dict[str, str] = {}
    unseen: set[str] = set()
    barred: list[Barred] = []
    kept: list[tuple[Look, Observation]] = []
    for look in looks:
        if look.evidence.not_seen is not None:
            unseen.add(look.character)
            barred.append(Barred(look.id, look.character, f"not seen: {look.evidence.not_seen}"))
            continue
        if look.character not in table.index:
            if look.evidence.states:
                procedures[look.character] = look.evidence.states[0]
            continue
        column = table.characters[table.index[look.character]]
        if look.character in voided:
            barred.append(Barred(look.id, look.character, f"voided: the fruitbody is {voided[look.character]}"))
            continue
        if column.grows and known in GROWING:
            barred.append(Barred(look.id, look.character, f"sizes are read on grown fruitbodies, not at stage {known}"))
            continue
        kept.append((look, _numbers(look, column, table, palette, observers)))
    used: list[Observation] = []
    for look, seen in kept:
        lacking = _needs(look, table, procedures)
        if lacking:
            barred.append(Barred(look.id, look.character, lacking))
            continue
        used.append(seen)
        if not seen.counts:
            barred.append(Barred(look.id, look.character, _why_weak(look, table, observers)))
    used = _without_repeats(used)
    conflicts = _conflicts(used, table)
    marked = {look for pair in conflicts for look in pair}
    for look_id in sorted(marked):
        code = next(table.characters[o.character].code for o in used if o.look == look_id)
        barred.append(Barred(look_id, code, "contradicts another look; neither counts until one supersedes the other"))
    return Observations(
        fruitbody=body.id,
        used=tuple(replace(o, counts=o.counts and o.look not in marked) for o in used),
        barred=tuple(barred),
        conflicts=tuple(conflicts),
        stage=stage,
        stage_known=known,
        procedures=procedures,
        unseen=frozenset(unseen),
        spoiled=tuple(c for c in body.condition if conditions[c].spoils),
        determiner=determiner,
        observers=observers,
    )


def _numbers(
    look: Look,
    column: CharacterColumns,
    table: Table,
    palette: Mapping[str, Sequence[float]],
    observers: Mapping[str, Observer],
) -> Observation:
    weights, words, soft = _weights(look.evidence, column, palette)
    weak = _weakness(look, column, observers)
    level = SURE.index(look.sure)
    who = observers.get(look.observer or "")
    if who is not None and who.practice != "practised":
        level = min(level + 1, len(SURE) - 1)
    hit = np.flatnonzero(weights)
    single = len(hit) == 1 and not soft
    return Observation(
        look=look.id,
        character=table.index[look.character],
        column=int(column.first + hit[0]) if single else -1,
        weights=weights,
        level=level,
        counts=look.sure != "unsure" and not weak,
        observer=look.observer,
        sources=look.sources,
        words=words,
        soft=soft,
    )


def _weights(
    evidence: Evidence, column: CharacterColumns, palette: Mapping[str, Sequence[float]]
) -> tuple[Floats, tuple[str, ...], bool]:
    out = np.zeros(len(column.states))
    if evidence.states is not None:
        for s in evidence.states:
            out[column.states.index(s)] = 1.0
        return out, evidence.states, False
    if evidence.measurement is not None or evidence.sample is not None:
        value, sd = _value(evidence)
        edges = np.array(column.edges)
        unit = f"{value:g}"
        if sd <= 0.0:
            out[int(np.clip(np.searchsorted(edges, value, side="right") - 1, 0, len(out) - 1))] = 1.0
            return out, (unit,), False
        z = (edges - value) / (sd * math.sqrt(2.0))
        cdf = np.array([0.5 * (1.0 + math.erf(float(x))) for x in z])
        cdf[0], cdf[-1] = 0.0, 1.0
        out = np.diff(cdf)
        return np.where(out < 1e-6, 0.0, out), (unit,), True
    given = evidence.distribution
    if evidence.colour is not None:
        given = colour_likelihood(evidence.colour.lab, palette, column.states, evidence.colour.accuracy)
    assert given is not None
    for s, p in given.items():
        out[column.states.index(s)] = p
    best = max(given, key=lambda s: given[s])
    return out / out.max(), (best,), True


def _value(evidence: Evidence) -> tuple[float, float]:
    if evidence.sample is not None:
        s = evidence.sample
        return s.mean, s.sd / math.sqrt(s.n)
    assert evidence.measurement is not None
    return evidence.measurement.value, evidence.measurement.deviation


def _weakness(look: Look, column: CharacterColumns, observers: Mapping[str, Observer]) -> str:
    who = observers.get(look.observer or "")
    if who is None:
        return ""
    if look.character in who.blind_to:
        return "this observer cannot judge it"
    if column.kind == "colour" or look.character == "spore_print":
        if not who.colour_vision and look.method != "card":
            return "colour judged by an observer with weak colour vision"
        if not who.daylight and look.method != "card":
            return "colour judged under lamp light"
    if look.character == "smell" and not who.smell:
        return "smell judged by an observer who cannot smell"
    return ""


def _why_weak(look: Look, table: Table, observers: Mapping[str, Observer]) -> str:
    column = table.characters[table.index[look.character]]
    return (_weakness(look, column, observers) or "marked unsure") + "; it shifts the name but rules nothing out"


def _needs(look: Look, table: Table, procedures: Mapping[str, str]) -> str:
    column = table.characters[table.index[look.character]]
    for state, character, states in column.needs:
        if look.evidence.states and state in look.evidence.states and procedures.get(character) not in states:
            return f"{column.label} {state}: counts only with {character.replace('_', ' ')} = {' or '.join(states)}"
    return ""


def _without_repeats(used: list[Observation]) -> list[Observation]:
    """Keep one of several equal looks of one observer; a second observer's look stays."""
    seen: set[tuple[int, str | None, tuple[str, ...]]] = set()
    out = []
    for o in used:
        key = (o.character, o.observer, o.words)
        if key not in seen:
            seen.add(key)
            out.append(o)
    return out


def _conflicts(used: Sequence[Observation], table: Table) -> list[tuple[str, str]]:
    pairs = []
    for i, a in enumerate(used):
        for b in used[i + 1 :]:
            if a.character == b.character:
                x, y = np.flatnonzero(a.weights > 0.01), np.flatnonzero(b.weights > 0.01)
                measured = bool(table.characters[a.character].edges)
                gap = np.abs(x[:, None] - y[None, :]).min()
                if gap > (BINS_APART if measured else 0):
                    pairs.append((a.look, b.look))
            elif _excludes_each_other(a, b, table) or _excludes_each_other(b, a, table):
                pairs.append((a.look, b.look))
    return pairs


def _excludes_each_other(a: Observation, b: Observation, table: Table) -> bool:
    """Whether look ``b`` shows that the character of ``a`` cannot have been there (gills told of pores)."""
    applies = table.characters[a.character].applies
    if applies is None or b.soft:
        return False
    character, states = applies
    if table.characters[b.character].code != character:
        return False
    return not any(w in states for w in b.words)
