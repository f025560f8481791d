"""What to look at next, checked against rebuilding everything for every possible answer."""

from __future__ import annotations

import numpy as np
import pytest
from builders import (
    observation,
    observations,
    random_table,
)

from trug.determine.ledger import hold_contest, keep_ledger
from trug.determine.nextlooks import HARM_WEIGHT, OPEN_LEAST, next_looks
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
    chances, after = [], []
    rows = np.exp(now.rows - now.taxa[table.row_taxon]) * now.posterior[table.row_taxon]
    with np.errstate(divide="ignore"):
        logs = now.strange_rows + np.log(table.stranger)[table.row_taxon]
    strange = np.exp(logs - logs.max())
    strange *= now.unlisted / strange.sum()
    for s in range(len(c.states)):
        column = c.first + s
        chances.append(rows @ table.observed(0)[:, column] + strange @ table.stranger_observed(0)[:, column])
        after.append(doubt(stand(table, observations(table, [*used, observation(table, character, s)]), prior)))
    answerable = now.posterior.sum() + 0.5 * now.unlisted
    return float((doubt(now) - np.dot(chances, after) / sum(chances)) * answerable)


def seen_in(table: Table, states: list[int]) -> list[Observation]:
    return [observation(table, i, s) for i, s in enumerate(states) if s >= 0]


@pytest.mark.parametrize("seed", range(25))
@pytest.mark.parametrize("made", [0, 1, 2, 3])
def test_the_value_equals_rebuilding_for_every_answer(seed: int, made: int) -> None:
    """For each look and each answer, rebuilding posterior and ledger gives the same expected fall in doubt."""
    table = random_table(seed, taxa=5, features=6, states=3, harmful=3, shared=seed % 2 == 0, rho=0.0, silent=False)
    used = seen_in(table, [s % 3 for s in range(seed, seed + made)] + [-1] * (6 - made))
    found = {n.character: n for n in next_looks(_contest(table, used))}
    for i in range(made, 6):
        expected = rebuilt_value(table, used, i)
        code = table.characters[i].code
        assert (found[code].value if code in found else 0.0) == pytest.approx(max(expected, 0.0), abs=1e-3)
    assert found


@pytest.mark.parametrize("seed", range(15))
def test_the_value_counts_tempering(seed: int) -> None:
    """In a dependence group that already has looks, one more look is tempered with them."""
    table = random_table(seed, taxa=5, features=6, states=3, harmful=3, rho=0.6, silent=False)
    used = seen_in(table, [seed % 3, -1, (seed + 1) % 3, -1, -1, -1])
    found = {n.character: n.value for n in next_looks(_contest(table, used))}
    for i in (1, 3, 4, 5):
        expected = rebuilt_value(table, used, i)
        assert found.get(table.characters[i].code, 0.0) == pytest.approx(max(expected, 0.0), abs=1e-3)


@pytest.mark.parametrize("seed", range(15))
def test_an_answer_that_says_nothing_is_worth_nothing(seed: int) -> None:
    """A silent state leaves the doubt as it was, also in expectation."""
    table = random_table(seed, taxa=5, features=6, states=3, harmful=3, shared=False, rho=0.0, silent=True)
    used = seen_in(table, [seed % 3, 0, -1, -1, -1, -1])
    found = {n.character: n.value for n in next_looks(_contest(table, used))}
    last = table.characters[5]
    assert table.silent[last.first : last.last].any()
    assert found.get(last.code, 0.0) == pytest.approx(max(rebuilt_value(table, used, 5), 0.0), abs=1e-3)


def _contest(table: Table, used: list[Observation]):  # type: ignore[no-untyped-def]
    return hold_contest(stand(table, observations(table, used), log_prior(table, 9, None)))
