"""Posterior, stranger and fit of one fruitbody."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from builders import (
    ALL_Y,
    FEATURES,
    World,
    find_of,
    look,
    observation,
    observations,
    random_table,
    says,
    standing_of,
    treatment,
)
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from sklearn.naive_bayes import CategoricalNB

from trug.characters.model import STAGES
from trug.determine.batch import log_posterior
from trug.determine.find import Evidence, Fruitbody
from trug.determine.reference import reference_log_posterior
from trug.determine.standing import by_taxon, group_factor, log_prior, stand, temper, unlisted_prior
from trug.determine.table import Table


def seen_with_error(table: Table, truth: np.ndarray, column: int, level: int) -> float:
    """Return the chance that an observer names a column, from first principles."""
    c = table.characters[table.column_character[column]]
    error = min(max(c.error, table.model.error_floor) * table.model.levels[level], table.model.max_error)
    misread = sum(truth[k] * table.confusion[k, column] for k in range(c.first, c.last))
    return float((1.0 - error) * truth[column] + error * misread)


def rounded_log(table: Table, column: int, p: float) -> float:
    """Return the table's documented log-likelihood of a chance."""
    if table.silent[column]:
        return 0.0
    return round(max(math.log(p), table.model.floor) / table.model.quantum) * table.model.quantum


def enumerated(
    table: Table, looks: list[tuple[int, int, int]], prior: np.ndarray, u0: float
) -> tuple[list[float], float]:
    """Return posterior and stranger's share by summing over every taxon and every stage.

    ``looks`` are (character, state, level).
    """
    groups = [table.characters[i].group for i, _, _ in looks]
    listed, strange = [], 0.0
    for t in range(len(table.taxa)):
        chance = relative = 0.0
        for g in range(len(STAGES)):
            row = next(r for r in range(len(table.row_taxon)) if table.row_taxon[r] == t and table.row_stages[r, g])
            sums = [0.0, 0.0]
            for (i, s, level), group in zip(looks, groups, strict=True):
                column = table.characters[i].first + s
                factor = 1.0 / (1.0 + (groups.count(group) - 1) * table.rho.get(group, 0.0))
                p = seen_with_error(table, table.truth[row], column, level)
                kin = seen_with_error(table, table.kin[t], column, level)
                a = table.blend[i]
                sums[0] += factor * rounded_log(table, column, p)
                sums[1] += factor * rounded_log(table, column, (1.0 - a) * p + a * kin)
            chance += table.model.stage_prior[g] * math.exp(sums[0])
            relative += table.model.stage_prior[g] * math.exp(sums[1])
        listed.append((1.0 - u0) * math.exp(prior[t]) * chance)
        strange += u0 * table.stranger[t] * relative
    total = sum(listed) + strange
    return [x / total for x in listed], strange / total


@given(st.data())
@settings(max_examples=80, deadline=None)
def test_the_posterior_is_the_sum_over_taxa_and_stages(data: st.DataObject) -> None:
    """Posterior and stranger's share equal an enumeration, with stages, tempering, silent states and levels."""
    features = data.draw(st.integers(1, 5))
    table = random_table(
        data.draw(st.integers(0, 10**6)),
        taxa=data.draw(st.integers(2, 4)),
        features=features,
        states=data.draw(st.integers(2, 4)),
        rho=data.draw(st.sampled_from([0.0, 0.3, 1.0])),
        staged=data.draw(st.booleans()),
    )
    size = len(table.characters[0].states)
    looks = [
        (i, data.draw(st.integers(0, size - 1)), data.draw(st.integers(0, 2)))
        for i in range(features)
        if data.draw(st.booleans())
    ]
    month = data.draw(st.integers(1, 12))
    u0 = data.draw(st.floats(0.01, 0.9))
    used = [observation(table, i, s, level=level) for i, s, level in looks]
    prior = log_prior(table, month, "here")
    weight = table.abundance * table.months[:, month - 1] * table.regions[:, 0]

    standing = stand(table, observations(table, used), prior, u0)

    posterior, unlisted = enumerated(table, looks, np.log(weight / weight.sum()), u0)
    assert standing.posterior == pytest.approx(posterior, rel=1e-9)
    assert standing.unlisted == pytest.approx(unlisted, rel=1e-9)
    assert standing.posterior.sum() + standing.unlisted == pytest.approx(1.0, abs=1e-12)
    assert standing.leading == int(np.argmax(posterior))


def test_a_look_at_several_states_sums_their_chances() -> None:
    """ "One of these" has the chance of the first plus that of the second."""
    world = World()
    either = world.stand(find_of([look("a", Evidence(states=("x", "y")))]))
    p = world.table.observed(0)
    assert either.vectors[0] == pytest.approx(np.log(p[:, 0] + p[:, 1]))


def test_a_distribution_is_a_likelihood_over_states() -> None:
    """Soft evidence sums the chance of each state times its weight, the greatest weight taken as 1."""
    world = World()
    soft = world.stand(find_of([look("a", Evidence(distribution={"x": 0.2, "z": 0.4}))]))
    p = world.table.observed(0)
    assert soft.vectors[0] == pytest.approx(np.log(0.5 * p[:, 0] + p[:, 2]))


@pytest.fixture(scope="module")
def plain() -> Table:
    """A table where the model is plain naive Bayes: one row for each taxon, no tempering, nothing silent."""
    return random_table(
        11, taxa=30, features=12, states=4, harmful=3, staged=False, shared=False, rho=0.0, silent=False
    )


@pytest.fixture(scope="module")
def plain_codes(plain: Table) -> np.ndarray:
    rng = np.random.default_rng(4)
    states = rng.integers(0, 4, size=(500, len(plain.characters)))
    return (states + np.array([c.first for c in plain.characters])).astype(np.int16)


@pytest.fixture(scope="module")
def outside(plain: Table, plain_codes: np.ndarray) -> np.ndarray:
    """Log posterior by scikit-learn's ``CategoricalNB`` with the same chances."""
    features, states = len(plain.characters), 4
    model = CategoricalNB()
    filler = np.tile(np.arange(states)[:, None], (len(plain.taxa), features))
    model.fit(filler, np.repeat(np.arange(len(plain.taxa)), states))
    logs = np.log(plain.observed(0))
    model.feature_log_prob_ = [logs[:, c.first : c.last] for c in plain.characters]
    model.class_log_prior_ = log_prior(plain, 5, "here")
    first = np.array([c.first for c in plain.characters])
    return np.asarray(model.predict_log_proba(plain_codes - first))


def test_the_reference_equals_categorical_naive_bayes(
    plain: Table, plain_codes: np.ndarray, outside: np.ndarray
) -> None:
    """Where the models coincide, log posteriors agree with scikit-learn to 1e-9."""
    ours = reference_log_posterior(plain, plain_codes, log_prior(plain, 5, "here"))
    assert np.abs(ours - outside).max() < 1e-9


def test_the_rounded_posterior_stays_near_naive_bayes(
    plain: Table, plain_codes: np.ndarray, outside: np.ndarray
) -> None:
    """Rounding to the quantum moves a log posterior by no more than a quantum for each look."""
    ours = log_posterior(plain, plain_codes, prior=log_prior(plain, 5, "here"))
    assert np.abs(ours - outside).max() < len(plain.characters) * plain.model.quantum


@given(st.integers(0, 10**6), st.sampled_from([0.0, 0.4, 1.0]))
@settings(max_examples=25, deadline=None)
def test_the_reference_agrees_with_the_engine_on_staged_books(seed: int, rho: float) -> None:
    """With stages, tempering and unseen characters the reference and the single path agree up to rounding."""
    table = random_table(seed, rho=rho)
    rng = np.random.default_rng(seed)
    states = rng.integers(-1, 3, size=len(table.characters))
    codes = np.where(states < 0, -1, states + [c.first for c in table.characters])[None, :].astype(np.int16)
    single = standing_of(table, states.tolist())
    listed = np.log(single.posterior / single.posterior.sum())
    reference = reference_log_posterior(table, codes, log_prior(table, 9, None))[0]
    assert np.abs(listed - reference).max() <= len(states) * table.model.quantum


def test_the_reference_sums_to_one(table: Table) -> None:
    """On the shipped book the reference is a log distribution over its taxa."""
    codes = np.full((1, len(table.characters)), -1, dtype=np.int16)
    codes[0, table.index["spore_print"]] = table.characters[table.index["spore_print"]].first
    out = reference_log_posterior(table, codes, log_prior(table, None, None))
    assert np.exp(out).sum() == pytest.approx(1.0)


@given(st.integers(0, 10**6), st.permutations(range(4)))
@settings(max_examples=25, deadline=None)
def test_the_order_of_looks_does_not_matter(seed: int, order: list[int]) -> None:
    """Posterior and stranger's share are the same in any order of looks."""
    table = random_table(seed)
    used = [observation(table, i, i % 3) for i in range(4)]
    one = stand(table, observations(table, used))
    other = stand(table, observations(table, [used[i] for i in order]))
    assert one.posterior == pytest.approx(other.posterior, rel=1e-12)
    assert one.unlisted == pytest.approx(other.unlisted, rel=1e-12)


def test_without_looks_the_prior_stands() -> None:
    """No look leaves the prior, and there is no fit to speak of."""
    table = random_table(2)
    standing = standing_of(table, [-1] * 4)
    prior = np.exp(log_prior(table, 9, None)) * (1.0 - table.model.unlisted_prior)
    assert standing.posterior == pytest.approx(prior)
    assert standing.unlisted == pytest.approx(table.model.unlisted_prior)
    assert standing.fit is None


def test_a_silent_look_changes_nothing() -> None:
    """What is merely missing leaves the posterior where it was."""
    table = random_table(6)
    last = len(table.characters) - 1
    assert table.silent[table.characters[last].first + 2]
    quiet = [0, 1, -1, -1]
    with_silent = [*quiet[:last], 2]
    assert standing_of(table, with_silent).posterior == pytest.approx(standing_of(table, quiet).posterior)


def test_looks_drawn_from_the_background_raise_the_stranger(table: Table) -> None:
    """What the book's taxa show at random together fits a stranger better than any one of them."""
    rng = np.random.default_rng(5)
    before, after = table.model.unlisted_prior, []
    for _ in range(20):
        used = []
        for i, c in enumerate(table.characters):
            p = table.background[c.first : c.last]
            used.append(observation(table, i, int(rng.choice(len(p), p=p / p.sum()))))
        after.append(stand(table, observations(table, used)).unlisted)
    assert min(after) > before
    assert np.median(after) > 0.9


def test_looks_drawn_from_a_listed_taxon_lower_the_stranger(table: Table) -> None:
    """What one treatment expects leaves little room for a stranger."""
    row = table.row_start[table.taxon_index["amanita-phalloides"]] + 3
    used = [
        observation(table, i, int(table.truth[row, c.first : c.last].argmax()))
        for i, c in enumerate(table.characters)
        if table.recorded[table.row_taxon[row], i]
    ]
    standing = stand(table, observations(table, used))
    assert standing.unlisted < 0.01
    assert table.taxa[standing.leading] == table.taxa[table.row_taxon[row]]


@pytest.mark.parametrize("state", ["x", "y", "z"])
def test_a_look_is_neutral_between_two_taxa_that_do_not_record_it(state: str) -> None:
    """Silence is neither presence nor absence: the ratio of two silent taxa does not move."""
    quiet = [
        treatment("tacitus-primus", [says(c, {"y": "always"}) for c in FEATURES[1:]]),
        treatment("tacitus-secundus", [says(c, {"z": "always"}) for c in FEATURES[1:]]),
    ]
    world = World(more=quiet)
    one, two = (world.table.taxon_index[t.code] for t in quiet)
    before, after = (world.stand(find_of(seen)) for seen in ({"b": "y"}, {"b": "y", "a": state}))
    assert after.taxa[one] - after.taxa[two] == pytest.approx(before.taxa[one] - before.taxa[two], abs=1e-12)


def test_a_look_that_two_taxa_record_differently_moves_their_ratio() -> None:
    """What one always shows and the other never speaks for the one, by the log of the ratio of the chances."""
    world = World()
    bad, good = (world.table.taxon_index[t] for t in ("malus-primus", "bonus-primus"))
    standing = world.stand(find_of({"a": "y"}))
    p = world.table.observed(0)[:, 1]
    assert standing.taxa[good] - standing.taxa[bad] == pytest.approx(math.log(p[good] / p[bad]), abs=2.0**-10)
    assert standing.taxa[good] - standing.taxa[bad] > 3.0


def test_a_surer_look_moves_the_posterior_further() -> None:
    """Fairly sure counts for less than sure, unsure for less than fairly sure."""
    world = World()
    good = world.table.taxon_index["bonus-primus"]
    chances = [
        world.stand(find_of([look("a", "y", sure=sure)])).posterior[good] for sure in ("sure", "fairly", "unsure")
    ]
    assert chances[0] > chances[1] > chances[2]


@given(st.integers(1, 12), st.floats(0.0, 1.0))
def test_tempering_lies_between_one_look_and_full_independence(count: int, rho: float) -> None:
    """k looks of one group weigh at least as much as one look and at most as much as k."""
    weight = count * group_factor(count, rho)
    assert 1.0 - 1e-12 <= weight <= count + 1e-12
    assert group_factor(count, 0.0) == 1.0
    assert count * group_factor(count, 1.0) == pytest.approx(1.0)


def test_tempering_counts_only_the_looks_that_are_kept() -> None:
    """A look struck out weighs nothing and no longer tempers its group."""
    groups, rho = ["g", "g", "h"], {"g": 1.0}
    assert temper(groups, [0, 1, 2], rho).tolist() == [0.5, 0.5, 1.0]
    assert temper(groups, [0, 2], rho).tolist() == [1.0, 0.0, 1.0]


def test_stage_profiles_are_summed_over_one_latent_stage() -> None:
    """The rows of a taxon add up as probabilities."""
    table = random_table(9)
    rows = np.linspace(-3.0, 0.0, len(table.row_taxon))
    expected = [
        math.log(sum(math.exp(rows[r]) for r in range(len(rows)) if table.row_taxon[r] == t))
        for t in range(len(table.taxa))
    ]
    assert by_taxon(rows, table) == pytest.approx(expected)


def test_a_known_stage_weighs_its_row() -> None:
    """Looks that only one stage shows speak for the taxon more when that stage was told."""
    table = random_table(0)
    t = int(np.argmax(np.bincount(table.row_taxon)))
    assert (table.row_taxon == t).sum() == 2
    first = table.row_start[t]
    used = [
        observation(table, i, int(table.truth[first, c.first : c.last].argmax()))
        for i, c in enumerate(table.characters)
    ]
    stages = {}
    for g in (0, len(STAGES) - 1):
        weights = np.full(len(STAGES), 1e-4)
        weights[g] = 1.0
        stages[g] = stand(table, observations(table, used, stage=weights / weights.sum())).taxa[t]
    assert stages[0] > stages[len(STAGES) - 1]


@pytest.mark.parametrize(("region", "covered"), [(None, 1.0), ("full", 1.0), ("half", 0.5), ("none", 0.0)])
def test_the_stranger_is_likelier_where_the_book_is_thin(region: str | None, covered: float) -> None:
    """The prior of a stranger runs from the model's inner to its outer value with the coverage."""
    world = World(book={"regions": {"full": 1.0, "half": 0.5}})
    model = world.table.model
    expected = covered * model.unlisted_prior + (1.0 - covered) * model.unlisted_prior_outside
    assert 0.0 < model.unlisted_prior < model.unlisted_prior_outside
    assert unlisted_prior(world.table, region) == pytest.approx(expected)


def test_months_and_regions_shift_the_prior_and_exclude_nothing(table: Table) -> None:
    """Out of season and out of range, a candidate keeps some prior; the sum is 1."""
    for month, region in itertools.product((1, 7), ("europe-atlantic", "america-west")):
        prior = log_prior(table, month, region)
        assert np.exp(prior).sum() == pytest.approx(1.0)
        assert np.isfinite(prior[table.candidate]).all()
        assert not np.isfinite(prior[~table.candidate]).any()


def test_fit_names_the_looks_that_the_leader_hardly_ever_shows() -> None:
    """One odd look is a misfit and raises the surprise; expected looks are none."""
    world = World()
    good = world.stand(find_of(ALL_Y)).fit
    odd = world.stand(find_of({**ALL_Y, "c": "x"})).fit
    assert good is not None
    assert odd is not None
    assert (good.misfits, good.poor) == ((), False)
    assert odd.misfits == ("look-c",)
    assert odd.surprise > good.surprise


def test_the_surprise_is_that_of_its_definition() -> None:
    """Surprise is the sum of surprisals above their means over the root of the summed variances."""
    world = World()
    standing = world.stand(find_of({**ALL_Y, "c": "x"}))
    row = world.table.row_start[world.table.taxon_index["bonus-primus"]]
    above = variance = 0.0
    for o in standing.observations.used:
        c = world.table.characters[o.character]
        p = world.table.observed(0)[row, c.first : c.last]
        logs = world.table.loglik(0)[row, c.first : c.last].astype(float)
        mean = (p * logs).sum()
        above += mean - float(world.table.loglik(0)[row, o.column])
        variance += (p * logs**2).sum() - mean**2
    assert standing.fit is not None
    assert standing.fit.surprise == pytest.approx(above / math.sqrt(variance))


@given(st.integers(0, 10**6))
@settings(max_examples=20, deadline=None)
def test_stage_given_as_a_distribution_is_used_as_given(seed: int) -> None:
    """All mass on one stage, as a distribution, ranks like that stage's row alone."""
    table = random_table(seed, silent=False)
    assume((np.bincount(table.row_taxon) > 1).any())
    stage = np.full(len(STAGES), 1e-12)
    stage[2] = 1.0
    used = [observation(table, i, i % 3) for i in range(4)]
    standing = stand(table, observations(table, used, stage=stage))
    rows = [int(np.flatnonzero((table.row_taxon == t) & table.row_stages[:, 2])[0]) for t in range(len(table.taxa))]
    assert standing.taxa == pytest.approx(standing.rows[rows], abs=1e-6)


def test_a_fruitbody_of_unknown_stage_has_the_documented_weights() -> None:
    """No stage given means the model's stage prior."""
    world = World()
    find = find_of(ALL_Y, fruitbodies=(Fruitbody("f1"),))
    assert world.observe(find)[0].stage.tolist() == list(world.table.model.stage_prior)
