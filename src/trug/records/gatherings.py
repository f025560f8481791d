"""Finds, their fruitbodies and looks: made, corrected, deleted; what follows from them is worked out anew."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Sequence
from typing import Any

import msgspec
from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session

from trug.characters import Vocabulary
from trug.characters.model import STAGES, Character
from trug.determine.find import METHODS, SURE, Evidence
from trug.determine.record import Determination
from trug.errors import ImplausibleError, InputError, UnknownWordError
from trug.reading import nearest, shown
from trug.records.documents import corrections, day_known, fruitbodies_of, looks_of
from trug.records.find_files import parse_answer
from trug.records.history import Unit
from trug.records.reasoning import Reasoner
from trug.records.signing import standing_of, void_signatures
from trug.records.tables import (
    Class,
    FindRow,
    FindWords,
    FruitbodyRow,
    LookRow,
    Person,
    PlaceRow,
    SporePrint,
    StatedName,
)

__all__ = [
    "add_find",
    "add_fruitbody",
    "check_body",
    "correct_find",
    "correct_fruitbody",
    "delete_look",
    "evidence_of",
    "make_look",
    "make_print",
    "read_print",
    "refresh",
    "search_words",
    "state_name",
]


def add_find(
    unit: Unit,
    reasoner: Reasoner,
    *,
    date: str,
    fruitbodies: int = 1,
    stage: str | None = None,
    **fields: Any,
) -> FindRow:
    """Record a new find with one fruitbody or more; its number counts up within the year.

    Raises
    ------
    InputError
        The date is none or lies in the future, the region or stage is unknown, there are too many fruitbodies, or
        there is no such place, finder or class.
    """
    day = checked_day(date)
    if not 1 <= fruitbodies <= 26:
        raise ImplausibleError("a find holds 1 to 26 fruitbodies; record the others as a find of their own")
    _check_region(reasoner.here.vocabulary, fields.get("region"))
    fields.setdefault("finder_id", unit.person_id)
    _check_named(unit, fields)
    row = unit.make(FindRow(date=day, number=_next_number(unit.session, day), **fields))
    for _ in range(fruitbodies):
        add_fruitbody(unit, reasoner, row.id, stage=stage, then_refresh=False)
    refresh(unit, reasoner, row.id)
    return row


def correct_find(unit: Unit, reasoner: Reasoner, find_id: str, **changes: Any) -> FindRow:
    """Correct what is known of a find as a whole; a change of date, region or place voids its signatures."""
    row = unit.get(FindRow, find_id)
    if "date" in changes:
        changes["date"] = checked_day(changes["date"])
    _check_region(reasoner.here.vocabulary, changes.get("region"))
    _check_named(unit, {field: value for field, value in changes.items() if value != getattr(row, field)})
    before = {field: getattr(row, field) for field in ("date", "region", "place_id", "altitude_m")}
    unit.edit(row, **changes)
    if any(getattr(row, field) != value for field, value in before.items()):
        void_signatures(unit, find_id, None, "date, region or place of the find was corrected")
    refresh(unit, reasoner, find_id)
    return row


def add_fruitbody(
    unit: Unit,
    reasoner: Reasoner,
    find_id: str,
    *,
    stage: Any = None,
    condition: Sequence[str] = (),
    then_refresh: bool = True,
) -> FruitbodyRow:
    """Add a fruitbody to a find, with the next free label."""
    unit.get(FindRow, find_id)
    used = set(unit.session.scalars(select(FruitbodyRow.label).where(FruitbodyRow.find_id == find_id)))
    label = next(name for name in _labels() if name not in used)
    check_body(reasoner.here.vocabulary, stage, condition)
    row = unit.make(FruitbodyRow(find_id=find_id, label=label, stage=stage, condition=list(condition)))
    if then_refresh:
        refresh(unit, reasoner, find_id)
    return row


def correct_fruitbody(unit: Unit, reasoner: Reasoner, body_id: str, **changes: Any) -> FruitbodyRow:
    """Correct stage, condition or notes of a fruitbody, or delete it with ``deleted_at``; voids its signatures."""
    row = unit.get(FruitbodyRow, body_id)
    check_body(reasoner.here.vocabulary, changes.get("stage"), changes.get("condition") or ())
    if unit.edit(row, **changes) and set(changes) - {"notes"}:
        void_signatures(unit, row.find_id, row.id, "stage or condition of the fruitbody was corrected")
    refresh(unit, reasoner, row.find_id)
    return row


def make_look(
    unit: Unit,
    reasoner: Reasoner,
    find_id: str,
    *,
    character: str,
    answer: Any,
    fruitbody_id: str | None = None,
    sure: str = "sure",
    method: str | None = None,
    observer_id: str | None = None,
    sources: Sequence[str] = (),
    blind: bool = False,
    time: str | None = None,
    supersedes: str | None = None,
    then_refresh: bool = True,
) -> LookRow:
    """Record a look.

    It takes the place of the look that the same observer made before at the same feature of the same fruitbody;
    looks of different observers stand side by side, and where they contradict each other neither counts until one is
    corrected or deleted.

    Parameters
    ----------
    answer : Evidence, dict, str, list or number
        The evidence, or a short answer as a find document allows it.
    supersedes : str, optional
        The id of another look that this one corrects.

    Raises
    ------
    InputError
        Unknown find, fruitbody, character, observer or answer; says which words there are. Or the corrected look is
        one at another feature or fruitbody.
    """
    find = unit.get(FindRow, find_id)
    vocabulary = reasoner.here.vocabulary
    known = vocabulary.characters.get(character)
    if known is None or known.role == "prior":
        near = nearest(character, vocabulary.characters)
        raise UnknownWordError(f"unknown character {shown(character)}{near}")
    if fruitbody_id is not None and unit.get(FruitbodyRow, fruitbody_id).find_id != find_id:
        raise InputError("that fruitbody belongs to another find; open its own page")
    whole = known.of_find or known.role == "tree"
    if fruitbody_id is None and not whole:
        raise InputError(f"{known.label} belongs to one fruitbody; choose which (looks are never pooled)")
    evidence = evidence_of(answer, known)
    if sure not in SURE or (method is not None and method not in METHODS):
        raise UnknownWordError(f"how sure is one of {', '.join(SURE)}; the method one of {', '.join(METHODS)}")
    body = None if whole else fruitbody_id
    observer = observer_id or unit.person_id
    if observer_id is not None and unit.session.get(Person, observer_id) is None:
        raise UnknownWordError("there is no such person; choose who made the look")
    corrected = unit.get(LookRow, supersedes) if supersedes else None
    if corrected is not None and (corrected.find_id, corrected.fruitbody_id, corrected.character) != (
        find_id,
        body,
        character,
    ):
        raise InputError("a look corrects one at the same feature of the same fruitbody; make a look of its own")
    earlier = corrected or _current_look(unit.session, find_id, body, character, observer)
    row = LookRow(
        find_id=find_id,
        fruitbody_id=body,
        character=character,
        evidence=msgspec.to_builtins(evidence),
        sure=sure,
        method=method or _usual_method(known.part, known.tools, character),
        observer_id=observer,
        device=unit.device,
        time=time or unit.now,
        sources=list(sources),
        supersedes=earlier.id if earlier else None,
        blind=blind,
    )
    unit.make(row)
    void_signatures(unit, find_id, body, f"{known.label} was looked at anew")
    if then_refresh:
        refresh(unit, reasoner, find.id)
    return row


def evidence_of(answer: Any, character: Character) -> Evidence:
    """Return the evidence that an answer means; InputError where it means none."""
    try:
        plain = msgspec.json.decode(msgspec.json.encode(answer)) if isinstance(answer, Evidence) else answer
        return parse_answer(plain, character)
    except msgspec.ValidationError as error:
        raise InputError(f"{character.code}: the evidence is not read ({error})") from None


def delete_look(unit: Unit, reasoner: Reasoner, look_id: str) -> LookRow:
    """Put a look into the bin; the look that it had corrected stands again."""
    row = unit.get(LookRow, look_id)
    unit.delete(row)
    void_signatures(unit, row.find_id, row.fruitbody_id, "a look was deleted")
    refresh(unit, reasoner, row.find_id)
    return row


def make_print(
    unit: Unit,
    reasoner: Reasoner,
    fruitbody_id: str,
    *,
    colour: str | None,
    observer_id: str | None = None,
    **fields: Any,
) -> SporePrint:
    """Record a spore print, and with its colour the look that it gives.

    A thin or patchy deposit reads paler than it is, so its look is recorded as unsure; no deposit is no look.
    """
    body = unit.get(FruitbodyRow, fruitbody_id)
    row = unit.make(SporePrint(find_id=body.find_id, fruitbody_id=body.id, colour=colour, **fields))
    _look_from_print(unit, reasoner, row, observer_id)
    return row


def read_print(unit: Unit, reasoner: Reasoner, print_id: str, **changes: Any) -> SporePrint:
    """Read a spore print that was laid, or correct it; where colour or deposit change, so does the look it gives."""
    row = unit.get(SporePrint, print_id)
    before = (row.colour, row.deposit)
    unit.edit(row, **changes)
    if (row.colour, row.deposit) == before:
        return row
    of_print = [k for k in looks_of(unit.session, row.find_id) if row.id in k.sources and k.character == "spore_print"]
    if row.colour and row.deposit != "none":
        _look_from_print(unit, reasoner, row, None, supersedes=of_print[-1].id if of_print else None)
        return row
    for look in of_print:
        delete_look(unit, reasoner, look.id)
    return row


def _look_from_print(
    unit: Unit, reasoner: Reasoner, row: SporePrint, observer_id: str | None, supersedes: str | None = None
) -> None:
    """Make the look that a spore print gives; none without colour or deposit."""
    if row.deposit != "none" and row.colour:
        make_look(
            unit,
            reasoner,
            row.find_id,
            character="spore_print",
            answer=row.colour,
            fruitbody_id=row.fruitbody_id,
            sure="sure" if row.deposit == "thick" else "unsure",
            method="print",
            observer_id=observer_id,
            sources=(row.id,),
            supersedes=supersedes,
        )


def state_name(
    unit: Unit, reasoner: Reasoner, find_id: str, name: str, *, stated_by: str = "", remarks: str = ""
) -> StatedName:
    """Write down the name that a person gives a find; no reasoning follows from it, and nothing is released by it."""
    unit.get(FindRow, find_id)
    written = " ".join(name.split())
    if not written:
        raise InputError("the name is missing; write a scientific or an English one")
    taxon = next(
        (t.code for t in reasoner.here.book.treatments.values() if written.lower() in {n.lower() for n in t.names()}),
        "",
    )
    row = unit.make(
        StatedName(
            find_id=find_id,
            name=written,
            taxon=taxon,
            stated_by=stated_by,
            stated_on=unit.now[:10],
            remarks=remarks,
        )
    )
    refresh(unit, reasoner, find_id)
    return row


def refresh(unit: Unit, reasoner: Reasoner, find_id: str) -> Determination | None:
    """Work out anew what follows from the looks of a find: proposed names, open harm, standing, words to search by."""
    session = unit.session
    session.flush()
    row = session.get(FindRow, find_id)
    if row is None:
        return None
    bodies = fruitbodies_of(session, find_id)
    record = None
    if looks_of(session, find_id) and day_known(row.date):
        _, record = reasoner.of(session, find_id)
        results = {r.fruitbody: r for r in record.fruitbodies}
        for body in bodies:
            result = results[body.id]
            severe = sum(not line.ruled_out and line.level in ("kills", "organ") for line in result.ledger)
            whole = sum(not line.ruled_out for line in result.ledger)
            body.proposed, body.open_severe, body.open_all = result.proposed, severe, whole
    else:
        for body in bodies:
            body.proposed, body.open_severe, body.open_all = "", None, None
    proposals = list(dict.fromkeys(b.proposed for b in bodies if b.proposed and b.proposed != "not named"))
    row.name, row.standing = standing_of(session, row, proposals)
    told = [b.open_severe for b in bodies if b.open_severe is not None]
    row.open_severe = max(told) if told else None
    _refresh_words(session, reasoner, row, proposals)
    session.flush()
    return record


def checked_day(date: str) -> str:
    """Return a date as ISO text; InputError where it is none, lies in the future or before 1700."""
    try:
        day = datetime.date.fromisoformat(str(date))
    except ValueError:
        raise InputError(f"{shown(date)} is no date; write it like 2026-10-04") from None
    if day > datetime.date.today() + datetime.timedelta(days=1) or day.year < 1700:
        raise ImplausibleError(f"the date {day} cannot be right; a find lies in the past")
    return day.isoformat()


def _check_region(vocabulary: Vocabulary, region: str | None) -> None:
    regions = vocabulary.characters["region"].codes
    if region and region not in regions:
        raise UnknownWordError(f"unknown region {shown(region)}{nearest(region, regions)} (all: {', '.join(regions)})")


def _check_named(unit: Unit, fields: dict[str, Any]) -> None:
    """Make sure that a place, a person and a class that a find names are there."""
    for field, kind in (("place_id", PlaceRow), ("finder_id", Person), ("class_id", Class)):
        if fields.get(field):
            unit.get(kind, fields[field])


def check_body(vocabulary: Vocabulary, stage: Any, condition: Iterable[str]) -> None:
    """Raise InputError for a stage or a condition that the vocabulary does not know."""
    for word in [stage] if isinstance(stage, str) else list(stage or ()):
        if word not in STAGES:
            raise UnknownWordError(f"unknown stage {shown(word)}{nearest(word, STAGES)} (all: {', '.join(STAGES)})")
    if isinstance(stage, dict):
        weights = [w if isinstance(w, (int, float)) and math.isfinite(w) else -1.0 for w in stage.values()]
        if min(weights, default=-1.0) < 0 or not any(weights):
            raise InputError("a distribution over stages needs weights that are not negative")
    for word in condition:
        if word not in vocabulary.conditions:
            raise UnknownWordError(f"unknown condition {shown(word)}{nearest(word, vocabulary.conditions)}")


def _current_look(
    session: Session, find_id: str, body: str | None, character: str, observer: str | None
) -> LookRow | None:
    """Return the latest look of an observer at a feature that no other look corrects."""
    query = select(LookRow).where(
        LookRow.find_id == find_id,
        LookRow.character == character,
        LookRow.fruitbody_id.is_(None) if body is None else LookRow.fruitbody_id == body,
    )
    rows = session.scalars(query.order_by(LookRow.created_at.desc(), LookRow.id.desc())).all()
    corrected = set(corrections(rows).values())
    mine = (k for k in rows if k.deleted_at is None and k.observer_id == observer)
    return next((k for k in mine if k.id not in corrected), None)


def _usual_method(part: str, tools: Sequence[str], character: str) -> str:
    """Return how a look is usually made."""
    if character == "spore_print":
        return "print"
    if "microscope" in tools:
        return "microscope"
    return {"chemistry": "chemical", "smell": "smell"}.get(part, "eye")


def _labels() -> Iterable[str]:
    letters = "abcdefghijklmnopqrstuvwxyz"
    yield from letters
    yield from (a + b for a in letters for b in letters)


def _next_number(session: Session, day: str) -> str:
    """Return the next free number of a year, such as ``2026-0042``."""
    year = day[:4]
    # Finds from elsewhere bring numbers of any kind; those of another form do not count.
    query = select(FindRow.number).where(
        FindRow.number.like(f"{year}-%"), FindRow.number.regexp_match("^[0-9]{4}-[0-9]{4,9}$")
    )
    last = session.scalar(query.order_by(func.length(FindRow.number).desc(), FindRow.number.desc()).limit(1))
    return f"{year}-{int(last[5:]) + 1 if last else 1:04d}"


def search_words(texts: Iterable[str]) -> str:
    """Return the words of some texts as a find is searched by them: each once, in lower case."""
    return " ".join(dict.fromkeys(" ".join(t for t in texts if t).lower().split()))


def _refresh_words(session: Session, reasoner: Reasoner, row: FindRow, proposals: Sequence[str]) -> None:
    place = session.get(PlaceRow, row.place_id) if row.place_id else None
    finder = session.get(Person, row.finder_id) if row.finder_id else None
    stated = session.scalars(
        select(StatedName.name).where(StatedName.find_id == row.id, StatedName.deleted_at.is_(None))
    )
    english = [reasoner.english_of(name) for name in (row.name, *proposals)]
    told = [row.name, *proposals, *english, *stated, row.number, row.fungarium, row.notes, row.locality]
    told += [place.name if place else "", finder.name if finder else "", row.date]
    words = search_words(told)
    session.execute(delete(FindWords).where(FindWords.find_id == row.id))
    if row.deleted_at is None:
        session.add(FindWords(find_id=row.id, date=row.date, words=words))
