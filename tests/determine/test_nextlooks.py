"""What to look at next, checked against rebuilding everything for every possible answer."""

from __future__ import annotations

import numpy as np
import pytest
from builders import (
    ALL_Y,
    FEATURES,
    NEED_DUG,
    World,
    feature,
    find_of,
    look,
    never_y,
    observation,
    observations,
    random_table,
    says,
)

from trug.characters import Need
from trug.determine.find import Evidence, Fruitbody
from trug.determine.ledger import Contest, hold_contest, keep_ledger
from trug.determine.margins import Columns, margins_after
from trug.determine.nextlooks import (
    HARM_WEIGHT,
    OPEN_LEAST,
    NextLook,
    next_looks,
    standing_rule,
    taste_allowed,
)
from trug.determine.observations import Observation
from trug.determine.standing import Standing, log_prior, stand
from trug.determine.table import Table


def doubt(standing: Standing) -> float:
    """Return entropy of the name plus weighted openness of every harmful taxon, from the ledger's own lines."""
    p = np.append(standing.posterior, standing.unlisted)
    out = -float((p * np.log(np.maximum(p, 1e-300))).sum())
    table = standing.table
    limit = table.model.margin + table.model.margin_tolerance
    for entry in keep_ledger(standing).entries:
        if not set(entry.open_for) - {"unlisted"}:
            continue
        characters = [table.characters[table.index[a.character]] for a in entry.against]
        lacking = [
            max(2 - len({c.group for c in characters}), 0) / 2,
            float(not any(c.firm for c in characters)),
            min(max((limit - entry.margin) / limit, 0.0), 1.0),
            len(entry.insist_missing) / max(len(entry.harm.insist), 1),
        ]
        out += HARM_WEIGHT[entry.harm.level] * (OPEN_LEAST + (1.0 - OPEN_LEAST) * sum(lacking) / 4.0)
    return out


def rebuilt_value(table: Table, used: list[Observation], character: int) -> float:
    """Return the expected fall in doubt after one more look, by rebuilding the standing for each answer."""
    prior = log_prior(table, 9, None)
    now = stand(table, observations(table, used), prior)
    c = table.characters[character]
    after = [
        doubt(stand(table, observations(table, [*used, observation(table, character, s)]), prior))
        for s in range(len(c.states))
    ]
    chances = _chances(now, character)
    answerable = now.posterior.sum() + 0.5 * now.unlisted
    return float((doubt(now) - np.dot(chances, after) / sum(chances)) * answerable)


def _chances(standing: Standing, character: int) -> list[float]:
    """Return how likely each answer is, a stranger included."""
    table = standing.table
    rows = np.exp(standing.rows - standing.taxa[table.row_taxon]) * standing.posterior[table.row_taxon]
    strange = np.exp(standing.strange_rows) * table.stranger[table.row_taxon]
    strange *= standing.unlisted / strange.sum()
    seen = rows @ table.observed_states(0, character) + strange @ table.observed_states(0, character, strange=True)
    return [float(chance) for chance in seen]


def contest_of(table: Table, used: list[Observation]) -> Contest:
    """Return the contest after looks at a find of September."""
    return hold_contest(stand(table, observations(table, used), log_prior(table, 9, None)))


def seen_in(table: Table, states: list[int]) -> list[Observation]:
    """Return sure looks at one state per character, -1 for none."""
    return [observation(table, i, s) for i, s in enumerate(states) if s >= 0]


@pytest.mark.parametrize("seed", range(40))
@pytest.mark.parametrize("made", [0, 1, 2, 3])
def test_the_value_equals_rebuilding_for_every_answer(seed: int, made: int) -> None:
    """For each look and each answer, rebuilding posterior and ledger gives the same expected fall in doubt."""
    table = random_table(seed, taxa=5, features=6, states=3, harmful=3, shared=seed % 2 == 0, rho=0.0, silent=False)
    used = seen_in(table, [s % 3 for s in range(seed, seed + made)] + [-1] * (6 - made))
    found = {n.character: n for n in next_looks(contest_of(table, used))}
    for i in range(made, 6):
        expected = rebuilt_value(table, used, i)
        code = table.characters[i].code
        assert (found[code].value if code in found else 0.0) == pytest.approx(max(expected, 0.0), abs=1e-3)
    assert found


@pytest.mark.parametrize("seed", range(15))
def test_an_answer_that_says_nothing_is_worth_nothing(seed: int) -> None:
    """A silent state leaves the doubt as it was, also in expectation."""
    table = random_table(seed, taxa=5, features=6, states=3, harmful=3, shared=False, rho=0.0, silent=True)
    used = seen_in(table, [seed % 3, 0, -1, -1, -1, -1])
    found = {n.character: n.value for n in next_looks(contest_of(table, used))}
    last = table.characters[5]
    assert table.silent[last.first : last.last].any()
    assert found.get(last.code, 0.0) == pytest.approx(max(rebuilt_value(table, used, 5), 0.0), abs=1e-3)


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("made", [(0,), (0, 2), (0, 1, 4), (1, 3, 5)])
def test_margins_after_each_answer_are_those_of_a_rebuilt_contest(seed: int, made: tuple[int, ...]) -> None:
    """Also with tempering, in groups and parts that have looks and in new ones, margins are exact up to the limit."""
    table = random_table(seed, taxa=5, features=6, states=3, harmful=3, rho=0.6)
    used = [observation(table, i, (seed + i) % 3) for i in made]
    columns = Columns.of(table, [i for i in range(6) if i not in made])
    limit = table.model.margin + table.model.margin_tolerance
    after = np.minimum(margins_after(contest_of(table, used), columns), limit)
    for k, column in enumerate(columns.at):
        i = int(table.column_character[column])
        rebuilt = contest_of(table, [*used, observation(table, i, int(column) - table.characters[i].first)])
        assert after[k] == pytest.approx(np.minimum(rebuilt.margins.min(axis=0), limit), abs=1e-4)


def nearly_settled(seed: int, rho: float) -> tuple[Table, list[Observation]]:
    """Return a table and looks after which one more look may rule harmful taxa out."""
    table = random_table(seed, taxa=5, features=8, states=3, harmful=3, rho=rho, silent=False)
    rng = np.random.default_rng(seed)
    for r, t in enumerate(table.row_taxon):
        for c in table.characters:
            first = 0.95 if t == len(table.taxa) - 1 else rng.uniform(0.001, 0.1)
            table.truth[r, c.first : c.last] = [first, (1 - first) / 2, (1 - first) / 2]
    table.contradicts[:, [c.first for c in table.characters]] = True
    made = rng.permutation(8)[: rng.integers(2, 5)]
    return table, [observation(table, int(i), 0) for i in sorted(made)]


@pytest.mark.parametrize("seed", range(30))
@pytest.mark.parametrize("rho", [0.0, 0.5])
def test_the_answers_that_rule_out_are_those_of_the_ledger(seed: int, rho: float) -> None:
    """The chance that an answer rules something out is that of the answers for which the rebuilt ledger does."""
    table, used = nearly_settled(seed, rho)
    now = contest_of(table, used)
    open_now = ~_meets_the_rule(now)
    for n in next_looks(now):
        i = table.index[n.character]
        chance = 0.0
        p = np.array(_chances(now.standing, i))
        settled: set[str] = set()
        for s in range(3):
            after = _meets_the_rule(contest_of(table, [*used, observation(table, i, s)])) & open_now
            chance += p[s] / p.sum() * bool(after.any())
            settled |= {table.taxa[table.harmful[h].taxon] for h in np.flatnonzero(after) if p[s] / p.sum() > 0.05}
        assert n.chance == pytest.approx(chance, abs=1e-6)
        assert set(n.settles) == settled


def test_some_answers_do_rule_out() -> None:
    """The comparison above is not idle."""
    chances = [n.chance for seed in range(30) for n in next_looks(contest_of(*nearly_settled(seed, 0.5)))]
    assert any(c > 0.5 for c in chances)
    assert any(c < 0.01 for c in chances)


def _meets_the_rule(contest: Contest) -> np.ndarray:
    """Return whether each harmful taxon meets all of the rule but the condition on strangers."""
    return np.array([not set(e.open_for) - {"unlisted"} for e in keep_ledger(contest.standing, contest).entries])


@pytest.mark.parametrize("seed", range(30))
def test_the_short_verdict_is_that_of_the_ledger(seed: int) -> None:
    """The vector of verdicts equals the ledger's lines, the stranger's condition included."""
    table, used = nearly_settled(seed, 0.3)
    contest = contest_of(table, [*used, *(observation(table, i, 0) for i in range(8) if i % 3 == 0)][:8])
    ledger = keep_ledger(contest.standing, contest)
    assert standing_rule(contest).tolist() == [e.ruled_out for e in ledger.entries]


def proposed(world: World, seen: object, **more: object) -> dict[str, NextLook]:
    """Return what is proposed after some looks, by character."""
    return {n.character: n for n in next_looks(hold_contest(world.stand(find_of(seen))), **more)}  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def world() -> World:
    return World(characters={"d": feature("d", tools=("lens",)), "e": feature("e", minutes=10.0, wait_minutes=240.0)})


def test_looks_come_best_value_per_minute_first(world: World) -> None:
    """Order is by value over effort, and effort counts work in full and waiting in small part."""
    ahead = list(proposed(world, {}).values())
    assert [n.per_minute for n in ahead] == sorted((n.per_minute for n in ahead), reverse=True)
    slow = next(n for n in ahead if n.character == "e")
    assert ahead[-1] is slow
    assert slow.value / slow.per_minute == pytest.approx(10.0 + 0.01 * 240.0)
    assert (slow.minutes, slow.wait_minutes) == (10.0, 240.0)


def test_what_was_looked_at_is_not_proposed_again(world: World) -> None:
    """Neither a look made nor one that was tried in vain comes back."""
    assert set(proposed(world, {})) == set(FEATURES)
    tried = [look("a", "y"), look("b", Evidence(not_seen="nothing to see"))]
    assert set(proposed(world, tried)) == {"c", "d", "e"}


def test_tools_and_skips_are_respected(world: World) -> None:
    """A look for which the tool is missing, or that this person cannot make, is left out."""
    assert "d" not in proposed(world, {}, tools=frozenset())
    assert "d" in proposed(world, {}, tools=frozenset({"lens"}))
    assert "a" not in proposed(world, {}, skip=frozenset({"a"}))


@pytest.mark.parametrize("count", [0, 1, 3])
def test_no_more_than_the_count_are_proposed(world: World, count: int) -> None:
    """A count keeps the best and changes nothing else."""
    everything = next_looks(hold_contest(world.stand(find_of({}))))
    assert next_looks(hold_contest(world.stand(find_of({}))), count=count) == everything[:count]


def test_a_procedure_that_the_trade_insists_on_is_proposed() -> None:
    """Digging out the base comes first where no other look brings it along, and not once it was told."""
    world = World(insist=("base_dug",))
    assert next(iter(proposed(world, {}))) == "base_dug"
    assert proposed(world, {})["base_dug"].settles == ("malus-primus",)
    assert "base_dug" not in proposed(world, {"base_dug": "broken"})
    assert "base_dug" not in proposed(world, {}, skip=frozenset({"base_dug"}))
    brought = World(
        insist=("base_dug",),
        characters={"a": feature("a", ("absent", "y"), firm=True, needs=NEED_DUG)},
        bad=[never_y(c) for c in "bcde"],
    )
    assert "base_dug" not in proposed(brought, {})


def test_a_look_at_the_base_costs_the_digging_too() -> None:
    """Digging is added to the work of a look that needs it, once."""
    base = {"a": feature("a", ("absent", "y", "z"), firm=True, needs=NEED_DUG)}
    world = World([says("a", {"absent": "always", "y": "never"}), *(never_y(c) for c in "bcde")], characters=base)
    assert proposed(world, {})["a"].minutes == 3.0
    assert proposed(world, {"base_dug": "whole"})["a"].minutes == 1.0


def test_sizes_are_not_proposed_on_what_still_grows() -> None:
    """Adult sizes are asked for on grown fruitbodies only."""
    world = World(characters={"e": feature("e", grows=True)})
    for stage, expected in (("button", False), ("young", False), ("prime", True)):
        find = find_of({}, fruitbodies=(Fruitbody("f1", stage),))
        ahead = {n.character for n in next_looks(hold_contest(world.stand(find)))}
        assert ("e" in ahead) is expected


def test_a_look_that_cannot_have_an_answer_is_not_proposed() -> None:
    """What another look has shown not to exist is not asked for."""
    world = World(characters={"e": feature("e", applies=Need("", "a", ("x",)))})
    assert "e" in proposed(world, {})
    assert "e" not in proposed(world, {"a": "y"})
    assert "e" in proposed(world, {"a": "x"})


TASTE = {"e": feature("e", gate="taste")}
FIRM_Y = dict.fromkeys("abcd", "y")


def test_tasting_is_proposed_only_behind_its_gate() -> None:
    """Tasting comes up when firm looks have fixed a tasted genus, nothing that kills is open, and the person may."""
    world = World(characters=TASTE, eaten="lactarius-primus")
    assert "e" in proposed(world, FIRM_Y, may_taste=True)
    assert "e" not in proposed(world, FIRM_Y)
    assert "e" not in proposed(world, {}, may_taste=True)


def test_tasting_needs_a_genus_in_which_the_trade_tastes() -> None:
    """In any other genus it is never proposed, however certain the name."""
    assert "e" not in proposed(World(characters=TASTE), FIRM_Y, may_taste=True)


def test_tasting_waits_while_anything_that_kills_is_open() -> None:
    """One open entry of level kills closes the gate; of a lesser level it does not."""
    rare = [says(c, {"x": "always", "y": "rarely"}) for c in "ab"]
    bad = [*rare, *(never_y(c) for c in "cde")]
    for level, expected in (("kills", False), ("organ", True)):
        world = World(bad, level=level, characters=TASTE, eaten="lactarius-primus")
        assert world.entry(find_of(FIRM_Y)).open_for == ("firm",)
        assert ("e" in proposed(world, FIRM_Y, may_taste=True)) is expected


@pytest.mark.parametrize(
    ("change", "kills_open", "expected"),
    [
        ({}, False, True),
        ({"a": None, "b": None, "c": None}, False, False),
        ({"a": "unsure", "b": "unsure"}, False, False),
        ({"hymenophore_colour": "red"}, False, False),
        ({}, True, False),
    ],
    ids=["all there", "genus not fixed", "no firm look", "red pores", "what kills is open"],
)
def test_each_part_of_the_taste_gate_closes_it_alone(
    change: dict[str, str | None], kills_open: bool, expected: bool
) -> None:
    """Certainty of the genus, a firm look, no red pores and nothing open that kills are all needed."""
    colour = feature("hymenophore_colour", ("red", "white"))
    world = World(characters={**TASTE, "hymenophore_colour": colour}, eaten="lactarius-primus")
    looks = []
    for code, state in {**FIRM_Y, "hymenophore_colour": "white"}.items():
        told = change.get(code, state)
        if told == "unsure":
            looks.append(look(code, state, sure="unsure"))
        elif told is not None:
            looks.append(look(code, told))
    assert taste_allowed(world.stand(find_of(looks)), kills_open) is expected


def test_when_nothing_is_left_to_look_at_nothing_is_proposed(world: World) -> None:
    """With every character seen the list is empty."""
    assert proposed(world, ALL_Y) == {}


@pytest.mark.parametrize("seed", range(15))
def test_the_value_counts_tempering(seed: int) -> None:
    """In a dependence group that already has looks, one more look is tempered with them."""
    table = random_table(seed, taxa=5, features=6, states=3, harmful=3, rho=0.6, silent=False)
    used = seen_in(table, [seed % 3, -1, (seed + 1) % 3, -1, -1, -1])
    found = {n.character: n.value for n in next_looks(contest_of(table, used))}
    for i in (1, 3, 4, 5):
        expected = rebuilt_value(table, used, i)
        assert found.get(table.characters[i].code, 0.0) == pytest.approx(max(expected, 0.0), abs=1e-3)
