"""What a treatment says, as the pages show it: states with their faces, sizes to scale, and numbered sources."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from markupsafe import Markup

from trug import __version__
from trug.characters import Character, Vocabulary
from trug.drawings import drawn_states
from trug.drawings.size_bar import size_bar
from trug.treatments import Book, Record, Treatment, format_size
from trug.web.language import gettext as _
from trug.web.palette import swatch
from trug.web.words import N_

__all__ = [
    "BEFORE",
    "STAGE_WORDS",
    "UNSOURCED_WORDS",
    "Account",
    "Cited",
    "Notes",
    "Said",
    "Shown",
    "account",
    "accounts_by_part",
    "face",
    "hours",
    "kitchen_standing",
    "shows_colour",
]

STAGE_WORDS = {
    "": "",
    "egg": N_("as an egg"),
    "button": N_("as a button"),
    "young": N_("young"),
    "prime": N_("in its prime"),
    "past": N_("past its prime"),
}
#: What is said before the states of each kind.
BEFORE = {"usual": "", "some": N_("at times"), "also": N_("also"), "rare": N_("rarely"), "never": N_("never")}
#: What is said of a value that no published work stands behind.
UNSOURCED_WORDS = {
    "memory": N_("from memory"),
    "practice": N_("common practice"),
    "definition": N_("by definition"),
}
#: A key of a work as notes write it.
_KEY = re.compile(r"\(([a-z][a-z0-9]*(?:-[a-z0-9]+)+)\)")
_KINDS = {"always": "usual", "usually": "usual", "sometimes": "also", "rarely": "rare"}


@dataclass(frozen=True, slots=True)
class Shown:
    """A state: its code, its word, and its drawing or swatch."""

    code: str
    word: str
    face: Markup


@dataclass(frozen=True, slots=True)
class Said:
    """What is said of one stage, in order: kind (a key of ``BEFORE``) and states."""

    stage: str
    states: tuple[tuple[str, tuple[Shown, ...]], ...]


@dataclass(frozen=True, slots=True)
class Cited:
    """Where a value comes from: number of the note, the place in the work and its own words.

    ``kind`` is ``published`` or a key of ``UNSOURCED_WORDS``; ``also`` are the numbers of works that agree.
    """

    kind: str
    number: int = 0
    at: str = ""
    printed: str = ""
    also: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Account:
    """What a treatment says of one character."""

    character: Character
    said: tuple[Said, ...]
    never: tuple[Shown, ...]
    complete: bool
    size: str
    bar: Markup
    cited: Cited


@dataclass
class Notes:
    """The works that a page cites, numbered as they come."""

    book: Book
    numbers: dict[str, int] = field(default_factory=dict)

    def cite(self, source: str, at: str = "", printed: str = "", also: Iterable[str] = ()) -> Cited:
        """Return the citation of a source, numbered when it is a published work."""
        kind = self.book.source_kind(source)
        if kind != "published":
            return Cited(kind, 0, at, printed)
        more = tuple(self._number(key) for key in also if self.book.source_kind(key) == "published")
        return Cited(kind, self._number(source), at, printed, more)

    def in_text(self, text: str) -> Markup:
        """Return a text in which keys of works, in brackets, are numbered notes."""
        out = Markup("")
        for i, piece in enumerate(_KEY.split(text)):
            if i % 2 and self.book.sources.get(piece) is not None:
                out += Markup('<a href="#note-{0}">[{0}]</a>').format(self._number(piece))
            else:
                out += f"({piece})" if i % 2 else piece
        return out

    def works(self) -> list[tuple[int, str, str]]:
        """Return number, citation and address of every work that was cited; the address may be empty."""
        out = []
        for key, number in self.numbers.items():
            work = self.book.sources[key]
            link = f"https://doi.org/{work.doi}" if work.doi else work.url
            out.append((number, work.cite().lstrip(". "), link if link.startswith(("https://", "http://")) else ""))
        return out

    def _number(self, source: str) -> int:
        return self.numbers.setdefault(source, len(self.numbers) + 1)


def shows_colour(character: Character) -> bool:
    """Whether the states of a character are colours."""
    return (
        character.kind == "colour"
        or character.code in ("spore_print", "latex", "latex_change", "base_cut", "iron_salts")
        or character.code.endswith(("_bruise", "_change"))
        or character.part == "chemistry"
    )


def face(character: Character, state: str, size: int = 44) -> Markup:
    """Return the drawing or the swatch of a state, nothing where it has neither; the word beside it says it.

    Drawings lie in one file for each character, which the browser keeps, and take the colour of the page's text.
    """
    if state in drawn_states(character.code):
        return Markup(
            '<svg class="drawing" aria-hidden="true" viewBox="0 0 96 96" width="{0}" height="{0}">'
            '<use href="/characters/{1}/drawings.svg?{2}#{3}"/></svg>'
        ).format(size, character.code, __version__, state)
    return swatch(state, round(size * 0.6)) if shows_colour(character) else Markup("")


def account(treatment: Treatment, character: Character, notes: Notes, label: str = "") -> Account | None:
    """Return what a treatment says of a character, None where it says nothing.

    Parameters
    ----------
    label : str
        What a screen reader says of the size drawn to scale.
    """
    record = treatment.records.get(character.code)
    if record is None:
        return None
    cited = notes.cite(record.source, record.at, record.printed, record.also)
    if record.size is not None:
        return Account(character, (), (), False, _size(record, character), _bar(record, character, label), cited)
    codes = dict.fromkeys(state for words in record.words.values() for state in words)
    never = () if record.complete else tuple(_shown(character, s) for s in codes if record.excludes(s))
    said = tuple(Said(stage, _by_kind(character, words)) for stage, words in record.words.items())
    return Account(character, said, never, record.complete, "", Markup(""), cited)


def accounts_by_part(treatment: Treatment, vocabulary: Vocabulary, notes: Notes) -> list[tuple[str, list[Account]]]:
    """Return everything that a treatment says, part by part, in the order of the vocabulary."""
    parts: dict[str, list[Account]] = {}
    for character in vocabulary.characters.values():
        found = account(treatment, character, notes, f"{_(character.label)}, mm")
        if found is not None:
            parts.setdefault(character.part, []).append(found)
    return list(parts.items())


def _by_kind(character: Character, words: Mapping[str, str]) -> tuple[tuple[str, tuple[Shown, ...]], ...]:
    kinds: dict[str, list[Shown]] = {"usual": [], "also": [], "rare": []}
    for state, word in words.items():
        if word in _KINDS:
            kinds[_KINDS[word]].append(_shown(character, state))
    told = [("some" if kind == "also" and not kinds["usual"] else kind, tuple(s)) for kind, s in kinds.items() if s]
    return tuple(told)


def _shown(character: Character, state: str) -> Shown:
    return Shown(state, _(character.state(state).label), face(character, state))


def _size(record: Record, character: Character) -> str:
    assert record.size is not None
    unit = {"um": " µm", "ratio": ""}.get(character.unit, f" {character.unit}")
    return format_size(record.size) + unit


def _bar(record: Record, character: Character, label: str) -> Markup:
    size = record.size
    if size is None or character.unit != "mm" or not label:
        return Markup("")
    return Markup(size_bar(size.low, size.high, size.low_extreme, size.high_extreme, label))  # our own drawing


def kitchen_standing(treatment: Treatment, danger: str) -> str:
    """Return ``eaten``, ``stillroom``, ``nobody`` (not for anyone) or ``uncoded``.

    What is poisonous beyond keeping conditions is not for anyone, whatever is told of it.
    """
    harm = treatment.harm
    if danger in ("kills", "organ", "gut") or (harm is not None and harm.thought_good):
        return "nobody"
    if treatment.use is None:
        return "uncoded"
    return "eaten" if treatment.use.kind == "food" else "stillroom"


def hours(span: tuple[float, float]) -> str:
    """Return a span of hours in words, in minutes or days where these are plainer."""
    low, high = span
    if high <= 2:
        told, unit = (60 * low, 60 * high), _("minutes")
    elif low >= 24:
        told, unit = (low / 24, high / 24), _("days")
    elif low < 1:
        return _("%(low)s minutes to %(high)s hours") % {"low": f"{60 * low:.0f}", "high": f"{high:g}"}
    else:
        told, unit = (low, high), _("hours")
    low_text, high_text = f"{told[0]:.3g}", f"{told[1]:.3g}"
    return (
        f"{low_text} {unit}"
        if low_text == high_text
        else _("%(low)s to %(high)s %(unit)s")
        % {
            "low": low_text,
            "high": high_text,
            "unit": unit,
        }
    )
