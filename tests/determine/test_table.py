"""The compiled table as bytes and as numbers."""

from __future__ import annotations

import numpy as np
import pytest
from builders import random_table
from hypothesis import given, settings
from hypothesis import strategies as st

from trug.determine.table import FORMAT, Table, from_bytes, to_bytes


@pytest.fixture(scope="module")
def written(table: Table) -> bytes:
    return to_bytes(table)


def test_the_shipped_table_survives_a_round_trip(table: Table, written: bytes) -> None:
    """Reading and writing again gives the same bytes, log-likelihoods and dependent numbers."""
    again = from_bytes(written)
    assert to_bytes(again) == written
    for level in range(len(table.model.levels)):
        assert np.array_equal(again.loglik(level), table.loglik(level))
        assert np.array_equal(again.stranger_loglik(level), table.stranger_loglik(level))
    assert np.array_equal(again.background, table.background)
    assert (again.taxa, again.characters, again.harmful, again.warned) == (
        table.taxa,
        table.characters,
        table.harmful,
        table.warned,
    )
    assert (again.model, again.rho, again.applies, again.covered) == (
        table.model,
        table.rho,
        table.applies,
        table.covered,
    )


@given(st.integers(0, 10**6), st.integers(1, 5), st.integers(1, 5), st.integers(2, 4))
@settings(max_examples=25, deadline=None)
def test_any_table_survives_a_round_trip(seed: int, taxa: int, features: int, states: int) -> None:
    """Tables of any shape give the same bytes after reading and writing."""
    table = random_table(seed, taxa=taxa, features=features, states=states, harmful=min(taxa, 2))
    data = to_bytes(table)
    assert to_bytes(from_bytes(data)) == data


def test_the_block_starts_with_its_header(written: bytes) -> None:
    """Eight bytes of length, then JSON that names the format, then arrays at offsets divisible by eight."""
    size = int.from_bytes(written[:8], "little")
    assert size % 8 == 0
    assert f'"format":"{FORMAT}"'.encode() in written[8 : 8 + size]


def test_another_format_is_refused(written: bytes) -> None:
    """A table of another version is named in the error."""
    other = written.replace(b'"format":"trug.table/1"', b'"format":"trug.table/9"', 1)
    with pytest.raises(ValueError, match=r"trug\.table/9"):
        from_bytes(other)


@pytest.mark.parametrize("level", [0, 1, 2])
def test_log_likelihoods_are_multiples_of_the_quantum(table: Table, level: int) -> None:
    """Every log-likelihood is a multiple of 2^-10 nat, at most 0, at least the floor, and nearest to the true log."""
    strange = np.hstack([table.observed_states(level, i, strange=True) for i in range(len(table.characters))])
    for logs, p in ((table.loglik(level), table.observed(level)), (table.stranger_loglik(level), strange)):
        steps = logs.astype(np.float64) * 2**10
        assert np.array_equal(steps, np.rint(steps))
        assert logs.max() <= 0.0
        assert logs.min() >= table.model.floor
        speaking = ~table.silent
        expected = np.maximum(np.log(p[:, speaking]), table.model.floor)
        assert np.abs(logs[:, speaking] - expected).max() <= 2.0**-11 + 1e-12
        assert not logs[:, table.silent].any()


def test_the_floor_holds_for_what_cannot_be_seen() -> None:
    """A probability of zero reads as the floor, not as minus infinity."""
    table = random_table(1, silent=False)
    table.truth[:, :3] = [1.0, 0.0, 0.0]
    table.confusion[:3, :3] = [[0.0, 1.0, 0.0], [1.0, 0.0, 0.0], [1.0, 0.0, 0.0]]
    assert table.loglik(0)[:, 2].tolist() == [table.model.floor] * len(table.row_taxon)


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_sums_of_single_looks_are_exact_in_any_order(table: Table, data: st.DataObject) -> None:
    """In float32 the sum over one look per character is the same in any order, and equal to that in float64."""
    rng = np.random.default_rng(data.draw(st.integers(0, 2**32 - 1)))
    row = data.draw(st.integers(0, len(table.row_taxon) - 1))
    level = data.draw(st.integers(0, 2))
    columns = [int(rng.integers(c.first, c.last)) for c in table.characters]
    values = table.loglik(level)[row, columns]

    def added(order: np.ndarray) -> np.float32:
        total = np.float32(0.0)
        for i in order:
            total = np.float32(total + values[i])
        return total

    first = added(np.arange(len(values)))
    assert first == added(rng.permutation(len(values)))
    assert float(first) == values.astype(np.float64).sum()


def test_rows_of_one_taxon_stand_together_and_cover_every_stage_once(table: Table) -> None:
    """Each taxon has one row for every stage and no more."""
    assert (np.diff(table.row_taxon) >= 0).all()
    for t in range(len(table.taxa)):
        assert (table.row_stages[table.row_taxon == t].sum(axis=0) == 1).all()
        assert table.row_taxon[table.row_start[t]] == t


def test_fit_moments_are_those_of_a_sure_look() -> None:
    """Mean and variance of the log-likelihood equal sums over the states that speak."""
    table = random_table(3)
    mean, variance = table.fit_moments
    for r in range(len(table.row_taxon)):
        for i, c in enumerate(table.characters):
            at = [k for k in range(c.first, c.last) if not table.silent[k]]
            p = table.observed(0)[r, at]
            logs = table.loglik(0)[r, at].astype(float)
            expected = (p * logs).sum() / p.sum()
            assert mean[r, i] == pytest.approx(expected)
            assert variance[r, i] == pytest.approx((p * logs**2).sum() / p.sum() - expected**2)
