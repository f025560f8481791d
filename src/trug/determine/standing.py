"""How matters stand for one fruitbody: likelihoods, posterior, the unlisted hypothesis, goodness of fit.

With looks i of groups g and rows r of taxon t (one row for each stage profile):

    LL(r) = sum_g  1 / (1 + (k_g - 1) rho_g) * sum_{i in g} log P(look i | r)
    P(t | looks) is proportional to  prior(t) * sum_{r in t} stage(r) exp LL(r)

The stranger is a mixture over rows of the same sum with ``(1 - a) P + a B`` in place of P.
"""

from __future__ import annotations

import bisect
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from trug.determine.observations import Observation, Observations
from trug.determine.table import Table

__all__ = [
    "Fit",
    "Standing",
    "by_taxon",
    "columns_of",
    "group_factor",
    "log_prior",
    "stand",
    "temper",
    "unlisted_prior",
]

Floats = NDArray[np.float64]

#: Upper ends of the altitude bands lowland, hill and montane [m]; above them it is subalpine.
BANDS_M = (300.0, 800.0, 1600.0)


@dataclass(frozen=True, slots=True)
class Fit:
    """How well the leading name predicts what was seen.

    ``surprise`` is the surprisal above its expectation in standard deviations; ``misfits`` the looks
    whose state the treatment hardly ever shows; ``excluded`` those that count and whose every state it
    explicitly excludes.
    """

    surprise: float
    misfits: tuple[str, ...]
    excluded: tuple[str, ...]
    poor: bool


@dataclass(frozen=True, eq=False)
class Standing:
    """Numbers for one fruitbody.

    Attributes
    ----------
    rows : array (R,)
        Tempered log-likelihood of all looks, with the log weight of the stage.
    posterior : array (T,)
        Probability of each taxon; sums with ``unlisted`` to 1.
    unlisted : float
        Probability that it is none in the book.
    fit : Fit or None
        Of the leading name; None without looks.
    """

    table: Table
    observations: Observations
    prior: Floats
    unlisted_prior: float
    vectors: Floats
    strange_vectors: Floats
    stage_rows: Floats
    rows: Floats
    taxa: Floats
    posterior: Floats
    unlisted: float
    strange_rows: Floats
    leading: int
    fit: Fit | None

    @cached_property
    def row_posterior(self) -> Floats:
        """Probability (R,) of each taxon at each of its stages."""
        at = self.table.row_taxon
        return np.asarray(np.exp(self.rows - self.taxa[at]) * self.posterior[at])


def group_factor(count: int, rho: float) -> float:
    """Return the tempering of a dependence group of ``count`` looks."""
    return 1.0 / (1.0 + (count - 1) * rho)


def log_prior(table: Table, month: int | None, region: str | None, altitude_m: float | None = None) -> Floats:
    """Return the log prior (T,) from date, region and altitude; rows that are no candidates get minus infinity.

    Parameters
    ----------
    month : int or None
        1 to 12; None where it is not known.
    region : str or None
        A region code; None where it is not known.
    altitude_m : float, optional
        Height above the sea [m].
    """
    weight = table.abundance * table.candidate
    if month is not None:
        weight = weight * table.months[:, month - 1]
    if region is not None:
        weight = weight * table.regions[:, table.region_codes.index(region)]
    if altitude_m is not None:
        weight = weight * table.altitudes[:, bisect.bisect_right(BANDS_M, altitude_m)]
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(weight / weight.sum()))


def unlisted_prior(table: Table, region: str | None) -> float:
    """Return the prior of a stranger, which rises where the book covers a region badly."""
    model = table.model
    cover = table.covered.get(region, 0.0) if region is not None else 1.0
    return model.unlisted_prior_outside + (model.unlisted_prior - model.unlisted_prior_outside) * cover


def columns_of(o: Observation, table: Table) -> slice:
    """Return the columns of an observation's character."""
    c = table.characters[o.character]
    return slice(c.first, c.last)


def _vector(o: Observation, table: Table, strange: bool) -> Floats:
    """Log-likelihood of one look for every row; zero where it says nothing."""
    logs = table.stranger_loglik(o.level) if strange else table.loglik(o.level)
    if o.column >= 0:
        return logs[:, o.column].astype(np.float64)
    block = columns_of(o, table)
    if table.silent[block][o.weights > 0.0].any():
        return np.zeros(len(table.row_taxon))
    p = table.observed_states(o.level, o.character, strange)
    return np.asarray(np.maximum(np.log(p @ o.weights), table.model.floor))


def vectors(used: Sequence[Observation], table: Table, strange: bool = False) -> Floats:
    """Return log-likelihoods (looks, R) of each look for each row."""
    if not used:
        return np.zeros((0, len(table.row_taxon)))
    return np.array([_vector(o, table, strange) for o in used])


def temper(groups: Sequence[str], chosen: Sequence[int], rho: dict[str, float]) -> Floats:
    """Return the weight (looks,) of each look when only some of them are kept; zero for the others."""
    counts: dict[str, int] = {}
    for i in chosen:
        counts[groups[i]] = counts.get(groups[i], 0) + 1
    out = np.zeros(len(groups))
    for i in chosen:
        out[i] = group_factor(counts[groups[i]], rho.get(groups[i], 0.0))
    return out


def by_taxon(rows: Floats, table: Table) -> Floats:
    """Return log-sum-exp over the rows of each taxon; the last axis goes from R to T."""
    if len(table.row_taxon) == len(table.taxa):
        return rows
    top = np.maximum.reduceat(rows, table.row_start, axis=-1)
    spread = np.exp(rows - np.take(top, table.row_taxon, axis=-1))
    return np.asarray(top + np.log(np.add.reduceat(spread, table.row_start, axis=-1)))


def stand(
    table: Table, observations: Observations, prior: Floats | None = None, unlisted: float | None = None
) -> Standing:
    """Return how matters stand after the looks of one fruitbody.

    Parameters
    ----------
    prior : array (T,), optional
        Log prior; flat over candidates where None.
    unlisted : float, optional
        Prior of a stranger [0..1]; the model's where None.
    """
    prior = log_prior(table, None, None) if prior is None else prior
    u0 = table.model.unlisted_prior if unlisted is None else unlisted
    used = observations.used
    groups = [table.characters[o.character].group for o in used]
    vecs, strange = vectors(used, table), vectors(used, table, strange=True)
    with np.errstate(divide="ignore"):
        stage_rows = np.log(table.row_stages @ observations.stage)
    weight = temper(groups, range(len(used)), table.rho)
    rows = weight @ vecs + stage_rows
    strange_rows = weight @ strange + stage_rows
    taxa = by_taxon(rows, table)
    log_listed = prior + taxa + np.log1p(-u0)
    with np.errstate(divide="ignore"):
        log_strange = np.log(table.stranger) + by_taxon(strange_rows, table)
        total_strange = np.logaddexp.reduce(log_strange) + np.log(u0)
    everything = np.logaddexp(np.logaddexp.reduce(log_listed), total_strange)
    posterior = np.exp(log_listed - everything)
    leading = int(np.argmax(posterior))
    return Standing(
        table=table,
        observations=observations,
        prior=prior,
        unlisted_prior=u0,
        vectors=vecs,
        strange_vectors=strange,
        stage_rows=stage_rows,
        rows=rows,
        taxa=taxa,
        posterior=posterior,
        unlisted=float(np.exp(total_strange - everything)),
        strange_rows=strange_rows,
        leading=leading,
        fit=fit_of(table, observations, rows, leading) if used else None,
    )


def fit_of(table: Table, observations: Observations, rows: Floats, taxon: int) -> Fit:
    """Return how well one taxon predicts the looks, at its most likely stage."""
    first = table.row_start[taxon]
    count = int((table.row_taxon == taxon).sum())
    row = int(first + np.argmax(rows[first : first + count]))
    mean, variance = table.fit_moments
    singles = [o for o in observations.used if o.column >= 0 and not table.silent[o.column]]
    groups = [table.characters[o.character].group for o in singles]
    surprise = spread = 0.0
    misfits = []
    for o, group in zip(singles, groups, strict=True):
        factor = group_factor(groups.count(group), table.rho.get(group, 0.0))
        surprise += factor * (mean[row, o.character] - float(table.loglik(0)[row, o.column]))
        spread += factor**2 * variance[row, o.character]
        if table.recorded[taxon, o.character] and table.truth[row, o.column] < _hardly_ever(table, o):
            misfits.append(o.look)
    z = surprise / spread**0.5 if spread > 0 else 0.0
    excluded = tuple(o.look for o in observations.used if o.counts and _excluded(table, o, taxon))
    return Fit(float(z), tuple(misfits), excluded, bool(z > table.model.fit_limit))


def _excluded(table: Table, o: Observation, taxon: int) -> bool:
    """Whether a taxon's treatment excludes everything that a look allows."""
    return bool(denied(o, table.excludes[taxon, columns_of(o, table)], table))


def denied(o: Observation, flags: NDArray[np.bool_], table: Table) -> NDArray[np.bool_]:
    """Return whether a look falls on flagged states alone, for flags (..., states) of its character.

    Of soft evidence at most ``soft_limit`` may fall on other states.
    """
    return np.asarray(~flags @ (o.weights / o.weights.sum()) <= table.model.soft_limit)


def _hardly_ever(table: Table, o: Observation) -> float:
    """Probability below which a state is a misfit: a tenth of an even share."""
    return 0.1 / len(table.characters[o.character].states)
