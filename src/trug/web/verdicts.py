"""Why a fruitbody may not go to kitchen or stillroom, said from the codes of the release rule."""

from __future__ import annotations

from dataclasses import dataclass

from trug.determine.record import FruitbodyResult
from trug.loaded import Loaded
from trug.treatments.loader import load_kitchen
from trug.web.language import gettext as _
from trug.web.language import ngettext
from trug.web.telling import ledger_sentence
from trug.web.words import LEVEL_WORDS, N_

__all__ = ["Refusal", "condition_words", "ledger_told", "refusals"]

#: What needs no more than its code.
_PLAIN = {
    "unsigned": N_("No person has signed a name with the specimen in hand."),
    "beginners": N_("The trade warns beginners off this group; a student's name for it is not released."),
    "unexamined": N_("This fruitbody was not looked at singly."),
    "unlisted": N_("It may be a fungus that is not in the book."),
    "conflict": N_("Looks contradict each other; none of them counts until one is corrected."),
    "region": N_("The find does not come from a region that the book covers, or no region is given."),
}
#: What is about the name that is signed.
_OF_NAME = {
    "not-a-name": N_("%(name)s is not a name that can be signed for."),
    "not-used": N_("The book does not have %(name)s as eaten or used."),
    "poor-fit": N_("The looks fit %(name)s poorly."),
    "contradicted": N_("The account of %(name)s excludes what was seen: look again."),
}


@dataclass(frozen=True, slots=True)
class Refusal:
    """One reason in words; ``names`` are the fungi that it is about, where it is about several."""

    code: str
    words: str
    names: tuple[str, ...] = ()


def refusals(result: FruitbodyResult, here: Loaded) -> tuple[Refusal, ...]:
    """Return every reason against releasing a fruitbody under the name its record was made for; none where it is."""
    out: list[Refusal] = []
    names = {line.taxon: line.name for line in result.ledger}
    still = tuple(names.get(taxon, taxon) for code, _text, taxon, _looks in result.release.reasons if code == "open")
    for code, text, taxon, _looks in result.release.reasons:
        if code != "open":
            out.append(Refusal(code, _said(code, text, taxon, result, here)))
    if still:
        words = ngettext("%(n)s harmful fungus is not ruled out.", "%(n)s harmful fungi are not ruled out.", len(still))
        out.append(Refusal("open", words % {"n": len(still)}, still))
    return tuple(out)


def ledger_told(open_severe: int | None, open_all: int | None, result: FruitbodyResult, *, covered: bool) -> str:
    """Return how much is open, in its best state with the looks it rests on and the errors it stands against."""
    if open_all or open_all is None or not covered:
        return ledger_sentence(open_severe, open_all, covered=covered)
    told = ngettext(
        "No listed harmful taxon left open (%(n)s looks, withstands %(k)s error)",
        "No listed harmful taxon left open (%(n)s looks, withstands %(k)s errors)",
        result.withstands,
    )
    return told % {"n": result.looks, "k": result.withstands}


def condition_words(codes: tuple[str, ...] | list[str]) -> list[str]:
    """Return the kitchen's conditions in words."""
    known = load_kitchen().words["conditions"]
    return [_(known.get(code, code)) for code in codes]


def _said(code: str, text: str, taxon: str, result: FruitbodyResult, here: Loaded) -> str:
    if code in _PLAIN:
        return _(_PLAIN[code])
    treatment = here.book.treatments.get(taxon)
    name = treatment.name if treatment else taxon
    if code in _OF_NAME:
        return _(_OF_NAME[code]) % {"name": name}
    if code == "harmful" and treatment is not None and treatment.harm is not None:
        return _("%(name)s is harmful: %(level)s.") % {"name": name, "level": _(LEVEL_WORDS[treatment.harm.level])}
    if code == "not-leading" and result.names:
        return _("The looks fit %(name)s better.") % {"name": result.names[0].name}
    if code == "stage":
        return _("%(name)s is not picked at this stage.") % {"name": name}
    if code == "group":
        label = next((g.label for g in result.groups if g.group == taxon), taxon)
        return _("Not ruled out as a whole group: %(group)s.") % {"group": _(label)}
    if code == "spoiled":
        return _("The fruitbody is spoiled.")
    return _(text)
