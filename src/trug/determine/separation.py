"""Which pairs of a harmful and another taxon the characters can tell apart, when everything is seen.

Two measures for each pair (harmful h, true t), by exact sums over the table:

* the expected robust margin: the expected log Bayes factor of t over h, after the loudest dependence
  group or part is struck out;
* the probability that the sourced contradictions of the rule (two groups, one firm) come together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trug.determine.standing import temper
from trug.determine.table import Table

__all__ = ["Pair", "expected_evidence", "separate"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pair:
    """A harmful taxon against a true one: expected robust margin [nat], chance of the contradictions [0..1]."""

    harmful: str
    level: str
    taxon: str
    margin: float
    struck: str
    contradictions: float

    def separable(self, limit: float) -> bool:
        """Whether margin and contradictions are expected to hold."""
        return self.margin > limit and self.contradictions >= 0.5


def expected_evidence(table: Table, t: int) -> Floats:
    """Return the expected log Bayes factor (T, C) of a taxon over each other by a look at each character [nat]."""
    seen, logs = table.seen
    quiet = np.where(table.silent, 0.0, seen[t] * (logs[t] - logs))
    return np.asarray(np.add.reduceat(quiet, [c.first for c in table.characters], axis=1))


def separate(table: Table, against: NDArray[np.bool_] | None = None) -> tuple[Pair, ...]:
    """Return every pair of a harmful taxon and another, least separable first.

    Parameters
    ----------
    against : array (T,) of bool, optional
        Which true taxa to set against the harmful ones; those without harm where None.
    """
    mean = table.over_stages(table.truth)
    harmful = set(table.harm_taxon.tolist())
    pick = np.array([t not in harmful for t in range(len(table.taxa))]) if against is None else against
    starts = [c.first for c in table.characters]
    pairs = []
    for t in np.flatnonzero(pick & table.candidate):
        usable = table.recorded[t].astype(float)
        gains = expected_evidence(table, int(t))
        for k, h in enumerate(table.harmful):
            if h.taxon == t:
                continue
            margin, struck = _robust(table, gains[h.taxon] * usable, usable)
            chance = np.add.reduceat(np.where(table.contradicts[k], mean[t], 0.0), starts) * usable
            pairs.append(Pair(table.taxa[h.taxon], h.level, table.taxa[t], margin, struck, _two_of(table, chance)))
    pairs.sort(key=lambda p: (min(p.contradictions, 0.5), p.margin))
    return tuple(pairs)


def _robust(table: Table, gain: Floats, usable: Floats) -> tuple[float, str]:
    """Return the least expected margin after striking a group or a part, and which."""
    gain = gain * temper([c.group for c in table.characters], np.flatnonzero(usable).tolist(), table.rho)
    total = float(gain.sum())
    least, struck = total, "nothing"
    for kind in ("group", "part"):
        for name in {getattr(c, kind) for c in table.characters}:
            rest = total - sum(float(gain[i]) for i, c in enumerate(table.characters) if getattr(c, kind) == name)
            if rest < least:
                least, struck = rest, f"{kind} {name}"
    return least, struck


def _two_of(table: Table, chance: Floats) -> float:
    """Return the probability of contradictions in two groups with one firm, groups independent."""
    soft: dict[str, float] = {}
    firm: dict[str, float] = {}
    for i, c in enumerate(table.characters):
        side = firm if c.firm else soft
        side[c.group] = max(side.get(c.group, 0.0), float(chance[i]))
    groups = sorted(set(soft) | set(firm))
    # State: (contradicting groups 0, 1 or more, firm seen).
    p = {(0, False): 1.0}
    for g in groups:
        f, s = firm.get(g, 0.0), max(soft.get(g, 0.0), firm.get(g, 0.0))
        after: dict[tuple[int, bool], float] = {}
        for (n, hard), q in p.items():
            for hit, now_hard, w in ((1, True, f), (1, hard, s - f), (0, hard, 1.0 - s)):
                if w > 0:
                    key = (min(n + hit, 2), now_hard)
                    after[key] = after.get(key, 0.0) + q * w
        p = after
    return p.get((2, True), 0.0)
