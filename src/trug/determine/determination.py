"""From a find to its determination: every fruitbody reasoned about by itself, then put together."""

from __future__ import annotations

import functools
from collections import Counter
from collections.abc import Sequence

import msgspec
import numpy as np

from trug.characters import Vocabulary
from trug.determine.find import Find, Observer, Place
from trug.determine.ledger import Contest, Entry, hold_contest, keep_ledger
from trug.determine.nextlooks import NextLook, next_looks
from trug.determine.observations import Observations, observe
from trug.determine.record import (
    CAUTIONS,
    DANGER,
    FORMAT,
    AgainstLine,
    Contribution,
    Determination,
    FruitbodyResult,
    GroupLineRecord,
    LedgerLine,
    NextLine,
    RankedName,
    ReleaseLine,
    canonical,
    digest_of,
)
from trug.determine.release import Release, release
from trug.determine.standing import Standing, group_factor, log_prior, stand, unlisted_prior
from trug.determine.table import Table
from trug.treatments.model import Book
from trug.treatments.words import says

__all__ = [
    "CAUTIONS",
    "DANGER",
    "FORMAT",
    "Contribution",
    "Determination",
    "FruitbodyResult",
    "LedgerLine",
    "RankedName",
    "assemble",
    "canonical",
    "determine",
    "determine_fruitbodies",
    "digest_of",
    "qualify",
    "reasoned_from",
]


def determine(
    find: Find,
    table: Table,
    book: Book,
    vocabulary: Vocabulary,
    *,
    program: str,
    signed: str | None = None,
    names: int = 5,
    looks_ahead: int = 6,
) -> Determination:
    """Return the determination of a find.

    Parameters
    ----------
    find : Find
        In full form, checked.
    program : str
        Version of the program, for the record.
    signed : str, optional
        Code of the name that a person signs; the release verdict is about it.
    names, looks_ahead : int
        How many names and next looks to keep.
    """
    results = determine_fruitbodies(find, table, book, vocabulary, signed=signed, names=names, looks_ahead=looks_ahead)
    return assemble(find, results, table, book, program=program)


def determine_fruitbodies(
    find: Find,
    table: Table,
    book: Book,
    vocabulary: Vocabulary,
    *,
    signed: str | None = None,
    names: int = 5,
    looks_ahead: int = 6,
) -> list[FruitbodyResult]:
    """Return what is reasoned of each fruitbody; no result depends on another fruitbody. See ``determine``."""
    altitude = find.place.altitude_m if find.place is not None else None
    prior = log_prior(table, find.day().month, find.region, altitude)
    u0 = unlisted_prior(table, find.region)
    covered = _covered(find, table)
    results = []
    for seen in observe(find, table, vocabulary.conditions, vocabulary.palette):
        standing = stand(table, seen, prior, u0)
        results.append(_fruitbody(find, standing, book, vocabulary, signed, covered, names, looks_ahead))
    return results


def assemble(
    find: Find, results: Sequence[FruitbodyResult], table: Table, book: Book, *, program: str
) -> Determination:
    """Return the record that holds the results for the fruitbodies of a find."""
    return Determination(
        format=FORMAT,
        find=find.id,
        find_sha256=digest_of(reasoned_from(find)),
        book_sha256=book.digest,
        book_date=book.date,
        program=program,
        error_model=msgspec.to_builtins(table.model),
        region=find.region,
        covered=_covered(find, table),
        coverage=_coverage(find, table, book, [r.names[0].taxon for r in results if r.names]),
        danger=DANGER,
        fruitbodies=tuple(results),
        cautions=CAUTIONS,
    )


def reasoned_from(find: Find) -> Find:
    """Return what of a find bears on its determination: all but the point on the map, the notes and what is extra.

    Its hash stands in records that others see. The hash of an exact point could be guessed back to the point.
    """
    place = None if find.place is None else Place(0.0, 0.0, altitude_m=find.place.altitude_m)
    return msgspec.structs.replace(find, place=place, notes=None, extra={})


def _covered(find: Find, table: Table) -> bool:
    return find.region is not None and table.covered.get(find.region, 0.0) > 0.0


def _fruitbody(
    find: Find,
    standing: Standing,
    book: Book,
    vocabulary: Vocabulary,
    signed: str | None,
    covered: bool,
    names: int,
    looks_ahead: int,
) -> FruitbodyResult:
    table, seen = standing.table, standing.observations
    contest = hold_contest(standing)
    ledger = keep_ledger(standing, contest)
    who = _observer(find, seen)
    ahead = next_looks(
        contest,
        tools=frozenset(who.tools) if who is not None and who.tools is not None else None,
        may_taste=who is not None and who.may_taste and who.practice == "practised",
        skip=frozenset(who.blind_to) if who is not None else frozenset(),
        count=looks_ahead,
    )
    verdict = release(
        standing,
        ledger,
        book.treatments.get(signed) if signed else None,
        student=_student(find, who),
        covered=covered,
    )
    order = np.argsort(-standing.posterior, kind="stable")[:names]
    fit = standing.fit
    n_open = len(ledger.left_open)
    if n_open or not covered:
        summary = f"{n_open} of {len(ledger.entries)} harmful taxa are still open"
        if not covered:
            summary += "; the find does not come from a region that this book covers"
    else:
        errors = "1 error" if ledger.withstands == 1 else f"{ledger.withstands} errors"
        summary = f"no listed harmful taxon left open ({ledger.looks} looks, withstands {errors})"
    return FruitbodyResult(
        fruitbody=seen.fruitbody,
        proposed=qualify(standing, book),
        names=tuple(_ranked(standing, book, int(t)) for t in order),
        unlisted=standing.unlisted,
        surprise=fit.surprise if fit else None,
        misfits=fit.misfits if fit else (),
        excluded=fit.excluded if fit else (),
        poor_fit=fit.poor if fit else False,
        looks=ledger.looks,
        observers=ledger.observers,
        summary=summary,
        withstands=ledger.withstands,
        ledger=tuple(_line(e, contest, book, vocabulary) for e in ledger.entries),
        groups=tuple(
            GroupLineRecord(
                g.group.code,
                g.group.label,
                g.group.level,
                g.open,
                tuple(table.taxa[t] for t in g.members_open),
                g.outside,
            )
            for g in ledger.groups
        ),
        next_looks=tuple(_next(n, vocabulary) for n in ahead),
        contributions=_contributions(standing),
        not_used=tuple((b.look, b.character, b.reason) for b in seen.barred),
        conflicts=seen.conflicts,
        release=_release(verdict),
    )


def _observer(find: Find, seen: Observations) -> Observer | None:
    """The observer whose eyes and tools count for what to do next: the determiner, or the only one told of."""
    if seen.determiner is not None:
        return seen.observers.get(seen.determiner)
    return find.observers[0] if len(find.observers) == 1 else None


def _student(find: Find, who: Observer | None) -> bool:
    """Whether the determination is a student's: the determiner's practice, or anybody's where no one answers."""
    answers = [who] if who is not None else list(find.observers)
    return any(o.practice != "practised" for o in answers)


def qualify(standing: Standing, book: Book) -> str:
    """Return the proposed name with its open-nomenclature qualifier.

    Plain from 95 %; ``cf.`` from one half; ``Genus sp.`` where only the genus is likely; ``aff.`` where the
    fit is poor, a stranger is likely, or the account excludes a look; otherwise "not named".
    """
    table = standing.table
    if not standing.observations.used:
        return "not named"
    top = standing.leading
    name = table.names[top]
    genus, _, epithet = name.partition(" ")
    listed = float(standing.posterior.sum()) or 1.0
    share = float(standing.posterior[top]) / listed
    alike = (
        sum(float(p) for p, n in zip(standing.posterior, table.names, strict=True) if n.split()[0] == genus) / listed
    )
    fit = standing.fit
    strange = standing.unlisted >= table.model.unlisted_limit or (fit is not None and (fit.poor or fit.excluded))
    rank = book.treatments[table.taxa[top]].rank
    if share >= 0.5 and rank == "genus":
        return "not named" if strange and share < 0.8 else f"{genus} sp."
    if share < 0.5:
        return f"{genus} sp." if alike >= 0.8 else "not named"
    if strange:
        return f"{genus} aff. {epithet}" if share >= 0.8 and standing.unlisted < 0.5 else "not named"
    whole = " (aggregate)" if rank == "aggregate" else ""
    return f"{name}{whole}" if share >= 0.95 else f"{genus} cf. {epithet}"


def _ranked(standing: Standing, book: Book, t: int) -> RankedName:
    treatment = book.treatments[standing.table.taxa[t]]
    return RankedName(
        treatment.code,
        treatment.name,
        treatment.common,
        float(standing.posterior[t]),
        book.danger(treatment),
    )


def _line(e: Entry, contest: Contest, book: Book, vocabulary: Vocabulary) -> LedgerLine:
    table = contest.standing.table
    treatment = book.treatments[table.taxa[e.taxon]]
    harm = treatment.harm
    assert harm is not None
    against = []
    for a in e.against:
        told, source, at = _account(book, treatment.code, a.character)
        against.append(AgainstLine(a.look, a.character, _joined(a.words), told, a.firm, source, at))
    return LedgerLine(
        taxon=treatment.code,
        name=treatment.name,
        english=treatment.common,
        rank=treatment.rank,
        level=harm.level,
        syndrome=harm.syndrome,
        latency_h=harm.latency_h,
        ruled_out=e.ruled_out,
        against=tuple(against),
        margin=e.margin,
        weakest=e.weakest,
        withstands=e.withstands,
        open_for=e.open_for,
        still_to_look=e.insist_missing,
        probability=float(contest.standing.posterior[e.taxon]),
    )


@functools.lru_cache(maxsize=1 << 15)
def _account(book: Book, taxon: str, character: str) -> tuple[str, str, str]:
    """Return what a treatment says of a character, from which source, and where in it."""
    record = book.treatments[taxon].records[character]
    return says(record), record.source, record.at


@functools.lru_cache(maxsize=1 << 12)
def _joined(words: tuple[str, ...]) -> str:
    return " or ".join(words)


def _next(n: NextLook, vocabulary: Vocabulary) -> NextLine:
    c = vocabulary.characters[n.character]
    return NextLine(
        n.character,
        c.label,
        c.question,
        c.how,
        n.minutes,
        n.wait_minutes,
        n.tools,
        n.destructive,
        c.caution,
        n.per_minute,
        n.settles,
    )


def _contributions(standing: Standing) -> tuple[Contribution, ...]:
    table, used = standing.table, standing.observations.used
    if not used:
        return ()
    top = standing.leading
    others = standing.posterior.copy()
    others[top] = -1.0
    rival = int(np.argmax(others))
    best, second = (_best_row(standing, t) for t in (top, rival))
    mean = np.log(np.exp(standing.vectors[:, table.row_start]).mean(axis=1))
    groups = [table.characters[o.character].group for o in used]
    out = []
    for i, o in enumerate(used):
        factor = group_factor(groups.count(groups[i]), table.rho.get(groups[i], 0.0))
        over_rival = factor * float(standing.vectors[i, best] - standing.vectors[i, second])
        over_mean = factor * float(standing.vectors[i, best] - mean[i])
        c = table.characters[o.character]
        out.append(
            Contribution(o.look, c.code, c.label, " or ".join(o.words), over_rival, over_mean, _weigh(over_mean))
        )
    return tuple(sorted(out, key=lambda x: -abs(x.over_average)))


def _best_row(standing: Standing, taxon: int) -> int:
    rows = np.flatnonzero(standing.table.row_taxon == taxon)
    return int(rows[np.argmax(standing.rows[rows])])


def _weigh(nats: float) -> str:
    size = "strongly " if abs(nats) >= 2.0 else "" if abs(nats) >= 0.7 else "a little "
    if abs(nats) < 0.2:
        return "says little"
    return f"speaks {size}{'for' if nats > 0 else 'against'} the leading name"


def _release(verdict: Release) -> ReleaseLine:
    return ReleaseLine(
        verdict.name,
        verdict.allowed,
        tuple((r.code, r.text, r.taxon, r.looks) for r in verdict.reasons),
        verdict.kitchen,
    )


def _coverage(find: Find, table: Table, book: Book, leading: Sequence[str]) -> str:
    """Say how well the book covers the region and the leading groups."""
    count = sum(1 for t in book.treatments.values() if t.rank != "group")
    if find.region is None:
        where = "no region was given, so coverage is not known"
    elif table.covered.get(find.region, 0.0) <= 0.0:
        where = f"the region '{find.region}' is not covered by this book"
    else:
        share = table.covered[find.region]
        word = "the best that this book has" if share >= 0.95 else "fair" if share >= 0.6 else "thin"
        where = f"coverage of '{find.region}' is {word}"
    filed = dict.fromkeys(book.treatments[code].group for code in leading)
    held = Counter(t.group for t in book.treatments.values())
    groups = "; ".join(f"{held[group]} filed as '{group}'" for group in filed)
    return (
        f"This book holds {count} fungi of several thousand that a walk can meet{f' ({groups})' if groups else ''}; "
        f"{where}. It holds the usual harmful species and their confusions, not every one."
    )
