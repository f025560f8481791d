"""Looks, times and fruitbodies in plain words."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

from trug.characters import Character, Vocabulary
from trug.web.language import code, ngettext
from trug.web.language import gettext as _
from trug.web.words import N_

__all__ = [
    "DEPOSIT_WORDS",
    "METHOD_WORDS",
    "PAPER_WORDS",
    "PART_WORDS",
    "ROLE_WORDS",
    "UNIT_WORDS",
    "day_and_time",
    "ledger_sentence",
    "local_input",
    "minutes_words",
    "seen_words",
    "share_words",
    "spoken",
    "stage_words",
    "told",
    "utc_text",
    "why_not_used",
]

#: Parts of a fruitbody, as headings.
PART_WORDS = {
    "whole": N_("whole"),
    "cap": N_("cap"),
    "hymenophore": N_("gills, pores or spines"),
    "stipe": N_("stipe"),
    "base": N_("base of the stipe"),
    "ring": N_("ring"),
    "section": N_("cut lengthwise"),
    "flesh": N_("flesh and milk"),
    "smell": N_("smell"),
    "taste": N_("taste"),
    "chemistry": N_("reagents"),
    "spores": N_("spores"),
    "hymenium": N_("fertile layer under the microscope"),
    "hyphae": N_("threads under the microscope"),
    "substrate": N_("what it grows on"),
    "circumstance": N_("where and when"),
}
#: How a look was made.
METHOD_WORDS = {
    "eye": N_("seen"),
    "touch": N_("felt"),
    "smell": N_("smelled"),
    "print": N_("from a print"),
    "card": N_("against the reference card"),
    "microscope": N_("under the microscope"),
    "chemical": N_("with a reagent"),
}
#: What a photo shows.
ROLE_WORDS = {
    "habit": N_("as it grew"),
    "cap": N_("cap from above"),
    "underside": N_("underside"),
    "section": N_("cut lengthwise"),
    "base": N_("base"),
    "print": N_("spore print"),
    "spores": N_("under the microscope"),
    "place": N_("the place"),
    "voucher": N_("dried voucher"),
}
#: What a spore print was laid on, and how thick it fell.
PAPER_WORDS = {
    "both": N_("half white, half dark paper"),
    "white": N_("white paper"),
    "dark": N_("dark paper"),
    "glass": N_("glass or foil"),
}
DEPOSIT_WORDS = {
    "thick": N_("thick and dry"),
    "thin": N_("thin"),
    "patchy": N_("patchy"),
    "none": N_("nothing fell"),
}
UNIT_WORDS = {"mm": "mm", "um": "µm", "ratio": ""}


def spoken(words: str) -> str:
    """Return a sentence of the vocabulary in the language of the page; unlike in a template it may hold a "%"."""
    return _(words)


def ledger_sentence(open_severe: int | None, open_all: int | None, *, covered: bool) -> str:
    """Return how much is still open for a fruitbody, by the counts that are stored with it.

    Outside the regions that the book covers, no ledger reaches its best state.
    """
    if open_severe is None or open_all is None:
        return _("not looked at yet: nothing is ruled out")
    if open_severe:
        return ngettext(
            "%(n)s that kills or does lasting damage is not ruled out",
            "%(n)s that kill or do lasting damage are not ruled out",
            open_severe,
        ) % {"n": open_severe}
    if open_all:
        return ngettext(
            "none listed that kills or does lasting damage is left open; %(n)s milder one is not ruled out",
            "none listed that kills or does lasting damage is left open; %(n)s milder ones are not ruled out",
            open_all,
        ) % {"n": open_all}
    if not covered:
        return _("nothing listed is left open, but the book does not cover this region: that says little")
    return _("no listed harmful taxon left open")


def told(evidence: Mapping[str, Any], character: Character | None) -> str:
    """Return the evidence of a look in words; ``evidence`` is that of the find document."""
    if reason := evidence.get("not_seen"):
        return _("could not be seen: %(reason)s") % {"reason": reason}
    if states := evidence.get("states"):
        return _(" or ").join(_state(character, s) for s in states)
    if weights := evidence.get("distribution"):
        ranked = sorted(weights.items(), key=lambda pair: -pair[1])
        return ", ".join(f"{_state(character, s)} {100 * w:.0f} %" for s, w in ranked if w > 0.005)
    unit = _unit(character)
    if size := evidence.get("measurement"):
        spread = f" ± {size['deviation']:g}" if size.get("deviation") else ""
        return f"{size['value']:g}{spread}{unit}"
    if sample := evidence.get("sample"):
        return _sample(sample, unit)
    if colour := evidence.get("colour"):
        lab = ", ".join(f"{v:.0f}" for v in colour["lab"])
        return _("measured colour L*a*b* %(lab)s") % {"lab": lab}
    return ""


def _sample(sample: Mapping[str, Any], unit: str) -> str:
    ends = ""
    if sample.get("p5") is not None and sample.get("p95") is not None:
        ends = f" ({sample['p5']:g}–{sample['p95']:g})"
    numbers = f"{sample['mean']:g} ± {sample['sd']:g}{unit}{ends}"
    return _("%(numbers)s, %(n)s measured") % {"numbers": numbers, "n": sample["n"]}


def _unit(character: Character | None) -> str:
    unit = UNIT_WORDS.get(character.unit, character.unit) if character is not None else ""
    return f" {unit}" if unit else ""


def _state(character: Character | None, code: str) -> str:
    if character is not None and code in character.codes:
        return _(character.state(code).label)
    return code.replace("-", " ")


def minutes_words(minutes: float) -> str:
    """Return a span of time [min] in seconds, minutes or hours."""
    if minutes >= 120:
        n = round(minutes / 60)
        return ngettext("%(n)s hour", "%(n)s hours", n) % {"n": n}
    if minutes < 1:
        return _("%(n)s seconds") % {"n": f"{60 * minutes:.0f}"}
    n = round(minutes)
    return ngettext("%(n)s minute", "%(n)s minutes", n) % {"n": n}


def seen_words(character: Character | None, seen: str) -> str:
    """Return what a determination holds as seen (codes joined by "or", or a size) in words."""
    if character is not None and character.measured:
        return f"{seen}{_unit(character)}"
    return _(" or ").join(_state(character, code) for code in seen.split(" or "))


def stage_words(stage: Any) -> str:
    """Return a stage, or a mixture of stages, in words; nothing where it was not told."""
    if isinstance(stage, str):
        return _(stage)
    if isinstance(stage, Mapping):
        ranked = sorted(stage.items(), key=lambda pair: -pair[1])
        return _(" or ").join(_(name) for name, weight in ranked if weight > 0.005)
    return ""


def share_words(probability: float) -> str:
    """Return a probability [0..1] as a number that people read."""
    if probability > 0.999:
        return "> 99.9 %"
    return "< 0.1 %" if probability < 0.001 else f"{100 * probability:.1f} %"


#: What the determination says of a look that it does not use, and what we say for it.
_BARRED = (
    ("voided", N_("the fruitbody is in a condition that spoils this look")),
    ("sizes are read", N_("sizes are read on grown fruitbodies only")),
    ("contradicts", N_("contradicts another look; neither counts until one is corrected")),
    ("this observer", N_("this observer cannot judge it; it shifts the name but rules nothing out")),
    ("colour judged by", N_("a colour, judged with weak colour vision; it shifts the name but rules nothing out")),
    ("colour judged under", N_("a colour, judged under lamp light; it shifts the name but rules nothing out")),
    ("smell judged", N_("a smell, judged by someone who cannot smell; it shifts the name but rules nothing out")),
    ("marked unsure", N_("marked unsure; it shifts the name but rules nothing out")),
)


def why_not_used(reason: str, character: Character | None, vocabulary: Vocabulary) -> str:
    """Return in the language of the page why a look does not count."""
    if reason.startswith("not seen"):
        return _("could not be seen")
    for start, words in _BARRED:
        if reason.startswith(start):
            return _(words)
    for need in character.needs if character is not None else ():
        if "counts only with" in reason:
            other = vocabulary.characters[need.character]
            states = _(" or ").join(_(other.state(s).label) for s in need.states)
            return _("counts only together with %(look)s: %(states)s") % {"look": _(other.label), "states": states}
    return _(reason)


def day_and_time(text: str | None) -> str:
    """Return a time, ISO 8601 in UTC, as day and local time of day; other text unchanged."""
    from babel.dates import format_datetime

    try:
        moment = datetime.datetime.fromisoformat(text or "")
    except ValueError:
        return text or ""
    return str(format_datetime(moment.astimezone().replace(tzinfo=None), format="d MMMM y, HH:mm", locale=code()))


def local_input(text: str | None) -> str:
    """Return a time in UTC as a field ``datetime-local`` holds it."""
    try:
        return datetime.datetime.fromisoformat(text or "").astimezone().strftime("%Y-%m-%dT%H:%M")
    except ValueError:
        return ""


def utc_text(field: str) -> str | None:
    """Return what a field ``datetime-local`` holds as a time in UTC; None where it is empty or no time."""
    try:
        moment = datetime.datetime.fromisoformat(field).astimezone(datetime.UTC)
    except ValueError:
        return None
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")
