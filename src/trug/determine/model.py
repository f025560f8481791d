"""The constants of the engine, all in one place; every one of them lives in the header of the table."""

from __future__ import annotations

import math

import msgspec

__all__ = ["LEVELS", "LOG_100", "ErrorModel"]

#: The margin that an exclusion must exceed [nat].
LOG_100 = math.log(100.0)
#: How many times the stated error rate a look is given: sure, fairly sure, unsure.
LEVELS = (1.0, 2.0, 4.0)


class ErrorModel(msgspec.Struct, frozen=True):
    """How words become weights, how observers err, and where the thresholds lie.

    Word weights are relative frequencies. ``unsaid_mass`` is the share left to all states that a
    treatment does not mention; ``never_mass`` that of each excluded one. No look is taken to err less often
    than ``error_floor``. ``blend`` is the share of background in a stranger (a of the unlisted mixture) for a
    character whose own share was not estimated, ``kin_share`` how much of that background is the relative's
    own group; ``unlisted_prior`` is the prior of a stranger in a region the book covers,
    ``unlisted_prior_outside`` elsewhere. Measured characters take the printed
    range as the 5th to 95th percentile of a log-normal with at least ``size_sigma`` (spores
    ``spore_sigma``). ``quantum`` is the step of log-likelihoods [nat], ``floor`` the least [nat].
    """

    weights: dict[str, float] = msgspec.field(
        default_factory=lambda: {"always": 100.0, "usually": 60.0, "sometimes": 15.0, "rarely": 3.0}
    )
    unsaid_mass: float = 0.03
    never_mass: float = 0.0002
    near_share: float = 0.8
    max_error: float = 0.6
    levels: tuple[float, ...] = LEVELS
    error_floor: float = 0.08
    blend: float = 0.4
    kin_share: float = 0.7
    unlisted_prior: float = 0.1
    unlisted_prior_outside: float = 0.5
    unlisted_limit: float = 0.05
    fit_limit: float = 3.0
    margin: float = LOG_100
    margin_tolerance: float = 0.001
    size_sigma: float = 0.10
    spore_sigma: float = 0.06
    size_tolerance: float = 0.15
    spore_tolerance: float = 0.10
    soft_limit: float = 0.01
    quantum: float = 2.0**-10
    floor: float = -16.0
    stage_prior: tuple[float, ...] = (0.01, 0.09, 0.25, 0.50, 0.15)
    stage_doubt: float = 0.05
    prior_floor: float = 0.03

    @property
    def margin_limit(self) -> float:
        """What a margin must exceed [nat]; within the tolerance of the threshold it counts as open."""
        return self.margin + self.margin_tolerance
