"""Small invented books, tables and finds for the tests of this folder."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from trug.characters import Character, Need, State, Vocabulary
from trug.characters.model import STAGES, Condition
from trug.determine.compile import compile_table
from trug.determine.find import Evidence, Find, Fruitbody, Look, Observer
from trug.determine.ledger import Entry, Ledger, keep_ledger
from trug.determine.model import ErrorModel
from trug.determine.observations import Observation, Observations, observe
from trug.determine.standing import Standing, log_prior, stand
from trug.determine.table import CharacterColumns, HarmEntry, Table
from trug.treatments.model import Book, Harm, Prior, Record, SizeRange, Source, Treatment, Use

FEATURES = ("a", "b", "c", "d", "e")
ALL_Y = dict.fromkeys(FEATURES, "y")
CONDITIONS = {
    "mouldy": Condition("mouldy", "mouldy", "with mould on it", frozenset({"e"}), True),
    "nibbled": Condition("nibbled", "nibbled", "by a slug", frozenset(), False),
}


def feature(code: str, states: Sequence[str] = ("x", "y", "z"), **more: Any) -> Character:
    """Return a character; its own dependence group and part where none is given."""
    more = {"part": f"part-{code}", "group": f"group-{code}", "kind": "unordered", "error": 0.05, **more}
    return Character(code, code, f"{code}?", "look", states=tuple(State(s, s, s) for s in states), **more)


def words_of(characters: Sequence[Character], rho: Mapping[str, float] | None = None) -> Vocabulary:
    """Return a vocabulary of these characters, with two regions and the digging of the base."""
    extra = (
        feature("region", ("here", "elsewhere"), role="prior"),
        feature("base_dug", ("whole", "broken"), role="procedure"),
    )
    return Vocabulary({c.code: c for c in (*characters, *extra)}, CONDITIONS, dict(rho or {}), {})


def says(code: str, words: dict[str, str] | SizeRange, *, complete: bool = False, source: str = "study") -> Record:
    """Return a record that holds at every stage."""
    if isinstance(words, SizeRange):
        return Record(code, {}, words, False, source)
    return Record(code, {"": words}, None, complete, source)


def treatment(
    code: str, records: Sequence[Record], *, harm: str | Harm = "", insist: Sequence[str] = (), **more: Any
) -> Treatment:
    """Return a treatment; harmful where a level or a harm is given, eaten where no level is."""
    use = Use("food", (), (), "study")
    if isinstance(harm, str):
        use = None if harm else use
        condition = "cook it through" if harm == "conditional" else ""
        harm = Harm(harm, "invented", None, "study", condition=condition) if harm else None
    more = {"rank": "species", "group": "gilled", "use": use, "prior": Prior(), **more}
    name = code.replace("-", " ").capitalize()
    said = {r.character: r for r in records}
    return Treatment(code, name, "", "", (), (), records=said, harm=harm, insist=tuple(insist), **more)


def book_of(*treatments: Treatment, **more: Any) -> Book:
    """Return a book with one published source, ``study``, that covers the region ``here``."""
    source = Source("study", "published", "Anyone", 2000, "A study", "Journal")
    return Book(
        {t.code: t for t in treatments}, {"study": source}, "digest", "2026-01-01", **{"regions": {"here": 1.0}, **more}
    )


def never_y(code: str, **more: Any) -> Record:
    """Return a record that a look at ``y`` contradicts."""
    return says(code, {"x": "always", "y": "never"}, **more)


def hardly_y(code: str) -> Record:
    """Return a record that speaks against ``y`` in likelihood only: silence excludes nothing."""
    return says(code, {"x": "always"})


class World:
    """A vocabulary, a book and its table, with short ways to a ledger.

    The usual one has five characters (``a`` and ``b`` firm), a harmful ``malus-primus`` that always shows x and
    never y, and the harmless ``bonus-primus`` (or ``eaten``) and ``bonus-secundus`` that always show y and z.
    """

    def __init__(
        self,
        bad: Sequence[Record] | None = None,
        *,
        level: str = "kills",
        insist: Sequence[str] = (),
        characters: Mapping[str, Character] | None = None,
        rho: Mapping[str, float] | None = None,
        more: Sequence[Treatment] = (),
        good: Mapping[str, Any] | None = None,
        eaten: str = "bonus-primus",
        model: ErrorModel | None = None,
        book: Mapping[str, Any] | None = None,
    ) -> None:
        usual = {code: feature(code, firm=code in "ab") for code in FEATURES}
        self.vocabulary = words_of(tuple({**usual, **(characters or {})}.values()), rho)
        self.book = book_of(
            treatment("malus-primus", bad or [never_y(c) for c in FEATURES], harm=level, insist=insist),
            treatment(eaten, [says(c, {"y": "always"}) for c in FEATURES], **(good or {})),
            treatment("bonus-secundus", [says(c, {"z": "always"}) for c in FEATURES]),
            *more,
            **(book or {}),
        )
        self.table = compile_table(self.book, self.vocabulary, model)

    def observe(self, find: Find) -> tuple[Observations, ...]:
        """Return what may be used on each fruitbody."""
        return observe(find, self.table, self.vocabulary.conditions, self.vocabulary.palette)

    def stand(self, find: Find, unlisted: float | None = None, prior: Any = None) -> Standing:
        """Return how matters stand for the first fruitbody."""
        return stand(self.table, self.observe(find)[0], prior, unlisted)

    def ledger(self, find: Find, unlisted: float | None = None, prior: Any = None) -> Ledger:
        """Return the ledger of the first fruitbody."""
        return keep_ledger(self.stand(find, unlisted, prior))

    def entry(self, find: Find, unlisted: float | None = None, prior: Any = None) -> Entry:
        """Return the ledger's line for ``malus-primus``."""
        return entry_of(self.ledger(find, unlisted, prior), self.table, "malus-primus")


def entry_of(ledger: Ledger, table: Table, code: str) -> Entry:
    """Return the line of one taxon."""
    return next(e for e in ledger.entries if table.taxa[e.taxon] == code)


def look(character: str, evidence: str | Evidence, **more: Any) -> Look:
    """Return a sure look by the determiner at the first fruitbody."""
    if isinstance(evidence, str):
        evidence = Evidence(states=(evidence,))
    more = {"id": f"look-{character}", "fruitbody": "f1", "observer": "me", **more}
    return Look(character=character, evidence=evidence, **more)


def find_of(seen: Mapping[str, str] | Sequence[Look], **more: Any) -> Find:
    """Return a find of one fruitbody in its prime, determined by its only observer."""
    looks = tuple(look(c, s) for c, s in seen.items()) if isinstance(seen, Mapping) else tuple(seen)
    more = {
        "id": "find-1",
        "date": "2026-09-20",
        "region": "here",
        "fruitbodies": (Fruitbody("f1", "prime"),),
        "determiner": "me",
        "observers": (Observer("me"),),
        **more,
    }
    return Find(looks=looks, **more)


def random_table(
    seed: int,
    *,
    taxa: int = 4,
    features: int = 4,
    states: int = 3,
    harmful: int = 2,
    staged: bool = True,
    shared: bool = True,
    rho: float = 0.5,
    silent: bool = True,
) -> Table:
    """Return an invented table: some taxa with two stage profiles, some characters in one dependence group."""
    rng = np.random.default_rng(seed)
    columns = tuple(
        CharacterColumns(
            code=f"f{i}",
            label=f"feature {i}",
            states=tuple(f"s{k}" for k in range(states)),
            first=i * states,
            group=f"g{i // 2 if shared else i}",
            part=f"p{i % 3}",
            kind="unordered",
            firm=i % 2 == 0,
            error=0.05 + 0.05 * (i % 2),
            minutes=1.0 + i,
            wait_minutes=0.0,
            tools=(),
            destructive=False,
            gate="",
            grows=False,
            of_find=False,
        )
        for i in range(features)
    )
    total = features * states
    row_taxon, row_stages = [], []
    for t in range(taxa):
        cut = int(rng.integers(0, len(STAGES))) if staged else 0
        for part in ((0, cut), (cut, len(STAGES))) if cut else ((0, len(STAGES)),):
            row_taxon.append(t)
            row_stages.append([part[0] <= g < part[1] for g in range(len(STAGES))])
    rows = len(row_taxon)
    truth = rng.dirichlet(np.full(states, 0.4), size=(rows, features)) * 0.96 + 0.04 / states
    stranger = rng.dirichlet(np.ones(taxa))
    even = (1.0 - np.eye(states)) / (states - 1)
    mute = np.zeros(total, dtype=bool)
    mute[-1] = silent
    contradicts = rng.random((harmful, total)) < 0.5
    contradicts[:, mute] = False
    return Table(
        taxa=tuple(f"genus{t}-species" for t in range(taxa)),
        names=tuple(f"Genus{t} species" for t in range(taxa)),
        characters=columns,
        rho={c.group: rho for c in columns},
        harmful=tuple(
            HarmEntry(h, ("kills", "organ")[h % 2], "invented", ("f0",) if h % 2 else (), False, "")
            for h in range(harmful)
        ),
        model=ErrorModel(),
        book="invented",
        truth=truth.reshape(rows, total),
        confusion=np.kron(np.eye(features), even),
        recorded=np.ones((taxa, features), dtype=bool),
        silent=mute,
        excludes=np.zeros((taxa, total), dtype=bool),
        contradicts=contradicts,
        row_taxon=np.array(row_taxon),
        row_stages=np.array(row_stages),
        candidate=np.ones(taxa, dtype=bool),
        stranger=stranger,
        blend=rng.uniform(0.2, 0.6, size=features),
        kin=np.broadcast_to(truth.reshape(rows, total).mean(axis=0), (taxa, total)).copy(),
        abundance=rng.uniform(0.2, 1.0, size=taxa),
        months=rng.uniform(0.1, 1.0, size=(taxa, 12)),
        regions=rng.uniform(0.1, 1.0, size=(taxa, 1)),
        applies={},
        region_codes=("here",),
        covered={"here": 1.0},
    )


def observation(table: Table, character: int, state: int, **more: Any) -> Observation:
    """Return a sure look at one state."""
    c = table.characters[character]
    weights = np.zeros(len(c.states))
    weights[state] = 1.0
    more = {"level": 0, "counts": True, "observer": "me", "sources": (), "words": (c.states[state],), **more}
    return Observation(f"{c.code}-{state}", character, c.first + state, weights, **more)


def observations(table: Table, used: Sequence[Observation], **more: Any) -> Observations:
    """Return looks at one fruitbody of unknown stage."""
    more = {"stage": np.array(table.model.stage_prior), "stage_known": None, "determiner": "me", **more}
    return Observations("f1", tuple(used), (), (), **more)


def standing_of(table: Table, codes: Sequence[int], **more: Any) -> Standing:
    """Return how matters stand after looks given as one state per character, -1 for none."""
    used = [observation(table, i, s) for i, s in enumerate(codes) if s >= 0]
    return stand(table, observations(table, used, **more), log_prior(table, 9, None))


NEED_DUG = (Need("absent", "base_dug", ("whole",)),)
