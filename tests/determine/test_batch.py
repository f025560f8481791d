"""Many fruitbodies at once give what each would give alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from builders import observation, observations, random_table
from hypothesis import given, settings
from hypothesis import strategies as st

from trug.characters.model import STAGES
from trug.determine.batch import Batch, Names, log_posterior, names, stage_logs, tempering, usable
from trug.determine.batch_ledger import Verdicts, rule_out
from trug.determine.find import Fruitbody
from trug.determine.ledger import Contest, Ledger, hold_contest, keep_ledger
from trug.determine.observations import stage_weights
from trug.determine.reference import reference_log_posterior
from trug.determine.simulate import Observing, simulate
from trug.determine.standing import Standing, log_prior, stand
from trug.determine.table import Table

N = 200


@dataclass(frozen=True)
class Both:
    """Simulated finds with the answers of both paths."""

    batch: Batch
    named: Names
    verdicts: Verdicts
    standings: list[Standing]
    contests: list[Contest]
    ledgers: list[Ledger]


def alone(table: Table, batch: Batch, n: int) -> Standing:
    """Return the standing of one fruitbody of a batch by the single path."""
    codes = usable(table, batch)[n]
    used = [observation(table, i, int(k) - table.characters[i].first) for i, k in enumerate(codes) if k >= 0]
    stage = STAGES[batch.stage[n]] if batch.stage[n] >= 0 else None
    weights, known = stage_weights(Fruitbody("f1", stage), table)
    dug = {"base_dug": "whole"} if batch.dug[n] else {}
    return stand(table, observations(table, used, stage=weights, stage_known=known, procedures=dug))


@pytest.fixture(scope="module")
def both(table: Table) -> Both:
    rng = np.random.default_rng(20261125)
    taxa = rng.permutation(np.resize(np.flatnonzero(table.candidate), N))
    finds = simulate(table, taxa, Observing(unseen=0.1, wrong=0.03), rng).batch
    stage = finds.stage.copy()
    stage[::5] = -1
    stage[1::40] = 0
    batch = Batch(finds.codes, stage, finds.dug)
    named = names(table, batch)
    standings = [alone(table, batch, n) for n in range(N)]
    contests = [hold_contest(s) for s in standings]
    ledgers = [keep_ledger(s, c) for s, c in zip(standings, contests, strict=True)]
    return Both(batch, named, rule_out(table, batch, named.unlisted), standings, contests, ledgers)


def test_posterior_and_stranger_agree(both: Both) -> None:
    """Posterior, stranger's share and leading name are those of the single path."""
    for n, standing in enumerate(both.standings):
        assert both.named.posterior[n] == pytest.approx(standing.posterior, abs=1e-4)
        assert both.named.unlisted[n] == pytest.approx(standing.unlisted, abs=1e-4)
        second, first = np.sort(standing.posterior)[-2:]
        assert both.named.leading[n] == standing.leading or first - second < 2e-4


def test_surprise_agrees(both: Both) -> None:
    """The fit of the leading name is that of the single path."""
    for n, standing in enumerate(both.standings):
        assert standing.fit is not None
        if both.named.leading[n] == standing.leading:
            assert both.named.surprise[n] == pytest.approx(standing.fit.surprise, abs=2e-3)


def test_verdicts_agree(both: Both, table: Table) -> None:
    """What is ruled out is the same, except for margins and shares that stand at their thresholds."""
    ruled = np.array([[e.ruled_out for e in ledger.entries] for ledger in both.ledgers])
    margin = np.array([[e.margin for e in ledger.entries] for ledger in both.ledgers])
    unlisted = np.array([s.unlisted for s in both.standings])
    at_threshold = np.abs(margin - table.model.margin) < 0.01
    at_threshold |= (np.abs(unlisted - table.model.unlisted_limit) < 1e-4)[:, None]
    assert np.array_equal(ruled[~at_threshold], both.verdicts.ruled[~at_threshold])
    assert at_threshold.mean() < 0.01
    assert 0.05 < ruled.mean() < 0.95


def test_margins_and_contradictions_agree(both: Both, table: Table) -> None:
    """Where another taxon explains the looks better, the margin is that of the single path; so are the counts."""
    compared = 0
    for n, ledger in enumerate(both.ledgers):
        for h, entry in enumerate(ledger.entries):
            if 0.01 < entry.margin < 60.0:
                assert both.verdicts.margin[n, h] == pytest.approx(entry.margin, abs=1e-3)
                compared += 1
            groups = {table.characters[table.index[a.character]].group for a in entry.against}
            assert both.verdicts.contradictions[n, h] == len(groups)
    assert compared > 1000


@pytest.mark.parametrize("threads", [2, 3])
def test_threads_change_nothing(both: Both, table: Table, threads: int) -> None:
    """Several threads give the very same numbers."""
    again = names(table, both.batch, threads=threads)
    assert np.array_equal(again.posterior, both.named.posterior)
    assert np.array_equal(rule_out(table, both.batch, both.named.unlisted, threads=threads).ruled, both.verdicts.ruled)


def test_neighbours_in_the_batch_change_nothing(both: Both, table: Table) -> None:
    """A fruitbody reads the same whatever stands beside it."""
    for at in (slice(0, 1), slice(17, 60)):
        piece = both.batch.part(at)
        assert names(table, piece).posterior == pytest.approx(both.named.posterior[at], abs=1e-5)
        verdicts = rule_out(table, piece, both.named.unlisted[at])
        assert np.array_equal(verdicts.contradictions, both.verdicts.contradictions[at])
        assert verdicts.margin == pytest.approx(both.verdicts.margin[at], abs=1e-3)


def test_without_a_share_of_strangers_only_the_other_conditions_are_tested(both: Both, table: Table) -> None:
    """Leaving the stranger out never closes fewer entries."""
    without = rule_out(table, both.batch).ruled
    assert (without | ~both.verdicts.ruled).all()
    near = both.named.unlisted < table.model.unlisted_limit
    assert np.array_equal(without[near], both.verdicts.ruled[near])
    assert not both.verdicts.ruled[~near].any()


def test_log_posterior_agrees_with_the_reference(both: Both, table: Table) -> None:
    """The fast path stays within a quantum for each look of the unrounded reference."""
    prior = log_prior(table, 10, "europe-atlantic")
    codes = both.batch.codes
    fast, exact = log_posterior(table, codes, prior=prior), reference_log_posterior(table, codes, prior)
    likely = exact > -30.0
    looks = np.broadcast_to((codes >= 0).sum(axis=1)[:, None], exact.shape)
    assert (np.abs(fast - exact)[likely] <= looks[likely] * table.model.quantum).all()
    assert np.array_equal(fast.argmax(axis=1), exact.argmax(axis=1))


@given(st.integers(0, 10**6), st.integers(1, 6), st.sampled_from([0.0, 0.5, 1.0]))
@settings(max_examples=40, deadline=None)
def test_any_small_book_agrees(seed: int, features: int, rho: float) -> None:
    """Names, margins and verdicts of both paths agree on invented books with stages and shared groups."""
    table = random_table(seed, features=features, rho=rho)
    rng = np.random.default_rng(seed)
    states = rng.integers(-1, 3, size=(6, features))
    codes = np.where(states < 0, -1, states + np.array([c.first for c in table.characters])).astype(np.int16)
    batch = Batch(codes, rng.integers(-1, len(STAGES), size=6).astype(np.int8), np.zeros(6, dtype=bool))
    named, verdicts = names(table, batch), rule_out(table, batch)
    for n in range(6):
        standing = alone(table, batch, n)
        assert named.posterior[n] == pytest.approx(standing.posterior, abs=1e-5)
        assert named.unlisted[n] == pytest.approx(standing.unlisted, abs=1e-5)
        for h, entry in enumerate(keep_ledger(standing).entries):
            expected = not set(entry.open_for) - {"unlisted"}
            if abs(entry.margin - table.model.margin) > 0.01:
                assert verdicts.ruled[n, h] == expected


def test_stage_weights_are_those_of_the_single_path(table: Table) -> None:
    """Each stage given, and none, weighs the rows alike in both paths."""
    logs = stage_logs(table)
    for g, stage in enumerate((*STAGES, None)):
        weights, _ = stage_weights(Fruitbody("f1", stage), table)
        assert logs[g] == pytest.approx(np.log(table.row_stages @ weights), abs=1e-5)


def test_tempering_counts_the_looks_of_each_find() -> None:
    """Looks of a shared group are tempered by how many of them this find has."""
    table = random_table(1, features=4, rho=0.5)
    seen = np.array([[True, True, True, False], [False, True, False, False]])
    assert tempering(table, seen)[0].tolist() == pytest.approx([1 / 1.5, 1 / 1.5, 1.0, 1.0])
    assert tempering(table, seen)[1, 1] == 1.0


def test_what_a_stage_or_an_undug_base_voids_is_left_out(table: Table) -> None:
    """Adult sizes on young fruitbodies and a missing volva from an undug base are not used."""
    width, volva = table.index["cap_width"], table.index["volva"]
    codes = np.full((3, len(table.characters)), -1, dtype=np.int16)
    codes[:, width] = table.characters[width].first
    absent = table.characters[volva].first + table.characters[volva].states.index("absent")
    codes[:, volva] = absent
    batch = Batch(codes, np.array([2, 3, -1], dtype=np.int8), np.array([True, False, True]))
    out = usable(table, batch)
    assert (out[:, width] >= 0).tolist() == [False, True, True]
    assert (out[:, volva] >= 0).tolist() == [True, False, True]
    assert (codes[:, volva] == absent).all()


def test_held_back_means_a_likely_stranger_or_a_poor_fit(table: Table) -> None:
    """Either alone holds a find back."""
    posterior = np.zeros((3, len(table.taxa)), dtype=np.float32)
    unlisted = np.array([0.01, 0.06, 0.01], dtype=np.float32)
    surprise = np.array([1.0, 1.0, 3.5], dtype=np.float32)
    out = Names(posterior, unlisted, np.zeros(3, dtype=np.int64), surprise).held_back(table)
    assert out.tolist() == [False, True, True]
