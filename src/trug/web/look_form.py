"""The form of one look: the open question, and the answer that comes back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from trug.characters import Character, Vocabulary
from trug.determine.record import FruitbodyResult
from trug.errors import InputError
from trug.loaded import Loaded
from trug.web.language import gettext as _
from trug.web.security import Posted
from trug.web.telling import PART_WORDS

__all__ = ["Asked", "Typed", "answer_from", "asked", "is_whole", "may_taste", "shelves", "typed_in"]

#: Fields of a sample, with whether they must be filled in.
SAMPLE = (("n", True), ("mean", True), ("sd", True), ("p5", False), ("p95", False))


#: What fills a form in, by field.
Typed = defaultdict[str, Any]


@dataclass(frozen=True, slots=True)
class Asked:
    """One open question; ``settles`` are the names of harmful taxa that one of its answers would rule out."""

    character: Character
    minutes: float
    wait_minutes: float
    settles: tuple[str, ...]


def typed_in(values: Mapping[str, Any]) -> Typed:
    """Return what fills a form in; a field that is not named is empty."""
    return defaultdict(str, values)


def asked(code: str, result: FruitbodyResult | None, here: Loaded) -> Asked:
    """Return the question for a character, with what the reasoning says of it where it is a look worth making next."""
    character = here.vocabulary.characters[code]
    for line in result.next_looks if result else ():
        if line.character == code:
            settles = tuple(here.book.treatments[t].name for t in line.settles)
            return Asked(character, line.minutes, line.wait_minutes, settles)
    return Asked(character, character.minutes, character.wait_minutes, ())


def is_whole(character: Character) -> bool:
    """Whether a character belongs to the find as a whole rather than to one fruitbody."""
    return character.of_find or character.role == "tree"


def may_taste(code: str, result: FruitbodyResult | None, here: Loaded) -> bool:
    """Whether a look may be asked for: one that is tasted only where the reasoning itself proposes it."""
    if here.vocabulary.characters[code].gate != "taste":
        return True
    return result is not None and any(line.character == code for line in result.next_looks)


def shelves(result: FruitbodyResult, made: set[str], vocabulary: Vocabulary) -> list[tuple[str, list[Character]]]:
    """Return every character that can be looked at, part by part; what is tasted only where it may be."""
    proposed = {line.character for line in result.next_looks} | made
    out: dict[str, list[Character]] = {part: [] for part in PART_WORDS}
    for character in vocabulary.characters.values():
        if character.role != "prior" and (character.gate != "taste" or character.code in proposed):
            out.setdefault(character.part, []).append(character)
    return [(part, characters) for part, characters in out.items() if characters]


def answer_from(form: Posted, character: Character) -> dict[str, Any]:
    """Return the evidence that a form tells.

    Raises
    ------
    InputError
        There is no answer, or there are two at once.
    """
    reason = form.get("not_seen")
    states = form.all("answer")
    sizes = form.get("value") or form.get("mean")
    if form.get("could_not") or (reason and not states and not sizes):
        if states or sizes:
            raise InputError(_("you gave an answer and also that it could not be seen; take one of them back"))
        return {"not_seen": reason or _("no reason given")}
    if not character.measured:
        if not states:
            raise InputError(_("choose what you see; if you could not see it, say so below the answers"))
        return {"states": states}
    if form.get("value"):
        spread = form.get("deviation")
        return {
            "measurement": {
                "value": _number(form, "value"),
                **({"deviation": _number(form, "deviation")} if spread else {}),
            }
        }
    if form.get("mean"):
        return {"sample": {k: _sample_part(form, k) for k, must in SAMPLE if must or form.get(k)}}
    raise InputError(_("write the size as a number; if you could not measure it, say so below"))


def _sample_part(form: Posted, name: str) -> float | int:
    if name != "n":
        return _number(form, name)
    text = form.get("n")
    if not text.isascii() or not text.isdecimal() or len(text) > 6:
        raise InputError(_("say how many were measured, as a whole number such as 30"))
    return int(text)


def _number(form: Posted, name: str) -> float:
    text = form.get(name).replace(",", ".")
    try:
        return float(text)
    except ValueError:
        raise InputError(_("%(text)s is no number; write it like 45 or 7.5") % {"text": repr(text[:20])}) from None
