"""Treatments side by side, what separates them first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trug.determine.table import Table

__all__ = ["Difference", "compare"]


@dataclass(frozen=True, slots=True)
class Difference:
    """One character of several taxa. ``overlap`` is the least likeness between two of them [0..1]; 0 separates."""

    character: str
    label: str
    firm: bool
    overlap: float
    recorded: tuple[bool, ...]


def compare(table: Table, taxa: list[str]) -> tuple[Difference, ...]:
    """Return every character that one of the taxa records, the most separating first.

    Firm characters come before others of like strength. Likeness is the Bhattacharyya coefficient.

    Parameters
    ----------
    taxa : list of str
        At least two codes of the table.
    """
    at = [table.taxon_index[t] for t in taxa]
    mean = table.over_stages(table.truth)
    out = []
    for i, c in enumerate(table.characters):
        recorded = tuple(bool(table.recorded[t, i]) for t in at)
        if not any(recorded):
            continue
        overlap = 1.0
        for x, a in enumerate(at):
            for y, b in enumerate(at):
                if x < y and recorded[x] and recorded[y]:
                    like = np.sqrt(mean[a, c.first : c.last] * mean[b, c.first : c.last]).sum()
                    overlap = min(overlap, float(like))
        out.append(Difference(c.code, c.label, c.firm, min(max(overlap, 0.0), 1.0), recorded))
    out.sort(key=lambda d: (round(d.overlap, 1), not d.firm, d.overlap, d.character))
    return tuple(out)
