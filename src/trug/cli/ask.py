"""Ask for one look at a time, the best next one first, until the person stops."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Sequence
from typing import Any

import typer

from trug.characters import Character
from trug.characters.model import STAGES
from trug.cli.output import console
from trug.cli.render import duration
from trug.determine.find import Evidence, Find, Fruitbody, Look, Observer
from trug.determine.ledger import hold_contest, keep_ledger
from trug.determine.nextlooks import NextLook, next_looks
from trug.determine.observations import observe
from trug.determine.standing import log_prior, stand, unlisted_prior
from trug.errors import InputError, UnknownWordError
from trug.loaded import Loaded
from trug.reading import nearest, shown
from trug.records.find_files import parse_answer

__all__ = ["ask_find"]

#: Probability from which the leading name is shown while asking.
WORTH_NAMING = 0.2

HELP = (
    "Answer with a number, several numbers (2 3) if you hesitate between them, or a size (45 mm). "
    "Add ? to a number if you are unsure. "
    "Press Enter for 'do not know', type s for another question, b to take the last answer back, q to stop."
)


def ask_find(here: Loaded, today: datetime.date, region: str | None) -> Find | None:
    """Return the find that the answers describe, or None where no look was made.

    One fruitbody is asked about: what is not examined singly is not released.
    """
    regions = here.vocabulary.characters["region"].codes
    if region is not None and region not in regions:
        raise UnknownWordError(f"unknown region {region!r}{nearest(region, regions)} (all: {', '.join(regions)})")
    out = console()
    out.print(HELP)
    if region is None:
        region = _choose("In which region was it found?", list(regions))
    stage = _choose("At which stage is this fruitbody?", list(STAGES))
    looks: list[Look] = []
    skipped: set[str] = set()
    while True:
        find = _find(today, region, stage, looks)
        choice = _best(here, find, skipped)
        if choice is None:
            out.print("No further look is worth its time.")
            break
        character = here.vocabulary.characters[choice.character]
        _put_question(choice, character)
        answer = typer.prompt("", default="", show_default=False, prompt_suffix="> ").strip()
        if answer.lower() == "q":
            break
        if answer.lower() == "b":
            if looks:
                skipped.discard(looks.pop().character)
            continue
        if answer.lower() == "s":
            skipped.add(character.code)
            continue
        try:
            evidence, sure = _read_answer(answer, character)
        except InputError as error:
            out.print(f"{error.message}")
            continue
        looks.append(
            Look(f"a.{character.code}", character.code, evidence, None if character.of_find else "a", sure=sure)
        )
    return _find(today, region, stage, looks) if any(k.evidence.not_seen is None for k in looks) else None


def _find(today: datetime.date, region: str | None, stage: str | None, looks: list[Look]) -> Find:
    return Find(
        id=str(uuid.uuid4()),
        date=today.isoformat(),
        region=region,
        fruitbodies=(Fruitbody("a", stage),),
        looks=tuple(looks),
        observers=(Observer("you", may_taste=False),),
        determiner="you",
    )


def _best(here: Loaded, find: Find, skipped: set[str]) -> NextLook | None:
    seen = observe(find, here.table, here.vocabulary.conditions)[0]
    prior = log_prior(here.table, find.day().month, find.region)
    standing = stand(here.table, seen, prior, unlisted_prior(here.table, find.region))
    contest = hold_contest(standing)
    if seen.used:
        ledger = keep_ledger(standing, contest)
        share = float(standing.posterior[standing.leading])
        lead = f"fits best: {here.table.names[standing.leading]}, {100 * share:.0f} %"
        console().print(
            f"[{len(ledger.left_open)} of {len(ledger.entries)} harmful taxa open; "
            f"{lead if share >= WORTH_NAMING else 'no name stands out yet'}]",
            style="dim",
            markup=False,
        )
    ahead = next_looks(contest, may_taste=False, skip=frozenset(skipped), count=1)
    return ahead[0] if ahead else None


def _put_question(choice: NextLook, character: Character) -> None:
    out = console()
    wait = f" + {duration(choice.wait_minutes)} wait" if choice.wait_minutes else ""
    out.print()
    out.print(f"{character.question}  ({duration(choice.minutes)}{wait})", style="bold", markup=False)
    out.print(f"  {character.how}", markup=False)
    if character.caution:
        out.print(f"  Caution: {character.caution}", style="bold", markup=False)
    if character.measured:
        assert character.span is not None
        unit = "" if character.unit == "ratio" else f" {character.unit}"
        out.print(f"  a number{unit}, {character.span[0]:g} to {character.span[1]:g}", markup=False)
        return
    for n, state in enumerate(character.states, 1):
        out.print(f"  {n:2d} {state.label}: {state.definition}", markup=False)


def _read_answer(answer: str, character: Character) -> tuple[Evidence, Any]:
    if not answer.rstrip("? "):
        return Evidence(not_seen="do not know"), "sure"
    sure = "unsure" if answer.endswith("?") else "sure"
    answer = answer.rstrip("? ")
    if character.measured:
        return parse_answer(answer, character), sure
    states = []
    for word in answer.replace(",", " ").split():
        state = _numbered(word, character.codes)
        if state is None:
            raise InputError(f"{shown(word)} is none of the answers; type a number from 1 to {len(character.states)}")
        states.append(state)
    if not states:
        raise InputError(f"type a number from 1 to {len(character.states)}")
    return Evidence(states=tuple(dict.fromkeys(states))), sure


def _numbered(answer: str, words: Sequence[str]) -> str | None:
    """Return the word that is typed, or whose number is typed; None where it is neither."""
    if answer in words:
        return answer
    number = int(answer) if answer.isascii() and answer.isdecimal() and len(answer) < 4 else 0
    return words[number - 1] if 1 <= number <= len(words) else None


def _choose(question: str, words: list[str]) -> str | None:
    out = console()
    out.print()
    out.print(question, style="bold", markup=False)
    for n, word in enumerate(words, 1):
        out.print(f"  {n:2d} {word}", markup=False)
    while True:
        answer = str(typer.prompt("", default="", show_default=False, prompt_suffix="> ")).strip()
        if not answer:
            return None
        if answer.lower() == "q":
            raise InputError("stopped; no look was made, so there is nothing to determine")
        chosen = _numbered(answer, words)
        if chosen is not None:
            return chosen
        out.print(f"Type a number from 1 to {len(words)}, or press Enter for 'do not know'.")
