"""Which fungi are confused with which, and what separates them: computed from the treatments.

Two taxa are confused when what the eye sees at once, without knife, lens, print or wait, tells them apart
too weakly. The list follows from the coded accounts, so it cannot disagree with them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from trug.determine.separation import expected_evidence
from trug.determine.standing import temper
from trug.determine.table import Table
from trug.treatments.model import Treatment

__all__ = [
    "CLOSE",
    "DEEP",
    "HELPS",
    "LEAST",
    "MOST",
    "SEPARATES",
    "SEVERE_MOST",
    "Confusion",
    "Confusions",
    "Separating",
    "depth",
    "thin",
]

#: Expected weight of evidence [nat] of the looks by eye below which two taxa are confused. Chosen by us.
CLOSE = 16.0
#: The nearest of each taxon that are listed at the most, and at the least; so many of what kills or maims beside.
MOST, LEAST, SEVERE_MOST = 12, 3, 6
#: Likeness (Bhattacharyya) below which a look separates: nine finds in ten look otherwise.
SEPARATES = 0.6
#: Likeness below which a look helps to separate: on average it more than doubles the odds.
HELPS = 0.8
#: Characters that should help to separate a harmful taxon, or what is confused with it, from one of its confusions.
DEEP = 35
#: Firm separating looks that a harmful and an eaten taxon need; with fewer they are not separable in the field.
FIRM_LOOKS = 2

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Separating:
    """A look that separates two taxa. ``likeness`` is 0 (no state in common) to ``SEPARATES``."""

    character: str
    label: str
    firm: bool
    field: bool
    likeness: float


@dataclass(frozen=True, slots=True)
class Confusion:
    """A taxon that another is taken for, how near it is [nat], and what separates the two, firm looks first."""

    taxon: str
    near: float
    separating: tuple[Separating, ...]

    @property
    def field_separable(self) -> bool:
        """Whether two firm looks that need no microscope separate them."""
        return sum(s.firm and s.field for s in self.separating) >= FIRM_LOOKS


class Confusions:
    """The confusions of every taxon of a table."""

    def __init__(self, table: Table) -> None:
        self.table = table
        self.quick = np.array(
            [not c.destructive and c.wait_minutes == 0 and set(c.tools) <= {"ruler"} for c in table.characters]
        )

    @cached_property
    def likeness(self) -> NDArray[np.float32]:
        """Likeness (T, T, C) of two taxa in a character [0..1]; 1 where one of them does not record it."""
        table = self.table
        root = np.sqrt(table.over_stages(table.truth)).astype(np.float32)
        starts = [c.first for c in table.characters]
        out = np.ones((len(root), len(root), len(starts)), dtype=np.float32)
        for t in range(len(root)):
            alike = np.minimum(np.add.reduceat(root[t] * root, starts, axis=1), 1.0)
            out[t] = np.where(table.recorded[t] & table.recorded, alike, 1.0)
        return out

    @cached_property
    def near(self) -> Floats:
        """Expected weight of evidence (T, T) of the looks by eye between two taxa [nat]; the lesser direction."""
        table = self.table
        groups = [c.group for c in table.characters]
        out = np.empty((len(table.taxa), len(table.taxa)))
        for t in range(len(out)):
            usable = np.flatnonzero(table.recorded[t] & self.quick)
            gain = expected_evidence(table, t) * temper(groups, usable.tolist(), table.rho)
            out[t] = gain[:, usable].sum(axis=1)
        out = np.minimum(out, out.T)
        np.fill_diagonal(out, np.inf)
        return out

    def of(self, taxon: str) -> tuple[Confusion, ...]:
        """Return the confusions of a taxon, the nearest first."""
        t = self.table.taxon_index[taxon]
        return tuple(self.pair(taxon, self.table.taxa[u]) for u in self.listed(t))

    def listed(self, t: int) -> list[int]:
        """Return the positions of the taxa that one is confused with, the nearest first."""
        near = np.where(self.table.candidate, self.near[t], np.inf)
        order = np.argsort(near, kind="stable")
        chosen = [u for i, u in enumerate(order[:MOST]) if near[u] < CLOSE or (i < LEAST and near[u] < np.inf)]
        severe = [int(u) for u in self.table.harm_taxon[self.table.severe] if near[u] < CLOSE]
        chosen += sorted(set(severe) - set(chosen), key=lambda u: (near[u], u))[:SEVERE_MOST]
        return [int(u) for u in sorted(chosen, key=lambda u: (near[u], u))]

    def pair(self, one: str, other: str) -> Confusion:
        """Return what separates two taxa: looks without a microscope first, then firm ones, then the least alike."""
        t, u = self.table.taxon_index[one], self.table.taxon_index[other]
        found = [
            Separating(c.code, c.label, c.firm, not set(c.tools) - FIELD_TOOLS, float(self.likeness[t, u, i]))
            for i, c in enumerate(self.table.characters)
            if self.likeness[t, u, i] < SEPARATES
        ]
        found.sort(key=lambda s: (not s.field, not s.firm, round(s.likeness, 2), s.character))
        return Confusion(other, float(self.near[t, u]), tuple(found))

    def separating_count(self, t: int) -> int:
        """Return how many characters help to separate a taxon from at least one of its confusions."""
        rows = self.likeness[t, self.listed(t)]
        return int((rows < HELPS).any(axis=0).sum()) if len(rows) else 0

    def inseparable(self) -> list[tuple[str, str]]:
        """Return pairs of taxa that no character separates."""
        least = self.likeness.min(axis=2)
        ones, others = np.nonzero(np.triu(least > SEPARATES, k=1))
        return [(self.table.taxa[a], self.table.taxa[b]) for a, b in zip(ones, others, strict=True)]

    def deep(self) -> list[int]:
        """Return the positions of the harmful taxa and of all that they are confused with."""
        harmful = {int(t) for t in self.table.harm_taxon}
        return sorted(harmful | {u for t in harmful for u in self.listed(t)})


def depth(found: Confusions) -> dict[str, float]:
    """Return how many characters help to separate a taxon from one of its confusions, in the middle and at the least.

    The harmful ones and their confusions are counted by themselves, with the share [0..1] that has ``DEEP`` or more.
    """
    every = np.array([found.separating_count(t) for t in range(len(found.table.taxa))])
    deep = every[found.deep()]
    return {
        "median_separating": float(np.median(every)),
        "least_separating": int(every.min()),
        "median_separating_harmful_and_confused": float(np.median(deep)) if len(deep) else 0.0,
        "deep_harmful_and_confused": float((deep >= DEEP).mean()) if len(deep) else 0.0,
    }


def thin(found: Confusions, treatments: Sequence[Treatment]) -> list[str]:
    """Return notes on harmful taxa, and what is confused with them, that too few characters separate."""
    notes = []
    for t in found.deep():
        n = found.separating_count(t)
        if n < DEEP:
            notes.append(f"{treatments[t].code}: {n} characters separate it from what it is confused with")
    return notes


#: What is carried outdoors or stands in a kitchen.
FIELD_TOOLS = frozenset({"ruler", "knife", "strong knife", "lens", "white and dark paper"})
