"""Compile treatments into the table that the engine reads."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from trug.characters.model import STAGES, Character, Vocabulary
from trug.determine.model import ErrorModel
from trug.determine.table import CharacterColumns, GroupEntry, HarmEntry, Table
from trug.treatments.model import HARM_LEVELS, Book, Group, SizeRange, Treatment

__all__ = ["bin_edges", "compile_table", "size_distribution", "word_distribution"]

Floats = NDArray[np.float64]

_Z90 = 1.6448536269514722  # standard normal quantile of 0.95
#: Altitude bands, from low to high.
ALTITUDES = ("lowland", "hill", "montane", "subalpine")
_ABUNDANCE = {"common": 1.0, "occasional": 0.7, "rare": 0.4}


def bin_edges(span: tuple[float, float], count: int) -> tuple[float, ...]:
    """Return ``count + 1`` logarithmic edges over a span."""
    low, high = span
    return tuple(float(e) for e in np.geomspace(low, high, count + 1))


def word_distribution(words: dict[str, str], complete: bool, codes: tuple[str, ...], model: ErrorModel) -> Floats:
    """Return the probability of each state from words of frequency.

    Named states share what the unsaid and the excluded leave, in proportion to the weights of their words.
    States left unsaid share ``unsaid_mass``, unless the record is complete, which excludes them.
    """
    weight = np.array([model.weights.get(words.get(c, ""), 0.0) for c in codes])
    never = np.array([words.get(c, "never" if complete else "") == "never" for c in codes])
    unsaid = ~never & (weight == 0.0)
    out = np.where(never, model.never_mass, 0.0)
    if unsaid.any():
        out[unsaid] = model.unsaid_mass / unsaid.sum()
    named = weight > 0.0
    out[named] = weight[named] / weight.sum() * (1.0 - out.sum())
    return out


def size_distribution(size: SizeRange, edges: Floats, sigma_least: float, model: ErrorModel) -> Floats:
    """Return the probability of each bin: a log-normal with the printed range as its middle 90 %.

    The spread is widened where the printed extremes reach further than that log-normal would (as 99.9 %).
    """
    middle = 0.5 * (math.log(size.low) + math.log(size.high))
    sigma = (math.log(size.high) - math.log(size.low)) / (2.0 * _Z90)
    sigma = max(
        sigma,
        (middle - math.log(size.low_extreme)) / 3.09,
        (math.log(size.high_extreme) - middle) / 3.09,
        sigma_least,
    )
    below = np.array([0.5 * (1.0 + math.erf((math.log(e) - middle) / (sigma * math.sqrt(2.0)))) for e in edges])
    below[0], below[-1] = 0.0, 1.0
    p = np.diff(below)
    return np.asarray((1.0 - model.unsaid_mass) * p / p.sum() + model.unsaid_mass / len(p))


def compile_table(book: Book, vocabulary: Vocabulary, model: ErrorModel | None = None) -> Table:
    """Return the compiled table of a book.

    Parameters
    ----------
    book : Book
        At least one treatment.
    vocabulary : Vocabulary
        The characters that its treatments use.
    model : ErrorModel, optional
        The constants; the documented defaults where None.

    Raises
    ------
    ValueError
        An empty book.
    """
    model = model or ErrorModel()
    treatments = list(book.treatments.values())
    if not treatments:
        raise ValueError("compile_table: book must hold at least one treatment, got none")
    columns = _columns(vocabulary)
    by_code = {c.code: c for c in vocabulary.looks()}
    rows: list[Floats] = []
    row_taxon: list[int] = []
    row_stages: list[list[bool]] = []
    recorded = np.zeros((len(treatments), len(columns)), dtype=bool)
    total = columns[-1].last
    for t, treatment in enumerate(treatments):
        profiles: dict[bytes, int] = {}
        for g, row in enumerate(_stage_rows(treatment, columns, by_code, model)):
            key = row.tobytes()
            if key not in profiles:
                profiles[key] = len(rows)
                rows.append(row)
                row_taxon.append(t)
                row_stages.append([False] * len(STAGES))
            row_stages[profiles[key]][g] = True
        recorded[t] = [c.code in treatment.records for c in columns]
    truth = np.array(rows)
    harmful = [(t, x) for t, x in enumerate(treatments) if x.harm is not None]
    harmful.sort(key=lambda pair: (HARM_LEVELS.index(pair[1].harm.level), pair[1].code))  # type: ignore[union-attr]
    excludes = np.array([_exclusions(x, columns, by_code, model) for x in treatments], dtype=bool)
    counting = np.array([_that_count(book, x, columns, by_code) for _, x in harmful], dtype=bool).reshape(-1, total)
    candidate = np.array([x.rank != "group" for x in treatments])
    table = _fill(
        Table(
            taxa=tuple(x.code for x in treatments),
            names=tuple(x.name for x in treatments),
            characters=columns,
            rho=dict(vocabulary.rho),
            harmful=tuple(_harm_entry(t, x) for t, x in harmful),
            model=model,
            book=book.digest,
            truth=truth,
            confusion=_confusion(vocabulary, columns, model),
            recorded=recorded,
            silent=np.array([s in by_code[c.code].silent for c in columns for s in c.states]),
            excludes=excludes,
            contradicts=excludes[[t for t, _ in harmful]] & counting,
            row_taxon=np.array(row_taxon),
            row_stages=np.array(row_stages),
            candidate=candidate if candidate.any() else np.ones(len(treatments), dtype=bool),
            stranger=_stranger(book, treatments),
            abundance=np.array([_ABUNDANCE[x.prior.abundance] for x in treatments]),
            months=np.array([_months(x) for x in treatments]),
            regions=np.array([_regions(x, vocabulary, model) for x in treatments]),
            applies={
                c.code: (c.applies.character, c.applies.states)
                for c in vocabulary.characters.values()
                if c.applies is not None
            },
            altitudes=np.array([_altitudes(x) for x in treatments]),
            region_codes=vocabulary.characters["region"].codes,
            covered=dict(book.regions),
            warned=tuple(_group_entry(g, harmful) for g in book.groups),
            blend=np.array([book.stranger_blend.get(c.code, model.blend) for c in columns]),
            kin=np.zeros((len(treatments), total)),
        )
    )
    return replace(table, kin=_kin(table, [x.group for x in treatments], model))


def _fill(table: Table) -> Table:
    """Put the background where a treatment does not record a character."""
    ground = table.background
    for i, c in enumerate(table.characters):
        block = slice(c.first, c.last)
        missing = ~table.recorded[table.row_taxon, i]
        table.truth[missing, block] = ground[block]
    return table


def _columns(vocabulary: Vocabulary) -> tuple[CharacterColumns, ...]:
    columns = []
    first = 0
    for c in vocabulary.looks():
        columns.append(
            CharacterColumns(
                code=c.code,
                label=c.label,
                states=c.codes,
                first=first,
                group=c.group,
                part=c.part,
                kind=c.kind,
                firm=c.firm,
                error=c.error,
                minutes=c.minutes,
                wait_minutes=c.wait_minutes,
                tools=c.tools,
                destructive=c.destructive,
                gate=c.gate,
                grows=c.grows,
                of_find=c.of_find,
                applies=(c.applies.character, c.applies.states) if c.applies else None,
                needs=tuple((n.state, n.character, n.states) for n in c.needs),
                edges=bin_edges(c.span, len(c.states)) if c.span else (),
            )
        )
        first += len(c.states)
    return tuple(columns)


def _stage_rows(
    treatment: Treatment, columns: tuple[CharacterColumns, ...], by_code: dict[str, Character], model: ErrorModel
) -> Floats:
    """Return the probability of every state at each stage (G, S), not a number where nothing is recorded."""
    rows = np.full((len(STAGES), columns[-1].last), np.nan)
    for c in columns:
        record = treatment.records.get(c.code)
        if record is None:
            continue
        block = slice(c.first, c.last)
        if record.size is not None:
            sigma = model.spore_sigma if by_code[c.code].part == "spores" else model.size_sigma
            rows[:, block] = size_distribution(record.size, np.array(c.edges), sigma, model)
            continue
        said = {
            named: word_distribution(words, record.complete, c.states, model) for named, words in record.words.items()
        }
        for g, stage in enumerate(STAGES):
            rows[g, block] = said[_nearest_stage(record.words, stage)]
    return rows


def _nearest_stage(words: dict[str, dict[str, str]], stage: str) -> str:
    if "" in words:
        return ""
    at = STAGES.index(stage)
    return min(words, key=lambda s: (abs(STAGES.index(s) - at), -STAGES.index(s)))


def _confusion(vocabulary: Vocabulary, columns: tuple[CharacterColumns, ...], model: ErrorModel) -> Floats:
    total = columns[-1].last
    out = np.zeros((total, total))
    for c in columns:
        n = len(c.states)
        block = np.zeros((n, n))
        if c.kind == "measured":
            at = np.arange(n)
            block = np.exp(-0.5 * ((at[:, None] - at[None, :]) / 2.0) ** 2)
        else:
            place = {s: i for i, s in enumerate(c.states)}
            for a, b, weight in vocabulary.characters[c.code].near:
                block[place[a], place[b]] = max(block[place[a], place[b]], weight)
                block[place[b], place[a]] = max(block[place[b], place[a]], weight)
        np.fill_diagonal(block, 0.0)
        sums = block.sum(axis=1, keepdims=True)
        share = np.minimum(sums, model.near_share)
        even = (1.0 - np.eye(n)) / max(n - 1, 1)
        with np.errstate(invalid="ignore", divide="ignore"):
            near = np.where(sums > 0, block / sums * share, 0.0)
        out[c.first : c.last, c.first : c.last] = near + (1.0 - share) * even
    return out


def _exclusions(
    treatment: Treatment,
    columns: tuple[CharacterColumns, ...],
    by_code: dict[str, Character],
    model: ErrorModel,
) -> list[bool]:
    """Return for each column whether the treatment explicitly excludes it; what says nothing never does."""
    flags: list[bool] = []
    for c in columns:
        character, record = by_code[c.code], treatment.records.get(c.code)
        if record is None or character.never_excludes:
            flags += [False] * len(c.states)
        elif record.size is not None:
            tolerance = model.spore_tolerance if character.part == "spores" else model.size_tolerance
            low = record.size.low_extreme * (1.0 - tolerance)
            high = record.size.high_extreme * (1.0 + tolerance)
            flags += [b < low or a > high for a, b in zip(c.edges[:-1], c.edges[1:], strict=True)]
        else:
            flags += [s not in character.silent and record.excludes(s) for s in c.states]
    return flags


def _that_count(
    book: Book, treatment: Treatment, columns: tuple[CharacterColumns, ...], by_code: dict[str, Character]
) -> list[bool]:
    """Return for each column whether an exclusion may speak against a harmful taxon: its source and its character."""
    assert treatment.harm is not None
    level = treatment.harm.level
    flags: list[bool] = []
    for c in columns:
        record = treatment.records.get(c.code)
        weak = level == "kills" and by_code[c.code].weak_for_kills
        flags += [record is not None and not weak and book.counts(level, record.source)] * len(c.states)
    return flags


def _harm_entry(t: int, treatment: Treatment) -> HarmEntry:
    harm = treatment.harm
    assert harm is not None
    return HarmEntry(t, harm.level, harm.syndrome, treatment.insist, harm.beginners, harm.condition)


def _group_entry(group: Group, harmful: list[tuple[int, Treatment]]) -> GroupEntry:
    members = tuple(t for t, x in harmful if x.code.split("-")[0] in group.genera)
    return GroupEntry(group.code, group.label, group.level, members, group.genera, group.definition)


def _stranger(book: Book, treatments: list[Treatment]) -> Floats:
    """Weight of a stranger that resembles each taxon."""
    raw = np.array([book.stranger_weight.get(x.code, 1.0) * (x.rank != "group") for x in treatments])
    return np.asarray(raw / raw.sum()) if raw.sum() else np.full(len(treatments), 1.0 / len(treatments))


def _kin(table: Table, groups: list[str], model: ErrorModel) -> Floats:
    """Background of each taxon's group (T, S), with one taxon's worth of the whole book mixed in."""
    mean = table.over_stages(table.truth)
    known = table.recorded[:, table.column_character] & table.candidate[:, None]
    ground = table.background
    out = np.empty_like(mean)
    for group in set(groups):
        at = np.array([g == group for g in groups])
        own = (np.where(known, mean, 0.0)[at].sum(axis=0) + ground) / (known[at].sum(axis=0) + 1.0)
        out[at] = (1.0 - model.kin_share) * ground + model.kin_share * own
    return out


def _months(treatment: Treatment) -> list[float]:
    prior = treatment.prior
    if not prior.months:
        return [1.0] * 12
    out = []
    for m in range(1, 13):
        beside = {(m - 2) % 12 + 1, m % 12 + 1}
        out.append(1.0 if m in prior.months else 0.35 if m in prior.months_some or beside & prior.months else 0.05)
    return out


def _regions(treatment: Treatment, vocabulary: Vocabulary, model: ErrorModel) -> list[float]:
    prior = treatment.prior
    out = []
    for region in vocabulary.characters["region"].codes:
        known = prior.regions or prior.regions_some
        if not known or region == "elsewhere" or region in prior.regions:
            out.append(1.0)
        else:
            out.append(0.35 if region in prior.regions_some else model.prior_floor)
    return out


def _altitudes(treatment: Treatment) -> list[float]:
    """Weight of each altitude band; a band that the treatment leaves out is half as likely."""
    known = treatment.prior.altitudes
    return [1.0 if not known or band in known else 0.5 for band in ALTITUDES]
