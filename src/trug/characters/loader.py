"""Read the vocabulary from its TOML files."""

from __future__ import annotations

import functools
import itertools
import tomllib
from collections.abc import Mapping
from importlib import resources
from typing import Any

from trug.characters.model import KINDS, ROLES, Character, Condition, Need, State, Vocabulary
from trug.errors import BookError

__all__ = ["FILES", "load_vocabulary", "vocabulary_text"]

#: The files of characters, in the order in which a find is looked at.
FILES = (
    "whole",
    "cap",
    "hymenophore",
    "stipe",
    "veil",
    "flesh",
    "senses",
    "chemistry",
    "spores",
    "substrate",
    "trees",
    "circumstance",
)
#: Number of logarithmic bins of a measured character.
BINS = 32
#: Error rate of a character for which the vocabulary states none.
DEFAULT_ERROR = 0.06
#: Tempering of a dependence group for which ``groups.toml`` states none.
DEFAULT_RHO = 0.5

_FIELDS = frozenset(
    [
        "label",
        "question",
        "how",
        "part",
        "kind",
        "states",
        "firm",
        "error",
        "group",
        "role",
        "minutes",
        "wait_minutes",
        "tools",
        "destructive",
        "caution",
        "silent",
        "needs",
        "applies",
        "near",
        "weak_for_kills",
        "never_excludes",
        "of_find",
        "grows",
        "gate",
        "unit",
        "range",
        "circular",
    ]
)


@functools.cache
def load_vocabulary() -> Vocabulary:
    """Return the vocabulary of fungi that comes with the program.

    Raises
    ------
    BookError
        A file is missing a field or names an unknown kind, role, state or group.
    """
    colours = _read("palette")["colours"]
    characters: dict[str, Character] = {}
    trees: dict[str, dict[str, tuple[str, ...]]] = {}
    for name in FILES:
        table = _read(name)
        if name == "trees":
            known = table.pop("known", {})
            trees = {t: {c: tuple(v) for c, v in row.items()} for t, row in known.items()}
        for code, entry in table.items():
            if code in characters:
                raise BookError(f"characters/fungi/{name}.toml: {code!r} is defined twice")
            characters[code] = _character(name, code, entry, colours)
    conditions = {
        code: Condition(code, e["label"], e["definition"], frozenset(e["voids"]), e["spoils"])
        for code, e in _read("conditions").items()
    }
    groups = {c.group for c in characters.values()}
    stated = _read("groups")["rho"]
    for group in stated:
        if group not in groups:
            raise BookError(f"characters/fungi/groups.toml: no character has the group {group!r}")
    vocabulary = Vocabulary(
        characters,
        conditions,
        {g: float(stated.get(g, DEFAULT_RHO)) for g in sorted(groups)},
        {c: tuple(e["lab"]) for c, e in colours.items()},
        trees,
        dict(_read("aliases")["aliases"]),
    )
    _check_references(vocabulary)
    return vocabulary


def vocabulary_text() -> str:
    """Return the text of all vocabulary files, for the digest of the book."""
    folder = resources.files("trug.characters") / "fungi"
    return "".join(
        (folder / f"{n}.toml").read_text("utf-8") for n in (*FILES, "conditions", "groups", "palette", "aliases")
    )


def _read(name: str) -> dict[str, Any]:
    path = resources.files("trug.characters") / "fungi" / f"{name}.toml"
    try:
        return tomllib.loads(path.read_text("utf-8"))
    except (FileNotFoundError, tomllib.TOMLDecodeError) as error:
        raise BookError(f"characters/fungi/{name}.toml: {error}") from None


def _character(name: str, code: str, entry: Mapping[str, Any], colours: Mapping[str, Any]) -> Character:
    where = f"characters/fungi/{name}.toml: {code}"
    for key in entry:
        if key not in _FIELDS:
            raise BookError(f"{where}: unknown field {key!r}")
    for key in ("label", "question", "how", "part"):
        if key not in entry:
            raise BookError(f"{where}: the field {key!r} is missing")
    kind = entry.get("kind", "unordered")
    role = entry.get("role", "look")
    if kind not in KINDS or role not in ROLES:
        raise BookError(f"{where}: kind {kind!r} or role {role!r} is unknown")
    span: tuple[float, float] | None = None
    near: list[tuple[str, str, float]] = [(a, b, float(w)) for a, b, w in entry.get("near", ())]
    if kind == "measured":
        low, high = entry["range"]
        span = (float(low), float(high))
        states = tuple(State(f"bin-{i:02d}", f"bin {i}", "a step of size") for i in range(BINS))
    elif kind == "colour" and "states" not in entry:
        states = tuple(State(c, c.replace("-", " "), e["definition"]) for c, e in colours.items())
        near += [(c, n, 1.0 / len(e["near"])) for c, e in colours.items() for n in e["near"]]
    else:
        states = tuple(State(s, s.replace("-", " "), d) for s, d in entry["states"].items())
    if kind == "ordered":
        codes = [s.code for s in states]
        near += [(a, b, 0.6) for a, b in itertools.pairwise(codes)]
    applies = entry.get("applies")
    return Character(
        code=code,
        label=entry["label"],
        question=entry["question"],
        how=entry["how"],
        part=entry["part"],
        kind=kind,
        states=states,
        error=float(entry.get("error", DEFAULT_ERROR)),
        group=entry.get("group", code),
        firm=entry.get("firm", False),
        role=role,
        minutes=float(entry.get("minutes", 1.0)),
        wait_minutes=float(entry.get("wait_minutes", 0.0)),
        tools=tuple(entry.get("tools", ())),
        destructive=entry.get("destructive", False),
        caution=entry.get("caution", ""),
        silent=frozenset(entry.get("silent", ())),
        needs=tuple(Need(n["state"], n["character"], tuple(n["states"])) for n in entry.get("needs", ())),
        applies=Need("", applies["character"], tuple(applies["states"])) if applies else None,
        near=tuple(near),
        weak_for_kills=entry.get("weak_for_kills", False),
        never_excludes=entry.get("never_excludes", False),
        of_find=entry.get("of_find", False),
        grows=entry.get("grows", False),
        gate=entry.get("gate", ""),
        unit=entry.get("unit", ""),
        span=span,
    )


def _check_references(vocabulary: Vocabulary) -> None:
    characters = vocabulary.characters
    for c in characters.values():
        links = list(c.needs) + ([c.applies] if c.applies else [])
        for need in links:
            other = characters.get(need.character)
            if other is None or any(s not in other.codes for s in need.states):
                raise BookError(f"characters: {c.code} refers to {need.character} {need.states}, which is unknown")
        for word in [*c.silent, *(n.state for n in c.needs), *(w for a, b, _ in c.near for w in (a, b))]:
            if word not in c.codes:
                raise BookError(f"characters: {c.code} has no state {word!r}")
    for condition in vocabulary.conditions.values():
        for code in condition.voids:
            if code not in characters:
                raise BookError(f"characters: condition {condition.code} voids the unknown {code!r}")
    for tree, row in vocabulary.trees.items():
        if tree not in characters["tree"].codes:
            raise BookError(f"characters: trees.toml describes the unknown tree {tree!r}")
        for code, states in row.items():
            for state in states:
                if code not in characters or state not in characters[code].codes:
                    raise BookError(f"characters: trees.toml, {tree}: {code} has no state {state!r}")
