"""Plain objects of the vocabulary."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = ["KINDS", "ROLES", "STAGES", "Character", "Condition", "Need", "State", "Vocabulary"]

#: Stages of a fruitbody, in order of age.
STAGES = ("egg", "button", "young", "prime", "past")
#: How the states of a character relate.
KINDS = ("unordered", "ordered", "colour", "measured")
#: ``look`` is evidence; ``prior`` only shifts what is expected; ``procedure`` tells how a look was made;
#: ``tree`` tells which tree a bare trunk was.
ROLES = ("look", "prior", "procedure", "tree")


@dataclass(frozen=True, slots=True)
class State:
    """One value of a character."""

    code: str
    label: str
    definition: str


@dataclass(frozen=True, slots=True)
class Need:
    """A state that speaks only if another look was made: no missing volva without the base dug out."""

    state: str
    character: str
    states: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Character:
    """A feature that is observed.

    ``error`` is the share of looks that name a wrong state [0..1]; ``near`` says which wrong
    state is likely (state, state, weight). ``group`` is the dependence group; ``part`` the organ.
    ``silent`` states say nothing: what falls off or washes off and is merely missing.
    ``minutes`` is work, ``wait_minutes`` waiting [min]. ``unit`` and ``span`` belong to measured ones.
    """

    code: str
    label: str
    question: str
    how: str
    part: str
    kind: str
    states: tuple[State, ...]
    error: float
    group: str
    firm: bool = False
    role: str = "look"
    minutes: float = 1.0
    wait_minutes: float = 0.0
    tools: tuple[str, ...] = ()
    destructive: bool = False
    caution: str = ""
    silent: frozenset[str] = frozenset()
    needs: tuple[Need, ...] = ()
    applies: Need | None = None
    near: tuple[tuple[str, str, float], ...] = ()
    weak_for_kills: bool = False
    never_excludes: bool = False
    of_find: bool = False
    grows: bool = False
    gate: str = ""
    unit: str = ""
    span: tuple[float, float] | None = None

    @property
    def measured(self) -> bool:
        """Whether it is a size rather than a word."""
        return self.kind == "measured"

    @property
    def codes(self) -> tuple[str, ...]:
        """Codes of the states, in order."""
        return tuple(s.code for s in self.states)

    def state(self, code: str) -> State:
        """Return a state by its code; KeyError where there is none."""
        for s in self.states:
            if s.code == code:
                return s
        raise KeyError(code)


@dataclass(frozen=True, slots=True)
class Condition:
    """A condition of a fruitbody, the looks that it voids, and whether it spoils a good species."""

    code: str
    label: str
    definition: str
    voids: frozenset[str]
    spoils: bool


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """All characters, dependence groups, conditions and colours."""

    characters: dict[str, Character]
    conditions: dict[str, Condition]
    rho: dict[str, float]
    palette: dict[str, tuple[float, float, float]]
    trees: dict[str, dict[str, tuple[str, ...]]] = field(default_factory=dict)
    aliases: dict[str, str] = field(default_factory=dict)

    def looks(self) -> tuple[Character, ...]:
        """Characters that are evidence, in the order of the vocabulary."""
        return tuple(c for c in self.characters.values() if c.role == "look")

    def with_role(self, role: str) -> tuple[Character, ...]:
        """Characters of one role."""
        return tuple(c for c in self.characters.values() if c.role == role)
