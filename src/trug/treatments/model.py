"""Plain objects of the book."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

__all__ = [
    "BUILT_IN_SOURCES",
    "HARM_LEVELS",
    "SEVERE",
    "WORDS",
    "Book",
    "Caution",
    "Group",
    "Harm",
    "Kitchen",
    "Prior",
    "Record",
    "SizeRange",
    "Source",
    "Tradition",
    "Treatment",
    "Use",
]

#: Harm levels from worst to least.
HARM_LEVELS = ("kills", "organ", "gut", "conditional")
#: Harm levels of death and lasting damage.
SEVERE = ("kills", "organ")
#: Words for how often a state occurs.
WORDS = ("always", "usually", "sometimes", "rarely", "never")
#: Source keys that need no entry in ``sources.toml``, with their kind.
BUILT_IN_SOURCES = {"from-memory": "memory", "common-practice": "practice", "by-definition": "definition"}


@dataclass(frozen=True, slots=True)
class SizeRange:
    """A size as the trade writes it: ``(low_extreme–)low–high(–high_extreme)``, all in one unit."""

    low: float
    high: float
    low_extreme: float
    high_extreme: float


@dataclass(frozen=True, slots=True)
class Source:
    """A published work, or one of the built-in keys."""

    key: str
    kind: str
    authors: str = ""
    year: int | None = None
    title: str = ""
    container: str = ""
    doi: str = ""
    isbn: str = ""
    url: str = ""
    read: str = ""

    def cite(self) -> str:
        """Return the work as one line."""
        if self.kind != "published":
            return self.key.replace("-", " ")
        link = (
            f" doi:{self.doi}"
            if self.doi
            else f" ISBN {self.isbn}"
            if self.isbn
            else f" {self.url}"
            if self.url
            else ""
        )
        year = f" ({self.year})" if self.year else ""
        return f"{self.authors}{year}. {self.title}. {self.container}.{link}".replace("..", ".")


@dataclass(frozen=True, slots=True)
class Record:
    """What a treatment says of one character.

    ``words`` maps each stage to (state -> word of frequency); the key ``""`` stands for every stage
    not named. ``size`` is set for measured characters instead. ``complete`` turns every state that is
    not listed into ``never``.
    """

    character: str
    words: dict[str, dict[str, str]]
    size: SizeRange | None
    complete: bool
    source: str
    at: str = ""
    printed: str = ""
    also: tuple[str, ...] = ()

    def excludes(self, state: str) -> bool:
        """Whether the treatment explicitly says that a state never occurs, at any stage."""
        if self.size is not None or not self.words:
            return False
        return all(w.get(state, "never" if self.complete else "") == "never" for w in self.words.values())


@dataclass(frozen=True, slots=True)
class Harm:
    """What a taxon does to people. ``latency_h`` is from the meal to the first signs [h].

    ``thought_good`` marks what has killed or crippled people who ate it as good food: it is not for anyone.
    """

    level: str
    syndrome: str
    latency_h: tuple[float, float] | None
    source: str
    at: str = ""
    printed: str = ""
    condition: str = ""
    beginners: bool = False
    thought_good: bool = False


@dataclass(frozen=True, slots=True)
class Use:
    """Whether and how a taxon is eaten or used, in codes of the kitchen vocabulary.

    ``trim`` is what is cut away, ``cook_because`` why it must be cooked, ``keeps`` how it is preserved.
    """

    kind: str
    stages: tuple[str, ...]
    conditions: tuple[str, ...]
    source: str
    trim: tuple[str, ...] = ()
    cook_because: tuple[str, ...] = ()
    keeps: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Tradition:
    """A traditional use as a source reports it, never advice: form and purpose in codes of the kitchen vocabulary."""

    form: str
    purpose: str
    source: str
    at: str = ""
    printed: str = ""


@dataclass(frozen=True, slots=True)
class Caution:
    """Who must not take it, or what it does not go together with, in a code of the kitchen vocabulary."""

    code: str
    source: str
    at: str = ""
    printed: str = ""


@dataclass(frozen=True, slots=True)
class Kitchen:
    """The vocabulary of kitchen and stillroom: section -> code -> what is shown."""

    words: dict[str, dict[str, str]]

    def say(self, section: str, codes: Iterable[str]) -> list[str]:
        """Return the words for codes of one section."""
        return [self.words[section][code] for code in codes]


@dataclass(frozen=True, slots=True)
class Prior:
    """Where and when a taxon is expected. Never rules anything out."""

    months: frozenset[int] = frozenset()
    months_some: frozenset[int] = frozenset()
    regions: frozenset[str] = frozenset()
    regions_some: frozenset[str] = frozenset()
    altitudes: frozenset[str] = frozenset()
    abundance: str = "occasional"
    source: str = "from-memory"


@dataclass(frozen=True, slots=True)
class Treatment:
    """The coded account of one taxon."""

    code: str
    name: str
    authority: str
    family: str
    english: tuple[str, ...]
    synonyms: tuple[str, ...]
    rank: str
    group: str
    records: dict[str, Record]
    prior: Prior
    harm: Harm | None = None
    use: Use | None = None
    insist: tuple[str, ...] = ()
    traditions: tuple[Tradition, ...] = ()
    cautions: tuple[Caution, ...] = ()
    notes: str = ""

    @property
    def common(self) -> str:
        """The first English name, or the Latin one."""
        return self.english[0] if self.english else self.name

    def names(self) -> tuple[str, ...]:
        """Every name that a user may type."""
        return (self.name, *self.english, *self.synonyms, self.code)


@dataclass(frozen=True, slots=True)
class Group:
    """A whole group that the trade warns of: genera, and the states that define it."""

    code: str
    label: str
    level: str
    genera: tuple[str, ...]
    definition: dict[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class Book:
    """All treatments with their sources; a book equals itself alone, ``digest`` tells whether two hold the same.

    ``digest`` is the SHA-256 of the canonical source texts, vocabulary included. ``regions`` says how well
    each region is covered [0..1]. ``stranger_blend`` (by character) and ``stranger_weight`` (by taxon) describe
    how a species that is not in the book differs from its relatives that are.
    """

    treatments: dict[str, Treatment]
    sources: dict[str, Source]
    digest: str
    date: str
    regions: dict[str, float] = field(default_factory=dict)
    stranger_blend: dict[str, float] = field(default_factory=dict)
    stranger_weight: dict[str, float] = field(default_factory=dict)
    groups: tuple[Group, ...] = ()

    def source_kind(self, key: str) -> str:
        """Return ``published``, ``practice``, ``memory`` or ``definition``."""
        return BUILT_IN_SOURCES.get(key) or self.sources[key].kind

    def danger(self, treatment: Treatment) -> str:
        """Return the harm level of a taxon, for a genus that of the worst warned group it belongs to, or nothing."""
        if treatment.harm is not None:
            return treatment.harm.level
        if treatment.rank != "genus":
            return ""
        levels = {g.level for g in self.groups_of(treatment)}
        return next((level for level in HARM_LEVELS if level in levels), "")

    def groups_of(self, treatment: Treatment) -> tuple[Group, ...]:
        """Return the whole groups that the trade warns of and that a taxon's genus belongs to."""
        return tuple(g for g in self.groups if treatment.code.split("-")[0] in g.genera)

    def counts(self, harm_level: str, source: str) -> bool:
        """Whether an exclusion with this source may speak against a taxon of this harm level."""
        return harm_level != "kills" or self.source_kind(source) in ("published", "definition")
