"""The rule by which a harmful taxon is ruled out, one condition at a time."""

from __future__ import annotations

import itertools
from dataclasses import replace

import msgspec
import numpy as np
import pytest
from builders import (
    ALL_Y,
    FEATURES,
    NEED_DUG,
    World,
    entry_of,
    feature,
    find_of,
    hardly_y,
    look,
    never_y,
    observation,
    observations,
    random_table,
    says,
    treatment,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from trug.characters import Need, Vocabulary
from trug.determine.find import Evidence, Find, Fruitbody, Observer
from trug.determine.ledger import Entry, hold_contest, keep_ledger
from trug.determine.model import ErrorModel
from trug.determine.observations import observe
from trug.determine.standing import by_taxon, log_prior, stand, temper
from trug.determine.table import Table
from trug.treatments.model import Group


@pytest.fixture(scope="module")
def world() -> World:
    return World()


def contradicted(entry: Entry) -> set[str]:
    """Return the characters that speak against a taxon."""
    return {a.character for a in entry.against}


def test_a_taxon_is_ruled_out_when_every_condition_holds(world: World) -> None:
    """Five looks at what it never shows, two of them firm, rule it out."""
    entry = world.entry(find_of(ALL_Y))
    assert entry.ruled_out
    assert contradicted(entry) == set(FEATURES)
    assert entry.margin > world.table.model.margin
    assert [a.firm for a in entry.against] == [True, True, False, False, False]


def test_one_contradiction_is_not_enough() -> None:
    """However large the margin, a single contradiction keeps the entry open."""
    world = World([never_y("a"), *(hardly_y(c) for c in "bcde")])
    entry = world.entry(find_of(ALL_Y))
    assert entry.margin > world.table.model.margin
    assert contradicted(entry) == {"a"}
    assert entry.open_for == ("contradictions",)


def test_two_contradictions_in_one_dependence_group_are_one() -> None:
    """Two looks that tell one fact twice do not make two contradictions."""
    same = {c: feature(c, firm=True, group="shared") for c in "ab"}
    bad = [never_y("a"), never_y("b"), *(hardly_y(c) for c in "cde")]
    entry = World(bad, characters=same).entry(find_of(ALL_Y))
    assert contradicted(entry) == {"a", "b"}
    assert entry.open_for == ("contradictions",)
    assert World(bad).entry(find_of(ALL_Y)).ruled_out


def test_without_a_firm_look_it_stays_open() -> None:
    """Contradictions in characters that weather or age change are not enough, however many."""
    soft = [hardly_y("a"), hardly_y("b"), *(never_y(c) for c in "cde")]
    assert World(soft).entry(find_of(ALL_Y)).open_for == ("firm",)


@pytest.mark.parametrize(
    ("characters", "weakest"),
    [
        ({}, "group group-a"),
        ({c: feature(c, firm=True, part="stipe") for c in "ab"}, "part stipe"),
    ],
)
def test_a_margin_lost_with_one_group_or_part_keeps_it_open(characters: dict[str, object], weakest: str) -> None:
    """Striking one dependence group, or all of one part, must leave the margin."""
    seen = {"a": "y", "b": "y"} if not characters else {"a": "y", "b": "y", "c": "y"}
    entry = World(characters=characters).entry(find_of(seen), unlisted=0.01)  # type: ignore[arg-type]
    assert entry.open_for == ("margin",)
    assert entry.weakest == weakest
    whole = hold_contest(World(characters=characters).stand(find_of(seen)))  # type: ignore[arg-type]
    assert whole.margins[0, 0] > entry.margin


def test_a_margin_lost_with_one_photo_keeps_it_open(world: World) -> None:
    """Looks made from one photo or print fall together."""
    from_photo = [look(c, "y", sources=("photo-1",) if c in "abcd" else ()) for c in FEATURES]
    entry = world.entry(find_of(from_photo))
    assert (entry.open_for, entry.weakest) == (("margin",), "source photo-1")
    several = [look(c, "y", sources=(f"photo-{c}",)) for c in FEATURES]
    assert world.entry(find_of(several)).ruled_out


def test_a_look_from_two_sources_falls_with_either(world: World) -> None:
    """A look that rests on a photo and a print is struck out with each of them."""
    both = [look(c, "y", sources=("photo-1", "print-1")) for c in FEATURES]
    names = [s.name for s in hold_contest(world.stand(find_of(both))).strikes if s.kind == "source"]
    assert names == ["photo-1", "print-1"]
    assert world.entry(find_of(both)).weakest.startswith("source")


def test_a_second_observer_alone_cannot_rule_out(world: World) -> None:
    """All looks by somebody other than the determiner fall together; with the determiner's own they do not."""
    people = (Observer("me"), Observer("you"))
    theirs = [look(c, "y", observer="you") for c in FEATURES]
    entry = world.entry(find_of(theirs, observers=people))
    assert (entry.open_for, entry.weakest) == (("margin",), "observer you")
    assert entry.margin == pytest.approx(0.0, abs=1e-9)
    mixed = [look(c, "y", observer="you" if c == "e" else "me") for c in FEATURES]
    assert world.entry(find_of(mixed, observers=people)).ruled_out


def test_the_determiner_is_not_struck_out(world: World) -> None:
    """The determiner answers for the name; a lone observer is taken for one; of several each is struck out."""

    def struck(find: Find) -> list[str]:
        return [s.name for s in hold_contest(world.stand(find)).strikes if s.kind == "observer"]

    assert struck(find_of(ALL_Y)) == []
    assert struck(find_of(ALL_Y, determiner=None)) == []
    two = [look(c, "y", observer="you" if c == "e" else "me") for c in FEATURES]
    assert struck(find_of(two)) == ["you"]
    assert struck(find_of(two, determiner=None)) == ["me", "you"]


@pytest.mark.parametrize(("unlisted", "reasons"), [(0.069, ()), (0.5, ("unlisted",))])
def test_a_likely_stranger_keeps_it_open(world: World, unlisted: float, reasons: tuple[str, ...]) -> None:
    """Where "none in this book" has 5 % or more, nothing is ruled out."""
    find = find_of(ALL_Y)
    assert (world.stand(find, unlisted).unlisted >= 0.05) is bool(reasons)
    assert world.entry(find, unlisted).open_for == reasons


def test_an_insisted_look_that_is_missing_keeps_it_open() -> None:
    """A look or a procedure on which the trade insists must have been made."""
    world = World(insist=("e", "base_dug"))
    entry = world.entry(find_of(dict.fromkeys("abcd", "y")))
    assert (entry.open_for, entry.insist_missing) == (("insist",), ("e", "base_dug"))
    assert world.entry(find_of({**ALL_Y, "base_dug": "broken"})).ruled_out


def test_an_insisted_look_at_what_is_not_there_is_not_missing() -> None:
    """A look that another firm look makes impossible is not asked for, except on an egg or button not cut."""
    slot = {"e": feature("e", applies=Need("", "a", ("x",)))}
    world = World(insist=("e",), characters=slot)
    seen = dict.fromkeys("abcd", "y")
    assert world.entry(find_of(seen)).insist_missing == ()
    button = find_of(seen, fruitbodies=(Fruitbody("f1", "button"),))
    assert world.entry(button).insist_missing == ("e",)


UNOPENED = (
    Fruitbody("f1", "egg"),
    Fruitbody("f1", "button"),
    Fruitbody("f1", {"button": 0.6, "young": 0.4}),
)


@pytest.mark.parametrize("body", UNOPENED)
@pytest.mark.parametrize(("level", "reasons"), [("kills", ("unopened",)), ("organ", ())])
def test_an_egg_or_button_not_cut_rules_nothing_out_that_kills(
    body: Fruitbody, level: str, reasons: tuple[str, ...]
) -> None:
    """It must be cut lengthwise first; other harm levels do not ask for that."""
    section = feature("egg_section", ("even", "outline"), group="section", part="section")
    world = World(level=level, characters={"egg_section": section})
    assert world.entry(find_of(ALL_Y, fruitbodies=(body,))).open_for == reasons
    cut = find_of({**ALL_Y, "egg_section": "even"}, fruitbodies=(body,))
    assert world.entry(cut).ruled_out


@pytest.mark.parametrize("form", ["egg", "ball"])
def test_a_closed_ball_is_unopened_whatever_stage_was_told(form: str) -> None:
    """What looks like an egg is one, even when the observer calls it grown."""
    shape = feature("fruitbody_form", ("egg", "ball", "cap"), group="form", part="form")
    world = World(characters={"fruitbody_form": shape})
    assert world.entry(find_of({**ALL_Y, "fruitbody_form": form})).open_for == ("unopened",)
    assert world.entry(find_of({**ALL_Y, "fruitbody_form": "cap"})).ruled_out


def test_unsure_looks_never_count(world: World) -> None:
    """A look marked unsure shifts the name and contradicts nothing."""
    doubtful = find_of([look(c, "y", sure="unsure") for c in FEATURES])
    ledger = world.ledger(doubtful)
    entry = entry_of(ledger, world.table, "malus-primus")
    assert ledger.looks == 0
    assert entry.against == ()
    assert {"contradictions", "firm", "margin"} <= set(entry.open_for)
    assert world.table.taxa[world.stand(doubtful).leading] == "bonus-primus"


def test_fairly_sure_looks_count(world: World) -> None:
    """A look that is fairly sure contradicts, with a smaller margin."""
    fairly = world.entry(find_of([look(c, "y", sure="fairly") for c in FEATURES]))
    sure = world.entry(find_of(ALL_Y))
    assert contradicted(fairly) == set(FEATURES)
    assert fairly.margin < sure.margin


@pytest.mark.parametrize(
    ("allowed", "contradicts"),
    [(0.0, True), (0.0100, True), (0.0102, False), (0.5, False)],
)
def test_soft_evidence_contradicts_only_with_little_mass_on_what_is_allowed(
    world: World, allowed: float, contradicts: bool
) -> None:
    """At most a hundredth of the mass may lie on states that the taxon allows."""
    soft = Evidence(distribution={"y": 1.0 - allowed, "x": allowed})
    entry = world.entry(find_of([look("a", soft), *(look(c, "y") for c in "bcde")]))
    assert ("a" in contradicted(entry)) is contradicts


def test_one_of_several_states_contradicts_only_if_all_do(world: World) -> None:
    """ "y or x" does not speak against what shows x."""
    either = world.entry(find_of([look("a", Evidence(states=("x", "y")))]))
    assert either.against == ()
    both_excluded = World([says("a", {"x": "always"}, complete=True)])
    assert contradicted(both_excluded.entry(find_of([look("a", Evidence(states=("y", "z")))]))) == {"a"}


def test_what_is_merely_missing_says_nothing() -> None:
    """A silent state neither contradicts nor moves the margin, even where its treatment says never."""
    ring = {"a": feature("a", firm=True, silent=frozenset({"y"}))}
    world = World(characters=ring)
    with_missing, without = world.entry(find_of(ALL_Y)), world.entry(find_of(dict.fromkeys("bcde", "y")))
    assert "a" not in contradicted(with_missing)
    assert with_missing.margin == pytest.approx(without.margin)


@pytest.mark.parametrize(
    ("character", "state"),
    [("ring", "absent"), ("latex", "none")],
)
def test_a_missing_ring_or_latex_speaks_against_nothing_in_the_book(
    table: Table, vocabulary: Vocabulary, character: str, state: str
) -> None:
    """In the shipped book a missing ring and missing milk contradict no harmful taxon and move no margin."""
    nothing, missing = (
        keep_ledger(stand(table, observe(find_of(seen), table, vocabulary.conditions, vocabulary.palette)[0]))
        for seen in ({}, {character: state})
    )
    for before, after in zip(nothing.entries, missing.entries, strict=True):
        assert after.against == ()
        assert after.margin == pytest.approx(before.margin)


@pytest.mark.parametrize(("dug", "counts"), [("whole", True), ("broken", False), (None, False)])
def test_a_missing_volva_counts_only_with_the_base_dug_out_whole(dug: str | None, counts: bool) -> None:
    """A base that broke or was cut may have left the volva in the ground."""
    base = {"a": feature("a", ("sac", "absent", "y"), firm=True, needs=NEED_DUG)}
    bad = [says("a", {"sac": "always", "absent": "never"}), *(never_y(c) for c in "bcde")]
    seen = {"a": "absent", **({"base_dug": dug} if dug else {})}
    entry = World(bad, characters=base).entry(find_of(seen))
    assert contradicted(entry) == ({"a"} if counts else set())


@pytest.mark.parametrize(("dug", "counts"), [("whole", True), ("broken", False)])
def test_the_death_cap_is_contradicted_by_a_missing_volva_only_from_a_whole_base(
    table: Table, vocabulary: Vocabulary, dug: str, counts: bool
) -> None:
    """The shipped treatment of the death cap obeys the same rule."""
    find = find_of({"volva": "absent", "base_dug": dug})
    seen = observe(find, table, vocabulary.conditions, vocabulary.palette)[0]
    entry = entry_of(keep_ledger(stand(table, seen)), table, "amanita-phalloides")
    assert (contradicted(entry) == {"volva"}) is counts


@given(st.lists(st.floats(-30.0, 0.0), min_size=3, max_size=3), st.sampled_from([dict(ALL_Y), {"a": "y", "b": "x"}]))
@settings(max_examples=40, deadline=None)
def test_place_date_and_rarity_play_no_part(weights: list[float], seen: dict[str, str]) -> None:
    """Whatever the prior over names, what speaks against a taxon, its margin and every verdict on it stay.

    Only the stranger's share may move with the prior, and so the condition about it.
    """
    world = World()
    find = find_of(seen)
    prior = np.array(weights) - np.logaddexp.reduce(weights)
    flat, other = world.entry(find), world.entry(find, prior=prior)
    assert (flat.against, flat.margin, flat.weakest, flat.insist_missing) == (
        other.against,
        other.margin,
        other.weakest,
        other.insist_missing,
    )
    assert set(flat.open_for) - {"unlisted"} == set(other.open_for) - {"unlisted"}


def test_every_month_and_region_gives_the_same_ledger_of_the_book(table: Table, vocabulary: Vocabulary) -> None:
    """The shipped table: margins and contradictions are the same in January in America and in autumn in Europe."""
    find = find_of({"hymenophore": "gills", "spore_print": "rust-brown", "ring": "skirt", "gill_attachment": "adnate"})
    seen = observe(find, table, vocabulary.conditions, vocabulary.palette)[0]
    ledgers = [
        keep_ledger(stand(table, seen, log_prior(table, month, region)))
        for month, region in ((1, "america-west"), (10, "europe-atlantic"), (None, None))
    ]
    for entries in zip(*(ledger.entries for ledger in ledgers), strict=True):
        assert len({(e.against, e.margin, e.weakest) for e in entries}) == 1
    assert any(e.against for e in ledgers[0].entries)


def test_looks_are_never_pooled_across_fruitbodies(world: World) -> None:
    """Two fruitbodies that share five looks between them are both open; neither borrows from the other."""
    bodies = (Fruitbody("f1", "prime"), Fruitbody("f2", "prime"))
    looks = [look(c, "y", fruitbody="f1" if c in "abc" else "f2") for c in FEATURES]
    one, two = world.observe(find_of(looks, fruitbodies=bodies))
    for seen, characters in ((one, {"a", "b", "c"}), (two, {"d", "e"})):
        entry = entry_of(keep_ledger(stand(world.table, seen, unlisted=0.01)), world.table, "malus-primus")
        assert contradicted(entry) == characters
    assert entry.open_for == ("firm", "margin")


def test_a_fruitbody_nobody_looked_at_keeps_everything_open(world: World) -> None:
    """One print clears one fruitbody."""
    bodies = (Fruitbody("f1", "prime"), Fruitbody("f2", "prime"))
    first, second = world.observe(find_of(ALL_Y, fruitbodies=bodies))
    assert entry_of(keep_ledger(stand(world.table, first)), world.table, "malus-primus").ruled_out
    ledger = keep_ledger(stand(world.table, second))
    assert ledger.looks == 0
    assert len(ledger.left_open) == len(ledger.entries)


def test_conflicting_looks_count_only_when_one_supersedes_the_other(world: World) -> None:
    """Two looks that contradict each other are both kept and neither counts until one replaces the other."""
    others = [look(c, "y") for c in "cde"]
    first, second = look("a", "y"), look("a", "x", id="look-a2")
    seen = world.observe(find_of([first, second, *others]))[0]
    assert seen.conflicts == (("look-a", "look-a2"),)
    assert sum(o.character == 0 for o in seen.used) == 2
    assert "a" not in contradicted(world.entry(find_of([first, second, *others])))
    corrected = look("a", "y", id="look-a3", supersedes="look-a2")
    settled = find_of([first, second, corrected, *others])
    assert world.observe(settled)[0].conflicts == ()
    assert "a" in contradicted(world.entry(settled))


def test_a_missing_print_is_no_look(world: World) -> None:
    """A look that was tried and gave nothing is told, and counts for nothing."""
    tried = find_of([look("a", Evidence(not_seen="no print overnight")), look("b", "y")])
    assert contradicted(world.entry(tried)) == {"b"}
    assert world.ledger(tried).looks == 1


WHITE_SPORED = ("omphalotus-illudens", "omphalotus-olearius", "pleurocybella-porrigens")


@pytest.mark.parametrize("code", WHITE_SPORED)
@pytest.mark.parametrize("print_colour", ["white", "cream"])
def test_a_white_print_speaks_against_no_white_spored_taxon(
    table: Table, vocabulary: Vocabulary, code: str, print_colour: str
) -> None:
    """A white print alone leaves the jack-o'-lanterns and the angel's wing open, with nothing against them."""
    seen = observe(find_of({"spore_print": print_colour}), table, vocabulary.conditions, vocabulary.palette)[0]
    entry = entry_of(keep_ledger(stand(table, seen)), table, code)
    assert entry.against == ()
    assert {"contradictions", "firm", "margin"} <= set(entry.open_for)


def test_a_dark_print_does_speak_against_them(table: Table, vocabulary: Vocabulary) -> None:
    """The character itself is not mute: a black print contradicts a taxon that prints white."""
    seen = observe(find_of({"spore_print": "black"}), table, vocabulary.conditions, vocabulary.palette)[0]
    ledger = keep_ledger(stand(table, seen))
    assert any(contradicted(entry_of(ledger, table, code)) == {"spore_print"} for code in WHITE_SPORED)


@pytest.mark.parametrize(("above", "reasons"), [(0.0005, ("margin",)), (0.0015, ())])
def test_a_margin_within_a_thousandth_of_its_threshold_is_open(
    world: World, above: float, reasons: tuple[str, ...]
) -> None:
    """The verdict does not hang on the last digits."""
    margin = world.entry(find_of(ALL_Y)).margin
    close = replace(world.table, model=_with_margin(world.table, margin - above))
    seen = world.observe(find_of(ALL_Y))[0]
    assert entry_of(keep_ledger(stand(close, seen)), close, "malus-primus").open_for == reasons


def _with_margin(table: Table, margin: float) -> ErrorModel:
    return msgspec.structs.replace(table.model, margin=margin)


@given(st.integers(0, 10**6), st.integers(2, 6))
@settings(max_examples=60, deadline=None)
def test_the_margin_is_the_least_over_all_strikes(seed: int, features: int) -> None:
    """Each margin equals a recomputation with every group, part, source and other observer left out in turn."""
    table = random_table(seed, features=features)
    rng = np.random.default_rng(seed)
    used = [
        observation(
            table,
            i,
            int(rng.integers(3)),
            observer=str(rng.choice(["me", "you"])),
            sources=tuple(f"photo-{k}" for k in range(2) if rng.random() < 0.3),
        )
        for i in range(features)
    ]
    standing = stand(table, observations(table, used))
    ledger = keep_ledger(standing)
    tests = [lambda o: True]
    tests += [lambda o, g=g: table.characters[o.character].group != g for g in table.groups]
    tests += [lambda o, p=p: table.characters[o.character].part != p for p in table.parts]
    tests += [lambda o, s=s: s not in o.sources for s in ("photo-0", "photo-1")]
    tests += [lambda o: o.observer != "you"]
    for entry in ledger.entries:
        margins = []
        for keep in tests:
            stays = [o for o in used if keep(o)]
            taxa = stand(table, observations(table, stays)).taxa
            margins.append(np.delete(taxa, entry.taxon).max() - taxa[entry.taxon])
        assert entry.margin == pytest.approx(min(margins), abs=1e-9)


@given(st.integers(0, 10**6))
@settings(max_examples=60, deadline=None)
def test_an_exclusion_withstands_what_it_says(seed: int) -> None:
    """With the evidence of any so many dependence groups taken away, the margin and a contradiction remain."""
    table = _separated(seed)
    used = [observation(table, i, 0) for i in range(len(table.characters))]
    standing = stand(table, observations(table, used), unlisted=1e-6)
    contest = hold_contest(standing)
    weight = temper(contest.groups, range(len(used)), table.rho)
    names = sorted(set(contest.groups))
    claimed = 0
    for h, entry in enumerate(keep_ledger(standing, contest).entries):
        claimed = max(claimed, entry.withstands)
        for gone in itertools.combinations(names, entry.withstands):
            if not gone:
                continue
            stays = np.array([g not in gone for g in contest.groups])
            taxa = by_taxon((weight * stays) @ contest.vectors + standing.stage_rows, table)
            assert np.delete(taxa, entry.taxon).max() - taxa[entry.taxon] > table.model.margin
            assert (contest.against[:, h] & stays).any()
    assert claimed <= len(names) - 1


def _separated(seed: int) -> Table:
    """Return a table whose last taxon shows every first state, and whose harmful taxa seldom do."""
    table = random_table(seed, taxa=5, features=8, states=3, rho=0.3, silent=False)
    rng = np.random.default_rng(seed)
    for r, t in enumerate(table.row_taxon):
        first = 0.9 if t == len(table.taxa) - 1 else rng.uniform(0.002, 0.3)
        for c in table.characters:
            table.truth[r, c.first : c.last] = [first, (1 - first) / 2, (1 - first) / 2]
    table.contradicts[:, [c.first for c in table.characters]] = True
    return table


def test_some_exclusions_withstand_further_errors() -> None:
    """The bound is not idle: in well separated books exclusions stand against two errors and more."""
    counts = []
    for seed in range(20):
        table = _separated(seed)
        used = [observation(table, i, 0) for i in range(len(table.characters))]
        standing = stand(table, observations(table, used), unlisted=1e-6)
        counts += [e.withstands for e in keep_ledger(standing).entries]
    assert max(counts) >= 2


def test_an_open_entry_withstands_nothing(world: World) -> None:
    """While an entry is open the ledger claims no strength."""
    ledger = world.ledger(find_of({"a": "y"}))
    assert ledger.left_open
    assert ledger.withstands == 0
    assert all(e.withstands == 0 for e in ledger.left_open)


def test_a_warned_group_closes_only_with_a_firm_look_outside_it() -> None:
    """All listed members ruled out is not enough: a firm look must stand outside the group's definition."""
    group = Group("bad-ones", "any bad one", "kills", ("malus",), {"a": ("x",), "c": ("x",)})
    world = World(book={"groups": (group,)})
    line = world.ledger(find_of(ALL_Y)).groups[0]
    assert (line.members_open, line.outside, line.open) == ((), ("look-a",), False)
    no_firm = world.ledger(find_of(dict.fromkeys("bcde", "y"))).groups[0]
    assert (no_firm.members_open, no_firm.outside, no_firm.open) == ((), (), True)
    either = [look("a", Evidence(states=("x", "y"))), *(look(c, "y") for c in "bcde")]
    assert world.ledger(find_of(either)).groups[0].open
    member_open = world.ledger(find_of({"a": "y"})).groups[0]
    assert (len(member_open.members_open), member_open.open) == (1, True)


def test_entries_come_worst_harm_first() -> None:
    """What kills stands at the top."""
    more = [treatment(f"malus-{h}", [never_y(c) for c in FEATURES], harm=h) for h in ("conditional", "gut", "organ")]
    levels = [e.harm.level for e in World(more=more).ledger(find_of(ALL_Y)).entries]
    assert levels == ["kills", "organ", "gut", "conditional"]


def test_a_taxon_that_is_no_candidate_is_never_the_better_explanation() -> None:
    """A whole group in the book cannot stand in as the rival that clears a harmful taxon."""
    group = treatment("bonus-grex", [says(c, {"y": "always"}) for c in FEATURES], rank="group")
    with_group = World(more=[group])
    assert not with_group.table.candidate[with_group.table.taxon_index["bonus-grex"]]
    only_group = World(more=[group], good={"rank": "group"})
    assert only_group.entry(find_of(ALL_Y)).margin < with_group.entry(find_of(ALL_Y)).margin
    assert "margin" in only_group.entry(find_of(ALL_Y)).open_for
